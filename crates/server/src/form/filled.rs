//! What stands in the fields of the form, exactly as typed: out of a build file, or as a browser sends it; and back into a file.
//!
//! | name | says |
//! |---|---|
//! | `rider.mass` | the value at these keys |
//! | `rider.mass:from`, `rider.mass:plus_minus`, … | what stands beside it if it is written as a table |
//! | `slots.fork.part` | a part of the catalogue by id or name; [`WRITTEN_OUT`]; or empty: nothing is known to be there |
//! | `slots.fork:open` | its fields are shown |
//! | `frame.colour:toml` | what the form has no field for, as the file has it |

use std::collections::BTreeMap;

use bike::Catalogue;
use knowledge::{About, KindId, Knowledge, SlotId};
use quantity::Origin;

use crate::form::{
    document::{Node, Path, Table, literal},
    fields::{self, Entry, Field, SPREADS, WRITTEN_OUT, name_of, path_of},
};

/// Where a number comes from, beside its name.
pub(crate) const FROM: &str = ":from";
/// The fields of a place are shown.
pub(crate) const OPEN: &str = ":open";
/// A value as the file has it.
pub(crate) const TOML: &str = ":toml";

/// The most fields that are read: a few times what a whole bicycle has.
const MOST_FIELDS: usize = 8000;

/// What stands in the fields.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Filled(BTreeMap<String, Vec<String>>);

/// Something typed that is no value at all, with its keys.
#[derive(Clone, Debug)]
pub(crate) struct NoValue {
    pub(crate) path: Path,
    pub(crate) problem: source_file::Problem,
}

/// What is chosen for a place on the bicycle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Chosen<'a> {
    /// It is empty.
    Nothing,
    /// A part that is written out there.
    WrittenOut,
    /// A part of the catalogue.
    Named(&'a str),
}

impl Filled {
    /// As a browser sends it.
    pub(crate) fn of_pairs(pairs: impl IntoIterator<Item = (String, String)>) -> Self {
        let mut filled = Self::default();
        for (name, value) in pairs.into_iter().take(MOST_FIELDS) {
            // Lines end as the file's do.
            filled.0.entry(name).or_default().push(value.replace("\r\n", "\n"));
        }
        filled
    }

    /// What is typed in a field; of two of a name the last one counts.
    pub(crate) fn get(&self, name: &str) -> &str {
        self.0.get(name).and_then(|values| values.last()).map_or("", String::as_str)
    }

    /// All that is typed in fields of one name.
    pub(crate) fn all(&self, name: &str) -> &[String] {
        self.0.get(name).map_or(&[], Vec::as_slice)
    }

    pub(crate) fn set(&mut self, name: impl Into<String>, value: impl Into<String>) {
        self.0.insert(name.into(), vec![value.into()]);
    }

    fn add(&mut self, name: impl Into<String>, value: impl Into<String>) {
        self.0.entry(name.into()).or_default().push(value.into());
    }

    /// Whether something is typed.
    pub(crate) fn has(&self, name: &str) -> bool {
        self.all(name).iter().any(|value| !value.trim().is_empty())
    }

    /// Whether something is typed in a field or beside it.
    pub(crate) fn has_field(&self, field: &Field) -> bool {
        let name = field.name();
        self.has(&name) || self.has(&format!("{name}{TOML}"))
    }

    /// What the form has no field for, below these keys: names without their ending.
    pub(crate) fn as_written<'a>(&'a self, below: &'a str) -> impl Iterator<Item = &'a str> {
        let names = self.0.iter().filter(|(_, values)| values.iter().any(|value| !value.trim().is_empty()));
        let names = names.filter_map(|(name, _)| name.strip_suffix(TOML));
        names.filter(move |name| below.is_empty() || name.strip_prefix(below).is_some_and(|rest| rest.starts_with('.')))
    }

