//! Reading the rules: what is compared, under which conditions, and the sentences for it.

use quantity::{Dimension, Origin, Quantity};
use source_file::{
    Problems, SourceFile, Text,
    toml_table::{FromValue, Table, Value, What},
};

use crate::{
    Knowledge,
    entries::{AttributeType, Condition, MarginKind, MarginRule, NameOf, Severity, Term},
    ids::SourceId,
    read::{id, open, size, tables, word, words, words_if_any},
    terms,
};

/// Reads a file of rules, each a table under `[[key]]`: the margins of the whole bicycle, or the joints of its parts.
pub(crate) fn rules(knowledge: &mut Knowledge, file: Option<&SourceFile>, key: &'static str, problems: &mut Problems) {
    let Some(mut root) = open(file, &mut knowledge.names, |names| names.margins.spoil(), problems) else { return };
    for table in tables(&mut root, key, problems) {
        if let Some(margin) = margin(knowledge, table, problems) {
            knowledge.margins.push(margin);
        }
    }
    root.finish(problems);
}

fn margin(knowledge: &mut Knowledge, mut table: Table<'_>, problems: &mut Problems) -> Option<MarginRule> {
    const SEVERITIES: [(&str, Severity); 4] = [
        ("felt", Severity::Felt),
        ("works badly", Severity::WorksBadly),
        ("does not go", Severity::DoesNotGo),
        ("hurts", Severity::Hurts),
    ];
    let id = id(&mut table, true, problems);
    let name = words(&mut table, "name", problems);
    let slot: Option<Text<'_>> = table.need("slot", problems);
    let severity: Option<Text<'_>> = table.need("severity", problems);
    let when = conditions(knowledge, &mut table, "when", problems);
    let unless = conditions(knowledge, &mut table, "unless", problems);
    let clear = words(&mut table, "clear", problems);
    let short = words(&mut table, "short", problems);
    let unsure = words_if_any(&mut table, "unsure", problems);
    let caution: Option<Text<'_>> = table.get("caution", problems);
    let cure = table.get::<Vec<Text<'_>>>("cure", problems).unwrap_or_default();
    let cure = cure.iter().filter_map(|text| knowledge.names.slots.known(text, problems)).collect();
    let sources = sources(knowledge, &mut table, "source", problems);
    let kind = kind(knowledge, &mut table, problems);
    table.finish(problems);
    for sentence in [clear.as_ref(), short.as_ref(), unsure.as_ref()].into_iter().flatten() {
        placeholders(sentence, kind.as_ref().map(|k| &k.0), problems);
    }
    let slot = slot.and_then(|t| knowledge.names.slots.known(&t, problems));
    let severity = severity.and_then(|t| word(&t, &SEVERITIES, "severity", problems));
    let caution = caution.and_then(|t| knowledge.names.cautions.known(&t, problems));
    let id = id?;
    knowledge.names.margins.enter(&id, Some(knowledge.margins.len()), problems);
    let (kind, dimension) = kind?;
    Some(MarginRule {
        id: id.into_string(),
        name: name?.into_string(),
        slot: slot?,
        dimension,
        severity: severity?,
        kind,
        when,
        unless,
        clear: clear?.into_string(),
        short: short?.into_string(),
        unsure: unsure.map(Text::into_string),
        caution,
        cure,
        sources,
    })
}

pub(crate) fn conditions(
    knowledge: &Knowledge,
    table: &mut Table<'_>,
    key: &'static str,
    problems: &mut Problems,
) -> Vec<Condition> {
    let texts = table.get::<Vec<Text<'_>>>(key, problems).unwrap_or_default();
    texts.iter().filter_map(|text| terms::condition(knowledge, text, problems)).collect()
}

/// One source or a list of them.
pub(crate) fn sources(knowledge: &Knowledge, table: &mut Table<'_>, key: &'static str, problems: &mut Problems) -> Vec<SourceId> {
    let Some(value) = table.need::<Value<'_>>(key, problems) else { return Vec::new() };
    let wrong = value.wrong_kind("the id of a source, or a list of them");
    let none = value.problem("`source` names none").label("expected the id of a source");
    let texts = match value.what(problems) {
        Some(What::Text(text)) => vec![text],
        Some(What::List(list)) => {
            if list.is_empty() {
                problems.push(none);
            }
            list.into_iter().filter_map(|value| Text::from_value(value, problems)).collect()
        }
        Some(_) => {
            problems.push(wrong);
            Vec::new()
        }
        None => Vec::new(),
    };
    texts.iter().filter_map(|text| knowledge.names.sources.known(text, problems)).collect()
}

