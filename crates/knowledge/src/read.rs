//! Reading the files into the knowledge, in order, resolving every reference on the way.

use std::collections::HashMap;

use quantity::{Dimension, Origin, Quantity, Spread, parse};
use source_file::{
    Problems, SourceFile, Text, closest,
    toml_table::{self, Table, Value},
};

use crate::{
    Knowledge,
    entries::{
        About, Attribute, AttributeType, Caution, Default, Kind, MarginKind, MarginRule, OriginNote, Output, Reach, Severity,
        Shown, Size, Slot, Source, Standing, Term, Tolerance, ToleranceFor, Tool,
    },
    ids::{AttributeId, CautionId, KindId, OutputId, SlotId, SourceId, ToolId},
    terms,
};

/// Reads [`crate::FILES`] in their order. Default tolerances stand in the first file but speak of attributes, so they come last.
pub(crate) fn read(files: &[SourceFile], problems: &mut Problems) -> Knowledge {
    let mut knowledge = Knowledge::default();
    let [sources, tools, kinds, outputs, cautions, margins, defaults] = files else { return knowledge };
    let tolerances = self::sources(&mut knowledge, sources, problems);
    self::tools(&mut knowledge, tools, problems);
    self::kinds(&mut knowledge, kinds, problems);
    self::outputs(&mut knowledge, outputs, problems);
    self::cautions(&mut knowledge, cautions, problems);
    self::margins(&mut knowledge, margins, problems);
    self::defaults(&mut knowledge, defaults, problems);
    for table in tolerances {
        if let Some(tolerance) = tolerance(&knowledge, table, problems) {
            knowledge.tolerances.push(tolerance);
        }
    }
    knowledge
}

/// Takes the tables under `[[key]]`.
fn tables<'f>(root: &mut Table<'f>, key: &'static str, problems: &mut Problems) -> Vec<Table<'f>> {
    root.get::<Vec<Table<'f>>>(key, problems).unwrap_or_default()
}

/// Enters an id into its list of names; a second one of the same name is a problem.
fn enter<T: Copy>(names: &mut HashMap<String, T>, id: &Text<'_>, value: T, what: &str, problems: &mut Problems) {
    if names.insert(id.as_str().to_owned(), value).is_some() {
        problems.push(id.problem(format!("a second {what} `{}`", id.as_str())).help("give it another id"));
    }
}

/// Looks a name up, with a suggestion if it is not there.
fn known<T: Copy>(names: &HashMap<String, T>, text: &Text<'_>, what: &str, problems: &mut Problems) -> Option<T> {
    let found = names.get(text.as_str()).copied();
    if found.is_none() {
        let near = closest(text.as_str(), names.keys().map(String::as_str));
        problems.push(
            text.problem(format!("there is no {what} `{}`", text.as_str())).help_if(near.map(|n| format!("did you mean `{n}`?"))),
        );
    }
    found
}

/// A word out of a few.
fn word<T: Copy>(text: &Text<'_>, words: &[(&'static str, T)], what: &str, problems: &mut Problems) -> Option<T> {
    let found = words.iter().find(|w| w.0 == text.as_str()).map(|w| w.1);
    if found.is_none() {
        let list: Vec<String> = words.iter().map(|w| format!("`{}`", w.0)).collect();
        problems.push(text.problem(format!("`{}` is no {what}", text.as_str())).help(format!("known: {}", list.join(", "))));
    }
    found
}

fn dimension(text: &Text<'_>, problems: &mut Problems) -> Option<Dimension> {
    word(text, &Dimension::ALL.map(|d| (d.word(), d)), "dimension", problems)
}

fn origin(text: &Text<'_>, problems: &mut Problems) -> Option<Origin> {
    word(text, &Origin::ALL.map(|o| (o.word(), o)), "origin", problems)
}

