//! The words of a bench's address, described.

use bike::Part;
use knowledge::Knowledge;
use serde_json::{Map, Value, json};

use crate::{
    api::addresses::{Address, Takes},
    asked::{Asked, Which},
    workshop::{Offered, Workshop},
};

/// A word of an address.
#[derive(Debug)]
pub(crate) struct Parameter {
    /// Key, as a person writes it: `set.SLOT`.
    pub(crate) key: &'static str,
    /// What it says.
    pub(crate) says: &'static str,
    /// For example.
    pub(crate) example: String,
    /// What programs call it.
    pub(super) name: &'static str,
    pub(super) schema: Value,
}

impl Parameter {
    /// Whether an address has a use for it.
    pub(super) fn is_wanted_at(&self, address: &Address) -> bool {
        match address.takes {
            Takes::Nothing => false,
            Takes::Bench => !["slot", "paper"].contains(&self.name),
            Takes::BenchAndSlot => self.name != "paper",
            Takes::BenchAndPaper => self.name != "slot",
        }
    }
}

/// Every word, in the order of an address.
pub(crate) fn parameters(workshop: &Workshop) -> Vec<Parameter> {
    let knowledge = workshop.knowledge();
    let example = Example::of(workshop);
    let text = || json!({ "type": "string" });
    let place = json!({ "type": "string", "enum": slots(knowledge) });
    let places = json!({ "type": "array", "items": place });
    let sum = json!({ "type": "number", "minimum": 0, "maximum": 1e7 });
    let set: Map<String, Value> = knowledge
        .slots()
        .map(|(_, slot)| (format!("set.{}", slot.id), json!({ "type": "string", "description": slot.name })))
        .collect();
    let parameter = |key, name, says, example: String, schema: Value| Parameter { key, says, example, name, schema };
    vec![
        parameter("bike", "bike", "One of the workshop's bikes, by its id.", format!("bike={}", example.bike), text()),
        parameter(
            "own",
            "own",
            "A bike of one's own in place of it: a build file (TOML), deflated (RFC 1951), in the URL alphabet of base 64 without padding \
             (RFC 4648, 5).",
            format!("own={}", crate::packed::packed("name = \"My bike\"\n")),
            text(),
        ),
        parameter(
            "set.SLOT",
            "set",
            "The part on trial in a place, by its id in the catalogue.",
            format!("set.{}={}", example.slot, example.part),
            json!({ "type": "object", "properties": set, "additionalProperties": false }),
        ),
        parameter("off", "off", "A place to leave empty; may come several times.", "off=front_rotor".to_owned(), places.clone()),
        parameter(
            "adjust.NAME",
            "adjust",
            "A number to change, of set-up (stem_spacers), rider (rider.mass), geometry chart (chart.reach) or a part (stem.length): \
             bare in the base unit, or with unit and tolerance.",
            "adjust.stem_spacers=10+mm".to_owned(),
            json!({
                "type": "object",
                "patternProperties": { "^adjust\\.": { "type": "string" } },
                "additionalProperties": false,
            }),
        ),
        parameter(
            "pose",
            "pose",
            "Drawn with the rider aboard, the suspension at its sag; unladen unless said.",
            "pose=aboard".to_owned(),
            json!({ "type": "string", "enum": ["unladen", "aboard"], "default": "unladen" }),
        ),
        parameter(
            "units",
            "units",
            "Units of the sentences and drawings; metric unless said. Numbers in JSON are in base units either way.",
            "units=imperial".to_owned(),
            json!({ "type": "string", "enum": ["metric", "imperial"], "default": "metric" }),
        ),
        parameter(
            "rate",
            "rate",
            "The shop's rate an hour, in the catalogue's currency; without one, work is told in minutes and costs nothing.",
            "rate=60".to_owned(),
            sum.clone(),
        ),
        parameter(
            "budget",
            "budget",
            "The most the whole swap may cost, extras and work included, in the catalogue's currency.",
            "budget=300".to_owned(),
            sum,
        ),
        parameter("keep", "keep", "A place whose part has to stay; may come several times.", "keep=crank".to_owned(), places),
        parameter(
            "new",
            "new",
            "New parts only, none used or reconditioned.",
            "new=yes".to_owned(),
            json!({ "type": "string", "enum": ["yes", "no"], "default": "no" }),
        ),
        parameter(
            "text",
            "text",
            "What a person made of the draft, packed like own; the address of a bench carries it along.",
            "text=…".to_owned(),
            text(),
        ),
        parameter("slot", "slot", "The place that is asked about.", format!("slot={}", example.slot), place),
        parameter(
            "paper",
            "paper",
            "What a card or an animation is looked at on; light unless said.",
            "paper=dark".to_owned(),
            json!({ "type": "string", "enum": ["light", "dark"], "default": "light" }),
        ),
    ]
}

