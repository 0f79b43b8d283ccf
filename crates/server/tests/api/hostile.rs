//! Requests made from the description: valid, nearly valid and hostile ones. Whatever is sent, what comes back is described, and the
//! program does not fail.

use std::cell::Cell;

use axum::http::{StatusCode, Uri, header};
use form_urlencoded::Serializer;
use proptest::{
    prelude::*,
    sample::{Index, select},
    test_runner::{Config, TestRunner},
};
use serde_json::{Value, json};

use crate::{
    asking::{App, Described},
    heron,
};

/// Words that have been trouble elsewhere.
const TROUBLE: &[&str] = &[
    "",
    " ",
    ".",
    "..",
    "../../../../etc/passwd",
    "..\\..\\x",
    "/",
    "//",
    "%",
    "%%",
    "%00",
    "%zz",
    "+",
    "&",
    "=",
    "a=b",
    "?",
    "#",
    "\0",
    "\u{1b}[31m",
    "\r\nSet-Cookie: a=b",
    "\n",
    "\t",
    "\u{feff}",
    "\u{202e}fork",
    "\u{200b}",
    "é",
    "e\u{301}",
    "ＦＯＲＫ",
    "𝔣",
    "💥",
    "null",
    "true",
    "[]",
    "{}",
    "NaN",
    "nan",
    "inf",
    "-inf",
    "Infinity",
    "1e999",
    "-1e999",
    "1e308",
    "-1e308",
    "1e-320",
    "0",
    "-0",
    "-1",
    "1",
    "007",
    "0x10",
    "9223372036854775808",
    "1_000",
    "1,5",
    "½",
    "١٢",
    "1e7",
    "10000000.1",
    "10 mm",
    "10mm",
    "10 kg",
    "10 ± 1 mm",
    "~10 mm",
    "10 ± nan mm",
    "10 ± 1e300 mm",
    "-10 mm",
    "1e300 mm",
    "0 mm",
    "1 in",
    "6 ft 1 in",
    "68° 30′",
    "20 %",
    "<script>alert(1)</script>",
    "\"",
    "'",
    "' OR 1=1 --",
    "${x}",
    "{{x}}",
    "%s%n",
    "a.b.c.d",
    "set.fork",
    "..fork",
    "fork.",
    "__proto__",
    "constructor",
];

/// What exists, for requests that mean something.
#[derive(Debug)]
struct Words {
    bikes: Vec<String>,
    slots: Vec<String>,
    /// A place with a part for it.
    parts: Vec<(String, String)>,
    /// A number that can be changed, with the least and the most it can be.
    numbers: Vec<(String, f64, f64)>,
}

impl Words {
    fn new(app: &App) -> Self {
        let of = |value: &Value, list: &str, key: &str| -> Vec<String> {
            value[list].as_array().unwrap().iter().filter_map(|entry| Some(entry[key].as_str()?.to_owned())).collect()
        };
        let bikes = of(&app.get("/api/bikes").json(), "bikes", "id");
        let slots = of(&app.get("/api/slots").json(), "slots", "id");
        let parts = slots.iter().flat_map(|slot| {
            let parts = app.get(&format!("/api/parts?bike=heron&slot={slot}")).json();
            of(&parts, "parts", "id").into_iter().map(|part| (slot.clone(), part))
        });
        let kinds = app.get("/api/kinds").json();
        let places = app.get("/api/slots").json();
        let mut numbers = Vec::new();
        for kind in kinds["kinds"].as_array().unwrap() {
            let of_kind = places["slots"].as_array().unwrap().iter().filter(|slot| slot["kind"] == kind["id"]);
            let homes: Vec<String> = match kind["describes"].as_str().unwrap() {
                "part" => of_kind.map(|slot| slot["id"].as_str().unwrap().to_owned()).collect(),
                table => vec![table.to_owned()],
            };
            for number in kind["attributes"].as_array().unwrap().iter().filter(|attribute| attribute["holds"] == "quantity") {
                let bound = |key: &str| number[key].as_f64().unwrap();
                let name = number["id"].as_str().unwrap();
                numbers.extend(homes.iter().map(|home| (format!("{home}.{name}"), bound("least"), bound("most"))));
            }
        }
        Self { parts: parts.collect(), bikes, slots, numbers }
    }

    /// A number to change to what it can be: the least, the most, something between.
    fn changed(&self) -> BoxedStrategy<(String, f64)> {
        let within = (select(self.numbers.clone()), 0.0..=1.0_f64, 0..4_u8).prop_map(|((name, least, most), share, how)| {
            let value = match how {
                0 => least,
                1 => most,
                _ => least + share * (most - least),
            };
            (name, value)
        });
        within.boxed()
    }

