//! Reading the files into the knowledge, in order, resolving every reference on the way.
//!
//! Each mistake is reported once: where an entry is wrong or a file is garbled, what speaks of it is not wrong on top.

use quantity::{Dimension, Origin, Quantity, Spread, parse};
use source_file::{
    Problems, SourceFile, Text,
    toml_table::{self, FromValue, Table},
};

use crate::{
    Knowledge,
    entries::{
        About, Attribute, AttributeType, Caution, DefaultValue, Fill, Kind, OriginNote, Output, Reach, Shown, Size, Slot, Source,
        Standing, Tolerance, ToleranceFor, Tool,
    },
    files::{Held, Holds},
    ids::{AttributeId, CautionId, KindId, OutputId, SlotId, SourceId, ToolId},
    names::{Names, Register},
    rules, shop,
    standards::{self, FigureType},
    terms,
};

/// Words that begin a term; no slot may be called so.
const RESERVED: [&str; 3] = ["unladen", "sagged", "change"];

/// Origins that a value of a file may have; each needs a tolerance for every dimension. What is computed has its own.
const STATED: [Origin; 5] = [Origin::Measured, Origin::MakersSheet, Origin::Standard, Origin::CommonPractice, Origin::Guess];

/// Reads the files in their order. Default tolerances stand in the first file but speak of attributes, so they come last.
pub(crate) fn read(files: &[Held], problems: &mut Problems) -> Knowledge {
    let mut knowledge = Knowledge::default();
    let mut tolerances = None;
    for (holds, file) in files {
        let (knowledge, file) = (&mut knowledge, file.as_ref());
        match holds {
            Holds::Sources => tolerances = sources(knowledge, file, problems),
            Holds::Tools => tools(knowledge, file, problems),
            Holds::Standards => standards::standards(knowledge, file, problems),
            Holds::PartKinds => kinds(knowledge, file, problems),
            Holds::Outputs => outputs(knowledge, file, problems),
            Holds::Cautions => cautions(knowledge, file, problems),
            Holds::Margins => rules::rules(knowledge, file, "margin", problems),
            Holds::Joints => rules::rules(knowledge, file, "joint", problems),
            Holds::Defaults => defaults(knowledge, file, problems),
            Holds::Shop => shop::shop(knowledge, file, problems),
        }
    }
    if let Some((tables, root)) = tolerances {
        self::tolerances(&mut knowledge, tables, root, problems);
    }
    knowledge
}

/// The file as a table; nothing if there is no file. `spoil` marks the lists it fills if they cannot be complete.
pub(crate) fn open<'f>(
    file: Option<&'f SourceFile>,
    names: &mut Names,
    spoil: fn(&mut Names),
    problems: &mut Problems,
) -> Option<Table<'f>> {
    let Some(file) = file else {
        spoil(names);
        return None;
    };
    let root = toml_table::parse(file, problems);
    if root.is_unreliable() {
        spoil(names);
    }
    Some(root)
}

/// Takes the tables under `[[key]]`. That there are none has to be said: `key = []`.
pub(crate) fn tables<'f>(root: &mut Table<'f>, key: &'static str, problems: &mut Problems) -> Vec<Table<'f>> {
    if !root.has(key) && !root.is_unreliable() {
        let problem = root.problem(format!("there is no `[[{key}]]` in `{}`", root.file().name())).label("expected entries");
        problems.push(problem.help(format!("if none are wanted, write `{key} = []`")));
    }
    root.get::<Vec<Table<'f>>>(key, problems).unwrap_or_default()
}

/// Puts an entry into its list and its id into the register; nothing if a part of it is missing, which is reported already.
pub(crate) fn put<E, T: Copy>(
    list: &mut Vec<E>,
    ids: &mut Register<T>,
    id: Option<Text<'_>>,
    entry: Option<E>,
    at: fn(usize) -> Option<T>,
    problems: &mut Problems,
) {
    let (Some(id), Some(entry)) = (id, entry) else {
        ids.spoil();
        return;
    };
    ids.enter(&id, at(list.len()), problems);
    list.push(entry);
}