fn slots(knowledge: &Knowledge) -> Vec<&str> {
    knowledge.slots().map(|(_, slot)| slot.id.as_str()).collect()
}

/// A bench that exists in this workshop, for examples.
#[derive(Debug, Default)]
pub(crate) struct Example {
    bike: String,
    slot: String,
    part: String,
}

impl Example {
    /// The first bike, and another part for the first of its places that has one, but for that of the frame: another frame is
    /// nearly another bike.
    pub(crate) fn of(workshop: &Workshop) -> Self {
        let Some(Offered { id, build, catalogue, .. }) = workshop.bikes.first() else { return Self::default() };
        let knowledge = workshop.knowledge();
        let is_frame = |part: &Part| part.chart.is_some();
        let fitted = knowledge.slots().filter_map(|(id, slot)| Some((slot, build.part(id).filter(|part| !is_frame(part))?)));
        let mut choices = fitted.filter_map(|(slot, there)| {
            let other = catalogue.of_kind(slot.kind).find(|part| part.id.is_some() && part.id != there.id)?;
            Some((slot.id.clone(), other.id.clone()?))
        });
        let (slot, part) = choices.next().unwrap_or_default();
        Self { bike: id.clone(), slot, part }
    }

    /// The bench's address with what an address of the API needs; `None` if there is no such bike or place.
    pub(crate) fn address(&self, path: &str, needs_slot: bool) -> Option<String> {
        let asked = Asked { bike: Which::Offered(self.bike.clone()), ..Asked::default() };
        let address = if needs_slot {
            asked.address_with(path, &[("slot", &self.slot)])
        } else {
            asked.with_set(&self.slot, &self.part).address(path)
        };
        let is_missing = self.bike.is_empty() || (needs_slot && self.slot.is_empty());
        (!is_missing).then_some(address)
    }

    /// A body that says the same.
    pub(crate) fn body(&self, needs_slot: bool) -> Value {
        if needs_slot {
            json!({ "bike": self.bike, "slot": self.slot })
        } else {
            json!({ "bike": self.bike, "set": { &*self.slot: self.part } })
        }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    /// A key that is added to the address has to be described, and one that is taken away must not be.
    #[test]
    fn every_key_of_an_address_is_described_and_no_other() {
        let workshop = Workshop::open(Knowledge::embedded().unwrap(), &[]).unwrap();
        let asked = Asked {
            bike: Which::Offered("heron".to_owned()),
            set: vec![("fork".to_owned(), "tarn-150".to_owned())],
            off: vec!["chain".to_owned()],
            adjust: vec![("stem_spacers".to_owned(), "10 mm".to_owned())],
            aboard: true,
            imperial: true,
            rate: Some("1".to_owned()),
            budget: Some("1".to_owned()),
            keep: vec!["crank".to_owned()],
            new_only: true,
            text: Some("abc".to_owned()),
        };
        let own = Asked { bike: Which::Own(String::new()), ..Asked::default() };
        let pairs = asked.pairs().into_iter().chain(own.pairs());
        let asked: BTreeSet<String> = pairs
            .map(|(key, _)| key.split('.').next().unwrap_or_default().to_owned())
            .chain(["slot", "paper"].map(str::to_owned))
            .collect();
        let described = parameters(&workshop).iter().map(|parameter| parameter.name.to_owned()).collect();
        assert_eq!(asked, described);
    }
}
