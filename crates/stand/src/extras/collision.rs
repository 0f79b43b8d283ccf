//! Why nothing works: facts that together leave no way, none of which can be spared.
//!
//! A search that ends without a solution is a proof, and the rules that objected on its way are what the proof stands on. From these,
//! the parts that have to stay and the limits, one fact after the other is left out for a try; what turns out not to be needed stays
//! out (a deletion filter: Chinneck & Dravnieks 1991). Leaving out a part that has to stay means: if it were whatever one likes, so
//! no rule that looks at its slot counts.

use super::{Case, search::Found};

/// One of the facts that collide.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Fact {
    /// The part in this slot has to stay.
    Stays(usize),
    /// This rule, by its place in the knowledge's list.
    Rule(usize),
    /// The budget.
    Budget,
}

/// Facts that collide. Without any one of them there is a way.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Collision {
    pub(crate) facts: Vec<Fact>,
}

/// Which facts count in a try.
#[derive(Clone)]
struct Facts {
    rules: Vec<bool>,
    stays: Vec<usize>,
    budget: bool,
}

/// Finds facts that collide and can none of them be spared.
pub(crate) fn explain(case: &Case<'_>, found: &Found) -> Collision {
    let rules: Vec<bool> = (0..case.space.rules.list.len()).map(|place| found.objected.contains(&place)).collect();
    let of_rules =
        rules.iter().enumerate().filter(|(_, counts)| **counts).flat_map(|(place, _)| case.space.rules.list[place].scope.iter());
    // What does not stay can be changed already; an empty slot that nothing may fill says nothing.
    let mut stays: Vec<usize> = of_rules
        .copied()
        .filter(|slot| case.space.slots[*slot].fixed && case.space.slots[*slot].choices[0].part.is_some())
        .collect();
    stays.sort_unstable();
    stays.dedup();
    let mut facts = Facts { rules, stays, budget: found.over_budget && case.budget.is_some() };
    // The budget first: if there is no way at any price, it is not what stands in the way.
    if facts.budget {
        let without = Facts { budget: false, ..facts.clone() };
        if is_hopeless(case, &without) {
            facts = without;
        }
    }
    for place in 0..facts.rules.len() {
        if facts.rules[place] {
            facts.rules[place] = false;
            if !is_hopeless(case, &facts) {
                facts.rules[place] = true;
            }
        }
    }
    for slot in facts.stays.clone() {
        let without = Facts { stays: facts.stays.iter().copied().filter(|other| *other != slot).collect(), ..facts.clone() };
        if is_hopeless(case, &without) {
            facts = without;
        }
    }
    let stays = facts.stays.iter().map(|slot| Fact::Stays(*slot));
    let rules = facts
        .rules
        .iter()
        .enumerate()
        .filter(|(_, counts)| **counts)
        .map(|(place, _)| Fact::Rule(case.space.rules.list[place].rule));
    Collision { facts: stays.chain(rules).chain(facts.budget.then_some(Fact::Budget)).collect() }
}

/// Whether there is still no way with these facts alone.
fn is_hopeless(case: &Case<'_>, facts: &Facts) -> bool {
    let is_whatever = |slot: &usize| {
        let space = &case.space.slots[*slot];
        space.fixed && space.choices[0].part.is_some() && !facts.stays.contains(slot)
    };
    let active: Vec<bool> = facts
        .rules
        .iter()
        .zip(&case.space.rules.list)
        .map(|(counts, rule)| *counts && !rule.scope.iter().any(is_whatever))
        .collect();
    let found = case.search(&active, 1, case.budget.filter(|_| facts.budget));
    found.proven && found.solutions.is_empty()
}
