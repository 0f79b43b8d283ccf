//! JSON Schemas (draft 7, which the editors' TOML extensions know) of the files a person writes, made from the part kinds: for
//! completion and checks while typing.
//!
//! A schema says less than the reader does: it knows no catalogue, and does not read the numbers in a text. What the reader
//! accepts, the schema accepts; what the schema refuses, the reader refuses (`tests/schema.rs`). The files in the project's folder
//! `schema/` are these values as text; that test rewrites them.

use std::collections::{BTreeMap, BTreeSet};

use knowledge::{About, Attribute, AttributeType, Family, FamilyId, KindId, Knowledge, Slot};
use quantity::{Dimension, Origin};
use serde_json::{Map, Value, json};

use crate::kinds;
use crate::part::Condition;
use crate::read::{AGE, MASS, PRICE};

/// Schema of a build file.
pub fn build(knowledge: &Knowledge) -> Value {
    let mut schema = Schema::new(knowledge);
    let mut properties = Map::new();
    properties.insert("name".to_owned(), words("What the bike is called."));
    properties.insert("notes".to_owned(), one_or_more("Remarks."));
    properties.insert(
        "catalogue".to_owned(),
        one_or_more("Catalogues, relative to this file: `.toml` and `.csv` files, or folders of these."),
    );
    for (key, about, says) in [
        ("rider", About::Rider, "Who rides it. Values are taken as measured."),
        ("setup", About::Setup, "How the bike is set up. Values are taken as measured."),
    ] {
        if let Some(kind) = knowledge.table(about) {
            properties.insert(key.to_owned(), described(schema.attributes(kind), says));
        }
    }
    if let Some(kind) = kinds::frame_kind(knowledge) {
        let frame = described(schema.fitted(kind), "The frame: one of the catalogue (`part`), or written out, with its chart.");
        properties.insert("frame".to_owned(), frame);
    }
    let slots: Map<String, Value> = knowledge
        .slots()
        .filter(|(id, _)| Some(*id) != kinds::frame_slot(knowledge))
        .map(|(_, slot)| (slot.id.clone(), schema.slot(slot)))
        .collect();
    properties.insert(
        "slots".to_owned(),
        described(closed(slots, &[]), "The parts: for each place the id of a part, or a part written out."),
    );
    schema.file("A build: one bicycle", closed(properties, &["name"]))
}

/// Schema of a catalogue file.
pub fn catalogue(knowledge: &Knowledge) -> Value {
    let mut schema = Schema::new(knowledge);
    let ids: Vec<&str> = kinds::part_kinds(knowledge).map(|kind| kind.id.as_str()).collect();
    let by_kind: Vec<Value> = kinds::all(knowledge)
        .filter(|(_, kind)| kind.about == About::Part)
        .map(|(id, kind)| {
            json!({
                "if": { "properties": { "kind": { "const": kind.id } }, "required": ["kind"] },
                "then": schema.part(id),
            })
        })
        .collect();
    let part = json!({
        "type": "object",
        "required": ["id", "kind", "name"],
        "properties": { "kind": { "description": "Kind of part.", "enum": ids } },
        "allOf": by_kind,
    });
    let mut properties = Map::new();
    properties.insert("currency".to_owned(), words("What prices are in, for example EUR."));
    properties.insert("include".to_owned(), json!({
        "description": "Further catalogues, relative to this file.", "type": "array", "items": { "type": "string", "minLength": 1 },
    }));
    properties.insert("part".to_owned(), json!({ "description": "The parts.", "type": "array", "items": part }));
    schema.file("A catalogue of parts", closed(properties, &[]))
}