/// An id that may stand as a key in files and behind a dot in terms; with `loose`, also one with `-` and `.`.
pub(crate) fn id<'f>(table: &mut Table<'f>, loose: bool, problems: &mut Problems) -> Option<Text<'f>> {
    let id: Text<'f> = table.need("id", problems)?;
    let fits = |letter: char| matches!(letter, 'a'..='z' | '0'..='9' | '_') || (loose && matches!(letter, '-' | '.'));
    // A term that begins with a digit is a number.
    let begins = id.starts_with(|first: char| first.is_ascii_lowercase());
    if !begins || !id.chars().all(fits) {
        let more = if loose { ", `_`, `-` and `.`" } else { " and `_`" };
        let problem = id.problem(format!("`{}` cannot be an id", id.as_str()));
        problems.push(problem.label(format!("expected a small letter, then letters, digits{more}")));
    }
    Some(id)
}

/// A text that says something.
pub(crate) fn words<'f>(table: &mut Table<'f>, key: &'static str, problems: &mut Problems) -> Option<Text<'f>> {
    let text: Text<'f> = table.need(key, problems)?;
    filled(&text, key, problems);
    Some(text)
}

/// The same, if it is there.
pub(crate) fn words_if_any<'f>(table: &mut Table<'f>, key: &'static str, problems: &mut Problems) -> Option<Text<'f>> {
    let text: Text<'f> = table.get(key, problems)?;
    filled(&text, key, problems);
    Some(text)
}

fn filled(text: &Text<'_>, key: &str, problems: &mut Problems) {
    if text.trim().is_empty() {
        problems.push(text.problem(format!("`{key}` is empty")).label("expected some words"));
    }
}

/// A word out of a few.
pub(crate) fn word<T: Copy>(text: &Text<'_>, words: &[(&'static str, T)], what: &str, problems: &mut Problems) -> Option<T> {
    let found = words.iter().find(|w| w.0 == text.as_str()).map(|w| w.1);
    if found.is_none() {
        let list: Vec<String> = words.iter().map(|w| format!("`{}`", w.0)).collect();
        problems.push(text.problem(format!("`{}` is no {what}", text.as_str())).help(format!("known: {}", list.join(", "))));
    }
    found
}

pub(crate) fn dimension(text: &Text<'_>, problems: &mut Problems) -> Option<Dimension> {
    word(text, &Dimension::ALL.map(|d| (d.word(), d)), "dimension", problems)
}

fn origin(text: &Text<'_>, problems: &mut Problems) -> Option<Origin> {
    word(text, &Origin::ALL.map(|o| (o.word(), o)), "origin", problems)
}

/// A quantity written as text.
pub(crate) fn quantity(text: &Text<'_>, dimension: Dimension, problems: &mut Problems) -> Option<Quantity> {
    match parse(text.as_str(), dimension) {
        Ok(written) => Some(written.quantity),
        Err(error) => {
            let problem = text.problem_within(error.span.clone(), error.to_string());
            problems.push(problem.label(error.label()).help_if(error.help()));
            None
        }
    }
}

/// A size: a quantity that is not below zero, and not zero either if it is to be `some`.
pub(crate) fn size(text: &Text<'_>, dimension: Dimension, some: bool, problems: &mut Problems) -> Option<f64> {
    let value = quantity(text, dimension, problems)?.value();
    if value < 0.0 || (some && value == 0.0) {
        let least = if some { "more than zero" } else { "zero or more" };
        problems.push(text.problem(format!("a size of `{}`", text.as_str())).label(format!("expected {least}")));
    }
    Some(value)
}

