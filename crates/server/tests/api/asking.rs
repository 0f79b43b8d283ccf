//! The app asked in memory by a program, and its answers held against the description.

use std::{collections::BTreeMap, sync::Arc};

use axum::{
    Router,
    body::{Body, to_bytes},
    http::{HeaderName, Request, StatusCode, header},
};
use jsonschema::Validator;
use knowledge::Knowledge;
use serde_json::{Value, json};
use server::{Workshop, app};
use tokio::runtime::Runtime;
use tower::ServiceExt as _;

pub(crate) struct App {
    runtime: Runtime,
    router: Router,
}

pub(crate) struct Got {
    pub(crate) status: StatusCode,
    pub(crate) kind: String,
    pub(crate) allow: Option<String>,
    pub(crate) bytes: Vec<u8>,
}

impl Got {
    pub(crate) fn text(&self) -> &str {
        std::str::from_utf8(&self.bytes).unwrap()
    }

    pub(crate) fn json(&self) -> Value {
        serde_json::from_slice(&self.bytes).unwrap_or_else(|error| panic!("{error}: {}", self.shown()))
    }

    /// What was given, as far as a message can hold it; of a mistake, what a terminal would show.
    pub(crate) fn shown(&self) -> String {
        let told: Value = serde_json::from_slice(&self.bytes).unwrap_or_default();
        if let Some(problems) = told["problems"].as_array() {
            return problems.iter().map(|problem| problem["shown"].as_str().unwrap()).collect::<Vec<_>>().join("\n");
        }
        String::from_utf8_lossy(&self.bytes).chars().take(2000).collect()
    }
}

impl App {
    pub(crate) fn demo() -> Self {
        let workshop = Workshop::open(Knowledge::embedded().unwrap(), &[]).unwrap_or_else(|problems| panic!("{problems}"));
        Self { runtime: Runtime::new().unwrap(), router: app(Arc::new(workshop)) }
    }

    pub(crate) fn get(&self, address: &str) -> Got {
        self.ask("GET", address, &[], Vec::new())
    }

    pub(crate) fn post(&self, address: &str, json: String) -> Got {
        self.ask("POST", address, &[(header::CONTENT_TYPE, "application/json")], json.into_bytes())
    }

    pub(crate) fn ask(&self, method: &str, address: &str, headers: &[(HeaderName, &str)], body: Vec<u8>) -> Got {
        let mut request = Request::builder().method(method).uri(address);
        for (name, value) in headers {
            request = request.header(name, *value);
        }
        let request = request.body(Body::from(body)).unwrap();
        self.runtime.block_on(async {
            let response = self.router.clone().oneshot(request).await.unwrap();
            let of = |name| response.headers().get(name).map(|value| value.to_str().unwrap().to_owned());
            let (kind, allow) = (of(header::CONTENT_TYPE).unwrap_or_default(), of(header::ALLOW));
            let status = response.status();
            let bytes = to_bytes(response.into_body(), 64 << 20).await.unwrap().to_vec();
            Got { status, kind, allow, bytes }
        })
    }

    pub(crate) fn description(&self) -> Value {
        self.get("/api/openapi.json").json()
    }
}

/// The description, ready to judge by.
pub(crate) struct Described {
    pub(crate) description: Value,
    /// By method, path, status and media type; `None` where what is given is no JSON.
    validators: BTreeMap<(String, String, u16, String), Option<Validator>>,
}

impl Described {
    pub(crate) fn new(app: &App) -> Self {
        let description = app.description();
        let mut validators = BTreeMap::new();
        for (path, item) in description["paths"].as_object().unwrap() {
            for (method, operation) in item.as_object().unwrap() {
                for (status, response) in operation["responses"].as_object().unwrap() {
                    let response = match response.get("$ref") {
                        Some(place) => description.pointer(place.as_str().unwrap().trim_start_matches('#')).unwrap(),
                        None => response,
                    };
                    for (kind, content) in response["content"].as_object().into_iter().flatten() {
                        let is_json = kind.ends_with("json");
                        let validator = content.get("schema").filter(|_| is_json).map(|schema| {
                            let whole = json!({ "components": description["components"], "allOf": [schema] });
                            jsonschema::validator_for(&whole).unwrap()
                        });
                        let status: u16 = status.parse().unwrap();
                        validators.insert((method.clone(), path.clone(), status, kind.clone()), validator);
                    }
                }
            }
        }
        Self { description, validators }
    }

    /// What a reference leads to; the value itself if it is none.
    pub(crate) fn at<'v>(&'v self, value: &'v Value) -> &'v Value {
        match value.get("$ref") {
            Some(place) => self.description.pointer(place.as_str().unwrap().trim_start_matches('#')).unwrap(),
            None => value,
        }
    }

    pub(crate) fn validator(&self, place: &str) -> Validator {
        let whole = json!({ "components": self.description["components"], "$ref": place });
        jsonschema::validator_for(&whole).unwrap()
    }

    pub(crate) fn paths(&self) -> impl Iterator<Item = &str> {
        self.description["paths"].as_object().unwrap().keys().map(String::as_str)
    }

    pub(crate) fn example_bodies(&self) -> Vec<(String, Value)> {
        let mut bodies = Vec::new();
        for (path, item) in self.description["paths"].as_object().unwrap() {
            if let Some(post) = item.get("post") {
                bodies.push((path.clone(), post["requestBody"]["content"]["application/json"]["example"].clone()));
            }
        }
        bodies
    }

    /// Panics unless the description says that this may be given here.
    pub(crate) fn check(&self, method: &str, path: &str, got: &Got) {
        let essence = got.kind.split(';').next().unwrap().to_owned();
        let key = (method.to_owned(), path.to_owned(), got.status.as_u16(), essence);
        let Some(validator) = self.validators.get(&key) else { panic!("{key:?} is not described: {}", got.shown()) };
        if let Some(validator) = validator {
            let value = got.json();
            if let Some(error) = validator.iter_errors(&value).next() {
                panic!("{key:?}: {error} at {}", error.instance_path());
            }
        }
        assert!(got.status.as_u16() < 500, "{key:?}: {}", got.shown());
    }
}
