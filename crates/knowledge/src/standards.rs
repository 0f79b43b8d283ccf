//! Families of standards: names that carry their own figures and tolerances, each from a source.

use std::{collections::HashMap, fmt, sync::Arc};

use quantity::{Dimension, Origin, Quantity, Spread};
use source_file::{
    Problems, SourceFile, Text, closest,
    toml_table::{Table, Value, What},
};

use crate::{
    Knowledge,
    codes::{Code, squeezed},
    ids::{FamilyId, SourceId},
    read::{dimension, id, open, put, quantity, tables, word, words},
    rules::sources,
};

/// What a figure of a family is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FigureType {
    /// A quantity; a count is a bare number.
    Quantity(Dimension),
    /// A word.
    Word,
}

/// A figure that members of a family have.
#[derive(Clone, Debug, PartialEq)]
pub struct FamilyFigure {
    /// Id, unique within the family.
    pub id: String,
    /// What it is.
    pub what: FigureType,
    /// The phrase a sentence uses.
    pub says: String,
}

/// A figure of a member.
#[derive(Clone, Debug, PartialEq)]
pub enum Figure {
    /// A quantity with its tolerance.
    Quantity(Quantity),
    /// A word.
    Word(String),
}

/// One member of a family.
#[derive(Clone, Debug)]
pub struct Standard {
    /// The family.
    pub family: FamilyId,
    /// What people write.
    pub id: String,
    /// What it is called in full.
    pub name: String,
    /// What a sentence calls it: the name, or a shorter one that tells it from the others of its family.
    pub says: String,
    /// Its figures, in the order of the family; `None` where one is not known.
    pub figures: Vec<Option<Figure>>,
    /// Says who.
    pub sources: Vec<SourceId>,
}

/// Two are the same if they are the same member of the same family.
impl PartialEq for Standard {
    fn eq(&self, other: &Self) -> bool {
        self.family == other.family && self.id == other.id
    }
}

impl Standard {
    /// A figure that is a quantity.
    pub fn quantity(&self, figure: usize) -> Option<Quantity> {
        if let Some(Some(Figure::Quantity(quantity))) = self.figures.get(figure) { Some(*quantity) } else { None }
    }

    /// A figure that is a word.
    pub fn word(&self, figure: usize) -> Option<&str> {
        if let Some(Some(Figure::Word(word))) = self.figures.get(figure) { Some(word) } else { None }
    }
}

/// A family of standards.
#[derive(Clone, Debug, PartialEq)]
pub struct Family {
    /// Id.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Its designations can be read, members need not be listed.
    pub code: Option<Code>,
    /// The figures its members have.
    pub figures: Vec<FamilyFigure>,
    /// Members that are listed.
    pub members: Vec<Arc<Standard>>,
    /// Place of a member by every spelling, squeezed and small.
    spellings: HashMap<String, usize>,
}

/// A name that is no member of a family.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnknownStandard {
    family: String,
    name: String,
    closest: Option<String>,
    example: Option<&'static str>,
}

impl fmt::Display for UnknownStandard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "there is no {} called {}", self.family, source_file::quoted(&self.name))
    }
}

impl std::error::Error for UnknownStandard {}

impl UnknownStandard {
    /// What would be right.
    pub fn help(&self) -> Option<String> {
        self.closest.as_ref().map(|near| format!("did you mean `{near}`?")).or_else(|| self.example.map(str::to_owned))
    }
}

impl Family {
    /// The member a text names, however it is spelt.
    pub(crate) fn find(&self, id: FamilyId, text: &str) -> Result<Arc<Standard>, UnknownStandard> {
        if let Some(place) = self.spellings.get(&spelling(text)) {
            return Ok(Arc::clone(&self.members[*place]));
        }
        if let Some((code, (written, read))) = self.code.and_then(|code| Some((code, code.read(text)?))) {
            return Ok(Arc::new(self.coded(id, code, written, &read)));
        }
        let near = closest(text.trim(), self.members.iter().map(|member| member.id.as_str())).map(str::to_owned);
        let example = self.code.map(Code::example);
        Err(UnknownStandard { family: self.name.clone(), name: text.trim().to_owned(), closest: near, example })
    }