pub(crate) fn source(knowledge: &Knowledge, table: &mut Table<'_>, problems: &mut Problems) -> Option<SourceId> {
    let text: Text<'_> = table.need("source", problems)?;
    knowledge.names.sources.known(&text, problems)
}

/// How something is measured, if it is said; the tool has to reach the dimension.
fn tool(knowledge: &Knowledge, table: &mut Table<'_>, of: Option<Dimension>, problems: &mut Problems) -> Option<ToolId> {
    let text: Text<'_> = table.get("tool", problems)?;
    let tool = knowledge.names.tools.known(&text, problems)?;
    if let Some(dimension) = of
        && knowledge.tool_of(tool).reach(dimension).is_none()
    {
        let problem = text.problem(format!("`{}` does not measure {}", text.as_str(), dimension.with_article()));
        problems.push(problem.label("has no such `reach`"));
    }
    Some(tool)
}

/// The tolerances of the file, to be read when attributes are known, and the file itself.
type Tolerances<'f> = (Vec<Table<'f>>, &'f SourceFile);

fn sources<'f>(knowledge: &mut Knowledge, file: Option<&'f SourceFile>, problems: &mut Problems) -> Option<Tolerances<'f>> {
    let mut root = open(file, &mut knowledge.names, |names| names.sources.spoil(), problems)?;
    for mut table in tables(&mut root, "origin", problems) {
        let id: Option<Text<'_>> = table.need("id", problems);
        let says = words(&mut table, "says", problems);
        table.finish(problems);
        let (Some(id), Some(says)) = (id, says) else { continue };
        let Some(origin) = origin(&id, problems) else { continue };
        if knowledge.origins.iter().any(|note| note.origin == origin) {
            problems.push(id.problem(format!("a second origin `{}`", id.as_str())).help("say it once"));
        }
        knowledge.origins.push(OriginNote { origin, says: says.into_string() });
    }
    for mut table in tables(&mut root, "source", problems) {
        let id = id(&mut table, true, problems);
        let text = words(&mut table, "text", problems);
        let standing: Option<Text<'_>> = table.need("standing", problems);
        table.finish(problems);
        let standing = standing.and_then(|t| word(&t, &Standing::ALL.map(|s| (s.word(), s)), "standing", problems));
        let entry = id.as_ref().zip(text).zip(standing);
        let entry = entry.map(|((id, text), standing)| Source { id: id.as_str().to_owned(), text: text.into_string(), standing });
        put(&mut knowledge.sources, &mut knowledge.names.sources, id, entry, SourceId::at, problems);
    }
    let tolerances = tables(&mut root, "tolerance", problems);
    let file = root.file();
    root.finish(problems);
    Some((tolerances, file))
}

/// Reads the tolerances, and looks whether every quantity that can be written has one from wherever it may come.
fn tolerances(knowledge: &mut Knowledge, tables: Vec<Table<'_>>, file: &SourceFile, problems: &mut Problems) {
    let before = problems.len();
    for mut table in tables {
        if let Some(tolerance) = tolerance(knowledge, &mut table, problems) {
            if knowledge.tolerances.iter().any(|other| other.origin == tolerance.origin && other.of == tolerance.of) {
                problems.push(table.problem("a second tolerance for the same values").help("keep one of them"));
            }
            knowledge.tolerances.push(tolerance);
        }
        table.finish(problems);
    }
    let is_known = |origin, dimension| {
        knowledge
            .tolerances
            .iter()
            .any(|tolerance| tolerance.origin == origin && tolerance.of == ToleranceFor::Dimension(dimension))
    };
    if problems.len() > before || knowledge.names.sources.is_incomplete() {
        return;
    }
    for dimension in Dimension::ALL {
        // A part's mass is no attribute.
        if dimension != Dimension::Mass && knowledge.attributes.iter().all(|attribute| attribute.dimension() != Some(dimension)) {
            continue;
        }
        for origin in STATED.into_iter().filter(|origin| !is_known(*origin, dimension)) {
            let message = format!("there is no tolerance for {} whose origin is `{}`", dimension.with_article(), origin.word());
            let problem = source_file::Problem::at(file, 0..0, message);
            problems
                .push(problem.help("add a `[[tolerance]]` with this `origin` and `dimension`, and neither kind nor attribute"));
        }
    }
}