    /// Out of a build file.
    pub(crate) fn of_file(table: &Table, knowledge: &Knowledge) -> Self {
        let mut filled = Self::default();
        let mut rest = table.clone();
        let mut known: Vec<Field> = fields::of_bike().into();
        for about in [About::Rider, About::Setup, About::Chart] {
            known.extend(fields::of_table(knowledge, about));
        }
        for (slot, _) in knowledge.slots() {
            let keys = fields::keys_of(knowledge, slot);
            let part = path(&keys, "part");
            match at(&rest, &path(&keys, "")[..keys.len()]).cloned() {
                Some(Node::Text(id)) if is_one_line(&id) && keys.len() > 1 => {
                    filled.set(name_of(&part), id);
                    rest.remove_at(&part[..keys.len()]);
                    continue;
                }
                Some(Node::Table(_)) => {}
                _ => continue,
            }
            match at(&rest, &part).cloned() {
                Some(Node::Text(id)) if is_one_line(&id) => {
                    filled.set(name_of(&part), id);
                    rest.remove_at(&part);
                }
                _ => filled.set(name_of(&part), WRITTEN_OUT),
            }
            // The place says the kind; another one is shown as it is written.
            let kind = path(&keys, "kind");
            if at(&rest, &kind) == Some(&Node::Text(knowledge.kind_of(knowledge.slot_of(slot).kind).id.clone())) {
                rest.remove_at(&kind);
            }
            known.extend(fields::of_slot(knowledge, slot));
        }
        for field in &known {
            if let Some(node) = at(&rest, &field.path)
                && filled.take_in(field, node)
            {
                rest.remove_at(&field.path);
            }
        }
        filled.as_it_is(&rest, &mut Vec::new(), knowledge);
        filled
    }

    /// What is left is kept as it is written.
    fn as_it_is(&mut self, table: &Table, path: &mut Path, knowledge: &Knowledge) {
        for (key, node) in table.iter() {
            path.push(key.to_owned());
            let words: Vec<&str> = path.iter().map(String::as_str).collect();
            let is_of_the_form = match words[..] {
                ["rider" | "setup" | "frame" | "slots"] | ["frame", "chart"] => true,
                ["slots", slot] => knowledge.slot(slot).is_some(),
                ["frame", "chart", within] => {
                    knowledge.attributes.iter().any(|attribute| attribute.within.as_deref() == Some(within))
                }
                _ => false,
            };
            match node {
                Node::Table(inner) if is_of_the_form => self.as_it_is(inner, path, knowledge),
                _ => self.set(format!("{}{TOML}", name_of(path)), node.to_string()),
            }
            path.pop();
        }
    }

    /// Puts a value into its field; `false` if the field cannot hold it.
    fn take_in(&mut self, field: &Field, node: &Node) -> bool {
        let name = field.name();
        let text = match (field.entry, node) {
            (Entry::Lines, Node::List(entries)) => {
                let texts: Option<Vec<&str>> = entries.iter().map(text_of).collect();
                let Some(texts) = texts.filter(|texts| texts.iter().all(|text| !text.trim().is_empty() && !text.contains('\r')))
                else {
                    return false;
                };
                for text in texts {
                    self.add(&name, text);
                }
                return true;
            }
            (Entry::Quantity { usual, .. }, Node::Table(table)) => return self.take_in_table(&name, usual, table),
            (Entry::Quantity { .. } | Entry::Sum | Entry::Count(..), Node::Number(number)) => plain(*number),
            (Entry::Flag, Node::Flag(flag)) => if *flag { "yes" } else { "no" }.to_owned(),
            (Entry::Numbers(..), Node::List(entries)) if !entries.is_empty() => {
                let numbers =
                    entries.iter().map(|entry| if let Node::Number(number) = entry { Some(plain(*number)) } else { None });
                let Some(numbers) = numbers.collect::<Option<Vec<_>>>() else { return false };
                numbers.join(" ")
            }
            (Entry::Standards(_), Node::List(entries)) if !entries.is_empty() => {
                let texts: Option<Vec<&str>> = entries.iter().map(text_of).collect();
                let is_plain = |text: &&str| is_one_line(text) && !text.contains([',', ';']);
                let Some(texts) = texts.filter(|texts| texts.iter().all(is_plain)) else { return false };
                texts.join(", ")
            }
            (Entry::Standards(_), Node::Text(text)) if !text.contains([',', ';']) => text.clone(),
            (Entry::Choice(words), Node::Text(text)) if words.contains(&text.as_str()) => text.clone(),
            // The usual one is said by choosing none.
            (Entry::Choice(_), Node::Text(text)) if text == bike::Condition::New.word() => return true,
            (Entry::Line | Entry::Lines | Entry::Quantity { .. } | Entry::Sum | Entry::Standard(_), Node::Text(text)) => {
                text.clone()
            }
            _ => return false,
        };
        let fits = match field.entry {
            Entry::Lines => !text.trim().is_empty() && !text.contains('\r'),
            _ => is_one_line(&text),
        };
        if fits {
            self.add(name, text);
        }
        fits
    }