/// A quantity written as text.
fn quantity(text: &Text<'_>, dimension: Dimension, problems: &mut Problems) -> Option<Quantity> {
    match parse(text.as_str(), dimension) {
        Ok(written) => Some(written.quantity),
        Err(error) => {
            let file = text.file();
            problems.push(
                source_file::Problem::at(file, text.part(error.span.clone()), error.to_string())
                    .label(error.label())
                    .help_if(error.help()),
            );
            None
        }
    }
}

fn source(knowledge: &Knowledge, table: &mut Table<'_>, problems: &mut Problems) -> Option<SourceId> {
    let text: Text<'_> = table.need("source", problems)?;
    known(&knowledge.names.sources, &text, "source", problems)
}

fn sources<'f>(knowledge: &mut Knowledge, file: &'f SourceFile, problems: &mut Problems) -> Vec<Table<'f>> {
    let mut root = toml_table::parse(file, problems);
    for mut table in tables(&mut root, "origin", problems) {
        let id: Option<Text<'_>> = table.need("id", problems);
        let says: Option<String> = table.need("says", problems);
        table.finish(problems);
        if let (Some(origin), Some(says)) = (id.and_then(|t| origin(&t, problems)), says) {
            knowledge.origins.push(OriginNote { origin, says });
        }
    }
    for mut table in tables(&mut root, "source", problems) {
        let id: Option<Text<'_>> = table.need("id", problems);
        let text: Option<String> = table.need("text", problems);
        let standing: Option<Text<'_>> = table.need("standing", problems);
        table.finish(problems);
        let standing = standing.and_then(|t| word(&t, &Standing::ALL.map(|s| (s.word(), s)), "standing", problems));
        if let (Some(id), Some(text), Some(standing)) = (id, text, standing) {
            enter(&mut knowledge.names.sources, &id, SourceId::at(knowledge.sources.len()), "source", problems);
            knowledge.sources.push(Source { id: id.into_string(), text, standing });
        }
    }
    let tolerances = tables(&mut root, "tolerance", problems);
    root.finish(problems);
    tolerances
}

fn tolerance(knowledge: &Knowledge, mut table: Table<'_>, problems: &mut Problems) -> Option<Tolerance> {
    let origin_text: Option<Text<'_>> = table.need("origin", problems);
    let dimension_text: Option<Text<'_>> = table.get("dimension", problems);
    let kind_text: Option<Text<'_>> = table.get("kind", problems);
    let attribute_text: Option<Text<'_>> = table.get("attribute", problems);
    let plus_minus: Option<Text<'_>> = table.get("plus_minus", problems);
    let relative: Option<Text<'_>> = table.get("relative", problems);
    let source = source(knowledge, &mut table, problems);
    let of = if let Some(text) = attribute_text {
        let (kind, id) = text.as_str().split_once('.').unwrap_or((text.as_str(), ""));
        let found = knowledge.kind(kind).and_then(|k| knowledge.attribute(k, id));
        if found.is_none() {
            problems.push(text.problem(format!("there is no attribute `{}`", text.as_str())).help("write `kind.attribute`"));
        }
        ToleranceFor::Attribute(found?)
    } else {
        let Some(text) = dimension_text else {
            problems.push(table.problem("a tolerance for nothing").help("give it a `dimension` or an `attribute`"));
            table.finish(problems);
            return None;
        };
        let dimension = self::dimension(&text, problems)?;
        match kind_text {
            Some(kind) => ToleranceFor::Kind(known(&knowledge.names.kinds, &kind, "kind", problems)?, dimension),
            None => ToleranceFor::Dimension(dimension),
        }
    };
    let dimension = match of {
        ToleranceFor::Attribute(a) => {
            let Some(dimension) = knowledge.attribute_of(a).dimension() else {
                problems.push(table.problem("a tolerance for what is no quantity"));
                table.finish(problems);
                return None;
            };
            dimension
        }
        ToleranceFor::Kind(_, d) | ToleranceFor::Dimension(d) => d,
    };
    let size = match (plus_minus, relative) {
        (Some(text), None) => Some(Size::Absolute(quantity(&text, dimension, problems)?.value())),
        (None, Some(text)) => Some(Size::Relative(quantity(&text, Dimension::Share, problems)?.value() / 100.0)),
        _ => {
            problems.push(table.problem("a tolerance needs one size").help("give it either `plus_minus` or `relative`"));
            None
        }
    };
    table.finish(problems);
    Some(Tolerance { origin: origin(&origin_text?, problems)?, of, size: size?, source: source? })
}

