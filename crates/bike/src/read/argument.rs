//! The same as a swap file, said on a command line: `--set fork=tarn-150`, `--unset front_rotor`, `--adjust "stem_spacers=10 mm"`.

use std::ops::Range;
use std::sync::Arc;

use knowledge::{About, AttributeId, Knowledge, SlotId};
use quantity::Quantity;
use source_file::{Problem, SourceFile, Text, quoted};

use super::Reader;
use crate::catalogue::Catalogue;
use crate::part::Part;

/// Reads `slot=part`.
///
/// # Errors
/// What is wrong with it, shown under the argument itself.
pub fn parse_set(argument: &str, knowledge: &Knowledge, catalogue: &Catalogue) -> Result<(SlotId, Arc<Part>), Problem> {
    let file = SourceFile::from_text("--set", argument);
    let mut reader = Reader::new(knowledge);
    let (slot, part) = halves(&file, "fork=tarn-150")?;
    let Some(id) = knowledge.slot(&slot) else { return Err(reader.unknown_slot(&slot)) };
    let fitted = reader.part_named(&part, knowledge.slot_of(id).kind, catalogue);
    reader.only(fitted.map(|part| (id, part)))
}

/// Reads the name of a slot to leave empty.
///
/// # Errors
/// What is wrong with it, shown under the argument itself.
pub fn parse_unset(argument: &str, knowledge: &Knowledge) -> Result<SlotId, Problem> {
    let file = SourceFile::from_text("--unset", argument);
    let mut reader = Reader::new(knowledge);
    let word = trimmed(&file, 0..argument.len());
    if word.is_empty() {
        return Err(word.problem("nothing is said").help("name a slot to leave empty, for example `front_rotor`"));
    }
    let slot = reader.slot_to_empty(&word);
    reader.only(slot)
}

/// Reads `stem_spacers=10 mm`, `rider.mass=90 kg`, `chart.bb_height=331 ± 1 mm`: a bare name is one of the set-up, or else of
/// rider or chart.
///
/// # Errors
/// What is wrong with it, shown under the argument itself.
pub fn parse_adjust(argument: &str, knowledge: &Knowledge) -> Result<(AttributeId, Quantity), Problem> {
    let file = SourceFile::from_text("--adjust", argument);
    let mut reader = Reader::new(knowledge);
    let (name, value) = halves(&file, "stem_spacers=10 mm")?;
    let (within, word) = match name.split_once('.') {
        Some(("setup", word)) => (Some(About::Setup), word),
        Some(("rider", word)) => (Some(About::Rider), word),
        Some(("chart", word)) => (Some(About::Chart), word),
        _ => (None, name.as_str()),
    };
    let adjusted = reader.adjustable(&name, word, within).and_then(|(known, wanted, origin)| {
        let sourced = wanted.cell(&value, None, origin, &mut reader.problems)?;
        Some((known.id, reader.with_default_spread(known.id, sourced)))
    });
    reader.only(adjusted)
}

/// What stands before and behind the `=`, without the blanks around them.
fn halves<'f>(file: &'f SourceFile, example: &str) -> Result<(Text<'f>, Text<'f>), Problem> {
    let text = file.text();
    let whole = trimmed(file, 0..text.len());
    let help = format!("write it like `{example}`");
    let Some(at) = text.find('=') else {
        let shown = if whole.is_empty() { "nothing is said".to_owned() } else { format!("{} has no `=`", quoted(&whole)) };
        return Err(whole.problem(shown).help(help));
    };
    let (name, value) = (trimmed(file, 0..at), trimmed(file, at + 1..text.len()));
    if name.is_empty() || value.is_empty() {
        let side = if name.is_empty() { "before" } else { "behind" };
        return Err(Problem::at(file, at..at + 1, format!("nothing stands {side} the `=`")).help(help));
    }
    Ok((name, value))
}

/// A stretch of an argument, without the blanks around it.
fn trimmed(file: &SourceFile, span: Range<usize>) -> Text<'_> {
    let text = &file.text()[span.clone()];
    let start = span.start + text.len() - text.trim_start().len();
    let text = text.trim();
    Text::new(file, start..start + text.len(), text)
}

impl Reader<'_> {
    /// The value, or the first thing that was wrong.
    fn only<T>(self, value: Option<T>) -> Result<T, Problem> {
        match (value, self.problems.into_iter().next()) {
            (Some(value), None) => Ok(value),
            (_, Some(problem)) => Err(problem),
            (None, None) => Err(Problem::new("the argument says nothing")),
        }
    }
}
