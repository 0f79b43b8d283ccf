//! What is asked, by an address or by a JSON body: both are words of the same bench.

use std::collections::BTreeMap;

use axum::{
    body::Bytes,
    http::{HeaderMap, StatusCode, header},
};
use knowledge::{Knowledge, SlotId};
use schemars::JsonSchema;
use serde::{Deserialize, de::IgnoredAny};
use source_file::{Problem, SourceFile};

use crate::{
    asked::{Asked, Which},
    mistake::Mistake,
    on_stand::{OnStand, slot},
    packed::{MOST_BYTES, packed},
    workshop::Workshop,
};

/// The longest sentence about a body, in characters.
const MOST_WORDS_CHARS: usize = 400;

/// A bench, and a place on the bicycle if one is named.
#[derive(Debug)]
pub(super) struct Question {
    asked: Asked,
    slot: Option<String>,
}

impl Question {
    pub(super) fn of_query(query: &str) -> Self {
        let slot = form_urlencoded::parse(query.as_bytes()).filter(|pair| pair.0 == "slot").last();
        let slot = slot.map(|pair| pair.1.trim().to_owned()).filter(|slot| !slot.is_empty());
        Self { asked: Asked::from_query(query), slot }
    }

    /// Reads a body that says what it is.
    pub(super) fn of_body(headers: &HeaderMap, body: &Bytes) -> Result<Self, Mistake> {
        let kind = headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or_default();
        let essence = kind.split(';').next().unwrap_or_default().trim();
        if !essence.eq_ignore_ascii_case("application/json") {
            let wrong = if kind.is_empty() {
                Problem::new("the body does not say what it is")
            } else {
                Problem::new(format!("the body is {}, not JSON", source_file::quoted(kind)))
            };
            let wrong = wrong.help("send it with `Content-Type: application/json`");
            return Err(Mistake::Request(StatusCode::UNSUPPORTED_MEDIA_TYPE, wrong));
        }
        let text = std::str::from_utf8(body).map_err(|error| {
            let wrong = Problem::new(format!("the body is not UTF-8 text from byte {} on", error.valid_up_to()));
            Mistake::Request(StatusCode::BAD_REQUEST, wrong)
        })?;
        // A list would be read as the values of an object in their order.
        if !text.trim_start().starts_with('{') {
            serde_json::from_str::<IgnoredAny>(text).map_err(|error| unread(text, &error))?;
            return Err(Problem::new("the body is no object").help("write it like `{\"bike\": \"heron\"}`").into());
        }
        serde_json::from_str::<Sent>(text).map_err(|error| unread(text, &error))?.question()
    }

    pub(super) fn on_stand<'w>(&self, workshop: &'w Workshop) -> Result<OnStand<'w>, Mistake> {
        OnStand::new(&self.asked, workshop)
    }

    pub(super) fn slot(&self, knowledge: &Knowledge) -> Result<SlotId, Mistake> {
        let word =
            self.slot.as_deref().ok_or_else(|| Problem::new("`slot` is not said").help("name a place, for example `fork`"))?;
        Ok(slot(word, knowledge)?)
    }
}

/// A body that is no JSON, or not this JSON, with the place where it stops being so.
fn unread(text: &str, error: &serde_json::Error) -> Mistake {
    let file = SourceFile::from_text("the body", text);
    let words = error.to_string();
    let words = words.rsplit_once(" at line ").map_or(words.as_str(), |parts| parts.0);
    // The words quote what was sent, all of it.
    let words: String = words.chars().take(MOST_WORDS_CHARS).collect();
    // The place is that of the last byte read, counted from 1.
    let line_start: usize = text.split_inclusive('\n').take(error.line().saturating_sub(1)).map(str::len).sum();
    let end = (line_start + error.column()).min(text.len());
    let problem = Problem::at(&file, end.saturating_sub(1)..end, words);
    if error.is_data() {
        return problem.help("see `/api/openapi.json` for what a body may say").into();
    }
    Mistake::Request(StatusCode::BAD_REQUEST, problem.label("no JSON from here on"))
}

