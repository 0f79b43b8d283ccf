//! What to measure first: which measurement, at the bench, would most likely settle what is unsure.
//!
//! A margin m and a measurable number x are both linear in the same inputs, with contributions a and b. Measuring x with a tool of
//! standard uncertainty r teaches about m (linear Gaussian update, JCGM 101:2008 speaks of the same as prior knowledge):
//!
//! ```text
//! u²(m) after = a·a − δ        δ = (a·b)² / (b·b + r²)
//! new m ~ N(m, δ)              settled if |new m| > 2 u(m) after
//! ```
//!
//! so the chance that it settles is `Φ((m − 2u′)/√δ) + Φ((−m − 2u′)/√δ)`.

use quantity::{Dimension, Spread, gum::COVERAGE_FACTOR, print};
use statrs::distribution::{ContinuousCDF, Normal};

use crate::{
    answer::{Margin, Measurement, Severity, State},
    evaluation::Uncertain,
    inputs::Input,
    report::Report,
};

/// Measurements listed, at most.
const MOST: usize = 5;
/// Least chance worth a technician's time.
const LEAST_CHANCE: f64 = 0.1;

/// A number that can be measured.
struct Candidate {
    what: String,
    with: String,
    now: String,
    contributions: Vec<f64>,
    /// Standard uncertainty of the tool.
    tool_u: f64,
}

/// The measurements worth taking, best first.
pub(crate) fn first(report: &Report<'_>, margins: &[Margin]) -> Vec<Measurement> {
    let unsure: Vec<(&Margin, &Uncertain)> = margins
        .iter()
        .filter(|m| m.state == State::Unsure && m.severity != Severity::Felt)
        .filter_map(|m| {
            let rules = &report.ground.knowledge.margins;
            let taken = report.evaluation.margins_after.iter().find(|t| rules[t.rule].id == m.id)?;
            Some((m, &taken.margin))
        })
        .collect();
    if unsure.is_empty() {
        return Vec::new();
    }
    let mut found: Vec<(f64, Measurement)> = candidates(report)
        .into_iter()
        .filter_map(|candidate| {
            let mut chances: Vec<(&Margin, f64)> = unsure.iter().map(|(m, u)| (*m, chance(u, &candidate))).collect();
            chances.sort_by(|a, b| b.1.total_cmp(&a.1));
            let (best, best_chance) = *chances.first()?;
            if best_chance < LEAST_CHANCE {
                return None;
            }
            let total = chances.iter().map(|c| c.1).sum();
            let settles = chances.iter().filter(|c| c.1 >= LEAST_CHANCE).map(|c| c.0.id.clone()).collect();
            let because = format!(
                "Measure the {} with {}: that would {} “{}”.",
                candidate.what,
                candidate.with,
                odds(best_chance),
                best.label
            );
            Some((
                total,
                Measurement {
                    what: candidate.what,
                    with: candidate.with,
                    now: candidate.now,
                    would_settle: settles,
                    chance: best_chance,
                    because,
                },
            ))
        })
        .collect();
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.truncate(MOST);
    found.into_iter().map(|f| f.1).collect()
}

/// Careful words for a chance.
fn odds(chance: f64) -> &'static str {
    if chance > 0.9 {
        "almost surely settle"
    } else if chance > 0.6 {
        "probably settle"
    } else if chance > 0.35 {
        "settle, one time in two,"
    } else {
        "with some luck settle"
    }
}

/// Chance that measuring the candidate settles the margin.
fn chance(margin: &Uncertain, candidate: &Candidate) -> f64 {
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    let (a, b) = (&margin.contributions, &candidate.contributions);
    let shared = dot(a, b);
    let learnt = shared * shared / (dot(b, b) + candidate.tool_u * candidate.tool_u);
    if learnt <= 0.0 {
        return 0.0;
    }
    let left = (dot(a, a) - learnt).max(0.0).sqrt();
    let Ok(normal) = Normal::new(margin.value, learnt.sqrt()) else { return 0.0 };
    let bound = COVERAGE_FACTOR * left;
    normal.cdf(-bound) + 1.0 - normal.cdf(bound)
}

/// Everything a tool could be put to: each uncertain input that has one, and the measurable figures of the bike as it stands.
fn candidates(report: &Report<'_>) -> Vec<Candidate> {
    let inputs = report.evaluation.inputs.len();
    let mut list = Vec::new();
    for (number, input) in report.evaluation.inputs.iter() {
        if let Some(candidate) = of_input(report, number, input, inputs) {
            list.push(candidate);
        }
    }
    for (figure, output) in report.ground.figures() {
        let Some(tool) = output.tool else { continue };
        let Some(now) = report.evaluation.before.side.poses[0].figure(figure, inputs) else { continue };
        let Some((with, tool_u)) = tool_words(report, tool, output.dimension) else { continue };
        if tool_u >= now.standard_uncertainty() {
            continue;
        }
        list.push(Candidate {
            what: format!("{} of the bike as it stands", quantity::words::lower_first(&output.name)),
            with,
            now: print::value(now.value, now.plus_minus(), output.dimension, report.telling.units).to_string(),
            contributions: now.contributions,
            tool_u,
        });
    }
    list
}

fn of_input(report: &Report<'_>, number: usize, input: &Input, inputs: usize) -> Option<Candidate> {
    let knowledge = &report.ground.knowledge;
    let attribute = knowledge.attribute_of(input.attribute);
    let dimension = attribute.dimension()?;
    let (with, tool_u) = tool_words(report, attribute.tool?, dimension)?;
    // A tool no better than what is known teaches little; it is left out rather than listed with a tiny chance.
    if tool_u >= input.standard_uncertainty {
        return None;
    }
    let mut contributions = vec![0.0; inputs];
    contributions[number] = input.standard_uncertainty;
    Some(Candidate {
        what: report.input_name(input),
        with,
        now: print::value(input.value, COVERAGE_FACTOR * input.standard_uncertainty, dimension, report.telling.units).to_string(),
        contributions,
        tool_u,
    })
}

/// `a calliper, ±0.1 mm`, and the standard uncertainty that means.
fn tool_words(report: &Report<'_>, tool: knowledge::ToolId, dimension: Dimension) -> Option<(String, f64)> {
    let tool = report.ground.knowledge.tool_of(tool);
    let reach = tool.reach(dimension)?;
    let printed = print::value(reach.plus_minus, 0.0, dimension, report.telling.units);
    Some((format!("{} (±{printed})", tool.name), Spread::Limits(reach.plus_minus).standard_uncertainty()))
}
