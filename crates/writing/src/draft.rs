//! A draft of what is told to the rider, written from an answer in plain sentences: what was asked, the verdict with its reason,
//! what moves, what else it takes, what else could be done, what to measure, how sure that is, and what to mind.
//!
//! Rules of the writer:
//! - verbs follow how a check stands: what is clear *is*, what is unsure *may be*, and nothing is vouched for;
//! - a number has the digits its tolerance carries, and "about" before it where the tolerance is more than a tenth of it;
//! - counts are words up to twelve; a sum, a size and a share are figures;
//! - what is nothing is left out.

use quantity::{
    print::Units,
    words::{capital, count_word, joined, lower_first},
};
use stand::answer::{Alternative, Answer, Change, ChartEntry, Extra, Margin, PartNote, PartRow, Pose, Severity, State, Verdict};

use crate::{figures::Figures, prose::Prose};

/// A paragraph of a draft.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Paragraph {
    /// What it is about, the same in every draft: `verdict`, `moves` …
    pub about: String,
    /// CommonMark, without empty lines.
    pub markdown: String,
}

/// A draft.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Draft {
    /// Its paragraphs, in order.
    pub paragraphs: Vec<Paragraph>,
}

impl Draft {
    /// As one text.
    pub fn markdown(&self) -> String {
        let paragraphs: Vec<&str> = self.paragraphs.iter().map(|paragraph| paragraph.markdown.as_str()).collect();
        paragraphs.join("\n\n")
    }
}

/// Writes a draft.
pub fn draft(answer: &Answer, units: Units) -> Draft {
    let figures = Figures::of(answer, units);
    let writer = Writer { answer, figures: &figures };
    let paragraphs = [
        ("asked", writer.asked()),
        ("verdict", writer.verdict()),
        ("more", writer.more()),
        ("moves", writer.moves()),
        ("extras", writer.extras()),
        ("instead", writer.instead()),
        ("measure", writer.measure()),
        ("sure", writer.sure()),
        ("caution", writer.caution()),
    ];
    let said = paragraphs.into_iter().filter(|paragraph| !paragraph.1.is_empty());
    Draft { paragraphs: said.map(|(about, markdown)| Paragraph { about: about.to_owned(), markdown }).collect() }
}

/// Checks beside the worst that are told one by one.
const MOST_TOLD: usize = 2;
/// Changes named in a sentence, and meanings.
const MOST_MOVES: usize = 5;
const MOST_MEANINGS: usize = 4;
/// A tolerance above this share of a number makes it "about".
const ABOUT: f64 = 0.1;
/// Measurements, reasons and gaps that are told one by one.
const MOST_MEASURED: usize = 2;
const MOST_GAPS: usize = 2;

struct Writer<'a> {
    answer: &'a Answer,
    figures: &'a Figures,
}

