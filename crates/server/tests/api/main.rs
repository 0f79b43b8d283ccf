//! The API as a program meets it: described, and as described whatever is sent to it.
//!
//! After a change of what is described, rewrite its file with `UPDATE=1 cargo test -p server --test api`.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

mod asking;
mod hostile;

use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    path::{Path, PathBuf},
};

use asking::{App, Described};
use axum::http::{StatusCode, header};
use serde_json::{Value, json};
use source_file::SourceFile;
use stand::answer::{Answer, Extras, Fits};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn heron() -> String {
    fs::read_to_string(root().join("demo/heron.toml")).unwrap()
}

#[test]
fn the_file_with_the_description_is_up_to_date() {
    let described = App::demo().description();
    let path = root().join("schema/openapi.json");
    let wanted = format!("{described:#}\n");
    if std::env::var_os("UPDATE").is_some() {
        fs::write(&path, &wanted).unwrap();
    }
    let found = fs::read_to_string(&path).unwrap_or_default();
    assert!(found == wanted, "schema/openapi.json is out of date: run `UPDATE=1 cargo test -p server --test api`");
}

/// What OpenAPI 3.1 asks of a description, as far as this one uses it; the schemas are held against the meta-schema of their dialect.
#[test]
fn the_description_is_what_openapi_asks_for() {
    let described = App::demo().description();
    assert_eq!(described["openapi"], "3.1.1");
    assert_eq!(described["jsonSchemaDialect"], "https://json-schema.org/draft/2020-12/schema");
    for key in ["title", "version"] {
        assert!(described["info"][key].is_string(), "{key}");
    }
    let mut names = BTreeSet::new();
    for (path, item) in described["paths"].as_object().unwrap() {
        assert!(path.starts_with('/') && !path.contains(['{', '?']), "{path}: no part of a path is a parameter");
        for (method, operation) in item.as_object().unwrap() {
            assert!(["get", "post"].contains(&method.as_str()), "{path} {method}");
            assert!(names.insert(operation["operationId"].as_str().unwrap()), "{path} {method}: its name is taken");
            assert!(operation["summary"].as_str().is_some_and(|says| says.ends_with('.')), "{path} {method}");
            assert!(operation["responses"].as_object().unwrap().contains_key("200"), "{path} {method}");
            assert_eq!(method == "post", operation.get("requestBody").is_some(), "{path} {method}");
        }
    }
    for (name, parameter) in described["components"]["parameters"].as_object().unwrap() {
        assert_eq!(parameter["name"], *name);
        assert_eq!(parameter["in"], "query");
        assert!(parameter["description"].is_string() && parameter["required"].is_boolean(), "{name}");
        assert!(jsonschema::meta::is_valid(&parameter["schema"]), "{name}");
    }
    for (name, response) in described["components"]["responses"].as_object().unwrap() {
        assert!(response["description"].is_string(), "{name}");
    }
    for (name, schema) in described["components"]["schemas"].as_object().unwrap() {
        let mut schema = schema.clone();
        schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
        assert!(jsonschema::meta::is_valid(&schema), "{name}");
    }
    walk(&described, &mut |value| {
        if let Some(Value::String(place)) = value.get("$ref") {
            let pointer = place.strip_prefix('#').unwrap_or_else(|| panic!("{place} leads elsewhere"));
            assert!(described.pointer(pointer).is_some(), "{place} leads nowhere");
        }
    });
    let used = described.to_string();
    for kind in ["schemas", "parameters", "responses"] {
        for name in described["components"][kind].as_object().unwrap().keys() {
            // A status of which a page never tells is told to programs alone.
            let is_used = used.contains(&format!("\"#/components/{kind}/{name}\"")) || name.starts_with("page-");
            assert!(is_used, "{kind}/{name} is described and never used");
        }
    }
}

#[test]
fn every_field_is_described_in_plain_words() {
    let described = App::demo().description();
    for (name, schema) in described["components"]["schemas"].as_object().unwrap() {
        walk(schema, &mut |value| {
            for (key, property) in value.get("properties").and_then(Value::as_object).into_iter().flatten() {
                let says = property["description"].as_str().unwrap_or_else(|| panic!("{name}.{key} says nothing"));
                assert!(!says.contains("[`") && !says.contains("None") && !says.contains("::"), "{name}.{key}: {says}");
            }
        });
    }
}

