//! The attributes of a kind, out of a table of a file.

use std::sync::Arc;

use knowledge::{About, Attribute, AttributeId, AttributeType, FamilyId, KindId, Standard};
use quantity::{Dimension, Origin, Quantity, Spread};
use source_file::toml_table::{FromValue, Table, Value as TomlValue, What, unknown_key};
use source_file::{Problem, SourceFile, Text, closest, quoted};

use super::quantity_text::{Sourced, Wanted};
use super::{Known, Reader, list};
use crate::kinds;
use crate::value::{Named, Stated, Value, Values, WrittenAt};

/// The longest word or name that is kept, in bytes: enough for any sentence, not for a pasted page.
const LONGEST_WORD_BYTES: usize = 400;

/// How a file is called in places that are kept.
pub(super) struct Names<'f> {
    pub(super) file: &'f SourceFile,
    name: Arc<str>,
}

impl<'f> Names<'f> {
    pub(super) fn new(file: &'f SourceFile) -> Self {
        Self { file, name: Arc::from(file.name()) }
    }

    /// A byte of the file as a place to keep.
    pub(super) fn written_at(&self, byte: usize) -> WrittenAt {
        let line = self.file.line_column(byte).0;
        WrittenAt { file: Arc::clone(&self.name), line: u32::try_from(line).unwrap_or(u32::MAX) }
    }
}

/// What a table of attributes held.
#[derive(Default)]
pub(super) struct Taken {
    pub(super) values: Values,
    /// Keys that were there, whether their value was right or not, and keys that a misspelt one was meant for: what is among
    /// these is not missing.
    pub(super) seen: Vec<String>,
}

/// Where the reader stands: a table within the table of a kind, and what else may stand beside the attributes.
#[derive(Clone, Copy)]
struct Within<'a> {
    kind: KindId,
    group: Option<&'a str>,
    origin: Origin,
    names: &'a Names<'a>,
    also_known: &'a [&'a str],
}

