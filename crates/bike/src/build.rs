//! A build: one bicycle, part by part, with its rider and set-up; and a swap: what is to change on it.

use std::sync::Arc;

use knowledge::{About, AttributeId, Knowledge, SlotId};
use quantity::Quantity;

use crate::part::Part;
use crate::value::{Value, Values};

/// One bicycle as somebody described it.
#[derive(Clone, Debug, Default)]
pub struct Build {
    /// What it is called.
    pub name: String,
    /// Remarks, for people.
    pub notes: Vec<String>,
    /// The part in each slot, by [`SlotId`]; `None` where nothing is known to be fitted.
    pub parts: Vec<Option<Arc<Part>>>,
    /// The frame's geometry chart: attributes of the kind `chart`. This is the chart that holds; the one the frame part carries
    /// is where it came from, before the build file or a swap put other numbers in.
    pub chart: Values,
    /// The rider: attributes of the kind `rider`.
    pub rider: Values,
    /// How the bike is set up: attributes of the kind `setup`.
    pub setup: Values,
}

/// Equal if the same bicycle is described; where the chart came from makes no difference.
impl PartialEq for Build {
    fn eq(&self, other: &Self) -> bool {
        let Self { name, notes, parts, chart, rider, setup } = self;
        let slots = parts.len().max(other.parts.len());
        let part_of = |parts: &[Option<Arc<Part>>], slot: usize| parts.get(slot).cloned().flatten();
        let same_parts = (0..slots).all(|slot| match (part_of(parts, slot), part_of(&other.parts, slot)) {
            (Some(part), Some(other)) => part.equals_without_chart(&other),
            (None, None) => true,
            _ => false,
        });
        same_parts
            && *name == other.name
            && *notes == other.notes
            && *chart == other.chart
            && *rider == other.rider
            && *setup == other.setup
    }
}

/// What is to change on a build.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Swap {
    /// What it is called, if it has a name.
    pub name: Option<String>,
    /// Remarks, for people.
    pub notes: Vec<String>,
    /// Parts to fit, each slot once. A frame brings its chart along.
    pub set: Vec<(SlotId, Arc<Part>)>,
    /// Slots to leave empty, none of them in `set`.
    pub unset: Vec<SlotId>,
    /// Values of set-up, rider or chart that change, each once.
    pub adjust: Vec<(AttributeId, Quantity)>,
}

impl Swap {
    /// Whether it changes anything at all.
    pub fn is_nothing(&self) -> bool {
        self.set.is_empty() && self.unset.is_empty() && self.adjust.is_empty()
    }
}

impl Build {
    /// The part in a slot; `None` if the slot is empty.
    pub fn part(&self, slot: SlotId) -> Option<&Arc<Part>> {
        self.parts.get(slot.index()).and_then(Option::as_ref)
    }

    /// Fits a part in a slot, in place of the one that was there. A frame brings its chart along: the old chart belonged to the
    /// old frame.
    pub fn fit(&mut self, slot: SlotId, part: Arc<Part>) {
        if let Some(chart) = &part.chart {
            self.chart = chart.clone();
        }
        if self.parts.len() <= slot.index() {
            self.parts.resize(slot.index() + 1, None);
        }
        self.parts[slot.index()] = Some(part);
    }

    /// The build after a swap. Slots are filled and emptied first, then values adjusted, so that an adjusted chart value holds
    /// for a frame that the same swap fits.
    #[must_use]
    pub fn with(&self, swap: &Swap, knowledge: &Knowledge) -> Self {
        let mut after = self.clone();
        for (slot, part) in &swap.set {
            after.fit(*slot, Arc::clone(part));
        }
        for slot in &swap.unset {
            if let Some(place) = after.parts.get_mut(slot.index()) {
                *place = None;
            }
        }
        for (attribute, quantity) in &swap.adjust {
            let values = match knowledge.kind_of(knowledge.attribute_of(*attribute).kind).about {
                About::Rider => &mut after.rider,
                About::Setup => &mut after.setup,
                About::Chart => &mut after.chart,
                About::Part => continue,
            };
            values.set(*attribute, Value::Quantity(*quantity));
        }
        after
    }
}

#[cfg(test)]
mod tests {
    use quantity::{Dimension, Origin, Spread};

