//! The verdict, read from the margins and nothing else, and the short answer in words.

use knowledge::Knowledge;
use quantity::{
    Dimension,
    print::{self, Units},
    words::{capital, count_word, joined, lower_first},
};

use crate::{
    answer::{Change, ChartReport, Extras, Margin, Measurement, Pose, Severity, State, Verdict},
    evaluation::Taken,
    ground::Ground,
    report::severity,
};

/// Reads the verdict of an answer's margins.
pub(crate) fn read(margins: &[Margin]) -> Verdict {
    read_states(&margins.iter().map(|margin| (margin.state, margin.severity)).collect::<Vec<_>>())
}

/// Reads the verdict of margins as taken.
pub(crate) fn of(knowledge: &Knowledge, margins: &[Taken]) -> Verdict {
    let is_change = |taken: &&Taken| knowledge.margins[taken.rule].severity == knowledge::Severity::Felt;
    let states = margins.iter().filter(|taken| !is_change(taken));
    read_states(&states.map(|taken| (taken.state(), severity(knowledge.margins[taken.rule].severity))).collect::<Vec<_>>())
}

fn read_states(margins: &[(State, Severity)]) -> Verdict {
    let any = |state: State, severities: &[Severity]| margins.iter().any(|m| m.0 == state && severities.contains(&m.1));
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

/// A number that sorts margins worst first.
pub(crate) fn order(margin: &Margin) -> f64 {
    rank(margin.state, margin.severity, margin.after, margin.plus_minus)
}

/// A number that sorts margins worst first: state, then severity, then distance from zero in tolerances.
pub(crate) fn rank(state: State, severity: Severity, margin: f64, plus_minus: f64) -> f64 {
    let state_order = match state {
        State::Short => 0.0,
        State::Unsure => 1.0,
        State::Clear => 2.0,
    };
    let severity_order = match severity {
        Severity::Hurts => 0.0,
        Severity::DoesNotGo => 1.0,
        Severity::WorksBadly => 2.0,
        Severity::Felt => 3.0,
    };
    // Between margins of one kind the distance from zero in tolerances decides; what is exactly known is of least interest.
    let distance = if plus_minus > 0.0 { (margin / plus_minus).clamp(-9.0, 9.0) } else { 9.5 };
    let felt = if severity == Severity::Felt { 1.0 } else { 0.0 };
    // What is clear is clear, whatever it would mean otherwise.
    let severity_order = if state == State::Clear { 0.0 } else { severity_order };
    felt * 10_000.0 + state_order * 1_000.0 + severity_order * 100.0 + distance
}

/// What the short answer is written from.
pub(crate) struct ShortAnswer<'a> {
    pub(crate) ground: &'a Ground,
    pub(crate) units: Units,
    pub(crate) verdict: Verdict,
    pub(crate) margins: &'a [Margin],
    pub(crate) changes: &'a [Change],
    pub(crate) measure_first: &'a [Measurement],
    pub(crate) chart: &'a ChartReport,
    pub(crate) swapped: bool,
    pub(crate) extras: Option<&'a Extras>,
}

