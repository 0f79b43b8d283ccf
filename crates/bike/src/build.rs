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
