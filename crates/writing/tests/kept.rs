//! Edits kept through another computation: on a bike's answers, and for any text whatever.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

mod bench;

use bench::Bench;
use proptest::prelude::*;
use quantity::print::Units;
use writing::{
    Draft, Figures, Kept, Paragraph, Text, draft,
    kept::{Note, Written},
    text::{Fresh, Is},
};

fn drafted(bench: &Bench, asked: &[&str]) -> (Draft, Figures) {
    let answer = bench.answer("heron", asked, Units::Metric);
    (draft(&answer, Units::Metric), Figures::of(&answer, Units::Metric))
}

fn about<'d>(draft: &'d Draft, about: &str) -> &'d str {
    &draft.paragraphs.iter().find(|paragraph| paragraph.about == about).unwrap().markdown
}

fn find<'r>(paragraphs: &'r [Written], about: &str) -> &'r Written {
    paragraphs.iter().find(|written| written.about.as_deref() == Some(about)).unwrap()
}

#[test]
fn edits_survive_another_computation_and_changed_numbers_are_marked() {
    let bench = Bench::new();
    let (before, _) = drafted(&bench, &["set fork=tarn-140"]);
    let (now, figures) = drafted(&bench, &["set fork=tarn-140", "adjust rider.mass=95 kg"]);
    let (other, other_figures) = drafted(&bench, &["set fork=tarn-150"]);

    let moves = "Your front end comes up: reach shrinks by [5.0\u{a0}mm](#change.reach), so move the saddle 4 mm forward.";
    let edited = before
        .markdown()
        .replace(about(&before, "moves"), moves)
        .replace(&format!("{}\n\n", about(&before, "instead")), "")
        .replace(about(&before, "sure"), "Ask me if anything is unclear.");
    let kept = Kept::new(&before, &edited);

    // A heavier rider: the same words, other numbers aboard.
    let refreshed = kept.refreshed(&now, &figures);
    assert_eq!(find(&refreshed.paragraphs, "moves").markdown, moves);
    assert_eq!(find(&refreshed.paragraphs, "moves").own, ["4 mm"]);
    assert!(refreshed.paragraphs.iter().all(|written| written.about.as_deref() != Some("instead")), "struck out stays out");
    assert!(refreshed.markdown().contains("Ask me if anything is unclear."));

    // Another fork: the number in the edited sentence follows and is marked; what was left as drafted is drafted anew.
    let refreshed = kept.refreshed(&other, &other_figures);
    let moved = find(&refreshed.paragraphs, "moves");
    assert_eq!(moved.markdown, moves.replace("5.0\u{a0}mm", "10.0\u{a0}mm"));
    assert_eq!(moved.fresh, [Fresh::Was("5.0\u{a0}mm".to_owned())]);
    assert_eq!(moved.note, Some(Note::SaysNow(about(&other, "moves").to_owned())), "the words may have become untrue");
    assert_eq!(find(&refreshed.paragraphs, "verdict").markdown, about(&other, "verdict"));
    let text = refreshed.text();
    let was: Vec<&str> = text
        .runs()
        .filter_map(|run| match &run.is {
            Is::Figure { fresh: Fresh::Was(was), .. } => Some(was.as_str()),
            _ => None,
        })
        .collect();
    assert!(was.contains(&"5.0\u{a0}mm"), "{was:?}");

    // A paragraph the draft did not have is put in its place and marked.
    let mut shorter = before.clone();
    shorter.paragraphs.retain(|paragraph| paragraph.about != "more");
    let refreshed = Kept::new(&shorter, &shorter.markdown()).refreshed(&before, &figures);
    assert_eq!(refreshed.markdown(), before.markdown());
    assert!(find(&refreshed.paragraphs, "more").is_new);
}

#[test]
fn a_number_the_answer_no_longer_has_is_marked_and_stays() {
    let bench = Bench::new();
    let (before, figures) = drafted(&bench, &["set fork=tarn-140"]);
    let kept = Kept::new(&before, "The work takes [20 minutes](#cost.minutes), and [nothing](#no.such.number) else.");
    let refreshed = kept.refreshed(&before, &figures);
    let fresh = &refreshed.paragraphs[0].fresh;
    assert_eq!(fresh[1], Fresh::Gone);
    assert!(refreshed.markdown().contains("[nothing](#no.such.number)"));
}

fn any_text() -> impl Strategy<Value = String> {
    proptest::collection::vec(
        prop_oneof![
            Just("\n\n".to_owned()),
            Just("[5 mm](#a)".to_owned()),
            Just("[**6** mm](#b)".to_owned()),
            Just("- ".to_owned()),
            Just("> ".to_owned()),
            Just("![x](#drawing)".to_owned()),
            Just("<b>".to_owned()),
            "[ -~äß\u{a0}\n*_`\\[\\]()#]{0,12}",
        ],
        0..12,
    )
    .prop_map(|pieces| pieces.concat())
}

proptest! {
    /// Whatever was written, nothing is lost, nothing panics, and what is refreshed twice is as refreshed once.
    #[test]
    fn any_text_is_kept(base in proptest::collection::vec(any_text(), 0..4), text in any_text()) {
        let paragraphs = base.iter().enumerate().map(|(n, markdown)| Paragraph { about: n.to_string(), markdown: markdown.trim().to_owned() });
        let draft = Draft { paragraphs: paragraphs.filter(|paragraph| !paragraph.markdown.is_empty()).collect() };
        let kept = Kept::new(&draft, &text);
        let refreshed = kept.refreshed(&draft, &Figures::default());
        prop_assert!(refreshed.paragraphs.iter().all(|written| !written.is_new));
        let again = Kept::new(&draft, &refreshed.markdown()).refreshed(&draft, &Figures::default());
        prop_assert_eq!(again.markdown(), refreshed.markdown());
        // Every word of the text is still there.
        let squeezed = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        prop_assert_eq!(squeezed(&refreshed.markdown()), squeezed(&text));
        let laid_out = Text::from_markdown(&text);
        let may_go = |to: &str| ["https://", "http://", "mailto:"].iter().any(|start| to.to_lowercase().starts_with(start));
        let goes_astray = laid_out.runs().any(|run| matches!(&run.is, Is::Link { to } if !may_go(to)));
        prop_assert!(!goes_astray);
    }
}
