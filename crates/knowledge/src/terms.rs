//! Terms of margins: from their text to what they stand for.

use quantity::{Dimension, QuantityProblem, parse};
use source_file::{
    Problem, Problems, Text,
    toml_table::{Table, Value, What},
};

use crate::{
    Knowledge,
    entries::{About, AttributeType, Condition, NameOf, Of, Pose, Term, TermOf},
    ids::{AttributeId, FamilyId, SlotId},
    read::table_kind,
    standards::FigureType,
};

/// How terms may be written, for those that are not.
const FORMS: &str = "write `slot.attribute`, `slot.attribute.figure` of a standard, `setup.…`, `rider.…`, `chart.…`, `unladen.…`, \
                     `sagged.…`, `change.unladen.…`, or a number with its unit";

/// Reads a term: a text, or a table with `of` and `times` or `else`. Returns its dimension too.
pub(crate) fn term(knowledge: &Knowledge, value: Value<'_>, problems: &mut Problems) -> Option<(Term, Dimension)> {
    let wrong = value.wrong_kind("a term: a text, or a table with `of`, `times`, `else`");
    match value.what(problems)? {
        What::Text(text) => {
            let (of, dimension) = of(knowledge, &text, problems)?;
            Some((Term { of, times: 1.0, by: None, otherwise: None }, dimension))
        }
        What::Table(table) => table_term(knowledge, table, problems),
        _ => {
            problems.push(wrong);
            None
        }
    }
}

fn table_term(knowledge: &Knowledge, mut table: Table<'_>, problems: &mut Problems) -> Option<(Term, Dimension)> {
    let text: Option<Text<'_>> = table.need("of", problems);
    let times: Option<Value<'_>> = table.get("times", problems);
    let otherwise: Option<Text<'_>> = table.get("else", problems);
    if times.is_none() && otherwise.is_none() && table.has("of") {
        let problem = table.problem("a term in braces with nothing but `of`");
        problems.push(problem.help("write the text alone, or say `times = 0.5` or `else = \"0 mm\"`"));
    }
    let mut term = Term {
        of: TermOf::Literal(quantity::Quantity::exact(0.0, Dimension::Number, quantity::Origin::Computed)),
        times: 1.0,
        by: None,
        otherwise: None,
    };
    let mut sound = true;
    match times.map(|value| (value.wrong_kind("a number, or the name of a bare number"), value.what(problems))) {
        Some((_, Some(What::Number(0.0)))) => {
            problems.push(table.problem("a term that counts zero times").help("leave it out"));
        }
        Some((_, Some(What::Number(times)))) => term.times = times,
        Some((_, Some(What::Text(text)))) => match of(knowledge, &text, problems) {
            Some((by, Dimension::Number)) => term.by = Some(by),
            Some((_, dimension)) => {
                let problem = text.problem(format!("`{}` is {}", text.as_str(), dimension.with_article()));
                problems.push(problem.label("expected a bare number"));
                sound = false;
            }
            None => sound = false,
        },
        Some((wrong, Some(_))) => {
            problems.push(wrong);
            sound = false;
        }
        Some((_, None)) => sound = false,
        None => {}
    }
    table.finish(problems);
    let (of, dimension) = of(knowledge, &text?, problems)?;
    term.of = of;
    if let Some(text) = otherwise {
        if term.of.slot().is_none() {
            problems.push(text.problem("`else` of what is in no slot").label("never needed"));
        }
        term.otherwise = Some(crate::read::quantity(&text, dimension, problems)?.value());
    }
    sound.then_some((term, dimension))
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
        [place, id] => {
            let (slot, attribute) = attribute_at(knowledge, text, place, id, problems)?;
            let what = knowledge.attribute_of(attribute).what;
            let is_count = slot.is_some() && matches!(what, AttributeType::Count { .. });
            let Some(dimension) = what.dimension().or(is_count.then_some(Dimension::Number)) else {
                let problem = text.problem(format!("`{}` is not a quantity", text.as_str())).label("expected a quantity");
                problems.push(problem.help_if(figures_of(knowledge, text, what)));
                return None;
            };
            let of = slot.map_or(TermOf::Table { attribute }, |slot| TermOf::Part { slot, attribute, of: Of::Value });
            Some((of, dimension))
        }
        [place, id, figure] => {
            let (slot, attribute) = attribute_at(knowledge, text, place, id, problems)?;
            let (of, dimension) = of_attribute(knowledge, text, attribute, figure, problems)?;
            Some((TermOf::Part { slot: slot?, attribute, of }, dimension))
        }
        _ => {
            problems.push(text.problem(format!("`{}` is no term", text.as_str())).help(FORMS));
            None
        }
    }
}

