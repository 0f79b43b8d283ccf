//! What every document has to be, whatever the answer: well-formed, escaped, without one text over another, of one sheet or two.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod fixture;

use drawing::{
    gauge::gauge,
    letters::Face,
    picture::{self, PictureError},
    sheet::sheet,
    sheet_pdf::{pages, sheet_pdf},
    side_view::{Setting, side_view},
};
use quantity::print::Units;
use resvg::usvg;
use stand::answer::{Pose, State};
use writing::Text;

const SETTINGS: [Setting; 4] = [
    Setting { width: 890.0, height: None, text: 13.5, face: Face::Screen, sparse: false },
    Setting { width: 340.0, height: None, text: 12.0, face: Face::Screen, sparse: true },
    Setting { width: 340.0, height: None, text: 12.0, face: Face::Screen, sparse: false },
    Setting { width: 647.0, height: Some(380.0), text: 9.4, face: Face::Print, sparse: false },
];

fn parse(svg: &str) -> usvg::Tree {
    usvg::Tree::from_str(svg, &usvg::Options::default()).unwrap_or_else(|e| panic!("{e}\n{svg}"))
}

#[test]
fn no_text_stands_on_another_or_leaves_the_drawing() {
    for (name, answer) in fixture::all() {
        for pose in [Pose::Unladen, Pose::Sagged] {
            for units in [Units::Metric, Units::Imperial] {
                for setting in SETTINGS {
                    let drawing = side_view(&answer, pose, units, setting).unwrap();
                    assert!(!drawing.labels.is_empty());
                    for (at, a) in drawing.labels.iter().enumerate() {
                        let r = &a.area;
                        assert!(
                            r.left >= 0.0 && r.top >= 0.0 && r.right <= drawing.width && r.bottom <= drawing.height,
                            "{name}: `{}` leaves the drawing",
                            a.text
                        );
                        for b in &drawing.labels[at + 1..] {
                            assert!(
                                !r.overlaps(&b.area),
                                "{name}, {pose:?}, {} px: `{}` and `{}`",
                                setting.width,
                                a.text,
                                b.text
                            );
                        }
                    }
                }
            }
        }
    }
}

#[test]
fn every_part_that_can_be_seen_has_its_balloon() {
    let answer = fixture::longer_fork();
    let drawing = side_view(&answer, Pose::Unladen, Units::Metric, SETTINGS[0]).unwrap();
    for part in &answer.parts {
        assert!(drawing.labels.iter().any(|l| l.text == part.balloon.to_string()), "no balloon for {}", part.label);
    }
}

/// A saddle that goes up a little must not push what stands below the drawing down the page, nor the bicycle up.
#[test]
fn a_drawing_grows_in_steps_and_stays_on_its_ground() {
    let setting = SETTINGS[0];
    let mut seen: Vec<(f64, String)> = Vec::new();
    for higher in 0..40 {
        let mut answer = fixture::longer_fork();
        for view in answer.side_views.iter_mut().flat_map(|views| [&mut views.before, &mut views.after]) {
            view.saddle = view.saddle.map(|[x, y]| [x, y + 5.0 * f64::from(higher)]);
        }
        let drawing = side_view(&answer, Pose::Unladen, Units::Metric, setting).unwrap();
        let steps = drawing.height / setting.text / 5.0;
        assert!((steps - steps.round()).abs() < 1e-9, "{} px", drawing.height);
        let svg = drawing.figure("a", "");
        let hub = svg.split("<circle").nth(1).unwrap().split('>').next().unwrap().to_owned();
        seen.push((drawing.height, hub));
    }
    assert!(seen.is_sorted_by(|a, b| a.0 <= b.0));
    let mut heights: Vec<f64> = seen.iter().map(|one| one.0).collect();
    heights.dedup();
    assert!((2..=8).contains(&heights.len()), "{heights:?}");
    // As long as the height is the same, so is the place of the wheels.
    for pair in seen.windows(2) {
        assert!(pair[0].0 < pair[1].0 || pair[0].1 == pair[1].1, "{pair:?}");
    }
}