fn tools(knowledge: &mut Knowledge, file: &SourceFile, problems: &mut Problems) {
    let mut root = toml_table::parse(file, problems);
    for mut table in tables(&mut root, "tool", problems) {
        let id: Option<Text<'_>> = table.need("id", problems);
        let name: Option<String> = table.need("name", problems);
        let how: Option<String> = table.need("how", problems);
        let source = source(knowledge, &mut table, problems);
        let reaches = table.need::<Vec<Table<'_>>>("reach", problems).unwrap_or_default();
        let reaches = reaches
            .into_iter()
            .filter_map(|mut reach| {
                let dimension_text: Option<Text<'_>> = reach.need("dimension", problems);
                let plus_minus: Option<Text<'_>> = reach.need("plus_minus", problems);
                reach.finish(problems);
                let dimension = dimension(&dimension_text?, problems)?;
                Some(Reach { dimension, plus_minus: quantity(&plus_minus?, dimension, problems)?.value() })
            })
            .collect();
        table.finish(problems);
        if let (Some(id), Some(name), Some(how), Some(source)) = (id, name, how, source) {
            enter(&mut knowledge.names.tools, &id, ToolId::at(knowledge.tools.len()), "tool", problems);
            knowledge.tools.push(Tool { id: id.into_string(), name, how, reaches, source });
        }
    }
    root.finish(problems);
}

fn kinds(knowledge: &mut Knowledge, file: &SourceFile, problems: &mut Problems) {
    const ABOUT: [(&str, About); 4] =
        [("part", About::Part), ("rider", About::Rider), ("setup", About::Setup), ("chart", About::Chart)];
    let mut root = toml_table::parse(file, problems);
    for mut table in tables(&mut root, "kind", problems) {
        let id: Option<Text<'_>> = table.need("id", problems);
        let name: Option<String> = table.need("name", problems);
        let about: Option<Text<'_>> = table.need("about", problems);
        let attributes = table.get::<Vec<Table<'_>>>("attribute", problems).unwrap_or_default();
        table.finish(problems);
        let about = about.and_then(|t| word(&t, &ABOUT, "sort of thing", problems));
        let (Some(id), Some(name), Some(about)) = (id, name, about) else { continue };
        let kind = KindId::at(knowledge.kinds.len());
        enter(&mut knowledge.names.kinds, &id, kind, "kind", problems);
        knowledge.kinds.push(Kind { id: id.into_string(), name, about });
        knowledge.names.attributes.push(HashMap::new());
        for table in attributes {
            attribute(knowledge, kind, table, problems);
        }
    }
    for mut table in tables(&mut root, "slot", problems) {
        let id: Option<Text<'_>> = table.need("id", problems);
        let name: Option<String> = table.need("name", problems);
        let kind: Option<Text<'_>> = table.need("kind", problems);
        table.finish(problems);
        let kind = kind.and_then(|t| known(&knowledge.names.kinds, &t, "kind", problems));
        if let (Some(id), Some(name), Some(kind)) = (id, name, kind) {
            enter(&mut knowledge.names.slots, &id, SlotId::at(knowledge.slots.len()), "slot", problems);
            knowledge.slots.push(Slot { id: id.into_string(), name, kind });
        }
    }
    root.finish(problems);
}

