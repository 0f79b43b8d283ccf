//! The part kinds as this crate asks for them.

use knowledge::{About, AttributeId, AttributeType, Kind, KindId, Knowledge, SlotId};
use quantity::{Quantity, Spread};

/// All kinds, in the order they are written.
pub(crate) fn all(knowledge: &Knowledge) -> impl Iterator<Item = (KindId, &Kind)> {
    knowledge.kinds.iter().filter_map(|kind| Some((knowledge.kind(&kind.id)?, kind)))
}

/// The kinds that are parts, in the order they are written.
pub(crate) fn parts(knowledge: &Knowledge) -> impl Iterator<Item = (KindId, &Kind)> {
    all(knowledge).filter(|(_, kind)| kind.about == About::Part)
}

/// The kinds that are parts, without their ids.
pub(crate) fn part_kinds(knowledge: &Knowledge) -> impl Iterator<Item = &Kind> {
    parts(knowledge).map(|(_, kind)| kind)
}

/// The slot of the frame; `None` if the knowledge at hand has none.
pub(crate) fn frame_slot(knowledge: &Knowledge) -> Option<SlotId> {
    knowledge.slot("frame")
}

/// The kind of a frame: the one kind of part that carries a chart.
pub(crate) fn frame_kind(knowledge: &Knowledge) -> Option<KindId> {
    frame_slot(knowledge).map(|id| knowledge.slot_of(id).kind)
}

/// The spread a value has if nobody states one: the usual one of where it comes from.
pub(crate) fn usual_spread(knowledge: &Knowledge, id: AttributeId, quantity: Quantity) -> Option<Spread> {
    knowledge.default_tolerance(id, quantity.origin(), quantity.value()).map(|(spread, _)| spread)
}

/// The same for a part's mass, which every kind of part has and no kind declares.
pub(crate) fn usual_mass_spread(knowledge: &Knowledge, mass: Quantity) -> Option<Spread> {
    let usual = knowledge.default_tolerance_of_dimension(mass.dimension(), mass.origin(), mass.value());
    usual.map(|(spread, _)| spread)
}

/// What an attribute is, in the words of messages: "a length".
pub(crate) fn expected(what: &AttributeType) -> &'static str {
    match what {
        AttributeType::Quantity { dimension, .. } => dimension.with_article(),
        AttributeType::Count { .. } => "a whole number",
        AttributeType::Word => "a text in quotes",
        AttributeType::Flag => "`true` or `false`",
        AttributeType::Numbers { .. } => "a list of numbers in brackets",
        AttributeType::Standard { .. } => "the name of a standard in quotes",
        AttributeType::Standards { .. } => "names of standards in brackets",
    }
}

/// How an attribute may be written, for help texts: `"531 mm"`.
pub(crate) fn example(what: &AttributeType) -> String {
    match what {
        AttributeType::Quantity { dimension, least, most } => {
            let middle = least.midpoint(*most).round();
            format!("\"{middle} {}\"", dimension.base_symbol())
        }
        AttributeType::Count { least, most } => least.midpoint(*most).to_string(),
        AttributeType::Word | AttributeType::Standard { .. } => "\"…\"".to_owned(),
        AttributeType::Standards { .. } => "[\"…\"]".to_owned(),
        AttributeType::Flag => "true".to_owned(),
        AttributeType::Numbers { least, most } => {
            let third = ((most - least) / 3.0).round();
            format!("[{least}, {}, {}]", least + third, least + 2.0 * third)
        }
    }
}
