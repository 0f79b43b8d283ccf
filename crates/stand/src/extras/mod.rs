//! What else it takes: the cheapest set of further or other parts, and of work, that clears what a swap makes short; or the proof
//! that there is none, with the facts that collide.
//!
//! ```text
//! build + swap + catalogue + limits ─ choices (space) ─ search ─┬─ solutions, the cheapest first ─ Extras
//!                                                               └─ none ─ collision: the facts none of which can be spared
//! ```
//!
//! What has to be cleared: margins that are short with the swap and were not before, or were less so. What is only unsure is for a
//! measurement, not for money; but no extra may make anything unsure that was not.

#[cfg(test)]
mod against_brute_force;
mod choices;
mod collision;
mod search;
mod space;
mod told;

use std::borrow::Cow;

use bike::{Build, Catalogue, Swap};
use knowledge::{Severity, SlotId};

use crate::{
    Mounted,
    answer::State,
    evaluation::{Evaluation, Taken},
    ground::Ground,
    problem::StandProblem,
};

pub(crate) use choices::is_alike;
pub(crate) use told::{condition, in_short, nothing_needed, tell};

use choices::Shelf;
use collision::Collision;
#[cfg(test)]
use collision::Fact;
use search::{Change, Found, Solution, Wanted, search};
pub(crate) use space::Settled;
use space::is_worse;
use space::{Choice, Origin, RuleSpace, Rules, SlotSpace, Space, Standing};

/// Used parts or not.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Used {
    /// New and used parts alike; a used one counts by what is left of it.
    #[default]
    Allowed,
    /// New parts only.
    No,
}

/// What the rider, and the shop, set.
#[derive(Clone, Debug, Default)]
pub struct Limits {
    /// The most the whole swap may cost, extras and work included.
    pub budget: Option<f64>,
    /// Slots whose part has to stay.
    pub keep: Vec<SlotId>,
    /// Used parts or not.
    pub used: Used,
    /// The shop's rate an hour; without one, work counts nothing and is told in minutes.
    pub rate: Option<f64>,
}

/// Solutions looked for.
pub(crate) const MOST_SOLUTIONS: usize = 3;
/// Nodes after which a search is given up, after a few seconds; the answer says so then.
pub(crate) const MOST_NODES: usize = 200_000;

/// What a search for extras gives.
#[derive(Debug)]
pub(crate) struct Outcome {
    /// The cheapest first.
    pub(crate) solutions: Vec<Solution>,
    /// What was found is proven.
    pub(crate) proven: bool,
    /// It leaves margins unsure that were not: no set is clear of doubt.
    pub(crate) unsure: bool,
    /// Why there is none, if there is none.
    pub(crate) collision: Option<Collision>,
}

/// What is on offer for a bike: made once, for any number of swaps on it.
#[derive(Debug)]
pub(crate) struct Offer {
    pub(crate) shelf: Shelf,
    /// By slot: what is alike to what it would replace.
    alike: Vec<SlotSpace>,
    /// By slot: everything.
    slots: Vec<SlotSpace>,
    rules: Rules,
    /// Numbers of chart, rider and set-up as they are without a swap.
    tables: Vec<Option<(f64, f64)>>,
}

