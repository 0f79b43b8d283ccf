//! The demo bikes on the stand: Monte Carlo against the linear ±, swaps and back, and what is known of each of them.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

use std::{collections::BTreeMap, path::PathBuf, sync::Arc};

use bike::{Build, Catalogue, Named, Part, Swap, Value, Values};
use knowledge::{AttributeId, Figure, Knowledge, MarginKind};
use quantity::{Quantity, Spread};
use rand::{Rng, SeedableRng, rngs::StdRng};
use rand_distr::{Distribution, StandardNormal};
use stand::{
    Stand, Telling,
    answer::{Answer, Change, Pose, State, Verdict},
};

/// Every demo bike with one of its swaps.
const SWAPS: [(&str, &str); 8] = [
    ("heron", "heron-150-fork"),
    ("heron", "heron-140-fork"),
    ("fieldfare", "fieldfare-584-wheels"),
    ("fieldfare", "fieldfare-584-wider"),
    ("bittern", "bittern-small-rear-wheel"),
    ("bittern", "bittern-small-rear-wheel-short-cranks"),
    ("wheatear", "wheatear-slacker"),
    ("moorhen", "moorhen-wide-tyres"),
];

fn demo() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../demo")
}

fn stand_made() -> Stand {
    Stand::new(Knowledge::embedded().unwrap_or_else(|p| panic!("{p}"))).unwrap()
}

fn load(stand: &Stand, bike: &str, swap: &str) -> (Build, Catalogue, Swap) {
    let knowledge = stand.knowledge();
    let (build, catalogue) =
        bike::read::read_build(&demo().join(format!("{bike}.toml")), knowledge).unwrap_or_else(|p| panic!("{p}"));
    let swap = bike::read::read_swap(&demo().join(format!("swaps/{swap}.toml")), knowledge, &catalogue)
        .unwrap_or_else(|p| panic!("{p}"));
    (build, catalogue, swap)
}

fn change<'a>(answer: &'a Answer, id: &str, pose: Pose) -> &'a Change {
    answer.changes.iter().find(|c| c.id == id && c.pose == pose).unwrap_or_else(|| panic!("no {id}"))
}

#[test]
fn every_demo_swap_gets_an_answer_that_survives_json() {
    let stand = stand_made();
    for (bike, swap) in SWAPS {
        let (build, catalogue, swap) = load(&stand, bike, swap);
        let answer =
            stand.mount(build).unwrap().answer(&swap, Telling { currency: catalogue.currency(), ..Telling::default() }).unwrap();
        assert!(!answer.headline.is_empty() && !answer.margins.is_empty() && !answer.sources.is_empty());
        assert!(answer.changes.iter().any(|c| c.change != 0.0), "{bike}: nothing moves");
        let again: Answer = serde_json::from_str(&serde_json::to_string(&answer).unwrap()).unwrap();
        // JSON keeps 17 digits: equal to the last bit.
        assert_eq!(again, answer);
        let cited = u32::try_from(answer.sources.len()).unwrap();
        assert!(answer.margins.iter().all(|m| !m.sources.is_empty() && m.sources.iter().all(|s| (1..=cited).contains(s))));
    }
}

#[test]
fn a_bike_as_it_stands_does_not_move() {
    let stand = stand_made();
    let (build, _, _) = load(&stand, "heron", "heron-150-fork");
    let answer = stand.mount(build).unwrap().answer(&Swap::default(), Telling::default()).unwrap();
    for c in &answer.changes {
        assert_eq!((c.change, c.plus_minus), (0.0, 0.0), "{}", c.id);
    }
}

#[test]
fn a_swap_and_back_is_no_change() {
    let stand = stand_made();
    for (bike, swap) in SWAPS {
        let (build, _, swap) = load(&stand, bike, swap);
        let back = Swap {
            set: swap.set.iter().filter_map(|(slot, _)| Some((*slot, build.part(*slot)?.clone()))).collect(),
            unset: swap.set.iter().filter(|(slot, _)| build.part(*slot).is_none()).map(|s| s.0).collect(),
            adjust: swap
                .adjust
                .iter()
                .filter_map(|(a, _)| Some((*a, build.setup.quantity(*a).or(build.rider.quantity(*a))?)))
                .collect(),
            ..Swap::default()
        };
        let there = build.with(&swap, stand.knowledge());
        let home = there.with(&back, stand.knowledge());
        let before = stand.mount(build).unwrap().answer(&Swap::default(), Telling::default()).unwrap();
        let after = stand.mount(home).unwrap().answer(&Swap::default(), Telling::default()).unwrap();
        for (a, b) in before.changes.iter().zip(&after.changes) {
            assert!((a.after - b.after).abs() < 1e-9, "{bike} {}: {} {}", a.id, a.after, b.after);
        }
    }
}

