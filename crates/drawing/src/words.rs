//! The text of an answer on a page: what a technician made of the draft, its numbers still those of the answer.

use maud::{Markup, PreEscaped, html};
use quantity::print::Units;
use stand::answer::{Answer, Pose};
use writing::{
    Figures, Text,
    text::{Block, Fresh, Is, Run},
};

use crate::{
    letters::Face,
    sections::text as shown,
    side_view::{Setting, side_view},
};

/// The drawing inside a text.
const DRAWING: Setting = Setting { width: 560.0, height: None, text: 12.5, face: Face::Screen, sparse: true };

/// Whether numbers that are others now are marked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Marks {
    /// They are, with what stood there before: for whoever edits.
    Shown,
    /// They are not: for whoever reads.
    Hidden,
}

/// What a text is laid out with.
#[derive(Debug)]
pub struct Words<'a> {
    /// The answer it tells of.
    pub answer: &'a Answer,
    /// Numbers of the answer.
    pub figures: &'a Figures,
    /// Units of the drawing.
    pub units: Units,
    /// Pose of the drawing.
    pub pose: Pose,
    /// Whether changed numbers are marked.
    pub marks: Marks,
}

impl Words<'_> {
    /// A text as HTML. `id` tells its drawings from others of the page.
    pub fn html(&self, text: &Text, id: &str) -> Markup {
        html! {
            @for (place, block) in text.blocks.iter().enumerate() {
                @match block {
                    Block::Paragraph(runs) => { p { (self.runs(runs)) } }
                    Block::Heading(runs) => { h3 { (self.runs(runs)) } }
                    Block::Quotation(runs) => { blockquote { p { (self.runs(runs)) } } }
                    Block::List { numbered: true, points } => { ol.points { @for point in points { li { (self.runs(point)) } } } }
                    Block::List { numbered: false, points } => { ul.points { @for point in points { li { (self.runs(point)) } } } }
                    Block::Drawing => { (self.drawing(&format!("{id}-{place}"))) }
                }
            }
        }
    }

    fn drawing(&self, id: &str) -> Markup {
        let drawn = side_view(self.answer, self.pose, self.units, DRAWING);
        html! { @if let Some(drawing) = drawn { figure { (PreEscaped(drawing.figure(id, "told"))) } } }
    }

    fn runs(&self, runs: &[Run]) -> Markup {
        html! {
            @for run in runs {
                @match (run.strong, run.emphatic) {
                    (false, false) => { (self.run(run)) }
                    (true, false) => { strong { (self.run(run)) } }
                    (false, true) => { em { (self.run(run)) } }
                    (true, true) => { strong { em { (self.run(run)) } } }
                }
            }
        }
    }

    fn run(&self, run: &Run) -> Markup {
        html! {
            @match &run.is {
                Is::Words => { (shown(&run.words)) }
                Is::Link { to } => { a href=(to) rel="noreferrer" { (shown(&run.words)) } }
                Is::Figure { name, fresh } => {
                    @match (self.marks, fresh) {
                        (Marks::Shown, Fresh::Was(was)) => {
                            mark { (shown(&run.words)) } " " small { "(was " del { (shown(was)) } ")" }
                        }
                        (Marks::Shown, Fresh::Gone) => { mark { (shown(&run.words)) } " " small { "(not worked out any more)" } }
                        _ => { span.fig title=[self.figures.get(name).map(|figure| figure.in_full.as_str())] { (shown(&run.words)) } }
                    }
                }
            }
        }
    }
}
