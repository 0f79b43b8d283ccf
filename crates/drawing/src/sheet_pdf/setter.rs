//! Setting words and rules into pieces of one column's width.

use super::flow::Piece;
use crate::{
    letters::{Face, Weight, lines, shortened, width},
    svg::{Anchor, Ink},
};

/// A column's width and the type size everything in it follows.
#[derive(Clone, Copy, Debug)]
pub(super) struct Setter {
    pub(super) width: f64,
    /// Size of running text, CSS pixels.
    pub(super) size: f64,
}

/// Lines of one paragraph that are kept together; a longer one may go on in the next column.
const TOGETHER: usize = 10;

pub(super) fn wide(text: &str, size: f64, weight: Weight) -> f64 {
    width(text, size, weight, Face::Print)
}

pub(super) fn short(text: &str, room: f64, size: f64, weight: Weight) -> String {
    shortened(text, room, size, weight, Face::Print)
}

impl Setter {
    /// Second rank.
    pub(super) fn small(&self) -> f64 {
        self.size * 0.9
    }

    /// Distance of baselines.
    pub(super) fn lead(&self) -> f64 {
        self.size * 1.34
    }

    /// Empty height.
    pub(super) fn gap(&self, lines: f64) -> Piece {
        Piece { height: lines * self.lead(), ..Piece::default() }
    }

    pub(super) fn heading(&self, words: &str) -> Piece {
        let size = self.size * 1.14;
        let mut ink = Ink::new();
        ink.text("n", [0.0, size * 1.05], size, Anchor::Start, words);
        ink.line("rule", [0.0, size * 1.5], [self.width, size * 1.5]);
        Piece { height: size * 1.5 + 0.42 * self.size, elements: ink.into_string(), keep_with_next: true }
    }

    pub(super) fn subheading(&self, words: &str) -> Piece {
        let mut ink = Ink::new();
        ink.text("n", [0.0, self.size * 1.25], self.size, Anchor::Start, words);
        Piece { height: self.lead() * 1.3, elements: ink.into_string(), keep_with_next: true }
    }

    /// A paragraph in one style, broken into pieces that may part.
    pub(super) fn paragraph(&self, words: &str, class: &str, size: f64, weight: Weight) -> Vec<Piece> {
        let lead = size * 1.34;
        let broken = lines(words, self.width, size, weight, Face::Print);
        broken
            .chunks(TOGETHER)
            .map(|chunk| {
                let mut ink = Ink::new();
                for (row, line) in chunk.iter().enumerate() {
                    ink.text(class, [0.0, size + lead * row as f64], size, Anchor::Start, line);
                }
                Piece { height: lead * chunk.len() as f64, elements: ink.into_string(), keep_with_next: false }
            })
            .collect()
    }

    pub(super) fn text(&self, words: &str) -> Vec<Piece> {
        self.paragraph(words, "", self.size, Weight::Regular)
    }

    pub(super) fn small_text(&self, words: &str) -> Vec<Piece> {
        self.paragraph(words, "sm", self.small(), Weight::Regular)
    }

    /// A line with something at either end; the left gives way. A second line takes what the left has too much.
    pub(super) fn pair(&self, left: &str, right: &str, right_class: &str, right_weight: Weight) -> Piece {
        let mut ink = Ink::new();
        let room = self.width - wide(right, self.size, right_weight) - self.size;
        let broken = lines(left, room.max(self.width * 0.3), self.size, Weight::Regular, Face::Print);
        for (row, line) in broken.iter().enumerate() {
            ink.text("", [0.0, self.size + self.lead() * row as f64], self.size, Anchor::Start, line);
        }
        ink.text(right_class, [self.width, self.size], self.size, Anchor::End, right);
        Piece { height: self.lead() * broken.len().max(1) as f64, elements: ink.into_string(), keep_with_next: false }
    }

    /// A number or mark, and a paragraph hanging beside it.
    pub(super) fn hanging(&self, mark: &str, indent: f64, words: &str, class: &str, size: f64) -> Piece {
        let lead = size * 1.34;
        let mut ink = Ink::new();
        ink.text("sm", [0.0, size], size, Anchor::Start, mark);
        let broken = lines(words, self.width - indent, size, Weight::Regular, Face::Print);
        for (row, line) in broken.iter().enumerate() {
            ink.text(class, [indent, size + lead * row as f64], size, Anchor::Start, line);
        }
        Piece { height: lead * broken.len().max(1) as f64 + size * 0.15, elements: ink.into_string(), keep_with_next: false }
    }
}

/// Keeps pieces together in one, if they are not too many.
pub(super) fn together(pieces: &[Piece]) -> Piece {
    let mut ink = Ink::new();
    let mut y = 0.0;
    for piece in pieces {
        ink.group("", [0.0, y], &piece.elements);
        y += piece.height;
    }
    Piece { height: y, elements: ink.into_string(), keep_with_next: pieces.last().is_some_and(|p| p.keep_with_next) }
}