/// The kind a rule is of, by the keys it has.
fn kind(knowledge: &Knowledge, table: &mut Table<'_>, problems: &mut Problems) -> Option<(MarginKind, Dimension)> {
    let kinds: [(&str, Reads); 7] = [
        ("room", room),
        ("same", same),
        ("between", between),
        ("shaft", interference),
        ("alike", alike),
        ("one_of", one_of),
        ("multiple", multiple),
    ];
    let found: Vec<&(&str, Reads)> = kinds.iter().filter(|kind| table.has(kind.0)).collect();
    match found[..] {
        [(_, read)] => read(knowledge, table, problems),
        [] => {
            table.also_known(kinds.map(|kind| kind.0));
            // What a misspelt key was meant for is said with the key.
            if !table.is_unreliable() {
                let list: Vec<String> = kinds.iter().map(|kind| format!("`{}`", kind.0)).collect();
                let problem = table.problem("a rule that compares nothing").label("missing here");
                problems.push(problem.help(format!("give it one of: {}", list.join(", "))));
            }
            None
        }
        [first, second, ..] => {
            let message = format!("a rule of two kinds: `{}` and `{}`", first.0, second.0);
            problems.push(table.problem(message).help("write two rules"));
            // All of its keys are known, to one or the other.
            let _ = table.take_rest();
            None
        }
    }
}

type Reads = fn(&Knowledge, &mut Table<'_>, &mut Problems) -> Option<(MarginKind, Dimension)>;

fn room(knowledge: &Knowledge, table: &mut Table<'_>, problems: &mut Problems) -> Option<(MarginKind, Dimension)> {
    let room = table.need::<Vec<Value<'_>>>("room", problems).and_then(|values| terms_of(knowledge, values, problems));
    let need = table.need::<Vec<Value<'_>>>("need", problems).and_then(|values| terms_of(knowledge, values, problems));
    let (room, need) = (room?, need?);
    if room.is_empty() || need.is_empty() {
        problems.push(table.problem("a margin of nothing").help("put at least one term into `room` and one into `need`"));
        return None;
    }
    let dimension = one_dimension(table, room.iter().chain(&need), problems)?;
    let plain = |list: Vec<(Term, Dimension)>| list.into_iter().map(|t| t.0).collect();
    Some((MarginKind::Room { room: plain(room), need: plain(need) }, dimension))
}

fn same(knowledge: &Knowledge, table: &mut Table<'_>, problems: &mut Problems) -> Option<(MarginKind, Dimension)> {
    let same = table.need::<Vec<Value<'_>>>("same", problems);
    let within: Option<Text<'_>> = table.need("within", problems);
    let values = same?;
    if values.len() != 2 {
        problems.push(table.problem("`same` compares two terms").help("write two terms in brackets"));
        return None;
    }
    let found = terms_of(knowledge, values, problems)?;
    let dimension = one_dimension(table, found.iter(), problems)?;
    let [(one, _), (other, _)] = found[..] else { return None };
    let within = size(&within?, dimension, false, problems)?;
    Some((MarginKind::Same { one, other, within: Quantity::exact(within, dimension, Origin::CommonPractice) }, dimension))
}

fn between(knowledge: &Knowledge, table: &mut Table<'_>, problems: &mut Problems) -> Option<(MarginKind, Dimension)> {
    let [value, least, most] = ["between", "least", "most"].map(|key| one_term(knowledge, table, key, problems));
    let (value, least, most) = (value?, least?, most?);
    let dimension = one_dimension(table, [&value, &least, &most].into_iter(), problems)?;
    Some((MarginKind::Between { value: (value.0, None), least: least.0, most: most.0 }, dimension))
}

fn interference(knowledge: &Knowledge, table: &mut Table<'_>, problems: &mut Problems) -> Option<(MarginKind, Dimension)> {
    let [shaft, bore, least, most] = ["shaft", "bore", "least", "most"].map(|key| one_term(knowledge, table, key, problems));
    let (shaft, bore, least, most) = (shaft?, bore?, least?, most?);
    let dimension = one_dimension(table, [&shaft, &bore, &least, &most].into_iter(), problems)?;
    let away = Term { times: -bore.0.times, ..bore.0 };
    Some((MarginKind::Between { value: (shaft.0, Some(away)), least: least.0, most: most.0 }, dimension))
}

fn one_term(
    knowledge: &Knowledge,
    table: &mut Table<'_>,
    key: &'static str,
    problems: &mut Problems,
) -> Option<(Term, Dimension)> {
    let value = table.need::<Value<'_>>(key, problems)?;
    terms::term(knowledge, value, problems)
}

fn alike(knowledge: &Knowledge, table: &mut Table<'_>, problems: &mut Problems) -> Option<(MarginKind, Dimension)> {
    let (one, other) = two_names(knowledge, table, "alike", false, problems)?;
    Some((MarginKind::Alike { one, other }, Dimension::Number))
}

fn one_of(knowledge: &Knowledge, table: &mut Table<'_>, problems: &mut Problems) -> Option<(MarginKind, Dimension)> {
    let (one, others) = two_names(knowledge, table, "one_of", true, problems)?;
    Some((MarginKind::OneOf { one, others }, Dimension::Number))
}

/// Two names that can be compared; the second is a list if so wanted.
fn two_names(
    knowledge: &Knowledge,
    table: &mut Table<'_>,
    key: &'static str,
    list: bool,
    problems: &mut Problems,
) -> Option<(NameOf, NameOf)> {
    let texts = table.need::<Vec<Text<'_>>>(key, problems)?;
    let [one, other] = &texts[..] else {
        problems.push(table.problem(format!("`{key}` compares two names")).help("write two names in brackets"));
        return None;
    };
    let first = terms::name(knowledge, one, problems);
    let second = terms::name(knowledge, other, problems);
    let (first, second) = (first?, second?);
    let is_list = |name: &NameOf| matches!(knowledge.attribute_of(name.attribute).what, AttributeType::Standards { .. });
    for (text, name, wanted) in [(one, &first, false), (other, &second, list)] {
        if is_list(name) != wanted {
            let expected = if wanted { "expected a list of standards" } else { "expected a single name" };
            problems
                .push(text.problem(format!("`{}` is {} list", text.as_str(), if wanted { "no" } else { "a" })).label(expected));
            return None;
        }
    }
    // Words are compared with words, members of a family with members of the same.
    let sort = |name: &NameOf| if name.figure.is_some() { None } else { knowledge.attribute_of(name.attribute).what.family() };
    if sort(&first) != sort(&second) {
        let message = format!("`{}` and `{}` are names of different sorts", one.as_str(), other.as_str());
        problems.push(other.problem(message).label("never the same"));
        return None;
    }
    Some((first, second))
}

fn multiple(knowledge: &Knowledge, table: &mut Table<'_>, problems: &mut Problems) -> Option<(MarginKind, Dimension)> {
    let count = one_term(knowledge, table, "multiple", problems);
    let of: Option<u32> = table.need("of", problems);
    let (count, of) = (count?, of?);
    if of < 2 || count.1 != Dimension::Number {
        problems.push(table.problem("nothing to be a multiple of").help("`multiple` names a count, `of` a whole number from 2"));
        return None;
    }
    Some((MarginKind::Multiple { count: count.0, of }, Dimension::Number))
}

/// The dimension all terms have.
fn one_dimension<'t>(
    table: &Table<'_>,
    mut terms: impl Iterator<Item = &'t (Term, Dimension)>,
    problems: &mut Problems,
) -> Option<Dimension> {
    let dimension = terms.next()?.1;
    if let Some((_, other)) = terms.find(|t| t.1 != dimension) {
        problems.push(terms::mixed(table.problem("terms of different dimensions"), dimension, *other));
        return None;
    }
    Some(dimension)
}