    /// A number with its tolerance and where it comes from, each in a field.
    fn take_in_table(&mut self, name: &str, usual: Origin, table: &Table) -> bool {
        let mut pairs = Vec::new();
        for (key, node) in table.iter() {
            let (beside, text) = match (key, node) {
                ("value", node) => (String::new(), node),
                ("from", Node::Text(word)) if Origin::from_word(word).is_some() => (FROM.to_owned(), node),
                (key, node) if SPREADS.iter().any(|spread| spread.0 == key) => (format!(":{key}"), node),
                _ => return false,
            };
            let text = match text {
                Node::Text(text) if is_one_line(text) => text.clone(),
                Node::Number(number) => plain(*number),
                _ => return false,
            };
            if beside != FROM || text != usual.word() {
                pairs.push((format!("{name}{beside}"), text));
            }
        }
        let has_value = pairs.iter().any(|pair| pair.0 == name);
        if has_value {
            for (name, value) in pairs {
                self.set(name, value);
            }
        }
        has_value
    }

    /// Into a build file, with what is no value at all.
    pub(crate) fn to_file(&self, knowledge: &Knowledge, catalogue: &Catalogue) -> (Table, Vec<NoValue>) {
        let mut table = Table::default();
        let put = |fields: &[Field], table: &mut Table| {
            for field in fields {
                if let Some(node) = self.value(field) {
                    table.set_at(&field.path, node);
                }
            }
        };
        put(&fields::of_bike(), &mut table);
        put(&fields::of_table(knowledge, About::Rider), &mut table);
        put(&fields::of_table(knowledge, About::Setup), &mut table);
        for (slot, _) in knowledge.slots() {
            let said = self.part_in(slot, knowledge);
            if said == Chosen::Nothing {
                continue;
            }
            let keys = path(&fields::keys_of(knowledge, slot), "part");
            let keys = &keys[..keys.len() - 1];
            let mut part = Table::default();
            if let Chosen::Named(said) = said {
                let id = id_of(said, knowledge.slot_of(slot).kind, catalogue);
                part.set("part", Node::Text(id.to_owned()));
            }
            table.set_at(keys, Node::Table(part));
            put(&fields::of_slot(knowledge, slot), &mut table);
            if fields::is_frame(knowledge, slot) {
                put(&fields::of_table(knowledge, About::Chart), &mut table);
            }
        }
        let mut wrong = Vec::new();
        for name in self.as_written("") {
            let path = path_of(name);
            match literal(self.get(&format!("{name}{TOML}"))) {
                Ok(node) if !self.is_of_an_empty_place(&path, knowledge) => table.set_at(&path, node),
                Ok(_) => {}
                Err(problems) => {
                    wrong.extend(problems.into_iter().take(1).map(|problem| NoValue { path: path.clone(), problem }));
                }
            }
        }
        // A part that is all the catalogue's is named alone.
        for (slot, about) in knowledge.slots().filter(|(slot, _)| !fields::is_frame(knowledge, *slot)) {
            let keys = ["slots".to_owned(), about.id.clone()];
            if let (Chosen::Named(_), Some(Node::Table(part))) = (self.part_in(slot, knowledge), at(&table, &keys))
                && let Some(id) = part.get("part").filter(|_| part.iter().count() == 1).cloned()
            {
                table.set_at(&keys, id);
            }
        }
        (table, wrong)
    }

