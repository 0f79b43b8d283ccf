//! Charts made from known bicycles: recovered, judged, and refused.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

use std::collections::BTreeSet;

use mechanics::chart::{CRITICAL_SIGMAS, ChartError, Entry, Figure, Observation, Reconciled, UNKNOWNS, reconcile};
use proptest::prelude::*;
use rand::{Rng, SeedableRng, rngs::StdRng};
use rand_distr::{Distribution, StandardNormal};

/// A trail bike (invented): c, d, stack, reach, head angle, head tube, lower stack, offset, rear and front radius.
const TRAIL_BIKE: [f64; UNKNOWNS] = [435.2, 40.0, 610.0, 440.0, 1.204_277_183_876_087, 105.0, 8.0, 44.0, 368.0, 368.0];
/// A small-wheeled town bike with unequal wheels (invented).
const TOWN_BIKE: [f64; UNKNOWNS] = [410.0, -25.0, 640.0, 350.0, 1.239, 170.0, 12.0, 35.0, 255.0, 280.0];

/// What a chart's print gives away: half a millimetre to two, a tenth of a degree.
fn usual_uncertainty(entry: Entry) -> f64 {
    match entry {
        Entry::HeadAngle => 0.1_f64.to_radians(),
        Entry::Trail | Entry::BbDrop | Entry::BbHeight | Entry::LowerHeadsetStack => 1.0,
        Entry::FrontRadius | Entry::RearRadius => 1.5,
        _ => 1.15,
    }
}

fn chart(theta: [f64; UNKNOWNS], entries: &[Entry]) -> Vec<Observation> {
    let figure = Figure::from_array(theta);
    entries
        .iter()
        .map(|&entry| Observation { entry, value: figure.value(entry), standard_uncertainty: usual_uncertainty(entry) })
        .collect()
}

fn noisy(observations: &[Observation], random: &mut StdRng) -> Vec<Observation> {
    observations
        .iter()
        .map(|o| {
            let draw: f64 = StandardNormal.sample(random);
            Observation { value: o.value + draw * o.standard_uncertainty, ..*o }
        })
        .collect()
}

/// All but the two entries that say a second time what another says of the same length.
const FULL: [Entry; 14] = [
    Entry::Stack,
    Entry::Reach,
    Entry::HeadAngle,
    Entry::HeadTube,
    Entry::RearCentre,
    Entry::BbDrop,
    Entry::FrontCentre,
    Entry::Wheelbase,
    Entry::Trail,
    Entry::AxleToCrown,
    Entry::ForkOffset,
    Entry::LowerHeadsetStack,
    Entry::FrontRadius,
    Entry::RearRadius,
];

fn close(reconciled: &Reconciled, theta: [f64; UNKNOWNS]) {
    for (got, want) in reconciled.theta.iter().zip(theta) {
        assert!((got - want).abs() < 1e-7, "{got} {want}");
    }
}

/// An independent construction of the same bicycle: coordinates first, then distances between points.
#[test]
fn entries_are_the_distances_of_a_bicycle_laid_out_point_by_point() {
    for theta in [TRAIL_BIKE, TOWN_BIKE] {
        let [c, d, stack, reach, angle, head_tube, lower, offset, rear, front] = theta;
        let figure = Figure::from_array(theta);
        let ground = -(rear - d);
        // Walk down the steering axis in small steps until an axle `offset` ahead of it is at the front wheel's height.
        let height = |t: f64| stack - t * angle.sin() + offset * angle.cos();
        let (mut low, mut high) = (0.0, 2_000.0);
        for _ in 0..100 {
            let middle = f64::midpoint(low, high);
            if height(middle) > ground + front { low = middle } else { high = middle }
        }
        let axle = (reach + low * angle.cos() + offset * angle.sin(), height(low));
        let crown = (reach + (head_tube + lower) * angle.cos(), stack - (head_tube + lower) * angle.sin());
        let near = |entry: Entry, want: f64| {
            assert!((figure.value(entry) - want).abs() < 1e-8, "{entry:?} {} {want}", figure.value(entry));
        };
        near(Entry::FrontCentre, axle.0.hypot(axle.1));
        near(Entry::Wheelbase, axle.0 + c);
        near(Entry::AxleToCrown, (axle.0 - crown.0).hypot(axle.1 - crown.1));
        near(Entry::RearCentre, c.hypot(d));
        near(Entry::BbHeight, -ground);
        // Trail: the axis prolonged to the ground against the point under the axle.
        let to_ground = (stack - ground) / angle.sin();
        near(Entry::Trail, reach + to_ground * angle.cos() - axle.0);
    }
}

