//! The knowledge of interfaces held against what is published and what the trade knows (`tests/references/interfaces.toml`).

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

use bike::{Catalogue, read::build_from};
use knowledge::{FigureType, Knowledge};
use source_file::SourceFile;
use stand::{Stand, Telling, answer::State};

const REFERENCES: &str = include_str!("../../../tests/references/interfaces.toml");

#[test]
fn designations_carry_the_published_figures() {
    let knowledge = Knowledge::embedded().unwrap();
    let table: toml::Table = REFERENCES.parse().unwrap();
    let cases = table["designation"].as_array().unwrap();
    assert!(cases.len() >= 15);
    for case in cases {
        let (family, text) = (case["family"].as_str().unwrap(), case["text"].as_str().unwrap());
        assert!(case["source"].as_str().unwrap().len() > 10);
        let id = knowledge.family(family).unwrap_or_else(|| panic!("no family {family}"));
        let standard = knowledge.standard(id, text).unwrap_or_else(|unknown| panic!("{unknown}"));
        for (name, value) in case["figures"].as_table().unwrap() {
            let place = knowledge.family_of(id).figures.iter().position(|figure| figure.id == *name).unwrap();
            let FigureType::Quantity(dimension) = knowledge.family_of(id).figures[place].what else { panic!("{name} is a word") };
            let wanted = quantity::parse(value.as_str().unwrap(), dimension).unwrap().quantity.value();
            let found = standard.quantity(place).unwrap_or_else(|| panic!("{text} has no {name}")).value();
            assert!((found - wanted).abs() < 0.006, "{text}: {name} is {found}, published {wanted}");
        }
    }
}

#[test]
fn joints_go_together_as_the_trade_knows_them() {
    let stand = Stand::new(Knowledge::embedded().unwrap()).unwrap();
    let base = "name = \"a\"\n[slots]\nfork = { axle_to_crown = 500, offset = 44, travel = 100 }\n";
    let chart = "stack = 610\nreach = 440\nhead_angle = 69\nhead_tube = 105\nrear_centre = 437\nbb_drop = 40\ndrawn_with = { axle_to_crown = 500, fork_offset = 44, front_radius = 368, rear_radius = 368, lower_headset_stack = 0 }\n";
    let table: toml::Table = REFERENCES.parse().unwrap();
    let cases = table["joint"].as_array().unwrap();
    assert!(cases.len() >= 10);
    for case in cases {
        let text_of = |key: &str| case.get(key).and_then(toml::Value::as_str).unwrap_or_default();
        let text = format!("{base}{}[frame]\n{}[frame.chart]\n{chart}", text_of("slots"), text_of("frame"));
        let build = build_from(&SourceFile::from_text("case.toml", text.as_str()), &Catalogue::new(), stand.knowledge())
            .unwrap_or_else(|problems| panic!("{problems}"));
        let answer = stand.mount(build).unwrap().answer(&bike::Swap::default(), Telling::default()).unwrap();
        let rule = case["rule"].as_str().unwrap();
        let margin = answer.margins.iter().find(|margin| margin.id == rule).unwrap_or_else(|| panic!("{rule} was not taken"));
        let wanted = match case["state"].as_str().unwrap() {
            "clear" => State::Clear,
            "short" => State::Short,
            _ => State::Unsure,
        };
        assert_eq!(margin.state, wanted, "{}: {}", case["says"].as_str().unwrap(), margin.because);
    }
}
