//! Paths of chains against worked examples of machine design (`tests/references/chain.toml`) and against plane geometry.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use mechanics::{
    chain_path::{
        Cage, ChainError, Derailleur, PITCH_MM, Toothed, Turns, around_two, centre_distance_mm, even_down, even_up, links, path,
        pitch_radius_mm,
    },
    plane::Point,
};
use num_dual::{Dual64, DualNum};
use proptest::prelude::*;

fn references() -> toml::Table {
    include_str!("../../../tests/references/chain.toml").parse().unwrap()
}

fn numbers(value: &toml::Value) -> Vec<f64> {
    let number = |value: &toml::Value| value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64)).unwrap();
    value.as_array().unwrap().iter().map(number).collect()
}

fn counts(value: &toml::Value) -> Vec<u32> {
    value.as_array().unwrap().iter().map(|count| u32::try_from(count.as_integer().unwrap()).unwrap()).collect()
}

/// A long cage on a trail bike (invented): 12-tooth jockey wheels 93 mm apart, hanging a little ahead of the axle.
fn long_cage<D: DualNum<Primitive = f64> + Copy>(bottom_bracket: Point<D>) -> Derailleur<D> {
    Derailleur {
        bottom_bracket,
        cage: Cage {
            upper_teeth: 12,
            lower_teeth: 12,
            pivot_to_upper_mm: 0.0,
            pivot_to_lower_mm: 93.0,
            upper_ahead_rad: 0.0,
            rest_rad: -1.0,
        },
        gap_mm: 14.0,
        hangs_rad: 0.15,
    }
}

fn trail_bike() -> Derailleur<f64> {
    long_cage(Point::new(435.0, -30.0))
}

#[test]
fn pitch_circles_are_those_of_the_standard() {
    let circles = &references()["pitch_circles"];
    let (teeth, diameters) = (counts(&circles["teeth"]), numbers(&circles["unit_pitch_diameter"]));
    assert!(teeth.len() == 25 && teeth.len() == diameters.len());
    for (teeth, diameter) in teeth.into_iter().zip(diameters) {
        // Eight figures are printed.
        assert!((2.0 * pitch_radius_mm(teeth) / PITCH_MM / diameter - 1.0).abs() < 5e-8, "{teeth}");
    }
}

/// The text formula is an expansion in the difference of the wheels; it is within a hundredth of a link of the path, and so is a distance
/// found from it within a tenth of a millimetre.
#[test]
fn worked_examples_of_machine_design_are_met() {
    let references = references();
    let cases = references["length"].as_array().unwrap();
    assert_eq!(cases.len(), 3);
    for case in cases {
        let to_half_inch = PITCH_MM / case["pitch_mm"].as_float().unwrap();
        let teeth = counts(&case["teeth"]);
        let distance = case["centre_distance_mm"].as_float().unwrap() * to_half_inch;
        let links = around_two(teeth[1], teeth[0], distance).unwrap().links();
        let printed = case["links"].as_float().unwrap();
        assert!((links - printed).abs() < 0.02, "{:?}: {links} against {printed}", case["id"]);
        let Some(rounded) = case.get("links_rounded").and_then(toml::Value::as_integer) else { continue };
        let found = centre_distance_mm(teeth[1], teeth[0], u32::try_from(rounded).unwrap(), 0.0).unwrap() / to_half_inch;
        let printed = case["centre_distance_for_rounded_mm"].as_float().unwrap();
        assert!((found - printed).abs() < 0.15, "{:?}: {found} against {printed}", case["id"]);
    }
}

#[test]
fn a_path_is_as_long_as_computed_elsewhere() {
    let references = references();
    let ways = &references["two_ways"];
    let (small, large) = (counts(&ways["small_teeth"]), counts(&ways["large_teeth"]));
    let (distances, tangent) = (numbers(&ways["centre_distance_mm"]), numbers(&ways["links_pitch_circle_tangent"]));
    let text = numbers(&ways["links_text_formula"]);
    for at in 0..3 {
        let links = around_two(large[at], small[at], distances[at]).unwrap().links();
        assert!((links / tangent[at] - 1.0).abs() < 1e-11, "{links} against {}", tangent[at]);
        assert!((links - text[at]).abs() < 0.004);
    }
}

/// Two equal wheels: two straight runs as long as the axles are apart, and half of each wheel.
#[test]
fn around_equal_wheels_the_chain_is_a_racetrack() {
    let path = around_two(16, 16, 254.0).unwrap();
    assert!((path.length_mm - (2.0 * 254.0 + 16.0 * PITCH_MM)).abs() < 1e-9);
    assert!((path.links() - 56.0).abs() < 1e-12);
    assert!((centre_distance_mm(16, 16, 56, 0.0).unwrap() - 254.0).abs() < 1e-9);
    // A chain worn by half a percent lets the axle back by a quarter of a percent of the whole.
    let worn = centre_distance_mm(16, 16, 56, 0.005).unwrap();
    assert!((worn - 254.0 - 0.5 * 0.005 * 56.0 * PITCH_MM).abs() < 1e-9);
}

