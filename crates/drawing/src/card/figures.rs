//! Which numbers a screen shows, and in which words.
//!
//! By this rule, until there are as many as asked for:
//!
//! 1. margins that are short or unsure, as the answer orders them (the worst first), one a part. Left out is what is only felt, for the
//!    change itself says that better, and what has no unit: whether two names are the same is no amount;
//! 2. changes of the short list that a rider notices, in the order of the sheet. One whose number reads like that of another, sign
//!    aside, says the same over again (a bike that turned as a whole, hands that sank by what the drop grew) and is passed over;
//! 3. what it costs, all in if the extras are known;
//! 4. what the mass of the bike changes by;
//! 5. figures of the short list as they are with the swap on;
//! 6. how many of the checks made are clear.
//!
//! Nothing is named twice, and a number that has no room is passed over sooner than cut.

use quantity::{
    Dimension,
    print::{self, Printed, Units},
};
use stand::answer::{Answer, Change, Margin, Pose, Severity, State, Verdict};

use crate::{
    gauge::dimension_of,
    sections::{tag, with_unit},
    side_view::dimensions::moves,
};

/// What a number says, before anybody reads it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Tone {
    /// It is so.
    Plain,
    /// It changes.
    Changed,
    /// It may not do.
    Unsure,
    /// It does not do.
    Short,
}

/// A number for a screen.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Figure {
    /// What it is of.
    pub(crate) label: String,
    /// The number, with a sign if it is a margin or a change, and the degree sign.
    pub(crate) number: String,
    /// Its ± and unit.
    pub(crate) rest: String,
    /// What there is to say of it, the longest wording first; may be empty.
    pub(crate) notes: Vec<String>,
    pub(crate) tone: Tone,
}

impl Figure {
    fn new(label: &str, printed: &Printed, notes: Vec<String>, tone: Tone) -> Self {
        let Printed { number, plus_minus, unit } = printed;
        let (number, unit) = if *unit == "°" { (format!("{number}°"), "") } else { (number.clone(), *unit) };
        let plus_minus =
            plus_minus.as_ref().map(|pm| if printed.unit == "°" { format!("±\u{a0}{pm}°") } else { format!("±\u{a0}{pm}") });
        let rest: Vec<String> = plus_minus.into_iter().chain([unit.to_owned()]).filter(|words| !words.is_empty()).collect();
        Self { label: label.to_owned(), number, rest: rest.join("\u{a0}"), notes, tone }
    }

    /// The wordings of its name: the whole, and without what follows a comma.
    pub(crate) fn labels(&self) -> Vec<String> {
        let short = self.label.split(',').next().unwrap_or_default().to_owned();
        if short == self.label { vec![short] } else { vec![self.label.clone(), short] }
    }
}

/// Chooses so many numbers, as the rule says, of those that fit.
pub(crate) fn chosen(answer: &Answer, pose: Pose, units: Units, most: usize, fits: impl Fn(&Figure) -> bool) -> Vec<Figure> {
    let mut choice = Choice { figures: Vec::with_capacity(most), most, fits };
    choice.margins(answer, units);
    choice.changes(answer, pose, units);
    for figure in money_and_mass(answer, units) {
        choice.take(figure);
    }
    for change in short_list(answer, pose) {
        let printed = print::value(change.after, change.after_plus_minus, dimension_of(&change.dimension), units);
        let notes = if moves(change, units) { vec![before_and_after(change, units)] } else { Vec::new() };
        choice.take(Figure::new(&change.label, &printed, notes, Tone::Plain));
    }
    if let Some(figure) = checks(answer) {
        choice.take(figure);
    }
    choice.figures
}

/// Chooses so many changes, as the rule says, of those that fit.
pub(crate) fn changed(answer: &Answer, pose: Pose, units: Units, most: usize, fits: impl Fn(&Figure) -> bool) -> Vec<Figure> {
    let mut choice = Choice { figures: Vec::with_capacity(most), most, fits };
    choice.changes(answer, pose, units);
    choice.figures
}

/// A choice being made.
struct Choice<F> {
    figures: Vec<Figure>,
    most: usize,
    fits: F,
}

impl<F: Fn(&Figure) -> bool> Choice<F> {
    /// Takes a number if there is room for it and its name is new; whether it did.
    fn take(&mut self, figure: Figure) -> bool {
        let fresh = self.figures.iter().all(|other| other.label != figure.label);
        let taken = fresh && self.figures.len() < self.most && (self.fits)(&figure);
        if taken {
            self.figures.push(figure);
        }
        taken
    }

