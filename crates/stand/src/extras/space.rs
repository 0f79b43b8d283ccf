//! What may be chosen, slot by slot, and when a choice is good: the problem that [`super::search`] solves.

use std::{
    borrow::Cow,
    sync::{Arc, OnceLock},
};

use bike::Part;
use knowledge::{AttributeId, NameOf, SlotId, TermOf};
use quantity::gum::COVERAGE_FACTOR;

use crate::{
    answer::State,
    evaluation::state,
    ground::Ground,
    margins::{self, Lookup},
};

/// A margin no worse than before by more than rounding.
const ROUNDING: f64 = 1e-9;

/// Whether a margin is worse than one before, by more than rounding.
pub(crate) fn is_worse(value: f64, before: f64) -> bool {
    value < before - ROUNDING
}

/// Where a choice comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Origin {
    /// What is there already: on the bike, or on trial.
    There,
    /// Taken off.
    Off,
    /// From the catalogue.
    Catalogue,
    /// What is there, worked on: place in the knowledge's list, and which of its amounts.
    Work(usize, usize),
}

/// One thing that may be in a slot.
#[derive(Clone, Debug)]
pub(crate) struct Choice {
    pub(crate) part: Option<Arc<Part>>,
    pub(crate) origin: Origin,
    /// What it counts, in hundredths of the currency: price weighed by what is left of the part's life, and work at the shop's rate.
    pub(crate) weighed: i64,
    /// What it costs, parts and work, in hundredths.
    pub(crate) money: i64,
    /// Minutes at the bench.
    pub(crate) minutes: f64,
}

/// What may be in one slot: first what is there, then the others, the cheapest first.
#[derive(Clone, Debug)]
pub(crate) struct SlotSpace {
    pub(crate) choices: Vec<Choice>,
    /// What is there has to stay; all there may be to choose is work on it.
    pub(crate) fixed: bool,
}

impl SlotSpace {
    /// Whether there is anything to choose.
    pub(crate) fn is_open(&self) -> bool {
        self.choices.len() > 1
    }
}

/// A rule as the search needs it: the same for every swap on a bike.
#[derive(Clone, Debug)]
pub(crate) struct RuleSpace {
    /// Place in the knowledge's list.
    pub(crate) rule: usize,
    /// Slots whose change can clear it, each once.
    pub(crate) scope: Vec<usize>,
    /// Attributes it looks at, with their slots.
    pub(crate) reads: Vec<(usize, AttributeId)>,
    /// The whole bicycle has to be looked at, not only the parts that meet.
    pub(crate) of_the_whole: bool,
    /// It was not clear before the swap: this margin is tolerated.
    pub(crate) tolerated: Option<f64>,
}

/// How a rule stands with the swap alone.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Standing {
    /// Its margin and ±, if it can be taken: then a part which says too little to take it is no solution; and if it is unsure, which a
    /// measurement settles, unsure is enough.
    pub(crate) taken: Option<(f64, f64)>,
}

/// The rules that count.
#[derive(Debug, Default)]
pub(crate) struct Rules {
    pub(crate) list: Vec<RuleSpace>,
    /// Places in the list of the joints that look at a slot, by slot.
    pub(crate) of_slot: Vec<Vec<usize>>,
}

/// Choices of a slot that are possible, and the rules that object to the others.
type Possible = (Vec<usize>, Vec<usize>);

/// Choices that a rule could object to whatever is swapped, looked at once for a whole list of parts that are tried in the same slots.
#[derive(Debug)]
pub(crate) struct Settled {
    /// Slots that are swapped.
    swapped: Vec<usize>,
    /// By slot, of the choices that are alike and of all: those to which no rule objects that looks at no swapped slot and at nothing
    /// else that could change; and the rules that did object.
    lists: [Vec<OnceLock<Possible>>; 2],
}

impl Settled {
    pub(crate) fn new(swapped: Vec<usize>, slots: usize) -> Self {
        let none = || (0..slots).map(|_| OnceLock::new()).collect();
        Self { swapped, lists: [none(), none()] }
    }
}