/// Schema of a swap file.
pub fn swap(knowledge: &Knowledge) -> Value {
    let mut schema = Schema::new(knowledge);
    let mut properties = Map::new();
    properties.insert("name".to_owned(), words("What the swap is called."));
    properties.insert("notes".to_owned(), one_or_more("Remarks."));
    let set: Map<String, Value> = knowledge.slots().map(|(_, slot)| (slot.id.clone(), schema.slot(slot))).collect();
    properties.insert(
        "set".to_owned(),
        described(closed(set, &[]), "Parts to fit: for each place the id of a part, or a part written out."),
    );
    let may_be_empty: Vec<&str> =
        knowledge.slots().filter(|(id, _)| Some(*id) != kinds::frame_slot(knowledge)).map(|(_, slot)| slot.id.as_str()).collect();
    properties.insert(
        "unset".to_owned(),
        json!({
            "description": "Places to leave empty.", "type": "array", "items": { "enum": may_be_empty },
        }),
    );
    // A bare name is one of the set-up, or else of rider and chart; the first that has the name goes.
    let mut adjust = Map::new();
    for (table, about) in [("chart", About::Chart), ("rider", About::Rider), ("setup", About::Setup)] {
        if let Some(kind) = knowledge.table(about) {
            let flat = schema.quantities(kind);
            adjust.extend(flat.clone());
            adjust.insert(table.to_owned(), closed(flat, &[]));
        }
    }
    properties.insert(
        "adjust".to_owned(),
        described(closed(adjust, &[]), "Values that change: of the set-up, of the rider, of the chart."),
    );
    let changes = ["set", "unset", "adjust"].map(|key| json!({ "required": [key] }));
    let mut root = closed(properties, &[]);
    root["anyOf"] = json!(changes);
    schema.file("A swap: what is to change on a bicycle", root)
}

/// A schema as the text of its file.
pub fn text(schema: &Value) -> String {
    format!("{schema:#}\n")
}

/// A schema in the making: the part kinds, and the dimensions that were met, which need a definition each.
struct Schema<'k> {
    knowledge: &'k Knowledge,
    dimensions: BTreeSet<Dimension>,
    /// Parts written out in a slot, by the name of their definition.
    fitted: BTreeMap<String, Value>,
    /// Families of standards that were met.
    families: BTreeSet<FamilyId>,
}

impl<'k> Schema<'k> {
    fn new(knowledge: &'k Knowledge) -> Self {
        Self { knowledge, dimensions: BTreeSet::new(), fitted: BTreeMap::new(), families: BTreeSet::new() }
    }

    /// The whole file, with the definitions it refers to.
    fn file(self, title: &str, root: Value) -> Value {
        let mut definitions = Map::from_iter(self.fitted);
        for dimension in self.dimensions {
            definitions.insert(format!("{}_text", dimension.word()), quantity_text(dimension));
            definitions.insert(format!("{}_table", dimension.word()), quantity_table(dimension));
        }
        for family in self.families {
            let family = self.knowledge.family_of(family);
            definitions.insert(family_name(family), names(family));
        }
        let mut file = Map::new();
        file.insert("$schema".to_owned(), json!("http://json-schema.org/draft-07/schema#"));
        file.insert("title".to_owned(), json!(title));
        if let Value::Object(root) = root {
            file.extend(root);
        }
        file.insert("definitions".to_owned(), Value::Object(definitions));
        Value::Object(file)
    }

    /// What stands in a slot.
    fn slot(&mut self, slot: &Slot) -> Value {
        let kind = &self.knowledge.kind_of(slot.kind).name;
        let id = json!({ "description": format!("Id of a part of the kind {kind}."), "type": "string", "minLength": 1 });
        json!({ "description": format!("{}.", slot.name), "anyOf": [id, self.fitted_reference(slot.kind)] })
    }

    /// A part written out where it is fitted: all of it, or what it has of its own beside a catalogue part.
    fn fitted(&mut self, kind: KindId) -> Value {
        let mut properties = self.part_properties(kind);
        properties.insert("part".to_owned(), words("Id of the catalogue part that this one is, but for the values given here."));
        let required = self.required(kind);
        let mut fitted = closed(properties, &[]);
        if !required.is_empty() {
            fitted["anyOf"] = json!([{ "required": ["part"] }, { "required": required }]);
        }
        fitted
    }

    /// The same as a reference: two slots may hold the same kind.
    fn fitted_reference(&mut self, kind: KindId) -> Value {
        let name = format!("fitted_{}", self.knowledge.kind_of(kind).id);
        if !self.fitted.contains_key(&name) {
            let fitted = self.fitted(kind);
            self.fitted.insert(name.clone(), fitted);
        }
        json!({ "$ref": format!("#/definitions/{name}") })
    }

    /// A part of a catalogue.
    fn part(&mut self, kind: KindId) -> Value {
        let properties = self.part_properties(kind);
        let required = self.required(kind);
        closed(properties, &required.iter().map(String::as_str).collect::<Vec<_>>())
    }