/// Common practice, no source: some 20 mm of fork are about one degree and 5 to 7 mm of bottom bracket height.
#[test]
fn the_heron_follows_the_trades_rule_of_thumb() {
    let stand = stand_made();
    let (build, _, swap) = load(&stand, "heron", "heron-150-fork");
    let answer = stand.mount(build).unwrap().answer(&swap, Telling::default()).unwrap();
    assert!((-1.15..-0.8).contains(&change(&answer, "head_angle", Pose::Unladen).change));
    assert!((5.0..7.5).contains(&change(&answer, "bb_height", Pose::Unladen).change));
    // The frame is stated for 540 mm, the fork has 544.
    let longest = answer.margins.iter().find(|m| m.id == "fork.longest").unwrap();
    assert!((longest.after + 4.0).abs() < 1e-9 && longest.state == State::Short);
    assert_eq!(answer.verdict, Verdict::Unsafe);
}

#[test]
fn the_moorhens_wrong_number_is_named() {
    let stand = stand_made();
    let (build, _, _) = load(&stand, "moorhen", "moorhen-wide-tyres");
    let answer = stand.mount(build).unwrap().answer(&Swap::default(), Telling::default()).unwrap();
    let wrong: Vec<&str> = answer.chart.entries.iter().filter(|e| e.set_aside).map(|e| e.id.as_str()).collect();
    assert_eq!(wrong, ["front_centre"]);
    let entry = answer.chart.entries.iter().find(|e| e.id == "front_centre").unwrap();
    let by = entry.disagrees_by.unwrap();
    assert!((by - 9.0).abs() < 1.5, "{by}");
    assert!(answer.chart.finding.contains("front centre"), "{}", answer.chart.finding);
}

/// The same draws of the same inputs, evaluated exactly (chart adjusted anew, no linearisation), spread as the linear ± says:
/// JCGM 101:2008, within 5 % for every figure and margin that moves, in the manner of its 9.4.
#[test]
fn linear_tolerances_agree_with_monte_carlo() {
    const DRAWS: usize = 3_000;
    // 3 000 draws know a standard deviation to 1.3 % (one σ); 5 % leaves room for that and for second-order terms.
    const AGREEMENT: f64 = 0.05;
    let stand = stand_made();
    let mut random = StdRng::seed_from_u64(1885);
    for (bike, swap_name) in [SWAPS[0], SWAPS[2], SWAPS[4], SWAPS[6], SWAPS[7]] {
        let (mut build, _, swap) = load(&stand, bike, swap_name);
        // The Moorhen's wrong number would be set aside in every draw but a few; leave it out for all.
        if bike == "moorhen" {
            build.chart = without(&build.chart, stand.knowledge(), "front_centre");
        }
        let answer = stand.mount(build.clone()).unwrap().answer(&swap, Telling::default()).unwrap();
        let mut sums: BTreeMap<String, (f64, f64)> = BTreeMap::new();
        for _ in 0..DRAWS {
            let mut draw = Draw { knowledge: stand.knowledge(), random: &mut random, parts: Vec::new() };
            let drawn = draw.build(&build);
            let swapped = draw.swap(&swap, &build);
            // A draw may by chance look like a chart with a wrong entry; that is a different adjustment, and rare.
            let Ok(mounted) = stand.mount(drawn) else { continue };
            let outcome = mounted.answer(&swapped, Telling::default()).unwrap();
            let mut add = |key: String, value: f64| {
                let sum = sums.entry(key).or_default();
                sum.0 += value;
                sum.1 += value * value;
            };
            for c in &outcome.changes {
                add(format!("{} {:?}", c.id, c.pose), c.after);
                add(format!("change of {} {:?}", c.id, c.pose), c.after - c.before);
            }
            for m in &outcome.margins {
                add(m.id.clone(), m.after);
            }
        }
        let mut compared = 0;
        let mut check = |key: &str, plus_minus: f64, floor: f64| {
            let Some((sum, squares)) = sums.get(key) else { return };
            let n = DRAWS as f64;
            let spread = ((squares - sum * sum / n) / (n - 1.0)).max(0.0).sqrt();
            let linear = plus_minus / 2.0;
            if linear > floor {
                compared += 1;
                assert!((spread / linear - 1.0).abs() < AGREEMENT, "{bike}, {key}: Monte Carlo {spread}, linear {linear}");
            }
        };
        for c in &answer.changes {
            check(&format!("{} {:?}", c.id, c.pose), c.after_plus_minus, 1e-4);
            check(&format!("change of {} {:?}", c.id, c.pose), c.plus_minus, 2e-3);
        }
        for m in &answer.margins {
            // A margin that is an absolute value (equal or not, how far it moved) has a kink where the linear view ends.
            let rule = stand.knowledge().margins.iter().find(|rule| rule.id == m.id).unwrap();
            let has_kink = matches!(rule.kind, MarginKind::Same { .. } | MarginKind::Between { .. });
            if !has_kink && !rule.terms().into_iter().any(knowledge::Term::is_change) {
                check(&m.id, m.plus_minus, 1e-4);
            }
        }
        assert!(compared > 20, "{bike}: only {compared} compared");
    }
}

