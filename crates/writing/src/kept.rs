//! What a technician made of a draft, kept through another computation: words stay, numbers follow.
//!
//! The text is kept together with the draft it was made of. When the answer is computed anew, a paragraph that was left as drafted
//! is drafted anew; one that was edited keeps its words and takes today's numbers; one that was struck out stays out. What the
//! draft says newly is put where it belongs. Every number that is another one now is marked, and where the draft of an edited
//! paragraph says something else than it did, that is noted beside it, since the edited words may have become untrue.

use std::ops::Range;

use serde::{Deserialize, Serialize};
use similar::{Algorithm, DiffOp, capture_diff_slices};

use crate::{
    draft::{Draft, Paragraph},
    figures::{Figures, numbers},
    prose::link,
    text::{Fresh, Is, Text},
};

/// An edited text with the draft it was made of.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Kept {
    /// The draft: what each paragraph is about, and its words.
    pub draft: Vec<(String, String)>,
    /// What became of it.
    pub text: String,
}

impl Kept {
    /// Keeps a text made of a draft.
    pub fn new(draft: &Draft, text: &str) -> Self {
        let paragraphs = draft.paragraphs.iter().map(|paragraph| (paragraph.about.clone(), paragraph.markdown.clone()));
        Self { draft: paragraphs.collect(), text: text.replace("\r\n", "\n") }
    }

    /// The text with today's numbers.
    pub fn refreshed(&self, draft: &Draft, figures: &Figures) -> Refreshed {
        let edited = paragraphs_of(&self.text);
        let mut written: Vec<Written> = Vec::new();
        for (text, was) in self.aligned(&edited) {
            match was {
                // Left as drafted: drafted anew, or gone with what it was about.
                Some(at) if text == self.draft[at].1 => {
                    if let Some(now) = draft.paragraphs.iter().find(|now| now.about == self.draft[at].0) {
                        written.push(Written::drafted(now, Some(text), figures));
                    }
                }
                was => written.push(self.edited(text, was, draft, figures)),
            }
        }
        for (place, now) in draft.paragraphs.iter().enumerate() {
            // What was not drafted before is new; what was and is gone was struck out.
            if self.draft.iter().any(|before| before.0 == now.about) {
                continue;
            }
            let earlier = &draft.paragraphs[..place];
            let after = written.iter().rposition(|it| earlier.iter().any(|before| Some(&before.about) == it.about.as_ref()));
            written.insert(after.map_or(0, |at| at + 1), Written { is_new: true, ..Written::drafted(now, None, figures) });
        }
        Refreshed { paragraphs: written }
    }

    /// Paragraphs of the text, each with the place of the drafted one it was made of.
    fn aligned<'t>(&self, edited: &[&'t str]) -> Vec<(&'t str, Option<usize>)> {
        let before: Vec<&str> = self.draft.iter().map(|paragraph| paragraph.1.as_str()).collect();
        let mut aligned: Vec<(&str, Option<usize>)> = edited.iter().map(|text| (*text, None)).collect();
        for op in capture_diff_slices(Algorithm::Myers, &before, edited) {
            match op {
                DiffOp::Equal { old_index, new_index, len } => {
                    (0..len).for_each(|n| aligned[new_index + n].1 = Some(old_index + n));
                }
                DiffOp::Replace { old_index, old_len, new_index, new_len } => {
                    self.pair(&mut aligned[new_index..new_index + new_len], old_index..old_index + old_len);
                }
                DiffOp::Delete { .. } | DiffOp::Insert { .. } => {}
            }
        }
        aligned
    }

    /// Pairs rewritten paragraphs with the drafted ones in whose place they stand: one for one if they are as many, else with those
    /// they share most words with.
    fn pair(&self, rewritten: &mut [(&str, Option<usize>)], drafted: Range<usize>) {
        if rewritten.len() == drafted.len() {
            rewritten.iter_mut().zip(drafted).for_each(|(it, at)| it.1 = Some(at));
            return;
        }
        let mut free: Vec<usize> = drafted.collect();
        for (text, was) in rewritten {
            let alike = |at: &usize| similar::TextDiff::from_words(self.draft[*at].1.as_str(), text).ratio();
            let best = free.iter().map(|at| (*at, alike(at))).max_by(|a, b| a.1.total_cmp(&b.1));
            if let Some((at, ratio)) = best
                && ratio > LEAST_ALIKE
            {
                free.retain(|other| *other != at);
                *was = Some(at);
            }
        }
    }

    fn edited(&self, text: &str, was: Option<usize>, draft: &Draft, figures: &Figures) -> Written {
        let (markdown, fresh) = renumbered(text, figures);
        let about = was.map(|at| self.draft[at].0.clone());
        let note = was.and_then(|at| {
            let (about, before) = &self.draft[at];
            match draft.paragraphs.iter().find(|now| now.about == *about) {
                None => Some(Note::NothingToSay),
                Some(now) if without_figures(&now.markdown) != without_figures(before) => {
                    Some(Note::SaysNow(now.markdown.clone()))
                }
                Some(_) => None,
            }
        });
        let own = figures_of_ones_own(&markdown);
        Written { about, markdown, fresh, is_new: false, note, own }
    }
}

/// Paragraphs that share less than this of their words have nothing to do with one another.
const LEAST_ALIKE: f32 = 0.3;

/// A text with today's numbers.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Refreshed {
    /// Its paragraphs.
    pub paragraphs: Vec<Written>,
}

