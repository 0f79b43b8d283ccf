//! Which fields there are: every attribute of every table and part kind, and what every part has besides. A new attribute or place in
//! `knowledge` appears by itself.

use bike::Condition;
use knowledge::{About, Attribute, AttributeId, AttributeType, FamilyId, KindId, Knowledge, SlotId};
use quantity::{Dimension, Origin, words::capital};

use crate::form::document::Path;

/// What is typed into a field.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Entry {
    /// One line of text.
    Line,
    /// Texts, each in a field of its own.
    Lines,
    /// A number with unit and tolerance, and where it comes from; bounds in the base unit.
    Quantity { dimension: Dimension, bounds: Option<(f64, f64)>, usual: Origin },
    /// A whole number; bounds.
    Count(u32, u32),
    /// A bare number.
    Sum,
    /// Yes, no, or nobody knows.
    Flag,
    /// A row of numbers; bounds.
    Numbers(f64, f64),
    /// A member of a family.
    Standard(FamilyId),
    /// Several of them.
    Standards(FamilyId),
    /// One of these words.
    Choice(&'static [&'static str]),
}

/// A field.
#[derive(Clone, Debug)]
pub(crate) struct Field {
    /// Its keys in the file.
    pub(crate) path: Path,
    pub(crate) label: String,
    pub(crate) entry: Entry,
    pub(crate) required: bool,
    /// The attribute it states; `None` for what every part has.
    pub(crate) attribute: Option<AttributeId>,
}

/// Keys beside the value of a number that is written as a table, in the order they are shown.
pub(crate) const SPREADS: [(&str, &str); 3] = [
    ("plus_minus", "plus or minus, limits"),
    ("expanded", "plus or minus, expanded (k = 2)"),
    ("standard_deviation", "standard deviation"),
];

/// What stands for a part that is written out here, where else the id of one of the catalogue stands: no id has brackets.
pub(crate) const WRITTEN_OUT: &str = "(own)";

/// Conditions as files call them, the usual one left out.
const CONDITIONS: [&str; 2] = [Condition::Used.word(), Condition::Reconditioned.word()];

impl Field {
    fn new(path: &[&str], label: &str, entry: Entry) -> Self {
        let path = path.iter().map(|key| (*key).to_owned()).collect();
        Self { path, label: label.to_owned(), entry, required: false, attribute: None }
    }

    fn of(prefix: &[&str], id: AttributeId, attribute: &Attribute, usual: Origin) -> Self {
        let entry = match attribute.what {
            AttributeType::Quantity { dimension, least, most } => {
                Entry::Quantity { dimension, bounds: Some((least, most)), usual }
            }
            AttributeType::Count { least, most } => Entry::Count(least, most),
            AttributeType::Word => Entry::Line,
            AttributeType::Flag => Entry::Flag,
            AttributeType::Numbers { least, most } => Entry::Numbers(least, most),
            AttributeType::Standard { family } => Entry::Standard(family),
            AttributeType::Standards { family } => Entry::Standards(family),
        };
        let path: Vec<&str> = prefix.iter().copied().chain(attribute.within.as_deref()).chain([attribute.id.as_str()]).collect();
        Self { required: attribute.required, attribute: Some(id), ..Self::new(&path, &capital(&attribute.says), entry) }
    }

    /// Its name in the form.
    pub(crate) fn name(&self) -> String {
        name_of(&self.path)
    }
}

/// What is asked of the bike as a whole.
pub(crate) fn of_bike() -> [Field; 3] {
    [
        Field { required: true, ..Field::new(&["name"], "What the bike is called", Entry::Line) },
        Field::new(&["notes"], "Remarks", Entry::Lines),
        Field::new(&["catalogue"], "Catalogue files, as the file names them", Entry::Lines),
    ]
}

/// The fields of a table.
pub(crate) fn of_table(knowledge: &Knowledge, about: About) -> Vec<Field> {
    let (prefix, usual): (&[&str], _) = match about {
        About::Rider => (&["rider"], Origin::Measured),
        About::Setup => (&["setup"], Origin::Measured),
        About::Chart => (&["frame", "chart"], Origin::MakersSheet),
        About::Part => return Vec::new(),
    };
    let kind = knowledge.table(about);
    let of_kind = kind.into_iter().flat_map(|kind| knowledge.attributes_of(kind));
    of_kind.map(|(id, attribute)| Field::of(prefix, id, attribute, usual)).collect()
}

