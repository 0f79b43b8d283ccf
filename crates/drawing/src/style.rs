//! One style sheet for all figures. It names inks as custom properties; a page defines them, a picture has them written in.

use crate::{ink::Palette, letters::FAMILY};

/// Line types of ISO 128-2 (thick to thin 2 : 1), texts and fills of side view and gauges; lengths in CSS pixels.
pub(crate) const FIGURES: &str = "\
.d path,.d circle,.d rect{fill:none}\
.d text{fill:var(--ink)}\
.d .thick{stroke:var(--ink);stroke-width:2;stroke-linecap:round;stroke-linejoin:round}\
.d .thin{stroke:var(--ink);stroke-width:.9;stroke-linejoin:round}\
.d .body{stroke:var(--body);stroke-linejoin:round}\
.d .was{stroke:var(--ink);stroke-width:.95;stroke-dasharray:6 3.2}\
.d .axis{stroke:var(--grey);stroke-width:.8;stroke-dasharray:13 3 2 3}\
.d .axis.on{stroke:var(--mark)}\
.d .hatch{stroke:var(--grey);stroke-width:.8}\
.d .scale{stroke:var(--grey);stroke-width:.9}\
.d .leader{stroke:var(--ink);stroke-width:.7}\
.d .dot{fill:var(--ink)}\
.d .balloon{fill:var(--paper);stroke:var(--ink);stroke-width:1.1}\
.d .balloon.on{fill:var(--mark);stroke:var(--mark)}\
.d .leader.on{stroke:var(--mark)}.d .dot.on{fill:var(--mark)}\
.d a{outline-offset:3px}.d a:hover .balloon{stroke-width:2.2}.d a:focus-visible{outline:2px solid var(--mark)}\
.d .n{font-weight:700}.d .n.on{fill:var(--paper)}\
.d .dim{stroke:var(--ink);stroke-width:.8}.d .dim.on{stroke:var(--mark)}\
.d .arrow{fill:var(--ink)}.d .arrow.on{fill:var(--mark)}\
.d .t.on{fill:var(--mark)}\
.d .sm{fill:var(--faint)}\
.d .bar{fill:var(--grey)}\
.d .zero{stroke:var(--ink);stroke-width:2}\
.d .ptr{fill:var(--ink);stroke:var(--ink);stroke-width:1;stroke-linejoin:round}\
.d .unsure .ptr{fill:var(--paper);stroke-width:1.4}\
.d .short .ptr{fill:var(--short);stroke:var(--short)}\
.d .band{stroke:var(--ink);stroke-width:3.2}\
.d .short .band{stroke:var(--short)}\
.d .box{stroke:var(--ink);stroke-width:.9}\
.d .bhatch{stroke:var(--ink);stroke-width:.8}\
.d .reach{stroke:var(--ink);stroke-width:2}.d .short .reach{stroke:var(--short)}\
.d .was-ptr{stroke:var(--grey);stroke-width:1.1;fill:none}\
";

/// The style sheet of a picture that stands alone: colours written in, the embedded typeface named.
pub(crate) fn alone(palette: &Palette) -> String {
    format!("text{{font-family:'{FAMILY}',sans-serif;font-stretch:condensed}}{}", palette.resolve(FIGURES))
}
