//! The form: a bike, field by field, from the part kinds.

mod chart;
mod field;
mod slots;

use bike::Catalogue;
use knowledge::{About, SlotId};
use maud::{Markup, html};
use quantity::{
    print::Units,
    words::{capital, count_word},
};
use source_file::Problems;

use crate::{
    asked::Asked,
    form::{
        chart::Reading,
        fields::{self, Field, name_of},
        filled::Filled,
        sent::FILE,
        troubles::{CHART, Trouble},
    },
    page::document,
    workshop::Workshop,
};

pub(crate) use chart::chart_read;
use field::{Around, Fields, id_of, sentences};
use slots::{Slots, stated};

/// What the page shows.
pub(crate) struct FormPage<'a> {
    pub(crate) workshop: &'a Workshop,
    pub(crate) catalogue: &'a Catalogue,
    pub(crate) filled: &'a Filled,
    pub(crate) troubles: &'a [Trouble],
    /// What is wrong with a file that was sent.
    pub(crate) file: Option<&'a Problems>,
    pub(crate) reading: &'a Reading,
    /// The bench it goes back to.
    pub(crate) bench: &'a Asked,
    /// The bike of the workshop that it began from.
    pub(crate) offered: Option<&'a str>,
    pub(crate) units: Units,
}

/// Sections of the form with what links call them.
const SECTIONS: [(&str, &str); 5] =
    [("bike", "The bike"), ("rider", "Rider"), ("frame", "Frame and chart"), ("setup", "Set-up"), ("parts", "Parts")];

pub(crate) fn form(page: &FormPage<'_>) -> Markup {
    let knowledge = page.workshop.knowledge();
    let fields = Fields::new(knowledge, page.filled, page.troubles, page.units);
    let slots = Slots { fields: &fields, catalogue: page.catalogue };
    let called = page.filled.get("name").trim();
    let title = if called.is_empty() { "Your bike".to_owned() } else { called.to_owned() };
    let bench = page.bench.address("").trim_start_matches('?').to_owned();
    let sections = html! {
        (the_bike(page, &fields))
        (table(&fields, "rider", "Rider", About::Rider, "The mass decides how far the bike sags."))
        (frame(page, &slots))
        (table(&fields, "setup", "Set-up", About::Setup, "As it is now, before anything is swapped."))
        (parts(&slots))
        (file(page))
    };
    let body = html! {
        main #main.sheet.fill {
            form #bike-form method="post" action="/bike" enctype="multipart/form-data" novalidate {
                div.lead {
                    section {
                        p { a href="/" { "← To the first page" } }
                        h1 { (title) }
                        p {
                            "Fill in what you know and leave the rest empty. A number may carry its unit and its tolerance, “531 ± 2 mm”; “~531” is a guess. "
                            "What stands grey in an empty field is taken if you say nothing, and the answer tells what it rests on."
                        }
                        (summary(page, &fields))
                    }
                    nav.go-to aria-label="Parts of the form" {
                        ol { @for (id, says) in SECTIONS { li { a href={ "#" (id) } { (says) } } } }
                        button.main name="do" value="stand" { "Put it on the stand" }
                    }
                }
                input type="hidden" name="bench" value=(bench);
                @if let Some(offered) = page.offered { input type="hidden" name="bike" value=(offered); }
                div.sections { (sections) }
                section.end {
                    button.main name="do" value="stand" { "Put it on the stand" }
                    p.small { "The bike goes into the address of its bench and is kept nowhere: keep the address, or take the bike as a file from there." }
                }
                (fields.lists())
                (slots.lists())
            }
        }
    };
    document(&title, &body)
}

/// All that is wrong, with links to the fields.
fn summary(page: &FormPage<'_>, fields: &Fields<'_>) -> Markup {
    let count = page.troubles.len() + usize::from(page.file.is_some());
    html! {
        @if count > 0 {
            div.problem-list #problems role="alert" tabindex="-1" {
                h2 {
                    @if count == 1 { "One thing stands in the way" } @else { (capital(&count_word(count))) " things stand in the way" }
                }
                ol {
                    @if page.file.is_some() { li { a href={ "#" (FILE) } { "The file" } " cannot be put on the stand." } }
                    @for trouble in page.troubles {
                        li {
                            @if let Some(name) = &trouble.field { a href={ "#" (anchor(name)) } { (label(name, fields)) } ": " }
                            (sentences(trouble))
                        }
                    }
                }
            }
        }
    }
}

fn anchor(name: &str) -> String {
    if name == CHART { "chart".to_owned() } else { id_of(name) }
}

