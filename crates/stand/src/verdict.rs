//! The verdict, read from the margins and nothing else, and the short answer in words.

use quantity::{
    Dimension,
    print::{self, Units},
};

use crate::answer::{Change, ChartReport, Margin, Measurement, Pose, Severity, State, Verdict};

/// Reads the verdict.
pub(crate) fn read(margins: &[Margin]) -> Verdict {
    let any =
        |state: State, severities: &[Severity]| margins.iter().any(|m| m.state == state && severities.contains(&m.severity));
    if any(State::Short, &[Severity::Hurts]) {
        Verdict::Unsafe
    } else if any(State::Short, &[Severity::DoesNotGo]) {
        Verdict::DoesNotFit
    } else if any(State::Unsure, &[Severity::Hurts, Severity::DoesNotGo]) {
        Verdict::MeasureFirst
    } else if any(State::Short, &[Severity::WorksBadly]) {
        Verdict::WorksBadly
    } else if any(State::Unsure, &[Severity::WorksBadly]) {
        Verdict::MeasureFirst
    } else {
        Verdict::Fits
    }
}

/// A number that sorts margins worst first: state, then severity, then distance from zero in tolerances.
pub(crate) fn order(margin: &Margin) -> f64 {
    let state = match margin.state {
        State::Short => 0.0,
        State::Unsure => 1.0,
        State::Clear => 2.0,
    };
    let severity = match margin.severity {
        Severity::Hurts => 0.0,
        Severity::DoesNotGo => 1.0,
        Severity::WorksBadly => 2.0,
        Severity::Felt => 3.0,
    };
    // Between margins of one kind the relative distance from zero decides; it stays below one.
    let distance = margin.after / (margin.after.abs() + margin.plus_minus + 1.0);
    let felt = if margin.severity == Severity::Felt { 1.0 } else { 0.0 };
    felt * 1000.0 + state * 100.0 + severity * 10.0 + distance
}

/// Headline and summary.
pub(crate) fn words(
    verdict: Verdict,
    margins: &[Margin],
    changes: &[Change],
    measure_first: &[Measurement],
    chart: &ChartReport,
    swapped: bool,
) -> (String, Vec<String>) {
    let worst = margins.iter().find(|m| m.severity != Severity::Felt && m.state != State::Clear);
    let because = worst.map(|m| m.because.clone()).unwrap_or_default();
    // What was short before and is as short now is not the swap's doing, and is said so.
    let already =
        worst.is_some_and(|m| swapped && m.state_before == Some(m.state) && m.before.is_some_and(|b| (b - m.after).abs() < 1e-6));
    let headline = match (verdict, already) {
        (Verdict::Fits, _) if swapped => "It goes: every check that could be made is clear.".to_owned(),
        (Verdict::Fits, _) => "Every check that could be made is clear.".to_owned(),
        (Verdict::MeasureFirst, _) => format!("Measure first. {because}"),
        (_, true) => format!("Not because of the swap, but: {}", lower_first(&because)),
        (Verdict::Unsafe, _) if swapped => format!("Not like this: {}", lower_first(&because)),
        (Verdict::DoesNotFit, _) if swapped => format!("It does not go together: {}", lower_first(&because)),
        (Verdict::WorksBadly, _) if swapped => format!("It goes on, but: {}", lower_first(&because)),
        _ => because,
    };
    let mut summary = Vec::new();
    if swapped {
        summary.push(what_moves(changes));
    }
    let others = margins.iter().filter(|m| m.severity != Severity::Felt && m.state != State::Clear).count().saturating_sub(1);
    match others {
        0 => {}
        1 => summary.push("One more check is short or unsure; see below.".to_owned()),
        n => summary.push(format!("{} more checks are short or unsure; see below.", capital(&count_word(n)))),
    }
    if let Some(measurement) = measure_first.first() {
        summary.push(measurement.because.clone());
    }
    if chart.entries.iter().any(|e| e.set_aside || e.suspected) {
        summary.push(chart.finding.clone());
    }
    (headline, summary)
}

/// The main movements as one sentence.
fn what_moves(changes: &[Change]) -> String {
    let unladen =
        |id: &str| changes.iter().find(|c| c.id == id && c.pose == Pose::Unladen && c.change.abs() > c.plus_minus.max(1e-9));
    let mut phrases = Vec::new();
    if let Some(c) = unladen("head_angle") {
        let word = if c.change > 0.0 { "steeper" } else { "slacker" };
        phrases.push(format!("the head angle gets {} {word}", amount(c)));
    }
    if let Some(c) = unladen("bb_height") {
        let word = if c.change > 0.0 { "higher" } else { "lower" };
        phrases.push(format!("the bottom bracket stands {} {word}", amount(c)));
    }
    if let Some(c) = unladen("reach") {
        let word = if c.change > 0.0 { "longer" } else { "shorter" };
        phrases.push(format!("reach gets {} {word}", amount(c)));
    }
    if let Some(c) = unladen("trail") {
        let word = if c.change > 0.0 { "longer" } else { "shorter" };
        phrases.push(format!("trail gets {} {word}", amount(c)));
    }
    if phrases.is_empty() {
        let moved: Vec<String> = changes
            .iter()
            .filter(|c| c.pose == Pose::Unladen && c.change.abs() > c.plus_minus.max(1e-9))
            .take(3)
            .map(|c| format!("{} changes by {}", lower_first(&c.label), amount(c)))
            .collect();
        if moved.is_empty() {
            return "Nothing of the bike's geometry moves by more than its tolerance.".to_owned();
        }
        return format!("{}.", capital(&joined(&moved)));
    }
    let meanings: Vec<String> = {
        let mut list: Vec<String> =
            changes.iter().filter(|c| c.pose == Pose::Unladen).filter_map(|c| c.meaning.clone()).collect();
        list.dedup();
        list.truncate(1);
        list
    };
    let sentence = capital(&joined(&phrases));
    match meanings.first() {
        Some(meaning) => format!("{sentence}; it {meaning}."),
        None => format!("{sentence}."),
    }
}

fn amount(change: &Change) -> String {
    let dimension = Dimension::from_word(&change.dimension).unwrap_or(Dimension::Number);
    let printed = print::value(change.change.abs(), change.plus_minus, dimension, Units::Metric);
    let space = if printed.unit == "°" { "" } else { "\u{a0}" };
    format!("{}{space}{}", printed.number, printed.unit)
}

/// `a`, `a and b`, `a, b and c`.
pub(crate) fn joined(phrases: &[String]) -> String {
    match phrases {
        [] => String::new(),
        [only] => only.clone(),
        [start @ .., last] => format!("{} and {last}", start.join(", ")),
    }
}

/// Number words up to twelve.
fn count_word(n: usize) -> String {
    const WORDS: [&str; 13] =
        ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    WORDS.get(n).map_or_else(|| n.to_string(), |w| (*w).to_owned())
}

pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// With a small first letter, unless the word is all capitals.
pub(crate) fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    match (letters.next(), letters.clone().next()) {
        (Some(_), Some(second)) if second.is_uppercase() => text.to_owned(),
        (Some(first), _) => first.to_lowercase().chain(letters).collect(),
        _ => String::new(),
    }
}
