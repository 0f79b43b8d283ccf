//! Terms of margins: from their text to what they stand for.

use quantity::{Dimension, parse};
use source_file::{Problem, Problems, Text, closest, toml_table::Table};

use crate::{
    Knowledge,
    entries::{About, AttributeType, Flag, Pose, Term, TermOf},
    ids::{AttributeId, OutputId, SlotId},
};

/// Where an attribute is looked up.
pub(crate) enum Place {
    Slot(SlotId),
    Table,
}

/// Reads a term: a text, or a table with `of` and `times`. Returns its dimension too.
pub(crate) fn term(
    knowledge: &Knowledge,
    value: source_file::toml_table::Value<'_>,
    problems: &mut Problems,
) -> Option<(Term, Dimension)> {
    use source_file::toml_table::What;
    let wrong = value.wrong_kind("a term: a text, or a table with `of` and `times`");
    match value.what(problems)? {
        What::Text(text) => with_times(knowledge, &text, 1.0, problems),
        What::Table(table) => table_term(knowledge, table, problems),
        _ => {
            problems.push(wrong);
            None
        }
    }
}

fn table_term(knowledge: &Knowledge, mut table: Table<'_>, problems: &mut Problems) -> Option<(Term, Dimension)> {
    let of: Option<Text<'_>> = table.need("of", problems);
    let times: Option<f64> = table.need("times", problems);
    table.finish(problems);
    with_times(knowledge, &of?, times?, problems)
}

fn with_times(knowledge: &Knowledge, text: &Text<'_>, times: f64, problems: &mut Problems) -> Option<(Term, Dimension)> {
    let (of, dimension) = of(knowledge, text, problems)?;
    Some((Term { of, times }, dimension))
}

fn of(knowledge: &Knowledge, text: &Text<'_>, problems: &mut Problems) -> Option<(TermOf, Dimension)> {
    let words: Vec<&str> = text.as_str().split('.').collect();
    // A literal begins with a number; a name never does.
    if text.as_str().starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '+' | '~')) {
        return literal(text, problems);
    }
    let known_output = |word: &str, problems: &mut Problems| output(knowledge, text, word, problems);
    match words[..] {
        ["change", pose, word] => {
            let pose = self::pose(text, pose, problems)?;
            let output = known_output(word, problems)?;
            Some((TermOf::Change { pose, output }, knowledge.output_of(output).dimension))
        }
        [pose @ ("unladen" | "sagged"), word] => {
            let output = known_output(word, problems)?;
            let pose = if pose == "unladen" { Pose::Unladen } else { Pose::Sagged };
            Some((TermOf::Output { pose, output }, knowledge.output_of(output).dimension))
        }
        [_, _] => {
            let (place, attribute) = attribute(knowledge, text, problems)?;
            let about = knowledge.attribute_of(attribute);
            let Some(dimension) = about.dimension() else {
                problems.push(text.problem(format!("`{}` is not a quantity", text.as_str())).label("expected a quantity"));
                return None;
            };
            let of = match place {
                Place::Slot(slot) => TermOf::Part { slot, attribute },
                Place::Table => TermOf::Table { attribute },
            };
            Some((of, dimension))
        }
        _ => {
            problems.push(
                text.problem(format!("`{}` is no term", text.as_str()))
                    .help("write `slot.attribute`, `setup.…`, `rider.…`, `chart.…`, `unladen.…`, `sagged.…`, `change.unladen.…`, or a number with its unit"),
            );
            None
        }
    }
}

fn literal(text: &Text<'_>, problems: &mut Problems) -> Option<(TermOf, Dimension)> {
    // The unit says which dimension is meant.
    let mut last = None;
    for dimension in Dimension::ALL {
        match parse(text.as_str(), dimension) {
            Ok(written) => return Some((TermOf::Literal(written.quantity), dimension)),
            Err(error) => last = Some(error),
        }
    }
    if let Some(error) = last {
        problems.push(
            text.problem(format!("`{}` is no quantity", text.as_str()))
                .label(error.label())
                .help("write it like `25 deg` or `6 mm`"),
        );
    }
    None
}

fn pose(text: &Text<'_>, word: &str, problems: &mut Problems) -> Option<Pose> {
    match word {
        "unladen" => Some(Pose::Unladen),
        "sagged" => Some(Pose::Sagged),
        _ => {
            problems.push(text.problem(format!("there is no pose `{word}`")).help("poses are `unladen` and `sagged`"));
            None
        }
    }
}

fn output(knowledge: &Knowledge, text: &Text<'_>, word: &str, problems: &mut Problems) -> Option<OutputId> {
    let found = knowledge.names.outputs.get(word).copied();
    if found.is_none() {
        let near = closest(word, knowledge.outputs.iter().map(|o| o.id.as_str()));
        problems.push(text.problem(format!("there is no output `{word}`")).help_if(near.map(|n| format!("did you mean `{n}`?"))));
    }
    found
}

/// `slot.attribute`, or a table's name and an attribute.
pub(crate) fn attribute(knowledge: &Knowledge, text: &Text<'_>, problems: &mut Problems) -> Option<(Place, AttributeId)> {
    let Some((place, id)) = text.as_str().split_once('.') else {
        problems.push(text.problem(format!("`{}` names no attribute", text.as_str())).help("write `slot.attribute`"));
        return None;
    };
    let slot = knowledge.slot(place);
    let table = knowledge.kind(place).filter(|k| knowledge.kind_of(*k).about != About::Part);
    let kind = slot.map(|s| knowledge.slot_of(s).kind).or(table);
    let Some(kind) = kind else {
        let tables = knowledge.kinds.iter().filter(|k| k.about != About::Part).map(|k| k.id.as_str());
        let near = closest(place, knowledge.slots.iter().map(|s| s.id.as_str()).chain(tables));
        problems.push(
            text.problem(format!("there is no slot or table `{place}`")).help_if(near.map(|n| format!("did you mean `{n}`?"))),
        );
        return None;
    };
    let Some(attribute) = knowledge.attribute(kind, id) else {
        let of_kind = knowledge.attributes.iter().filter(|a| a.kind == kind).map(|a| a.id.as_str());
        let near = closest(id, of_kind);
        problems.push(
            text.problem(format!("`{place}` has no attribute `{id}`"))
                .help_if(near.map(|n| format!("did you mean `{place}.{n}`?"))),
        );
        return None;
    };
    Some((slot.map_or(Place::Table, Place::Slot), attribute))
}

/// A flag: a yes-or-no attribute of a slot's part.
pub(crate) fn flag(knowledge: &Knowledge, text: &Text<'_>, problems: &mut Problems) -> Option<Flag> {
    let (place, attribute) = attribute(knowledge, text, problems)?;
    if let (Place::Slot(slot), AttributeType::Flag) = (place, &knowledge.attribute_of(attribute).what) {
        return Some(Flag { slot, attribute });
    }
    problems.push(text.problem(format!("`{}` is not a yes-or-no attribute of a part", text.as_str())));
    None
}

/// The problem of a list whose terms are of different dimensions.
pub(crate) fn mixed(text: Problem, one: Dimension, other: Dimension) -> Problem {
    text.label(format!("{} and {} do not add up", one.with_article(), other.with_article()))
}