    /// The standard a designation stands for: what its text says, and what the member it rests on adds.
    fn coded(&self, family: FamilyId, code: Code, written: String, read: &[Option<Figure>]) -> Standard {
        let base = code.base(&written).and_then(|base| self.spellings.get(&spelling(base))).map(|place| &self.members[*place]);
        let mut figures = base.map_or_else(|| vec![None; self.figures.len()], |base| base.figures.clone());
        for ((name, _), figure) in code.figures().iter().zip(read) {
            if let Some(place) = self.figures.iter().position(|f| f.id == *name) {
                figures[place].clone_from(figure);
            }
        }
        let sources = base.map(|base| base.sources.clone()).unwrap_or_default();
        Standard { family, name: written.clone(), says: written.clone(), id: written, figures, sources }
    }
}

/// A spelling reduced to what makes a difference.
fn spelling(text: &str) -> String {
    squeezed(text).to_lowercase()
}

/// Reads a file of the room `standards/`.
pub(crate) fn standards(knowledge: &mut Knowledge, file: Option<&SourceFile>, problems: &mut Problems) {
    let Some(mut root) = open(file, &mut knowledge.names, |names| names.families.spoil(), problems) else { return };
    for table in tables(&mut root, "family", problems) {
        family(knowledge, table, problems);
    }
    root.finish(problems);
}

fn family(knowledge: &mut Knowledge, mut table: Table<'_>, problems: &mut Problems) {
    let id = id(&mut table, false, problems);
    let name = words(&mut table, "name", problems);
    let code: Option<Text<'_>> = table.get("code", problems);
    let code = code.and_then(|text| word(&text, &Code::ALL, "designation that can be read", problems));
    let mut figures: Vec<FamilyFigure> = Vec::new();
    for table in table.need::<Vec<Table<'_>>>("figure", problems).unwrap_or_default() {
        if let Some((id, figure)) = family_figure(table, problems) {
            if figures.iter().any(|f| f.id == figure.id) {
                problems.push(id.problem(format!("a second figure `{}`", figure.id)).label("again"));
            }
            figures.push(figure);
        }
    }
    for (figure, dimension) in code.iter().flat_map(|code| code.figures()) {
        let what = dimension.map_or(FigureType::Word, FigureType::Quantity);
        if !figures.iter().any(|f| f.id == *figure && f.what == what) {
            let kind = dimension.map_or("a word", quantity::Dimension::with_article);
            problems.push(table.problem(format!("this designation gives a figure `{figure}`, {kind}")).label("missing here"));
        }
    }
    let at = knowledge.families.len();
    let listed = table.get::<Vec<Table<'_>>>("member", problems);
    if code.is_none() && listed.as_ref().is_none_or(Vec::is_empty) {
        problems.push(table.problem("a family without members").help("list its members as `[[family.member]]`"));
    }
    table.finish(problems);
    let mut members: Vec<Arc<Standard>> = Vec::new();
    let mut spellings = HashMap::new();
    for table in listed.unwrap_or_default() {
        let Some(family) = FamilyId::at(at) else { continue };
        if let Some((standard, names)) = member(knowledge, table, family, &figures, code, problems) {
            for name in names {
                if spellings.insert(spelling(&name), members.len()).is_some_and(|before| before != members.len()) {
                    problems.push(name.problem(format!("a second member `{}`", name.as_str())).label("again"));
                }
            }
            members.push(Arc::new(standard));
        }
    }
    let entry = id.as_ref().zip(name);
    let entry = entry.map(|(id, name)| Family {
        id: id.as_str().to_owned(),
        name: name.into_string(),
        code,
        figures,
        members,
        spellings,
    });
    put(&mut knowledge.families, &mut knowledge.names.families, id, entry, FamilyId::at, problems);
}

