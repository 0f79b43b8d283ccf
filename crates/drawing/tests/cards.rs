//! Card and animation: every text where it can be read, whatever the answer; movements that begin and end where they should.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

mod fixture;

use std::sync::{Arc, LazyLock};

use drawing::{
    animation::{self, Animation},
    card::{self, Card, HEIGHT, LEAST_TEXT, NUMBERS, WIDTH},
    ink::{DARK, LIGHT, Paper},
    letters::{FAMILY, Face},
    picture::PictureError,
    side_view::Label,
};
use proptest::prelude::*;
use quantity::print::Units;
use resvg::usvg;
use stand::answer::{Answer, Caution, Pose, State, Verdict};

static FONTS: LazyLock<Arc<usvg::fontdb::Database>> = LazyLock::new(|| {
    let mut fonts = usvg::fontdb::Database::new();
    fonts.load_font_data(dejavu::sans_condensed::regular().to_vec());
    fonts.load_font_data(dejavu::sans_condensed::bold().to_vec());
    Arc::new(fonts)
});

fn parse(svg: &str) -> usvg::Tree {
    let options = usvg::Options { fontdb: Arc::clone(&FONTS), font_family: FAMILY.to_owned(), ..usvg::Options::default() };
    usvg::Tree::from_str(svg, &options).unwrap_or_else(|error| panic!("{error}\n{svg}"))
}

/// The words of a text and the box its letters take once they are set, as the renderer has it.
fn set_texts(group: &usvg::Group, found: &mut Vec<(String, usvg::Rect)>) {
    for node in group.children() {
        match node {
            usvg::Node::Group(inner) => set_texts(inner, found),
            usvg::Node::Text(text) => {
                let words = text.chunks().iter().map(|chunk| chunk.text().to_owned()).collect();
                // The letters' own box knows nothing of the groups around them.
                let area = text.flattened().bounding_box().transform(text.abs_transform()).unwrap();
                found.push((words, area));
            }
            _ => {}
        }
    }
}

/// The part of a screen that is always seen: nine tenths of its width and height.
fn seen(width: u32, height: u32) -> [f64; 4] {
    let (w, h) = (f64::from(width), f64::from(height));
    [0.05 * w, 0.05 * h, 0.95 * w, 0.95 * h]
}

fn no_text_on_another_or_outside(name: &str, labels: &[Label], [left, top, right, bottom]: [f64; 4]) {
    for (at, a) in labels.iter().enumerate() {
        let area = &a.area;
        assert!(
            area.left >= left && area.top >= top && area.right <= right && area.bottom <= bottom,
            "{name}: `{}` at {area:?} can be cut off",
            a.text
        );
        for b in &labels[at + 1..] {
            assert!(!area.overlaps(&b.area), "{name}: `{}` and `{}`: {area:?} {:?}", a.text, b.text, b.area);
        }
    }
}

/// The same by the renderer's own measure of what it set.
fn set_as_measured(name: &str, svg: &str, [left, top, right, bottom]: [f64; 4]) {
    let mut texts = Vec::new();
    set_texts(parse(svg).root(), &mut texts);
    assert!(!texts.is_empty());
    for (at, (words, a)) in texts.iter().enumerate() {
        let edges = [a.left(), a.top(), a.right(), a.bottom()].map(f64::from);
        assert!(
            edges[0] >= left - 3.0 && edges[1] >= top && edges[2] <= right + 1.0 && edges[3] <= bottom + 4.0,
            "{name}: `{words}` is set at {edges:?}"
        );
        for (other, b) in &texts[at + 1..] {
            let apart = a.right() <= b.left() || b.right() <= a.left() || a.bottom() <= b.top() || b.bottom() <= a.top();
            assert!(apart, "{name}: `{words}` and `{other}` are set over one another: {a:?} {b:?}");
        }
    }
}