#[test]
fn the_drawing_is_to_scale() {
    let answer = fixture::longer_fork();
    let drawing = side_view(&answer, Pose::Unladen, Units::Metric, SETTINGS[0]).unwrap();
    let svg = drawing.figure("a", "");
    // The rear tyre's circle, before its thin rim: radius in mm over scale in pixels.
    let radius_mm = answer.side_views[0].after.rear_wheel.radius;
    let pixels = radius_mm / drawing.scale / drawing::side_view::PIXEL_MM;
    let written = format!("{pixels:.2}");
    assert!(svg.contains(&format!(r#"r="{}""#, written.trim_end_matches('0'))), "1 : {}", drawing.scale);
}

#[test]
fn broken_lines_are_only_where_something_moves() {
    let broken = |answer| {
        side_view(&answer, Pose::Unladen, Units::Metric, SETTINGS[0]).unwrap().figure("a", "").contains(r#"class="was""#)
    };
    assert!(broken(fixture::longer_fork()));
    assert!(!broken(fixture::nothing_changes()));
}

#[test]
fn dimensions_say_value_and_change() {
    let answer = fixture::longer_fork();
    let words = |units| {
        let drawing = side_view(&answer, Pose::Unladen, units, SETTINGS[0]).unwrap();
        drawing.labels.iter().map(|l| l.text.clone()).filter(|t| t.contains('(')).collect::<Vec<_>>()
    };
    insta::assert_debug_snapshot!(words(Units::Metric), @r#"
    [
        "wheelbase 1154 (+7.3)",
        "trail 102 (+6.7)",
        "head angle 68.1° (−0.93°)",
        "BB height 335 (+7.0)",
        "stack 640 (+7.1)",
        "reach 430 (−10.3)",
    ]
    "#);
    assert!(words(Units::Imperial).iter().any(|t| t.starts_with("wheelbase 45.4")));
}

#[test]
fn figures_are_well_formed_and_say_what_they_show() {
    for (_, answer) in fixture::all() {
        let drawing = side_view(&answer, Pose::Unladen, Units::Metric, SETTINGS[0]).unwrap();
        let figure = drawing.figure("view", "wide");
        parse(&figure);
        assert!(figure.contains(r#"role="img""#) && figure.contains("<title") && figure.contains("<desc"));
        for margin in &answer.margins {
            let figure = gauge(margin, Units::Metric, 300.0, 11.0, Face::Screen).figure();
            parse(&figure);
            assert!(figure.contains(r#"role="img""#) && figure.contains("aria-label="));
        }
    }
}

#[test]
fn a_gauge_tells_its_state_by_shape() {
    let answer = fixture::longer_fork();
    let of = |state| {
        let margin = answer.margins.iter().find(|m| m.state == state).unwrap();
        gauge(margin, Units::Metric, 300.0, 11.0, Face::Print).figure()
    };
    let (clear, unsure, short) = (of(State::Clear), of(State::Unsure), of(State::Short));
    assert!(unsure.contains(r#"class="bhatch""#) && !clear.contains("bhatch") && !short.contains("bhatch"));
    assert!(short.contains(r#"class="reach""#) && !clear.contains("reach\"") && !unsure.contains("reach\""));
    insta::assert_snapshot!(short);
}

#[test]
fn awkward_texts_stay_texts() {
    let answer = fixture::awkward_texts();
    let page = sheet(&answer, Units::Metric, None);
    assert!(!page.contains("<script"), "a text became an element");
    assert!(page.contains("&lt;script&gt;alert(&quot;x&quot;)"));
    assert!(!page.contains('\u{1}'));
    for page in pages(&answer, Units::Metric, None) {
        parse(&page);
    }
    parse(&picture::svg(&answer, Pose::Unladen, Units::Metric).unwrap());
}

#[test]
fn the_page_needs_nothing_from_outside() {
    for (name, answer) in fixture::all() {
        let page = sheet(&answer, Units::Metric, None);
        assert!(page.len() < 200_000, "{name}: {} bytes", page.len());
        // The one address in it is the name of SVG itself.
        let without_names = page.replace(r#"xmlns="http://www.w3.org/2000/svg""#, "");
        for outside in ["http:", "https:", "src=", "url(", "@import", "<link", "<script"] {
            if name != "awkward_texts" {
                assert!(!without_names.contains(outside), "{name}: {outside}");
            }
        }
    }
}

#[test]
fn headings_and_tables_are_in_order() {
    let page = sheet(&fixture::longer_fork(), Units::Metric, None);
    let body = page.split_once("<body>").unwrap().1;
    let headings: Vec<&str> = body
        .match_indices("<h")
        .filter_map(|(at, _)| body.get(at + 1..at + 3))
        .filter(|tag| matches!(*tag, "h1" | "h2" | "h3"))
        .collect();
    assert_eq!(headings.iter().filter(|h| **h == "h1").count(), 1);
    assert_eq!(headings[0], "h1");
    assert!(
        headings.windows(2).all(|pair| pair[1] <= pair[0] || pair[1].as_bytes()[1] == pair[0].as_bytes()[1] + 1),
        "{headings:?}"
    );
    assert_eq!(body.matches("<th ").count() + body.matches("<th>").count(), body.matches("<th ").count(), "a th without scope");
    assert_eq!(body.matches("<th ").count(), body.matches("scope=").count());
    let order = [
        "<h1>",
        "Before and after",
        "What moves",
        "What it must clear",
        "Not checked",
        "Cost",
        "Measure first",
        "How the chart was read",
        "Assumed, because",
        "Caution",
        "Sources",
    ];
    let places: Vec<usize> = order.iter().map(|words| body.find(words).unwrap_or_else(|| panic!("no {words}"))).collect();
    assert!(places.is_sorted(), "{places:?}");
    // Every reference has its target, every id is there once.
    for source in 1..=3 {
        assert_eq!(body.matches(&format!(r#"id="source-{source}""#)).count(), 1);
    }
}

#[test]
fn a_suspicious_chart_is_shown_open() {
    assert!(sheet(&fixture::crowded(), Units::Metric, None).contains("<details open"));
    assert!(!sheet(&fixture::longer_fork(), Units::Metric, None).contains("<details open"));
}

#[test]
fn imperial_sheets_are_in_inches() {
    let page = sheet(&fixture::longer_fork(), Units::Imperial, None);
    assert!(page.contains("Dimensions in in;"));
    assert!(
        page.contains("\u{2212}0.16 ± 0.05\u{a0}in")
            || page.contains("\u{2212}0.157\u{a0}±\u{a0}0.048\u{a0}in")
            || page.contains("\u{2212}0.16\u{a0}±\u{a0}0.05\u{a0}in")
    );
}

#[test]
fn the_printed_sheet_has_one_page_or_as_few_as_it_takes() {
    let count = |answer| pages(&answer, Units::Metric, None).len();
    // Without what a catalogue adds.
    assert_eq!(count(stand::answer::Answer { extras: None, alternatives: Vec::new(), ..fixture::longer_fork() }), 1);
    assert_eq!(count(fixture::longer_fork()), 2);
    assert_eq!(count(fixture::nothing_changes()), 1);
    assert_eq!(count(fixture::crowded()), 2);
}

#[test]
fn nothing_is_lost_in_print() {
    for (name, answer) in fixture::all() {
        let all = pages(&answer, Units::Metric, None).concat();
        for margin in answer.margins.iter().filter(|_| name != "awkward_texts") {
            let first = margin.label.split(' ').next().unwrap();
            assert!(all.contains(first), "{name}: {}", margin.label);
        }
        for words in ["What moves", "What it must clear", "Sources", "Caution", "Assumed, because nobody said"] {
            assert!(all.contains(words), "{name}: {words}");
        }
    }
}

#[test]
fn the_pdf_names_itself_and_is_the_same_each_time() {
    let answer = fixture::longer_fork();
    let pdf = sheet_pdf(&answer, Units::Metric, None).unwrap();
    assert_eq!(pdf, sheet_pdf(&answer, Units::Metric, None).unwrap());
    let text = String::from_utf8_lossy(&pdf);
    assert!(text.contains("/Lang") && text.contains("/Title"));
    assert!(text.contains("DejaVuSansCondensed"), "the typeface is embedded");
    assert!(!text.contains("/Subtype/Image") && !text.contains("/Subtype /Image"), "all lines, no pixels");
}

#[test]
fn the_word_is_never_said() {
    for (name, answer) in fixture::all() {
        for words in [sheet(&answer, Units::Metric, None), pages(&answer, Units::Metric, None).concat()] {
            assert!(!words.to_lowercase().contains("safe"), "{name}");
        }
    }
}

#[test]
fn pictures_refuse_what_cannot_be() {
    let mut answer = fixture::longer_fork();
    assert_eq!(picture::png(&answer, Pose::Unladen, Units::Metric, 0), Err(PictureError::Width(0)));
    assert_eq!(picture::png(&answer, Pose::Unladen, Units::Metric, 9000), Err(PictureError::Width(9000)));
    answer.side_views.clear();
    assert_eq!(picture::svg(&answer, Pose::Sagged, Units::Metric), Err(PictureError::NoView(Pose::Sagged)));
    // A sheet is still made; it says that there is no drawing.
    assert!(sheet(&answer, Units::Metric, None).contains("could not be drawn"));
    assert!(sheet_pdf(&answer, Units::Metric, None).is_ok());
}

#[test]
fn a_png_has_the_width_asked_for() {
    let png = picture::png(&fixture::bare_frame(), Pose::Unladen, Units::Metric, 640).unwrap();
    assert_eq!(u32::from_be_bytes(png[16..20].try_into().unwrap()), 640);
}

/// Somebody's own words stand on the sheet in place of the summary, and do nothing but stand there.
#[test]
fn own_words_stand_on_the_sheet() {
    let answer = fixture::longer_fork();
    let text = Text::from_markdown(
        "Dear **rider**, [0.9°](#change.head_angle) <script>alert(1)</script>\n\n- one\n- two\n\n![](#drawing)\n\n[go](javascript:x)",
    );
    let page = sheet(&answer, Units::Metric, Some(&text));
    for words in ["class=\"told\"", "<strong>rider</strong>", "<li>two</li>", "&lt;script&gt;", "told-2-t"] {
        assert!(page.contains(words), "{words}");
    }
    assert!(!page.contains("<script") && !page.contains("javascript:"));
    assert!(!page.contains(&drawing::svg::escaped(&answer.summary[0])));
    let pages = pages(&answer, Units::Metric, Some(&text)).concat();
    assert!(pages.contains("In words") && pages.contains("Dear rider"));
    assert!(sheet_pdf(&answer, Units::Metric, Some(&text)).unwrap().starts_with(b"%PDF-"));
}