impl Offer {
    pub(crate) fn new(mounted: &Mounted, catalogue: &Catalogue, limits: &Limits) -> Result<Self, StandProblem> {
        let ground = &mounted.ground;
        let knowledge = &ground.knowledge;
        let shelf = Shelf::new(ground, catalogue, limits);
        // Nobody asks for another frame: that is another bicycle.
        let stays = |slot: SlotId| slot == ground.names.frame || limits.keep.contains(&slot);
        let slots = knowledge.slots().map(|(slot, _)| {
            let fixed = stays(slot);
            SlotSpace { choices: shelf.choices(ground, slot, &mounted.build, fixed), fixed }
        });
        let slots: Vec<SlotSpace> = slots.collect();
        let alike = slots.iter().map(|slot| alike(ground, slot)).collect();
        let before = mounted.before()?;
        let mut rules = Rules { list: Vec::new(), of_slot: vec![Vec::new(); slots.len()] };
        for (rule, about) in knowledge.margins.iter().enumerate() {
            let is_change = about.terms().into_iter().any(knowledge::Term::is_change);
            if about.severity == Severity::Felt || is_change {
                continue;
            }
            let of_the_whole = ground.is_of_the_whole(rule);
            let conditions = about.when.iter().chain(&about.unless).map(knowledge::Condition::slot);
            let mut scope: Vec<usize> =
                about.slots_compared().chain(conditions).chain(about.cure.iter().copied()).map(SlotId::index).collect();
            scope.sort_unstable();
            scope.dedup();
            let earlier = before.margins.iter().find(|taken| taken.rule == rule);
            let tolerated = earlier.filter(|earlier| earlier.state() != State::Clear).map(|earlier| earlier.margin.value);
            if !of_the_whole {
                for slot in &scope {
                    rules.of_slot[*slot].push(rules.list.len());
                }
            }
            let reads = about.attributes().map(|(slot, attribute)| (slot.index(), attribute)).collect();
            rules.list.push(RuleSpace { rule, scope, reads, of_the_whole, tolerated });
        }
        let tables = mounted.tables(&mounted.build, &before.side.assembly);
        Ok(Self { shelf, alike, slots, rules, tables })
    }

    /// What a swap itself comes to: its parts and the work of fitting them; `None` if a part has no price.
    pub(crate) fn cost_of(&self, ground: &Ground, swap: &Swap) -> Option<f64> {
        swap.set.iter().try_fold(0.0, |sum, (slot, part)| Some(sum + part.price? + self.shelf.work(ground, *slot).1))
    }

    /// Whether a swap runs into a rule that nothing on offer could clear: known without a search.
    pub(crate) fn is_hopeless(&self, mounted: &Mounted, swap: &Swap, evaluation: &Evaluation) -> bool {
        let works = &mounted.ground.knowledge.works;
        let is_swapped = |slot: usize| {
            swap.set.iter().any(|set| set.0.index() == slot) || swap.unset.iter().any(|unset| unset.index() == slot)
        };
        let may_clear = |rule: &RuleSpace, slot: usize| {
            let worked = || works.iter().any(|work| work.slot.index() == slot && rule.reads.contains(&(slot, work.attribute)));
            if is_swapped(slot) { worked() } else { self.slots[slot].is_open() }
        };
        let mut rules = self.rules.list.iter().peekable();
        evaluation.margins_after.iter().filter(|taken| taken.state() == State::Short).any(|taken| {
            while rules.peek().is_some_and(|rule| rule.rule < taken.rule) {
                rules.next();
            }
            rules.peek().is_some_and(|rule| {
                rule.rule == taken.rule
                    && !rule.of_the_whole
                    && rule.tolerated.is_none_or(|before| is_worse(taken.margin.value, before))
                    && !rule.scope.iter().any(|slot| may_clear(rule, *slot))
            })
        })
    }

    /// What the swap puts into its slots, which stays but for work on it: a new fork's steerer is cut.
    pub(crate) fn fixed_by(&self, mounted: &Mounted, swap: &Swap, after: &Build) -> Vec<(usize, SlotSpace)> {
        let swapped = swap.set.iter().map(|set| set.0).chain(swap.unset.iter().copied());
        let space = |slot| SlotSpace { choices: self.shelf.choices(&mounted.ground, slot, after, true), fixed: true };
        swapped.map(|slot| (slot.index(), space(slot))).collect()
    }
}

/// The choices of a slot that are like what is there.
fn alike(ground: &Ground, slot: &SlotSpace) -> SlotSpace {
    let there = slot.choices.first().and_then(|choice| choice.part.as_ref());
    let is_alike =
        |choice: &&Choice| there.zip(choice.part.as_ref()).is_none_or(|(there, part)| choices::is_alike(ground, part, there));
    SlotSpace { choices: slot.choices.iter().filter(is_alike).cloned().collect(), fixed: slot.fixed }
}