/// Which slots hold which of their choices, by slot: what is there unless said otherwise.
pub(crate) type Chosen<'s> = [Option<&'s Part>];

/// The whole problem.
#[derive(Debug)]
pub(crate) struct Space<'g> {
    pub(crate) ground: &'g Ground,
    /// By slot.
    pub(crate) slots: Vec<&'g SlotSpace>,
    pub(crate) rules: &'g Rules,
    /// By rule.
    pub(crate) standing: Vec<Standing>,
    /// Numbers of chart, rider and set-up with their standard uncertainty, by attribute.
    pub(crate) tables: Cow<'g, [Option<(f64, f64)>]>,
    /// Every margin has to be clear with its tolerance; else it is enough that none is short.
    pub(crate) sure: bool,
    /// What is settled for a whole list of swaps, and whether the choices are all there are; `None` for one swap alone.
    pub(crate) settled: Option<(&'g Settled, bool)>,
}

impl Space<'_> {
    /// What is in each slot if nothing is changed.
    pub(crate) fn there(&self) -> Vec<Option<&Part>> {
        self.slots.iter().map(|slot| slot.choices.first().and_then(|choice| choice.part.as_deref())).collect()
    }

    /// Whether changing a slot can clear a rule: where all there is to choose is work on what is there, the work has to change something
    /// that the rule looks at.
    pub(crate) fn can_clear(&self, place: usize, slot: usize) -> bool {
        let space = self.slots[slot];
        let rule = &self.rules.list[place];
        let matters = |choice: &Choice| match choice.origin {
            Origin::Work(work, _) => {
                rule.of_the_whole || rule.reads.contains(&(slot, self.ground.knowledge.works[work].attribute))
            }
            _ => true,
        };
        space.is_open() && (!space.fixed || space.choices[1..].iter().any(matters))
    }

    /// Joints that may read otherwise after a change: all that look at the slot; of work, those that read the number it changes.
    pub(crate) fn rules_of_change(&self, (slot, choice): (usize, usize)) -> impl Iterator<Item = usize> {
        let work = match self.slots[slot].choices[choice].origin {
            Origin::Work(work, _) => Some(self.ground.knowledge.works[work].attribute),
            _ => None,
        };
        let rules = self.rules.of_slot[slot].iter().copied();
        rules.filter(move |place| work.is_none_or(|attribute| self.rules.list[*place].reads.contains(&(slot, attribute))))
    }

    /// Choices of a slot, but what is there, to which no rule objects that counts and looks at nothing else that could change; and the
    /// rules that did object.
    pub(crate) fn possible(&self, slot: usize, active: &[bool]) -> Possible {
        let is_alone =
            |place: &usize| self.rules.list[*place].scope.iter().all(|other| *other == slot || !self.slots[*other].is_open());
        let alone = self.rules.of_slot[slot].iter().copied().filter(|place| active[*place]).filter(is_alone);
        let everything = 1..self.slots[slot].choices.len();
        let Some((settled, all)) = self.settled.filter(|_| self.sure && active.iter().all(|counts| *counts)) else {
            return self.filtered(slot, everything, &alone.collect::<Vec<_>>());
        };
        let is_swapped = |place: &usize| self.rules.list[*place].scope.iter().any(|other| settled.swapped.contains(other));
        let (of_the_swap, others): (Vec<usize>, Vec<usize>) = alone.partition(is_swapped);
        let (list, objected) = settled.lists[usize::from(all)][slot].get_or_init(|| self.filtered(slot, everything, &others));
        let (list, mut also) = self.filtered(slot, list.iter().copied(), &of_the_swap);
        also.extend(objected);
        (list, also)
    }

    /// Of some choices of a slot those to which none of some rules objects; and the rules that did.
    fn filtered(&self, slot: usize, choices: impl Iterator<Item = usize>, rules: &[usize]) -> Possible {
        let mut chosen = self.there();
        let (mut list, mut objected) = (Vec::new(), Vec::new());
        for place in choices {
            chosen[slot] = self.slots[slot].choices[place].part.as_deref();
            match rules.iter().find(|rule| self.objects(**rule, &chosen)) {
                Some(rule) if objected.contains(rule) => {}
                Some(rule) => objected.push(*rule),
                None => list.push(place),
            }
        }
        (list, objected)
    }

    /// Joints that object to what is there: as they stand with the swap alone.
    pub(crate) fn objecting(&self) -> impl Iterator<Item = usize> {
        (0..self.rules.list.len()).filter(|place| {
            !self.rules.list[*place].of_the_whole
                && self.standing[*place].taken.is_some_and(|(value, plus_minus)| self.is_bad(*place, value, plus_minus))
        })
    }

    /// Whether a joint's rule, by its place in the list, stands in the way of these parts.
    pub(crate) fn objects(&self, place: usize, chosen: &Chosen<'_>) -> bool {
        match self.reading(place, chosen) {
            Some((reading, plus_minus)) => self.is_bad(place, reading.value, plus_minus),
            None => self.standing[place].taken.is_some() && self.lacks_a_number(place, chosen),
        }
    }

    /// A joint's margin with its ±.
    pub(crate) fn reading(&self, place: usize, chosen: &Chosen<'_>) -> Option<(margins::Reading, f64)> {
        let about = &self.ground.knowledge.margins[self.rules.list[place].rule];
        let mut lookup = Parts { ground: self.ground, chosen, tables: &self.tables, variance: 0.0 };
        let reading = margins::take(about, &mut lookup)?;
        Some((reading, COVERAGE_FACTOR * lookup.variance.sqrt()))
    }

    /// Whether a margin is not good enough.
    pub(crate) fn is_bad(&self, place: usize, value: f64, plus_minus: f64) -> bool {
        let good = match state(value, plus_minus) {
            State::Clear => true,
            State::Unsure => {
                !self.sure || self.standing[place].taken.is_some_and(|(value, pm)| state(value, pm) == State::Unsure)
            }
            State::Short => false,
        };
        !good && self.rules.list[place].tolerated.is_none_or(|before| is_worse(value, before))
    }

    /// A rule that is asked, whose parts are there, but which cannot be taken: one of them says too little.
    fn lacks_a_number(&self, place: usize, chosen: &Chosen<'_>) -> bool {
        let about = &self.ground.knowledge.margins[self.rules.list[place].rule];
        let lookup = Parts { ground: self.ground, chosen, tables: &self.tables, variance: 0.0 };
        let is_there = |slot: SlotId| chosen[slot.index()].is_some();
        let may_be_empty =
            about.terms().iter().filter(|term| term.otherwise.is_some()).filter_map(|term| term.of.slot()).collect::<Vec<_>>();
        margins::asked(about, &lookup) && about.slots_compared().all(|slot| is_there(slot) || may_be_empty.contains(&slot))
    }
}

/// Numbers of chosen parts; variances are added up.
struct Parts<'p> {
    ground: &'p Ground,
    chosen: &'p Chosen<'p>,
    tables: &'p [Option<(f64, f64)>],
    variance: f64,
}

impl Lookup for Parts<'_> {
    fn part(&self, slot: SlotId) -> Option<&Part> {
        self.chosen[slot.index()]
    }

    fn value(&mut self, of: &TermOf, factor: f64) -> Option<f64> {
        let (value, u) = match of {
            TermOf::Literal(quantity) => (quantity.value(), 0.0),
            TermOf::Part { slot, attribute, of } => {
                let quantity = self.ground.of_part(*slot, self.chosen[slot.index()]?, *attribute, *of)?;
                (quantity.value(), quantity.standard_uncertainty())
            }
            TermOf::Table { attribute } => self.tables[attribute.index()]?,
            TermOf::Output { .. } | TermOf::Change { .. } => return None,
        };
        self.variance += (factor * u) * (factor * u);
        Some(value)
    }

    fn doubt(&mut self, _: &NameOf, standard_uncertainty: f64) {
        self.variance += standard_uncertainty * standard_uncertainty;
    }
}