/// What a field is called, where it stands alone.
fn label(name: &str, fields: &Fields<'_>) -> String {
    let knowledge = fields.knowledge;
    if name == CHART {
        return "Chart".to_owned();
    }
    let path = fields::path_of(name);
    let slot = match path.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["slots", slot, ..] => knowledge.slot(slot),
        ["frame", key, ..] if key != "chart" => knowledge.slot("frame"),
        _ => None,
    };
    let own = |of: Vec<Field>| of.into_iter().find(|field| field.name() == name).map(|field| field.label);
    if let Some(slot) = slot {
        let about = &knowledge.slot_of(slot).name;
        return own(fields::of_slot(knowledge, slot))
            .map_or_else(|| about.clone(), |label| format!("{about}, {}", quantity::words::lower_first(&label)));
    }
    let tables = [About::Rider, About::Setup, About::Chart].into_iter().flat_map(|about| fields::of_table(knowledge, about));
    own(fields::of_bike().into_iter().chain(tables).collect()).unwrap_or_else(|| path.join("."))
}

fn the_bike(page: &FormPage<'_>, fields: &Fields<'_>) -> Markup {
    let [name, notes, catalogue] = fields::of_bike();
    let unknown = page
        .filled
        .as_written("")
        .filter(|raw| !raw.contains('.') && ![&name, &notes, &catalogue].iter().any(|field| field.name() == **raw));
    let is_wrong = |field: &Field| fields.troubles_of(&field.name()).next().is_some();
    html! {
        section #bike {
            h2 { "The bike" }
            (fields.row(&name, &Around::default()))
            (lines(fields, &notes))
            @for raw in unknown { (fields.as_written(raw)) }
            details open[is_wrong(&catalogue)] {
                summary { "Catalogue of the file" }
                p.small { "Which files of parts the bike is read with at the command line. In the browser, parts come from the workshop's own catalogue." }
                (lines(fields, &catalogue))
            }
        }
    }
}

/// Texts, each in a field of its own, and an empty one for another.
fn lines(fields: &Fields<'_>, field: &Field) -> Markup {
    let name = field.name();
    let id = id_of(&name);
    let is_wrong = fields.troubles_of(&name).next().is_some();
    let texts: Vec<&str> =
        fields.filled.all(&name).iter().map(String::as_str).filter(|text| !text.trim().is_empty()).chain([""]).collect();
    if fields.filled.has(&format!("{name}{}", crate::form::filled::TOML)) {
        return fields.as_written(&name);
    }
    html! {
        div.row.bad[is_wrong] {
            div.what { label for=(id) { (field.label) } }
            div.typed.long {
                @for (place, text) in texts.iter().enumerate() {
                    textarea name=(name) id=[(place == 0).then_some(id.as_str())] rows={ @if text.len() > 90 { "2" } @else { "1" } } autocomplete="off" aria-label=[(place > 0).then(|| format!("{}, another", field.label))] aria-invalid=[is_wrong.then_some("true")] aria-describedby=[is_wrong.then(|| format!("{id}-wrong"))] { "\n" (text) }
                }
            }
            (fields.wrong(&name))
        }
    }
}

/// Fields of a table of the file.
fn table(fields: &Fields<'_>, id: &str, heading: &str, about: About, says: &str) -> Markup {
    let own = fields::of_table(fields.knowledge, about);
    let known: Vec<String> = own.iter().map(Field::name).collect();
    let unknown = fields
        .filled
        .as_written("")
        .filter(|raw| (*raw == id || raw.starts_with(&format!("{id}."))) && !known.iter().any(|name| name == raw));
    html! {
        section id=(id) {
            h2 { (heading) }
            p.small { (says) }
            div.pair { @for field in &own { (fields.row(field, &Around::default())) } }
            @for raw in unknown { (fields.as_written(raw)) }
        }
    }
}