    /// What a part of a kind cannot do without. What may follow from a standard need not be written.
    fn required(&self, kind: KindId) -> Vec<String> {
        let attributes = self.knowledge.attributes_of(kind);
        let follows =
            |id| self.knowledge.attributes_of(kind).any(|(_, other)| other.fills.iter().any(|fill| fill.attribute == id));
        attributes
            .filter(|(id, attribute)| attribute.required && !follows(*id))
            .map(|(_, attribute)| attribute.id.clone())
            .collect()
    }

    fn part_properties(&mut self, kind: KindId) -> Map<String, Value> {
        let mut properties = Map::new();
        let id = json!({ "description": "Id: letters, digits, `-`, `_` and `.`.", "type": "string", "pattern": "^[\\p{L}\\p{N}._-]+$" });
        properties.insert("id".to_owned(), id);
        properties.insert("kind".to_owned(), json!({ "description": "Kind of part.", "const": self.knowledge.kind_of(kind).id }));
        properties.insert("name".to_owned(), words("What people call it."));
        properties.insert("maker".to_owned(), words("Who makes it."));
        for (wanted, says) in [(MASS, "Mass."), (PRICE, "Price, in the catalogue's currency.")] {
            let number = self.number(wanted.dimension, wanted.least, wanted.most);
            properties.insert(wanted.key.to_owned(), described(number, says));
        }
        let condition = json!({ "description": "Whether it is new.", "enum": Condition::ALL.map(Condition::word) });
        properties.insert("condition".to_owned(), condition);
        let age = self.number(AGE.dimension, AGE.least, AGE.most);
        properties.insert("age".to_owned(), described(age, "How long it has been used since it was new or overhauled."));
        if let Value::Object(map) = self.attributes(kind)["properties"].take() {
            properties.extend(map);
        }
        if kinds::frame_kind(self.knowledge) == Some(kind)
            && let Some(chart) = self.knowledge.table(About::Chart)
        {
            let chart = described(self.attributes(chart), "The geometry chart: any of its numbers.");
            properties.insert("chart".to_owned(), chart);
        }
        properties
    }

    /// The attributes of a kind as a table, with the tables in it.
    fn attributes(&mut self, kind: KindId) -> Value {
        let mut properties = Map::new();
        let mut groups: Vec<(&str, Map<String, Value>)> = Vec::new();
        for (_, attribute) in self.knowledge.attributes_of(kind) {
            let value = self.attribute(attribute);
            match attribute.within.as_deref() {
                None => {
                    properties.insert(attribute.id.clone(), value);
                }
                Some(within) => match groups.iter_mut().find(|(group, _)| *group == within) {
                    Some((_, group)) => {
                        group.insert(attribute.id.clone(), value);
                    }
                    None => groups.push((within, Map::from_iter([(attribute.id.clone(), value)]))),
                },
            }
        }
        properties.extend(groups.into_iter().map(|(group, properties)| (group.to_owned(), closed(properties, &[]))));
        closed(properties, &[])
    }

    /// The attributes of a kind that are quantities, all on one floor.
    fn quantities(&mut self, kind: KindId) -> Map<String, Value> {
        self.knowledge
            .attributes_of(kind)
            .filter(|(_, attribute)| matches!(attribute.what, AttributeType::Quantity { .. }))
            .map(|(_, attribute)| (attribute.id.clone(), self.attribute(attribute)))
            .collect()
    }

    fn attribute(&mut self, attribute: &Attribute) -> Value {
        let value = match attribute.what {
            AttributeType::Quantity { dimension, least, most } => self.number(dimension, least, most),
            AttributeType::Count { least, most } => json!({ "type": "integer", "minimum": least, "maximum": most }),
            AttributeType::Word => json!({ "type": "string", "minLength": 1 }),
            AttributeType::Flag => json!({ "type": "boolean" }),
            AttributeType::Standard { family } => {
                let name = self.family(family);
                json!({ "$ref": format!("#/definitions/{name}") })
            }
            AttributeType::Standards { family } => {
                let name = format!("#/definitions/{}", self.family(family));
                json!({ "anyOf": [{ "$ref": name }, { "type": "array", "minItems": 1, "items": { "$ref": name } }] })
            }
            AttributeType::Numbers { least, most } => json!({
                "type": "array", "minItems": 1, "items": { "type": "number", "minimum": least, "maximum": most },
            }),
        };
        described(value, &sentence(&attribute.says))
    }