    /// Mostly the same.
    fn adjusted(&self) -> BoxedStrategy<(String, String)> {
        let within = self.changed().prop_map(|(name, value)| (name, value.to_string()));
        let names = select(self.numbers.clone()).prop_map(|number| number.0);
        prop_oneof![6 => within, 1 => (names.clone(), anything()), 1 => (names.prop_flat_map(near), anything())].boxed()
    }
}

/// A word with a letter too few, too many, or another.
fn near(word: String) -> impl Strategy<Value = String> {
    (any::<Index>(), any::<char>(), 0..3_u8).prop_map(move |(at, letter, how)| {
        let mut letters: Vec<char> = word.chars().collect();
        let at = at.index(letters.len() + 1);
        match how {
            0 if at < letters.len() => drop(letters.remove(at)),
            1 if at < letters.len() => letters[at] = letter,
            _ => letters.insert(at, letter),
        }
        letters.into_iter().collect()
    })
}

/// Anything at all.
fn anything() -> impl Strategy<Value = String> {
    prop_oneof![
        6 => select(TROUBLE).prop_map(str::to_owned),
        2 => any::<String>(),
        1 => "[a-z_.0-9 -]{0,20}",
        1 => (1..9000_usize).prop_map(|length| "x".repeat(length)),
        1 => any::<f64>().prop_map(|number| number.to_string()),
    ]
}

/// Mostly one of these words, sometimes nearly so, sometimes anything.
fn mostly(words: &[String]) -> BoxedStrategy<String> {
    let known = select(words.to_vec());
    prop_oneof![8 => known.clone(), 1 => known.prop_flat_map(near), 1 => anything()].boxed()
}

/// A value for a key, as its description has it.
fn value_of(name: &str, schema: &Value, words: &Words) -> BoxedStrategy<String> {
    let listed =
        |schema: &Value| schema["enum"].as_array().map(|list| list.iter().map(|it| it.as_str().unwrap().to_owned()).collect());
    let listed: Option<Vec<String>> = listed(schema).or_else(|| listed(&schema["items"]));
    match (listed, schema["type"].as_str().unwrap()) {
        (Some(listed), _) => mostly(&listed),
        (None, "number") => prop_oneof![3 => (0.0..2000.0).prop_map(|sum: f64| sum.to_string()), 1 => anything()].boxed(),
        _ if name == "bike" => mostly(&words.bikes),
        _ => anything().boxed(),
    }
}

/// A pair of an address, for one described parameter.
fn pair(parameter: &Value, words: &Words) -> BoxedStrategy<(String, String)> {
    let name = parameter["name"].as_str().unwrap().to_owned();
    match name.as_str() {
        "set" => {
            let fitting = select(words.parts.clone());
            let unfitting = (mostly(&words.slots), anything());
            prop_oneof![4 => fitting, 1 => unfitting].prop_map(|(slot, part)| (format!("set.{slot}"), part)).boxed()
        }
        "adjust" => words.adjusted().prop_map(|(name, value)| (format!("adjust.{name}"), value)).boxed(),
        // A packed bike has to be one; spoilt ones are sent as text below.
        "own" => anything().prop_map(|value| ("own".to_owned(), value)).boxed(),
        _ => value_of(&name, &parameter["schema"], words).prop_map(move |value| (name.clone(), value)).boxed(),
    }
}

/// The query of a request to an operation: what it needs, mostly, and some more.
fn query(operation: &Value, described: &Described, words: &Words) -> BoxedStrategy<String> {
    let parameters: Vec<Value> =
        operation["parameters"].as_array().into_iter().flatten().map(|p| described.at(p).clone()).collect();
    let garbage = "[a-z0-9=&%+./;,:@!$'()*~-]{0,60}";
    if parameters.is_empty() {
        return prop_oneof![Just(String::new()), garbage].boxed();
    }
    let of = |name: &str| parameters.iter().find(|p| p["name"] == name).map(|p| pair(p, words));
    let needed: Vec<_> = [of("bike"), of("slot")].into_iter().flatten().collect();
    // An own bike goes before a workshop's one; spoilt, it would leave nothing else to be tried.
    let more: Vec<_> = parameters.iter().map(|p| (if p["name"] == "own" { 1 } else { 8 }, pair(p, words))).collect();
    let more = prop::collection::vec(proptest::strategy::Union::new_weighted(more), 0..7);
    let good = (needed, more, any::<bool>()).prop_map(|(needed, more, twice)| {
        let mut query = Serializer::new(String::new());
        let again = more.first().cloned().filter(|_| twice);
        query.extend_pairs(needed.into_iter().chain(more).chain(again)).finish()
    });
    prop_oneof![9 => good, 1 => garbage].boxed()
}

