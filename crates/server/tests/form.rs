//! The form asked in memory: bikes go through it unchanged, what is wrong is told beside its field, and nothing that is sent breaks it.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

use std::{collections::BTreeMap, path::PathBuf, sync::Arc};

use axum::{
    Router,
    body::{Body, to_bytes},
    http::{Request, Response, StatusCode, header},
};
use bike::{
    Build, Catalogue,
    read::{build_from, read_build},
};
use knowledge::{About, AttributeType, Knowledge};
use proptest::prelude::*;
use server::{Workshop, app};
use source_file::SourceFile;
use tower::ServiceExt as _;

const BIKES: [&str; 5] = ["heron", "bittern", "fieldfare", "moorhen", "wheatear"];

fn demo() -> Router {
    let workshop = Workshop::open(Knowledge::embedded().unwrap(), &[]).unwrap_or_else(|problems| panic!("{problems}"));
    app(Arc::new(workshop))
}

fn demo_file(name: &str) -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../../demo")).join(name).with_extension("toml")
}

struct Got {
    status: StatusCode,
    place: Option<String>,
    disposition: String,
    text: String,
}

async fn got(response: Response<Body>) -> Got {
    let of = |name| response.headers().get(name).map(|value| value.to_str().unwrap().to_owned());
    let (place, disposition, status) = (of(header::LOCATION), of(header::CONTENT_DISPOSITION), response.status());
    let bytes = to_bytes(response.into_body(), 32 << 20).await.unwrap().to_vec();
    Got { status, place, disposition: disposition.unwrap_or_default(), text: String::from_utf8(bytes).unwrap() }
}

async fn get(app: &Router, address: &str) -> Got {
    got(app.clone().oneshot(Request::get(address).body(Body::empty()).unwrap()).await.unwrap()).await
}

async fn post(app: &Router, address: &str, pairs: &[(String, String)]) -> Got {
    let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(pairs).finish();
    let request = Request::post(address).header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
    got(app.clone().oneshot(request.body(Body::from(body)).unwrap()).await.unwrap()).await
}

/// A part of a form with a file in it.
struct Part<'a> {
    name: &'a str,
    file: Option<&'a str>,
    bytes: &'a [u8],
}

fn file(name: &'static str, bytes: &'static [u8]) -> Part<'static> {
    Part { name: "file", file: Some(name), bytes }
}

async fn upload(app: &Router, address: &str, parts: &[Part<'_>]) -> Got {
    let mut body = Vec::new();
    for part in parts {
        let of_file = part.file.map(|file| format!("; filename=\"{file}\"")).unwrap_or_default();
        body.extend(format!("--x\r\nContent-Disposition: form-data; name=\"{}\"{of_file}\r\n\r\n", part.name).into_bytes());
        body.extend(part.bytes);
        body.extend(b"\r\n");
    }
    body.extend(b"--x--\r\n");
    raw(app, address, "multipart/form-data; boundary=x", body).await
}

async fn raw(app: &Router, address: &str, kind: &str, body: Vec<u8>) -> Got {
    let request = Request::post(address).header(header::CONTENT_TYPE, kind).body(Body::from(body)).unwrap();
    got(app.clone().oneshot(request).await.unwrap()).await
}

// What a browser would send of a page's form --------------------------------------------------------------------------------------

/// Attributes of a tag.
fn attributes(tag: &str) -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    let mut rest = tag.split_once(' ').map_or("", |tag| tag.1);
    while let Some(start) = rest.find(|letter: char| !letter.is_whitespace()) {
        rest = &rest[start..];
        let end = rest.find(|letter: char| letter == '=' || letter.is_whitespace()).unwrap_or(rest.len());
        let name = rest[..end].to_owned();
        rest = &rest[end..];
        let value = match rest.strip_prefix("=\"") {
            Some(quoted) => {
                let (value, after) = quoted.split_once('"').unwrap();
                rest = after;
                plain(value)
            }
            None => String::new(),
        };
        found.insert(name, value);
    }
    found
}

fn plain(text: &str) -> String {
    text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&#39;", "'").replace("&amp;", "&")
}

/// The fields of the form as they stand on the page, the buttons left out.
fn fields(page: &str) -> Vec<(String, String)> {
    let form = page.split_once("<form id=\"bike-form\"").unwrap().1.split_once("</form>").unwrap().0;
    let mut pairs = Vec::new();
    let mut choice: Option<(String, Option<String>)> = None;
    for (at, _) in form.match_indices('<') {
        let tag = &form[at + 1..];
        let (tag, after) = tag.split_once('>').unwrap();
        let is = attributes(tag);
        match tag.split(' ').next().unwrap() {
            "input" if is.get("type").is_none_or(|kind| kind != "file") => pairs.push((is["name"].clone(), is["value"].clone())),
            "textarea" => {
                let text = after.split_once("</textarea>").unwrap().0;
                pairs.push((is["name"].clone(), plain(text.strip_prefix('\n').unwrap_or(text))));
            }
            "select" => choice = Some((is["name"].clone(), None)),
            "option" => {
                if let Some((_, chosen)) = &mut choice
                    && (chosen.is_none() || is.contains_key("selected"))
                {
                    *chosen = Some(is["value"].clone());
                }
            }
            "/select" => {
                let (name, chosen) = choice.take().unwrap();
                pairs.push((name, chosen.unwrap_or_default()));
            }
            _ => {}
        }
    }
    pairs
}