#[test]
fn a_sound_chart_comes_back_as_it_was() {
    for theta in [TRAIL_BIKE, TOWN_BIKE] {
        let reconciled = reconcile(&chart(theta, &FULL)).unwrap();
        close(&reconciled, theta);
        assert_eq!(reconciled.redundancy, 4);
        assert!(reconciled.suspects().is_empty());
        assert!(reconciled.steps <= 8, "{} steps", reconciled.steps);
        let sum: f64 = reconciled.residuals.iter().map(|r| r.redundancy).sum();
        assert!((sum - 4.0).abs() < 1e-9, "the redundancies add up to that of the chart: {sum}");
    }
}

#[test]
fn an_axle_to_crown_the_chart_never_gave_comes_out_with_its_tolerance() {
    let entries: Vec<Entry> = FULL.into_iter().filter(|e| *e != Entry::AxleToCrown).collect();
    let reconciled = reconcile(&chart(TRAIL_BIKE, &entries)).unwrap();
    let (value, u) = reconciled.entry(Entry::AxleToCrown);
    assert!((value - Figure::from_array(TRAIL_BIKE).value(Entry::AxleToCrown)).abs() < 1e-6);
    assert!(u > 1.0 && u < 3.0, "{u}");
}

#[test]
fn what_is_missing_is_named() {
    let entries: Vec<Entry> = FULL.into_iter().filter(|e| !matches!(e, Entry::AxleToCrown | Entry::LowerHeadsetStack)).collect();
    match reconcile(&chart(TRAIL_BIKE, &entries)).unwrap_err() {
        ChartError::Undetermined { missing, would_help } => {
            assert_eq!(missing, 1);
            assert_eq!(would_help, [Entry::AxleToCrown, Entry::LowerHeadsetStack]);
        }
        other => panic!("{other:?}"),
    }
    // Every entry said to help does help, and no other: try them all.
    let few = [
        Entry::Stack,
        Entry::Reach,
        Entry::HeadAngle,
        Entry::HeadTube,
        Entry::ForkOffset,
        Entry::LowerHeadsetStack,
        Entry::FrontRadius,
        Entry::RearRadius,
        Entry::BbDrop,
    ];
    let ChartError::Undetermined { missing: 1, would_help } = reconcile(&chart(TRAIL_BIKE, &few)).unwrap_err() else { panic!() };
    for entry in Entry::ALL.into_iter().filter(|e| !few.contains(e)) {
        let mut more = few.to_vec();
        more.push(entry);
        assert_eq!(reconcile(&chart(TRAIL_BIKE, &more)).is_ok(), would_help.contains(&entry), "{entry:?}");
    }
    assert!(matches!(reconcile(&[]).unwrap_err(), ChartError::Undetermined { missing: 10, .. }));
}

#[test]
fn bad_observations_are_refused() {
    let mut observations = chart(TRAIL_BIKE, &FULL);
    observations[3].value = f64::NAN;
    assert_eq!(reconcile(&observations).unwrap_err(), ChartError::BadObservation { entry: Entry::HeadTube });
    observations[3] = Observation { value: 100.0, standard_uncertainty: 0.0, entry: Entry::HeadTube };
    assert_eq!(reconcile(&observations).unwrap_err(), ChartError::BadObservation { entry: Entry::HeadTube });
}

/// 1 000 noisy charts of two bicycles: the true figure lies within the stated 95 % of each number in at least 93 % of them, and the
/// weighted misfit follows its chi-squared distribution's mean.
#[test]
fn stated_covariance_holds_over_a_thousand_draws() {
    let mut random = StdRng::seed_from_u64(1896);
    for theta in [TRAIL_BIKE, TOWN_BIKE] {
        let sound = chart(theta, &FULL);
        let draws = 1_000;
        let mut within = [0; UNKNOWNS];
        let mut within_all_entries = 0;
        let mut chi = 0.0;
        for _ in 0..draws {
            let reconciled = reconcile(&noisy(&sound, &mut random)).unwrap();
            chi += reconciled.chi_squared;
            for i in 0..UNKNOWNS {
                let u = reconciled.covariance[(i, i)].sqrt();
                within[i] += i32::from((reconciled.theta[i] - theta[i]).abs() < 1.96 * u);
            }
            let (value, u) = reconciled.entry(Entry::AxleToCrown);
            within_all_entries += i32::from((value - Figure::from_array(theta).value(Entry::AxleToCrown)).abs() < 1.96 * u);
        }
        for (i, count) in within.into_iter().enumerate() {
            assert!(count >= draws * 93 / 100 && count <= draws * 97 / 100, "unknown {i}: {count} of {draws}");
        }
        assert!(within_all_entries >= draws * 93 / 100);
        let mean = chi / f64::from(draws);
        // Standard deviation of the mean of 1 000 draws of chi-squared with 4 degrees is 0.09.
        assert!((mean - 4.0).abs() < 0.36, "{mean}");
    }
}