impl Reader<'_> {
    /// All that is left in a table, as attributes of a kind; `also_known` are the keys that were taken before.
    pub(super) fn values(
        &mut self,
        table: Table<'_>,
        kind: KindId,
        origin: Origin,
        names: &Names<'_>,
        also_known: &[&str],
    ) -> Taken {
        let mut taken = Taken::default();
        self.values_within(table, Within { kind, group: None, origin, names, also_known }, &mut taken);
        self.fill(kind, &mut taken.values);
        taken
    }

    /// What follows from the standards that are stated, for attributes that are not: a tyre marked 57-622 has a bead seat of 622 mm.
    pub(super) fn fill(&self, kind: KindId, values: &mut Values) {
        for Known { id, attribute } in self.known(kind) {
            if attribute.fills.is_empty() {
                continue;
            }
            let Some((named, place)) = values.standard(*id).map(|named| (named.clone(), values.place(*id).cloned())) else {
                continue;
            };
            for fill in &attribute.fills {
                let Some(figure) = named.standard.quantity(fill.figure).filter(|_| values.get(fill.attribute).is_none()) else {
                    continue;
                };
                let origin = if named.guess { Origin::Guess } else { Origin::MakersSheet };
                let nominal = figure.with_origin(origin);
                // What is marked is nominal; the part is as true to it as its maker's sheet would be.
                let usual = kinds::usual_spread(self.knowledge, fill.attribute, nominal).unwrap_or(figure.spread());
                let spread = if figure.spread() == Spread::Exact { usual } else { figure.spread() };
                let value = Value::Quantity(nominal.with_spread(spread));
                values.set_stated(fill.attribute, Stated { value, place: place.clone() });
            }
        }
    }

    /// The standard a text names; with `~` in front as a guess.
    fn named(&mut self, key: &str, family: FamilyId, text: &Text<'_>) -> Option<Named> {
        let written = self.line_of_text(key, text)?;
        let guess = written.starts_with('~');
        match self.knowledge.standard(family, written.trim_start_matches('~')) {
            Ok(standard) => Some(Named { standard, guess }),
            Err(unknown) => {
                let problem = text.problem(unknown.to_string()).label("unknown");
                let members = &self.knowledge.family_of(family).members;
                self.refuse(match unknown.help() {
                    Some(help) => problem.help(help),
                    None => problem.help(format!("known: {}", list(members.iter().map(|member| member.id.as_str())))),
                })
            }
        }
    }

    /// One of a list of standards: what is only guessed belongs to no list.
    fn listed(&mut self, key: &str, family: FamilyId, text: &Text<'_>) -> Option<Arc<Standard>> {
        let named = self.named(key, family, text)?;
        if named.guess {
            return self.refuse(text.problem("a guess in a list of standards").label("leave it out, or leave `~` out"));
        }
        Some(named.standard)
    }

    fn values_within(&mut self, mut table: Table<'_>, within: Within<'_>, taken: &mut Taken) {
        let Within { kind, group, origin, names, also_known } = within;
        for (key, value) in table.take_rest() {
            let known =
                self.known(kind).iter().find(|known| known.attribute.id == *key && known.attribute.within.as_deref() == group);
            if let Some(Known { id, attribute }) = known.copied() {
                taken.seen.push(attribute.id.clone());
                let place = names.written_at(key.span().start);
                if let Some(value) = self.toml_value(id, attribute, value, origin) {
                    taken.values.set_stated(id, Stated { value, place: Some(place) });
                }
            } else if group.is_none() && self.known(kind).iter().any(|known| known.attribute.within.as_deref() == Some(&key)) {
                let wrong_kind = value.wrong_kind("a table");
                match value.what(&mut self.problems) {
                    Some(What::Table(inner)) => {
                        self.values_within(inner, Within { group: Some(&key), also_known: &[], ..within }, taken);
                    }
                    Some(_) => self.push(wrong_kind),
                    None => {}
                }
            } else {
                let (problem, meant) = self.unknown_attribute(&key, kind, group, also_known);
                taken.seen.extend(meant);
                self.push(problem);
            }
        }
    }

    /// The problem of a key that is no attribute of the kind (or not of this group of it), and the key it was meant for.
    pub(super) fn unknown_attribute(
        &self,
        key: &Text<'_>,
        kind: KindId,
        group: Option<&str>,
        also_known: &[&str],
    ) -> (Problem, Option<String>) {
        let about = self.knowledge.kind_of(kind);
        let nothing = || key.problem(format!("nothing is called {} here", quoted(key)));
        let elsewhere =
            self.known(kind).iter().find(|known| known.attribute.id == **key).map(|known| match &known.attribute.within {
                Some(within) => format!("`{within}`"),
                None => format!("the {} itself", about.name),
            });
        if let Some(home) = elsewhere.or_else(|| self.home_of(key, Some(kind))) {
            return (nothing().label(format!("belongs in {home}")), None);
        }
        if key.as_str() == "chart" && about.about == About::Part {
            return (nothing().label("only a frame has a chart"), None);
        }
        let here = self.known(kind).iter().filter(|known| known.attribute.within.as_deref() == group);
        let here = here.map(|known| known.attribute.id.as_str()).chain(also_known.iter().copied());
        let problem = unknown_key(key, here.clone());
        if let Some(meant) = closest(key, here) {
            return (problem, Some(meant.to_owned()));
        }
        let owners: Vec<&str> = kinds::part_kinds(self.knowledge)
            .filter(|owner| {
                self.knowledge.kind(&owner.id).is_some_and(|id| self.known(id).iter().any(|known| known.attribute.id == **key))
            })
            .map(|owner| owner.name.as_str())
            .collect();
        let problem = if owners.is_empty() || about.about != About::Part {
            problem
        } else {
            problem.label(format!("belongs to {}", owners.join(", ")))
        };
        (problem, None)
    }

    /// One attribute, however it is written in TOML.
    fn toml_value(&mut self, id: AttributeId, attribute: &Attribute, value: TomlValue<'_>, origin: Origin) -> Option<Value> {
        let wrong_kind = value.wrong_kind(kinds::expected(&attribute.what));
        let wrong_kind = wrong_kind.help(format!("write it like `{} = {}`", attribute.id, kinds::example(&attribute.what)));
        match attribute.what {
            AttributeType::Quantity { dimension, least, most } => {
                let wanted = Wanted::of(attribute, dimension, least, most);
                let sourced = wanted.toml(value, origin, &mut self.problems)?;
                Some(Value::Quantity(self.with_default_spread(id, sourced)))
            }
            AttributeType::Count { .. } => {
                let (file, span) = (value.file(), value.span());
                match value.what(&mut self.problems)? {
                    What::Number(number) => self.count(attribute, number, || Problem::at(file, span, "")),
                    _ => self.refuse(wrong_kind),
                }
            }
            AttributeType::Word => match value.what(&mut self.problems)? {
                What::Text(text) => self.line_of_text(&attribute.id, &text).map(Value::Word),
                _ => self.refuse(wrong_kind),
            },
            AttributeType::Standard { family } => match value.what(&mut self.problems)? {
                What::Text(text) => self.named(&attribute.id, family, &text).map(Value::Standard),
                _ => self.refuse(wrong_kind),
            },
            AttributeType::Standards { family } => {
                let texts = match value.what(&mut self.problems)? {
                    What::Text(text) => vec![text],
                    What::List(entries) if entries.is_empty() => {
                        return self.refuse(Problem { message: format!("`{}` is an empty list", attribute.id), ..wrong_kind });
                    }
                    What::List(entries) => {
                        entries.into_iter().filter_map(|entry| Text::from_value(entry, &mut self.problems)).collect()
                    }
                    _ => return self.refuse(wrong_kind),
                };
                let count = texts.len();
                let found: Vec<_> = texts.iter().filter_map(|text| self.listed(&attribute.id, family, text)).collect();
                (found.len() == count && count > 0).then_some(Value::Standards(found))
            }
            AttributeType::Flag => match value.what(&mut self.problems)? {
                What::Flag(flag) => Some(Value::Flag(flag)),
                _ => self.refuse(wrong_kind),
            },
            AttributeType::Numbers { .. } => match value.what(&mut self.problems)? {
                What::List(entries) if entries.is_empty() => {
                    self.refuse(Problem { message: format!("`{}` is an empty list", attribute.id), ..wrong_kind })
                }
                What::List(entries) => {
                    let count = entries.len();
                    let numbers: Vec<f64> = entries.into_iter().filter_map(|entry| self.entry(attribute, entry)).collect();
                    (numbers.len() == count).then_some(Value::Numbers(numbers))
                }
                _ => self.refuse(wrong_kind),
            },
        }
    }

    /// One attribute out of a cell.
    pub(super) fn cell_value(
        &mut self,
        id: AttributeId,
        attribute: &Attribute,
        cell: &Text<'_>,
        unit: Option<quantity::Unit>,
        origin: Origin,
    ) -> Option<Value> {
        let wrong = |expected: &str| {
            cell.problem(format!("`{}` cannot be {}", attribute.id, quoted(cell))).label(format!("expected {expected}"))
        };
        match attribute.what {
            AttributeType::Quantity { dimension, least, most } => {
                let wanted = Wanted::of(attribute, dimension, least, most);
                let sourced = wanted.cell(cell, unit, origin, &mut self.problems)?;
                Some(Value::Quantity(self.with_default_spread(id, sourced)))
            }
            AttributeType::Count { .. } => match cell.trim().parse::<f64>() {
                Ok(number) if number.is_finite() => self.count(attribute, number, || cell.problem("")),
                _ => self.refuse(wrong("a whole number")),
            },
            AttributeType::Word => self.line_of_text(&attribute.id, cell).map(Value::Word),
            AttributeType::Standard { family } => self.named(&attribute.id, family, cell).map(Value::Standard),
            AttributeType::Standards { family } => {
                // Names hold no spaces; designations with a stroke or a dash do hold those, so only these part them.
                let mut found = Vec::new();
                let mut at = 0;
                for word in cell.split([' ', ';', ',']) {
                    let start = at;
                    at += word.len() + 1;
                    if !word.is_empty() {
                        let part = Text::new(cell.file(), cell.part(start..start + word.len()), word);
                        found.push(self.listed(&attribute.id, family, &part)?);
                    }
                }
                if found.is_empty() {
                    self.refuse(wrong("names of standards with spaces between them"))
                } else {
                    Some(Value::Standards(found))
                }
            }
            AttributeType::Flag => match cell.trim().to_ascii_lowercase().as_str() {
                "true" | "yes" => Some(Value::Flag(true)),
                "false" | "no" => Some(Value::Flag(false)),
                _ => self.refuse(wrong("`yes` or `no`")),
            },
            AttributeType::Numbers { least, most } => {
                // "10 12 14", "10,12,14" and "10-12-14" are all usual.
                let words = cell.split(|letter: char| letter.is_whitespace() || matches!(letter, ',' | ';' | '-' | '–'));
                let numbers: Option<Vec<f64>> = words.filter(|word| !word.is_empty()).map(|word| word.parse().ok()).collect();
                let Some(numbers) = numbers.filter(|numbers| !numbers.is_empty()) else {
                    return self.refuse(wrong("numbers with spaces between them"));
                };
                match numbers.iter().find(|number| !(least..=most).contains(*number)) {
                    Some(number) => {
                        let problem = cell.problem(format!("`{}` cannot hold {number}", attribute.id)).label("out of bounds");
                        self.refuse(problem.note(format!("{}: from {least} to {most}", attribute.says)))
                    }
                    None => Some(Value::Numbers(numbers)),
                }
            }
        }
    }

    /// A quantity whose text states no tolerance has the usual one of where it comes from.
    pub(super) fn with_default_spread(&self, id: AttributeId, sourced: Sourced) -> Quantity {
        sourced.or_spread(|quantity| kinds::usual_spread(self.knowledge, id, quantity))
    }

    /// The same for a part's mass.
    pub(super) fn with_usual_mass_spread(&self, sourced: Sourced) -> Quantity {
        sourced.or_spread(|mass| kinds::usual_mass_spread(self.knowledge, mass))
    }

    /// A count within its bounds. `at` makes the problem at the right place.
    fn count(&mut self, attribute: &Attribute, number: f64, at: impl FnOnce() -> Problem) -> Option<Value> {
        let AttributeType::Count { least, most } = attribute.what else { return None };
        let (key, says) = (&attribute.id, &attribute.says);
        if number.fract() == 0.0 && (f64::from(least)..=f64::from(most)).contains(&number) {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "whole and between two u32")]
            return Some(Value::Count(number as u32));
        }
        let label = if number.fract() != 0.0 {
            "expected a whole number".to_owned()
        } else if number < f64::from(least) {
            format!("less than {least}")
        } else {
            format!("more than {most}")
        };
        let problem = Problem { message: format!("`{key}` cannot be {}", short(number)), ..at() };
        self.refuse(problem.label(label).note(format!("{says}: from {least} to {most}")))
    }

    /// One entry of a row of numbers.
    fn entry(&mut self, attribute: &Attribute, entry: TomlValue<'_>) -> Option<f64> {
        let AttributeType::Numbers { least, most } = attribute.what else { return None };
        let (file, span, wrong_kind) = (entry.file(), entry.span(), entry.wrong_kind("a number"));
        match entry.what(&mut self.problems)? {
            What::Number(number) if (least..=most).contains(&number) => Some(number),
            What::Number(number) => {
                let label =
                    if number < least { format!("less than {}", short(least)) } else { format!("more than {}", short(most)) };
                let problem = Problem::at(file, span, format!("`{}` cannot hold {}", attribute.id, short(number)));
                self.refuse(problem.label(label).note(format!("{}: from {least} to {most}", attribute.says)))
            }
            _ => self.refuse(wrong_kind),
        }
    }

    /// A text of one line, trimmed: a name, a word.
    pub(super) fn line_of_text(&mut self, key: &str, text: &Text<'_>) -> Option<String> {
        let line = text.trim();
        let problem = if line.is_empty() {
            text.problem(format!("`{key}` is empty")).label("expected some words")
        } else if line.len() > LONGEST_WORD_BYTES {
            text.problem(format!("`{key}` is a text of {} bytes", line.len())).label(format!("{LONGEST_WORD_BYTES} are the most"))
        } else if line.chars().any(char::is_control) {
            text.problem(format!("`{key}` runs over several lines or holds control characters"))
                .label("expected one line of text")
        } else {
            return Some(line.to_owned());
        };
        self.refuse(problem)
    }

    /// Reports a problem; there is no value then.
    pub(super) fn refuse<T>(&mut self, problem: Problem) -> Option<T> {
        self.push(problem);
        None
    }

    /// Reports what a kind requires and nobody stated. `at` makes the problem at the right place.
    pub(super) fn require(&mut self, values: &Values, seen: &[String], kind: KindId, called: &str, at: impl FnOnce() -> Problem) {
        let missing: Vec<&Attribute> = self
            .known(kind)
            .iter()
            .filter(|known| known.attribute.required && values.get(known.id).is_none() && !seen.contains(&known.attribute.id))
            .map(|known| known.attribute)
            .collect();
        if missing.is_empty() {
            return;
        }
        let names = list(missing.iter().map(|attribute| attribute.id.as_str()));
        let mut problem = Problem { message: format!("{called} has no {names}"), ..at() }.label("missing here");
        for attribute in missing {
            let example = kinds::example(&attribute.what);
            problem = problem.help(format!("add `{} = {example}`: {}", attribute.id, attribute.says));
        }
        self.push(problem);
    }
}

/// What a part's mass must be. No kind declares it: every part has one.
pub(crate) const MASS: Wanted<'static> = Wanted::new("mass", "mass of a part", Dimension::Mass, 0.0, 50.0);

/// What a part's price must be.
pub(crate) const PRICE: Wanted<'static> = Wanted::new("price", "price of a part", Dimension::Price, 0.0, 100_000.0);

/// What a used part's age must be.
pub(crate) const AGE: Wanted<'static> = Wanted::new("age", "age of a part", Dimension::Duration, 0.0, 60.0 * YEAR);

/// A year in minutes, the base unit of a duration.
pub(crate) const YEAR: f64 = 525_600.0;

/// A number as a message repeats it.
fn short(number: f64) -> String {
    if number.abs() < 1e9 { number.to_string() } else { format!("{number:.3e}") }
}