fn with(pairs: &[(String, String)], changed: &[(&str, &str)]) -> Vec<(String, String)> {
    let mut pairs = pairs.to_vec();
    for (name, value) in changed {
        pairs.retain(|pair| pair.0 != *name);
        pairs.push(((*name).to_owned(), (*value).to_owned()));
    }
    pairs
}

/// What stands in an element by its id, tags and all.
fn element<'p>(page: &'p str, id: &str) -> &'p str {
    let from = page.split_once(&format!("id=\"{id}\"")).unwrap_or_else(|| panic!("no {id}")).1;
    from.split_once("</div>").unwrap().0
}

/// The bike that an address of a bench carries.
async fn carried(app: &Router, bench: &str, catalogue: &Catalogue, knowledge: &Knowledge) -> Build {
    let file = get(app, &bench.replace("/bench?", "/bike.toml?")).await;
    assert_eq!(file.status, StatusCode::OK);
    build_from(&SourceFile::from_text("carried.toml", file.text.as_str()), catalogue, knowledge)
        .unwrap_or_else(|problems| panic!("{problems}\n{}", file.text))
}

// Through the form and back ---------------------------------------------------------------------------------------------------------

#[tokio::test]
async fn every_bike_goes_through_the_form_unchanged() {
    let (app, knowledge) = (demo(), Knowledge::embedded().unwrap());
    for bike in BIKES {
        let (build, catalogue) = read_build(&demo_file(bike), &knowledge).unwrap();
        // As the workshop has it, then as one's own, then with every part written out.
        let mut address = format!("/bike?bike={bike}");
        for _ in 0..2 {
            let page = get(&app, &address).await;
            assert_eq!(page.status, StatusCode::OK, "{bike}");
            let sent = post(&app, "/bike", &fields(&page.text)).await;
            assert_eq!(sent.status, StatusCode::SEE_OTHER, "{bike}: {}", sent.text);
            let bench = sent.place.unwrap();
            assert_eq!(carried(&app, &bench, &catalogue, &knowledge).await, build, "{bike}");
            assert_eq!(get(&app, &bench).await.status, StatusCode::OK);
            address = bench.replace("/bench?", "/bike?");
        }
        let whole = get(&app, &format!("/bike.toml?bike={bike}")).await.text;
        let page = post(&app, "/bike", &[("text".to_owned(), whole)]).await;
        let sent = post(&app, "/bike", &fields(&page.text)).await;
        assert_eq!(sent.status, StatusCode::SEE_OTHER, "{bike}: {}", sent.text);
        assert_eq!(carried(&app, &sent.place.unwrap(), &Catalogue::new(), &knowledge).await, build, "{bike}");
    }
}

/// The numbers of a part may be written in every way there is, and whatever the form has no field for has to come out of it again.
#[tokio::test]
async fn every_way_of_writing_goes_through_the_form() {
    let (app, knowledge) = (demo(), Knowledge::embedded().unwrap());
    let (_, catalogue) = read_build(&demo_file("heron"), &knowledge).unwrap();
    let text = "name = \"Ways <b>of</b> \\\"writing\\\" #1\"\nnotes = [\"two\\nlines\", \"  blanks  \"]\ncatalogue = [\"parts\"]\n\
         [rider]\nmass = { value = \"13 st 4 lb\", from = \"guess\" }\nheight = 1780\n\
         [setup]\nfront_sag = \"~20 ± 5 %\"\nrear_sag = { value = 28, standard_deviation = \"2 %\" }\n\
         [frame]\npart = \"wheatear-m\"\nmaterial = \"steel \\\\ alloy\"\n\
         [frame.chart]\nwheelbase = { value = \"1141 mm\", from = \"measured\", plus_minus = 0.5 }\nreach = 440.0\n\
         drawn_with = { axle_to_crown = { value = \"524 mm\", expanded = \"1 mm\", from = \"computed\" }, fork_offset = 44 }\n\
         [slots]\nfork = { part = \"tarn-130\", offset = { value = \"44 mm\", from = \"common practice\" }, price = 199.5 }\nBARE = {}\n\
         cassette = { kind = \"cassette\", speeds = 12, sprockets = [10, 12, 14, 51], condition = \"used\", age = \"3 years\" }\n\
         [slots.front_tyre]\nname = \"Marked\"\nsize = \"~57-622\"\n\
         [slots.front_wheel]\nrim = \"622x30TC\"\nhookless = true\nend_caps_for = [\"AXLE\"]\nmass = \"~2 lb\"\nmaker = \"Nobody & Sons\"\n";
    // Names are data: take those that there are.
    let axle = &knowledge.family_of(knowledge.family("axle").unwrap()).members[0].id;
    let asks_nothing = |kind| knowledge.attributes_of(kind).all(|(_, attribute)| !attribute.required);
    let bare = knowledge.slots.iter().find(|slot| slot.id != "frame" && asks_nothing(slot.kind)).unwrap();
    let text = text.replace("AXLE", axle).replace("BARE", &bare.id);
    let file = SourceFile::from_text("a.toml", text.as_str());
    let build = build_from(&file, &catalogue, &knowledge).unwrap_or_else(|problems| panic!("{problems}"));
    let page = post(&app, "/bike", &[("text".to_owned(), text)]).await;
    let sent = post(&app, "/bike", &fields(&page.text)).await;
    assert_eq!(sent.status, StatusCode::SEE_OTHER, "{}", sent.text);
    assert_eq!(carried(&app, &sent.place.unwrap(), &catalogue, &knowledge).await, build);
}

