//! What a shop knows of time: how long fitting a part takes, how long parts last, and what can be worked on instead of bought.

use quantity::Dimension;
use source_file::{Problems, SourceFile, Text, toml_table::Table};

use crate::{
    Knowledge,
    entries::Condition,
    ids::{AttributeId, CautionId, KindId, SlotId, SourceId},
    read::{id, open, quantity, size, source, tables, words},
    terms,
};

/// How long it takes to take a part of a kind off and fit another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fitting {
    /// Kind of part.
    pub kind: KindId,
    /// Minutes at the bench.
    pub minutes: f64,
    /// Says who.
    pub source: SourceId,
}

/// How long a part of a kind serves, new to worn out, in ordinary use.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Life {
    /// Kind of part.
    pub kind: KindId,
    /// Minutes of calendar time (the base unit of a duration).
    pub minutes: f64,
    /// Says who.
    pub source: SourceId,
}

/// Work on a part that is there, in place of another part: it changes one of its numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct Work {
    /// Id.
    pub id: String,
    /// What is done, as a sentence's beginning: `Spread the rear triangle`.
    pub name: String,
    /// Slot of the part that is worked on.
    pub slot: SlotId,
    /// The number it changes.
    pub attribute: AttributeId,
    /// By how much, each amount a possibility of its own; base unit.
    pub by: Vec<f64>,
    /// Minutes at the bench.
    pub minutes: f64,
    /// What has to hold of the bike.
    pub when: Vec<Condition>,
    /// What must not.
    pub unless: Vec<Condition>,
    /// What to know about it.
    pub because: String,
    /// Warning.
    pub caution: Option<CautionId>,
    /// Says who.
    pub source: SourceId,
}

/// How much a part that is fitted only so that another goes on may differ from the one it replaces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Like {
    /// In this attribute.
    pub attribute: AttributeId,
    /// By so much, base unit.
    pub within: f64,
    /// Says who.
    pub source: SourceId,
}

/// Reads `shop.toml`.
pub(crate) fn shop(knowledge: &mut Knowledge, file: Option<&SourceFile>, problems: &mut Problems) {
    let Some(mut root) = open(file, &mut knowledge.names, |_| {}, problems) else { return };
    for table in tables(&mut root, "fitting", problems) {
        if let Some((kind, minutes, source)) =
            time_of_kind(knowledge, table, problems, |k| knowledge.fittings.iter().any(|f| f.kind == k))
        {
            knowledge.fittings.push(Fitting { kind, minutes, source });
        }
    }
    for table in tables(&mut root, "life", problems) {
        if let Some((kind, minutes, source)) =
            time_of_kind(knowledge, table, problems, |k| knowledge.lives.iter().any(|l| l.kind == k))
        {
            knowledge.lives.push(Life { kind, minutes, source });
        }
    }
    for table in tables(&mut root, "like", problems) {
        knowledge.likes.extend(like(knowledge, table, problems));
    }
    for table in tables(&mut root, "work", problems) {
        if let Some(work) = work(knowledge, table, problems) {
            knowledge.works.push(work);
        }
    }
    root.finish(problems);
}

fn time_of_kind(
    knowledge: &Knowledge,
    mut table: Table<'_>,
    problems: &mut Problems,
    is_known: impl Fn(KindId) -> bool,
) -> Option<(KindId, f64, SourceId)> {
    let kind: Option<Text<'_>> = table.need("kind", problems);
    let time: Option<Text<'_>> = table.need("time", problems);
    let source = source(knowledge, &mut table, problems);
    table.finish(problems);
    let text = kind?;
    let kind = knowledge.names.kinds.known(&text, problems)?;
    if is_known(kind) {
        problems.push(text.problem(format!("a second time for `{}`", text.as_str())).label("again"));
    }
    Some((kind, size(&time?, Dimension::Duration, true, problems)?, source?))
}

fn like(knowledge: &Knowledge, mut table: Table<'_>, problems: &mut Problems) -> Option<Like> {
    let text: Option<Text<'_>> = table.need("attribute", problems);
    let within: Option<Text<'_>> = table.need("within", problems);
    let source = source(knowledge, &mut table, problems);
    table.finish(problems);
    let text = text?;
    let attribute = terms::attribute_of_kind(knowledge, &text, problems)?;
    let Some(dimension) = knowledge.attribute_of(attribute).dimension() else {
        problems.push(text.problem(format!("`{}` is not a quantity", text.as_str())).label("expected a quantity"));
        return None;
    };
    if knowledge.likes.iter().any(|like| like.attribute == attribute) {
        problems.push(text.problem(format!("a second likeness of `{}`", text.as_str())).label("again"));
    }
    Some(Like { attribute, within: size(&within?, dimension, false, problems)?, source: source? })
}

fn work(knowledge: &mut Knowledge, mut table: Table<'_>, problems: &mut Problems) -> Option<Work> {
    let id = id(&mut table, true, problems);
    let name = words(&mut table, "name", problems);
    let changes: Option<Text<'_>> = table.need("changes", problems);
    let by = table.need::<Vec<Text<'_>>>("by", problems);
    let time: Option<Text<'_>> = table.need("time", problems);
    let when = crate::rules::conditions(knowledge, &mut table, "when", problems);
    let unless = crate::rules::conditions(knowledge, &mut table, "unless", problems);
    let because = words(&mut table, "because", problems);
    let caution: Option<Text<'_>> = table.get("caution", problems);
    let source = source(knowledge, &mut table, problems);
    table.finish(problems);
    let id = id?;
    knowledge.names.works.enter(&id, Some(knowledge.works.len()), problems);
    let changes = changes?;
    let (slot, attribute) = terms::attribute(knowledge, &changes, problems)?;
    let dimension = knowledge.attribute_of(attribute).dimension().filter(|_| slot.is_some());
    let Some(dimension) = dimension else {
        problems
            .push(changes.problem(format!("work cannot change `{}`", changes.as_str())).label("expected a quantity of a part"));
        return None;
    };
    let by = by?;
    if by.is_empty() {
        problems.push(table_is_empty(&changes));
    }
    let by = by.iter().filter_map(|text| quantity(text, dimension, problems)).map(quantity::Quantity::value).collect();
    let caution = caution.and_then(|text| knowledge.names.cautions.known(&text, problems));
    Some(Work {
        id: id.into_string(),
        name: name?.into_string(),
        slot: slot?,
        attribute,
        by,
        minutes: size(&time?, Dimension::Duration, true, problems)?,
        when,
        unless,
        because: because?.into_string(),
        caution,
        source: source?,
    })
}

fn table_is_empty(changes: &Text<'_>) -> source_file::Problem {
    changes.problem("work that changes nothing").help("say in `by` by how much, for example `by = [\"4 mm\", \"5 mm\"]`")
}