fn walk(value: &Value, visit: &mut impl FnMut(&Value)) {
    visit(value);
    match value {
        Value::Object(map) => map.values().for_each(|value| walk(value, visit)),
        Value::Array(list) => list.iter().for_each(|value| walk(value, visit)),
        _ => {}
    }
}

/// What the page for people links to and shows can be asked, and every address of the description is told there.
#[test]
fn the_page_for_people_tells_of_every_address_and_its_examples_work() {
    let app = App::demo();
    let described = Described::new(&app);
    let page = app.get("/api");
    assert_eq!((page.status, page.kind.as_str()), (StatusCode::OK, "text/html; charset=utf-8"));
    let mut links = BTreeSet::new();
    for link in page.text().split("href=\"").skip(1) {
        links.insert(link.split('"').next().unwrap().replace("&amp;", "&"));
    }
    for path in described.paths() {
        assert!(page.text().contains(&format!("<code>{path}</code>")), "{path}");
        let link = links.iter().find(|link| link.split('?').next() == Some(path)).unwrap_or_else(|| panic!("{path}"));
        let got = app.get(link);
        assert_eq!(got.status, StatusCode::OK, "{link}: {}", got.shown());
        described.check("get", path, &got);
    }
    for (path, body) in described.example_bodies() {
        let got = app.post(&path, body.to_string());
        assert_eq!(got.status, StatusCode::OK, "{path}: {}", got.shown());
        described.check("post", &path, &got);
    }
}

/// A body says the same as an address.
#[test]
fn an_address_and_a_body_are_answered_alike() {
    let app = App::demo();
    let query = "bike=heron&set.fork=tarn-140&off=front_rotor&adjust.rider.mass=90&adjust.stem_spacers=10+mm&units=imperial&rate=60\
                 &budget=500&keep=crank&new=yes&slot=bar";
    let body = json!({
        "bike": "heron", "set": { "fork": "tarn-140" }, "off": ["front_rotor"], "adjust": { "stem_spacers": "10 mm", "rider.mass": 90 },
        "units": "imperial", "rate": 60, "budget": 500.0, "keep": ["crank"], "new": true, "slot": "bar",
    });
    let mut own = body.clone();
    own.as_object_mut().unwrap().remove("bike");
    own["build"] = json!(heron());
    for path in ["/api/answer", "/api/fits", "/api/extras", "/api/text"] {
        let by_address = app.get(&format!("{path}?{query}"));
        assert_eq!(by_address.status, StatusCode::OK, "{}", by_address.shown());
        for body in [&body, &own] {
            let by_body = app.post(path, body.to_string());
            assert_eq!(by_body.status, StatusCode::OK, "{}", by_body.shown());
            assert_eq!(by_body.json(), by_address.json(), "{path}");
        }
    }
    let read = |path: &str| app.get(&format!("{path}?{query}")).bytes;
    let answer: Answer = serde_json::from_slice(&read("/api/answer")).unwrap();
    let extras: Extras = serde_json::from_slice(&read("/api/extras")).unwrap();
    assert_eq!(answer.extras, Some(extras));
    let fits: Fits = serde_json::from_slice(&read("/api/fits")).unwrap();
    assert_eq!(fits.slot, "bar");
}

