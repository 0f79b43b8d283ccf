//! Ten answers as they are drafted, to be sent as they are; and what holds of every draft.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

mod bench;

use bench::Bench;
use quantity::print::Units;
use writing::{
    Text,
    aloud::{self, USUAL_PACE},
    draft,
    text::Is,
};

/// Bike and what is tried on it.
const ASKED: [(&str, &str, &[&str]); 10] = [
    ("a longer fork than the frame takes", "heron", &["set fork=tarn-150"]),
    ("a longer fork that goes", "heron", &["set fork=tarn-140"]),
    ("a wider tyre", "heron", &["adjust front_tyre.width=66 mm"]),
    ("a longer stem", "heron", &["adjust stem.length=70 mm", "adjust stem_spacers=10 mm"]),
    ("as it stands", "moorhen", &[]),
    ("smaller wheels", "fieldfare", &["swap fieldfare-584-wheels"]),
    ("smaller rear wheel with shorter cranks", "bittern", &["swap bittern-small-rear-wheel-short-cranks"]),
    ("a slacker headset", "wheatear", &["swap wheatear-slacker"]),
    ("wide tyres under mudguards", "moorhen", &["swap moorhen-wide-tyres"]),
    ("a sprocket pack of another make", "fieldfare", &["set cassette=oxbow-12s-10-51"]),
];

#[test]
fn ten_answers() {
    let bench = Bench::new();
    for (name, bike, asked) in ASKED {
        let answer = bench.answer(bike, asked, Units::Metric);
        let draft = draft(&answer, Units::Metric);
        let text = Text::from_markdown(&draft.markdown());
        let script = aloud::script(&text);
        let told =
            format!("{}\n\n({} words, {} s to read aloud)", text.words(), script.words, script.takes(USUAL_PACE).as_secs());
        insta::assert_snapshot!(name.replace(' ', "_"), told.replace('\u{a0}', " "));
    }
}

/// Every number in a draft is one of the answer's, by name; none is written by hand.
#[test]
fn every_number_of_a_draft_is_the_answers() {
    let bench = Bench::new();
    for (_, bike, asked) in ASKED {
        for units in [Units::Metric, Units::Imperial] {
            let answer = bench.answer(bike, asked, units);
            let figures = writing::Figures::of(&answer, units);
            let drafted = draft(&answer, units);
            let text = Text::from_markdown(&drafted.markdown());
            for run in text.runs() {
                if let Is::Figure { name, .. } = &run.is {
                    assert_eq!(Some(run.words.as_str()), figures.get(name).map(|figure| figure.text.as_str()), "{name}");
                }
            }
            // Written and read again it says the same.
            let kept = writing::Kept::new(&drafted, &drafted.markdown());
            let again = kept.refreshed(&drafted, &figures);
            assert_eq!(again.markdown(), drafted.markdown());
            assert!(again.paragraphs.iter().all(|written| !written.is_marked() && written.own.is_empty()));
        }
    }
}

/// The words that no answer uses of what it found.
#[test]
fn nothing_is_vouched_for() {
    let bench = Bench::new();
    for (_, bike, asked) in ASKED {
        let text = draft(&bench.answer(bike, asked, Units::Metric), Units::Metric).markdown().to_lowercase();
        for word in ["safe", "guarantee", "certainly", "perfect", "definitely"] {
            assert!(!text.contains(word), "{bike}: {word}");
        }
        // Two sentences run into one another, a gap left open, a doubled mark.
        for slip in ["..", " .", " ,", ",,", "  ", ": .", "()", "[]", ":.", "None", "Some("] {
            assert!(!text.contains(slip), "{bike}: {slip:?} in {text}");
        }
    }
}