/// A gross error planted in one entry is named in at least 95 % of draws, for every entry whose redundancy allows: the error
/// planted is the one that a w-test at the critical value finds with a probability of 99.9 % (Baarda's δ₀ = 3.29 + 3.09, divided
/// by the root of its redundancy), and entries are left out that another entry's test cannot be told from.
#[test]
fn a_planted_error_is_named() {
    let mut random = StdRng::seed_from_u64(1817);
    let mut tried = BTreeSet::new();
    for theta in [TRAIL_BIKE, TOWN_BIKE] {
        // A generous chart: both forms of rear centre and bottom bracket are there.
        let sound = chart(theta, &Entry::ALL);
        let clean = reconcile(&sound).unwrap();
        for planted in 0..sound.len() {
            let r = clean.residuals[planted].redundancy;
            let alike =
                (0..sound.len()).filter(|&i| i != planted).map(|i| clean.test_correlation(planted, i).abs()).fold(0.0, f64::max);
            if r < 0.1 || alike > 0.8 {
                continue;
            }
            tried.insert(sound[planted].entry);
            let draws = 200;
            let mut named = 0;
            for _ in 0..draws {
                let mut wrong = noisy(&sound, &mut random);
                let sign = if random.random::<bool>() { 1.0 } else { -1.0 };
                // Twice the detectable size, so that a neighbour correlated up to 0.8 is beaten as well.
                wrong[planted].value += sign * 2.0 * (CRITICAL_SIGMAS + 3.09) / r.sqrt() * wrong[planted].standard_uncertainty;
                let suspects = reconcile(&wrong).unwrap().suspects();
                named += i32::from(suspects.first() == Some(&planted));
            }
            assert!(named >= draws * 95 / 100, "{:?}: {named} of {draws} (redundancy {r}, alike {alike})", sound[planted].entry);
        }
    }
    assert!(tried.len() >= 8, "only {tried:?} had redundancy enough");
}

#[test]
fn entries_that_cannot_be_told_apart_are_all_named() {
    // Rear centre given twice and nothing else to judge them by: one is wrong, the chart cannot say which.
    let mut entries = FULL.to_vec();
    entries.retain(|e| !matches!(e, Entry::FrontCentre | Entry::Wheelbase | Entry::Trail | Entry::AxleToCrown));
    entries.push(Entry::RearCentreHorizontal);
    let mut observations = chart(TRAIL_BIKE, &entries);
    let at = observations.iter().position(|o| o.entry == Entry::RearCentre).unwrap();
    observations[at].value += 15.0;
    let reconciled = reconcile(&observations).unwrap();
    let named: BTreeSet<Entry> = reconciled.suspects().into_iter().map(|i| observations[i].entry).collect();
    assert!(named.contains(&Entry::RearCentre) && named.contains(&Entry::RearCentreHorizontal), "{named:?}");
    let disagrees = reconciled.residuals[at].disagrees_by.unwrap();
    assert!((disagrees - 15.0).abs() < 0.1, "{disagrees}");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// G times a change of one entry is how the figure moves (to first order).
    #[test]
    fn sensitivities_are_how_the_figure_follows_an_entry(which in 0usize..14, step in 0.01..0.05_f64) {
        let sound = chart(TRAIL_BIKE, &FULL);
        let before = reconcile(&sound).unwrap();
        let mut moved = sound.clone();
        let by = step * sound[which].standard_uncertainty;
        moved[which].value += by;
        let after = reconcile(&moved).unwrap();
        for i in 0..UNKNOWNS {
            let predicted = before.sensitivity[(i, which)] * by;
            prop_assert!((after.theta[i] - before.theta[i] - predicted).abs() < 1e-3 * by.abs().max(predicted.abs()));
        }
    }

    /// Whatever the numbers, the answer is an answer or an error, never a panic.
    #[test]
    fn any_numbers_are_survived(values in proptest::collection::vec((0usize..16, -2000.0..2000.0_f64, 0.001..100.0_f64), 0..20)) {
        let observations: Vec<Observation> = values.into_iter().map(|(e, value, u)| Observation { entry: Entry::ALL[e], value, standard_uncertainty: u }).collect();
        let _ = reconcile(&observations);
    }
}
