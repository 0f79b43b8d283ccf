//! Reading the margins: what is compared, under which flags, and the sentences for it.

use quantity::{Dimension, Origin, Quantity};
use source_file::{
    Problems, SourceFile, Text,
    toml_table::{FromValue, Table, Value, What},
};

use crate::{
    Knowledge,
    entries::{Flag, MarginKind, MarginRule, Severity, Term},
    ids::SourceId,
    read::{id, open, size, tables, word, words, words_if_any},
    terms,
};

/// Reads `margins.toml`.
pub(crate) fn margins(knowledge: &mut Knowledge, file: Option<&SourceFile>, problems: &mut Problems) {
    let Some(mut root) = open(file, &mut knowledge.names, |names| names.margins.spoil(), problems) else { return };
    for table in tables(&mut root, "margin", problems) {
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
    let when = flags(knowledge, &mut table, "when", problems);
    let unless = flags(knowledge, &mut table, "unless", problems);
    let clear = words(&mut table, "clear", problems);
    let short = words(&mut table, "short", problems);
    let unsure = words_if_any(&mut table, "unsure", problems);
    let caution: Option<Text<'_>> = table.get("caution", problems);
    let sources = sources(knowledge, &mut table, problems);
    let kind = kind(knowledge, &mut table, problems);
    table.finish(problems);
    for sentence in [clear.as_ref(), short.as_ref(), unsure.as_ref()].into_iter().flatten() {
        placeholders(sentence, problems);
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
        sources,
    })
}

fn flags(knowledge: &Knowledge, table: &mut Table<'_>, key: &'static str, problems: &mut Problems) -> Vec<Flag> {
    let texts = table.get::<Vec<Text<'_>>>(key, problems).unwrap_or_default();
    texts.iter().filter_map(|text| terms::flag(knowledge, text, problems)).collect()
}

/// One source or a list of them.
fn sources(knowledge: &Knowledge, table: &mut Table<'_>, problems: &mut Problems) -> Vec<SourceId> {
    let Some(value) = table.need::<Value<'_>>("source", problems) else { return Vec::new() };
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

/// `room` and `need`, or `same` and `within`.
fn kind(knowledge: &Knowledge, table: &mut Table<'_>, problems: &mut Problems) -> Option<(MarginKind, Dimension)> {
    if table.has("same") || table.has("within") {
        return same(knowledge, table, problems);
    }
    let room = table.need::<Vec<Value<'_>>>("room", problems).and_then(|values| terms_of(knowledge, values, problems));
    let need = table.need::<Vec<Value<'_>>>("need", problems).and_then(|values| terms_of(knowledge, values, problems));
    let (room, need) = (room?, need?);
    if room.is_empty() || need.is_empty() {
        problems.push(table.problem("a margin of nothing").help("put at least one term into `room` and one into `need`"));
        return None;
    }
    let dimension = room[0].1;
    if let Some((_, other)) = room.iter().chain(&need).find(|t| t.1 != dimension) {
        problems.push(terms::mixed(table.problem("terms of different dimensions"), dimension, *other));
        return None;
    }
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
    let [(one, dimension), (other, second)] = found[..] else { return None };
    if dimension != second {
        problems.push(terms::mixed(table.problem("terms of different dimensions"), dimension, second));
        return None;
    }
    let within = size(&within?, dimension, false, problems)?;
    Some((MarginKind::Same { one, other, within: Quantity::exact(within, dimension, Origin::CommonPractice) }, dimension))
}

/// All terms of a list, or none if one of them is wrong.
fn terms_of(knowledge: &Knowledge, values: Vec<Value<'_>>, problems: &mut Problems) -> Option<Vec<(Term, Dimension)>> {
    let count = values.len();
    let found: Vec<_> = values.into_iter().filter_map(|v| terms::term(knowledge, v, problems)).collect();
    (found.len() == count).then_some(found)
}

/// A sentence may only use the placeholders there are.
fn placeholders(sentence: &Text<'_>, problems: &mut Problems) {
    const KNOWN: [&str; 4] = ["room", "need", "margin", "amount"];
    let text = sentence.as_str();
    let mut at = 0;
    while let Some(open) = text[at..].find('{').map(|open| at + open) {
        let Some(close) = text[open..].find('}').map(|close| open + close) else {
            problems.push(sentence.problem_within(open..open + 1, "a `{` without its `}`").label("expected a `}` after it"));
            return;
        };
        let name = &text[open + 1..close];
        if !KNOWN.contains(&name) {
            let problem = sentence.problem_within(open..close + 1, format!("nothing to fill in for `{{{name}}}`"));
            problems.push(problem.help("known: `{room}`, `{need}`, `{margin}`, `{amount}`"));
        }
        at = close + 1;
    }
}