/// What a part of a kind is: its name and the attributes of its kind.
pub(crate) fn of_kind(knowledge: &Knowledge, kind: KindId, prefix: &[&str]) -> Vec<Field> {
    let name = Field::new(&with(prefix, "name"), "What it is called", Entry::Line);
    let attributes = knowledge.attributes_of(kind).map(|(id, attribute)| Field::of(prefix, id, attribute, Origin::MakersSheet));
    std::iter::once(name).chain(attributes).collect()
}

/// What every part has besides.
pub(crate) fn of_any_part(prefix: &[&str]) -> [Field; 6] {
    let measure = |dimension| Entry::Quantity { dimension, bounds: None, usual: Origin::MakersSheet };
    [
        Field::new(&with(prefix, "maker"), "Who makes it", Entry::Line),
        Field::new(&with(prefix, "mass"), "Mass", measure(Dimension::Mass)),
        Field::new(&with(prefix, "price"), "Price", Entry::Sum),
        Field::new(&with(prefix, "condition"), "Condition", Entry::Choice(&CONDITIONS)),
        Field::new(&with(prefix, "age"), "Time in use, such as 3 years", measure(Dimension::Duration)),
        Field::new(&with(prefix, "id"), "Its id in a catalogue", Entry::Line),
    ]
}

fn with<'a>(prefix: &[&'a str], key: &'a str) -> Vec<&'a str> {
    prefix.iter().copied().chain([key]).collect()
}

/// Keys under which the part of a place is written.
pub(crate) fn keys_of(knowledge: &Knowledge, slot: SlotId) -> Vec<&str> {
    let id = knowledge.slot_of(slot).id.as_str();
    if is_frame(knowledge, slot) { vec![id] } else { vec!["slots", id] }
}

/// Whether it is the place of the frame, which has a table of its own in a file.
pub(crate) fn is_frame(knowledge: &Knowledge, slot: SlotId) -> bool {
    knowledge.slot_of(slot).id == "frame"
}

/// All fields of the part in a place.
pub(crate) fn of_slot(knowledge: &Knowledge, slot: SlotId) -> Vec<Field> {
    let keys = keys_of(knowledge, slot);
    let mut fields = of_kind(knowledge, knowledge.slot_of(slot).kind, &keys);
    fields.extend(of_any_part(&keys));
    fields
}

/// The name of a field in the form: its keys with points between them.
pub(crate) fn name_of<K: AsRef<str>>(path: &[K]) -> String {
    let escaped = |key: &K| key.as_ref().replace('%', "%25").replace('.', "%2E").replace(':', "%3A");
    path.iter().map(escaped).collect::<Vec<_>>().join(".")
}

/// The keys that a name says.
pub(crate) fn path_of(name: &str) -> Path {
    let plain = |key: &str| key.replace("%3A", ":").replace("%2E", ".").replace("%25", "%");
    name.split('.').map(plain).collect()
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_name_says_its_keys() {
        let config = ProptestConfig { failure_persistence: None, ..ProptestConfig::default() };
        proptest!(config, |(path in prop::collection::vec(any::<String>(), 1..4))| {
            prop_assert_eq!(path_of(&name_of(&path)), path);
        });
    }

    /// Were one left out, it would be lost on the way through the form.
    #[test]
    fn every_attribute_of_every_place_has_a_field_of_its_own() {
        let knowledge = Knowledge::embedded().unwrap();
        let mut names = BTreeSet::new();
        let tables = [About::Rider, About::Setup, About::Chart].into_iter().flat_map(|about| of_table(&knowledge, about));
        let parts = knowledge.slots().flat_map(|(slot, _)| of_slot(&knowledge, slot));
        let mut stated = vec![0; knowledge.attributes.len()];
        for field in tables.chain(parts) {
            assert!(names.insert(field.name()), "{}", field.name());
            if let Some(id) = field.attribute {
                stated[id.index()] += 1;
            }
        }
        let uses = |kind| knowledge.slots.iter().filter(|slot| slot.kind == kind).count();
        for (attribute, stated) in knowledge.attributes.iter().zip(stated) {
            let about = knowledge.kind_of(attribute.kind).about;
            assert_eq!(stated, if about == About::Part { uses(attribute.kind) } else { 1 }, "{}", attribute.id);
        }
    }
}
