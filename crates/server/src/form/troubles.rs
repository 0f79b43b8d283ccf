//! What is wrong, told beside the field it is about: from the place of a problem in the file that was made of the fields back to them.

use std::collections::BTreeSet;

use knowledge::{About, Knowledge, SlotId};
use quantity::words::capital;
use source_file::Problem;
use stand::StandProblem;

use crate::form::{
    document::Written,
    fields::{self, name_of},
    filled::{Filled, NoValue},
    trial::Wrong,
};

/// What is about the chart as a whole is told where the chart begins.
pub(crate) const CHART: &str = "frame.chart";

/// One mistake.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Trouble {
    /// Name of the field; `None` if it is about the bike as a whole.
    pub(crate) field: Option<String>,
    /// What is wrong, then what would be right.
    pub(crate) sentences: Vec<String>,
}

/// Everything that is wrong with what is typed, in the order of the file.
pub(crate) fn troubles(wrong: &Wrong, written: &Written, filled: &Filled, knowledge: &Knowledge) -> Vec<Trouble> {
    match wrong {
        Wrong::File(problems) => {
            let names = names(filled, knowledge);
            problems.iter().flat_map(|problem| of_problem(problem, written, filled, &names, knowledge)).collect()
        }
        Wrong::Stand(problem, line) => {
            let field = match problem {
                StandProblem::Chart { .. } | StandProblem::NoChart => Some(CHART.to_owned()),
                _ => line.and_then(|line| field_at(written.path_on_line(line), &names(filled, knowledge))),
            };
            let told = match problem {
                // Which numbers would do is told with links, where the chart begins.
                StandProblem::Chart { would_help, error } if !would_help.is_empty() => vec![error.to_string()],
                StandProblem::NoChart => {
                    let help = "fill in what the maker's chart gives, or choose a frame of the catalogue that has one";
                    vec!["no number of the frame's chart is known".to_owned(), help.to_owned()]
                }
                other => std::iter::once(other.to_string()).chain(other.help()).collect(),
            };
            vec![Trouble { field, sentences: told.iter().map(|text| sentence(text)).collect() }]
        }
    }
}

/// What is typed that is no value at all.
pub(crate) fn no_values(wrong: &[NoValue]) -> Vec<Trouble> {
    wrong.iter().map(|wrong| Trouble { field: Some(name_of(&wrong.path)), sentences: sentences(&wrong.problem) }).collect()
}

fn of_problem(
    problem: &Problem,
    written: &Written,
    filled: &Filled,
    names: &BTreeSet<String>,
    knowledge: &Knowledge,
) -> Vec<Trouble> {
    let place = problem.place.as_ref().filter(|place| place.file == written.file);
    let path = place.map_or(&[][..], |place| written.path_at(place.span.start));
    // What a written-out part lacks is told at each of the fields.
    if place.is_some_and(|place| place.label == MISSING)
        && let Some(slot) = slot_of(path, knowledge)
    {
        let lacking = fields::of_slot(knowledge, slot).into_iter().filter(|field| field.required && !filled.has_field(field));
        let kind = &knowledge.kind_of(knowledge.slot_of(slot).kind).name;
        let lacking: Vec<Trouble> = lacking
            .map(|field| Trouble {
                field: Some(field.name()),
                sentences: vec![format!("Without it, nothing can be said of the {kind}.")],
            })
            .collect();
        if !lacking.is_empty() {
            return lacking;
        }
    }
    vec![Trouble { field: field_at(path, names), sentences: sentences(problem) }]
}

/// The label under what lacks something that its kind requires.
const MISSING: &str = "missing here";

/// The place on the bicycle that these keys are about as a whole.
fn slot_of(path: &[String], knowledge: &Knowledge) -> Option<SlotId> {
    match path {
        [slots, slot] if slots == "slots" => knowledge.slot(slot),
        [frame] => knowledge.slot(frame).filter(|slot| fields::is_frame(knowledge, *slot)),
        _ => None,
    }
}

/// The field of these keys, or of the thing they belong to.
pub(crate) fn field_at(path: &[String], names: &BTreeSet<String>) -> Option<String> {
    (1..=path.len()).rev().find_map(|length| {
        let name = name_of(&path[..length]);
        let part = format!("{name}.part");
        [name, part].into_iter().find(|name| names.contains(name))
    })
}

/// Names of all fields that can be pointed at.
pub(crate) fn names(filled: &Filled, knowledge: &Knowledge) -> BTreeSet<String> {
    let bike = fields::of_bike().into_iter();
    let tables = [About::Rider, About::Setup, About::Chart].into_iter().flat_map(|about| fields::of_table(knowledge, about));
    let parts = knowledge.slots().flat_map(|(slot, _)| fields::of_slot(knowledge, slot));
    let choices = knowledge.slots().map(|(slot, _)| {
        let mut keys = fields::keys_of(knowledge, slot);
        keys.push("part");
        name_of(&keys)
    });
    let fields = bike.chain(tables).chain(parts).map(|field| field.name());
    let as_written = filled.as_written("").map(str::to_owned);
    fields.chain(choices).chain(as_written).chain([CHART.to_owned()]).collect()
}

/// A problem in sentences, without its place: that is the field.
pub(crate) fn sentences(problem: &Problem) -> Vec<String> {
    let label = problem.place.as_ref().map_or("", |place| place.label.as_str());
    let what = match label {
        "" | "here" | "unknown" | MISSING => problem.message.clone(),
        label => format!("{}: {label}", problem.message),
    };
    std::iter::once(&what).chain(&problem.help).chain(&problem.notes).map(|text| sentence(text)).collect()
}

fn sentence(text: &str) -> String {
    let end = if text.ends_with(['?', '.', '!']) { "" } else { "." };
    format!("{}{end}", capital(text))
}