impl Writer<'_> {
    fn prose(&self) -> Prose<'_> {
        Prose::new(self.figures)
    }

    fn swaps(&self) -> bool {
        self.answer.parts.iter().any(is_swapped) || !self.answer.adjustments.is_empty()
    }

    /// What the answer is about.
    fn asked(&self) -> String {
        let mut prose = self.prose();
        prose.strongly(&self.answer.bike);
        if let Some(rider) = &self.answer.rider {
            prose.say(&format!(" (rider {rider})"));
        }
        let tried: Vec<&PartRow> = self.answer.parts.iter().filter(|row| is_swapped(row)).collect();
        let alone = tried.len() + self.answer.adjustments.len() == 1;
        if !self.swaps() {
            prose.say(", as it stands.");
            return prose.into_markdown();
        }
        prose.say(if alone { ". Tried on it: " } else { ". Tried on it, together:" });
        for row in tried {
            if !alone {
                prose.point();
            }
            let words = swap_words(row);
            prose.say(&if alone { format!("{words}.") } else { capital(&words) });
        }
        for adjustment in &self.answer.adjustments {
            if !alone {
                prose.point();
            }
            let label = if alone { adjustment.label.clone() } else { capital(&adjustment.label) };
            prose.say(&format!("{label}: ")).figure(&format!("now.{}", adjustment.id));
            if adjustment.before.is_some() {
                prose.say(" instead of ").figure(&format!("earlier.{}", adjustment.id));
            }
            prose.say(if alone { "." } else { "" });
        }
        prose.into_markdown()
    }

    /// Checks a rider has to know of, the worst first.
    fn open_checks(&self) -> Vec<&Margin> {
        let is_open = |margin: &&Margin| margin.severity != Severity::Felt && margin.state != State::Clear;
        self.answer.margins.iter().filter(is_open).collect()
    }

    /// It was so before, and as much.
    fn already(&self, margin: &Margin) -> bool {
        self.swaps()
            && margin.state_before == Some(margin.state)
            && margin.before.is_some_and(|before| (before - margin.after).abs() < 1e-6)
    }

    fn verdict(&self) -> String {
        let mut prose = self.prose();
        let open = self.open_checks();
        let swaps = self.swaps();
        prose.strongly(match self.answer.verdict {
            Verdict::Fits if swaps => "It goes.",
            Verdict::Fits => "Nothing stands against it.",
            Verdict::FitsWithExtras => "It goes, but it takes something more.",
            Verdict::MeasureFirst => "It is too close to tell: measure first.",
            Verdict::WorksBadly if swaps => "It goes on, but it will work badly.",
            Verdict::WorksBadly => "Something on it works badly.",
            Verdict::DoesNotFit if swaps => "It does not go together.",
            Verdict::DoesNotFit => "Something on it does not go together.",
            Verdict::Unsafe if swaps => "Not like this: somebody could be hurt.",
            Verdict::Unsafe => "Do not ride it like this: somebody could be hurt.",
        });
        prose.say(" ");
        match open.first() {
            None => {
                prose.say("All ").figure("checks.made").say(" checks that could be made are clear.");
            }
            Some(worst) => {
                if self.answer.verdict == Verdict::FitsWithExtras {
                    prose.say("With the swap alone, ").sentence(&format!("because.{}", worst.id), &lower_first(&worst.because));
                } else {
                    because(&mut prose, worst);
                }
                if self.already(worst) {
                    prose.say(" That is so already, with what is on the bike now.");
                }
                if let (Some(caution), State::Short) = (&worst.caution, worst.state) {
                    prose.say(" ").say(caution);
                }
            }
        }
        prose.into_markdown()
    }

    /// What stands in the way besides the worst.
    fn more(&self) -> String {
        let open = self.open_checks();
        let Some(others) = open.get(1..).filter(|others| !others.is_empty()) else { return String::new() };
        let mut prose = self.prose();
        if let [only] = others {
            prose.say("One thing more: ").sentence(&format!("because.{}", only.id), &lower_first(&only.because));
            prose.say(if self.already(only) { " That is so already." } else { "" });
            return prose.into_markdown();
        }
        prose.say("There is more.");
        for margin in others.iter().take(MOST_TOLD) {
            prose.say(" ");
            because(&mut prose, margin);
            if self.already(margin) {
                prose.say(" That is so already.");
            }
        }
        match others.len().saturating_sub(MOST_TOLD) {
            0 => {}
            1 => {
                prose.say(" One further check is short or too close to tell; the sheet lists it.");
            }
            n => {
                prose.say(&format!(
                    " {} further checks are short or too close to tell; the sheet lists them.",
                    capital(&count_word(n))
                ));
            }
        }
        prose.into_markdown()
    }

    fn moves(&self) -> String {
        if !self.swaps() {
            return String::new();
        }
        let mut prose = self.prose();
        let unladen =
            |change: &&Change| change.pose == Pose::Unladen && change.way.is_some() && change.change.abs() > change.plus_minus;
        let noticed = |change: &&Change| change.noticed == Some(true);
        let mut moved: Vec<&Change> = self.answer.changes.iter().filter(unladen).filter(noticed).collect();
        if moved.is_empty() {
            moved = self.answer.changes.iter().filter(unladen).filter(|change| change.main).collect();
        }
        moved.truncate(MOST_MOVES);
        if moved.is_empty() {
            let turns = self.answer.changes.iter().any(|change| change.change != 0.0);
            // Of a chain or a brake nobody asks what it does to the angles.
            if turns {
                prose.say("How the bike sits and steers does not change by more than is known of it.");
            }
            return prose.into_markdown();
        }
        movements(&mut prose, &moved, "");
        prose.say(".");
        let mut meanings: Vec<String> = Vec::new();
        let own = self.answer.changes.iter().filter(|change| change.pose == Pose::Unladen && change.noticed == Some(true));
        for meaning in own.filter_map(|change| change.meaning.as_ref()) {
            if !meanings.contains(meaning) && meanings.len() < MOST_MEANINGS {
                meanings.push(meaning.clone());
            }
        }
        if meanings.is_empty() {
            prose.say(" That is less than most riders notice.");
        } else {
            prose.say(&format!(" The bike {}.", joined(&meanings)));
        }
        let aboard = moved.iter().find_map(|change| {
            let same = |other: &&Change| other.id == change.id && other.pose == Pose::Sagged && other.way.is_some();
            let other = self.answer.changes.iter().find(same)?;
            ((other.change - change.change).abs() > change.plus_minus.max(other.plus_minus)).then_some(other)
        });
        if let Some(change) = aboard {
            prose.say(" With the rider aboard, ");
            movements(&mut prose, &[change], ".aboard");
            prose.say(".");
        }
        prose.into_markdown()
    }

    fn extras(&self) -> String {
        let Some(extras) = self.answer.extras.as_ref().filter(|_| self.swaps()) else { return String::new() };
        let mut prose = self.prose();
        let Some(set) = extras.sets.first() else {
            if extras.collision.is_empty() {
                let open = self.answer.verdict == Verdict::MeasureFirst;
                prose.say(if open { "If it measures up, nothing else is needed." } else { "Nothing else is needed." });
                return prose.into_markdown_with(&self.sum());
            }
            prose.say("No part of the catalogue mends that, because these facts stand together:");
            for fact in &extras.collision {
                prose.point().say(fact);
            }
            return prose.into_markdown();
        };
        let work_only = set.items.iter().all(|item| item.part.is_none());
        prose.say(if work_only { "It takes no further part, only some work:" } else { "What else it takes:" });
        let told: Vec<&str> = self.open_checks().into_iter().take(1 + MOST_TOLD).map(|margin| margin.because.as_str()).collect();
        for item in &set.items {
            prose.point();
            extra_item(&mut prose, item, !told.contains(&item.because.as_str()));
        }
        prose.into_markdown_with(&self.sum())
    }

    /// What it comes to.
    fn sum(&self) -> String {
        let mut prose = self.prose();
        if self.figures.get("cost.all_in").is_none() {
            return String::new();
        }
        prose.say("All in, that comes to ").figure("cost.all_in");
        if self.figures.get("cost.minutes").is_some() {
            prose.say(" and ").figure("cost.minutes").say(" at the bench");
        }
        let best = self.answer.extras.as_ref().and_then(|extras| extras.sets.first());
        let mass = best.map_or(self.answer.cost.mass_change_kg, |set| set.mass_change_kg).filter(|mass| mass.abs() >= 0.005);
        if let Some(mass) = mass {
            prose.say("; the bike gets ").figure("cost.mass").say(if mass > 0.0 { " heavier" } else { " lighter" });
        }
        prose.say(".");
        prose.into_markdown()
    }

    fn instead(&self) -> String {
        let parts = self.answer.parts.iter().filter(|row| row.on_trial.is_some()).count();
        // Where several parts hang together, keeping one of them is worth naming only if the rest goes without it.
        let is_a_way = |other: &Alternative| {
            parts <= 1 || other.part.is_some() || matches!(other.verdict, Verdict::Fits | Verdict::FitsWithExtras)
        };
        let ways: Vec<(usize, &Alternative)> =
            self.answer.alternatives.iter().enumerate().filter(|(_, other)| is_a_way(other)).collect();
        if ways.is_empty() {
            return String::new();
        }
        let mut prose = self.prose();
        prose.say("What else could be done:");
        for (place, other) in ways {
            prose.point();
            other_way(&mut prose, place, other, parts <= 1);
        }
        prose.into_markdown()
    }

    fn measure(&self) -> String {
        if self.answer.measure_first.is_empty() {
            return String::new();
        }
        let mut prose = self.prose();
        prose.say(if self.swaps() { "Before any money is spent: " } else { "To be sure: " });
        for (place, measurement) in self.answer.measure_first.iter().take(MOST_MEASURED).enumerate() {
            let because = if place == 0 { lower_first(&measurement.because) } else { measurement.because.clone() };
            if place > 0 {
                prose.say(" ");
            }
            prose.sentence(&format!("measure.{place}"), &because);
        }
        prose.into_markdown()
    }

    fn sure(&self) -> String {
        let mut prose = self.prose();
        prose.say("How sure that is: ").figure("checks.made").say(" checks were made");
        match self.answer.not_checked.as_slice() {
            [] => {
                prose.say(".");
            }
            gaps => {
                prose.say(", ").figure("checks.not_made").say(" could not be for want of numbers");
                let named: Vec<String> = gaps.iter().take(MOST_GAPS).map(|gap| format!("“{}”", gap.label)).collect();
                let rest = if gaps.len() > MOST_GAPS { ", among them " } else { ": " };
                prose.say(rest).say(&joined(&named)).say(".");
            }
        }
        let wrong = |entry: &&ChartEntry| entry.set_aside || entry.suspected;
        let doubted: Vec<String> =
            self.answer.chart.entries.iter().filter(wrong).map(|entry| short_label(&entry.label).to_owned()).collect();
        if !doubted.is_empty() {
            let many =
                if doubted.len() > 1 { "do not go with the rest and count" } else { "does not go with the rest and counts" };
            prose.say(&format!(" The frame's chart contradicts itself: its {} {many} for little here.", joined(&doubted)));
        }
        prose.say(" Sizes are told with the digits that are known of them.");
        prose.into_markdown()
    }

    fn caution(&self) -> String {
        let mut prose = self.prose();
        for (place, caution) in self.answer.cautions.iter().enumerate() {
            prose.say(if place > 0 { " " } else { "" }).say(&caution.text);
        }
        prose.into_markdown()
    }
}

