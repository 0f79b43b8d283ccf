//! One field of the form: label, what is typed, what may be typed, what is wrong.

use std::{cell::RefCell, fmt::Write as _};

use knowledge::{AttributeId, FamilyId, Knowledge, SlotId};
use maud::{Markup, html};
use quantity::{
    Origin,
    print::{self, Units},
};

use crate::form::{
    fields::{Entry, Field, SPREADS},
    filled::{FROM, Filled, TOML},
    troubles::Trouble,
};

/// What all fields of a page rest on.
pub(super) struct Fields<'a> {
    pub(super) knowledge: &'a Knowledge,
    pub(super) filled: &'a Filled,
    pub(super) troubles: &'a [Trouble],
    pub(super) units: Units,
    /// Families whose members the page has to list.
    families: RefCell<Vec<FamilyId>>,
}

/// What stands around a field.
#[derive(Default)]
pub(super) struct Around {
    /// What holds if nothing is typed: that of the catalogue's part.
    pub(super) given: Option<String>,
    /// The place on the bicycle of the part it belongs to.
    pub(super) slot: Option<SlotId>,
    /// What the chart makes of it.
    pub(super) reading: Option<Markup>,
}

/// The id of a field on the page, from its name.
pub(super) fn id_of(name: &str) -> String {
    let mut id = String::new();
    for letter in name.chars() {
        match letter {
            '.' => id.push('-'),
            letter if letter.is_ascii_alphanumeric() || letter == '_' => id.push(letter),
            letter => {
                let _ = write!(id, "-{:x}-", u32::from(letter));
            }
        }
    }
    id
}

impl<'a> Fields<'a> {
    pub(super) fn new(knowledge: &'a Knowledge, filled: &'a Filled, troubles: &'a [Trouble], units: Units) -> Self {
        Self { knowledge, filled, troubles, units, families: RefCell::default() }
    }

    /// What is wrong with a field.
    pub(super) fn troubles_of<'t>(&'t self, name: &'t str) -> impl Iterator<Item = &'t Trouble> {
        self.troubles.iter().filter(move |trouble| trouble.field.as_deref() == Some(name))
    }