/// A swap on a bike, with all the choices there are.
pub(crate) struct Case<'m> {
    mounted: &'m Mounted,
    after: &'m Build,
    budget: Option<i64>,
    pub(crate) space: Space<'m>,
    /// All choices, for when those that are alike do not do.
    all: Vec<&'m SlotSpace>,
    /// Rules of the whole that object to the swap alone, as places in the space's list.
    whole_there: Vec<usize>,
    /// Margins with the swap alone.
    there: &'m [Taken],
}

/// Whether a swap makes anything short that counts.
pub(crate) fn is_needed(mounted: &Mounted, evaluation: &Evaluation) -> bool {
    let rules = &mounted.ground.knowledge.margins;
    evaluation.margins_after.iter().any(|taken| {
        rules[taken.rule].severity != Severity::Felt
            && taken.state() == State::Short
            && !is_as_before(taken, &evaluation.before.margins)
    })
}

fn is_as_before(taken: &Taken, before: &[Taken]) -> bool {
    before
        .iter()
        .find(|earlier| earlier.rule == taken.rule)
        .is_some_and(|earlier| earlier.state() != State::Clear && !is_worse(taken.margin.value, earlier.margin.value))
}

impl<'m> Case<'m> {
    /// Sets the problem up.
    pub(crate) fn new(
        mounted: &'m Mounted,
        swap: &Swap,
        after: &'m Build,
        evaluation: &'m Evaluation,
        offer: &'m Offer,
        fixed: &'m [(usize, SlotSpace)],
        limits: &Limits,
    ) -> Self {
        let ground = &mounted.ground;
        let mut slots: Vec<&SlotSpace> = offer.alike.iter().collect();
        let mut all: Vec<&SlotSpace> = offer.slots.iter().collect();
        for (slot, space) in fixed {
            slots[*slot] = space;
            all[*slot] = space;
        }
        let mut standing = vec![Standing::default(); offer.rules.list.len()];
        let mut taken = evaluation.margins_after.iter().peekable();
        // Both lists are in the order of the knowledge's rules.
        for (standing, rule) in standing.iter_mut().zip(&offer.rules.list) {
            while taken.peek().is_some_and(|taken| taken.rule < rule.rule) {
                taken.next();
            }
            if let Some(taken) = taken.peek().filter(|taken| taken.rule == rule.rule) {
                *standing = Standing { taken: Some((taken.margin.value, taken.plus_minus)) };
            }
        }
        let shifts_tables = !swap.adjust.is_empty() || after.chart != mounted.build.chart;
        let tables = if shifts_tables {
            Cow::Owned(mounted.tables(after, &evaluation.after.assembly))
        } else {
            Cow::Borrowed(&offer.tables[..])
        };
        let space = Space { ground, slots, rules: &offer.rules, standing, tables, sure: true, settled: None };
        // What the swap itself costs leaves so much of the budget.
        let spent: f64 = swap.set.iter().map(|(slot, part)| part.price.unwrap_or(0.0) + offer.shelf.work(ground, *slot).1).sum();
        let budget = limits.budget.map(|budget| choices::hundredths(budget - spent));
        let mut case = Self { mounted, after, budget, space, all, whole_there: Vec::new(), there: &evaluation.margins_after };
        case.whole_there = case.objections(evaluation);
        case
    }

    /// Rules of the whole that object to an evaluation.
    fn objections(&self, evaluation: &Evaluation) -> Vec<usize> {
        let rules = &self.space.rules.list;
        let objects = |place: &usize| match evaluation.margins_after.iter().find(|taken| taken.rule == rules[*place].rule) {
            Some(taken) => self.space.is_bad(*place, taken.margin.value, taken.plus_minus),
            None => self.space.standing[*place].taken.is_some(),
        };
        (0..rules.len()).filter(|place| rules[*place].of_the_whole).filter(objects).collect()
    }

