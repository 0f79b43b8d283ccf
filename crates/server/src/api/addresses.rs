//! What can be asked: every address with what it takes, what it gives, and what answers.

use std::sync::Arc;

use axum::{
    Json,
    body::Bytes,
    extract::{RawQuery, State},
    http::{HeaderMap, header},
    response::{IntoResponse, Response},
    routing::{MethodRouter, get, post},
};
use knowledge::Knowledge;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Serialize;
use serde_json::Value;
use stand::answer::{Answer, Extras, Fits};

use crate::{
    api::{
        description::description,
        given::{Bikes, BuildGiven, Kinds, Parts, Slots, TextGiven},
        question::Question,
    },
    mistake::{Mistake, PROGRAMS},
    router::{Shop, aside},
    workshop::Workshop,
};

/// One address asked in one way.
pub(crate) struct Address {
    pub(crate) method: Method,
    pub(crate) path: &'static str,
    /// What programs call it.
    pub(crate) name: &'static str,
    /// What it gives, in a sentence.
    pub(crate) says: &'static str,
    pub(crate) takes: Takes,
    /// Media type of what it gives, and what that is if it is JSON.
    pub(crate) media_type: &'static str,
    pub(crate) gives: Option<Given>,
    /// What answers; `None` if it is answered elsewhere.
    pub(super) router: Option<MethodRouter<Arc<Workshop>>>,
}

/// The schema of what is given.
pub(crate) type Given = fn(&mut SchemaGenerator) -> Schema;

const JSON: &str = "application/json";
const SVG: &str = "image/svg+xml";
const PNG: &str = "image/png";

impl Address {
    /// Whether a mistake is told to a program; to a person elsewhere.
    pub(super) fn is_for_programs(&self) -> bool {
        self.path.starts_with(PROGRAMS)
    }
}

/// How it is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Method {
    /// With the bench's address.
    Get,
    /// With a JSON body.
    Post,
}

/// What it has to be told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Takes {
    Nothing,
    Bench,
    /// A bench and a place on the bicycle.
    BenchAndSlot,
    /// A bench, and what a picture of it is looked at on.
    BenchAndPaper,
}

/// What the pages show, asked by a program: worked out from a question.
type Work<T> = fn(&Workshop, &Question) -> Result<T, Mistake>;

/// Every address that a program may want to ask, in the order they are told.
pub(crate) fn addresses() -> Vec<Address> {
    use Takes::{Bench, BenchAndPaper, BenchAndSlot, Nothing};
    let mut all = vec![
        read("/api/bikes", "bikes", "The bikes of the workshop.", Nothing, |workshop, _| Ok(Bikes::of(workshop))),
        read("/api/slots", "slots", "The places on a bicycle, in the order of the parts list.", Nothing, |workshop, _| {
            Ok(Slots::of(workshop.knowledge()))
        }),
        read(
            "/api/kinds",
            "kinds",
            "What can be stated of each kind of part, of rider, set-up and geometry chart, with units and bounds.",
            Nothing,
            |workshop, _| Ok(Kinds::of(workshop.knowledge())),
        ),
        read(
            "/api/build",
            "build",
            "The bike on the bench as a build file, the swap on it if one is asked; every part is written out in it.",
            Bench,
            |workshop, question| BuildGiven::of(&question.on_stand(workshop)?),
        ),
        read(
            "/api/parts",
            "parts",
            "The catalogue's parts for one place, as they stand there.",
            BenchAndSlot,
            |workshop, question| {
                let slot = question.slot(workshop.knowledge())?;
                Ok(Parts::of(&question.on_stand(workshop)?, slot))
            },
        ),
    ];
    all.extend(asked::<Answer>(
        "/api/answer",
        ["answer", "answerOf"],
        "The whole answer: what fits, what moves, what else it takes, what it costs, how sure that is.",
        Bench,
        |workshop, question| question.on_stand(workshop)?.answer(),
    ));
    all.extend(asked::<Fits>(
        "/api/fits",
        ["fits", "fitsOf"],
        "Every part of the catalogue for one place, each tried on the bike, the best first.",
        BenchAndSlot,
        |workshop, question| {
            let slot = question.slot(workshop.knowledge())?;
            question.on_stand(workshop)?.fits(slot)
        },
    ));
    all.extend(asked::<Extras>(
        "/api/extras",
        ["extras", "extrasOf"],
        "What else a swap takes, alone: the cheapest sets of further parts and work, or what collides.",
        Bench,
        |workshop, question| question.on_stand(workshop)?.extras(),
    ));
    all.extend(asked::<TextGiven>(
        "/api/text",
        ["text", "textOf"],
        "The answer in words: the draft or what was made of it, and the same to read aloud.",
        Bench,
        |workshop, question| TextGiven::of(&question.on_stand(workshop)?),
    ));
    all.extend([
        file("/drawing.svg", "drawingSvg", "The bike before and after, drawn to scale, as SVG.", SVG, Bench),
        file("/drawing.png", "drawingPng", "The same as PNG.", PNG, Bench),
        file("/sheet.html", "sheetHtml", "The answer as a sheet that stands alone, as HTML.", "text/html; charset=utf-8", Bench),
        file("/sheet.pdf", "sheetPdf", "The same as PDF.", "application/pdf", Bench),
        file("/card.svg", "cardSvg", "The answer on one screen, to be read across a room, as SVG.", SVG, BenchAndPaper),
        file("/card.png", "cardPng", "The same as PNG, 1920 by 1080.", PNG, BenchAndPaper),
        file("/animation.svg", "animationSvg", "The bike as it changes, as SVG that moves by itself.", SVG, BenchAndPaper),
        file("/animation.png", "animationPng", "The same as animated PNG, 960 by 540.", PNG, BenchAndPaper),
        schema("/api/build.schema.json", "buildSchema", "The JSON Schema of a build file.", bike::schema::build),
        schema("/api/catalogue.schema.json", "catalogueSchema", "The JSON Schema of a catalogue file.", bike::schema::catalogue),
        schema("/api/swap.schema.json", "swapSchema", "The JSON Schema of a swap file.", bike::schema::swap),
        read(
            "/api/openapi.json",
            "description",
            "All of this, described for a program (OpenAPI 3.1).",
            Nothing,
            |workshop, _| Ok(description(workshop)),
        ),
    ]);
    all
}