    /// What is wrong, beside the field.
    pub(super) fn wrong(&self, name: &str) -> Markup {
        html! {
            @if self.troubles_of(name).next().is_some() {
                div.wrong #{ (id_of(name)) "-wrong" } {
                    @for trouble in self.troubles_of(name) { p { (sentences(trouble)) } }
                }
            }
        }
    }

    /// A field in a row of its own.
    pub(super) fn row(&self, field: &Field, around: &Around) -> Markup {
        let name = field.name();
        let id = id_of(&name);
        // What the form cannot hold is shown as the file has it.
        if self.filled.has(&format!("{name}{TOML}")) {
            return self.as_written(&name);
        }
        let hint = self.hint(field);
        let is_wrong = self.troubles_of(&name).next().is_some();
        html! {
            div.row.bad[is_wrong] {
                div.what {
                    label for=(id) { (field.label) @if field.required { " " span.need { "needed" } } }
                    @if let Some(hint) = &hint { small #{ (id) "-hint" } { (hint) } }
                }
                div.typed { (self.input(field, &name, around, hint.is_some())) }
                @if let Some(reading) = &around.reading { (reading) }
                (self.wrong(&name))
            }
        }
    }

    fn input(&self, field: &Field, name: &str, around: &Around, has_hint: bool) -> Markup {
        let id = id_of(name);
        let is_wrong = self.troubles_of(name).next().is_some();
        let invalid = is_wrong.then_some("true");
        let about = [(has_hint, "hint"), (around.reading.is_some(), "reading"), (is_wrong, "wrong")];
        let about: Vec<String> = about.iter().filter(|about| about.0).map(|about| format!("{id}-{}", about.1)).collect();
        let described = (!about.is_empty()).then(|| about.join(" "));
        let typed = self.filled.get(name);
        let assumed = || field.attribute.and_then(|id| self.assumed(id, around.slot));
        let given = around.given.clone().or_else(assumed);
        let given = given.as_deref();
        // A blank one tells the style sheet that nothing is typed.
        let shown = given.unwrap_or(" ");
        let line = |list: Option<String>, mode: &str| {
            html! {
                input id=(id) name=(name) value=(typed) placeholder=(shown) list=[list] inputmode=(mode) autocomplete="off" spellcheck="false" aria-invalid=[invalid] aria-describedby=[described.as_deref()];
            }
        };
        let choice = |options: &[(&str, &str)]| {
            let known = typed.is_empty() || options.iter().any(|option| option.0 == typed);
            html! {
                select id=(id) name=(name) aria-invalid=[invalid] aria-describedby=[described.as_deref()] {
                    @for (value, says) in options { option value=(value) selected[*value == typed] { (says) } }
                    @if !known { option value=(typed) selected { (typed) } }
                }
            }
        };
        match field.entry {
            Entry::Line | Entry::Lines | Entry::Numbers(..) => line(None, "text"),
            Entry::Count(..) => line(None, "numeric"),
            Entry::Sum => line(None, "decimal"),
            Entry::Flag => choice(&[("", given.unwrap_or("not said")), ("yes", "yes"), ("no", "no")]),
            Entry::Choice(words) => {
                let options: Vec<(&str, &str)> =
                    std::iter::once(("", given.unwrap_or("new"))).chain(words.iter().map(|word| (*word, *word))).collect();
                choice(&options)
            }
            Entry::Standard(family) | Entry::Standards(family) => {
                let mut families = self.families.borrow_mut();
                if !families.contains(&family) {
                    families.push(family);
                }
                line(Some(list_of(family)), "text")
            }
            Entry::Quantity { usual, .. } => html! {
                (line(None, "text"))
                (self.origin(name, &field.label, usual))
                @for (key, says) in SPREADS {
                    @let name = format!("{name}:{key}");
                    @if self.filled.has(&name) {
                        input.spread name=(name) value=(self.filled.get(&name)) autocomplete="off" aria-label={ (field.label) ": " (says) };
                        small { (says) }
                    }
                }
            },
        }
    }

    /// Where a number comes from: that decides how far it is believed.
    fn origin(&self, name: &str, label: &str, usual: Origin) -> Markup {
        let name = format!("{name}{FROM}");
        let typed = self.filled.get(&name);
        let known = typed.is_empty() || Origin::from_word(typed).is_some();
        html! {
            select.from name=(name) aria-label={ (label) ": where it comes from" } {
                option value="" selected[typed.is_empty()] { (usual.word()) }
                @for origin in Origin::ALL.into_iter().filter(|origin| *origin != usual) {
                    option value=(origin.word()) selected[origin.word() == typed] { (origin.word()) }
                }
                @if !known || typed == usual.word() { option value=(typed) selected { (typed) } }
            }
        }
    }

    /// What may be typed, and how it is measured.
    fn hint(&self, field: &Field) -> Option<String> {
        let bounds = match field.entry {
            Entry::Quantity { dimension, bounds: Some((least, most)), .. } => {
                let [least, most] = [least, most].map(|bound| print::value(bound, 0.0, dimension, self.units));
                Some(format!("{} to {most}", least.number))
            }
            Entry::Count(least, most) => Some(format!("{least} to {most}")),
            Entry::Numbers(least, most) => Some(format!("each {least} to {most}, with spaces between them")),
            Entry::Standards(_) => Some("names with commas between them".to_owned()),
            _ => None,
        };
        let attribute = field.attribute.map(|id| self.knowledge.attribute_of(id));
        let tool =
            attribute.and_then(|attribute| attribute.tool).map(|tool| format!("with {}", self.knowledge.tool_of(tool).name));
        let words: Vec<String> = [bounds, tool].into_iter().flatten().collect();
        (!words.is_empty()).then(|| words.join("; "))
    }

    /// What is taken if nobody says.
    fn assumed(&self, id: AttributeId, slot: Option<SlotId>) -> Option<String> {
        let default = match slot {
            Some(slot) => self.knowledge.default_of_part(slot, id),
            None => self.knowledge.default_of_table(id),
        };
        let value = default?.value;
        Some(print::value(value.value(), 0.0, value.dimension(), self.units).to_string())
    }

    /// Something the form has no field for.
    pub(super) fn as_written(&self, name: &str) -> Markup {
        let id = id_of(name);
        let typed = format!("{name}{TOML}");
        let is_wrong = self.troubles_of(name).next().is_some();
        html! {
            div.row.bad[is_wrong] {
                div.what {
                    label for=(id) { code { (crate::form::fields::path_of(name).join(".")) } }
                    small #{ (id) "-hint" } { "as the file has it; empty: left out" }
                }
                div.typed {
                    input id=(id) name=(typed) value=(self.filled.get(&typed)) autocomplete="off" spellcheck="false" aria-invalid=[is_wrong.then_some("true")] aria-describedby={ (id) "-hint" @if is_wrong { " " (id) "-wrong" } };
                }
                (self.wrong(name))
            }
        }
    }

    /// The lists that fields of the page offer.
    pub(super) fn lists(&self) -> Markup {
        html! {
            @for family in self.families.borrow().iter() {
                datalist id=(list_of(*family)) {
                    @for member in &self.knowledge.family_of(*family).members { option value=(member.id) { (member.name) } }
                }
            }
        }
    }
}

fn list_of(family: FamilyId) -> String {
    format!("family-{}", family.index())
}

/// The sentences of a mistake, words in backticks set as code.
pub(super) fn sentences(trouble: &Trouble) -> Markup {
    html! { @for (place, sentence) in trouble.sentences.iter().enumerate() { @if place > 0 { " " } (coded(sentence)) } }
}

/// Words in backticks set as code.
pub(super) fn coded(text: &str) -> Markup {
    html! {
        @for (place, piece) in text.split('`').enumerate() {
            @if place % 2 == 1 { code { (piece) } } @else { (piece) }
        }
    }
}