/// What a third word says of an attribute: the figure of a standard, or which of a row of numbers.
fn of_attribute(
    knowledge: &Knowledge,
    text: &Text<'_>,
    attribute: AttributeId,
    word: &str,
    problems: &mut Problems,
) -> Option<(Of, Dimension)> {
    match knowledge.attribute_of(attribute).what {
        AttributeType::Numbers { .. } => {
            let found =
                [("largest", Of::Largest), ("smallest", Of::Smallest), ("count", Of::Count)].into_iter().find(|w| w.0 == word);
            if found.is_none() {
                problems.push(
                    text.problem(format!("a row of numbers has no `{word}`")).help("known: `largest`, `smallest`, `count`"),
                );
            }
            Some((found?.1, Dimension::Number))
        }
        AttributeType::Standard { family } => {
            let place = figure(knowledge, text, family, word, problems)?;
            let FigureType::Quantity(dimension) = knowledge.family_of(family).figures[place].what else {
                problems.push(text.problem(format!("`{}` is a word", text.as_str())).label("expected a quantity"));
                return None;
            };
            Some((Of::Figure(place), dimension))
        }
        _ => {
            let problem = text.problem(format!("`{}` has no figures", text.as_str()));
            problems.push(problem.label("only a standard or a row of numbers has"));
            None
        }
    }
}

/// A figure of a family by its id.
pub(crate) fn figure(
    knowledge: &Knowledge,
    text: &Text<'_>,
    family: FamilyId,
    word: &str,
    problems: &mut Problems,
) -> Option<usize> {
    let family = knowledge.family_of(family);
    let found = family.figures.iter().position(|figure| figure.id == word);
    if found.is_none() {
        let ids = family.figures.iter().map(|figure| figure.id.as_str());
        let problem = text.problem(format!("a {} has no figure `{word}`", family.name));
        problems.push(match source_file::closest(word, ids.clone()) {
            Some(near) => problem.help(format!("did you mean `{near}`?")),
            None => problem.help(format!("known: {}", ids.map(|id| format!("`{id}`")).collect::<Vec<_>>().join(", "))),
        });
    }
    found
}

/// What could be meant by a standard where a quantity is wanted.
fn figures_of(knowledge: &Knowledge, text: &Text<'_>, what: AttributeType) -> Option<String> {
    let AttributeType::Standard { family } = what else { return None };
    let figures: Vec<String> = knowledge
        .family_of(family)
        .figures
        .iter()
        .filter(|figure| matches!(figure.what, FigureType::Quantity(_)))
        .map(|figure| format!("`{}.{}`", text.as_str(), figure.id))
        .collect();
    (!figures.is_empty()).then(|| format!("its figures are {}", figures.join(", ")))
}

/// A name: `slot.attribute`, or `slot.attribute.figure` of a standard whose figure is a word.
pub(crate) fn name(knowledge: &Knowledge, text: &Text<'_>, problems: &mut Problems) -> Option<NameOf> {
    name_at(knowledge, text, text.as_str(), problems)
}

