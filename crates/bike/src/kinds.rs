//! The part kinds as this crate asks for them.

use quantity::{Quantity, Spread};

use knowledge::{About, Attribute, AttributeId, AttributeType, Kind, KindId, Knowledge, Slot, SlotId};

/// The attribute an id stands for.
pub(crate) fn attribute(knowledge: &Knowledge, id: AttributeId) -> &Attribute {
    &knowledge.attributes[id.index()]
}

/// The kind an id stands for.
pub(crate) fn kind(knowledge: &Knowledge, id: KindId) -> &Kind {
    &knowledge.kinds[id.index()]
}

/// The slot an id stands for.
pub(crate) fn slot(knowledge: &Knowledge, id: SlotId) -> &Slot {
    &knowledge.slots[id.index()]
}

/// The attributes of a kind, in the order they are written there.
pub(crate) fn attributes_of(knowledge: &Knowledge, kind: KindId) -> impl Iterator<Item = (AttributeId, &Attribute)> {
    let of_kind = knowledge.attributes.iter().filter(move |attribute| attribute.kind == kind);
    of_kind.filter_map(move |attribute| Some((knowledge.attribute(kind, &attribute.id)?, attribute)))
}

/// All kinds, in the order they are written.
pub(crate) fn all(knowledge: &Knowledge) -> impl Iterator<Item = (KindId, &Kind)> {
    knowledge.kinds.iter().filter_map(|kind| Some((knowledge.kind(&kind.id)?, kind)))
}

/// The kinds that are parts, in the order they are written.
pub(crate) fn part_kinds(knowledge: &Knowledge) -> impl Iterator<Item = &Kind> {
    knowledge.kinds.iter().filter(|kind| kind.about == About::Part)
}

/// The kind that describes a table of a build file; `None` if the knowledge at hand has none.
pub(crate) fn table(knowledge: &Knowledge, about: About) -> Option<KindId> {
    let kind = knowledge.kinds.iter().find(|kind| kind.about == about)?;
    knowledge.kind(&kind.id)
}

/// The slots, in the order of the parts list.
pub(crate) fn slots(knowledge: &Knowledge) -> impl Iterator<Item = (SlotId, &Slot)> {
    knowledge.slots.iter().filter_map(|slot| Some((knowledge.slot(&slot.id)?, slot)))
}

/// The slot of the frame; `None` if the knowledge at hand has none.
pub(crate) fn frame_slot(knowledge: &Knowledge) -> Option<SlotId> {
    knowledge.slot("frame")
}

/// The kind of a frame: the one kind of part that carries a chart.
pub(crate) fn frame_kind(knowledge: &Knowledge) -> Option<KindId> {
    frame_slot(knowledge).map(|id| slot(knowledge, id).kind)
}

/// The spread a value has if nobody states one: the usual one of where it comes from.
pub(crate) fn usual_spread(knowledge: &Knowledge, id: AttributeId, quantity: Quantity) -> Option<Spread> {
    knowledge.default_tolerance(id, quantity.origin(), quantity.value()).map(|(spread, _)| spread)
}

/// What an attribute is, in the words of messages: "a length".
pub(crate) fn expected(what: &AttributeType) -> &'static str {
    match what {
        AttributeType::Quantity { dimension, .. } => dimension.with_article(),
        AttributeType::Count { .. } => "a whole number",
        AttributeType::Word => "a text in quotes",
        AttributeType::Flag => "`true` or `false`",
        AttributeType::Numbers { .. } => "a list of numbers in brackets",
    }
}

/// How an attribute may be written, for help texts: `"531 mm"`.
pub(crate) fn example(what: &AttributeType) -> String {
    match what {
        AttributeType::Quantity { dimension, least, most } => {
            let middle = ((least + most) / 2.0).round();
            format!("\"{middle} {}\"", dimension.base_symbol())
        }
        AttributeType::Count { least, most } => least.midpoint(*most).to_string(),
        AttributeType::Word => "\"…\"".to_owned(),
        AttributeType::Flag => "true".to_owned(),
        AttributeType::Numbers { least, most } => {
            let third = ((most - least) / 3.0).round();
            format!("[{least}, {}, {}]", least + third, least + 2.0 * third)
        }
    }
}
