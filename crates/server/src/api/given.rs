//! What is given besides the answer and its parts: the words that exist, and a bike as a file.

use bike::{Part, write_build};
use knowledge::{About, Attribute, AttributeType, Kind, Knowledge, SlotId};
use quantity::{Dimension, Quantity};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;
use writing::aloud::{Line, USUAL_PACE, script};

use crate::{mistake::Mistake, on_stand::OnStand, told::Told, workshop::Workshop};

/// The bikes of the workshop.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Bikes {
    /// The bikes, in the order of their files.
    bikes: Vec<BikeOffered>,
}

/// A bike of the workshop.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Bike")]
struct BikeOffered {
    /// Id, as `bike` wants it.
    id: String,
    /// Name.
    name: String,
    /// Remarks.
    notes: Vec<String>,
}

impl Bikes {
    pub(super) fn of(workshop: &Workshop) -> Self {
        let offered = workshop.bikes.iter();
        let bikes = offered
            .map(|bike| BikeOffered { id: bike.id.clone(), name: bike.build.name.clone(), notes: bike.build.notes.clone() })
            .collect();
        Self { bikes }
    }
}

/// The places on a bicycle.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Slots {
    /// The places, in the order of the parts list.
    slots: Vec<SlotGiven>,
}

/// A place on a bicycle.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Slot")]
struct SlotGiven {
    /// Id, as `set`, `off`, `keep` and `slot` want it.
    id: String,
    /// Name for people.
    name: String,
    /// Id of the kind of part that goes there.
    kind: String,
    /// A bicycle may do without.
    optional: bool,
}

impl Slots {
    pub(super) fn of(knowledge: &Knowledge) -> Self {
        let slots = knowledge.slots().map(|(_, slot)| SlotGiven {
            id: slot.id.clone(),
            name: slot.name.clone(),
            kind: knowledge.kind_of(slot.kind).id.clone(),
            optional: slot.optional,
        });
        Self { slots: slots.collect() }
    }
}

/// What can be stated, kind by kind.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Kinds {
    /// Kinds of part, and the tables of a build.
    kinds: Vec<KindGiven>,
}

/// A kind of part, or a table of a build.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Kind")]
struct KindGiven {
    /// Id.
    id: String,
    /// Name for people.
    name: String,
    /// What it describes.
    describes: Describes,
    /// What can be stated of it.
    attributes: Vec<AttributeGiven>,
}

/// What a kind describes.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum Describes {
    /// A part, which may stand in a catalogue.
    Part,
    /// The rider.
    Rider,
    /// The set-up.
    Setup,
    /// The frame's geometry chart.
    Chart,
}

/// Something that can be stated of a kind.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Attribute")]
struct AttributeGiven {
    /// Id, unique within the kind.
    id: String,
    /// What it is, for people.
    label: String,
    /// What is written.
    holds: Holds,
    /// Dimension word of a quantity ("length", "angle", …); `None` if it is none.
    dimension: Option<String>,
    /// Symbol of the base unit, in which bare numbers are; empty for bare numbers and prices, `None` if it is no quantity.
    unit: Option<String>,
    /// Least that can be, base unit; `None` if it is no number.
    least: Option<f64>,
    /// Most that can be, base unit.
    most: Option<f64>,
    /// Family of standards whose members it names; `None` if it names none.
    family: Option<String>,
    /// A part without it is refused.
    required: bool,
    /// Table within the kind's table in which it is written; `None` if it stands in that itself.
    within: Option<String>,
}

/// What an attribute holds.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum Holds {
    /// A number with a unit and a tolerance.
    Quantity,
    /// A whole number.
    Count,
    /// A name.
    Word,
    /// Yes or no.
    Flag,
    /// A row of numbers.
    Numbers,
    /// A member of a family of standards.
    Standard,
    /// Several members of a family.
    Standards,
}

impl Kinds {
    pub(super) fn of(knowledge: &Knowledge) -> Self {
        let of = |kind: &Kind| {
            let id = knowledge.kind(&kind.id)?;
            let attributes = knowledge.attributes_of(id).map(|(_, attribute)| AttributeGiven::of(attribute, knowledge)).collect();
            let describes = match kind.about {
                About::Part => Describes::Part,
                About::Rider => Describes::Rider,
                About::Setup => Describes::Setup,
                About::Chart => Describes::Chart,
            };
            Some(KindGiven { id: kind.id.clone(), name: kind.name.clone(), describes, attributes })
        };
        Self { kinds: knowledge.kinds.iter().filter_map(of).collect() }
    }
}

