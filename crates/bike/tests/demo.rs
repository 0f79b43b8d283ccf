//! The demo workshop: every file of it is read without a problem.

use std::fs;
use std::path::PathBuf;

use bike::read::{read_build, read_catalogue, read_swap};
use knowledge::Knowledge;

fn demo() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../demo")
}

/// Each bike with the swaps that are meant for it: those that begin with its name.
#[test]
fn every_bike_and_every_swap_is_read() {
    let knowledge = Knowledge::embedded().unwrap();
    let mut swaps_read = 0;
    for bike in ["heron", "fieldfare", "bittern", "wheatear", "moorhen"] {
        let (build, catalogue) =
            read_build(&demo().join(bike).with_extension("toml"), &knowledge).unwrap_or_else(|problems| panic!("{problems}"));
        assert!(build.name.to_lowercase().starts_with(bike));
        assert!(catalogue.len() >= 55, "{}", catalogue.len());
        for entry in fs::read_dir(demo().join("swaps")).unwrap() {
            let path = entry.unwrap().path();
            if path.file_name().unwrap().to_string_lossy().starts_with(bike) {
                let swap = read_swap(&path, &knowledge, &catalogue).unwrap_or_else(|problems| panic!("{problems}"));
                assert_ne!(build.with(&swap, &knowledge), build);
                swaps_read += 1;
            }
        }
    }
    assert_eq!(swaps_read, fs::read_dir(demo().join("swaps")).unwrap().count(), "a swap belongs to no bike");
}

#[test]
fn the_catalogue_is_read_by_itself() {
    let knowledge = Knowledge::embedded().unwrap();
    let catalogue = read_catalogue(&[demo().join("parts")], &knowledge).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(catalogue.currency(), Some("EUR"));
    for kind in &knowledge.kinds {
        if kind.about == knowledge::About::Part {
            let kind_id = knowledge.kind(&kind.id).unwrap();
            assert!(catalogue.of_kind(kind_id).len() > 0, "no {} in the demo", kind.name);
        }
    }
}