fn attribute(knowledge: &mut Knowledge, kind: KindId, mut table: Table<'_>, problems: &mut Problems) {
    const TYPES: [(&str, u8); 4] = [("count", 0), ("word", 1), ("flag", 2), ("numbers", 3)];
    let id: Option<Text<'_>> = table.need("id", problems);
    let says: Option<String> = table.need("says", problems);
    let required: Option<bool> = table.get("required", problems);
    let figure: Option<String> = table.get("figure", problems);
    let within: Option<String> = table.get("within", problems);
    let tool: Option<Text<'_>> = table.get("tool", problems);
    let dimension_text: Option<Text<'_>> = table.get("dimension", problems);
    let type_text: Option<Text<'_>> = table.get("type", problems);
    let what = match (dimension_text, type_text) {
        (Some(text), None) => {
            let least: Option<Text<'_>> = table.need("least", problems);
            let most: Option<Text<'_>> = table.need("most", problems);
            dimension(&text, problems).and_then(|dimension| {
                let least = quantity(&least?, dimension, problems)?.value();
                let most = quantity(&most?, dimension, problems)?.value();
                if least > most {
                    problems.push(table.problem("the least is more than the most"));
                }
                Some(AttributeType::Quantity { dimension, least, most })
            })
        }
        (None, Some(text)) => match word(&text, &TYPES, "type", problems) {
            Some(0) => match (table.need("least", problems), table.need("most", problems)) {
                (Some(least), Some(most)) => Some(AttributeType::Count { least, most }),
                _ => None,
            },
            Some(1) => Some(AttributeType::Word),
            Some(2) => Some(AttributeType::Flag),
            Some(_) => match (table.need("least", problems), table.need("most", problems)) {
                (Some(least), Some(most)) => Some(AttributeType::Numbers { least, most }),
                _ => None,
            },
            None => None,
        },
        _ => {
            problems.push(table.problem("an attribute needs one type").help("give it either a `dimension` or a `type`"));
            None
        }
    };
    let tool = tool.map(|t| known(&knowledge.names.tools, &t, "tool", problems));
    table.finish(problems);
    if let (Some(id), Some(says), Some(what)) = (id, says, what) {
        let place = AttributeId::at(knowledge.attributes.len());
        if let Some(names) = knowledge.names.attributes.get_mut(kind.index()) {
            enter(names, &id, place, "attribute", problems);
        }
        knowledge.attributes.push(Attribute {
            id: id.into_string(),
            kind,
            what,
            required: required.unwrap_or(false),
            says,
            tool: tool.flatten(),
            within,
            figure,
        });
    }
}

fn outputs(knowledge: &mut Knowledge, file: &SourceFile, problems: &mut Problems) {
    const SHOWN: [(&str, Shown); 3] = [("always", Shown::Always), ("changed", Shown::Changed), ("never", Shown::Never)];
    let mut root = toml_table::parse(file, problems);
    for mut table in tables(&mut root, "output", problems) {
        let id: Option<Text<'_>> = table.need("id", problems);
        let name: Option<String> = table.need("name", problems);
        let dimension_text: Option<Text<'_>> = table.need("dimension", problems);
        let noticed: Option<Text<'_>> = table.get("noticed", problems);
        let more: Option<String> = table.get("more", problems);
        let less: Option<String> = table.get("less", problems);
        let up: Option<String> = table.get("up", problems);
        let down: Option<String> = table.get("down", problems);
        let shown: Option<Text<'_>> = table.need("shown", problems);
        let tool: Option<Text<'_>> = table.get("tool", problems);
        let source = source(knowledge, &mut table, problems);
        table.finish(problems);
        let Some(dimension) = dimension_text.and_then(|t| dimension(&t, problems)) else { continue };
        let noticed = noticed.and_then(|t| quantity(&t, dimension, problems));
        let tool = tool.and_then(|t| known(&knowledge.names.tools, &t, "tool", problems));
        let shown = shown.and_then(|t| word(&t, &SHOWN, "way to be shown", problems));
        if let (Some(id), Some(name), Some(shown), Some(source)) = (id, name, shown, source) {
            enter(&mut knowledge.names.outputs, &id, OutputId::at(knowledge.outputs.len()), "output", problems);
            knowledge.outputs.push(Output {
                id: id.into_string(),
                name,
                dimension,
                noticed,
                more,
                less,
                up,
                down,
                shown,
                tool,
                source,
            });
        }
    }
    root.finish(problems);
}