fn without(values: &Values, knowledge: &Knowledge, id: &str) -> Values {
    let mut kept = Values::new();
    for (attribute, stated) in values.iter() {
        if knowledge.attribute_of(attribute).id != id {
            kept.set(attribute, stated.clone());
        }
    }
    kept
}

/// One draw of everything uncertain.
struct Draw<'a> {
    knowledge: &'a Knowledge,
    random: &'a mut StdRng,
    /// Parts drawn already: a part on the bike before and after is the same part.
    parts: Vec<(Arc<Part>, usize, Arc<Part>)>,
}

impl Draw<'_> {
    fn quantity(&mut self, q: Quantity) -> Quantity {
        let off = match q.spread() {
            Spread::Exact => 0.0,
            Spread::Limits(a) => self.random.random_range(-a..=a),
            other => {
                let z: f64 = StandardNormal.sample(self.random);
                z * other.standard_uncertainty()
            }
        };
        q.with_value(q.value() + off)
    }

    fn values(&mut self, values: &Values, slot: Option<knowledge::SlotId>, kind: Option<knowledge::KindId>) -> Values {
        let mut drawn = values.clone();
        let stated: Vec<(AttributeId, Value)> = values.iter().map(|(a, s)| (a, s.clone())).collect();
        for (attribute, value) in stated {
            match value {
                Value::Quantity(q) => drawn.set(attribute, Value::Quantity(self.quantity(q))),
                // A standard's figures are made to its tolerance, each part of its own.
                Value::Standard(named) => {
                    let mut standard = (*named.standard).clone();
                    for figure in &mut standard.figures {
                        if let Some(Figure::Quantity(q)) = figure {
                            *q = self.quantity(*q);
                        }
                    }
                    drawn.set(attribute, Value::Standard(Named { standard: Arc::new(standard), ..named }));
                }
                _ => {}
            }
        }
        // What would be assumed is drawn too, and stated.
        let defaults: Vec<(AttributeId, Quantity)> = self
            .knowledge
            .defaults
            .iter()
            .filter(|d| d.slot == slot && (slot.is_some() || kind == Some(self.knowledge.attribute_of(d.attribute).kind)))
            .map(|d| (d.attribute, d.value))
            .collect();
        for (attribute, value) in defaults {
            if values.get(attribute).is_none() {
                drawn.set(attribute, Value::Quantity(self.quantity(value)));
            }
        }
        drawn
    }

    fn part(&mut self, slot: knowledge::SlotId, part: &Arc<Part>) -> Arc<Part> {
        if let Some(seen) = self.parts.iter().find(|(p, s, _)| Arc::ptr_eq(p, part) && *s == slot.index()) {
            return seen.2.clone();
        }
        let drawn = Arc::new(Part { values: self.values(&part.values, Some(slot), None), ..(**part).clone() });
        self.parts.push((part.clone(), slot.index(), drawn.clone()));
        drawn
    }

    fn build(&mut self, build: &Build) -> Build {
        let knowledge = self.knowledge;
        let kind = |id: &str| knowledge.kind(id);
        let parts = knowledge.slots().map(|(slot, _)| build.part(slot).map(|p| self.part(slot, p))).collect();
        Build {
            parts,
            chart: self.values(&build.chart, None, None),
            rider: self.values(&build.rider, None, kind("rider")),
            setup: self.values(&build.setup, None, kind("setup")),
            ..build.clone()
        }
    }

    fn swap(&mut self, swap: &Swap, _: &Build) -> Swap {
        Swap {
            set: swap.set.iter().map(|(slot, part)| (*slot, self.part(*slot, part))).collect(),
            adjust: swap.adjust.iter().map(|(a, q)| (*a, self.quantity(*q))).collect(),
            ..swap.clone()
        }
    }
}