/// A value of an attribute as a file may have it.
fn written(knowledge: &Knowledge, what: AttributeType) -> BoxedStrategy<String> {
    match what {
        AttributeType::Quantity { dimension, least, most } => {
            let unit = dimension.base_symbol();
            let middle = least.midpoint(most);
            let value = (least.midpoint(middle)..middle.midpoint(most)).prop_map(|value| (value * 10.0).round() / 10.0);
            (value, 0..6_usize)
                .prop_map(move |(value, way)| match way {
                    0 => format!("{value}"),
                    1 => format!("\"{value} {unit}\""),
                    2 => format!("\"~{value}\""),
                    3 => format!("\"{value} ± 1 {unit}\""),
                    4 => format!("{{ value = \"{value} {unit}\", from = \"measured\" }}"),
                    _ => format!("{{ value = {value}, from = \"standard\", expanded = 0.25 }}"),
                })
                .boxed()
        }
        AttributeType::Count { least, most } => (least..=most).prop_map(|count| count.to_string()).boxed(),
        AttributeType::Word => {
            prop::sample::select(vec!["\"a word\"", "\"<b>&amp;\\\"\"", "'C:\\new'"]).prop_map(str::to_owned).boxed()
        }
        AttributeType::Flag => any::<bool>().prop_map(|flag| flag.to_string()).boxed(),
        AttributeType::Numbers { least, most } => {
            prop::collection::vec(least..most, 1..6).prop_map(|numbers| format!("{numbers:?}")).boxed()
        }
        AttributeType::Standard { family } | AttributeType::Standards { family } => {
            // Of some families, designations are read and no members are listed.
            let read = ["57-622", "622x25TC", "ZS44/28.6"].into_iter().filter_map(|code| knowledge.standard(family, code).ok());
            let members = knowledge.family_of(family).members.iter().cloned().chain(read);
            let ids: Vec<String> = members.map(|member| member.id.clone()).collect();
            let is_list = matches!(what, AttributeType::Standards { .. });
            let guess = any::<bool>();
            (prop::sample::select(ids), guess)
                .prop_map(move |(id, guess)| match (is_list, guess) {
                    (true, _) => format!("[\"{id}\"]"),
                    (false, true) => format!("\"~{id}\""),
                    (false, false) => format!("\"{id}\""),
                })
                .boxed()
        }
    }
}

/// Parts written out, with any of their attributes, in some places.
fn parts(knowledge: &Knowledge) -> impl Strategy<Value = String> + use<> {
    let slots: Vec<_> = knowledge
        .slots()
        .filter(|(_, slot)| slot.id != "frame")
        .map(|(_, slot)| {
            let each: Vec<_> = knowledge
                .attributes_of(slot.kind)
                .map(|(_, attribute)| {
                    let line = written(knowledge, attribute.what).prop_map({
                        let key = attribute.id.clone();
                        move |value| format!("{key} = {value}\n")
                    });
                    if attribute.required { line.boxed() } else { prop_oneof![line, Just(String::new())].boxed() }
                })
                .collect();
            let heading = format!("[slots.{}]\nname = \"{} of one's own\"\n", slot.id, slot.name);
            let part = each.prop_map(move |lines| format!("{heading}{}", lines.concat()));
            prop::option::weighted(0.25, part)
        })
        .collect();
    slots.prop_map(|slots| slots.into_iter().flatten().collect())
}

/// Whatever parts there are, each of their values comes out of the form as it went in: the same bike, or, where no such bike can
/// stand, the same form.
#[test]
fn any_part_goes_through_the_form_unchanged() {
    let knowledge = Knowledge::embedded().unwrap();
    let (_, catalogue) = read_build(&demo_file("heron"), &knowledge).unwrap();
    let app = demo();
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    let base = "name = \"x\"\n[frame]\npart = \"wheatear-m\"\n";
    let fork = "[slots.fork]\npart = \"tarn-130\"\n";
    let config = ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(40) };
    let stood = std::cell::Cell::new(0);
    proptest!(config, |(parts in parts(&knowledge))| {
        let fork = if parts.contains("[slots.fork]") { "" } else { fork };
        let text = format!("{base}{fork}{parts}");
        let file = SourceFile::from_text("a.toml", text.as_str());
        let build = build_from(&file, &catalogue, &knowledge).unwrap_or_else(|problems| panic!("{problems}"));
        runtime.block_on(async {
            let page = post(&app, "/bike", &[("text".to_owned(), text.clone())]).await;
            assert_eq!(page.status, StatusCode::OK);
            let sent = post(&app, "/bike", &fields(&page.text)).await;
            if sent.status == StatusCode::SEE_OTHER {
                assert_eq!(carried(&app, &sent.place.unwrap(), &catalogue, &knowledge).await, build, "{text}");
                stood.set(stood.get() + 1);
            } else {
                assert_eq!(sent.status, StatusCode::UNPROCESSABLE_ENTITY);
                assert_eq!(fields(&sent.text), fields(&page.text), "{text}");
            }
        });
    });
    assert!(stood.get() > 0, "no bike of them all could stand");
}