fn frame(page: &FormPage<'_>, slots: &Slots<'_>) -> Markup {
    let (fields, knowledge) = (slots.fields, slots.fields.knowledge);
    let frame = knowledge.slots().find(|(slot, _)| fields::is_frame(knowledge, *slot)).map(|(slot, _)| slot);
    let catalogue = frame.and_then(|slot| slots.chosen(slot)).and_then(|part| part.chart.as_ref());
    let own = fields::of_table(knowledge, About::Chart);
    let known: Vec<String> = own.iter().map(Field::name).collect();
    let row = |field: &Field| {
        let given = catalogue.zip(field.attribute).and_then(|(chart, id)| Some(stated(chart.get(id)?, page.units)));
        // What is wrong with it is told already.
        let is_wrong = fields.troubles_of(&field.name()).next().is_some();
        let reading = chart::of_field(page.reading, field, page.filled, knowledge, page.units);
        let reading = if is_wrong { chart::nothing(field) } else { reading };
        fields.row(field, &Around { given, slot: None, reading: Some(reading) })
    };
    // Tables within the chart, in the order they are written.
    let group = |field: &Field| field.attribute.and_then(|id| knowledge.attribute_of(id).within.clone());
    let mut groups: Vec<String> = own.iter().filter_map(group).collect();
    groups.dedup();
    let unknown = page.filled.as_written(CHART).filter(|raw| !known.iter().any(|name| name == raw));
    html! {
        section #frame.wide {
            h2 { "Frame and chart" }
            @if let Some(slot) = frame { (slots.slot(slot)) }
            div.chart #chart tabindex="-1" {
                h3 { "Geometry chart" }
                (chart::finding(page.reading, page.filled, knowledge))
                (fields.wrong(CHART))
                @if catalogue.is_some() { p.small { "What is typed here goes before the catalogue's chart." } }
                div.rows { @for field in own.iter().filter(|field| group(field).is_none()) { (row(field)) } }
                @for within in &groups {
                    fieldset {
                        legend { "The chart was " (within.replace('_', " ")) }
                        div.rows { @for field in own.iter().filter(|field| group(field).as_ref() == Some(within)) { (row(field)) } }
                    }
                }
                @for raw in unknown { (fields.as_written(raw)) }
                p.act-line { button name="do" value="check" formaction="/bike#chart" { "Check the chart" } }
            }
        }
    }
}

fn parts(slots: &Slots<'_>) -> Markup {
    let knowledge = slots.fields.knowledge;
    let all = || knowledge.slots().map(|(slot, _)| slot).filter(|slot| !fields::is_frame(knowledge, *slot));
    let (known, free): (Vec<SlotId>, Vec<SlotId>) = all().partition(|slot| slots.is_known(*slot));
    let (without, usual): (Vec<SlotId>, Vec<SlotId>) = free.into_iter().partition(|slot| knowledge.slot_of(*slot).optional);
    let slot_names: Vec<String> = knowledge.slots().map(|(slot, _)| name_of(&fields::keys_of(knowledge, slot))).collect();
    let is_of_no_slot = |raw: &&str| {
        (*raw == "slots" || raw.starts_with("slots."))
            && !slot_names
                .iter()
                .any(|name| *raw == name || raw.strip_prefix(name.as_str()).is_some_and(|rest| rest.starts_with('.')))
    };
    let fold = |heading: &str, of: &[SlotId], open: bool| {
        html! {
            @if !of.is_empty() {
                details.free open[open] {
                    summary { (heading) " (" (of.len()) ")" }
                    div.rows { @for slot in of { (slots.slot(*slot)) } }
                }
            }
        }
    };
    html! {
        section #parts.wide {
            h2 { "Parts" }
            p.small {
                "Choose a part of the catalogue, or write one out. "
                @if known.is_empty() { "Begin with the fork: without it, the bike cannot stand. Every part more is one more check." }
            }
            div.rows { @for slot in &known { (slots.slot(*slot)) } }
            @for raw in slots.fields.filled.as_written("").filter(is_of_no_slot) { (slots.fields.as_written(raw)) }
            (fold("Places where nothing is known yet", &usual, known.is_empty()))
            (fold("What a bicycle may do without", &without, false))
        }
    }
}

fn file(page: &FormPage<'_>) -> Markup {
    html! {
        section #from-file.wide {
            details open[page.file.is_some()] {
                summary { "Open a file in place of all this" }
                (file_field(page.file))
                p.act-line { button name="do" value=(FILE) { "Open this file" } }
            }
        }
    }
}

/// The field in which a file is chosen, with what is wrong with the last one.
pub(super) fn file_field(wrong: Option<&Problems>) -> Markup {
    html! {
        div.row.bad[wrong.is_some()] {
            div.what {
                label for=(FILE) { "A build file" }
                small #file-hint { "a .toml file, as “its file” on the bench gives it" }
            }
            div.typed { input #file name=(FILE) type="file" accept=".toml,application/toml,text/plain" aria-invalid=[wrong.map(|_| "true")] aria-describedby={ "file-hint" @if wrong.is_some() { " file-wrong" } }; }
            @if let Some(problems) = wrong {
                pre.problems #file-wrong tabindex="0" { (source_file::render(problems, false)) }
            }
        }
    }
}