/// A paragraph of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// What it is about, if it comes from the draft.
    pub about: Option<String>,
    /// CommonMark with today's numbers.
    pub markdown: String,
    /// How each number of the answer in it stands, in order.
    pub fresh: Vec<Fresh>,
    /// The draft said nothing of this before.
    pub is_new: bool,
    /// What to look at again.
    pub note: Option<Note>,
    /// Numbers with units in it that are not the answer's.
    pub own: Vec<String>,
}

/// Why edited words may have become untrue.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Note {
    /// The draft of this paragraph says something else now (CommonMark).
    SaysNow(String),
    /// The draft has nothing to say of this any more.
    NothingToSay,
}

impl Written {
    fn drafted(now: &Paragraph, before: Option<&str>, figures: &Figures) -> Self {
        let fresh = before.map_or_else(Vec::new, |before| renumbered_against(before, &now.markdown));
        let fresh = if fresh.is_empty() { renumbered(&now.markdown, figures).1 } else { fresh };
        Self { about: Some(now.about.clone()), markdown: now.markdown.clone(), fresh, is_new: false, note: None, own: Vec::new() }
    }

    /// It asks to be looked at: a number is another one, or its words may have become untrue.
    pub fn is_marked(&self) -> bool {
        self.is_new || self.note.is_some() || self.fresh.iter().any(|fresh| *fresh != Fresh::Same)
    }
}

impl Refreshed {
    /// The text to go on editing.
    pub fn markdown(&self) -> String {
        let paragraphs: Vec<&str> = self.paragraphs.iter().map(|written| written.markdown.as_str()).collect();
        paragraphs.join("\n\n")
    }

    /// The text to lay out, its numbers marked where they are others now.
    pub fn text(&self) -> Text {
        let mut text = Text::default();
        for written in &self.paragraphs {
            text.blocks.extend(written.text().blocks);
        }
        text
    }
}

impl Written {
    /// The paragraph to lay out.
    pub fn text(&self) -> Text {
        let mut text = Text::from_markdown(&self.markdown);
        for (place, fresh) in text.figures_mut().zip(&self.fresh) {
            *place = fresh.clone();
        }
        text
    }
}

/// Blocks between empty lines.
fn paragraphs_of(text: &str) -> Vec<&str> {
    let mut paragraphs = Vec::new();
    let mut start: Option<usize> = None;
    let mut end = 0;
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        if line.trim().is_empty() {
            paragraphs.extend(start.take().map(|start| text[start..end].trim_end()));
        } else {
            start.get_or_insert(at);
            end = at + line.len();
        }
        at += line.len();
    }
    paragraphs.extend(start.map(|start| text[start..end].trim_end()));
    paragraphs
}

/// A figure of the answer in a text: `[0.93°](#change.head_angle)`, with what stands in its brackets and its name.
struct Marked {
    whole: Range<usize>,
    shown: String,
    name: String,
}

/// The figures of the answer in CommonMark, in order.
fn marked(markdown: &str) -> Vec<Marked> {
    let events = pulldown_cmark::Parser::new(markdown).into_offset_iter();
    let mut found: Vec<Marked> = Vec::new();
    let mut open = false;
    for (event, span) in events {
        match event {
            pulldown_cmark::Event::Start(pulldown_cmark::Tag::Link { dest_url, .. }) => {
                open = dest_url.starts_with('#');
                if open {
                    found.push(Marked { whole: span, shown: String::new(), name: dest_url[1..].to_owned() });
                }
            }
            pulldown_cmark::Event::End(pulldown_cmark::TagEnd::Link) => open = false,
            pulldown_cmark::Event::Text(words) if open => {
                if let Some(last) = found.last_mut() {
                    last.shown.push_str(&words);
                }
            }
            _ => {}
        }
    }
    found
}

/// The text with the numbers of the answer as they are today, and how each stands.
fn renumbered(markdown: &str, figures: &Figures) -> (String, Vec<Fresh>) {
    let mut text = String::with_capacity(markdown.len());
    let mut fresh = Vec::new();
    let mut done = 0;
    for it in marked(markdown) {
        match figures.get(&it.name) {
            Some(figure) if figure.text != it.shown => {
                text.push_str(&markdown[done..it.whole.start]);
                text.push_str(&link(&figure.text, &it.name));
                done = it.whole.end;
                fresh.push(Fresh::Was(it.shown));
            }
            Some(_) => fresh.push(Fresh::Same),
            None => fresh.push(Fresh::Gone),
        }
    }
    text.push_str(&markdown[done..]);
    (text, fresh)
}

/// How the numbers of a paragraph stand to those of the paragraph it replaces, by name.
fn renumbered_against(before: &str, now: &str) -> Vec<Fresh> {
    let earlier = marked(before);
    let stands = |it: Marked| match earlier.iter().find(|earlier| earlier.name == it.name) {
        Some(earlier) if earlier.shown != it.shown => Fresh::Was(earlier.shown.clone()),
        _ => Fresh::Same,
    };
    marked(now).into_iter().map(stands).collect()
}

/// The words of a text alone, each number of the answer as its name.
fn without_figures(markdown: &str) -> String {
    let runs: Vec<String> = Text::from_markdown(markdown)
        .runs()
        .map(|run| match &run.is {
            Is::Figure { name, .. } => format!("#{name}"),
            Is::Words | Is::Link { .. } => run.words.clone(),
        })
        .collect();
    runs.concat()
}

/// Numbers with units that somebody wrote by hand: no computation keeps them true.
fn figures_of_ones_own(markdown: &str) -> Vec<String> {
    let text = Text::from_markdown(markdown);
    let words = text.runs().filter(|run| !matches!(run.is, Is::Figure { .. })).map(|run| run.words.as_str());
    words.flat_map(|words| numbers(words).into_iter().map(|span| words[span].to_owned())).collect()
}