impl AttributeGiven {
    fn of(attribute: &Attribute, knowledge: &Knowledge) -> Self {
        let dimension = attribute.dimension();
        let (holds, bounds) = match attribute.what {
            AttributeType::Quantity { least, most, .. } => (Holds::Quantity, Some((least, most))),
            AttributeType::Count { least, most } => (Holds::Count, Some((f64::from(least), f64::from(most)))),
            AttributeType::Word => (Holds::Word, None),
            AttributeType::Flag => (Holds::Flag, None),
            AttributeType::Numbers { least, most } => (Holds::Numbers, Some((least, most))),
            AttributeType::Standard { .. } => (Holds::Standard, None),
            AttributeType::Standards { .. } => (Holds::Standards, None),
        };
        Self {
            id: attribute.id.clone(),
            label: attribute.says.clone(),
            holds,
            dimension: dimension.map(|dimension| dimension.word().to_owned()),
            unit: dimension.map(|dimension: Dimension| dimension.base_symbol().to_owned()),
            least: bounds.map(|bounds| bounds.0),
            most: bounds.map(|bounds| bounds.1),
            family: attribute.what.family().map(|family| knowledge.family_of(family).id.clone()),
            required: attribute.required,
            within: attribute.within.clone(),
        }
    }
}

/// A bike as a build file.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Build")]
pub(super) struct BuildGiven {
    /// Name of the bike.
    name: String,
    /// The file (TOML): it needs no catalogue, and reads back as the same bike.
    toml: String,
    /// The same as JSON; `/api/build.schema.json` says what stands in it.
    build: serde_json::Map<String, Value>,
}

impl BuildGiven {
    /// The bike on the bench, with the swap on it.
    pub(super) fn of(on_stand: &OnStand<'_>) -> Result<Self, Mistake> {
        let knowledge = on_stand.workshop.knowledge();
        let after = on_stand.build.with(&on_stand.swap, knowledge);
        let toml = write_build(&after, knowledge);
        let build = toml::from_str(&toml).map_err(|error| Mistake::Program(error.to_string()))?;
        Ok(Self { name: after.name, toml, build })
    }
}

/// The answer in words.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Text")]
pub(super) struct TextGiven {
    /// The draft with today's numbers, or what was made of it (CommonMark).
    markdown: String,
    /// Paragraphs to look at again: their words may have become untrue.
    look_again: Vec<String>,
    /// The same to read aloud, a line a breath.
    aloud: Vec<LineGiven>,
    /// Words of it that are spoken.
    words: usize,
    /// How long that takes at 150 words a minute, seconds.
    seconds: f64,
}

/// A line to read aloud.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Line")]
struct LineGiven {
    /// What is to be done with it.
    is: Spoken,
    /// Its words.
    words: String,
}

/// What is to be done with a line.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum Spoken {
    /// Said.
    Said,
    /// Done, not said.
    Done,
}

impl TextGiven {
    pub(super) fn of(on_stand: &OnStand<'_>) -> Result<Self, Mistake> {
        let answer = on_stand.answer()?;
        let refreshed = Told::new(on_stand.kept.as_ref(), &answer, on_stand.units).refreshed;
        let script = script(&refreshed.text());
        let line = |line: &Line| match line {
            Line::Say(words) => LineGiven { is: Spoken::Said, words: words.clone() },
            Line::Do(words) => LineGiven { is: Spoken::Done, words: words.clone() },
        };
        let marked = refreshed.paragraphs.iter().filter(|paragraph| paragraph.is_marked());
        Ok(Self {
            markdown: refreshed.markdown(),
            look_again: marked.map(|paragraph| paragraph.markdown.clone()).collect(),
            aloud: script.lines.iter().map(line).collect(),
            words: script.words,
            seconds: script.takes(USUAL_PACE).as_secs_f64(),
        })
    }
}

/// The catalogue's parts for one place.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[expect(clippy::struct_field_names, reason = "the names are those that are published")]
pub(super) struct Parts {
    /// The place.
    slot: String,
    /// Currency as the catalogue names it.
    currency: Option<String>,
    /// The parts, in the order of the catalogue.
    parts: Vec<PartGiven>,
}

/// A part of the catalogue.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Part")]
struct PartGiven {
    /// Id, as `set` wants it.
    id: Option<String>,
    /// Its name.
    name: String,
    /// Who makes it.
    maker: Option<String>,
    /// Its main figures, for example `524 mm · offset 44 mm`, in the units asked for.
    figures: String,
    /// `new`, `used` or `reconditioned`.
    condition: String,
    /// Price in the catalogue's currency.
    price: Option<f64>,
    /// Mass in kg.
    mass_kg: Option<f64>,
}

impl Parts {
    pub(super) fn of(on_stand: &OnStand<'_>, slot: SlotId) -> Self {
        let knowledge = on_stand.workshop.knowledge();
        let about = knowledge.slot_of(slot);
        let given = |part: &Part| PartGiven {
            id: part.id.clone(),
            name: part.name.clone(),
            maker: part.maker.clone(),
            figures: part.figures_in(knowledge, on_stand.units),
            condition: part.condition.word().to_owned(),
            price: part.price,
            mass_kg: part.mass.map(Quantity::value),
        };
        Self {
            slot: about.id.clone(),
            currency: on_stand.catalogue.currency().map(str::to_owned),
            parts: on_stand.catalogue.of_kind(about.kind).map(|part| given(part)).collect(),
        }
    }
}