/// A body in its text: mostly what the description has, spoilt in one place or another.
fn body(words: &Words) -> BoxedStrategy<Vec<u8>> {
    let slots = words.slots.clone();
    let set = prop::collection::vec(select(words.parts.clone()), 0..3);
    let adjust = prop::collection::vec(words.changed().prop_map(|(name, value)| (name, json!(value))), 0..3);
    let places = prop::collection::vec(select(words.slots.clone()), 0..2);
    let sound = (select(words.bikes.clone()), set, adjust, places.clone(), places, select(slots), 0.0..2000.0_f64).prop_map(
        |(bike, set, adjust, off, keep, slot, sum)| {
            let set: serde_json::Map<String, Value> = set.into_iter().map(|(slot, part)| (slot, json!(part))).collect();
            let adjust: serde_json::Map<String, Value> = adjust.into_iter().collect();
            json!({ "bike": bike, "set": set, "adjust": adjust, "off": off, "keep": keep, "slot": slot, "rate": sum, "budget": sum, "new": false })
        },
    );
    let odd = prop_oneof![
        Just(json!(null)),
        Just(json!([])),
        Just(json!({})),
        Just(json!(true)),
        Just(json!(1e308)),
        Just(json!(-1)),
        Just(json!({ "fork": { "fork": ["x"] } })),
        Just(json!([[["x"]], {}, null])),
        anything().prop_map(Value::from),
        mostly(&words.slots).prop_map(Value::from),
        mostly(&words.slots).prop_map(|word| json!([word])),
        (mostly(&words.slots), anything()).prop_map(|(slot, part)| json!({ slot: part })),
        words.adjusted().prop_map(|(name, value)| json!({ name: value })),
    ];
    let keys =
        select(vec!["bike", "build", "set", "adjust", "off", "keep", "slot", "units", "rate", "budget", "new", "sett", ""]);
    let spoilt = (sound.clone(), keys, odd.clone()).prop_map(|(mut sound, key, odd)| {
        sound[key] = odd;
        sound
    });
    let text = |value: Value| value.to_string().into_bytes();
    // What no JSON value is.
    let raw = (
        sound.clone(),
        any::<Index>(),
        select(vec!["NaN", "1e999", "-1e999", "\u{feff}", "\"", "{", "}", ",", "\0", "/*", "\\u12"]),
    )
        .prop_map(|(sound, at, bit)| {
            let mut text = sound.to_string();
            let at = text.floor_char_boundary(at.index(text.len()));
            text.insert_str(at, bit);
            text.into_bytes()
        });
    let cut = (sound.clone(), any::<Index>()).prop_map(|(sound, at)| {
        let mut text = sound.to_string().into_bytes();
        text.truncate(at.index(text.len()));
        text
    });
    let deep = (1..3000_usize, select(vec!["[", "{\"set\":", "{\"adjust\":{\"a\":["]))
        .prop_map(|(depth, bit)| bit.repeat(depth).into_bytes());
    prop_oneof![
        6 => sound.prop_map(text),
        6 => spoilt.prop_map(text),
        1 => odd.prop_map(text),
        2 => raw,
        1 => cut,
        1 => deep,
        1 => prop::collection::vec(any::<u8>(), 0..60),
    ]
    .boxed()
}

/// A build file spoilt: a number that cannot be, a line lost, something put in.
fn build() -> BoxedStrategy<String> {
    let numbers = vec![
        "nan",
        "inf",
        "-inf",
        "1e308",
        "-1e308",
        "1e-300",
        "0",
        "-1",
        "0.0001",
        "99999",
        "\"~0 mm\"",
        "\"1 ± 1000 mm\"",
        "\"0 deg\"",
        "\"179.999 deg\"",
        "\"90 deg\"",
        "\"1e300 mm\"",
        "true",
        "[]",
        "{}",
        "\"\"",
        "1979-05-27",
    ];
    let spoils = prop::collection::vec((any::<Index>(), select(numbers), 0..4_u8), 0..3);
    spoils
        .prop_map(|spoils| {
            let mut lines: Vec<String> = heron().lines().map(str::to_owned).collect();
            for (at, number, how) in spoils {
                let at = at.index(lines.len());
                match (how, lines[at].split_once(" = ")) {
                    (0, _) => drop(lines.remove(at)),
                    (1, _) => lines.insert(at, "a = ".to_owned() + &"[".repeat(2000)),
                    (_, Some((key, _))) => lines[at] = format!("{key} = {number}"),
                    (_, None) => number.clone_into(&mut lines[at]),
                }
            }
            lines.join("\n")
        })
        .boxed()
}

