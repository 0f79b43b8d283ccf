//! What a catalogue and a workshop offer for each slot, with what it costs and what it counts.

use std::sync::Arc;

use bike::{Build, Catalogue, Condition, Part, Value};
use knowledge::SlotId;
use quantity::{Origin as From, Quantity, Spread};

use crate::ground::Ground;

use super::{
    Limits, Used,
    space::{Choice, Origin},
};

/// What is left of a used part of which nobody said how old it is (judgement).
const LEFT_OF_UNKNOWN_AGE: f64 = 0.5;
/// The least that is left of a part that still works (judgement).
const LEAST_LEFT: f64 = 0.1;
/// Minutes in a year, the base unit of a duration.
const YEAR: f64 = 525_600.0;

/// The parts of a catalogue by kind, the cheapest first.
#[derive(Debug)]
pub(crate) struct Shelf {
    by_kind: Vec<Vec<Choice>>,
    rate: f64,
    /// Parts left out because they have no price.
    pub(crate) without_price: usize,
    /// Parts that are on it.
    pub(crate) parts: usize,
}

impl Shelf {
    pub(crate) fn new(ground: &Ground, catalogue: &Catalogue, limits: &Limits) -> Self {
        let rate = limits.rate.unwrap_or(0.0);
        let knowledge = &ground.knowledge;
        let mut shelf = Self { by_kind: vec![Vec::new(); knowledge.kinds.len()], rate, without_price: 0, parts: 0 };
        let minutes: Vec<f64> = knowledge
            .kinds
            .iter()
            .map(|kind| knowledge.kind(&kind.id).map_or(0.0, |kind| knowledge.fitting_minutes(kind)))
            .collect();
        for part in catalogue.iter() {
            if limits.used == Used::No && part.condition != Condition::New {
                continue;
            }
            let Some(price) = part.price else {
                shelf.without_price += 1;
                continue;
            };
            let minutes = minutes[part.kind.index()];
            let work = minutes * rate / 60.0;
            let weighed = price / share_left(ground, part);
            shelf.parts += 1;
            shelf.by_kind[part.kind.index()].push(Choice {
                part: Some(Arc::clone(part)),
                origin: Origin::Catalogue,
                weighed: hundredths(weighed + work),
                money: hundredths(price + work),
                minutes,
            });
        }
        for list in &mut shelf.by_kind {
            // Stable: of two that cost the same, the one written first.
            list.sort_by_key(|choice| choice.weighed);
        }
        shelf
    }

    /// What may be in a slot: what is there; nothing, if the slot may be empty; what is there, worked on; a part of the catalogue.
    pub(crate) fn choices(&self, ground: &Ground, slot: SlotId, build: &Build, stays: bool) -> Vec<Choice> {
        let about = ground.knowledge.slot_of(slot);
        let there = build.part(slot);
        let shelf = &self.by_kind[about.kind.index()];
        let mut choices = Vec::with_capacity(shelf.len() + 2);
        let nothing = Choice { part: None, origin: Origin::Off, weighed: 0, money: 0, minutes: 0.0 };
        choices.push(Choice { part: there.cloned(), origin: Origin::There, ..nothing.clone() });
        // What stays stays as it is, but for work on it: a frame's dropouts can be spread. And a place nobody said anything about is
        // no gap to fill, unless a bike may do without.
        if stays || (there.is_none() && !about.optional) {
            choices.extend(there.iter().filter(|_| stays).flat_map(|part| self.works(ground, slot, part, build)));
            return choices;
        }
        if there.is_some() && about.optional {
            choices.push(nothing);
        }
        let first = choices.len();
        choices.extend(shelf.iter().filter(|choice| !is_same(choice.part.as_ref(), there)).cloned());
        if let Some(part) = there {
            choices.extend(self.works(ground, slot, part, build));
            // Of two that cost the same, the one more like what is there.
            choices[first..].sort_by(|a, b| {
                let far = |choice: &Choice| distance(ground, choice.part.as_deref(), part);
                a.weighed.cmp(&b.weighed).then_with(|| far(a).total_cmp(&far(b)))
            });
        }
        choices
    }

    /// What can be done to the part that is there.
    fn works(&self, ground: &Ground, slot: SlotId, part: &Arc<Part>, build: &Build) -> Vec<Choice> {
        let mut choices = Vec::new();
        for (place, work) in ground.knowledge.works.iter().enumerate().filter(|(_, work)| work.slot == slot) {
            let stated = crate::wording::Stated(build);
            let holds = |condition| crate::margins::holds(condition, &stated);
            if !work.when.iter().all(holds) || work.unless.iter().any(holds) {
                continue;
            }
            let Some(old) = part.values.quantity(work.attribute) else { continue };
            for (amount, by) in work.by.iter().enumerate() {
                let mut worked = Part::clone(part);
                let new = Quantity::new(old.value() + by, old.dimension(), old.spread(), From::Computed);
                let new = if old.spread() == Spread::Exact { new.with_spread(Spread::Exact) } else { new };
                worked.values.set(work.attribute, Value::Quantity(new));
                let cost = hundredths(work.minutes * self.rate / 60.0);
                choices.push(Choice {
                    part: Some(Arc::new(worked)),
                    origin: Origin::Work(place, amount),
                    weighed: cost,
                    money: cost,
                    minutes: work.minutes,
                });
            }
        }
        choices
    }

    /// What fitting a part in a slot takes: minutes, and what they cost.
    pub(crate) fn work(&self, ground: &Ground, slot: SlotId) -> (f64, f64) {
        let minutes = ground.knowledge.fitting_minutes(ground.knowledge.slot_of(slot).kind);
        (minutes, minutes * self.rate / 60.0)
    }
}

/// Whether a part of the catalogue is the one that is there.
fn is_same(offered: Option<&Arc<Part>>, there: Option<&Arc<Part>>) -> bool {
    offered.zip(there).is_some_and(|(offered, there)| Arc::ptr_eq(offered, there) || (offered.id.is_some() && offered == there))
}

/// Whether a part is like another one, in what both state.
pub(crate) fn is_alike(ground: &Ground, part: &Part, other: &Part) -> bool {
    ground.knowledge.likes.iter().all(|like| {
        let both = part.values.quantity(like.attribute).zip(other.values.quantity(like.attribute));
        both.is_none_or(|(one, other)| (one.value() - other.value()).abs() <= like.within)
    })
}

/// How far a part is from another one, in units of what still counts as alike.
fn distance(ground: &Ground, part: Option<&Part>, other: &Part) -> f64 {
    let Some(part) = part else { return 0.0 };
    let of = |like: &knowledge::Like| {
        let (one, other) = part.values.quantity(like.attribute).zip(other.values.quantity(like.attribute))?;
        Some((one.value() - other.value()).abs() / like.within.max(f64::MIN_POSITIVE))
    };
    ground.knowledge.likes.iter().filter_map(of).sum()
}

/// What is left of a part's life, 1 for a new one.
pub(crate) fn share_left(ground: &Ground, part: &Part) -> f64 {
    if part.condition == Condition::New {
        return 1.0;
    }
    let Some(life) = ground.knowledge.life(part.kind) else { return 1.0 };
    let left = part.age_years.map_or(LEFT_OF_UNKNOWN_AGE, |years| 1.0 - years * YEAR / life.minutes);
    left.clamp(LEAST_LEFT, 1.0)
}

/// Money in hundredths, so that sums are exact.
pub(crate) fn hundredths(money: f64) -> i64 {
    #[expect(clippy::cast_possible_truncation, reason = "prices are bounded far below 2^53 hundredths when read")]
    let whole = (money * 100.0).round() as i64;
    whole
}