#[tokio::test]
async fn a_new_bike_is_put_on_the_stand_with_a_chart_and_a_fork() {
    let app = demo();
    let empty = get(&app, "/bike").await;
    assert!(empty.text.contains("Begin with the fork"));
    let none = post(&app, "/bike", &fields(&empty.text)).await;
    assert_eq!(none.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(element(&none.text, "name-wrong").contains("is empty"), "{}", none.text);
    // A place is opened, and what is typed stays.
    let opened = post(&app, "/bike", &with(&fields(&empty.text), &[("name", "Mine"), ("open", "fork")])).await;
    assert_eq!(opened.status, StatusCode::OK);
    let pairs = fields(&opened.text);
    assert!(pairs.contains(&("name".to_owned(), "Mine".to_owned())));
    assert!(pairs.contains(&("slots.fork.part".to_owned(), "(own)".to_owned())));
    let chart = [("stack", "610"), ("reach", "440 mm"), ("head_angle", "69 deg"), ("rear_centre", "43.7 cm"), ("bb_drop", "40")];
    let mut typed: Vec<(String, String)> = chart.map(|(key, value)| (format!("frame.chart.{key}"), value.to_owned())).to_vec();
    typed.push(("frame.chart.drawn_with.axle_to_crown".to_owned(), "524 ± 2 mm".to_owned()));
    typed.push(("slots.fork.axle_to_crown".to_owned(), "524 mm".to_owned()));
    typed.push(("slots.fork.travel".to_owned(), "130".to_owned()));
    let typed: Vec<(&str, &str)> = typed.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    let pairs = with(&pairs, &typed);
    let lacking = post(&app, "/bike", &pairs).await;
    assert_eq!(lacking.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(element(&lacking.text, "slots-fork-offset-wrong").contains("Without it"), "{}", lacking.text);
    assert!(lacking.text.contains("href=\"#slots-fork-offset\""));
    let stands = post(&app, "/bike", &with(&pairs, &[("slots.fork.offset", "44")])).await;
    assert_eq!(stands.status, StatusCode::SEE_OTHER, "{}", stands.text);
    assert!(get(&app, &stands.place.unwrap()).await.text.contains("Mine"));
}

#[tokio::test]
async fn what_is_on_trial_stays_on_trial_while_the_bike_is_edited() {
    let app = demo();
    let page = get(&app, "/bike?bike=heron&set.fork=tarn-150&units=imperial").await;
    assert!(page.text.contains("in; with a"), "bounds in inches");
    let sent = post(&app, "/bike", &fields(&page.text)).await;
    let bench = sent.place.unwrap();
    assert!(bench.ends_with("&set.fork=tarn-150&units=imperial"), "{bench}");
    // A swap that is no longer possible goes, so that the bench can be shown.
    let page = get(&app, "/bike?bike=heron&adjust.stem.length=60+mm").await;
    let sent = post(&app, "/bike", &with(&fields(&page.text), &[("slots.stem.part", "")])).await;
    let bench = sent.place.unwrap();
    assert!(!bench.contains("adjust"), "{bench}");
    assert_eq!(get(&app, &bench).await.status, StatusCode::OK);
}

#[tokio::test]
async fn a_part_may_be_called_by_its_name_and_is_taken_off_by_choosing_nothing() {
    let (app, knowledge) = (demo(), Knowledge::embedded().unwrap());
    let (_, catalogue) = read_build(&demo_file("heron"), &knowledge).unwrap();
    let pairs = fields(&get(&app, "/bike?bike=heron").await.text);
    let sent = post(&app, "/bike", &with(&pairs, &[("slots.fork.part", "tarn 150"), ("slots.chain.part", "")])).await;
    let build = carried(&app, &sent.place.unwrap(), &catalogue, &knowledge).await;
    let part = |slot: &str| build.part(knowledge.slot(slot).unwrap()).map(|part| part.id.clone().unwrap());
    assert_eq!((part("fork").as_deref(), part("chain")), (Some("tarn-150"), None));
}

// What is wrong ---------------------------------------------------------------------------------------------------------------------

#[tokio::test]
async fn whatever_is_wrong_is_told_beside_its_field_and_stays_as_typed() {
    let app = demo();
    let pairs = fields(&get(&app, "/bike?bike=heron").await.text);
    for (name, typed, told) in [
        ("name", "  ", "is empty"),
        ("name", &"x".repeat(500), "500 bytes"),
        ("notes", &"y".repeat(5000), "5000 bytes"),
        ("rider.mass", "8400", "more than 200 kg"),
        ("rider.mass", "84 mm", "given as a length"),
        ("rider.mass", "heavy", "Write it like"),
        ("rider.mass:from", "hearsay", "hearsay"),
        ("setup.front_sag", "20 ± ± %", "Cannot read"),
        ("frame.chart.reach", "44o mm", "unknown unit"),
        ("frame.chart.head_angle", "69 mm", "given as a length"),
        ("frame.chart.drawn_with.fork_offset", "440 mm", "more than 120 mm"),
        ("frame.part", "heron", "Of this kind in the catalogue"),
        ("slots.fork.part", "tarn-15", "did you mean <code>tarn-150</code>?"),
        ("slots.fork.part", "oxbow-32", "is of the kind chainring"),
        ("slots.fork.offset", "four", "Write it like"),
        ("slots.fork.axle", "110x16", "There is no"),
        ("slots.fork.price", "cheap", "price"),
        ("slots.fork.age", "3 kg", "given as a mass"),
        ("slots.fork.mass", "-1", "less than"),
        ("slots.fork.condition", "tired", "condition"),
        ("slots.fork.id", "two words", "is no id"),
    ] {
        let sent = post(&app, "/bike", &with(&pairs, &[(name, typed), ("slots.fork:open", "yes")])).await;
        assert_eq!(sent.status, StatusCode::UNPROCESSABLE_ENTITY, "{name} = {typed}");
        // What stands beside the value belongs to the same field.
        let field = name.split(':').next().unwrap();
        let id = field.replace('.', "-");
        let wrong = element(&sent.text, &format!("{id}-wrong"));
        assert!(wrong.contains(told), "{name} = {typed}: {wrong}");
        assert!(sent.text.contains(&format!("href=\"#{id}\"")), "{name}: no link in the summary");
        assert!(sent.text.contains("aria-invalid=\"true\""), "{name}");
        let described = sent.text.split(&format!("id=\"{id}\"")).nth(1).unwrap().split('>').next().unwrap();
        assert!(described.contains(&format!("{id}-wrong")), "{name}: {described}");
        let back = fields(&sent.text);
        assert!(back.contains(&(name.to_owned(), typed.to_owned())), "{name} = {typed} is lost");
    }
    let written_out = with(&pairs, &[("slots.cassette.part", "(own)"), ("slots.cassette.speeds", "12")]);
    for (name, typed, told) in [
        ("slots.cassette.speeds", "twelve", "whole number"),
        ("slots.cassette.speeds", "12.5", "whole number"),
        ("slots.cassette.speeds", "1e999", "speeds"),
        ("slots.cassette.sprockets", "10 12 x", "number"),
        ("slots.cassette.sprockets", "10 12 900", "more than 60"),
        ("slots.cassette.sprockets", ", ;", "empty list"),
        ("slots.cassette.sprockets", "", "Without it"),
    ] {
        let sent = post(&app, "/bike", &with(&written_out, &[("slots.cassette.sprockets", "10 51"), (name, typed)])).await;
        assert_eq!(sent.status, StatusCode::UNPROCESSABLE_ENTITY, "{name} = {typed}");
        let wrong = element(&sent.text, &format!("{}-wrong", name.replace('.', "-")));
        assert!(wrong.contains(told), "{name} = {typed}: {wrong}");
    }
}

#[tokio::test]
async fn what_the_form_has_no_field_for_is_shown_as_the_file_has_it() {
    let app = demo();
    let text = "name = \"x\"\nnmae = \"y\"\n[rider]\nmood = { value = 1, why = [\"<i>\", true] }\n[frame]\npart = \"wheatear-m\"\n\
                [frame.chart]\nreech = 440\nstack = [1]\n[slots]\nfork = { part = \"tarn-130\", colour = \"red\" }\nwing = \"a.b\"\n";
    let page = post(&app, "/bike", &[("text".to_owned(), text.to_owned())]).await;
    assert_eq!(page.status, StatusCode::OK);
    let pairs = fields(&page.text);
    for (name, value) in [
        ("nmae:toml", "\"y\""),
        ("rider.mood:toml", "{ value = 1, why = [\"<i>\", true] }"),
        ("frame.chart.reech:toml", "440"),
        ("frame.chart.stack:toml", "[1]"),
        ("slots.fork.colour:toml", "\"red\""),
        ("slots.wing:toml", "\"a.b\""),
    ] {
        assert!(pairs.contains(&(name.to_owned(), value.to_owned())), "{name}: {pairs:?}");
        let id = name.trim_end_matches(":toml").replace('.', "-");
        assert!(!element(&page.text, &format!("{id}-wrong")).is_empty());
    }
    assert!(element(&page.text, "frame-chart-reech-wrong").contains("did you mean <code>reach</code>?"));
    // Left out, they are gone; the rest stands.
    let cleared: Vec<_> = pairs.iter().filter(|pair| !pair.0.ends_with(":toml")).cloned().collect();
    let sent = post(&app, "/bike", &cleared).await;
    assert_eq!(sent.status, StatusCode::SEE_OTHER, "{}", sent.text);
    // What is typed there and is no value is told, too.
    let sent = post(&app, "/bike", &with(&pairs, &[("rider.mood:toml", "{ broken")])).await;
    assert!(!element(&sent.text, "rider-mood-wrong").is_empty());
}

#[tokio::test]
async fn a_wrong_number_of_the_chart_lights_up_while_it_is_typed() {
    let app = demo();
    let pairs = fields(&get(&app, "/bike?bike=heron").await.text);
    let read = async |changed: &[(&str, &str)]| {
        let got = post(&app, "/bike/chart", &with(&pairs, changed)).await;
        assert_eq!(got.status, StatusCode::OK);
        got.text
    };
    let of = |text: &str, id: &str| {
        let from = text.split_once(&format!("id=\"{id}\"")).unwrap();
        format!("{}{}", from.0.rsplit('<').next().unwrap(), from.1.split("</p>").next().unwrap())
    };
    let sound = read(&[]).await;
    assert!(sound.contains("The chart agrees with itself"), "{sound}");
    assert!(sound.contains("checked by the others"));
    assert!(of(&sound, "frame-chart-reach-reading").contains("agrees"));
    assert!(of(&sound, "frame-chart-bb_height-reading").contains("comes out as"));
    let slip = read(&[("frame.chart.reach", "461 mm"), ("frame.chart.front_centre", "707 mm")]).await;
    assert!(slip.contains("contradicts itself"));
    let reach = of(&slip, "frame-chart-reach-reading");
    assert!(reach.contains("reading off") && reach.contains("too large") && reach.contains("Set aside"), "{reach}");
    let doubt = read(&[("frame.chart.wheelbase", "1161 mm")]).await;
    assert!(of(&doubt, "frame-chart-wheelbase-reading").contains("May be wrong"));
    // A number that cannot be read, and parts that are not finished, do not keep the others from being read.
    let unread = read(&[("frame.chart.reach", "44o"), ("slots.fork.part", "nothing"), ("rider.mass", "x"), ("name", "")]).await;
    assert!(of(&unread, "frame-chart-reach-reading").contains("Cannot be read"));
    assert!(of(&unread, "frame-chart-stack-reading").contains("taken as"));
    let few: Vec<(&str, &str)> = ["head_angle", "rear_centre", "bb_drop", "wheelbase"].map(|key| (key, "")).to_vec();
    let few: Vec<(String, &str)> = few.iter().map(|(key, value)| (format!("frame.chart.{key}"), *value)).collect();
    let mut few: Vec<(&str, &str)> = few.iter().map(|(key, value)| (key.as_str(), *value)).collect();
    few.push(("frame.part", "(own)"));
    let open = read(&few).await;
    assert!(open.contains("not determined yet") && open.contains("href=\"#frame-chart-rear_centre\""), "{open}");
    let nothing = post(&app, "/bike/chart", &[]).await;
    assert!(nothing.text.contains("Type what the maker"));
    // Without a script, a button shows the same.
    let page = post(&app, "/bike", &with(&pairs, &[("frame.chart.reach", "461 mm"), ("do", "check")])).await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(page.text.contains("contradicts itself"));
}

// Files -----------------------------------------------------------------------------------------------------------------------------

#[tokio::test]
async fn a_file_is_opened_and_given_back_as_it_was() {
    let app = demo();
    let text = std::fs::read_to_string(demo_file("wheatear")).unwrap().replace('\n', "\r\n");
    for address in ["/stand", "/bike"] {
        let action = Part { name: "do", file: None, bytes: b"file" };
        let mut parts = vec![Part { name: "file", file: Some("wheatear.toml"), bytes: text.as_bytes() }];
        if address == "/bike" {
            parts.push(action);
        }
        let sent = upload(&app, address, &parts).await;
        assert_eq!(sent.status, StatusCode::SEE_OTHER, "{}", sent.text);
        let bench = sent.place.unwrap();
        let page = get(&app, &bench).await;
        assert!(page.text.contains("edit this bike") && page.text.contains("its file"));
        let back = get(&app, &bench.replace("/bench?", "/bike.toml?")).await;
        assert_eq!(back.text, text);
        assert_eq!(back.disposition, "attachment; filename=\"wheatear-trail-bike-size-m.toml\"");
    }
    assert_eq!(get(&app, "/bike.toml").await.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(get(&app, "/bike.toml?bike=hern").await.status, StatusCode::NOT_FOUND);
    assert_eq!(get(&app, "/bike.toml?own=%25").await.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn a_file_that_cannot_be_opened_is_refused_beside_its_field() {
    let app = demo();
    let utf16: &[u8] = b"\xFF\xFEn\0a\0m\0e\0";
    let huge = vec![b'#'; 300 * 1024];
    // Xorshift (Marsaglia 2003): nothing that could be packed tighter than its 64 letters.
    let noise = std::iter::successors(Some(1_u32), |x| {
        let x = x ^ (x << 13);
        let x = x ^ (x >> 17);
        Some(x ^ (x << 5))
    });
    let noise: Vec<u8> = noise.take(200_000).map(|x| b'!' + u8::try_from(x >> 26).unwrap()).collect();
    let noise = [&std::fs::read(demo_file("heron")).unwrap(), b"# ".as_slice(), &noise].concat();
    for (name, bytes, status, told) in [
        ("a.toml", utf16, 422, "looks like UTF-16"),
        ("a.toml", b"n\0a\0m\0e\0", 422, "does not look like a text"),
        ("a.toml", b"name = \"V\xE9lo\"\n", 422, "Latin-1"),
        ("a.toml", b" \r\n", 422, "is empty"),
        ("a.toml", b"", 422, "is empty"),
        ("a.toml", b"name = \"x\"\n[frame.chart]\nreech = 1\n", 422, "a.toml:3:1"),
        ("a.toml", b"name = x\n", 422, "not in quotes"),
        ("..\\..\\<img src=x>.toml", b"name = x\n", 422, "&lt;img src=x&gt;.toml"),
        ("", b"name = x\n", 422, "not in quotes"),
        ("a.toml", &huge, 413, "has 300 KiB"),
        ("a.toml", &noise, 422, "of an address"),
    ] {
        let form = Part { name: "name", file: None, bytes: "Täglich".as_bytes() };
        let action = Part { name: "do", file: None, bytes: b"file" };
        for (address, more) in [("/stand", vec![]), ("/bike", vec![form, action])] {
            let mut parts = vec![Part { name: "file", file: Some(name), bytes }];
            let typed = !more.is_empty();
            parts.extend(more);
            let sent = upload(&app, address, &parts).await;
            assert_eq!(sent.status.as_u16(), status, "{address} {told}: {}", sent.text);
            let wrong =
                sent.text.split_once("id=\"file-wrong\"").unwrap_or_else(|| panic!("{told}")).1.split_once("</pre>").unwrap().0;
            assert!(wrong.contains(told), "{address} {told}: {wrong}");
            assert!(!sent.text.contains("<img"));
            if typed {
                assert!(fields(&sent.text).contains(&("name".to_owned(), "Täglich".to_owned())));
            }
        }
    }
    // A byte order mark is no mistake.
    let marked = [b"\xEF\xBB\xBF".as_slice(), &std::fs::read(demo_file("heron")).unwrap()].concat();
    let sent = upload(&app, "/stand", &[Part { name: "file", file: Some("a.toml"), bytes: &marked }]).await;
    assert_eq!(sent.status, StatusCode::SEE_OTHER);
    // What can be read as a file, but is no bike, can be put right in the form.
    let sent = upload(&app, "/stand", &[file("a.toml", b"name = \"x\"\n[frame.chart]\nreech = 1\n")]).await;
    assert!(sent.text.contains("formaction=\"/bike\""));
}

#[tokio::test]
async fn a_form_that_is_none_is_refused_with_words() {
    let app = demo();
    let text = Part { name: "text", file: None, bytes: b"name = 1" };
    let two = [file("a.toml", b"a = 1"), file("b.toml", b"a = 1")];
    let unknown = [Part { name: "wing", file: None, bytes: b"" }];
    let elsewhere = [Part { name: "wing", file: Some("a.toml"), bytes: b"a" }];
    let both = [text, file("b.toml", b"a = 1")];
    for (parts, told) in [
        (&two[..], "two files"),
        (&unknown[..], "no field called"),
        (&elsewhere[..], "no field for a file called"),
        (&both[..], "a file and a text"),
        (&[file("", b"")][..], "there is no bike in it"),
        (&[][..], "there is no bike in it"),
    ] {
        let sent = upload(&app, "/stand", parts).await;
        assert_eq!(sent.status, StatusCode::UNPROCESSABLE_ENTITY, "{told}: {}", sent.text);
        assert!(sent.text.contains(told), "{told}: {}", sent.text);
    }
    for (address, kind, body, status, told) in [
        ("/stand", "multipart/form-data", "x", 400, "boundary"),
        ("/bike", "multipart/form-data; boundary=x", "nothing of the kind", 400, "pieces that do not fit"),
        ("/bike", "multipart/form-data; boundary=x", "--x\r\nContent-Disposition: form-data\r\n\r\n1\r\n--x--", 400, "no name"),
        (
            "/stand",
            "multipart/form-data; boundary=x",
            "--x\r\nContent-Disposition: form-data; name=\"text\"\r\n\r\n1",
            400,
            "pieces",
        ),
        ("/bike/chart", "text/plain", "x", 415, "is no form"),
        ("/stand", "application/json", "{}", 415, "is no form"),
        ("/bike", "", "", 415, "is no form"),
    ] {
        let sent = raw(&app, address, kind, body.as_bytes().to_vec()).await;
        assert_eq!(sent.status.as_u16(), status, "{kind} {body}");
        assert!(sent.text.contains(told), "{kind} {body}: {}", sent.text);
    }
    let garbled = upload(&app, "/bike", &[Part { name: "name", file: None, bytes: b"\xFF" }]).await;
    assert_eq!(garbled.status, StatusCode::BAD_REQUEST);
    // A file beside a form that is put on the stand: one of them would be lost.
    let parts = [Part { name: "name", file: None, bytes: b"Kept" }, file("a.toml", b"a = 1")];
    let sent = upload(&app, "/bike", &parts).await;
    assert_eq!(sent.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(fields(&sent.text).contains(&("name".to_owned(), "Kept".to_owned())));
}

// Nothing breaks it -----------------------------------------------------------------------------------------------------------------

/// Whatever is typed into a field, it is shown as text.
#[tokio::test]
async fn nothing_that_is_typed_becomes_markup() {
    let app = demo();
    let evil = "\"><img src=x onerror=alert(1)></textarea><script>alert(1)</script>`<img>`";
    let opened = post(&app, "/bike", &with(&fields(&get(&app, "/bike?bike=heron").await.text), &[("open", "fork")])).await;
    let pairs = fields(&opened.text);
    let mut all: Vec<(String, String)> = pairs.iter().map(|pair| (pair.0.clone(), evil.to_owned())).collect();
    all.retain(|pair| !["bike", "bench"].contains(&pair.0.as_str()));
    all.push((format!("rider.{evil}:toml"), evil.to_owned()));
    all.push(("slots.fork.x:toml".to_owned(), "\"<img src=x>\"".to_owned()));
    for (address, action) in [("/bike", "stand"), ("/bike", "check"), ("/bike", evil), ("/bike/chart", "")] {
        let sent = post(&app, address, &with(&all, &[("do", action)])).await;
        assert!(sent.status.as_u16() < 500);
        for banned in ["<img", "<script>", "alert(1)></textarea>"] {
            assert!(!sent.text.contains(banned), "{address} {action}: {banned}");
        }
    }
    let named = with(&pairs, &[("name", evil), ("slots.fork.name", evil), ("notes", evil)]);
    let sent = post(&app, "/bike", &named).await;
    let bench = sent.place.unwrap_or_else(|| panic!("{}", sent.text));
    for page in ["/bench?", "/bike?"] {
        let page = get(&app, &bench.replace("/bench?", page)).await;
        assert_eq!(page.status, StatusCode::OK);
        assert!(!page.text.contains("<img") && !page.text.contains("<script>"));
    }
    let file = get(&app, &bench.replace("/bench?", "/bike.toml?")).await;
    assert_eq!(file.disposition, "attachment; filename=\"img-src-x-onerror-alert-1-textarea-script-alert-1-script-img.toml\"");
}

#[tokio::test]
async fn every_page_of_the_form_keeps_to_the_policy_and_every_field_has_a_name() {
    let app = demo();
    let mut pages = vec![get(&app, "/bike").await.text, get(&app, "/").await.text];
    let heron = get(&app, "/bike?bike=heron").await.text;
    let mut pairs = fields(&heron);
    for slot in &Knowledge::embedded().unwrap().slots {
        let name = if slot.id == "frame" { "frame".to_owned() } else { format!("slots.{}", slot.id) };
        if !pairs.iter().any(|pair| pair.0 == format!("{name}.part") && !pair.1.is_empty()) {
            pairs = with(&pairs, &[(&format!("{name}.part"), "(own)")]);
        }
        pairs.push((format!("{name}:open"), "yes".to_owned()));
    }
    pages.push(post(&app, "/bike", &with(&pairs, &[("do", "check")])).await.text);
    pages.push(post(&app, "/bike", &pairs).await.text);
    pages.push(heron);
    for page in pages {
        for banned in [" style=\"", "<style", " onclick", "javascript:"] {
            assert!(!page.contains(banned), "{banned}");
        }
        assert_eq!(page.matches("<script").count(), 1);
        let ids: Vec<&str> = page.split(" id=\"").skip(1).map(|rest| rest.split('"').next().unwrap()).collect();
        let once: std::collections::BTreeSet<&&str> = ids.iter().collect();
        assert_eq!(once.len(), ids.len(), "an id stands twice");
        for (at, _) in page.match_indices('<') {
            let tag = page[at + 1..].split_once('>').unwrap().0;
            let is = attributes(tag);
            let kind = tag.split(' ').next().unwrap();
            if ["input", "select", "textarea"].contains(&kind) && is.get("type").is_none_or(|kind| kind != "hidden") {
                let labelled = is.get("id").is_some_and(|id| page.contains(&format!("for=\"{id}\"")));
                assert!(labelled || is.contains_key("aria-label"), "{tag}");
            }
            for key in ["aria-describedby", "list"] {
                for id in is.get(key).iter().flat_map(|ids| ids.split(' ')) {
                    assert!(ids.contains(&id), "{tag}: there is no {id}");
                }
            }
            if let Some(id) = is.get("href").and_then(|href| href.strip_prefix('#')) {
                assert!(ids.contains(&id), "a link to {id}, which is not there");
            }
        }
    }
}

fn any_name(knowledge: &Knowledge) -> impl Strategy<Value = String> + use<> {
    let slots: Vec<String> = knowledge.slots.iter().map(|slot| slot.id.clone()).collect();
    let keys: Vec<String> = knowledge.attributes.iter().map(|attribute| attribute.id.clone()).collect();
    let key = || prop::sample::select(keys.clone());
    let tables: Vec<&'static str> = [About::Rider, About::Setup, About::Chart]
        .map(|about| match about {
            About::Rider => "rider",
            About::Setup => "setup",
            _ => "frame.chart",
        })
        .to_vec();
    let end = prop::sample::select(vec!["", "", "", ":from", ":plus_minus", ":expanded", ":toml", ":open"]);
    let stem = prop_oneof![
        (prop::sample::select(tables), key()).prop_map(|(table, key)| format!("{table}.{key}")),
        (prop::sample::select(slots.clone()), key()).prop_map(|(slot, key)| format!("slots.{slot}.{key}")),
        prop::sample::select(slots).prop_map(|slot| format!("slots.{slot}.part")),
        key().prop_map(|key| format!("frame.chart.drawn_with.{key}")),
        prop::sample::select(vec![
            "name",
            "notes",
            "catalogue",
            "frame",
            "slots",
            "rider",
            "frame.part",
            "frame.chart",
            "do",
            "open",
            "bench",
            "bike",
            "text"
        ])
        .prop_map(str::to_owned),
        any::<String>(),
    ];
    (stem, end).prop_map(|(stem, end)| format!("{stem}{end}"))
}

fn any_value() -> impl Strategy<Value = String> {
    prop_oneof![
        any::<String>(),
        "[0-9.±~ ]{0,8}( mm| kg| deg| %)?",
        prop::sample::select(vec![
            "(own)",
            "tarn-130",
            "yes",
            "{ value = 1 }",
            "[1, 2]",
            "[[[[",
            "\"",
            "1e999",
            "nan",
            "-0",
            "check",
            "file",
            "fork"
        ])
        .prop_map(str::to_owned),
    ]
}

/// Whatever is sent, the program answers, and what was typed is on the page again.
#[test]
fn nothing_that_is_sent_breaks_the_form() {
    let knowledge = Knowledge::embedded().unwrap();
    let app = demo();
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    let heron = runtime.block_on(async { fields(&get(&app, "/bike?bike=heron").await.text) });
    let config = ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(250) };
    let pairs = prop::collection::vec((any_name(&knowledge), any_value()), 0..12);
    proptest!(config, |(pairs in pairs, whole in any::<bool>())| {
        let changed: Vec<(&str, &str)> = pairs.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
        let sent = if whole { with(&heron, &changed) } else { pairs.clone() };
        runtime.block_on(async {
            for address in ["/bike", "/bike/chart", "/stand"] {
                let got = post(&app, address, &sent).await;
                assert!(got.status.as_u16() < 500, "{address}: {sent:?}");
                if let Some(bench) = &got.place {
                    assert_eq!(get(&app, bench).await.status, StatusCode::OK, "{sent:?}");
                }
            }
        });
    });
}