fn family_figure<'f>(mut table: Table<'f>, problems: &mut Problems) -> Option<(Text<'f>, FamilyFigure)> {
    const TYPES: [(&str, FigureType); 2] = [("count", FigureType::Quantity(Dimension::Number)), ("word", FigureType::Word)];
    let id = id(&mut table, false, problems);
    let says = words(&mut table, "says", problems);
    let dimension_text: Option<Text<'_>> = table.get("dimension", problems);
    let type_text: Option<Text<'_>> = table.get("type", problems);
    let what = match (dimension_text, type_text) {
        (Some(text), None) => dimension(&text, problems).map(FigureType::Quantity),
        (None, Some(text)) => word(&text, &TYPES, "type of figure", problems),
        _ => {
            problems.push(table.problem("a figure needs one type").help("give it either a `dimension` or a `type`"));
            None
        }
    };
    table.finish(problems);
    let id = id?;
    let figure = FamilyFigure { id: id.as_str().to_owned(), what: what?, says: says?.into_string() };
    Some((id, figure))
}

/// A member and all its spellings.
fn member<'f>(
    knowledge: &Knowledge,
    mut table: Table<'f>,
    family: FamilyId,
    figures: &[FamilyFigure],
    code: Option<Code>,
    problems: &mut Problems,
) -> Option<(Standard, Vec<Text<'f>>)> {
    let id: Option<Text<'f>> = table.need("id", problems);
    if let Some(id) = id.as_ref().filter(|id| id.is_empty() || id.chars().any(char::is_whitespace)) {
        problems.push(id.problem(format!("`{}` cannot be the id of a standard", id.as_str())).label("expected no spaces"));
    }
    let also = table.get::<Vec<Text<'f>>>("also", problems).unwrap_or_default();
    let name = words(&mut table, "name", problems);
    let says: Option<Text<'_>> = table.get("says", problems);
    let sources = sources(knowledge, &mut table, "source", problems);
    let mut found: Vec<Option<Figure>> = Vec::with_capacity(figures.len());
    for figure in figures {
        found.push(table.get::<Value<'_>>(figure.id.clone(), problems).and_then(|value| member_figure(value, figure, problems)));
    }
    table.finish(problems);
    let id = id?;
    // A member whose id is itself a designation need not repeat what its text says.
    if let Some((_, read)) = code.and_then(|code| code.read(&id)) {
        for ((name, _), read) in code.iter().flat_map(|code| code.figures()).zip(read) {
            if let Some(place) = figures.iter().position(|f| f.id == *name)
                && found[place].is_none()
            {
                found[place] = read;
            }
        }
    }
    let name = name?.into_string();
    let says = says.map_or_else(|| name.clone(), Text::into_string);
    let standard = Standard { family, id: id.as_str().to_owned(), name, says, figures: found, sources };
    Some((standard, std::iter::once(id).chain(also).collect()))
}

fn member_figure(value: Value<'_>, figure: &FamilyFigure, problems: &mut Problems) -> Option<Figure> {
    let wrong = value.wrong_kind(match figure.what {
        FigureType::Quantity(Dimension::Number) => "a number",
        FigureType::Quantity(dimension) => dimension.with_article(),
        FigureType::Word => "a word",
    });
    match (value.what(problems)?, figure.what) {
        (What::Number(number), FigureType::Quantity(Dimension::Number)) => {
            Some(Figure::Quantity(Quantity::exact(number, Dimension::Number, Origin::Standard)))
        }
        (What::Text(text), FigureType::Quantity(dimension)) => {
            let found = quantity(&text, dimension, problems)?;
            // A figure without ± is nominal: a name for a size, exact as names are.
            let spread = if found.spread() == Spread::Limits(0.0) { Spread::Exact } else { found.spread() };
            Some(Figure::Quantity(found.with_spread(spread).with_origin(Origin::Standard)))
        }
        (What::Text(text), FigureType::Word) => Some(Figure::Word(text.into_string())),
        _ => {
            problems.push(wrong);
            None
        }
    }
}