    /// What is chosen for a place.
    pub(crate) fn part_in(&self, slot: SlotId, knowledge: &Knowledge) -> Chosen<'_> {
        let name = name_of(&path(&fields::keys_of(knowledge, slot), "part"));
        match self.get(&name).trim() {
            "" if fields::is_frame(knowledge, slot) => Chosen::WrittenOut,
            "" => Chosen::Nothing,
            WRITTEN_OUT => Chosen::WrittenOut,
            said => Chosen::Named(said),
        }
    }

    /// Whether something is written about a place that was emptied since.
    fn is_of_an_empty_place(&self, path: &[String], knowledge: &Knowledge) -> bool {
        match path {
            [slots, slot, _, ..] if slots == "slots" => {
                knowledge.slot(slot).is_some_and(|slot| self.part_in(slot, knowledge) == Chosen::Nothing)
            }
            _ => false,
        }
    }

    /// The value of a field, if something is typed.
    fn value(&self, field: &Field) -> Option<Node> {
        let name = field.name();
        if field.entry == Entry::Lines {
            let texts = self.all(&name).iter().filter(|text| !text.trim().is_empty()).cloned();
            let texts: Vec<Node> = texts.map(Node::Text).collect();
            return (!texts.is_empty()).then_some(Node::List(texts));
        }
        let typed = self.get(&name);
        if typed.trim().is_empty() {
            // Said to be missing by whoever reads the file, at the place where it should stand.
            return (field.required && field.attribute.is_none()).then(|| Node::Text(String::new()));
        }
        let text = || Node::Text(typed.to_owned());
        let number = |typed: &str| typed.trim().parse::<f64>().ok().filter(|number| number.is_finite()).map(Node::Number);
        Some(match field.entry {
            Entry::Line | Entry::Lines | Entry::Standard(_) | Entry::Choice(_) => text(),
            Entry::Count(..) | Entry::Sum => number(typed).unwrap_or_else(text),
            Entry::Flag => match typed {
                "yes" => Node::Flag(true),
                "no" => Node::Flag(false),
                _ => text(),
            },
            Entry::Numbers(..) => {
                let words = typed.split(|letter: char| letter.is_whitespace() || matches!(letter, ',' | ';'));
                let words = words.filter(|word| !word.is_empty());
                Node::List(words.map(|word| number(word).unwrap_or_else(|| Node::Text(word.to_owned()))).collect())
            }
            Entry::Standards(_) => {
                let names = typed.split([',', ';']).map(str::trim).filter(|name| !name.is_empty());
                Node::List(names.map(|name| Node::Text(name.to_owned())).collect())
            }
            Entry::Quantity { .. } => {
                let mut table = Table::default();
                table.set("value", text());
                for key in std::iter::once("from").chain(SPREADS.map(|spread| spread.0)) {
                    let said = self.get(&format!("{name}:{key}"));
                    if !said.trim().is_empty() {
                        table.set(key, Node::Text(said.to_owned()));
                    }
                }
                if table.iter().count() == 1 { text() } else { Node::Table(table) }
            }
        })
    }
}

/// The id of a catalogue part that is called by its name; what was said if it is an id, or nothing known.
fn id_of<'a>(said: &'a str, kind: KindId, catalogue: &'a Catalogue) -> &'a str {
    if catalogue.get(said).is_some() {
        return said;
    }
    let mut called = catalogue.of_kind(kind).filter(|part| part.name.eq_ignore_ascii_case(said));
    match (called.next().and_then(|part| part.id.as_deref()), called.next()) {
        (Some(id), None) => id,
        _ => said,
    }
}

fn at<'t>(table: &'t Table, path: &[String]) -> Option<&'t Node> {
    match path {
        [] => None,
        [key] => table.get(key),
        [key, rest @ ..] => match table.get(key)? {
            Node::Table(inner) => at(inner, rest),
            _ => None,
        },
    }
}

fn path(keys: &[&str], key: &str) -> Path {
    keys.iter().copied().chain([key]).map(str::to_owned).collect()
}

fn text_of(node: &Node) -> Option<&str> {
    if let Node::Text(text) = node { Some(text) } else { None }
}

/// Whether a field of one line gives it back unchanged.
fn is_one_line(text: &str) -> bool {
    !text.trim().is_empty() && !text.chars().any(char::is_control)
}

/// The shortest writing of a number that reads back the same.
fn plain(number: f64) -> String {
    // Plain digits would fill lines with zeroes.
    let far = number != 0.0 && !(1e-6..1e15).contains(&number.abs());
    if far { format!("{number:e}") } else { number.to_string() }
}