    fn margins(&mut self, answer: &Answer, units: Units) {
        let mut parts: Vec<&str> = Vec::new();
        for margin in answer.margins.iter().filter(|m| m.severity != Severity::Felt && m.state != State::Clear) {
            if let Some(figure) = of_margin(answer, margin, units).filter(|_| !parts.contains(&margin.slot.as_str()))
                && self.take(figure)
            {
                parts.push(&margin.slot);
            }
        }
    }

    fn changes(&mut self, answer: &Answer, pose: Pose, units: Units) {
        let mut amounts: Vec<(String, &str)> = Vec::new();
        for change in short_list(answer, pose).filter(|c| c.noticed == Some(true) && moves(c, units)) {
            let printed = print::change(change.change, change.plus_minus, dimension_of(&change.dimension), units);
            let amount = (printed.number.trim_start_matches(['+', '\u{2212}']).to_owned(), printed.unit);
            if !amounts.contains(&amount) && self.take(of_change(change, &printed, units)) {
                amounts.push(amount);
            }
        }
    }
}

fn short_list(answer: &Answer, pose: Pose) -> impl Iterator<Item = &Change> {
    answer.changes.iter().filter(move |c| c.pose == pose && c.main)
}

fn of_margin(answer: &Answer, margin: &Margin, units: Units) -> Option<Figure> {
    let printed = print::change(margin.after, margin.plus_minus, dimension_of(&margin.dimension), units);
    if printed.unit.is_empty() {
        return None;
    }
    let (notes, tone) = match margin.state {
        // The extras the verdict speaks of cure it: no warning colour.
        State::Short if answer.verdict == Verdict::FitsWithExtras => {
            (vec!["▼ short with the swap alone".to_owned(), "▼ short".to_owned()], Tone::Plain)
        }
        State::Short => (vec![tag(margin), "▼ short".to_owned()], Tone::Short),
        _ => (vec![tag(margin), "◇ unsure".to_owned()], Tone::Unsure),
    };
    Some(Figure::new(&margin.label, &printed, notes, tone))
}

fn of_change(change: &Change, printed: &Printed, units: Units) -> Figure {
    let ends = before_and_after(change, units);
    let mut notes = Vec::new();
    notes.extend(change.meaning.as_ref().map(|meaning| format!("{ends} · {meaning}")));
    notes.push(ends);
    Figure::new(&change.label, printed, notes, Tone::Changed)
}

/// `69.0° → 68.1°`, `440 → 430 mm`.
fn before_and_after(change: &Change, units: Units) -> String {
    let shown = |value, expanded| print::value(value, expanded, dimension_of(&change.dimension), units);
    let (before, after) = (shown(change.before, change.before_plus_minus), shown(change.after, change.after_plus_minus));
    let first = if before.unit == "°" { format!("{}°", before.number) } else { before.number };
    format!("{first} → {}", with_unit(&after.number, after.unit))
}

fn money_and_mass(answer: &Answer, units: Units) -> Vec<Figure> {
    let best = answer.extras.as_ref().and_then(|extras| extras.sets.first());
    let all_in = best.and_then(|set| set.all_in);
    let mass = best.map_or(answer.cost.mass_change_kg, |set| set.mass_change_kg);
    let cost = match (all_in, answer.cost.parts) {
        (Some(sum), _) => Some((sum, "Cost, all in", "with all it takes")),
        (None, Some(sum)) => Some((sum, "Cost of the parts", "without labour")),
        (None, None) => None,
    };
    let cost = cost.map(|(sum, label, note)| Figure {
        label: label.to_owned(),
        number: print::value(sum, 0.0, Dimension::Price, units).number,
        rest: answer.cost.currency.clone().unwrap_or_default(),
        notes: vec![note.to_owned()],
        tone: Tone::Plain,
    });
    let mass = mass.filter(|mass| mass.abs() > 0.0).map(|mass| {
        let note = if mass > 0.0 { "heavier" } else { "lighter" };
        Figure::new("Mass of the bike", &print::change(mass, 0.0, Dimension::Mass, units), vec![note.to_owned()], Tone::Plain)
    });
    cost.into_iter().chain(mass.filter(|figure| figure.number != "0")).collect()
}

fn checks(answer: &Answer) -> Option<Figure> {
    let made: Vec<&Margin> = answer.margins.iter().filter(|m| m.severity != Severity::Felt).collect();
    let clear = made.iter().filter(|m| m.state == State::Clear).count();
    (!made.is_empty()).then(|| Figure {
        label: "Checks clear".to_owned(),
        number: clear.to_string(),
        rest: format!("of\u{a0}{}", made.len()),
        notes: Vec::new(),
        tone: Tone::Plain,
    })
}
