//! Numbering the sources an answer rests on, in order of appearance.

use knowledge::SourceId;

use crate::{answer::SourceNote, ground::Ground};

/// Sources cited so far.
pub(crate) struct Citations<'a> {
    ground: &'a Ground,
    cited: Vec<SourceId>,
}

impl<'a> Citations<'a> {
    pub(crate) fn new(ground: &'a Ground) -> Self {
        Self { ground, cited: Vec::new() }
    }

    /// The number of a source, from 1.
    pub(crate) fn number(&mut self, source: SourceId) -> u32 {
        let place = self.cited.iter().position(|s| *s == source).unwrap_or_else(|| {
            self.cited.push(source);
            self.cited.len() - 1
        });
        u32::try_from(place + 1).unwrap_or(u32::MAX)
    }

    pub(crate) fn into_notes(self) -> Vec<SourceNote> {
        let ground = self.ground;
        (1..)
            .zip(self.cited)
            .map(|(number, id)| {
                let source = ground.knowledge.source_of(id);
                SourceNote { number, text: source.text.clone(), standing: source.standing.word().to_owned() }
            })
            .collect()
    }
}
