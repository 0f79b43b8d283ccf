//! The search against trying everything: same cost, same feasibility, and collisions of which nothing can be spared.
//!
//! Trying everything shares no code with the search but the rules themselves: each bike is put together, and its joints taken as an
//! answer takes them.

use std::sync::Arc;

use bike::{Catalogue, Part};
use knowledge::Knowledge;
use rand::{Rng, SeedableRng, rngs::StdRng};

use super::*;
use crate::{Stand, evaluation::state};

#[path = "../../benches/large_catalogue/mod.rs"]
mod large_catalogue;
use large_catalogue::{demo, large};

/// Slots that meet each other, and whose parts have no say in how the bike stands, so that what can clear a rule is plain from its terms.
/// The first of a group is the one that is swapped.
const GROUPS: [&[&str]; 6] = [
    &["front_rotor", "front_calliper_adaptor", "front_calliper", "front_brake_lever"],
    &["front_rotor", "front_calliper_adaptor", "front_rotor_adaptor"],
    &["rear_rotor", "rear_calliper_adaptor", "rear_calliper", "rear_brake_lever"],
    &["cassette", "chain", "rear_derailleur", "rear_shifter", "driver_body"],
    &["rear_shifter", "rear_derailleur", "shift_actuator", "cassette"],
    &["front_calliper", "front_calliper_adaptor", "front_brake_lever"],
];

/// A small problem: a bike, a swap on it and a few parts of a few kinds.
struct Instance {
    build: Build,
    swap: Swap,
    catalogue: Catalogue,
    limits: Limits,
}

fn instance(knowledge: &Knowledge, [plain, crossed]: [&Catalogue; 2], random: &mut StdRng) -> Instance {
    let bike = ["heron.toml", "bittern.toml", "wheatear.toml", "fieldfare.toml"][random.random_range(0..4)];
    let (build, _) = bike::read::read_build(&demo().join(bike), knowledge).unwrap();
    let slots: Vec<SlotId> = GROUPS[random.random_range(0..GROUPS.len())].iter().map(|id| knowledge.slot(id).unwrap()).collect();
    let mut catalogue = Catalogue::new();
    for slot in &slots {
        let kind = knowledge.slot_of(*slot).kind;
        for _ in 0..random.random_range(1..=3) {
            let of_kind: Vec<_> = if random.random_bool(0.85) { plain } else { crossed }.of_kind(kind).collect();
            // One that is there already is not added twice.
            let _ = catalogue.add(Part::clone(of_kind[random.random_range(0..of_kind.len())]));
        }
    }
    let slot = slots[0];
    let from = if random.random_bool(0.85) { plain } else { crossed };
    let of_kind: Vec<_> = from.of_kind(knowledge.slot_of(slot).kind).collect();
    let part = Arc::clone(of_kind[random.random_range(0..of_kind.len())]);
    let budget = random.random_bool(0.2).then(|| random.random_range(100.0..600.0_f64).round());
    let keep = if random.random_bool(0.15) { vec![slots[1]] } else { Vec::new() };
    let limits = Limits { budget, keep, used: Used::Allowed, rate: Some(60.0) };
    Instance { build, swap: Swap { set: vec![(slot, part)], ..Swap::default() }, catalogue, limits }
}

/// Everything that may be chosen in every slot that is open.
fn choices<'c>(case: &'c Case<'_>) -> Vec<(usize, &'c [Choice])> {
    case.space
        .slots
        .iter()
        .enumerate()
        .filter(|(_, slot)| slot.is_open())
        .map(|(slot, space)| (slot, &space.choices[..]))
        .collect()
}

/// What stands in the way of a bike, of the rules that count: rules short or unsure that were not so before, or lost for want of a number.
fn objections(mounted: &Mounted, alone: &Evaluation, build: &Build, sure: bool, counts: &dyn Fn(usize) -> bool) -> bool {
    let rules = &mounted.ground.knowledge.margins;
    let joints = alone.joints_of(&mounted.ground, &mounted.build, build, &mounted.chart);
    let of = |list: &[Taken], rule: usize| {
        list.iter().find(|taken| taken.rule == rule).map(|taken| (taken.margin.value, taken.plus_minus))
    };
    rules.iter().enumerate().any(|(rule, about)| {
        if about.severity == Severity::Felt || about.is_of_the_whole() || !counts(rule) {
            return false;
        }
        let now = of(&joints, rule);
        let with_swap = of(&alone.margins_after, rule);
        match now {
            Some((value, plus_minus)) => {
                let unsure_is_enough = !sure || with_swap.is_some_and(|(value, pm)| state(value, pm) == State::Unsure);
                let good = match state(value, plus_minus) {
                    State::Clear => true,
                    State::Unsure => unsure_is_enough,
                    State::Short => false,
                };
                let before = of(&alone.before.margins, rule).filter(|(value, pm)| state(*value, *pm) != State::Clear);
                !good && before.is_none_or(|(before, _)| value < before - 1e-9)
            }
            None => with_swap.is_some() && !crate::wording::missing_terms(&mounted.ground, build, about).is_empty(),
        }
    })
}