fn name_at(knowledge: &Knowledge, text: &Text<'_>, path: &str, problems: &mut Problems) -> Option<NameOf> {
    let words: Vec<&str> = path.split('.').collect();
    let (place, id, word) = match words[..] {
        [place, id] => (place, id, None),
        [place, id, word] => (place, id, Some(word)),
        _ => {
            let problem = text.problem(format!("`{path}` is no name of a part"));
            problems.push(problem.help("write `slot.attribute`, or `slot.attribute.figure` of a standard"));
            return None;
        }
    };
    let (slot, attribute) = attribute_at(knowledge, text, place, id, problems)?;
    let what = knowledge.attribute_of(attribute).what;
    let figure = match (what, word) {
        (AttributeType::Standard { family }, Some(word)) => Some(figure(knowledge, text, family, word, problems)?),
        (AttributeType::Standard { .. } | AttributeType::Standards { .. } | AttributeType::Word, None) => None,
        _ => {
            problems.push(text.problem(format!("`{path}` is not a name")).label("expected a word or a standard"));
            return None;
        }
    };
    if let (Some(place), Some(family)) = (figure, what.family())
        && knowledge.family_of(family).figures[place].what != FigureType::Word
    {
        problems.push(text.problem(format!("`{path}` is a quantity")).label("expected a word"));
        return None;
    }
    Some(NameOf { slot: slot?, attribute, figure })
}

/// A condition: a slot, a flag, or `name = word`.
pub(crate) fn condition(knowledge: &Knowledge, text: &Text<'_>, problems: &mut Problems) -> Option<Condition> {
    if let Some((path, word)) = text.as_str().split_once('=') {
        let (path, word) = (path.trim(), word.trim());
        let name = name_at(knowledge, text, path, problems)?;
        let mut meant = word.to_owned();
        if name.figure.is_none()
            && let Some(family) = knowledge.attribute_of(name.attribute).what.family()
        {
            match knowledge.standard(family, word) {
                Ok(standard) => meant.clone_from(&standard.id),
                Err(unknown) => {
                    problems.push(text.problem(unknown.to_string()).help_if(unknown.help()));
                    return None;
                }
            }
        }
        return Some(Condition::Is { name, word: meant });
    }
    if !text.as_str().contains('.') {
        return knowledge.names.slots.known(text, problems).map(Condition::Filled);
    }
    let (slot, attribute) = attribute(knowledge, text, problems)?;
    let is_flag = knowledge.attribute_of(attribute).what == AttributeType::Flag;
    let flag = slot.filter(|_| is_flag).map(|slot| Condition::Flag { slot, attribute });
    if flag.is_none() {
        let problem = text.problem(format!("`{}` is not a yes-or-no attribute of a part", text.as_str()));
        problems.push(problem.help("a condition is a slot, a yes-or-no attribute, or `slot.attribute = word`"));
    }
    flag
}

/// A number with its unit, which says of what dimension it is.
fn literal(text: &Text<'_>, problems: &mut Problems) -> Option<(TermOf, Dimension)> {
    let mut errors = Vec::new();
    for dimension in Dimension::ALL {
        match parse(text, dimension) {
            Ok(written) if written.unit.is_some() || dimension == Dimension::Number => {
                return Some((TermOf::Literal(written.quantity), dimension));
            }
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
    attribute_at(knowledge, text, place, id, problems)
}

/// The same, of two words that stand at the beginning of a text.
fn attribute_at(
    knowledge: &Knowledge,
    text: &Text<'_>,
    place: &str,
    id: &str,
    problems: &mut Problems,
) -> Option<(Option<SlotId>, AttributeId)> {
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
        let problem =
            text.problem_within(place.len() + 1..place.len() + 1 + id.len(), format!("`{place}` has no attribute `{id}`"));
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

/// The problem of a list whose terms are of different dimensions.
pub(crate) fn mixed(problem: Problem, one: Dimension, other: Dimension) -> Problem {
    problem.label(format!("{} and {} do not add up", one.with_article(), other.with_article()))
}
