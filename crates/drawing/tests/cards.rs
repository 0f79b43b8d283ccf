//! The card for a screen: every text where it can be read, whatever the answer.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

mod fixture;

use drawing::{
    card::{self, Card, HEIGHT, WIDTH},
    ink::Paper,
    letters::Face,
};
use quantity::print::Units;
use stand::answer::Pose;

/// With `DRAWING_LOOK` set to a folder, every card is written there to be looked at.
#[test]
fn every_card_is_made() {
    let folder = std::env::var_os("DRAWING_LOOK").map(std::path::PathBuf::from);
    for (name, answer) in fixture::demo::answers(Units::Metric) {
        for (paper, ending) in [(Paper::Light, "light"), (Paper::Dark, "dark")] {
            if ending == "dark" && folder.is_none() {
                continue;
            }
            let png = card::png(&answer, Pose::Unladen, Units::Metric, paper).unwrap();
            let size = |at: usize| u32::from_be_bytes(png[at..at + 4].try_into().unwrap());
            assert_eq!((size(16), size(20)), (WIDTH, HEIGHT), "{name}");
            if let Some(folder) = &folder {
                std::fs::write(folder.join(format!("{name}.{ending}.png")), png).unwrap();
                let svg = card::svg(&answer, Pose::Unladen, Units::Metric, paper);
                std::fs::write(folder.join(format!("{name}.{ending}.svg")), svg).unwrap();
            }
        }
        let _ = Card::new(&answer, Pose::Unladen, Units::Metric, Paper::Light, Face::Screen);
    }
}

#[test]
fn every_animation_is_made() {
    let folder = std::env::var_os("DRAWING_LOOK").map(std::path::PathBuf::from);
    for (name, answer) in fixture::demo::answers(Units::Metric) {
        let png = drawing::animation::png(&answer, Pose::Unladen, Units::Metric, Paper::Light).unwrap();
        let svg = drawing::animation::svg(&answer, Pose::Unladen, Units::Metric, Paper::Light).unwrap();
        println!("{name}: {} {}", png.len(), svg.len());
        if let Some(folder) = &folder {
            std::fs::write(folder.join(format!("{name}.moves.png")), png).unwrap();
            std::fs::write(folder.join(format!("{name}.moves.svg")), svg).unwrap();
        }
    }
}