/// The file is the bike as it is after the swap: it can be sent back, and nothing of it is lost.
#[test]
fn a_bike_given_as_a_file_reads_back_and_is_as_its_schema_says() {
    let app = App::demo();
    let schema = app.get("/api/build.schema.json");
    assert_eq!(schema.kind, "application/schema+json");
    let validator = jsonschema::validator_for(&schema.json()).unwrap();
    for (bike, swap) in
        [("heron", ""), ("heron", "&set.fork=tarn-140&adjust.stem_spacers=10+mm"), ("moorhen", ""), ("wheatear", "")]
    {
        let given = app.get(&format!("/api/build?bike={bike}{swap}")).json();
        assert!(validator.is_valid(&given["build"]), "{bike}{swap}");
        let again = app.post("/api/answer", json!({ "build": given["toml"] }).to_string()).json();
        let before = app.get(&format!("/api/answer?bike={bike}{swap}")).json();
        // The bike as it is shows fewer figures than a swap moves.
        let after = |answer: &Value| -> BTreeMap<String, f64> {
            let changes = answer["changes"].as_array().unwrap().iter();
            changes.map(|c| (format!("{}/{}", c["id"], c["pose"]), c["after"].as_f64().unwrap())).collect()
        };
        let (again, before) = (after(&again), after(&before));
        assert!(!again.is_empty() && again.iter().all(|figure| before.get(figure.0) == Some(figure.1)), "{bike}{swap}");
        let knowledge = knowledge::Knowledge::embedded().unwrap();
        let text = SourceFile::from_text("given", given["toml"].as_str().unwrap());
        assert!(bike::read::build_from(&text, &bike::Catalogue::default(), &knowledge).is_ok());
    }
}

#[test]
fn the_words_that_exist_are_those_that_are_understood() {
    let app = App::demo();
    let slots = app.get("/api/slots").json();
    assert!(slots["slots"].as_array().unwrap().len() > 30);
    for slot in slots["slots"].as_array().unwrap() {
        let parts = app.get(&format!("/api/parts?bike=heron&slot={}", slot["id"].as_str().unwrap()));
        assert_eq!(parts.status, StatusCode::OK, "{}", parts.shown());
    }
    let kinds = app.get("/api/kinds").json();
    let of = |wanted: &str| {
        let found = kinds["kinds"].as_array().unwrap().iter().find(|kind| kind["describes"] == wanted).unwrap();
        found["attributes"].as_array().unwrap().clone()
    };
    let mut adjust = serde_json::Map::new();
    for (describes, prefix) in [("setup", "setup."), ("rider", "rider."), ("chart", "chart.")] {
        for attribute in of(describes).iter().filter(|attribute| attribute["holds"] == "quantity") {
            adjust.insert(format!("{prefix}{}", attribute["id"].as_str().unwrap()), attribute["least"].clone());
        }
    }
    let got = app.post("/api/answer", json!({ "bike": "heron", "adjust": &adjust }).to_string());
    // The least of everything need be no bicycle that stands, but every name is known and every bound is one.
    let is_refused_as_a_whole = got.shown().contains("cannot be reconciled") || got.shown().contains("cannot stand");
    assert!(adjust.len() > 20 && (got.status == StatusCode::OK || is_refused_as_a_whole), "{}", got.shown());
}

#[test]
fn what_is_wrong_is_told_with_its_place_and_what_would_be_right() {
    let app = App::demo();
    let build = heron().replace("reach = \"", "reach = \"about ");
    let got = app.post("/api/answer", json!({ "build": build }).to_string());
    assert_eq!((got.status, got.kind.as_str()), (StatusCode::UNPROCESSABLE_ENTITY, "application/problem+json"));
    let told = got.json();
    assert_eq!(
        (told["status"].as_u64(), told["title"].as_str(), told["type"].as_str()),
        (Some(422), Some("Unprocessable Entity"), Some("about:blank"))
    );
    let wrong = &told["problems"][0];
    let line = build.lines().position(|line| line.starts_with("reach")).unwrap() + 1;
    assert_eq!(
        (wrong["file"].as_str(), wrong["line"].as_u64(), wrong["column"].as_u64()),
        (Some("your bike"), Some(line as u64), Some(10))
    );
    assert!(wrong["help"].as_array().unwrap().iter().any(|help| help.as_str().unwrap().contains("440 mm")), "{wrong}");
    assert!(wrong["shown"].as_str().unwrap().contains("^^^^^"), "{wrong}");
    let misspelt = app.post("/api/answer", json!({ "build": heron().replace("reach = ", "reech = ") }).to_string()).json();
    assert_eq!(misspelt["problems"][0]["label"], "did you mean `reach`?");
    assert_eq!(told["detail"], wrong["message"]);

    let several = app.get("/api/answer?bike=heron&set.fork=tarn-15&keep=wing&rate=NaN").json();
    assert_eq!(several["problems"].as_array().unwrap().len(), 3);
    assert!(several["detail"].as_str().unwrap().ends_with(", and 2 more problems"), "{several}");
}