fn cautions(knowledge: &mut Knowledge, file: &SourceFile, problems: &mut Problems) {
    let mut root = toml_table::parse(file, problems);
    for mut table in tables(&mut root, "caution", problems) {
        let id: Option<Text<'_>> = table.need("id", problems);
        let slots = table.need::<Vec<Text<'_>>>("slots", problems).unwrap_or_default();
        let text: Option<String> = table.need("text", problems);
        let source = source(knowledge, &mut table, problems);
        table.finish(problems);
        let slots = slots.iter().filter_map(|t| known(&knowledge.names.slots, t, "slot", problems)).collect();
        if let (Some(id), Some(text), Some(source)) = (id, text, source) {
            enter(&mut knowledge.names.cautions, &id, CautionId::at(knowledge.cautions.len()), "caution", problems);
            knowledge.cautions.push(Caution { id: id.into_string(), slots, text, source });
        }
    }
    root.finish(problems);
}

fn margins(knowledge: &mut Knowledge, file: &SourceFile, problems: &mut Problems) {
    let mut root = toml_table::parse(file, problems);
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
    let id: Option<Text<'_>> = table.need("id", problems);
    let name: Option<String> = table.need("name", problems);
    let slot: Option<Text<'_>> = table.need("slot", problems);
    let severity: Option<Text<'_>> = table.need("severity", problems);
    let when = table.get::<Vec<Text<'_>>>("when", problems).unwrap_or_default();
    let unless = table.get::<Vec<Text<'_>>>("unless", problems).unwrap_or_default();
    let clear: Option<Text<'_>> = table.need("clear", problems);
    let short: Option<Text<'_>> = table.need("short", problems);
    let unsure: Option<Text<'_>> = table.get("unsure", problems);
    let caution: Option<Text<'_>> = table.get("caution", problems);
    let sources = margin_sources(knowledge, &mut table, problems);
    let kind = margin_kind(knowledge, &mut table, problems);
    table.finish(problems);
    for sentence in [clear.as_ref(), short.as_ref(), unsure.as_ref()].into_iter().flatten() {
        placeholders(sentence, problems);
    }
    let slot = slot.and_then(|t| known(&knowledge.names.slots, &t, "slot", problems));
    let severity = severity.and_then(|t| word(&t, &SEVERITIES, "severity", problems));
    let caution = caution.and_then(|t| known(&knowledge.names.cautions, &t, "caution", problems));
    let mut flags = |texts: &[Text<'_>]| texts.iter().filter_map(|t| terms::flag(knowledge, t, problems)).collect();
    let (when, unless) = (flags(&when), flags(&unless));
    let id = id?;
    let place = knowledge.margins.len();
    enter(&mut knowledge.names.margins, &id, place, "margin", problems);
    let (kind, dimension) = kind?;
    Some(MarginRule {
        id: id.into_string(),
        name: name?,
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
        sources: sources?,
    })
}

/// One source or a list of them.
fn margin_sources(knowledge: &Knowledge, table: &mut Table<'_>, problems: &mut Problems) -> Option<Vec<SourceId>> {
    let value: Value<'_> = table.need("source", problems)?;
    let wrong = value.wrong_kind("the id of a source, or a list of them");
    let texts = match value.what(problems)? {
        toml_table::What::Text(text) => vec![text],
        toml_table::What::List(list) if !list.is_empty() => {
            list.into_iter().filter_map(|v| <Text<'_> as toml_table::FromValue<'_>>::from_value(v, problems)).collect()
        }
        _ => {
            problems.push(wrong);
            return None;
        }
    };
    texts.iter().map(|t| known(&knowledge.names.sources, t, "source", problems)).collect()
}

/// `room` and `need`, or `same` and `within`.
fn margin_kind(knowledge: &Knowledge, table: &mut Table<'_>, problems: &mut Problems) -> Option<(MarginKind, Dimension)> {
    if table.has("same") {
        let (same, span) = (table.need::<Vec<Value<'_>>>("same", problems), table.key_span("same"));
        let within: Option<Text<'_>> = table.need("within", problems);
        let found = terms_of(knowledge, same?, problems)?;
        let [(one, dimension), (other, second)] = found[..] else {
            let problem = source_file::Problem::at(table.file(), span.unwrap_or_default(), "`same` compares two terms");
            problems.push(problem.help("write two terms in brackets"));
            return None;
        };
        if dimension != second {
            problems.push(terms::mixed(table.problem("terms of different dimensions"), dimension, second));
            return None;
        }
        let within = quantity(&within?, dimension, problems)?;
        return Some((MarginKind::Same { one, other, within }, dimension));
    }
    let room = table.need::<Vec<Value<'_>>>("room", problems);
    let need = table.need::<Vec<Value<'_>>>("need", problems);
    let (room, need) = (terms_of(knowledge, room?, problems)?, terms_of(knowledge, need?, problems)?);
    let Some(&(_, dimension)) = room.first().or(need.first()) else {
        problems.push(table.problem("a margin of nothing"));
        return None;
    };
    if let Some((_, other)) = room.iter().chain(&need).find(|t| t.1 != dimension) {
        problems.push(terms::mixed(table.problem("terms of different dimensions"), dimension, *other));
        return None;
    }
    let plain = |list: Vec<(Term, Dimension)>| list.into_iter().map(|t| t.0).collect();
    Some((MarginKind::Room { room: plain(room), need: plain(need) }, dimension))
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
    let mut rest = sentence.as_str();
    while let Some(open) = rest.find('{') {
        let Some(close) = rest[open..].find('}') else {
            problems.push(sentence.problem("a `{` without its `}`"));
            return;
        };
        let name = &rest[open + 1..open + close];
        if !KNOWN.contains(&name) {
            problems.push(
                sentence
                    .problem(format!("nothing to fill in for `{{{name}}}`"))
                    .help("known: `{room}`, `{need}`, `{margin}`, `{amount}`"),
            );
        }
        rest = &rest[open + close + 1..];
    }
}

fn defaults(knowledge: &mut Knowledge, file: &SourceFile, problems: &mut Problems) {
    let mut root = toml_table::parse(file, problems);
    for mut table in tables(&mut root, "default", problems) {
        let of: Option<Text<'_>> = table.need("of", problems);
        let value: Option<Text<'_>> = table.need("value", problems);
        let because: Option<String> = table.need("because", problems);
        let source = source(knowledge, &mut table, problems);
        table.finish(problems);
        let (Some(of), Some(value), Some(because), Some(source)) = (of, value, because, source) else { continue };
        let Some((place, attribute)) = terms::attribute(knowledge, &of, problems) else { continue };
        let Some(dimension) = knowledge.attribute_of(attribute).dimension() else {
            problems.push(of.problem(format!("`{}` is not a quantity", of.as_str())));
            continue;
        };
        let slot = if let terms::Place::Slot(slot) = place { Some(slot) } else { None };
        if knowledge.defaults.iter().any(|d| d.slot == slot && d.attribute == attribute) {
            problems.push(of.problem(format!("a second default for `{}`", of.as_str())));
            continue;
        }
        if let Some(value) = quantity(&value, dimension, problems) {
            let spread = if value.spread() == Spread::Limits(0.0) { Spread::Exact } else { value.spread() };
            let value = value.with_spread(spread).with_origin(Origin::CommonPractice);
            knowledge.defaults.push(Default { slot, attribute, value, because, source });
        }
    }
    root.finish(problems);
}
