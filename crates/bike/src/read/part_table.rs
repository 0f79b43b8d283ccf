//! One part out of a table: in a catalogue, or written out in a build or a swap.

use std::ops::Range;
use std::sync::Arc;

use knowledge::{About, KindId, SlotId};
use quantity::Origin;
use source_file::toml_table::{Table, Value as TomlValue, What, unknown_key};
use source_file::{Problem, Text, closest, quoted};

use super::quantity_text::Sourced;
use super::values::{AGE, MASS, Names, PRICE, YEAR};
use super::{Reader, closest_id, list};
use crate::catalogue::Catalogue;
use crate::kinds;
use crate::part::{Condition, Part};
use crate::value::Values;

/// The keys of a part that are not attributes of its kind.
pub(super) const PART_KEYS: [&str; 8] = ["id", "kind", "name", "maker", "mass", "price", "condition", "age"];

impl Reader<'_> {
    /// A part of a catalogue, with the place of its id. What is broken in it is reported; its id is remembered, so that naming it
    /// is no second mistake.
    pub(super) fn catalogue_part(&mut self, mut table: Table<'_>, names: &Names<'_>) -> Option<(Part, Range<usize>)> {
        let before = self.problems.len();
        let (file, head) = (table.file(), table.span());
        let unreliable = table.is_unreliable();
        let mut missing: Vec<&str> = ["id", "kind", "name"].into_iter().filter(|key| !table.has(key)).collect();
        let id: Option<Text<'_>> = table.get("id", &mut self.problems);
        let id_span = id.as_ref().map_or(head.clone(), Text::span);
        let id = id.and_then(|id| self.id(&id));
        let kind = table.get::<Text<'_>>("kind", &mut self.problems).and_then(|word| self.kind_named(&word));
        let name = table.get::<Text<'_>>("name", &mut self.problems).and_then(|name| self.line_of_text("name", &name));
        let part = if let Some(kind) = kind {
            let base = Part {
                id: id.clone(),
                place: Some(names.written_at(id_span.start)),
                ..Part::new(kind, name.unwrap_or_default())
            };
            let called = id.as_deref().map_or_else(|| "the part".to_owned(), quoted);
            let (part, seen) = self.rest_of_part(table, base, &called, true, names);
            missing.retain(|key| !seen.iter().any(|seen| seen == key));
            Some(part)
        } else {
            // Without a kind, nothing can be said of the attributes; a key that was meant for one of these three still can.
            for (key, _) in table.take_rest() {
                if let Some(meant) = closest(&key, missing.clone().into_iter()) {
                    self.push(unknown_key(&key, std::iter::once(meant)));
                    missing.retain(|key| *key != meant);
                }
            }
            None
        };
        if !missing.is_empty() && !unreliable {
            let called = id.as_deref().map_or_else(|| "a part".to_owned(), quoted);
            let problem = Problem::at(file, head, format!("{called} has no {}", list(missing.into_iter())));
            self.push(problem.label("missing here").help("every part has an `id`, a `kind` and a `name`"));
        }
        match part {
            Some(part) if self.problems.len() == before && part.id.is_some() => Some((part, id_span)),
            _ => {
                self.broken.extend(id);
                None
            }
        }
    }

    /// What a slot holds: the id of a part, or a part written out.
    pub(super) fn slot_part(
        &mut self,
        slot: SlotId,
        key: &Text<'_>,
        value: TomlValue<'_>,
        catalogue: &Catalogue,
        names: &Names<'_>,
    ) -> Option<Arc<Part>> {
        let kind = self.knowledge.slot_of(slot).kind;
        let wrong_kind = value.wrong_kind("the id of a part in quotes, or a part in braces");
        match value.what(&mut self.problems)? {
            What::Text(id) => self.part_named(&id, kind, catalogue),
            What::Table(table) => self.written_out(table, kind, key, catalogue, names).map(Arc::new),
            _ => self.refuse(wrong_kind),
        }
    }

    /// The catalogue part a text names, if it is of the kind that is wanted.
    pub(super) fn part_named(&mut self, id: &Text<'_>, kind: KindId, catalogue: &Catalogue) -> Option<Arc<Part>> {
        let wanted = &self.knowledge.kind_of(kind).name;
        let others = |problem: Problem| {
            let of_kind: Vec<&str> = catalogue.of_kind(kind).filter_map(|part| part.id.as_deref()).collect();
            match of_kind.len() {
                0 => problem.note(format!("there is no {wanted} in the catalogue")),
                _ => problem.help(format!("of this kind in the catalogue: {}", list(of_kind.into_iter()))),
            }
        };
        let Some(part) = catalogue.get(id) else {
            if self.broken.contains(id.as_str()) || self.catalogue_is_missing {
                return None;
            }
            let problem = id.problem(format!("there is no part {} in the catalogue", quoted(id)));
            return self.refuse(match closest_id(id, catalogue, Some(kind)) {
                Some(meant) => problem.label(format!("did you mean `{meant}`?")),
                None if catalogue.is_empty() => {
                    problem.label("unknown").help("name the catalogue at the top of the build: `catalogue = [\"parts\"]`")
                }
                None => others(problem.label("unknown")),
            });
        };
        if part.kind == kind {
            return Some(Arc::clone(part));
        }
        let found = &self.knowledge.kind_of(part.kind).name;
        let problem = id.problem(format!("{} is of the kind {found}, not {wanted}", quoted(id))).label(found.clone());
        let problem = match &part.place {
            Some(place) => problem.note(format!("it is written at {place}")),
            None => problem,
        };
        self.refuse(others(problem))
    }

    /// A part written out in a slot: all of it, or a catalogue part with some values of its own.
    pub(super) fn written_out(
        &mut self,
        mut table: Table<'_>,
        kind: KindId,
        key: &Text<'_>,
        catalogue: &Catalogue,
        names: &Names<'_>,
    ) -> Option<Part> {
        let before = self.problems.len();
        let from: Option<Text<'_>> = table.get("part", &mut self.problems);
        let base = match &from {
            Some(id) => self.part_named(id, kind, catalogue).map(|part| Part::clone(&part)),
            None => Some(Part::new(kind, self.knowledge.kind_of(kind).name.clone())),
        };
        let base_is_known = base.is_some();
        let mut base = base.unwrap_or_else(|| Part::new(kind, String::new()));
        if let Some(word) = table.get::<Text<'_>>("kind", &mut self.problems)
            && let Some(found) = self.kind_named(&word)
            && found != kind
        {
            let (found, wanted) = (&self.knowledge.kind_of(found).name, &self.knowledge.kind_of(kind).name);
            let problem =
                word.problem(format!("{} takes a part of the kind {wanted}, not {found}", quoted(key))).label(found.clone());
            // What else stands there is about another kind of part.
            return self.refuse(problem.help("`kind` may be left out: the slot says it"));
        }
        if let Some(id) = table.get::<Text<'_>>("id", &mut self.problems) {
            base.id = self.id(&id);
        }
        if let Some(name) = table.get::<Text<'_>>("name", &mut self.problems) {
            base.name = self.line_of_text("name", &name).unwrap_or_default();
        }
        base.place = Some(names.written_at(key.span().start));
        let called = format!("the {} in {}", self.knowledge.kind_of(kind).name, quoted(key));
        let (part, _) = self.rest_of_part(table, base, &called, from.is_none(), names);
        (base_is_known && self.problems.len() == before).then_some(part)
    }

    /// What follows id, kind and name: maker, mass, price, the attributes of the kind, and a frame's chart. What the table states
    /// goes before what `part` already says. Also returns the keys that were there or were meant.
    fn rest_of_part(
        &mut self,
        mut table: Table<'_>,
        mut part: Part,
        called: &str,
        whole: bool,
        names: &Names<'_>,
    ) -> (Part, Vec<String>) {
        let (file, head) = (table.file(), table.span());
        if let Some(maker) = table.get::<Text<'_>>("maker", &mut self.problems) {
            part.maker = self.line_of_text("maker", &maker);
        }
        if let Some(mass) = table.get::<TomlValue<'_>>("mass", &mut self.problems) {
            let mass = MASS.toml(mass, Origin::MakersSheet, &mut self.problems);
            part.mass = mass.map(|mass| self.with_usual_mass_spread(mass));
        }
        if let Some(price) = table.get::<TomlValue<'_>>("price", &mut self.problems) {
            part.price = self.price(price);
        }
        if let Some(condition) = table.get::<Text<'_>>("condition", &mut self.problems) {
            part.condition = self.condition(&condition).unwrap_or_default();
        }
        if let Some(age) = table.get::<TomlValue<'_>>("age", &mut self.problems) {
            part.age_years = AGE.toml(age, Origin::MakersSheet, &mut self.problems).map(|age| age.quantity.value() / YEAR);
        }
        if kinds::frame_kind(self.knowledge) == Some(part.kind) {
            let mut chart = part.chart.take().unwrap_or_default();
            if let Some(inner) = table.get::<Table<'_>>("chart", &mut self.problems) {
                chart.overlay(&self.chart(inner, names));
            }
            part.chart = Some(chart);
        }
        let unreliable = table.is_unreliable();
        let taken = self.values(table, part.kind, Origin::MakersSheet, names, &PART_KEYS);
        part.values.overlay(&taken.values);
        if whole && !unreliable {
            self.require(&part.values, &taken.seen, part.kind, called, || Problem::at(file, head, ""));
        }
        (part, taken.seen)
    }

    /// A geometry chart.
    pub(super) fn chart(&mut self, table: Table<'_>, names: &Names<'_>) -> Values {
        match self.knowledge.table(About::Chart) {
            Some(kind) => self.values(table, kind, Origin::MakersSheet, names, &[]).values,
            None => Values::new(),
        }
    }

    /// The condition a word names.
    pub(super) fn condition(&mut self, word: &Text<'_>) -> Option<Condition> {
        let known = Condition::ALL.map(Condition::word);
        let found = Condition::ALL.into_iter().find(|condition| condition.word() == word.trim());
        if found.is_some() {
            return found;
        }
        let problem = word.problem(format!("there is no condition {}", quoted(word)));
        self.refuse(match closest(word, known.into_iter()) {
            Some(meant) => problem.label(format!("did you mean `{meant}`?")),
            None => problem.label("unknown").help(format!("known: {}", list(known.into_iter()))),
        })
    }

    fn price(&mut self, value: TomlValue<'_>) -> Option<f64> {
        let (file, span) = (value.file(), value.span());
        let sourced = PRICE.toml(value, Origin::MakersSheet, &mut self.problems)?;
        self.bare_price(sourced, || Problem::at(file, span, ""))
    }

    /// A price is what somebody asks, to the cent. `at` makes the problem at the right place.
    pub(super) fn bare_price(&mut self, price: Sourced, at: impl FnOnce() -> Problem) -> Option<f64> {
        if price.spread_stated || price.quantity.origin() == Origin::Guess {
            let problem = Problem { message: "`price` has a tolerance".to_owned(), ..at() }.label("expected a bare number");
            return self.refuse(problem.help("write it like `49.90`"));
        }
        Some(price.quantity.value())
    }

    /// The kind of part a word names.
    pub(super) fn kind_named(&mut self, word: &Text<'_>) -> Option<KindId> {
        let known = || kinds::part_kinds(self.knowledge).map(|kind| kind.id.as_str());
        if let Some(kind) = known().find(|kind| *kind == word.as_str()).and_then(|kind| self.knowledge.kind(kind)) {
            return Some(kind);
        }
        let problem = word.problem(format!("there is no kind of part called {}", quoted(word)));
        // People write "brake rotor" where the kind is called `rotor`.
        let by_name =
            kinds::part_kinds(self.knowledge).find(|kind| kind.name.eq_ignore_ascii_case(word)).map(|kind| kind.id.as_str());
        let problem = match by_name.or_else(|| closest(word, known())) {
            Some(meant) => problem.label(format!("did you mean `{meant}`?")),
            None => problem
                .label("unknown")
                .help(format!("kinds of part: {}", known().map(|kind| format!("`{kind}`")).collect::<Vec<_>>().join(", "))),
        };
        self.refuse(problem)
    }

    /// An id: it stands in command lines, addresses and cells, so it is made of few characters.
    pub(super) fn id(&mut self, text: &Text<'_>) -> Option<String> {
        let allowed = |letter: char| letter.is_alphanumeric() || matches!(letter, '-' | '_' | '.');
        let line = self.line_of_text("id", text)?;
        if line.chars().all(allowed) && line == text.as_str() {
            return Some(line);
        }
        let words: Vec<&str> = line.split(|letter| !allowed(letter)).filter(|word| !word.is_empty()).collect();
        let problem = text.problem(format!("{} is no id", quoted(text))).label("expected letters, digits, `-`, `_` and `.`");
        let meant = words.join("-");
        self.refuse(if meant.is_empty() { problem } else { problem.help(format!("write it like `{meant}`")) })
    }
}