/// A bench as JSON: the same words as in its address, without a bike having to be packed. Either `bike` or `build` has to be there.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "Bench", extend("oneOf" = [{ "required": ["bike"] }, { "required": ["build"] }]))]
pub(super) struct Sent {
    /// One of the workshop's bikes, by its id.
    #[schemars(with = "String", extend("examples" = ["heron"]))]
    bike: Option<String>,
    /// A bike of one's own: the text of a build file (TOML).
    #[schemars(with = "String")]
    build: Option<String>,
    /// Parts on trial: the place, and the part's id in the catalogue.
    #[schemars(extend("examples" = [{ "fork": "tarn-150" }]))]
    set: BTreeMap<String, String>,
    /// Places to leave empty.
    #[schemars(extend("examples" = [["front_rotor"]]))]
    off: Vec<String>,
    /// Numbers to change, of set-up (`stem_spacers`), rider (`rider.mass`), geometry chart (`chart.reach`) or a part
    /// (`stem.length`): bare in the base unit, or a text with unit and tolerance.
    #[schemars(extend("examples" = [{ "stem_spacers": "10 mm", "rider.mass": 90 }]))]
    adjust: BTreeMap<String, Amount>,
    /// Units of the sentences; metric unless said. Numbers are in base units either way.
    #[schemars(with = "UnitsSaid")]
    units: Option<UnitsSaid>,
    /// The shop's rate an hour, in the catalogue's currency; without one, work is told in minutes and costs nothing.
    #[schemars(with = "f64", range(min = 0.0, max = 1e7))]
    rate: Option<f64>,
    /// The most the whole swap may cost, extras and work included, in the catalogue's currency.
    #[schemars(with = "f64", range(min = 0.0, max = 1e7))]
    budget: Option<f64>,
    /// Places whose part has to stay.
    keep: Vec<String>,
    /// New parts only, none used or reconditioned.
    new: bool,
    /// The place that is asked about, where one has to be named.
    #[schemars(with = "String", extend("examples" = ["fork"]))]
    slot: Option<String>,
}

/// A number to change.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(untagged, expecting = "expected a number, or a text with a number and its unit")]
enum Amount {
    /// In the base unit.
    Number(f64),
    /// With unit and tolerance: `20 ± 2 mm`.
    Text(String),
}

/// Units of sentences.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(rename = "Units")]
enum UnitsSaid {
    /// mm, kg, bar.
    Metric,
    /// in, lb, psi.
    Imperial,
}

impl Sent {
    /// The same as words of an address.
    fn question(self) -> Result<Question, Mistake> {
        let mut pairs: Vec<(String, String)> = Vec::new();
        let mut pair = |key: &str, value: String| pairs.push((key.to_owned(), value));
        for (slot, part) in self.set {
            pair(&format!("set.{slot}"), part);
        }
        self.off.into_iter().for_each(|slot| pair("off", slot));
        for (name, amount) in self.adjust {
            let amount = match amount {
                Amount::Number(number) => number.to_string(),
                Amount::Text(text) => text,
            };
            pair(&format!("adjust.{name}"), amount);
        }
        if self.units == Some(UnitsSaid::Imperial) {
            pair("units", "imperial".to_owned());
        }
        for (key, sum) in [("rate", self.rate), ("budget", self.budget)] {
            if let Some(sum) = sum {
                pair(key, sum.to_string());
            }
        }
        self.keep.into_iter().for_each(|slot| pair("keep", slot));
        if self.new {
            pair("new", "yes".to_owned());
        }
        let bike = match (self.bike, self.build) {
            (Some(_), Some(_)) => {
                return Err(Problem::new("both `bike` and `build` are given").help("leave one of them out").into());
            }
            (Some(id), None) => Which::Offered(id),
            (None, Some(text)) if text.len() > MOST_BYTES => {
                let long = Problem::new(format!("the build is longer than {} KiB", MOST_BYTES >> 10));
                return Err(Mistake::Request(StatusCode::PAYLOAD_TOO_LARGE, long));
            }
            (None, Some(text)) => Which::Own(packed(&text)),
            (None, None) => Which::None,
        };
        Ok(Question { asked: Asked { bike, ..Asked::from_pairs(pairs) }, slot: self.slot })
    }
}