/// A part by name, its figures in brackets.
fn described(part: &PartNote) -> String {
    if part.figures.is_empty() { part.name.clone() } else { format!("{} ({})", part.name, part.figures) }
}

/// How another way reads, inside a sentence.
fn verdict_words(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Fits => "goes on",
        Verdict::FitsWithExtras => "goes on with extras",
        Verdict::MeasureFirst => "too close to tell without measuring",
        Verdict::WorksBadly => "goes on, but works badly",
        Verdict::DoesNotFit => "does not go on",
        Verdict::Unsafe => "could hurt somebody",
    }
}

fn because(prose: &mut Prose<'_>, margin: &Margin) {
    prose.sentence(&format!("because.{}", margin.id), &margin.because);
}

/// "head angle is 0.93° slacker, reach about 10 mm shorter and trail …".
fn movements(prose: &mut Prose<'_>, moved: &[&Change], suffix: &str) {
    for (place, change) in moved.iter().enumerate() {
        let label = lower_first(&change.label);
        let label = if place == 0 && suffix.is_empty() { capital(&label) } else { label };
        prose.say(match place {
            0 => "",
            place if place + 1 == moved.len() => " and ",
            _ => ", ",
        });
        prose.say(&label).say(if place == 0 { " is " } else { " " });
        if change.plus_minus > ABOUT * change.change.abs() {
            prose.say("about ");
        }
        prose.figure(&format!("change.{}{suffix}", change.id));
        prose.say(&format!(" {}", change.way.as_deref().unwrap_or_default()));
    }
}