#[test]
fn whatever_cannot_be_asked_is_refused_in_one_form() {
    let app = App::demo();
    let json = [(header::CONTENT_TYPE, "application/json")];
    let body = |body: &str| app.ask("POST", "/api/answer", &json, body.as_bytes().to_vec());
    let long = format!("{{\"build\": \"{}\"}}", "x".repeat(1 << 20));
    let too_long = format!("{{\"build\": \"{}\"}}", "x".repeat(300 << 10));
    let many: BTreeMap<String, String> = (0..30_000).map(|i| (format!("slot{i}"), "x".to_owned())).collect();
    let many = json!({ "bike": "heron", "set": many }).to_string();
    let deep = "[".repeat(100_000);
    let deep_toml = json!({ "build": format!("a = {}", "[".repeat(100_000)) }).to_string();
    for (got, status, told) in [
        (app.get("/api/answer?bike=hern"), 404, "did you mean `heron`?"),
        (app.get("/api/nothing"), 404, "nothing at this address"),
        (app.get("/api/"), 404, "nothing at this address"),
        (app.get("/api/answer/"), 404, "nothing at this address"),
        (app.get("/api/fits?bike=heron"), 422, "`slot` is not said"),
        (app.get("/api/answer"), 422, "no bike is named"),
        (app.ask("DELETE", "/api/answer", &[], Vec::new()), 405, "this method"),
        (app.ask("POST", "/api/bikes", &json, b"{}".to_vec()), 405, "this method"),
        (app.ask("POST", "/api/answer", &[], b"{}".to_vec()), 415, "does not say what it is"),
        (app.ask("POST", "/api/answer", &[(header::CONTENT_TYPE, "text/plain")], b"{}".to_vec()), 415, "`text/plain`"),
        (app.ask("POST", "/api/answer", &json, vec![b'"', 0xff, b'"']), 400, "not UTF-8 text from byte 1"),
        (body(""), 400, "EOF"),
        (body("{\"bike\": \"heron\","), 400, "1 | {\"bike\": \"heron\","),
        (body("{\"bike\": NaN}"), 400, "no JSON from here on"),
        (body("{\"bike\": \"heron\", \"rate\": 1e999}"), 400, "out of range"),
        (body(&deep), 400, "no JSON from here on"),
        (body("{\"set\": {\"fork\": [[[[[[]]]]]]}}"), 422, "invalid type: sequence, expected a string"),
        (body("[]"), 422, "the body is no object"),
        (body("[\"heron\"]"), 422, "the body is no object"),
        (body("\"heron\""), 422, "the body is no object"),
        (body("{}"), 422, "no bike is named"),
        (body("{\"bike\": \"heron\", \"sett\": {}}"), 422, "unknown field `sett`"),
        (body("{\"bike\": \"heron\", \"rate\": -1}"), 422, "`rate` cannot be `-1`"),
        (body("{\"bike\": \"heron\", \"adjust\": {\"rider.mass\": []}}"), 422, "expected a number, or a text"),
        (body("{\"bike\": \"heron\", \"build\": \"\"}"), 422, "both `bike` and `build`"),
        (body(&too_long), 413, "the build is longer than 256 KiB"),
        (body(&long), 413, "the body is longer than 768 KiB"),
        (body(&many), 422, "30000 words are said of one bike"),
        (body(&deep_toml), 422, "cannot recurse further"),
    ] {
        assert_eq!((got.status.as_u16(), got.kind.as_str()), (status, "application/problem+json"), "{told}: {}", got.shown());
        assert!(got.shown().contains(told), "{told}: {}", got.shown());
        assert_eq!(got.json()["status"], status);
    }
    let refused = app.ask("DELETE", "/api/answer", &[], Vec::new());
    assert_eq!(refused.allow.as_deref(), Some("GET,HEAD,POST"));
    // A person is told on a page.
    let page = app.ask("DELETE", "/bench", &[], Vec::new());
    assert_eq!((page.status.as_u16(), page.kind.as_str()), (405, "text/html; charset=utf-8"));
    assert!(page.text().contains("this method"));
}