fn tolerance(knowledge: &Knowledge, table: &mut Table<'_>, problems: &mut Problems) -> Option<Tolerance> {
    let origin_text: Option<Text<'_>> = table.need("origin", problems);
    let dimension_text: Option<Text<'_>> = table.get("dimension", problems);
    let kind_text: Option<Text<'_>> = table.get("kind", problems);
    let attribute_text: Option<Text<'_>> = table.get("attribute", problems);
    let plus_minus: Option<Text<'_>> = table.get("plus_minus", problems);
    let relative: Option<Text<'_>> = table.get("relative", problems);
    let source = source(knowledge, table, problems);
    let origin = origin_text.and_then(|text| origin(&text, problems));
    if plus_minus.is_some() == relative.is_some() {
        problems.push(table.problem("a tolerance needs one size").help("give it either `plus_minus` or `relative`"));
        return None;
    }
    let (of, dimension) = match (attribute_text, kind_text, dimension_text) {
        (Some(attribute), None, None) => {
            let attribute_id = terms::attribute_of_kind(knowledge, &attribute, problems)?;
            let Some(dimension) = knowledge.attribute_of(attribute_id).dimension() else {
                problems.push(attribute.problem(format!("`{}` is not a quantity", attribute.as_str())).label("has no tolerance"));
                return None;
            };
            (ToleranceFor::Attribute(attribute_id), dimension)
        }
        (Some(_), ..) => {
            problems.push(
                table.problem("a tolerance for several things").help("`attribute` says all: leave `kind` and `dimension` out"),
            );
            return None;
        }
        (None, kind, Some(text)) => {
            let dimension = dimension(&text, problems)?;
            match kind {
                Some(kind) => (ToleranceFor::Kind(knowledge.names.kinds.known(&kind, problems)?, dimension), dimension),
                None => (ToleranceFor::Dimension(dimension), dimension),
            }
        }
        (None, _, None) => {
            problems.push(table.problem("a tolerance for nothing").help("give it a `dimension` or an `attribute`"));
            return None;
        }
    };
    let size = match (plus_minus, relative) {
        (Some(text), _) => Size::Absolute(size(&text, dimension, false, problems)?),
        (None, text) => Size::Relative(size(&text?, Dimension::Share, false, problems)? / 100.0),
    };
    Some(Tolerance { origin: origin?, of, size, source: source? })
}

fn tools(knowledge: &mut Knowledge, file: Option<&SourceFile>, problems: &mut Problems) {
    let Some(mut root) = open(file, &mut knowledge.names, |names| names.tools.spoil(), problems) else { return };
    for mut table in tables(&mut root, "tool", problems) {
        let id = id(&mut table, false, problems);
        let name = words(&mut table, "name", problems);
        let how = words(&mut table, "how", problems);
        let source = source(knowledge, &mut table, problems);
        let tables = table.need::<Vec<Table<'_>>>("reach", problems);
        if tables.as_ref().is_some_and(Vec::is_empty) {
            problems.push(table.problem("a tool that measures nothing").help("say in `reach` what it measures, and how well"));
        }
        table.finish(problems);
        let reaches: Option<Vec<Reach>> = tables.and_then(|tables| {
            let count = tables.len();
            let reaches: Vec<Reach> = tables.into_iter().filter_map(|table| reach(table, problems)).collect();
            (!reaches.is_empty() && reaches.len() == count).then_some(reaches)
        });
        let entry = (|| {
            let id = id.as_ref()?.as_str().to_owned();
            Some(Tool { id, name: name?.into_string(), how: how?.into_string(), reaches: reaches?, source: source? })
        })();
        put(&mut knowledge.tools, &mut knowledge.names.tools, id, entry, ToolId::at, problems);
    }
    root.finish(problems);
}

