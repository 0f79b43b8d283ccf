//! The first page: whose bike goes on the stand.

use maud::{Markup, html};
use source_file::Problems;

use crate::{
    asked::{Asked, Which},
    page::{document, form::file_field},
    workshop::Workshop,
};

/// A bike that says what is needed, to begin from.
const EXAMPLE: &str = r#"name = "My bike"

[rider]
mass = "80 kg"

[setup]
saddle_height = "720 mm"

[frame]
name = "My frame, size M"

[frame.chart]
stack = "610 mm"
reach = "440 mm"
head_angle = "69 deg"
seat_angle = "74 deg"
rear_centre = "437 mm"
bb_drop = "40 mm"
wheelbase = "1141 mm"
drawn_with = { axle_to_crown = "524 mm", fork_offset = "44 mm", front_radius = "368 mm", rear_radius = "368 mm" }

[slots.fork]
name = "My fork"
axle_to_crown = "524 mm"
offset = "44 mm"
travel = "130 mm"
"#;

/// What somebody brought that does not stand.
pub(crate) struct Brought<'a> {
    pub(crate) text: &'a str,
    pub(crate) problems: &'a Problems,
    /// It came as a file.
    pub(crate) is_file: bool,
    /// It is TOML, so that the form can show it.
    pub(crate) can_be_mended: bool,
}

/// The page; with what somebody brought and what is wrong in it, if something is.
pub(crate) fn start(workshop: &Workshop, brought: Option<&Brought<'_>>) -> Markup {
    let body = html! {
        main #main.sheet.plain {
            section {
                h1 { "Put a bike on the stand" }
                p { "Try a part on it, and read what fits, what moves, what else it takes, and how sure that is." }
                h2 { @if workshop.is_demo { "Bikes of an invented workshop" } @else { "Bikes" } }
                @if workshop.bikes.is_empty() { p { "No bike is here yet. Put your own on the stand." } }
                ul.bikes {
                    @for bike in &workshop.bikes {
                        @let asked = Asked { bike: Which::Offered(bike.id.clone()), ..Asked::default() };
                        li {
                            a href=(asked.address("/bench")) { (bike.build.name) }
                            @for note in &bike.build.notes { p.small { (note) } }
                        }
                    }
                }
            }
            section #own {
                h2 { "Your own bike" }
                p.act-line { a.button href="/bike" { "Put your own bike on the stand" } }
                p.small {
                    "A form with everything that can be said of a bike. The frame's chart and the fork are enough to begin; each number of the chart is checked "
                    "against the others while you type. Or take one of the bikes above and change what is different: “edit this bike” on its bench."
                }
                p.small { "A program can ask for all of this, too: " a href="/api" { "for programs" } "." }
            }
            section #from-file {
                h2 { "A bike in a file" }
                form method="post" action="/stand" enctype="multipart/form-data" {
                    (file_field(brought.filter(|brought| brought.is_file).map(|brought| brought.problems)))
                    p.act-line { button { "Open this file" } }
                }
                (as_text(brought))
            }
        }
    };
    document("Put a bike on the stand", &body)
}

/// A bike as a text.
fn as_text(brought: Option<&Brought<'_>>) -> Markup {
    let text = brought.map(|brought| brought.text).filter(|text| !text.is_empty()).unwrap_or(EXAMPLE);
    // Of a file that cannot be read there is no text to show.
    let wrong = brought.filter(|brought| !brought.is_file);
    let shown = brought.is_some_and(|brought| !brought.is_file || !brought.text.is_empty());
    html! {
        details open[shown] {
            summary { "I have it as text" }
            form method="post" action="/stand" {
                label for="text" { "The bike as a build file (TOML)" }
                p.small #text-help { "Change what is written here, or paste a file. It goes into the address of the bench and is kept nowhere." }
                @if let Some(wrong) = wrong {
                    pre.problems #text-wrong role="alert" tabindex="0" { (source_file::render(wrong.problems, false)) }
                }
                textarea #text name="text" rows="22" spellcheck="false" autocomplete="off" aria-describedby={ "text-help" @if wrong.is_some() { " text-wrong" } } aria-invalid=[wrong.map(|_| "true")] { "\n" (text) }
                p.act-line {
                    button { "Put it on the stand" }
                    @if brought.is_some_and(|brought| brought.can_be_mended) {
                        " " button formaction="/bike" { "Put it right in the form" }
                    }
                }
            }
        }
    }
}
