//! Terms of margins: from their text to what they stand for.

use quantity::{Dimension, QuantityProblem, parse};
use source_file::{
    Problem, Problems, Text,
    toml_table::{Table, Value, What},
};

use crate::{
    Knowledge,
    entries::{About, AttributeType, Flag, Pose, Term, TermOf},
    ids::{AttributeId, SlotId},
    read::table_kind,
};

/// How terms may be written, for those that are not.
const FORMS: &str = "write `slot.attribute`, `setup.…`, `rider.…`, `chart.…`, `unladen.…`, `sagged.…`, `change.unladen.…`, or a number with \
                     its unit";

/// Reads a term: a text, or a table with `of` and `times`. Returns its dimension too.
pub(crate) fn term(knowledge: &Knowledge, value: Value<'_>, problems: &mut Problems) -> Option<(Term, Dimension)> {
    let wrong = value.wrong_kind("a term: a text, or a table with `of` and `times`");
    let (text, times) = match value.what(problems)? {
        What::Text(text) => (text, 1.0),
        What::Table(table) => table_term(table, problems)?,
        _ => {
            problems.push(wrong);
            return None;
        }
    };
    let (of, dimension) = of(knowledge, &text, problems)?;
    Some((Term { of, times }, dimension))
}

fn table_term<'f>(mut table: Table<'f>, problems: &mut Problems) -> Option<(Text<'f>, f64)> {
    let of: Option<Text<'f>> = table.need("of", problems);
    let times: Option<f64> = table.need("times", problems);
    if times == Some(0.0) {
        problems.push(table.problem("a term that counts zero times").help("leave it out"));
    }
    table.finish(problems);
    of.zip(times)
}

fn of(knowledge: &Knowledge, text: &Text<'_>, problems: &mut Problems) -> Option<(TermOf, Dimension)> {
    // A number begins a literal; a name never begins with one.
    if text.starts_with(|first: char| first.is_ascii_digit() || matches!(first, '-' | '−' | '+' | '~' | '.')) {
        return literal(text, problems);
    }
    let words: Vec<&str> = text.split('.').collect();
    match words[..] {
        ["change", pose, word] => {
            let pose = self::pose(text, pose, problems)?;
            let output = knowledge.names.outputs.known_as(text, word, problems)?;
            Some((TermOf::Change { pose, output }, knowledge.output_of(output).dimension))
        }
        [pose @ ("unladen" | "sagged"), word] => {
            let output = knowledge.names.outputs.known_as(text, word, problems)?;
            let pose = self::pose(text, pose, problems)?;
            Some((TermOf::Output { pose, output }, knowledge.output_of(output).dimension))
        }
        [_, _] => {
            let (slot, attribute) = attribute(knowledge, text, problems)?;
            let Some(dimension) = knowledge.attribute_of(attribute).dimension() else {
                problems.push(text.problem(format!("`{}` is not a quantity", text.as_str())).label("expected a quantity"));
                return None;
            };
            let of = slot.map_or(TermOf::Table { attribute }, |slot| TermOf::Part { slot, attribute });
            Some((of, dimension))
        }
        _ => {
            problems.push(text.problem(format!("`{}` is no term", text.as_str())).help(FORMS));
            None
        }
    }
}

/// A number with its unit, which says of what dimension it is.
fn literal(text: &Text<'_>, problems: &mut Problems) -> Option<(TermOf, Dimension)> {
    let mut errors = Vec::new();
    for dimension in Dimension::ALL {
        match parse(text, dimension) {
            Ok(written) if written.unit.is_some() => return Some((TermOf::Literal(written.quantity), dimension)),
            Ok(_) => {}
            Err(error) => errors.push(error),
        }
    }
    let problem = text.problem(format!("`{}` is no quantity", text.as_str()));
    // Of what each dimension says against it, that which knows a unit close to the one written.
    let helpful = errors.into_iter().find(|e| matches!(e.problem, QuantityProblem::UnknownUnit { closest: Some(_), .. }));
    problems.push(match helpful {
        Some(error) => problem.label(error.label()).help_if(error.help()),
        None => problem.label("expected a number and its unit").help("write it like `25 deg` or `6 mm`"),
    });
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

/// `slot.attribute`, or a table's name and an attribute; then there is no slot.
pub(crate) fn attribute(
    knowledge: &Knowledge,
    text: &Text<'_>,
    problems: &mut Problems,
) -> Option<(Option<SlotId>, AttributeId)> {
    let (place, id) = halves(text, "slot.attribute", problems)?;
    let slot = knowledge.slot(place);
    let kind = slot.map(|slot| knowledge.slot_of(slot).kind).or_else(|| table_kind(knowledge, place));
    let names = &knowledge.names;
    let Some(kind) = kind else {
        if !(names.slots.is_incomplete() || names.kinds.is_incomplete()) {
            let tables = knowledge.kinds.iter().filter(|k| k.about != About::Part).map(|k| k.id.as_str());
            let near = source_file::closest(place, names.slots.ids().chain(tables));
            let problem = text.problem_within(0..place.len(), format!("there is no slot or table `{place}`"));
            problems.push(problem.help_if(near.map(|n| format!("did you mean `{n}.{id}`?"))));
        }
        return None;
    };
    let ids = &names.attributes[kind.index()];
    let attribute = ids.get(id);
    if attribute.is_none() && !ids.is_incomplete() {
        let near = source_file::closest(id, ids.ids());
        let problem = text.problem_within(place.len() + 1..text.len(), format!("`{place}` has no attribute `{id}`"));
        problems.push(problem.help_if(near.map(|n| format!("did you mean `{place}.{n}`?"))));
    }
    Some((slot, attribute?))
}

/// `kind.attribute`.
pub(crate) fn attribute_of_kind(knowledge: &Knowledge, text: &Text<'_>, problems: &mut Problems) -> Option<AttributeId> {
    let (kind_id, id) = halves(text, "kind.attribute", problems)?;
    let kind = knowledge.names.kinds.known_as(text, kind_id, problems)?;
    let ids = &knowledge.names.attributes[kind.index()];
    let attribute = ids.get(id);
    if attribute.is_none() && !ids.is_incomplete() {
        let near = source_file::closest(id, ids.ids());
        let problem = text.problem(format!("there is no attribute `{}`", text.as_str()));
        problems.push(problem.help_if(near.map(|n| format!("did you mean `{kind_id}.{n}`?"))));
    }
    attribute
}

/// The text before and after its dot.
fn halves<'t>(text: &'t Text<'_>, form: &str, problems: &mut Problems) -> Option<(&'t str, &'t str)> {
    let halves = text.as_str().split_once('.');
    if halves.is_none() {
        problems.push(text.problem(format!("`{}` names no attribute", text.as_str())).help(format!("write `{form}`")));
    }
    halves
}

/// A flag: a yes-or-no attribute of a slot's part.
pub(crate) fn flag(knowledge: &Knowledge, text: &Text<'_>, problems: &mut Problems) -> Option<Flag> {
    let (slot, attribute) = attribute(knowledge, text, problems)?;
    let is_flag = knowledge.attribute_of(attribute).what == AttributeType::Flag;
    let flag = slot.filter(|_| is_flag).map(|slot| Flag { slot, attribute });
    if flag.is_none() {
        problems.push(text.problem(format!("`{}` is not a yes-or-no attribute of a part", text.as_str())));
    }
    flag
}

/// The problem of a list whose terms are of different dimensions.
pub(crate) fn mixed(problem: Problem, one: Dimension, other: Dimension) -> Problem {
    problem.label(format!("{} and {} do not add up", one.with_article(), other.with_article()))
}
