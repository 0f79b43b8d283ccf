//! What the chart says of itself while it is typed: a finding for the whole, and beside each number what the others make of it.

use knowledge::{About, Knowledge};
use maud::{Markup, html};
use quantity::{
    Dimension,
    print::{self, Units},
    words::{capital, count_word},
};
use stand::{StandProblem, answer::ChartEntry};

use crate::{
    form::{
        chart::Reading,
        fields::{self, Field},
        filled::Filled,
    },
    page::form::field::{coded, id_of},
};

/// Everything that changes while the chart is typed: the finding, and a line for each field.
pub(crate) fn chart_read(reading: &Reading, filled: &Filled, knowledge: &Knowledge, units: Units) -> Markup {
    html! {
        (finding(reading, filled, knowledge))
        @for field in fields::of_table(knowledge, About::Chart) { (of_field(reading, &field, filled, knowledge, units)) }
    }
}

/// The chart as a whole.
pub(super) fn finding(reading: &Reading, filled: &Filled, knowledge: &Knowledge) -> Markup {
    let unread = reading.unread.len();
    html! {
        div #chart-finding.finding role="status" {
            @match &reading.outcome {
                Ok(report) => {
                    @let doubtful = report.entries.iter().any(|entry| entry.set_aside || entry.suspected);
                    p.contradicts[doubtful] { @if doubtful { span aria-hidden="true" { "▼ " } } b { (report.finding) } }
                    @let given: Vec<&ChartEntry> = report.entries.iter().filter(|entry| !entry.assumed).collect();
                    @let checked = given.iter().filter(|entry| entry.disagrees_by.is_some()).count();
                    p.small {
                        (capital(&count_word(given.len()))) " numbers are given; " (count_word(checked)) " of them "
                        (if checked == 1 { "is" } else { "are" }) " checked by the others. The frame is determined."
                    }
                }
                Err(StandProblem::Chart { would_help, error }) if !would_help.is_empty() => {
                    p { span aria-hidden="true" { "◇ " } b { "The frame is not determined yet: " (error) "." } }
                    p.small {
                        "Any of these helps: "
                        @for (place, (id, says)) in would_help.iter().enumerate() {
                            @if place > 0 { ", " }
                            a href={ "#" (id_of(&field_of(id, knowledge))) } { (says) }
                        }
                        "."
                    }
                }
                Err(StandProblem::NoChart) => {
                    p {
                        "Type what the maker's chart gives, in any order. Stack, reach, head angle, rear centre, bottom bracket drop and wheelbase are "
                        "enough with the fork it was drawn with; every number beyond that checks the others, and a slip of the pen lights up beside its field."
                    }
                }
                Err(problem) => {
                    p.contradicts { span aria-hidden="true" { "▼ " } b { (capital(&problem.to_string())) "." } }
                    @if let Some(help) = problem.help() { p.small { (coded(&capital(&help))) "." } }
                }
            }
            @if unread > 0 && filled.as_written("").next().is_none() {
                p.small { (capital(&count_word(unread))) " cannot be read and " (if unread == 1 { "is" } else { "are" }) " left out here." }
            }
        }
    }
}

/// The name of a chart's field by the id of its attribute.
fn field_of(id: &str, knowledge: &Knowledge) -> String {
    let fields = fields::of_table(knowledge, About::Chart);
    let found = fields.iter().find(|field| field.path.last().is_some_and(|key| key == id));
    found.map(Field::name).unwrap_or_default()
}

/// The place beside a field, with nothing to say.
pub(super) fn nothing(field: &Field) -> Markup {
    html! { p.reading #{ (id_of(&field.name())) "-reading" } {} }
}

/// A number of the chart beside its field.
pub(super) fn of_field(reading: &Reading, field: &Field, filled: &Filled, knowledge: &Knowledge, units: Units) -> Markup {
    let id = format!("{}-reading", id_of(&field.name()));
    let key = field.attribute.map_or("", |id| knowledge.attribute_of(id).id.as_str());
    let unread = reading.unread.iter().find(|trouble| trouble.field.as_deref() == Some(field.name().as_str()));
    if let Some(unread) = unread.filter(|_| filled.has_field(field)) {
        let what = unread.sentences.first().map_or("", String::as_str);
        return html! { p.reading.off id=(id) { span aria-hidden="true" { "▼ " } b { "Cannot be read. " } (coded(what)) } };
    }
    let Ok(report) = &reading.outcome else { return nothing(field) };
    let entry = report.entries.iter().chain(&report.derived).find(|entry| entry.id == key);
    html! { @match entry { Some(entry) => (of_entry(&id, entry, units)), None => (nothing(field)) } }
}

fn of_entry(id: &str, entry: &ChartEntry, units: Units) -> Markup {
    let dimension = Dimension::from_word(&entry.dimension).unwrap_or(Dimension::Length);
    let taken = print::value(entry.adjusted, entry.plus_minus, dimension, units).to_string();
    let off = |by: f64| {
        // The difference is known about as well as the entry is stated.
        let printed = print::value(by.abs(), entry.given_plus_minus.unwrap_or(0.0).max(by.abs() / 20.0), dimension, units);
        let space = if printed.unit == "°" { "" } else { "\u{a0}" };
        format!("{}{space}{} too {}", printed.number, printed.unit, if by > 0.0 { "large" } else { "small" })
    };
    let sigmas = entry.sigmas.map_or(String::new(), |sigmas| format!(", {:.1}\u{a0}σ", sigmas.abs()));
    let by = entry.disagrees_by.unwrap_or(0.0);
    html! {
        @match entry {
            ChartEntry { set_aside: true, .. } => p.reading.off id=(id) {
                span aria-hidden="true" { "▼ " } b { (off(by)) } " for the rest" (sigmas) ". Set aside; the others give " (taken) "."
            },
            ChartEntry { suspected: true, .. } => p.reading.doubt id=(id) {
                span aria-hidden="true" { "◇ " } b { "May be wrong: " (off(by)) } (sigmas) ". Taken as " (taken) "."
            },
            ChartEntry { assumed: true, .. } => p.reading id=(id) { "assumed; taken as " (taken) },
            ChartEntry { given: None, .. } => p.reading id=(id) { "comes out as " (taken) },
            ChartEntry { disagrees_by: None, .. } => p.reading id=(id) { "not checked by any other" },
            _ => p.reading id=(id) { "agrees" (sigmas) "; taken as " (taken) },
        }
    }
}
