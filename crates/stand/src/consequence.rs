//! What a swap mainly does, in a few words: for long lists.

use quantity::{gum::COVERAGE_FACTOR, print};

use quantity::words::{joined, lower_first};

use crate::{Telling, evaluation::Evaluation, ground::Ground};

/// Movements named, at most.
const MOST: usize = 2;

/// How much a swap moves, and in what words.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Consequence {
    /// The largest movement, in units of what a rider notices.
    pub(crate) times_noticed: f64,
    pub(crate) words: String,
}

/// What moves most, unladen, of what has a word for it.
pub(crate) fn of(ground: &Ground, evaluation: &Evaluation, telling: Telling<'_>) -> Consequence {
    let (old, new) = (&evaluation.before.side.poses[0], &evaluation.after.poses[0]);
    let mut moved: Vec<(f64, f64, usize, &knowledge::Output)> = ground
        .figures()
        .filter_map(|(figure, output)| {
            let change = new.values[figure]? - old.values[figure]?;
            let noticed = output.noticed?.value();
            Some((change.abs() / noticed, change, figure, output))
        })
        .filter(|(_, change, _, output)| if *change > 0.0 { output.up.is_some() } else { output.down.is_some() })
        .collect();
    moved.sort_by(|a, b| b.0.total_cmp(&a.0));
    let times_noticed = moved.first().map_or(0.0, |first| first.0);
    let words: Vec<String> = moved
        .iter()
        .take_while(|movement| movement.0 >= 1.0)
        .take(MOST)
        .map(|&(_, change, figure, output)| {
            let count = evaluation.inputs.len();
            let contributions =
                |pose: &crate::evaluation::PoseResult| pose.figure(figure, count).map(|figure| figure.contributions);
            let (before, after) = (contributions(old).unwrap_or_default(), contributions(new).unwrap_or_default());
            let u = quantity::gum::combined(after.iter().zip(&before).map(|(after, before)| after - before));
            let printed = print::value(change.abs(), COVERAGE_FACTOR * u, output.dimension, telling.units);
            let space = if printed.unit == "°" { "" } else { "\u{a0}" };
            let word = if change > 0.0 { &output.up } else { &output.down };
            format!(
                "{} {}{space}{} {}",
                lower_first(&output.name),
                printed.number,
                printed.unit,
                word.as_deref().unwrap_or_default()
            )
        })
        .collect();
    let words = if words.is_empty() {
        if times_noticed > 1e-6 { "nothing a rider would notice".to_owned() } else { "nothing moves".to_owned() }
    } else {
        joined(&words)
    };
    Consequence { times_noticed, words }
}