/// Headline and summary.
pub(crate) fn words(short: &ShortAnswer<'_>) -> (String, Vec<String>) {
    let ShortAnswer { ground, units, verdict, margins, changes, measure_first, chart, swapped, extras } = *short;
    let worst = margins.iter().find(|m| m.severity != Severity::Felt && m.state != State::Clear);
    let because = worst.map(|m| m.because.clone()).unwrap_or_default();
    // What was short before and is as short now is not the swap's doing, and is said so.
    let already =
        worst.is_some_and(|m| swapped && m.state_before == Some(m.state) && m.before.is_some_and(|b| (b - m.after).abs() < 1e-6));
    let in_doubt = chart.entries.iter().any(|e| e.set_aside || e.suspected);
    let headline = match (verdict, already) {
        (Verdict::Fits, _) if swapped => "It goes: every check that could be made is clear.".to_owned(),
        (Verdict::Fits, _) if in_doubt => chart.finding.clone(),
        (Verdict::Fits, _) => "Every check that could be made is clear.".to_owned(),
        (Verdict::FitsWithExtras, _) => {
            format!("It goes, but {}", lower_first(&extras.map(crate::extras::in_short).unwrap_or_default()))
        }
        (Verdict::MeasureFirst, _) => format!("Measure first. {because}"),
        (_, true) => format!("Not because of the swap, but: {}", lower_first(&because)),
        (Verdict::Unsafe, _) if swapped => format!("Not like this: {}", lower_first(&because)),
        (Verdict::DoesNotFit, _) if swapped => format!("It does not go together: {}", lower_first(&because)),
        (Verdict::WorksBadly, _) if swapped => format!("It goes on, but: {}", lower_first(&because)),
        _ => because.clone(),
    };
    let mut summary = Vec::new();
    if verdict == Verdict::FitsWithExtras {
        summary.push(format!("With the swap alone: {}", lower_first(&because)));
        summary.extend(extras.map(|extras| extras.finding.clone()));
    }
    if let Some(extras) = extras.filter(|extras| !extras.collision.is_empty()) {
        summary.push(extras.finding.clone());
    }
    // Of a chain or a brake nobody asks what it does to the angles.
    if swapped && changes.iter().any(|change| change.change != 0.0) {
        summary.extend(what_moves(ground, units, changes));
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
    if in_doubt && headline != chart.finding {
        summary.push(chart.finding.clone());
    } else if in_doubt {
        summary.push("Every check that could be made is clear.".to_owned());
    }
    (headline, summary)
}

/// What moves most, as one or two sentences: sizes first, then what they mean.
fn what_moves(ground: &Ground, units: Units, changes: &[Change]) -> Vec<String> {
    // Only outputs that have words for it, unladen, beyond their tolerance; the more a rider notices it, the earlier.
    let mut moved: Vec<Movement<'_>> = ground
        .figures()
        .enumerate()
        .filter_map(|(place, (_, output))| {
            let change = changes.iter().find(|c| c.id == output.id && c.pose == Pose::Unladen)?;
            let word = if change.change > 0.0 { output.up.as_ref() } else { output.down.as_ref() }?;
            let noticed = output.noticed.map_or(f64::INFINITY, quantity::Quantity::value);
            let beyond = change.change.abs() > change.plus_minus.max(NOTHING);
            beyond.then(|| Movement {
                place,
                times_noticed: change.change.abs() / noticed,
                words: format!("{} {} {word}", lower_first(&change.label), amount(change, units)),
                meaning: change.meaning.as_ref(),
            })
        })
        .collect();
    moved.sort_by(|a, b| b.times_noticed.total_cmp(&a.times_noticed));
    moved.truncate(MOST_MOVEMENTS);
    // Said in the order of the table, which is the trade's.
    moved.sort_by_key(|m| m.place);
    if moved.is_empty() {
        return vec!["Nothing of the bike's geometry moves by more than its tolerance.".to_owned()];
    }
    let sizes: Vec<String> = moved.iter().map(|m| m.words.clone()).collect();
    let mut sentences = vec![format!("{}.", capital(&joined(&sizes)))];
    let mut meanings: Vec<String> = Vec::new();
    for meaning in moved.iter().filter_map(|m| m.meaning) {
        if !meanings.contains(meaning) && meanings.len() < MOST_MEANINGS {
            meanings.push(meaning.clone());
        }
    }
    if !meanings.is_empty() {
        sentences.push(format!("It {}.", joined(&meanings)));
    }
    sentences
}

/// A figure that moves, in words.
struct Movement<'a> {
    /// Place in the knowledge's list.
    place: usize,
    times_noticed: f64,
    words: String,
    meaning: Option<&'a String>,
}

/// Movements named in the short answer, and meanings, at most.
const MOST_MOVEMENTS: usize = 4;
const MOST_MEANINGS: usize = 3;
/// A change smaller than this is rounding.
const NOTHING: f64 = 1e-9;

fn amount(change: &Change, units: Units) -> String {
    let dimension = Dimension::from_word(&change.dimension).unwrap_or(Dimension::Number);
    let printed = print::value(change.change.abs(), change.plus_minus, dimension, units);
    let space = if printed.unit == "°" { "" } else { "\u{a0}" };
    format!("{}{space}{}", printed.number, printed.unit)
}
