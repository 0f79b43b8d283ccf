//! What every evaluation stands on: the knowledge, with the names the mechanics need looked up and its figures matched.

use knowledge::{AttributeId, Knowledge, Output, OutputId, SlotId, SourceId};
use quantity::Quantity;

use crate::{figures::FIGURES, inputs::Owner, names::Names, parameters::Parameter, problem::StandProblem};

/// Knowledge made ready.
#[derive(Debug)]
pub(crate) struct Ground {
    pub(crate) knowledge: Knowledge,
    pub(crate) names: Names,
    /// Place in [`FIGURES`] of each output, by its id's number.
    figure_of: Vec<Option<usize>>,
    /// By attribute: what is assumed of it in a slot, or in its table, as a place in the knowledge's list.
    defaults: Vec<Vec<(Option<SlotId>, usize)>>,
    /// By rule: it rests on the whole bicycle.
    of_the_whole: Vec<bool>,
    /// By slot: its part has a say in how the bicycle stands.
    shapes: Vec<bool>,
    /// By attribute: the assembly, or a rule of the whole, reads it.
    is_read: Vec<bool>,
    /// By rule: slots of the parts it looks at; `None` if it looks at anything else.
    parts_of_rule: Vec<Option<Vec<SlotId>>>,
}

impl Ground {
    pub(crate) fn new(knowledge: Knowledge) -> Result<Self, StandProblem> {
        let names = Names::find(&knowledge)?;
        let figure_of: Vec<Option<usize>> =
            knowledge.outputs.iter().map(|output| FIGURES.iter().position(|f| *f == output.id)).collect();
        if let Some(missing) = FIGURES.iter().find(|f| knowledge.outputs.iter().all(|o| o.id != **f)) {
            return Err(StandProblem::Unknown { name: (*missing).to_owned() });
        }
        let mut defaults = vec![Vec::new(); knowledge.attributes.len()];
        for (place, default) in knowledge.defaults.iter().enumerate() {
            defaults[default.attribute.index()].push((default.slot, place));
        }
        let mut shapes = vec![false; knowledge.slots.len()];
        let of_rules = knowledge.margins.iter().filter(|rule| rule.is_of_the_whole()).flat_map(knowledge::MarginRule::slots);
        for slot in names.shaping().into_iter().chain(of_rules) {
            shapes[slot.index()] = true;
        }
        let mut is_read = vec![false; knowledge.attributes.len()];
        let of_terms = knowledge.margins.iter().filter(|rule| rule.is_of_the_whole()).flat_map(knowledge::MarginRule::terms);
        let of_terms = of_terms
            .filter_map(|term| if let knowledge::TermOf::Part { attribute, .. } = term.of { Some(attribute) } else { None });
        for attribute in names.attributes().into_iter().chain(of_terms) {
            is_read[attribute.index()] = true;
        }
        let of_the_whole = knowledge.margins.iter().map(knowledge::MarginRule::is_of_the_whole).collect();
        let parts_of_rule = knowledge.margins.iter().map(parts_of_rule).collect();
        Ok(Self { knowledge, names, figure_of, defaults, of_the_whole, shapes, is_read, parts_of_rule })
    }

    /// Slots of the parts that a rule (place in the knowledge's list) looks at, if it looks at nothing else.
    pub(crate) fn parts_of_rule(&self, rule: usize) -> Option<&[SlotId]> {
        self.parts_of_rule[rule].as_deref()
    }

    /// Whether a rule (place in the knowledge's list) rests on the whole bicycle, not only on the parts that meet.
    pub(crate) fn is_of_the_whole(&self, rule: usize) -> bool {
        self.of_the_whole[rule]
    }

    /// Whether the part in a slot has a say in how the bicycle stands, or in a rule of the whole.
    pub(crate) fn shapes_the_bike(&self, slot: usize) -> bool {
        self.shapes[slot]
    }

    /// Whether an attribute has a say in how the bicycle stands, or in a rule of the whole.
    pub(crate) fn shapes_it(&self, attribute: AttributeId) -> bool {
        self.is_read[attribute.index()]
    }

    /// What a term takes of a part: stated, or assumed.
    pub(crate) fn of_part(&self, slot: SlotId, part: &bike::Part, attribute: AttributeId, of: knowledge::Of) -> Option<Quantity> {
        let assumed = || self.default_of(Some(slot), attribute).filter(|_| of == knowledge::Of::Value).map(|default| default.0);
        crate::margins::of_part(&self.knowledge, part, attribute, of).or_else(assumed)
    }

    /// The figure an output is; `None` for one that the mechanics do not compute.
    pub(crate) fn figure_of(&self, output: OutputId) -> Option<usize> {
        self.figure_of.get(output.index()).copied().flatten()
    }

    /// Outputs in the knowledge's order, with their figures.
    pub(crate) fn figures(&self) -> impl Iterator<Item = (usize, &Output)> {
        self.knowledge.outputs.iter().zip(&self.figure_of).filter_map(|(output, figure)| Some(((*figure)?, output)))
    }

    /// What is assumed of an attribute nobody stated.
    pub(crate) fn default_of(&self, slot: Option<SlotId>, attribute: AttributeId) -> Option<(Quantity, SourceId)> {
        let default = &self.knowledge.defaults[self.place_of_default(slot, attribute)?];
        Some((default.value, default.source))
    }

    fn place_of_default(&self, slot: Option<SlotId>, attribute: AttributeId) -> Option<usize> {
        self.defaults[attribute.index()].iter().find(|d| d.0 == slot).map(|d| d.1)
    }

    /// Why that is assumed.
    pub(crate) fn reason_of(&self, owner: Owner, attribute: AttributeId) -> String {
        let slot = if let Owner::Part { slot, .. } = owner { Some(slot) } else { None };
        self.place_of_default(slot, attribute).map(|i| self.knowledge.defaults[i].because.clone()).unwrap_or_default()
    }

    /// Whether an attribute belongs to the rider's table.
    pub(crate) fn is_rider(&self, attribute: AttributeId) -> bool {
        self.knowledge.attribute_of(attribute).kind == self.knowledge.attribute_of(self.names.rider_mass).kind
    }

    /// A chart attribute that the reconciled frame gives as one of its own numbers.
    pub(crate) fn chart_parameter(&self, attribute: AttributeId) -> Option<Parameter> {
        use mechanics::chart::Entry;
        let entry = self.names.chart.iter().find(|c| c.1 == attribute)?.0;
        Some(match entry {
            Entry::HeadTube => Parameter::HeadTube,
            Entry::Stack => Parameter::Stack,
            Entry::Reach => Parameter::Reach,
            Entry::RearCentreHorizontal => Parameter::RearCentreHorizontal,
            Entry::BbDrop => Parameter::BbDrop,
            _ => return None,
        })
    }
}

fn parts_of_rule(rule: &knowledge::MarginRule) -> Option<Vec<SlotId>> {
    if rule.terms().into_iter().any(knowledge::Term::reads_more_than_parts) {
        return None;
    }
    let conditions = rule.when.iter().chain(&rule.unless).map(knowledge::Condition::slot);
    let mut slots: Vec<SlotId> = rule.slots_compared().chain(conditions).collect();
    slots.sort_unstable_by_key(|slot| slot.index());
    slots.dedup();
    Some(slots)
}
