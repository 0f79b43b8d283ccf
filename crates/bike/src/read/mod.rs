//! Reading builds, catalogues and swaps. A file is read to its end; all that is wrong is reported at once, and then nothing of it
//! is used.
//!
//! | function | reads |
//! |---|---|
//! | [`read_build`], [`build_from`] | a build, with the catalogues it names or against one at hand |
//! | [`read_catalogue`], [`catalogue_from`], [`catalogue_of`] | catalogues: files and folders, TOML and CSV |
//! | [`read_swap`], [`swap_from`] | a swap |
//! | [`parse_set`], [`parse_unset`], [`parse_adjust`], [`adjust`] | the same from a command line |
//!
//! Whatever the text, the outcome is a value or problems, never a panic (`tests/mutations.rs`).

mod argument;
mod build_file;
mod catalogue_csv;
mod catalogue_file;
mod part_table;
mod quantity_text;
mod swap_file;
mod values;

use std::{cell::OnceCell, collections::HashSet};

use knowledge::{About, Attribute, AttributeId, KindId, Knowledge};
use source_file::{Problem, Problems, closest};

pub use argument::{adjust, parse_adjust, parse_set, parse_unset};
pub use build_file::{build_from, is_build, read_build};
pub use catalogue_file::{MOST_INCLUDE_DEPTH, catalogue_from, catalogue_of, read_catalogue};
pub use swap_file::{read_swap, swap_from};
pub(crate) use values::{AGE, MASS, PRICE};

use crate::catalogue::Catalogue;

/// An attribute with its id.
#[derive(Clone, Copy, Debug)]
struct Known<'k> {
    id: AttributeId,
    attribute: &'k Attribute,
}

/// What all reading of one call shares: the words that are known, and what was found wrong so far.
struct Reader<'k> {
    knowledge: &'k Knowledge,
    /// Attributes by index of their kind, gathered when they are first asked for: one word on a command line asks for few.
    attributes: Vec<OnceCell<Vec<Known<'k>>>>,
    problems: Problems,
    /// Ids of catalogue parts that could not be read: naming one of them is no second mistake.
    broken: HashSet<String>,
    /// A whole catalogue file could not be read, so any id may have stood in it.
    catalogue_is_missing: bool,
}

impl<'k> Reader<'k> {
    fn new(knowledge: &'k Knowledge) -> Self {
        let attributes = vec![OnceCell::new(); knowledge.kinds.len()];
        Self { knowledge, attributes, problems: Problems::new(), broken: HashSet::new(), catalogue_is_missing: false }
    }

    /// The attributes of a kind.
    fn known(&self, kind: KindId) -> &[Known<'k>] {
        let gathered = || self.knowledge.attributes_of(kind).map(|(id, attribute)| Known { id, attribute }).collect();
        self.attributes.get(kind.index()).map_or(&[], |known| known.get_or_init(gathered))
    }

    /// `value` if nothing was wrong.
    fn done<T>(self, value: Option<T>) -> Result<T, Problems> {
        match value {
            Some(value) if self.problems.is_empty() => Ok(value),
            _ => Err(self.problems),
        }
    }

    fn push(&mut self, problem: Problem) {
        self.problems.push(problem);
    }

    /// Where a word that is unknown here would be at home: "`[setup]`", "`drawn_with`".
    fn home_of(&self, word: &str, not_in: Option<KindId>) -> Option<String> {
        let tables = [(About::Setup, "`[setup]`"), (About::Rider, "`[rider]`"), (About::Chart, "`[frame.chart]`")];
        tables.into_iter().find_map(|(about, heading)| {
            let kind = self.knowledge.table(about).filter(|kind| Some(*kind) != not_in)?;
            let found = self.known(kind).iter().find(|known| known.attribute.id == word)?;
            Some(match &found.attribute.within {
                Some(group) => format!("`{group}` of {heading}"),
                None => heading.to_owned(),
            })
        })
    }
}

/// "did you mean", over the ids of a catalogue; those of the kind that is wanted first.
fn closest_id<'c>(id: &str, catalogue: &'c Catalogue, kind: Option<KindId>) -> Option<&'c str> {
    let of_kind = kind.and_then(|kind| closest(id, catalogue.of_kind(kind).filter_map(|part| part.id.as_deref())));
    of_kind.or_else(|| closest(id, catalogue.iter().filter_map(|part| part.id.as_deref())))
}

/// A short list in backticks: "`a`, `b`, `c` and 12 more".
fn list<'a>(words: impl Iterator<Item = &'a str>) -> String {
    const MOST_LISTED: usize = 8;
    let words: Vec<&str> = words.collect();
    let shown = if words.len() > MOST_LISTED + 1 { MOST_LISTED } else { words.len() };
    let text = words[..shown].iter().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", ");
    if shown < words.len() { format!("{text} and {} more", words.len() - shown) } else { text }
}
