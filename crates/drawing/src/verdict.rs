//! The verdict as a mark and a word. The marks differ in outline, so that they can be told apart without colour.

use stand::answer::Verdict;

use crate::{ink::Palette, svg::Ink};

/// The verdict in a word or two.
pub fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Fits => "Fits",
        Verdict::FitsWithExtras => "Fits with extras",
        Verdict::MeasureFirst => "Measure first",
        Verdict::WorksBadly => "Works badly",
        Verdict::DoesNotFit => "Does not fit",
        Verdict::Unsafe => "Can hurt somebody",
    }
}

/// Style of the marks; the inks as in [`crate::style`].
pub(crate) const STYLE: &str = "\
.v path{fill:none;stroke:var(--ink);stroke-width:2.4;stroke-linecap:round;stroke-linejoin:round}\
.v .full{fill:var(--short);stroke:var(--short)}\
.v .on{stroke:var(--paper)}";

/// The mark, 28 by 28 CSS pixels: a ring with a tick, a ring with a plus, a diamond with a question, a wedge, a square with a cross, an octagon with a bar.
pub(crate) fn mark(verdict: Verdict) -> String {
    let mut ink = Ink::new();
    match verdict {
        Verdict::Fits => {
            ink.path("", "M14 3a11 11 0 1 1 0 22a11 11 0 1 1 0 -22Z");
            ink.path("", "M9 14.5L12.7 18.2L19 10.5");
        }
        Verdict::FitsWithExtras => {
            ink.path("", "M14 3a11 11 0 1 1 0 22a11 11 0 1 1 0 -22Z");
            ink.path("", "M14 8.5V19.5M8.5 14H19.5");
        }
        Verdict::MeasureFirst => {
            ink.path("", "M14 2L26 14L14 26L2 14Z");
            ink.path("", "M11 11.6a3 3 0 1 1 4.6 2.5q-1.6 1 -1.6 2.4M14 19.4v.2");
        }
        Verdict::WorksBadly => {
            ink.path("", "M14 3.5L26 24.5H2Z");
            ink.path("", "M9.5 18.5q2.2 -3 4.5 0t4.5 0");
        }
        Verdict::DoesNotFit => {
            ink.path("full", "M4 4H24V24H4Z");
            ink.path("on", "M9.5 9.5L18.5 18.5M18.5 9.5L9.5 18.5");
        }
        Verdict::Unsafe => {
            ink.path("full", "M9 2.5H19L25.5 9V19L19 25.5H9L2.5 19V9Z");
            ink.path("on", "M14 8V15.5M14 20v.1");
        }
    }
    ink.into_string()
}

/// The mark's style with colours written in.
pub(crate) fn style_alone(palette: &Palette) -> String {
    palette.resolve(STYLE)
}