    /// Asks the rules of the whole about changes.
    fn ask_whole(&self, changes: &[Change]) -> Vec<usize> {
        let ground = &self.mounted.ground;
        let shapes = |change: &Change| match self.choice(*change).origin {
            Origin::Work(work, _) => ground.shapes_it(ground.knowledge.works[work].attribute),
            _ => ground.shapes_the_bike(change.0),
        };
        if !changes.iter().any(shapes) {
            return self.whole_there.clone();
        }
        if let Ok(evaluation) = self.mounted.evaluate_build(&self.with(changes), |rule| ground.is_of_the_whole(rule)) {
            return self.objections(&evaluation);
        }
        // A bicycle that cannot stand is no solution; every rule of the whole says so.
        let rules = &self.space.rules.list;
        (0..rules.len()).filter(|place| rules[*place].of_the_whole).collect()
    }

    /// The bike with the swap and these changes.
    pub(crate) fn with(&self, changes: &[Change]) -> Build {
        let mut build = self.after.clone();
        build.parts.resize(self.space.slots.len(), None);
        for &(slot, choice) in changes {
            build.parts[slot].clone_from(&self.space.slots[slot].choices[choice].part);
        }
        build
    }

    fn search(&self, active: &[bool], solutions: usize, budget: Option<i64>) -> Found {
        self.search_at_most(active, solutions, budget, MOST_NODES)
    }

    fn search_at_most(&self, active: &[bool], solutions: usize, budget: Option<i64>, most_nodes: usize) -> Found {
        let wanted = Wanted { solutions, active, budget, most_nodes };
        search(&self.space, &wanted, &mut |changes| self.ask_whole(changes))
    }

    /// Uses what is settled for a list of swaps in the same slots.
    pub(crate) fn settled_by(mut self, settled: &'m Settled) -> Self {
        self.space.settled = Some((settled, false));
        self
    }

    /// The best set alone, if there is one.
    pub(crate) fn best(&mut self, most_nodes: usize) -> Option<Solution> {
        let active = vec![true; self.space.rules.list.len()];
        let alike = self.search_at_most(&active, 1, self.budget, most_nodes);
        if !alike.solutions.is_empty() || !self.more_would_matter(&alike) {
            return alike.solutions.into_iter().next();
        }
        self.space.slots.clone_from(&self.all);
        self.space.settled = self.space.settled.map(|(settled, _)| (settled, true));
        self.search_at_most(&active, 1, self.budget, most_nodes).solutions.into_iter().next()
    }

    /// Whether choices that are not alike could matter to what a search ran into.
    fn more_would_matter(&self, found: &Found) -> bool {
        let mut scopes = found.objected.iter().flat_map(|place| self.space.rules.list[*place].scope.iter());
        found.over_budget || scopes.any(|slot| self.all[*slot].choices.len() > self.space.slots[*slot].choices.len())
    }

    /// A rule's margin with the swap alone.
    fn taken_there(&self, rule: usize) -> Option<&Taken> {
        self.there.iter().find(|taken| taken.rule == rule)
    }

    /// What was chosen for a slot.
    pub(crate) fn choice(&self, change: Change) -> &Choice {
        &self.space.slots[change.0].choices[change.1]
    }

    /// The best sets, or why there is none.
    pub(crate) fn solve(&mut self) -> Outcome {
        let active = vec![true; self.space.rules.list.len()];
        let mut found = self.search(&active, MOST_SOLUTIONS, self.budget);
        let mut unsure = false;
        if found.solutions.is_empty() && found.proven && self.more_would_matter(&found) {
            // What is alike to what it replaces does not do: then everything.
            self.space.slots.clone_from(&self.all);
            found = self.search(&active, MOST_SOLUTIONS, self.budget);
        }
        if found.solutions.is_empty() && found.proven {
            // None is clear of doubt: then one that is not short.
            self.space.sure = false;
            found = self.search(&active, MOST_SOLUTIONS, self.budget);
            unsure = !found.solutions.is_empty();
        }
        let collision = (found.solutions.is_empty() && found.proven).then(|| collision::explain(self, &found));
        Outcome { solutions: found.solutions, proven: found.proven, unsure, collision }
    }
}