    /// The name of a family's definition.
    fn family(&mut self, family: FamilyId) -> String {
        self.families.insert(family);
        family_name(self.knowledge.family_of(family))
    }

    /// A quantity: a bare number in the base unit, a text with its unit, or a table.
    fn number(&mut self, dimension: Dimension, least: f64, most: f64) -> Value {
        self.dimensions.insert(dimension);
        let unit = dimension.base_symbol();
        let says = if unit.is_empty() { "A bare number.".to_owned() } else { format!("In {unit}, from {least} to {most}.") };
        let word = dimension.word();
        json!({ "anyOf": [
            { "description": says, "type": "number", "minimum": least, "maximum": most },
            { "$ref": format!("#/definitions/{word}_text") },
            { "$ref": format!("#/definitions/{word}_table") },
        ] })
    }
}

fn family_name(family: &Family) -> String {
    format!("standard_{}", family.id)
}

/// Names of a family: those that are listed, for completion; other spellings and designations are read as well.
fn names(family: &Family) -> Value {
    let says = format!("{}; `~` in front if it is a guess.", sentence_start(&family.name));
    let listed: Vec<&str> = family.members.iter().map(|member| member.id.as_str()).collect();
    let any = json!({ "type": "string", "minLength": 1 });
    if listed.is_empty() {
        return described(any, &says);
    }
    json!({ "description": says, "anyOf": [{ "enum": listed }, any] })
}

/// A number with its unit, as a text.
fn quantity_text(dimension: Dimension) -> Value {
    let example = dimension.example();
    let (number, unit) = example.split_once(' ').unwrap_or((example, ""));
    let examples = [example.to_owned(), format!("{number} ± 1 {unit}").trim_end().to_owned(), format!("~{example}")];
    json!({
        "description": format!("{} with its unit, its ± if it is known, and `~` in front if it is a guess.", sentence_start(dimension.with_article())),
        "type": "string",
        "pattern": "[0-9]",
        "examples": examples,
    })
}

/// A number with what is known about it, as a table.
fn quantity_table(dimension: Dimension) -> Value {
    let word = dimension.word();
    let text = json!({ "$ref": format!("#/definitions/{word}_text") });
    let tolerance = |says: &str| json!({ "description": says, "anyOf": [{ "type": "number", "minimum": 0 }, { "type": "string", "pattern": "[0-9]" }] });
    json!({
        "description": format!("{} with where it comes from.", sentence_start(dimension.with_article())),
        "type": "object",
        "additionalProperties": false,
        "required": ["value"],
        "properties": {
            "value": { "description": "The number, bare or with its unit.", "anyOf": [{ "type": "number" }, text] },
            "from": { "description": "Where it comes from.", "enum": Origin::ALL.map(Origin::word) },
            "plus_minus": tolerance("The most it can be off: bare, with its unit, or in % of the value."),
            "expanded": tolerance("Its expanded uncertainty (k = 2), as a calibration states it."),
            "standard_deviation": tolerance("Its standard deviation, as repeated measurements give it."),
        },
    })
}

/// A table that holds these keys and no others.
fn closed(properties: Map<String, Value>, required: &[&str]) -> Value {
    let mut table = Map::new();
    table.insert("type".to_owned(), json!("object"));
    table.insert("additionalProperties".to_owned(), json!(false));
    if !required.is_empty() {
        table.insert("required".to_owned(), json!(required));
    }
    table.insert("properties".to_owned(), Value::Object(properties));
    Value::Object(table)
}

/// The same with a description in front.
fn described(value: Value, says: &str) -> Value {
    let mut described = Map::from_iter([("description".to_owned(), json!(says))]);
    if let Value::Object(value) = value {
        described.extend(value);
    }
    Value::Object(described)
}

fn words(says: &str) -> Value {
    json!({ "description": says, "type": "string", "minLength": 1 })
}

fn one_or_more(says: &str) -> Value {
    json!({ "description": says, "anyOf": [{ "type": "string" }, { "type": "array", "items": { "type": "string" } }] })
}

/// A phrase as a sentence.
fn sentence(phrase: &str) -> String {
    format!("{}.", sentence_start(phrase))
}

fn sentence_start(phrase: &str) -> String {
    let mut letters = phrase.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