fn extra_item(prose: &mut Prose<'_>, item: &Extra, with_reason: bool) {
    let name = format!("extra.{}", item.slot);
    match &item.part {
        Some(part) => {
            prose.say(&format!("{}: {}", item.label, described(part)));
            if part.price.is_some() {
                prose.say(", ").figure(&format!("{name}.price"));
            }
            if let Some(condition) = &item.condition {
                prose.say(&format!(" ({condition})"));
            }
        }
        None => {
            prose.say(&item.what);
        }
    }
    if with_reason && !item.because.is_empty() {
        prose.say(" – ").sentence(&name, &lower_first(&item.because));
    }
}

fn other_way(prose: &mut Prose<'_>, place: usize, other: &Alternative, alone: bool) {
    let Some(part) = &other.part else {
        prose.say(&format!("Keep the {}{}: ", lower_first(&other.label), if alone { "" } else { ", and swap the rest" }));
        let because = other.because.strip_prefix("As it is: ").unwrap_or(&other.because);
        prose.sentence(&format!("instead.{place}"), &lower_first(because));
        return;
    };
    prose.say(&format!("{} – {}", described(part), verdict_words(other.verdict)));
    if other.all_in.is_some() {
        prose.say(", ").figure(&format!("instead.{place}.all_in")).say(" all in");
    }
    if !other.change.is_empty() {
        prose.say(": ").sentence(&format!("instead.{place}.change"), &other.change);
    }
    prose.say(". ").sentence(&format!("instead.{place}"), &other.because);
}

fn is_swapped(row: &PartRow) -> bool {
    row.on_trial.is_some() || row.taken_off
}

/// What is swapped at a place: "fork: Tarn 150 in place of Tarn 130".
fn swap_words(row: &PartRow) -> String {
    let place = lower_first(&row.label);
    let there = row.on_the_bike.as_ref().map(|part| part.name.as_str());
    match (&row.on_trial, there) {
        (Some(part), Some(there)) if part.name.ends_with(there) => format!("{place}: {} in place of it", described(part)),
        (Some(part), Some(there)) => format!("{place}: {} in place of {there}", part.name),
        (Some(part), None) => format!("{place}: {}, where nothing is now", part.name),
        (None, there) => format!("{place}: {} taken off", there.unwrap_or("it")),
    }
}

/// A label without its explanation after the comma.
fn short_label(label: &str) -> &str {
    label.split(',').next().unwrap_or(label)
}