/// All terms of a list, or none if one of them is wrong.
fn terms_of(knowledge: &Knowledge, values: Vec<Value<'_>>, problems: &mut Problems) -> Option<Vec<(Term, Dimension)>> {
    let count = values.len();
    let found: Vec<_> = values.into_iter().filter_map(|v| terms::term(knowledge, v, problems)).collect();
    (found.len() == count).then_some(found)
}

/// A sentence may only use the placeholders there are.
fn placeholders(sentence: &Text<'_>, kind: Option<&MarginKind>, problems: &mut Problems) {
    let known: &[&str] = match kind {
        Some(MarginKind::Between { .. }) => &["room", "least", "most", "margin", "amount"],
        Some(MarginKind::Alike { .. } | MarginKind::OneOf { .. }) => &["room", "need"],
        Some(_) => &["room", "need", "margin", "amount"],
        // The rule is wrong already; its sentences are not wrong on top.
        None => return,
    };
    let text = sentence.as_str();
    let mut at = 0;
    while let Some(open) = text[at..].find('{').map(|open| at + open) {
        let Some(close) = text[open..].find('}').map(|close| open + close) else {
            problems.push(sentence.problem_within(open..open + 1, "a `{` without its `}`").label("expected a `}` after it"));
            return;
        };
        let name = &text[open + 1..close];
        if !known.contains(&name) {
            let problem = sentence.problem_within(open..close + 1, format!("nothing to fill in for `{{{name}}}`"));
            let list: Vec<String> = known.iter().map(|name| format!("`{{{name}}}`")).collect();
            problems.push(problem.help(format!("known: {}", list.join(", "))));
        }
        at = close + 1;
    }
}