fn laid_out_well(name: &str, answer: &Answer, units: Units) {
    for pose in [Pose::Unladen, Pose::Sagged] {
        for face in [Face::Print, Face::Screen] {
            let card = Card::new(answer, pose, units, Paper::Light, face);
            no_text_on_another_or_outside(name, &card.labels, seen(WIDTH, HEIGHT));
            if let Ok(animation) = Animation::new(answer, pose, units, Paper::Light, face) {
                no_text_on_another_or_outside(name, &animation.labels, seen(animation::WIDTH, animation::HEIGHT));
            }
        }
    }
    let svg = Card::new(answer, Pose::Unladen, units, Paper::Light, Face::Print).svg();
    set_as_measured(name, &svg, seen(WIDTH, HEIGHT));
    if let Ok(animation) = Animation::new(answer, Pose::Unladen, units, Paper::Light, Face::Print) {
        set_as_measured(name, &animation.svg(), seen(animation::WIDTH, animation::HEIGHT));
    }
}

#[test]
fn every_text_has_its_place_on_every_demo_bike_with_every_swap() {
    for units in [Units::Metric, Units::Imperial] {
        for (name, answer) in fixture::demo::answers(units) {
            laid_out_well(&name, &answer, units);
            for face in [Face::Print, Face::Screen] {
                let card = Card::new(&answer, Pose::Unladen, units, Paper::Light, face);
                let cut = card.labels.iter().find(|label| label.text.contains('…'));
                assert!(cut.is_none(), "{name}: {cut:?}");
            }
        }
    }
    for (name, answer) in fixture::all() {
        laid_out_well(name, &answer, Units::Metric);
    }
}

#[test]
fn the_demo_shows_every_verdict_it_can() {
    let verdicts: Vec<Verdict> = fixture::demo::answers(Units::Metric).into_iter().map(|(_, answer)| answer.verdict).collect();
    for verdict in [Verdict::Fits, Verdict::FitsWithExtras, Verdict::MeasureFirst, Verdict::DoesNotFit, Verdict::Unsafe] {
        assert!(verdicts.contains(&verdict), "{verdict:?}");
    }
}

/// An answer in which every text that comes from outside is this one.
fn saying(words: &str) -> Answer {
    let mut answer = fixture::longer_fork();
    let told = |text: &mut String| words.clone_into(text);
    for text in [&mut answer.bike, &mut answer.headline, &mut answer.program] {
        told(text);
    }
    for row in &mut answer.parts {
        told(&mut row.label);
        for note in [&mut row.on_the_bike, &mut row.on_trial].into_iter().flatten() {
            told(&mut note.name);
        }
    }
    answer.adjustments.iter_mut().for_each(|it| told(&mut it.label));
    for (place, change) in answer.changes.iter_mut().enumerate() {
        // Names differ, or one would be shown of them all.
        change.label = format!("{words}{place}");
        change.meaning = Some(words.to_owned());
    }
    for margin in &mut answer.margins {
        told(&mut margin.label);
        told(&mut margin.because);
        margin.caution = Some(words.to_owned());
    }
    answer.cost.currency = Some(words.to_owned());
    answer.cautions.push(Caution { text: words.to_owned(), source: 1 });
    answer
}

fn nasty() -> Vec<String> {
    vec![
        "wide ".repeat(40),
        "Donaudampfschifffahrtsgesellschaftskapitän".repeat(5),
        "W".repeat(200),
        "دراجة جبلية طويلة المدى مقاس كبير مع شوكة أطول من الإطار ".repeat(4),
        "\u{202e}\u{2067}אופני הרים\u{202d} 29 × 2.4".to_owned(),
        "🚲🔧👩🏽‍🔧🏳️‍🌈 ".repeat(40),
        "<script>alert(\"x\")</script>'&amp;]]><![CDATA[".to_owned(),
        "a\u{0}b\u{1}\u{7}\u{8}\u{b}c\u{7f}\u{85}\u{9f}d\r\n\te\u{fffe}\u{ffff}".to_owned(),
        "Ä\u{301}\u{302}\u{303}".repeat(60),
        "一二三四五六七八九十".repeat(20),
        " \u{a0}\t".to_owned(),
        String::new(),
    ]
}