fn reach(mut table: Table<'_>, problems: &mut Problems) -> Option<Reach> {
    let dimension_text: Option<Text<'_>> = table.need("dimension", problems);
    let plus_minus: Option<Text<'_>> = table.need("plus_minus", problems);
    table.finish(problems);
    let dimension = dimension(&dimension_text?, problems)?;
    Some(Reach { dimension, plus_minus: size(&plus_minus?, dimension, true, problems)? })
}

fn kinds(knowledge: &mut Knowledge, file: Option<&SourceFile>, problems: &mut Problems) {
    let spoil = |names: &mut Names| {
        names.kinds.spoil();
        names.slots.spoil();
    };
    let Some(mut root) = open(file, &mut knowledge.names, spoil, problems) else { return };
    for table in tables(&mut root, "kind", problems) {
        kind(knowledge, table, problems);
    }
    for mut table in tables(&mut root, "slot", problems) {
        let id = id(&mut table, false, problems);
        let name = words(&mut table, "name", problems);
        let kind: Option<Text<'_>> = table.need("kind", problems);
        let optional: Option<bool> = table.get("optional", problems);
        table.finish(problems);
        if let Some(id) = id.as_ref()
            && (RESERVED.contains(&id.as_str()) || table_kind(knowledge, id).is_some())
        {
            problems
                .push(id.problem(format!("a slot cannot be called `{}`", id.as_str())).label("means something else in a term"));
        }
        let kind = kind.and_then(|text| {
            let kind = knowledge.names.kinds.known(&text, problems)?;
            if knowledge.kind_of(kind).about != About::Part {
                problems.push(text.problem(format!("`{}` is not a kind of part", text.as_str())).label("cannot sit in a slot"));
            }
            Some(kind)
        });
        let entry = id.as_ref().zip(name).zip(kind);
        let optional = optional.unwrap_or(false);
        let entry = entry.map(|((id, name), kind)| Slot { id: id.as_str().to_owned(), name: name.into_string(), kind, optional });
        put(&mut knowledge.slots, &mut knowledge.names.slots, id, entry, SlotId::at, problems);
    }
    root.finish(problems);
}

/// The table of a build file that is called so.
pub(crate) fn table_kind(knowledge: &Knowledge, id: &str) -> Option<KindId> {
    knowledge.kind(id).filter(|kind| knowledge.kind_of(*kind).about != About::Part)
}

fn kind(knowledge: &mut Knowledge, mut table: Table<'_>, problems: &mut Problems) {
    const ABOUT: [(&str, About); 4] =
        [("part", About::Part), ("rider", About::Rider), ("setup", About::Setup), ("chart", About::Chart)];
    let id = id(&mut table, false, problems);
    let name = words(&mut table, "name", problems);
    let about_text: Option<Text<'_>> = table.need("about", problems);
    let attributes = table.get::<Vec<Table<'_>>>("attribute", problems).unwrap_or_default();
    table.finish(problems);
    let about = about_text.as_ref().and_then(|t| word(t, &ABOUT, "sort of thing", problems));
    if let (Some(about), Some(text)) = (about, about_text)
        && about != About::Part
        && knowledge.kinds.iter().any(|kind| kind.about == about)
    {
        problems.push(text.problem(format!("a second kind about `{}`", text.as_str())).help("put its attributes into the first"));
    }
    let entry = id.as_ref().zip(name).zip(about);
    let entry = entry.map(|((id, name), about)| Kind { id: id.as_str().to_owned(), name: name.into_string(), about });
    // The attributes of a kind that is wrong itself are looked through as well, for a kind that nothing leads to.
    let is_read = entry.is_some();
    let at = knowledge.kinds.len();
    let mut ids = Register::of("attribute");
    let mut list = Vec::new();
    let mut following = Following::default();
    for table in attributes {
        attribute(knowledge, KindId::at(at), table, (&mut list, &mut following), &mut ids, problems);
    }
    for (place, table) in following.fills {
        let found = fills(knowledge, &list, place, table, &ids, problems);
        list[place].fills = found;
    }
    for (place, words) in following.unsays {
        list[place].unsays = words.iter().filter_map(|word| ids.known(word, problems)).collect();
    }
    put(&mut knowledge.kinds, &mut knowledge.names.kinds, id, entry, KindId::at, problems);
    if is_read {
        knowledge.names.attributes.push(ids);
        knowledge.attributes.append(&mut list);
    }
}

