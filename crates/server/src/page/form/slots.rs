//! Places on the bicycle: a part of the catalogue, one that is written out, or nothing known.

use bike::{Catalogue, Part, Value};
use knowledge::{AttributeId, KindId, SlotId};
use maud::{Markup, html};
use quantity::print;

use crate::{
    form::{
        fields::{self, Field, WRITTEN_OUT, name_of},
        filled::{Chosen, OPEN},
        troubles::CHART,
    },
    page::form::field::{Around, Fields, id_of},
};

/// So many parts are offered in a list to open; of more, an id or a name is typed, and a list is offered while typing.
const MOST_IN_A_LIST: usize = 80;

/// So many are offered while typing.
const MOST_OFFERED: usize = 1500;

/// The places of the bicycle with the catalogue their parts come from.
pub(super) struct Slots<'a> {
    pub(super) fields: &'a Fields<'a>,
    pub(super) catalogue: &'a Catalogue,
}

impl Slots<'_> {
    /// Whether something is said of a place, or wrong with it.
    pub(super) fn is_known(&self, slot: SlotId) -> bool {
        let knowledge = self.fields.knowledge;
        let keys = name_of(&fields::keys_of(knowledge, slot));
        self.fields.filled.part_in(slot, knowledge) != Chosen::Nothing
            || self.fields.filled.as_written(&keys).next().is_some()
            || self.fields.troubles_of(&format!("{keys}.part")).next().is_some()
            || self.fields.filled.has(&format!("{keys}{OPEN}"))
    }

    /// The part of the catalogue that is chosen for a place.
    pub(super) fn chosen(&self, slot: SlotId) -> Option<&Part> {
        let Chosen::Named(id) = self.fields.filled.part_in(slot, self.fields.knowledge) else { return None };
        let kind = self.fields.knowledge.slot_of(slot).kind;
        self.catalogue.of_kind(kind).find(|part| part.id.as_deref() == Some(id)).map(AsRef::as_ref)
    }

    /// Whether its fields are shown: asked for, filled in, or wrong.
    fn is_open(&self, slot: SlotId) -> bool {
        let knowledge = self.fields.knowledge;
        let keys = name_of(&fields::keys_of(knowledge, slot));
        let part = format!("{keys}.part");
        let own = fields::of_slot(knowledge, slot);
        let is_wrong = own.iter().any(|field| self.fields.troubles_of(&field.name()).next().is_some());
        match self.fields.filled.part_in(slot, knowledge) {
            Chosen::Nothing => false,
            Chosen::WrittenOut if self.fields.filled.get(&part) == WRITTEN_OUT && !fields::is_frame(knowledge, slot) => true,
            Chosen::WrittenOut | Chosen::Named(_) => {
                is_wrong
                    || self.fields.filled.has(&format!("{keys}{OPEN}"))
                    || own.iter().any(|field| self.fields.filled.has_field(field))
                    || self.unknown(&keys, &own).next().is_some()
            }
        }
    }

    /// What the file has of a part and the form has no field for; the chart is shown elsewhere.
    fn unknown<'f>(&'f self, keys: &'f str, own: &'f [Field]) -> impl Iterator<Item = &'f str> {
        let is_known = |raw: &str| own.iter().any(|field| field.name() == raw);
        let is_of_chart = |raw: &str| raw == CHART || raw.strip_prefix(CHART).is_some_and(|rest| rest.starts_with('.'));
        self.fields.filled.as_written(keys).filter(move |raw| !is_known(raw) && !is_of_chart(raw))
    }

    /// A place: what is there, and its fields if they are shown.
    pub(super) fn slot(&self, slot: SlotId) -> Markup {
        let knowledge = self.fields.knowledge;
        let about = knowledge.slot_of(slot);
        let keys = fields::keys_of(knowledge, slot);
        let name = name_of(&keys);
        let part = format!("{name}.part");
        let (id, place) = (id_of(&part), format!("place-{}", about.id));
        let (is_open, is_wrong) = (self.is_open(slot), self.fields.troubles_of(&part).next().is_some());
        let chosen = self.chosen(slot);
        let figures = chosen.map(|part| part.figures_in(knowledge, self.fields.units)).filter(|figures| !figures.is_empty());
        let written_out = self.fields.filled.part_in(slot, knowledge) == Chosen::WrittenOut;
        html! {
            div.slot.open[is_open] #(place) {
                div.row.bad[is_wrong] {
                    div.what { label for=(id) { (about.name) } }
                    div.typed {
                        (self.choice(slot, &part, &id, is_wrong))
                    }
                    div.reading {
                        @if let Some(figures) = figures { span { (figures) } " " }
                        @if !is_open {
                            button.quiet name="open" value=(about.id) formaction={ "/bike#" (place) } {
                                @if chosen.is_some() { "change its numbers" } @else if written_out { "write out the rest" } @else { "write it out" }
                                span.unseen { ": " (about.name) }
                            }
                        }
                    }
                    (self.fields.wrong(&part))
                }
                @if is_open { (self.numbers(slot, chosen)) }
            }
        }
    }

    /// What is chosen: a list to open, or a line with a list behind it.
    fn choice(&self, slot: SlotId, name: &str, id: &str, is_wrong: bool) -> Markup {
        let knowledge = self.fields.knowledge;
        let kind = knowledge.slot_of(slot).kind;
        let typed = self.fields.filled.get(name);
        let parts: Vec<&Part> = self.catalogue.of_kind(kind).map(AsRef::as_ref).collect();
        let is_frame = fields::is_frame(knowledge, slot);
        let nothing = if is_frame { "written out here" } else { "nothing known" };
        let invalid = is_wrong.then_some("true");
        let described = is_wrong.then(|| format!("{id}-wrong"));
        if parts.len() > MOST_IN_A_LIST {
            return html! {
                input id=(id) name=(name) value=(typed) list=(list_of(kind)) placeholder={ (nothing) ", or one of " (parts.len()) } autocomplete="off" spellcheck="false" aria-invalid=[invalid] aria-describedby=[described];
            };
        }
        let known = typed.is_empty() || typed == WRITTEN_OUT || parts.iter().any(|part| part.id.as_deref() == Some(typed));
        html! {
            select id=(id) name=(name) aria-invalid=[invalid] aria-describedby=[described] {
                @if is_frame {
                    option value=(WRITTEN_OUT) selected[typed.is_empty() || typed == WRITTEN_OUT] { (nothing) }
                } @else {
                    option value="" selected[typed.is_empty()] { (nothing) }
                    option value=(WRITTEN_OUT) selected[typed == WRITTEN_OUT] { "written out here" }
                }
                @if !known { option value=(typed) selected { (typed) } }
                @if !parts.is_empty() {
                    optgroup label="Catalogue" {
                        @for part in parts {
                            @if let Some(id) = &part.id { option value=(id) selected[id == typed] { (part.name) } }
                        }
                    }
                }
            }
        }
    }

    /// The fields of the part in a place; what its catalogue part says is shown where nothing is typed.
    fn numbers(&self, slot: SlotId, chosen: Option<&Part>) -> Markup {
        let knowledge = self.fields.knowledge;
        let about = knowledge.slot_of(slot);
        let keys = fields::keys_of(knowledge, slot);
        let name = name_of(&keys);
        let around = |field: &Field| Around {
            given: chosen.and_then(|part| self.given(part, field)),
            slot: Some(slot),
            ..Around::default()
        };
        // What a catalogue part has already is not needed a second time.
        let need = |field: Field| Field { required: field.required && chosen.is_none(), ..field };
        let any = fields::of_any_part(&keys);
        let has_any = any
            .iter()
            .any(|field| self.fields.filled.has_field(field) || self.fields.troubles_of(&field.name()).next().is_some());
        let own: Vec<Field> = fields::of_slot(knowledge, slot);
        html! {
            fieldset.numbers {
                legend.unseen { (about.name) ", its numbers" }
                input type="hidden" name={ (name) (OPEN) } value="yes";
                @if chosen.is_some() { p.small { "What is typed here goes before what the catalogue says." } }
                div.pair { @for field in fields::of_kind(knowledge, about.kind, &keys) { (self.fields.row(&need(field.clone()), &around(&field))) } }
                @for raw in self.unknown(&name, &own) { (self.fields.as_written(raw)) }
                details open[has_any] {
                    summary { "Price, mass, age" span.unseen { " of the " (about.name) } }
                    div.pair { @for field in any { (self.fields.row(&field, &around(&field))) } }
                }
            }
        }
    }

    /// What a catalogue part says in place of an empty field.
    fn given(&self, part: &Part, field: &Field) -> Option<String> {
        let units = self.fields.units;
        let measure = |quantity: quantity::Quantity| print::value(quantity.value(), 0.0, quantity.dimension(), units).to_string();
        match (field.attribute, field.path.last().map_or("", String::as_str)) {
            (Some(id), _) => self.stated(part, id),
            (None, "name") => Some(part.name.clone()),
            (None, "maker") => part.maker.clone(),
            (None, "mass") => part.mass.map(measure),
            (None, "price") => part.price.map(|price| print::value(price, 0.0, quantity::Dimension::Price, units).to_string()),
            (None, "condition") => Some(part.condition.word().to_owned()),
            _ => None,
        }
    }

    fn stated(&self, part: &Part, id: AttributeId) -> Option<String> {
        Some(stated(part.values.get(id)?, self.fields.units))
    }

    /// The lists behind lines in which a part is typed.
    pub(super) fn lists(&self) -> Markup {
        let knowledge = self.fields.knowledge;
        let mut kinds: Vec<KindId> = Vec::new();
        for slot in &knowledge.slots {
            if !kinds.contains(&slot.kind) && self.catalogue.of_kind(slot.kind).len() > MOST_IN_A_LIST {
                kinds.push(slot.kind);
            }
        }
        html! {
            @for kind in kinds {
                datalist id=(list_of(kind)) {
                    option value=(WRITTEN_OUT) { "written out here" }
                    @for part in self.catalogue.of_kind(kind).take(MOST_OFFERED) {
                        @if let Some(id) = &part.id { option value=(id) { (part.name) } }
                    }
                }
            }
        }
    }
}

/// A value as it would be typed.
pub(super) fn stated(value: &Value, units: print::Units) -> String {
    match value {
        Value::Quantity(quantity) => print::value(quantity.value(), 0.0, quantity.dimension(), units).to_string(),
        Value::Count(count) => count.to_string(),
        Value::Word(word) => word.clone(),
        Value::Standard(named) => named.standard.id.clone(),
        Value::Standards(list) => list.iter().map(|standard| standard.id.as_str()).collect::<Vec<_>>().join(", "),
        Value::Flag(flag) => if *flag { "yes" } else { "no" }.to_owned(),
        Value::Numbers(numbers) => numbers.iter().map(f64::to_string).collect::<Vec<_>>().join(" "),
    }
}

fn list_of(kind: KindId) -> String {
    format!("parts-{}", kind.index())
}
