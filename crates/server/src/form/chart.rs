//! The chart while it is being typed: as far as it can be read, reconciled; the rest of the form may be as unfinished as it likes.

use bike::{Catalogue, read::build_from};
use quantity::print::Units;
use stand::{StandProblem, answer::ChartReport};

use crate::{
    form::{
        document::{Node, Path, Table, Written},
        filled::Filled,
        trial::Wrong,
        troubles::{self, Trouble},
    },
    workshop::Workshop,
};

/// A chart as far as it can be read.
#[derive(Debug)]
pub(crate) struct Reading {
    pub(crate) outcome: Result<ChartReport, StandProblem>,
    /// Numbers of the chart that cannot be read; they were left out.
    pub(crate) unread: Vec<Trouble>,
}

/// How often what cannot be read is left out: what a file has to say, it says at once, but leaving out one thing may free another.
const MOST_ROUNDS: usize = 4;

/// Reads the chart that stands in the fields, with the parts it may rest on.
pub(crate) fn reading(filled: &Filled, catalogue: &Catalogue, workshop: &Workshop, units: Units) -> Reading {
    let knowledge = workshop.knowledge();
    let (whole, no_values) = filled.to_file(knowledge, catalogue);
    let mut table = Table::default();
    table.set("name", Node::Text("the bike".to_owned()));
    for key in ["frame", "slots"] {
        if let Some(node) = whole.get(key) {
            table.set(key, node.clone());
        }
    }
    let mut unread = troubles::no_values(&no_values);
    for _ in 0..MOST_ROUNDS {
        let written = Written::of(&table, "the chart");
        let problems = match build_from(&written.file, catalogue, knowledge) {
            Ok(build) => return Reading { outcome: workshop.stand.chart(&build, units), unread: of_the_chart(unread) },
            Err(problems) => problems,
        };
        let places = problems.iter().filter_map(|problem| problem.place.as_ref());
        let wrong: Vec<Path> = places.map(|place| left_out(written.path_at(place.span.start), &table)).collect();
        unread.extend(troubles::troubles(&Wrong::File(problems), &written, filled, knowledge));
        // Every one of them is left out, so that the next round finds others.
        if wrong.iter().filter(|path| table.remove_at(path)).count() == 0 {
            break;
        }
    }
    Reading { outcome: Err(StandProblem::NoChart), unread: of_the_chart(unread) }
}

fn of_the_chart(unread: Vec<Trouble>) -> Vec<Trouble> {
    let is_of_it = |field: &str| field.strip_prefix(troubles::CHART).is_some_and(|rest| rest.starts_with('.'));
    unread.into_iter().filter(|trouble| trouble.field.as_deref().is_some_and(is_of_it)).collect()
}

/// What has to go if something is wrong at these keys: one number of the chart, or a whole part.
fn left_out(path: &[String], table: &Table) -> Path {
    let length = match path {
        [frame, chart, within, _, ..] if frame == "frame" && chart == "chart" => {
            // A number written as a table has keys of its own below it, a table of numbers has numbers.
            let is_number = |node: &Node| matches!(node, Node::Table(table) if table.get("value").is_some());
            if at_chart(table, within).is_some_and(is_number) { 3 } else { 4 }
        }
        [frame, chart, _] if frame == "frame" && chart == "chart" => 3,
        [_, _, ..] => 2,
        _ => path.len(),
    };
    path[..length].to_vec()
}

fn at_chart<'t>(table: &'t Table, key: &str) -> Option<&'t Node> {
    let Some(Node::Table(frame)) = table.get("frame") else { return None };
    let Some(Node::Table(chart)) = frame.get("chart") else { return None };
    chart.get(key)
}
