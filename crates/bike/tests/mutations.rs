//! Good files spoiled at random: whatever becomes of them, reading ends in a value or in problems that can be shown.

use std::fs;
use std::path::PathBuf;

use bike::read::{build_from, catalogue_from, parse_adjust, parse_set, parse_unset, read_catalogue, swap_from};
use knowledge::Knowledge;
use proptest::prelude::*;
use source_file::{Problems, SourceFile, render};

/// One way to spoil a text; places are shares of its length.
#[derive(Clone, Debug)]
enum Spoil {
    /// Take a stretch out.
    Cut(f64, usize),
    /// Put something in.
    Insert(f64, String),
    /// Repeat a stretch somewhere else.
    Copy(f64, usize, f64),
    /// End early.
    End(f64),
}

/// What people, and programs, put in files by mistake.
const BITS: &[&str] = &[
    "\"",
    "\"\"\"",
    "'",
    "[",
    "]",
    "[[",
    "{",
    "}",
    "=",
    ",",
    ".",
    "#",
    "\n",
    "\r\n",
    "\0",
    "\u{feff}",
    "±",
    "−",
    "°",
    "~",
    "nan",
    "inf",
    "1e999",
    "-1",
    "0",
    "9999999999999999999999",
    "0x",
    "2024-01-01",
    "[[part]]\n",
    "[frame.chart]\n",
    "part = \"\"",
    "id = 1\n",
    "é",
    "\u{202e}",
    "\t",
    ";",
    "%",
    "mm",
    "kg",
    "\\u0000",
    "\\",
    "include = [\"parts.toml\"]\n",
    "true",
    "value",
    "from",
    "plus_minus",
];

fn spoil() -> impl Strategy<Value = Spoil> {
    let bit = prop_oneof![prop::sample::select(BITS).prop_map(str::to_owned), any::<String>()];
    let place = 0.0..1.0_f64;
    prop_oneof![
        (place.clone(), 1..40_usize).prop_map(|(at, length)| Spoil::Cut(at, length)),
        (place.clone(), bit).prop_map(|(at, text)| Spoil::Insert(at, text)),
        (place.clone(), 1..60_usize, place.clone()).prop_map(|(from, length, to)| Spoil::Copy(from, length, to)),
        place.prop_map(Spoil::End),
    ]
}

fn spoiled(text: &str, spoils: &[Spoil]) -> String {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of a short text's length")]
    let place = |share: f64, text: &str| text.floor_char_boundary((share * text.len() as f64) as usize);
    let mut text = text.to_owned();
    for spoil in spoils {
        match spoil {
            Spoil::Cut(at, length) => {
                let start = place(*at, &text);
                let end = text.floor_char_boundary(start + length);
                text.replace_range(start..end, "");
            }
            Spoil::Insert(at, bit) => text.insert_str(place(*at, &text), bit),
            Spoil::Copy(from, length, to) => {
                let start = place(*from, &text);
                let bit = text[start..text.floor_char_boundary(start + length)].to_owned();
                text.insert_str(place(*to, &text), &bit);
            }
            Spoil::End(at) => text.truncate(place(*at, &text)),
        }
    }
    text
}

/// Problems there may be; then they can be shown, and each says something.
fn check<T>(outcome: Result<T, Problems>) {
    if let Err(problems) = outcome {
        assert!(!problems.is_empty(), "refused without a reason");
        assert!(problems.iter().all(|problem| !problem.message.is_empty()));
        assert!(render(&problems, false).starts_with("error: "));
    }
}

#[test]
fn spoiled_files_never_panic() {
    let knowledge = Knowledge::embedded().unwrap();
    let demo = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../demo");
    let text = |path: &str| fs::read_to_string(demo.join(path)).unwrap();
    let catalogue = read_catalogue(&[demo.join("parts")], &knowledge).unwrap();
    let builds = ["heron.toml", "wheatear.toml", "moorhen.toml"].map(text);
    let catalogues = ["parts/frames.toml", "parts/forks.toml", "parts/drivetrain.toml"].map(text);
    let table = text("parts/tyres.csv");
    let swap = text("swaps/moorhen-wide-tyres.toml");
    let config = ProptestConfig::with_cases(1500);
    proptest!(config, |(spoils in prop::collection::vec(spoil(), 1..6), which in 0..3_usize)| {
        let file = |name: &str, text: &str| SourceFile::from_text(name, spoiled(text, &spoils));
        check(build_from(&file("a.toml", &builds[which]), &catalogue, &knowledge));
        check(catalogue_from(&file("a.toml", &catalogues[which]), &knowledge));
        check(catalogue_from(&file("a.csv", &table), &knowledge));
        check(swap_from(&file("a.toml", &swap), &knowledge, &catalogue));
        for argument in ["fork=tarn-150", "stem_spacers=10 ± 1 mm", "chart.stack=610 mm", "front_rotor"] {
            let argument = spoiled(argument, &spoils);
            check(parse_set(&argument, &knowledge, &catalogue).map_err(Problems::from));
            check(parse_adjust(&argument, &knowledge).map_err(Problems::from));
            check(parse_unset(&argument, &knowledge).map_err(Problems::from));
        }
    });
}
