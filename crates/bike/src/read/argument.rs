//! The same as a swap file, said on a command line: `--set fork=tarn-150`, `--unset front_rotor`, `--adjust "stem_spacers=10 mm"`.

use std::ops::Range;
use std::sync::Arc;

use knowledge::{About, AttributeId, AttributeType, Knowledge, SlotId};
use quantity::{Origin, Quantity};
use source_file::{Problem, SourceFile, Text, closest, quoted};

use super::quantity_text::Wanted;
use super::{Known, Reader, list};
use crate::build::{Build, Swap};
use crate::catalogue::Catalogue;
use crate::part::Part;
use crate::value::Value;

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

/// Reads as [`parse_adjust`], or a number of a part, `stem.length=60 mm`, and puts it into a swap of a build. Of a number said twice
/// the last one counts. For a part's number, one like the part that is there is put on trial, with that number: nobody sells it at a
/// known price, so it has neither id nor price nor mass.
///
/// # Errors
/// What is wrong with it, shown under the argument itself.
pub fn adjust(argument: &str, build: &Build, swap: &mut Swap, knowledge: &Knowledge) -> Result<(), Problem> {
    let place = argument.split(['.', '=']).next().and_then(|word| knowledge.slot(word.trim()));
    let Some(slot) = place.filter(|_| argument.split('=').next().is_some_and(|name| name.contains('.'))) else {
        let (attribute, quantity) = parse_adjust(argument, knowledge)?;
        swap.adjust.retain(|adjusted| adjusted.0 != attribute);
        swap.adjust.push((attribute, quantity));
        return Ok(());
    };
    let file = SourceFile::from_text("--adjust", argument);
    let mut reader = Reader::new(knowledge);
    let (name, value) = halves(&file, "stem.length=60 mm")?;
    let fitted = swap.set.iter().find(|set| set.0 == slot).map(|set| &set.1);
    let there = fitted.or_else(|| build.part(slot).filter(|_| !swap.unset.contains(&slot)));
    let Some(part) = there else {
        let what = &knowledge.slot_of(slot).name;
        return Err(name.problem(format!("there is no part at `{what}` to change")).help("fit one first"));
    };
    let number = reader.number_of_part(&name, part, &value);
    let (known, quantity) = reader.only(number)?;
    let mut like = Part::clone(part);
    for attribute in &known.attribute.unsays {
        like.values.remove(*attribute);
    }
    like.values.set(known.id, Value::Quantity(quantity));
    if !like.name.starts_with(LIKE) {
        like.name = format!("{LIKE}{}", like.name);
    }
    let like = Part { id: None, price: None, mass: None, place: None, ..like };
    swap.set.retain(|set| set.0 != slot);
    swap.set.push((slot, Arc::new(like)));
    Ok(())
}

/// How a part is called that is like another but for its numbers.
const LIKE: &str = "one like ";

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

impl<'k> Reader<'k> {
    /// A quantity of a part, with the attribute it is of.
    fn number_of_part(&mut self, name: &Text<'_>, part: &Part, value: &Text<'_>) -> Option<(Known<'k>, Quantity)> {
        let word = name.split('.').nth(1).unwrap_or_default().trim();
        let quantities: Vec<Known<'k>> =
            self.known(part.kind).iter().filter(|known| known.attribute.dimension().is_some()).copied().collect();
        let Some(known) = quantities.iter().find(|known| known.attribute.id == word) else {
            let kind = &self.knowledge.kind_of(part.kind).name;
            let ids = || quantities.iter().map(|known| known.attribute.id.as_str());
            let problem = name.problem(format!("a {kind} has no number called {}", quoted(word)));
            return self.refuse(match closest(word, ids()) {
                Some(meant) => problem.label(format!("did you mean `{meant}`?")),
                None => problem.label("unknown").help(format!("its numbers: {}", list(ids()))),
            });
        };
        let AttributeType::Quantity { dimension, least, most } = known.attribute.what else { return None };
        let wanted = Wanted::of(known.attribute, dimension, least, most);
        let sourced = wanted.cell(value, None, Origin::MakersSheet, &mut self.problems)?;
        Some((*known, self.with_default_spread(known.id, sourced)))
    }

    /// The value, or the first thing that was wrong.
    fn only<T>(self, value: Option<T>) -> Result<T, Problem> {
        match (value, self.problems.into_iter().next()) {
            (Some(value), None) => Ok(value),
            (_, Some(problem)) => Err(problem),
            (None, None) => Err(Problem::new("the argument says nothing")),
        }
    }
}