    use super::*;

    fn length(value_mm: f64) -> Quantity {
        Quantity::new(value_mm, Dimension::Length, Spread::Limits(1.0), Origin::MakersSheet)
    }

    /// A frame whose chart says nothing but its stack.
    fn frame(knowledge: &Knowledge, name: &str, stack_mm: Option<f64>) -> Arc<Part> {
        let kind = knowledge.kind("frame").unwrap_or_else(|| panic!("no frame"));
        let mut chart = Values::new();
        if let (Some(stack_mm), Some(stack)) = (stack_mm, stack(knowledge)) {
            chart.set(stack, Value::Quantity(length(stack_mm)));
        }
        Arc::new(Part { chart: Some(chart), ..Part::new(kind, name) })
    }

    fn stack(knowledge: &Knowledge) -> Option<AttributeId> {
        knowledge.attribute(knowledge.table(About::Chart)?, "stack")
    }

    #[test]
    fn a_swap_fits_empties_and_adjusts_and_leaves_the_build_as_it_was() {
        let knowledge = Knowledge::embedded().unwrap();
        let [slot, fork, rotor] = ["frame", "fork", "front_rotor"].map(|id| knowledge.slot(id).unwrap());
        let spacers = knowledge.attribute(knowledge.table(About::Setup).unwrap(), "stem_spacers").unwrap();
        let stack = stack(&knowledge).unwrap();
        let named = |kind: &str, name: &str| Arc::new(Part::new(knowledge.kind(kind).unwrap(), name));
        let mut before = Build::default();
        before.fit(slot, frame(&knowledge, "old", Some(600.0)));
        before.fit(fork, named("fork", "short"));
        before.fit(rotor, named("rotor", "small"));
        assert_eq!(before.chart.quantity(stack), Some(length(600.0)));

        let swap = Swap {
            set: vec![(fork, named("fork", "long"))],
            unset: vec![rotor],
            adjust: vec![(spacers, length(10.0)), (stack, length(601.0))],
            ..Swap::default()
        };
        let untouched = before.clone();
        let after = before.with(&swap, &knowledge);
        assert_eq!(before, untouched);
        assert_eq!(after.part(fork).map(|part| part.name.as_str()), Some("long"));
        assert_eq!(after.part(rotor), None);
        assert_eq!(after.setup.quantity(spacers), Some(length(10.0)));
        assert_eq!(after.chart.quantity(stack), Some(length(601.0)));
        assert_eq!(after.part(slot), before.part(slot));
        assert_eq!(before.with(&Swap::default(), &knowledge), before);
    }

    #[test]
    fn a_frame_brings_its_chart_and_takes_the_old_one_away() {
        let knowledge = Knowledge::embedded().unwrap();
        let slot = knowledge.slot("frame").unwrap();
        let stack = stack(&knowledge).unwrap();
        let mut build = Build::default();
        build.fit(slot, frame(&knowledge, "old", Some(600.0)));
        let swap = |part| Swap { set: vec![(slot, part)], ..Swap::default() };
        let other = build.with(&swap(frame(&knowledge, "new", Some(620.0))), &knowledge);
        assert_eq!(other.chart.quantity(stack), Some(length(620.0)));
        // Nothing is known of this one; the old frame's numbers would be wrong.
        let unknown = build.with(&swap(frame(&knowledge, "bare", None)), &knowledge);
        assert!(unknown.chart.is_empty());
        // And back.
        assert_eq!(other.with(&swap(Arc::clone(build.part(slot).unwrap())), &knowledge), build);
    }

    #[test]
    fn builds_are_equal_if_they_describe_the_same_bicycle() {
        let knowledge = Knowledge::embedded().unwrap();
        let slot = knowledge.slot("frame").unwrap();
        let (mut one, mut other) = (Build::default(), Build::default());
        one.fit(slot, frame(&knowledge, "heron", Some(600.0)));
        other.fit(slot, frame(&knowledge, "heron", Some(610.0)));
        assert_ne!(one, other);
        // The chart that holds is the same, though the frame's own was another.
        other.chart = one.chart.clone();
        assert_eq!(one, other);
        // An empty slot at the end is no difference.
        other.parts.resize(12, None);
        assert_eq!(one, other);
    }
}