/// All sets that work, as their changes with cost, the cheapest first; of two where one holds the other, the smaller.
fn try_everything(
    case: &Case<'_>,
    mounted: &Mounted,
    alone: &Evaluation,
    sure: bool,
    budget: Option<i64>,
    counts: &dyn Fn(usize) -> bool,
) -> Vec<(i64, Vec<Change>)> {
    let open = choices(case);
    let mut found: Vec<(i64, Vec<Change>)> = Vec::new();
    let mut number = vec![0; open.len()];
    loop {
        let changes: Vec<Change> =
            open.iter().zip(&number).filter(|(_, choice)| **choice > 0).map(|((slot, _), choice)| (*slot, *choice)).collect();
        let money: i64 = changes.iter().map(|change| case.choice(*change).money).sum();
        let weighed: i64 = changes.iter().map(|change| case.choice(*change).weighed).sum();
        if budget.is_none_or(|budget| changes.is_empty() || money <= budget)
            && !objections(mounted, alone, &case.with(&changes), sure, counts)
        {
            found.push((weighed, changes));
        }
        // Counting on.
        let Some(place) = (0..number.len()).find(|place| number[*place] + 1 < open[*place].1.len()) else { break };
        for earlier in &mut number[..place] {
            *earlier = 0;
        }
        number[place] += 1;
    }
    found.sort_by_key(|(weighed, changes)| (*weighed, changes.len()));
    let mut kept: Vec<(i64, Vec<Change>)> = Vec::new();
    for (weighed, changes) in found {
        if !kept.iter().any(|(_, smaller)| smaller.iter().all(|change| changes.contains(change))) {
            kept.push((weighed, changes));
        }
    }
    kept
}

/// Work and likeness are left out: they only narrow or widen what may be chosen.
fn stand_without_work() -> Stand {
    let folder = tempfile::tempdir().unwrap();
    let shop = include_str!("../../../../knowledge/shop.toml");
    let first = shop.find("[[work]]").unwrap();
    // The keys of a file come before its tables.
    std::fs::write(folder.path().join("shop.toml"), format!("work = []\nlike = []\n{}", &shop[..first])).unwrap();
    Stand::new(Knowledge::load(folder.path()).unwrap_or_else(|problems| panic!("{problems}"))).unwrap()
}