/// Crossed between two wheels the runs meet in the middle: l² = d² − (2r)².
#[test]
fn a_crossed_run_is_shorter_by_both_radii() {
    let wheel = |x: f64, turns| Toothed { centre: Point::new(x, 0.0), teeth: 20, turns };
    let crossed = path(&[wheel(0.0, Turns::Clockwise), wheel(200.0, Turns::CounterClockwise)]).unwrap();
    let r = pitch_radius_mm(20);
    let run = (200.0_f64.powi(2) - 4.0 * r * r).sqrt();
    assert!(crossed.runs_mm.iter().all(|l| (l - run).abs() < 1e-9));
    // Each is wrapped by half a turn and twice the angle by which the run is inclined.
    let wrap = PI + 2.0 * (2.0 * r / 200.0).asin();
    assert!(crossed.wraps_rad.iter().all(|theta| (theta - wrap).abs() < 1e-9));
    let [from, to] = crossed.run(&[wheel(0.0, Turns::Clockwise), wheel(200.0, Turns::CounterClockwise)], 0).unwrap();
    assert!(((to - from).length() - run).abs() < 1e-9 && (from.length() - r).abs() < 1e-9);
}

/// What a technician sees: small on small the cage hangs back, big on big it points forward.
#[test]
fn the_cage_swings_forward_from_small_to_large() {
    let derailleur = trail_bike();
    let wanted = links(&derailleur, [32, 32], [10, 51], 0.0).unwrap();
    assert!(wanted.fewest <= wanted.recommended && wanted.recommended <= wanted.most, "{wanted:?}");
    let angles: Vec<f64> = [10, 14, 18, 24, 33, 45, 51]
        .into_iter()
        .map(|sprocket| {
            let standing = derailleur.standing(32, sprocket, wanted.recommended, 0.0).unwrap();
            assert!(standing.slack_mm < 0.0 && standing.reserve_mm > 0.0, "{sprocket}: {standing:?}");
            standing.cage_rad
        })
        .collect();
    assert!(angles.is_sorted(), "{angles:?}");
    assert!(angles[0] > -1.0 && angles[6] < FRAC_PI_2 + 0.5, "{angles:?}");
    // Two links too few for big on big, and two too many for small on small, are said so, by what they are short or over.
    let short = derailleur.standing(32, 51, wanted.fewest - 2, 0.0).unwrap();
    assert!(short.reserve_mm < 0.0 && short.reserve_mm > -2.0 * PITCH_MM, "{short:?}");
    let slack = derailleur.standing(32, 10, wanted.most + 2, 0.0).unwrap();
    assert!(slack.slack_mm > 0.0 && slack.slack_mm < 2.0 * PITCH_MM, "{slack:?}");
}

#[test]
fn what_cannot_be_is_refused_in_words() {
    let told = |error: ChainError| error.to_string();
    assert!(told(around_two(0, 11, 400.0).unwrap_err()).contains("0 teeth"));
    assert!(told(around_two(50, 11, 40.0).unwrap_err()).contains("run into each other"));
    assert!(around_two(50, 11, f64::NAN).is_err());
    assert!(centre_distance_mm(50, 11, 20, 0.0).is_err());
    assert!(told(centre_distance_mm(44, 18, 100, 0.5).unwrap_err()).contains("0.5"));
    assert!(told(trail_bike().standing(32, 10, 110, -0.1).unwrap_err()).contains("elongation"));
    let mut broken = trail_bike();
    broken.cage.pivot_to_lower_mm = -1.0;
    assert!(told(broken.standing(32, 10, 110, 0.0).unwrap_err()).contains("lower jockey wheel"));
    broken = trail_bike();
    broken.gap_mm = f64::NAN;
    assert!(broken.extremes(32, 10).is_err());
    broken = trail_bike();
    broken.cage.rest_rad = 9.0;
    assert!(broken.extremes(32, 10).is_err());
    assert!(links(&trail_bike(), [32, 32], [10, 51], f64::INFINITY).is_err());
    // A wheel outside the loop is passed by.
    let wheel = |x: f64, y: f64, turns| Toothed { centre: Point::new(x, y), teeth: 11, turns };
    let passed =
        [wheel(0.0, 0.0, Turns::Clockwise), wheel(200.0, 90.0, Turns::CounterClockwise), wheel(400.0, 0.0, Turns::Clockwise)];
    assert!(matches!(path(&passed), Err(ChainError::Passes { teeth: 11 })), "{:?}", path(&passed));
}

#[test]
fn an_even_number_is_found_up_and_down() {
    assert_eq!([even_up(113.2), even_up(114.0), even_up(114.0001)], [114, 114, 116]);
    assert_eq!([even_down(113.2), even_down(114.0), even_down(113.9999)], [112, 114, 112]);
    assert_eq!([even_up(-3.0), even_down(-3.0), even_up(f64::NAN)], [0, 0, 0]);
}

