//! The first page: whose bike goes on the stand.

use maud::{Markup, html};
use source_file::Problems;

use crate::{
    asked::{Asked, Which},
    page::document,
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

/// The page; with what somebody brought and what is wrong in it, if something is.
pub(crate) fn start(workshop: &Workshop, brought: Option<(&str, &Problems)>) -> Markup {
    let text = brought.map_or(EXAMPLE, |brought| brought.0);
    let body = html! {
        main #main.sheet.plain {
            section {
                h1 { "Put a bike on the stand" }
                p { "Try a part on it, and read what fits, what moves, what else it takes, and how sure that is." }
                h2 { @if workshop.is_demo { "Bikes of an invented workshop" } @else { "Bikes" } }
                @if workshop.bikes.is_empty() { p { "No bike is here yet. Bring one below." } }
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
                form method="post" action="/stand" {
                    label for="text" { "The bike as a build file (TOML)" }
                    p.small #text-help { "Change what is written here, or paste a file. It goes into the address of the bench and is kept nowhere." }
                    @if let Some((_, problems)) = brought {
                        pre.problems #text-wrong role="alert" tabindex="0" { (source_file::render(problems, false)) }
                    }
                    textarea #text name="text" rows="22" spellcheck="false" autocomplete="off" aria-describedby={ "text-help" @if brought.is_some() { " text-wrong" } } aria-invalid=[brought.map(|_| "true")] { "\n" (text) }
                    button { "Put it on the stand" }
                }
                p.small { "A program can ask for all of this, too: " a href="/api" { "for programs" } "." }
            }
        }
    };
    document("Put a bike on the stand", &body)
}