#[test]
fn extras_are_those_that_trying_everything_finds() {
    let stand = stand_without_work();
    let knowledge = stand.knowledge();
    let plain = bike::read::read_catalogue(&[demo().join("parts")], knowledge).unwrap_or_else(|problems| panic!("{problems}"));
    let crossed = large(knowledge, None, 3_000, 11);
    let mut random = StdRng::seed_from_u64(1887);
    let (mut needed, mut solved, mut hopeless, mut several) = (0, 0, 0, 0);
    while needed < 500 {
        let instance = instance(knowledge, [&plain, &crossed], &mut random);
        let mounted = stand.mount(instance.build.clone()).unwrap();
        let after = instance.build.with(&instance.swap, knowledge);
        let alone = mounted.evaluate_build(&after, |_| true).unwrap();
        if !is_needed(&mounted, &alone) {
            continue;
        }
        needed += 1;
        let offer = Offer::new(&mounted, &instance.catalogue, &instance.limits).unwrap();
        let fixed = offer.fixed_by(&mounted, &instance.swap, &after);
        let mut case = Case::new(&mounted, &instance.swap, &after, &alone, &offer, &fixed, &instance.limits);
        let mut wanted = try_everything(&case, &mounted, &alone, true, case.budget, &|_| true);
        let mut unsure = false;
        if wanted.is_empty() {
            wanted = try_everything(&case, &mounted, &alone, false, case.budget, &|_| true);
            unsure = !wanted.is_empty();
        }
        // Most random swaps are hopeless; enough of them are looked at.
        if wanted.is_empty() && hopeless >= 350 {
            needed -= 1;
            continue;
        }
        let outcome = case.solve();
        assert!(outcome.proven);
        assert_eq!(outcome.unsure, unsure);
        let costs: Vec<i64> = outcome.solutions.iter().map(|solution| solution.weighed).collect();
        let brute: Vec<i64> = wanted.iter().take(MOST_SOLUTIONS).map(|found| found.0).collect();
        assert_eq!(
            costs, brute,
            "{} {:?}\nsearch {:?}\neverything {wanted:?}",
            instance.build.name, instance.swap.set, outcome.solutions
        );
        solved += usize::from(!costs.is_empty());
        several += usize::from(costs.len() > 1);
        let Some(collision) = outcome.collision else { continue };
        hopeless += 1;
        if hopeless > 60 {
            continue;
        }
        // Nothing works with these facts, and without any one of them something does.
        let works_with = |facts: &[Fact]| {
            let stays = |slot: usize| {
                !case.space.slots[slot].fixed
                    || facts.contains(&Fact::Stays(slot))
                    || case.space.slots[slot].choices[0].part.is_none()
            };
            let counts = |rule: usize| {
                let space = case.space.rules.list.iter().find(|space| space.rule == rule);
                facts.contains(&Fact::Rule(rule)) && space.is_some_and(|space| space.scope.iter().all(|slot| stays(*slot)))
            };
            let budget = case.budget.filter(|_| facts.contains(&Fact::Budget));
            !try_everything(&case, &mounted, &alone, false, budget, &counts).is_empty()
        };
        assert!(!works_with(&collision.facts), "{collision:?}");
        for left_out in 0..collision.facts.len() {
            let mut rest = collision.facts.clone();
            let fact = rest.remove(left_out);
            assert!(works_with(&rest), "{fact:?} can be spared of {collision:?}");
        }
    }
    // The instances are of all sorts.
    assert!(solved >= 150 && hopeless > 100 && several > 15, "{solved} solved, {several} in several ways, {hopeless} hopeless");
}

/// A rule of the whole bicycle is cleared by the slots that can cure it: pedals so wide that they touch early ask for shorter cranks.
#[test]
fn a_rule_of_the_whole_is_cleared_by_what_can_cure_it() {
    let stand = Stand::new(Knowledge::embedded().unwrap()).unwrap();
    let knowledge = stand.knowledge();
    let (build, catalogue) = bike::read::read_build(&demo().join("heron.toml"), knowledge).unwrap();
    let mounted = stand.mount(build).unwrap();
    let extras = |slot: &str, part: Part| {
        let swap = Swap { set: vec![(knowledge.slot(slot).unwrap(), Arc::new(part))], ..Swap::default() };
        mounted.extras(&swap, crate::Telling::default(), &catalogue, &Limits::default()).unwrap()
    };
    let items = |extras: &crate::answer::Extras| -> Vec<(String, String)> {
        extras.sets[0].items.iter().map(|item| (item.slot.clone(), item.part.clone().unwrap().id.unwrap())).collect()
    };
    let pedal = knowledge.kind("pedal").unwrap();
    let mut wide = Part::clone(catalogue.get("hobnail-flat").unwrap());
    for (id, value) in [("outer_edge", 180.0), ("thickness", 40.0)] {
        let attribute = knowledge.attribute(pedal, id).unwrap();
        let exact = quantity::Quantity::exact(value, quantity::Dimension::Length, quantity::Origin::MakersSheet);
        wide.values.set(attribute, bike::Value::Quantity(exact));
    }
    let wide = extras("pedals", wide);
    assert_eq!(items(&wide), [("crank".to_owned(), "oxbow-trail-155".to_owned())], "{wide:#?}");
    assert!(wide.sets[0].items[0].because.contains("Lean before the pedal touches"), "{wide:#?}");
    // A smaller rear wheel needs a tyre of its size, and one like that which was there.
    let smaller = extras("rear_wheel", Part::clone(catalogue.get("withy-584-30-rear").unwrap()));
    assert_eq!(items(&smaller), [("rear_tyre".to_owned(), "sedge-584-54".to_owned())], "{smaller:#?}");
}
