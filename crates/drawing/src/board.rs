//! Setting words on a picture of a fixed size, each with the box it takes: shrunk, reworded and at last cut behind a word, and never
//! otherwise, so that they fit.

use crate::{
    letters::{Face, Weight, cut, width},
    side_view::{Area, Label},
    svg::{Ink, plain},
};

/// Height of letters over the baseline and depth under it, in type sizes.
const OVER: f64 = 0.76;
const UNDER: f64 = 0.24;

/// How a text is set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Style {
    pub(crate) class: &'static str,
    pub(crate) size: f64,
    pub(crate) weight: Weight,
}

impl Style {
    pub(crate) fn regular(class: &'static str, size: f64) -> Self {
        Self { class, size, weight: Weight::Regular }
    }

    /// Bold; the class has to say so as well.
    pub(crate) fn bold(class: &'static str, size: f64) -> Self {
        Self { class, size, weight: Weight::Bold }
    }

    pub(crate) fn sized(self, size: f64) -> Self {
        Self { size, ..self }
    }
}

/// A picture being made.
#[derive(Debug)]
pub(crate) struct Board {
    pub(crate) ink: Ink,
    pub(crate) labels: Vec<Label>,
    pub(crate) face: Face,
}

impl Board {
    pub(crate) fn new(face: Face) -> Self {
        Self { ink: Ink::new(), labels: Vec::new(), face }
    }

    pub(crate) fn wide(&self, text: &str, style: Style) -> f64 {
        width(text, style.size, style.weight, self.face)
    }

    /// A text from `at` on; where it ends.
    pub(crate) fn text(&mut self, style: Style, at: [f64; 2], text: &str) -> f64 {
        let wide = self.wide(text, style);
        self.runs(at, &[(style, text)]);
        at[0] + wide
    }

    /// Several runs as one text, the largest first. A run with smaller ones behind it is a number, which does not hang below the line.
    pub(crate) fn runs(&mut self, at: [f64; 2], runs: &[(Style, &str)]) {
        let words: String = runs.iter().map(|(_, text)| *text).collect();
        let (Some((first, _)), Some((last, _)), false) = (runs.first(), runs.last(), words.is_empty()) else { return };
        let wide: f64 = runs.iter().map(|(style, text)| self.wide(text, *style)).sum();
        let area = Area::new(at[0], at[1] - OVER * first.size, at[0] + wide, at[1] + UNDER * last.size);
        self.labels.push(Label { text: words, area });
        let runs: Vec<(&str, f64, &str)> = runs.iter().map(|(style, text)| (style.class, style.size, *text)).collect();
        self.ink.runs(at, &runs);
    }

    /// A text that ends at `at`; where it begins.
    pub(crate) fn text_before(&mut self, style: Style, at: [f64; 2], text: &str) -> f64 {
        let left = at[0] - self.wide(text, style);
        self.text(style, [left, at[1]], text);
        left
    }

    /// The first wording, in the largest of the sizes, that fits the room; the last one cut if none does.
    pub(crate) fn fitting(&self, wordings: &[String], sizes: &[f64], room: f64, style: Style) -> (String, Style) {
        let wordings: Vec<String> = wordings.iter().map(|words| plain(words)).filter(|words| !words.is_empty()).collect();
        for words in &wordings {
            for size in sizes {
                if self.wide(words, style.sized(*size)) <= room {
                    return (words.clone(), style.sized(*size));
                }
            }
        }
        let style = style.sized(sizes.last().copied().unwrap_or(style.size));
        let words = wordings.last().map(|words| cut(words, room, style.size, style.weight, self.face));
        (words.unwrap_or_default(), style)
    }

    /// Sets what [`Self::fitting`] finds.
    pub(crate) fn fit(&mut self, wordings: &[String], sizes: &[f64], room: f64, style: Style, at: [f64; 2]) {
        let (words, style) = self.fitting(wordings, sizes, room, style);
        self.text(style, at, &words);
    }

    /// A drawing with its labels, moved to `at`.
    pub(crate) fn drawing(&mut self, at: [f64; 2], elements: &str, labels: &[Label]) {
        self.ink.group("", at, elements);
        self.labels.extend(labels.iter().map(|label| {
            let Area { left, top, right, bottom } = label.area;
            Label { text: label.text.clone(), area: Area::new(left + at[0], top + at[1], right + at[0], bottom + at[1]) }
        }));
    }
}