/// Sends what a strategy makes, so many times (`PROPTEST_CASES` for more than usual). What can be answered and what cannot both have to be
/// among it, or the strategy tests little.
fn run<T: std::fmt::Debug>(what: &str, cases: u32, strategy: &impl Strategy<Value = T>, test: impl Fn(T) -> Option<StatusCode>) {
    let usual = Config::with_cases(cases);
    let config =
        Config { cases: cases * Config::default().cases / 256, failure_persistence: None, max_shrink_iters: 200, ..usual };
    let (answered, refused) = (Cell::new(0_u32), Cell::new(0_u32));
    let outcome = TestRunner::new(config).run(strategy, |value| {
        let count = match test(value) {
            Some(status) if status.is_success() => &answered,
            _ => &refused,
        };
        count.set(count.get() + 1);
        Ok(())
    });
    if let Err(error) = outcome {
        panic!("{what}: {error}");
    }
    let (answered, refused) = (answered.get(), refused.get());
    if cases >= 100 {
        assert!(answered * 10 > cases && refused * 10 > cases, "{what}: {answered} answered, {refused} refused");
    }
}

#[test]
fn whatever_an_address_says_what_comes_back_is_described() {
    let app = App::demo();
    let described = Described::new(&app);
    let words = Words::new(&app);
    for (path, item) in described.description["paths"].as_object().unwrap() {
        let operation = &item["get"];
        // Pictures and sheets take longest, and share all before the drawing with the answer.
        let cases = match (path.starts_with("/api/"), operation["parameters"].is_array()) {
            (true, true) => 150,
            (false, _) => 20,
            (true, false) => 6,
        };
        run(path, cases, &query(operation, &described, &words), |query| {
            let address = format!("{path}?{query}");
            // What is no address cannot be sent in memory.
            address.parse::<Uri>().ok()?;
            let got = app.get(&address);
            described.check("get", path, &got);
            Some(got.status)
        });
    }
}

#[test]
fn whatever_a_body_says_what_comes_back_is_described() {
    let app = App::demo();
    let described = Described::new(&app);
    let words = Words::new(&app);
    let wrong = select(vec!["", "text/plain", "application/x-www-form-urlencoded", "json", "application/json,"]);
    let kinds = prop_oneof![16 => Just("application/json"), 1 => Just("Application/JSON; charset=utf-8"), 1 => wrong];
    for (path, _) in described.example_bodies() {
        run(&path, 300, &(body(&words), &kinds), |(body, kind)| {
            let got = app.ask("POST", &path, &[(header::CONTENT_TYPE, kind)], body);
            described.check("post", &path, &got);
            Some(got.status)
        });
    }
}

#[test]
fn whatever_bike_is_sent_it_stands_or_is_refused_in_words() {
    let app = App::demo();
    let described = Described::new(&app);
    let swap = prop_oneof![Just(json!({})), Just(json!({ "fork": "tarn-150" }))];
    run("build", 400, &(build(), swap), |(build, set)| {
        let got = app.post("/api/answer", json!({ "build": build, "set": set }).to_string());
        described.check("post", "/api/answer", &got);
        let is_told = || got.json()["problems"].as_array().is_some_and(|problems| !problems.is_empty());
        assert!(got.status == StatusCode::OK || is_told(), "{build}");
        Some(got.status)
    });
}

/// Other methods, and addresses that are only like those that exist.
#[test]
fn what_is_not_described_is_refused_in_the_same_form() {
    let app = App::demo();
    let described = Described::new(&app);
    let validator = described.validator("#/components/schemas/Problem");
    let paths: Vec<String> = described.paths().filter(|path| path.starts_with("/api/")).map(str::to_owned).collect();
    let endings = vec!["/", "/..", "//", "/../bikes", "%00", "%2e%2e", ".json", ";x", "/%2F", "\u{7f}", "x"];
    let methods = vec!["GET", "HEAD", "POST", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "BREW"];
    run(
        "paths",
        60,
        &(select(paths.clone()), prop_oneof![Just(""), select(endings)], select(methods)),
        |(path, ending, method)| {
            let address = format!("{path}{ending}");
            address.parse::<Uri>().ok()?;
            let got = app.ask(method, &address, &[], Vec::new());
            let is_described = ending.is_empty() && (method == "GET" || method == "HEAD" || method == "POST");
            if is_described && got.status != StatusCode::METHOD_NOT_ALLOWED {
                return Some(got.status);
            }
            let expected = if paths.contains(&address) { StatusCode::METHOD_NOT_ALLOWED } else { StatusCode::NOT_FOUND };
            assert_eq!((got.status, got.kind.as_str()), (expected, "application/problem+json"), "{method} {address}");
            assert!(method == "HEAD" || validator.is_valid(&got.json()), "{method} {address}: {}", got.shown());
            Some(got.status)
        },
    );
}