proptest! {
    #[test]
    fn further_apart_and_more_teeth_take_more_chain(
        ring in 20_u32..60, sprocket in 9_u32..52, distance in 300.0..600.0_f64, further in 0.1..50.0_f64,
    ) {
        let links = |ring, sprocket, distance| around_two(ring, sprocket, distance).unwrap().links();
        let here = links(ring, sprocket, distance);
        prop_assert!(links(ring, sprocket, distance + further) > here);
        prop_assert!(links(ring + 1, sprocket, distance) > here);
        prop_assert!(links(ring, sprocket + 1, distance) > here);
        // Symmetry: which one is driven is no matter.
        prop_assert!((links(sprocket, ring, distance) - here).abs() < 1e-9);
        let back = centre_distance_mm(ring, sprocket, even_up(here), 0.0).unwrap();
        prop_assert!((links(ring, sprocket, back) - f64::from(even_up(here))).abs() < 1e-9);
    }

    /// A closed loop turns once: clockwise, as the ring does.
    #[test]
    fn wraps_sum_to_one_turn(
        ring in 22_u32..52, sprocket in 9_u32..52, cage in -1.0..1.2_f64, reach in 400.0..460.0_f64, up in -60.0..60.0_f64,
    ) {
        let two = around_two(ring, sprocket, reach).unwrap();
        prop_assert!((two.wraps_rad.iter().sum::<f64>() - TAU).abs() < 1e-12);
        let wheels = long_cage(Point::new(reach, up)).wheels(ring, sprocket, cage);
        if let Ok(path) = path(&wheels) {
            let turned = path.wraps_rad[0] + path.wraps_rad[1] - path.wraps_rad[2] + path.wraps_rad[3];
            prop_assert!((turned - TAU).abs() < 1e-9, "{turned}");
            // The runs join the points where the wheels are touched.
            for at in 0..4 {
                let [from, to] = path.run(&wheels, at).unwrap();
                prop_assert!(((to - from).length() - path.runs_mm[at]).abs() < 1e-9);
            }
        }
    }

    /// With the cage between its ends the chain is straight: the path is as long as it is.
    #[test]
    fn the_cage_stands_where_the_chain_is_straight(sprocket in 10_u32..52, links in 100_u32..128, wear in 0.0..0.01_f64) {
        let derailleur = trail_bike();
        let standing = derailleur.standing(32, sprocket, links, wear).unwrap();
        let length = f64::from(links) * PITCH_MM * (1.0 + wear);
        if standing.slack_mm < 0.0 && standing.reserve_mm > 0.0 {
            let path = path(&derailleur.wheels(32, sprocket, standing.cage_rad)).unwrap();
            prop_assert!((path.length_mm - length).abs() < 1e-7, "{} against {length}", path.length_mm);
        }
        // Two links more are two links more of both.
        let more = derailleur.standing(32, sprocket, links + 2, wear).unwrap();
        let two = 2.0 * PITCH_MM * (1.0 + wear);
        prop_assert!((more.slack_mm - standing.slack_mm - two).abs() < 1e-9);
        prop_assert!((more.reserve_mm - standing.reserve_mm - two).abs() < 1e-9);
        prop_assert!(more.cage_rad <= standing.cage_rad + 1e-9);
    }

    /// Derivatives with respect to the chainstay, exact against differences.
    #[test]
    fn derivatives_are_those_of_differences(sprocket in 10_u32..52) {
        let at = |reach: f64| long_cage(Point::new(reach, -30.0)).standing(32, sprocket, 116, 0.0).unwrap();
        let reach = Dual64::from_re(435.0).derivative();
        let dual = long_cage(Point::new(reach, Dual64::from_re(-30.0))).standing(32, sprocket, 116, 0.0).unwrap();
        let (more, less) = (at(435.0 + 1e-4), at(435.0 - 1e-4));
        for (exact, high, low) in [
            (dual.cage_rad, more.cage_rad, less.cage_rad),
            (dual.slack_mm, more.slack_mm, less.slack_mm),
            (dual.reserve_mm, more.reserve_mm, less.reserve_mm),
        ] {
            let difference = (high - low) / 2e-4;
            prop_assert!((exact.eps - difference).abs() < 1e-4 * difference.abs().max(1e-3), "{} against {difference}", exact.eps);
        }
    }

    /// Whatever is said, an outcome or a reason comes back.
    #[test]
    fn nothing_panics(
        ring in 0_u32..200, sprocket in 0_u32..200, links in 0_u32..400,
        x in prop::num::f64::ANY, y in -1e3..1e3_f64, cage in prop::num::f64::ANY, rest in -4.0..4.0_f64, gap in -10.0..2000.0_f64,
    ) {
        let mut derailleur = long_cage(Point::new(x, y));
        derailleur.cage.pivot_to_lower_mm = cage;
        derailleur.cage.rest_rad = rest;
        derailleur.gap_mm = gap;
        let _ = derailleur.standing(ring, sprocket, links, 0.0);
        let _ = mechanics::chain_path::links(&derailleur, [ring, ring], [sprocket, sprocket], 5.0);
        let _ = centre_distance_mm(ring, sprocket, links, 0.0);
    }
}