#[test]
fn nasty_names_stay_texts_in_their_places() {
    for (at, words) in nasty().iter().enumerate() {
        for verdict in [Verdict::Unsafe, Verdict::FitsWithExtras] {
            let answer = Answer { verdict, ..saying(words) };
            for pose in [Pose::Unladen, Pose::Sagged] {
                for face in [Face::Print, Face::Screen] {
                    let card = Card::new(&answer, pose, Units::Imperial, Paper::Dark, face);
                    no_text_on_another_or_outside(&format!("no. {at}"), &card.labels, seen(WIDTH, HEIGHT));
                    let animation = Animation::new(&answer, pose, Units::Imperial, Paper::Dark, face).unwrap();
                    let edges = seen(animation::WIDTH, animation::HEIGHT);
                    no_text_on_another_or_outside(&format!("no. {at}"), &animation.labels, edges);
                    for svg in [card.svg(), animation.svg()] {
                        parse(&svg);
                        assert!(!svg.contains("<script") && !svg.contains("<![CDATA["), "no. {at}");
                    }
                }
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_words_make_a_well_formed_card(words in any::<String>(), more in "\\PC{0,200}") {
        let mut answer = saying(&words);
        answer.headline = more;
        for face in [Face::Print, Face::Screen] {
            let card = Card::new(&answer, Pose::Unladen, Units::Metric, Paper::Light, face);
            no_text_on_another_or_outside(&words, &card.labels, seen(WIDTH, HEIGHT));
            parse(&card.svg());
        }
        parse(&animation::svg(&answer, Pose::Unladen, Units::Metric, Paper::Light).unwrap());
    }

    #[test]
    fn any_numbers_make_a_well_formed_card(value in any::<f64>(), plus_minus in any::<f64>(), sum in any::<f64>()) {
        let mut answer = fixture::longer_fork();
        for margin in &mut answer.margins {
            (margin.after, margin.plus_minus) = (value, plus_minus);
        }
        for change in &mut answer.changes {
            (change.before, change.after, change.change, change.plus_minus) = (sum, value, value, plus_minus);
        }
        answer.cost.parts = Some(sum);
        answer.extras = None;
        let card = Card::new(&answer, Pose::Unladen, Units::Metric, Paper::Light, Face::Print);
        no_text_on_another_or_outside("any numbers", &card.labels, seen(WIDTH, HEIGHT));
        parse(&card.svg());
    }
}

#[test]
fn what_has_to_be_read_is_large() {
    for (name, answer) in fixture::demo::answers(Units::Metric) {
        let svg = card::svg(&answer, Pose::Unladen, Units::Metric, Paper::Light);
        let sizes: Vec<f64> =
            svg.split(r#"font-size=""#).skip(1).map(|rest| rest.split('"').next().unwrap().parse().unwrap()).collect();
        // Only the three headings of the title block are smaller.
        assert_eq!(sizes.iter().filter(|size| **size < LEAST_TEXT).count(), 3, "{name}: {sizes:?}");
        assert!(sizes.iter().filter(|size| **size >= 76.0).count() > NUMBERS, "{name}: verdict and numbers are huge");
    }
}

/// The names under the three numbers.
fn named(answer: &Answer) -> Vec<String> {
    let card = Card::new(answer, Pose::Unladen, Units::Metric, Paper::Light, Face::Print);
    card.description.split(". ").take(NUMBERS).map(|it| it.split(':').next().unwrap().to_owned()).collect()
}

#[test]
fn numbers_are_chosen_by_the_rule() {
    let of = |wanted: &str| fixture::demo::answers(Units::Metric).into_iter().find(|(name, _)| name == wanted).unwrap().1;
    // What is short, a part each: the steerer belongs to the fork as its length does. Then the first noticed change.
    let longer = of("heron-file-heron-150-fork");
    assert!(longer.margins.iter().filter(|m| m.state == State::Short && m.slot == "fork").count() >= 2);
    assert_eq!(named(&longer), ["Longest fork for the frame", "Front rotor fills calliper and adaptor", "Head angle"]);
    // Nothing short: the noticed changes, without the seat angle, which turned by as much as the head angle did.
    assert_eq!(named(&of("bittern-file-bittern-small-rear-wheel")), ["Head angle", "Reach", "Stack"]);
    // Nothing moves: what is unsure, money, mass. What has no unit is no number for a screen.
    assert_eq!(
        named(&of("heron-set-cassette-oxbow-11s-11-42")),
        ["Derailleur's move for a click", "Cost, all in", "Mass of the bike"]
    );
    // As it stands: the figures of the short list.
    assert_eq!(named(&of("heron")), ["Head angle", "Seat angle at the saddle", "Reach"]);
}

#[test]
fn what_the_extras_cure_is_told_so() {
    let (_, answer) =
        fixture::demo::answers(Units::Metric).into_iter().find(|(name, _)| name == "heron-file-heron-140-fork").unwrap();
    assert_eq!(answer.verdict, Verdict::FitsWithExtras);
    let card = Card::new(&answer, Pose::Unladen, Units::Metric, Paper::Light, Face::Print);
    assert!(card.labels.iter().any(|label| label.text == "▼ short with the swap alone"));
    assert!(card.labels.iter().any(|label| label.text.starts_with("Takes: cut the steerer")));
    assert!(!card.svg().contains(r#"class="n falls""#), "a verdict that goes has no number in the warning colour");
}

#[test]
fn a_card_without_numbers_or_drawing_says_what_it_can() {
    let mut answer = fixture::longer_fork();
    answer.side_views.clear();
    let card = Card::new(&answer, Pose::Unladen, Units::Metric, Paper::Light, Face::Print);
    assert!(card.labels.iter().any(|label| label.text.starts_with("The bike could not be drawn")));
    laid_out_well("no drawing", &answer, Units::Metric);
    answer.changes.clear();
    answer.margins.clear();
    answer.extras = None;
    answer.cautions.clear();
    answer.cost.parts = None;
    answer.cost.mass_change_kg = None;
    laid_out_well("nothing", &answer, Units::Metric);
    assert!(card::png(&answer, Pose::Unladen, Units::Metric, Paper::Light).is_ok());
    assert_eq!(animation::svg(&answer, Pose::Sagged, Units::Metric, Paper::Light), Err(PictureError::NoView(Pose::Sagged)));
}

#[test]
fn a_card_needs_nothing_from_outside_and_tells_what_it_shows() {
    for (name, answer) in fixture::demo::answers(Units::Metric) {
        for (paper, palette) in [(Paper::Light, LIGHT), (Paper::Dark, DARK)] {
            let moves = animation::svg(&answer, Pose::Unladen, Units::Metric, paper).unwrap();
            for svg in [card::svg(&answer, Pose::Unladen, Units::Metric, paper), moves] {
                let without_names = svg.replace(r#"xmlns="http://www.w3.org/2000/svg""#, "");
                for outside in ["http:", "https:", "url(", "@import", "href", "<script", "var(--", " style="] {
                    assert!(!without_names.contains(outside), "{name}: {outside}");
                }
                assert!(svg.contains("<title id=\"t\">") && svg.contains("<desc id=\"d\">") && svg.contains(r#"role="img""#));
                assert!(svg.contains(&palette.paper.to_string()));
                assert!(!svg.to_lowercase().contains("safe"), "{name}: the word is never said");
                assert!(svg.contains(drawing::verdict::word(answer.verdict)));
            }
        }
        let card = Card::new(&answer, Pose::Unladen, Units::Metric, Paper::Light, Face::Print);
        assert_eq!(card.labels.iter().any(|label| label.text == "more on the sheet"), !answer.cautions.is_empty(), "{name}");
    }
}

#[test]
fn movements_end_where_the_bike_stands_after() {
    let answer = fixture::longer_fork();
    let svg = animation::svg(&answer, Pose::Unladen, Units::Metric, Paper::Light).unwrap();
    assert!(svg.contains("@media (prefers-reduced-motion:reduce){.moving{display:none}"));
    assert!(svg.contains(r#"fill="freeze""#) && !svg.contains("repeatCount"), "it stops");
    let mut moving = 0;
    for element in svg.split("<path ").skip(1).filter(|rest| rest.contains(r#"attributeName="d""#)) {
        // Only what is inside this path.
        let Some(element) = element.split("</path>").next().filter(|it| it.contains("<animate ")) else { continue };
        let of = |name: &str| element.split(&format!(r#"{name}=""#)).nth(1).unwrap().split('"').next().unwrap();
        let values: Vec<&str> = of("values").split(';').collect();
        assert_eq!(values.len(), of("keyTimes").split(';').count());
        assert_eq!(values.last().copied(), Some(of(" d")), "where it rests is where it moves to");
        assert_ne!(values.first(), values.last());
        moving += 1;
    }
    assert!(moving > 10, "{moving}");
    // Nothing moves where nothing is swapped.
    let nothing = fixture::nothing_changes();
    let still = Animation::new(&nothing, Pose::Unladen, Units::Metric, Paper::Light, Face::Screen).unwrap();
    assert!(!still.svg().contains(r#"attributeName="d""#));
    let words: Vec<&str> = still.labels.iter().map(|label| label.text.as_str()).collect();
    assert!(words.join(" ").contains("The swap moves nothing on the drawing."), "{words:?}");
}

/// Lays the pictures of an animated PNG over one another as a player does; the still one first, then what is seen at the end.
fn played(png: &[u8]) -> (Vec<u8>, Vec<u8>, u32, f64) {
    let mut reader = png::Decoder::new(std::io::Cursor::new(png)).read_info().unwrap();
    let control = *reader.info().animation_control().unwrap();
    assert_eq!(control.num_plays, 1);
    let size = reader.output_buffer_size().unwrap();
    let mut still = vec![0; size];
    reader.next_frame(&mut still).unwrap();
    let width = reader.info().width as usize;
    let mut canvas = vec![0; size];
    let mut seconds = 0.0;
    for _ in 0..control.num_frames {
        let mut buffer = vec![0; size];
        reader.next_frame(&mut buffer).unwrap();
        let frame = *reader.info().frame_control().unwrap();
        seconds += f64::from(frame.delay_num) / f64::from(frame.delay_den);
        for y in 0..frame.height as usize {
            for x in 0..frame.width as usize {
                let from = (y * frame.width as usize + x) * 4;
                let to = ((y + frame.y_offset as usize) * width + x + frame.x_offset as usize) * 4;
                let pixel = &buffer[from..from + 4];
                if pixel[3] == 255 {
                    canvas[to..to + 4].copy_from_slice(pixel);
                }
            }
        }
    }
    (still, canvas, control.num_frames, seconds)
}

#[test]
fn the_animated_png_plays_once_to_its_still_picture_and_is_small() {
    let mut largest = 0;
    for (name, answer) in fixture::demo::answers(Units::Metric) {
        let png = animation::png(&answer, Pose::Unladen, Units::Metric, Paper::Light).unwrap();
        largest = largest.max(png.len());
        let (still, end, frames, seconds) = played(&png);
        assert!(still == end, "{name}: it ends elsewhere than its still picture");
        let moves = answer.side_views[0].before != answer.side_views[0].after;
        if moves {
            assert!((10..=60).contains(&frames), "{name}: {frames} pictures");
            assert!((2.0..=3.5).contains(&seconds), "{name}: {seconds} s");
        } else {
            assert_eq!(frames, 1, "{name}");
        }
    }
    assert!(largest <= 1_500_000, "{largest} bytes");
}

/// With `DRAWING_LOOK` set to a folder, cards and animations are written there to be looked at.
#[test]
fn a_card_is_exactly_as_large_as_a_screen() {
    let folder = std::env::var_os("DRAWING_LOOK").map(std::path::PathBuf::from);
    for (name, answer) in fixture::demo::answers(Units::Metric) {
        for (paper, ending) in [(Paper::Light, "light"), (Paper::Dark, "dark")] {
            let png = card::png(&answer, Pose::Unladen, Units::Metric, paper).unwrap();
            let size = |at: usize| u32::from_be_bytes(png[at..at + 4].try_into().unwrap());
            assert_eq!((size(16), size(20)), (WIDTH, HEIGHT), "{name}");
            let Some(folder) = &folder else { break };
            std::fs::write(folder.join(format!("{name}.{ending}.png")), png).unwrap();
            std::fs::write(folder.join(format!("{name}.{ending}.svg")), card::svg(&answer, Pose::Unladen, Units::Metric, paper))
                .unwrap();
            let moves = animation::svg(&answer, Pose::Unladen, Units::Metric, paper).unwrap();
            std::fs::write(folder.join(format!("{name}.{ending}.moves.svg")), moves).unwrap();
            let moves = animation::png(&answer, Pose::Unladen, Units::Metric, paper).unwrap();
            std::fs::write(folder.join(format!("{name}.{ending}.moves.png")), moves).unwrap();
        }
    }
}