/// What attributes of a kind say of one another, each with its place in the list: to be read when all are known.
#[derive(Default)]
struct Following<'f> {
    fills: Vec<(usize, Table<'f>)>,
    unsays: Vec<(usize, Vec<Text<'f>>)>,
}

/// The attributes of one kind, and what they say of one another.
type Attributes<'l, 'f> = (&'l mut Vec<Attribute>, &'l mut Following<'f>);

/// Reads an attribute into the list of its kind; its id counts on from those of the kinds before.
fn attribute<'f>(
    knowledge: &Knowledge,
    kind: Option<KindId>,
    mut table: Table<'f>,
    (list, following): Attributes<'_, 'f>,
    ids: &mut Register<AttributeId>,
    problems: &mut Problems,
) {
    let id = id(&mut table, false, problems);
    let says = words(&mut table, "says", problems);
    let required: Option<bool> = table.get("required", problems);
    let figure = words_if_any(&mut table, "figure", problems);
    let within = words_if_any(&mut table, "within", problems);
    let what = attribute_type(knowledge, &mut table, problems);
    let dimension = what.and_then(AttributeType::dimension);
    let tool = tool(knowledge, &mut table, dimension, problems);
    let filling: Option<Table<'f>> = table.get("fills", problems);
    let slider: Option<bool> = table.get("slider", problems);
    let unsays: Option<Vec<Text<'f>>> = table.get("unsays", problems);
    table.finish(problems);
    if let (Some(figure), Some(what)) = (figure.as_ref(), what) {
        let places = figure.matches("{}").count();
        if places != 1 && !(places == 0 && what == AttributeType::Flag) {
            problems.push(figure.problem("a figure shows its value once").label("expected one `{}`"));
        }
    }
    let before = knowledge.attributes.len();
    let (Some(id), Some(kind), Some(what), Some(says)) = (id, kind, what, says) else {
        ids.spoil();
        return;
    };
    ids.enter(&id, AttributeId::at(before + list.len()), problems);
    following.fills.extend(filling.map(|table| (list.len(), table)));
    following.unsays.extend(unsays.map(|words| (list.len(), words)));
    list.push(Attribute {
        id: id.into_string(),
        kind,
        what,
        required: required.unwrap_or(false),
        says: says.into_string(),
        tool,
        within: within.map(Text::into_string),
        figure: figure.map(Text::into_string),
        fills: Vec::new(),
        slider: slider.unwrap_or(false),
        unsays: Vec::new(),
    });
}

/// Reads which attributes of the same kind follow from which figures of a standard.
fn fills(
    knowledge: &Knowledge,
    list: &[Attribute],
    place: usize,
    mut table: Table<'_>,
    ids: &Register<AttributeId>,
    problems: &mut Problems,
) -> Vec<Fill> {
    let AttributeType::Standard { family } = list[place].what else {
        problems.push(table.problem(format!("`{}` is no standard", list[place].id)).label("nothing follows from it"));
        return Vec::new();
    };
    let mut found = Vec::new();
    for (key, value) in table.take_rest() {
        let Some(attribute) = ids.known(&key, problems) else { continue };
        let Some(text) = Text::from_value(value, problems) else { continue };
        let Some(figure) = terms::figure(knowledge, &text, family, text.as_str(), problems) else { continue };
        let about = &list[attribute.index() - knowledge.attributes.len()];
        let given = knowledge.family_of(family).figures[figure].what;
        if about.dimension().map(FigureType::Quantity) != Some(given) {
            problems.push(text.problem(format!("`{}` is of another dimension than `{}`", text.as_str(), about.id)));
        }
        found.push(Fill { attribute, figure });
    }
    found
}

fn attribute_type(knowledge: &Knowledge, table: &mut Table<'_>, problems: &mut Problems) -> Option<AttributeType> {
    const TYPES: [(&str, u8); 6] = [("count", 0), ("word", 1), ("flag", 2), ("numbers", 3), ("standard", 4), ("standards", 5)];
    let dimension_text: Option<Text<'_>> = table.get("dimension", problems);
    let type_text: Option<Text<'_>> = table.get("type", problems);
    let what = match (dimension_text, type_text) {
        (Some(text), None) => {
            let (least, most) = bounds::<Text<'_>>(table, problems);
            let dimension = dimension(&text, problems)?;
            let least = quantity(&least?, dimension, problems);
            let most = quantity(&most?, dimension, problems);
            AttributeType::Quantity { dimension, least: least?.value(), most: most?.value() }
        }
        (None, Some(text)) => match word(&text, &TYPES, "type", problems)? {
            0 => {
                let (least, most) = bounds::<u32>(table, problems);
                AttributeType::Count { least: least?, most: most? }
            }
            1 => AttributeType::Word,
            2 => AttributeType::Flag,
            several @ (4 | 5) => {
                let family: Text<'_> = table.need("family", problems)?;
                let family = knowledge.names.families.known(&family, problems)?;
                if several == 5 { AttributeType::Standards { family } } else { AttributeType::Standard { family } }
            }
            _ => {
                let (least, most) = bounds::<f64>(table, problems);
                AttributeType::Numbers { least: least?, most: most? }
            }
        },
        _ => {
            problems.push(table.problem("an attribute needs one type").help("give it either a `dimension` or a `type`"));
            return None;
        }
    };
    let upside_down = match what {
        AttributeType::Quantity { least, most, .. } | AttributeType::Numbers { least, most } => least > most,
        AttributeType::Count { least, most } => least > most,
        AttributeType::Word | AttributeType::Flag | AttributeType::Standard { .. } | AttributeType::Standards { .. } => false,
    };
    if upside_down {
        problems.push(table.problem("the least is more than the most"));
    }
    Some(what)
}

fn bounds<'f, T: FromValue<'f>>(table: &mut Table<'f>, problems: &mut Problems) -> (Option<T>, Option<T>) {
    (table.need("least", problems), table.need("most", problems))
}

fn outputs(knowledge: &mut Knowledge, file: Option<&SourceFile>, problems: &mut Problems) {
    const SHOWN: [(&str, Shown); 3] = [("always", Shown::Always), ("changed", Shown::Changed), ("never", Shown::Never)];
    let Some(mut root) = open(file, &mut knowledge.names, |names| names.outputs.spoil(), problems) else { return };
    for mut table in tables(&mut root, "output", problems) {
        let id = id(&mut table, false, problems);
        let name = words(&mut table, "name", problems);
        let dimension_text: Option<Text<'_>> = table.need("dimension", problems);
        let dimension = dimension_text.and_then(|t| dimension(&t, problems));
        let noticed: Option<Text<'_>> = table.get("noticed", problems);
        let more = words_if_any(&mut table, "more", problems).map(Text::into_string);
        let less = words_if_any(&mut table, "less", problems).map(Text::into_string);
        let up = words_if_any(&mut table, "up", problems).map(Text::into_string);
        let down = words_if_any(&mut table, "down", problems).map(Text::into_string);
        let shown: Option<Text<'_>> = table.need("shown", problems);
        let tool = tool(knowledge, &mut table, dimension, problems);
        let source = source(knowledge, &mut table, problems);
        table.finish(problems);
        let shown = shown.and_then(|t| word(&t, &SHOWN, "way to be shown", problems));
        let noticed = noticed.zip(dimension).and_then(|(text, dimension)| {
            let value = size(&text, dimension, true, problems)?;
            Some(Quantity::exact(value, dimension, Origin::CommonPractice))
        });
        let entry = (|| {
            let id = id.as_ref()?.as_str().to_owned();
            let (dimension, shown, source) = (dimension?, shown?, source?);
            Some(Output { id, name: name?.into_string(), dimension, noticed, more, less, up, down, shown, tool, source })
        })();
        put(&mut knowledge.outputs, &mut knowledge.names.outputs, id, entry, OutputId::at, problems);
    }
    root.finish(problems);
}

fn cautions(knowledge: &mut Knowledge, file: Option<&SourceFile>, problems: &mut Problems) {
    let Some(mut root) = open(file, &mut knowledge.names, |names| names.cautions.spoil(), problems) else { return };
    for mut table in tables(&mut root, "caution", problems) {
        let id = id(&mut table, true, problems);
        let slots = table.need::<Vec<Text<'_>>>("slots", problems);
        let text = words(&mut table, "text", problems);
        let source = source(knowledge, &mut table, problems);
        table.finish(problems);
        let slots = slots.iter().flatten().filter_map(|t| knowledge.names.slots.known(t, problems)).collect();
        let entry = id.as_ref().zip(text).zip(source);
        let entry =
            entry.map(|((id, text), source)| Caution { id: id.as_str().to_owned(), slots, text: text.into_string(), source });
        put(&mut knowledge.cautions, &mut knowledge.names.cautions, id, entry, CautionId::at, problems);
    }
    root.finish(problems);
}

fn defaults(knowledge: &mut Knowledge, file: Option<&SourceFile>, problems: &mut Problems) {
    let Some(mut root) = open(file, &mut knowledge.names, |_| {}, problems) else { return };
    for mut table in tables(&mut root, "default", problems) {
        let of: Option<Text<'_>> = table.need("of", problems);
        let value: Option<Text<'_>> = table.need("value", problems);
        let because = words(&mut table, "because", problems);
        let source = source(knowledge, &mut table, problems);
        table.finish(problems);
        let Some(of) = of else { continue };
        let Some((slot, attribute)) = terms::attribute(knowledge, &of, problems) else { continue };
        let AttributeType::Quantity { dimension, least, most } = knowledge.attribute_of(attribute).what else {
            problems.push(of.problem(format!("`{}` is not a quantity", of.as_str())).label("expected a quantity"));
            continue;
        };
        if knowledge.defaults.iter().any(|d| d.slot == slot && d.attribute == attribute) {
            problems.push(of.problem(format!("a second default for `{}`", of.as_str())).help("keep one of them"));
            continue;
        }
        let Some(text) = value else { continue };
        let Some(value) = quantity(&text, dimension, problems) else { continue };
        if !(least..=most).contains(&value.value()) {
            let symbol = dimension.base_symbol();
            let problem = text.problem(format!("`{}` cannot be `{}`", of.as_str(), text.as_str())).label("out of its bounds");
            problems.push(problem.note(format!("it is from {least} {symbol} to {most} {symbol}")));
        }
        let spread = if value.spread() == Spread::Limits(0.0) { Spread::Exact } else { value.spread() };
        let value = value.with_spread(spread).with_origin(Origin::CommonPractice);
        if let (Some(because), Some(source)) = (because, source) {
            knowledge.defaults.push(DefaultValue { slot, attribute, value, because: because.into_string(), source });
        }
    }
    root.finish(problems);
}