/// Asked by its address alone.
fn read<T: Serialize + JsonSchema + Send + 'static>(
    path: &'static str,
    name: &'static str,
    says: &'static str,
    takes: Takes,
    work: Work<T>,
) -> Address {
    let handler = move |shop: Shop, query: RawQuery| async move {
        given(JSON, aside(shop, query, move |workshop, query| work(workshop, &Question::of_query(query))).await)
    };
    let gives = Some(SchemaGenerator::subschema_for::<T> as Given);
    Address { method: Method::Get, path, name, says, takes, media_type: JSON, gives, router: Some(get(handler)) }
}

/// Asked by its address, and the same with a body.
fn asked<T: Serialize + JsonSchema + Send + 'static>(
    path: &'static str,
    [by_address, with_body]: [&'static str; 2],
    says: &'static str,
    takes: Takes,
    work: Work<T>,
) -> [Address; 2] {
    let handler = move |State(workshop): Shop, headers: HeaderMap, body: Bytes| async move {
        let work = move |workshop: &Workshop, _: &str| work(workshop, &Question::of_body(&headers, &body)?);
        given(JSON, aside(State(workshop), RawQuery(None), work).await)
    };
    [
        read(path, by_address, says, takes, work),
        Address { method: Method::Post, router: Some(post(handler)), ..read(path, with_body, says, takes, work) },
    ]
}

/// A file that is answered where the pages are.
fn file(path: &'static str, name: &'static str, says: &'static str, media_type: &'static str, takes: Takes) -> Address {
    Address { method: Method::Get, path, name, says, takes, media_type, gives: None, router: None }
}

/// A JSON Schema.
fn schema(path: &'static str, name: &'static str, says: &'static str, make: fn(&Knowledge) -> Value) -> Address {
    const KIND: &str = "application/schema+json";
    let handler = move |shop: Shop| async move {
        given(KIND, aside(shop, RawQuery(None), move |workshop, _| Ok(make(workshop.knowledge()))).await)
    };
    let gives = Some(SchemaGenerator::subschema_for::<Value> as Given);
    Address { method: Method::Get, path, name, says, takes: Takes::Nothing, media_type: KIND, gives, router: Some(get(handler)) }
}

fn given<T: Serialize>(media_type: &'static str, made: Result<T, Mistake>) -> Response {
    match made {
        Ok(value) => ([(header::CONTENT_TYPE, media_type)], Json(value)).into_response(),
        Err(mistake) => mistake.response(PROGRAMS),
    }
}
