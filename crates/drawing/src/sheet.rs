//! The sheet for the rider as one HTML file: nothing outside it, no script, readable from a telephone to a wall, and on A4 paper.
//!
//! Order: short answer, drawing with parts list, what moves, what else it takes, what it must clear, what was not checked, cost, what
//! else could be done, what to measure first,
//! how the chart was read, assumptions, cautions, sources, title block (ISO 7200). On a wide screen the short answer stands beside
//! the drawing; the order in the file stays.

use maud::{DOCTYPE, Markup, PreEscaped, html};
use quantity::print::Units;
use stand::answer::{Answer, Pose};
use writing::Text;

use crate::{
    ink::{DARK, LIGHT, PRINT},
    letters::Face,
    sections::{
        Folded, alternatives, assumptions, cautions, chart, cost, extras, measure_first, not_checked, parts, short_answer,
        sources, swap_lines, text, what_it_must_clear, what_moves,
    },
    side_view::{Drawing, PIXEL_MM, Setting, next_scale, scale_text, side_view},
    style::FIGURES,
    svg, verdict,
};

/// The page's own style; its inks are custom properties.
const PAGE: &str = include_str!("sheet/page.css");

/// The drawing for a screen with room, and the one for a telephone.
const WIDE: Setting = Setting { width: 890.0, height: None, text: 13.5, face: Face::Screen, sparse: false };

const NARROW: Setting = Setting { width: 340.0, height: None, text: 12.0, face: Face::Screen, sparse: true };

/// The style sheet of a page, light and dark.
fn style() -> String {
    format!(
        ":root{{color-scheme:light dark;{}}}@media(prefers-color-scheme:dark){{:root{{{}}}}}@media print{{:root{{color-scheme:light;{}}}}}{FIGURES}{}{}",
        LIGHT.properties(),
        DARK.properties(),
        PRINT.properties(),
        verdict::STYLE,
        PAGE.replace('\n', "")
    )
}

/// The whole sheet as an HTML document.
pub fn sheet(answer: &Answer, units: Units, words: Option<&Text>) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width,initial-scale=1";
                title { (text(&format!("{}: {}", answer.bike, answer.headline))) }
                style { (PreEscaped(style())) }
            }
            body { (body(answer, units, words)) }
        }
    };
    page.into_string()
}

/// The style sheet of a page that shows sections of an answer.
pub fn sheet_style() -> String {
    style()
}

fn body(answer: &Answer, units: Units, words: Option<&Text>) -> Markup {
    html! {
        main.sheet {
            div.top {
                (short_answer(answer, units, words))
                (view(answer, units))
                (what_moves(answer, units, Folded::Written))
            }
            (extras(answer, units))
            (what_it_must_clear(answer, units, Folded::Written))
            div.rest {
                (not_checked(answer))
                (cost(answer, units))
                (alternatives(answer))
                (measure_first(answer))
                (chart(answer, units))
                (assumptions(answer, units))
            }
            (cautions(answer))
            (sources(answer))
            (title_block(answer, units))
        }
    }
}

/// Width of the drawing on A4 paper that makes its scale a round one, mm, and that scale as text.
fn printed(drawing: &Drawing) -> (f64, String) {
    // Between the sheet's frame lines.
    const ROOM_MM: f64 = 178.0;
    let wide_mm = drawing.width * PIXEL_MM * drawing.scale;
    let n = next_scale(wide_mm / ROOM_MM);
    (wide_mm / n, scale_text(n))
}

fn view(answer: &Answer, units: Units) -> Markup {
    let wide = side_view(answer, Pose::Unladen, units, WIDE);
    let narrow = side_view(answer, Pose::Unladen, units, NARROW);
    let unit = units.unit(quantity::Dimension::Length).symbol();
    html! {
        section.view {
            h2 { "Before and after" }
            @if let (Some(wide), Some(narrow)) = (wide, narrow) {
                figure style={ "--printed:" (svg::number(printed(&wide).0)) "mm" } {
                    (PreEscaped(wide.figure("wide", "wide")))
                    (PreEscaped(narrow.figure("narrow", "narrow")))
                    figcaption { "Drive side, unladen, to scale. Dimensions in " (unit) "; the change in brackets. Numbers as in the list of parts." }
                }
            } @else {
                p { "The bike could not be drawn: too little is known of it." }
            }
            (parts(answer))
        }
    }
}

/// What the title block says about the swap, in one line.
pub(crate) fn swap_title(answer: &Answer, units: Units) -> String {
    let lines = swap_lines(answer, units);
    match lines.as_slice() {
        [] => "as it stands".to_owned(),
        [(what, before, after)] => format!("{what}: {after} for {before}"),
        [(what, before, after), rest @ ..] => format!("{what}: {after} for {before}; and {} more", rest.len()),
    }
}

fn title_block(answer: &Answer, units: Units) -> Markup {
    let scale = side_view(answer, Pose::Unladen, units, WIDE).map(|d| printed(&d).1);
    html! {
        dl.block {
            div.wide { dt { "Bike" } dd { (text(&answer.bike)) } }
            div.wide { dt { "Swap" } dd { (text(&swap_title(answer, units))) } }
            div { dt { "Rider" } dd { (text(answer.rider.as_deref().unwrap_or("not stated"))) } }
            div { dt { "Scale in print" } dd { (scale.as_deref().unwrap_or("–")) } }
            div { dt { "Dimensions" } dd { (units.unit(quantity::Dimension::Length).symbol()) } }
            div { dt { "Drawn by" } dd { "Swapstand " (text(&answer.program)) } }
            div.hand { dt { "Date" } dd { "\u{a0}" } }
            div.hand { dt { "Measured" } dd { "\u{a0}" } }
            div.hand { dt { "Checked" } dd { "\u{a0}" } }
            div.hand { dt { "Sheet" } dd { "1" } }
        }
    }
}
