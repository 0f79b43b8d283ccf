//! The answer as text for a terminal. Layout only: every number and sentence is the answer's own.

use std::{fmt::Write, sync::Arc};

use anstyle::{AnsiColor, Style};
use bike::Part;
use drawing::market::{self, described};
use knowledge::Knowledge;
use quantity::{
    Dimension,
    print::{self, Units, money},
    words::capital,
};
use stand::answer::{Answer, Change, Fits, Margin, Pose, Severity, State, Verdict};
use unicode_width::UnicodeWidthStr;

use crate::printer::Printer;

/// How much to show.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Detail {
    /// What a technician needs to answer.
    Short,
    /// Every figure and check.
    Full,
}

/// Clear margins listed one by one in the short form, at most; the rest are counted.
const CLEAR_LISTED: usize = 4;
/// Checks that could not be made listed in the short form, at most.
const UNCHECKED_LISTED: usize = 5;

const BOLD: Style = Style::new().bold();
const FAINT: Style = Style::new().dimmed();
const MARKED: Style = Style::new().bold().fg_color(Some(anstyle::Color::Ansi(AnsiColor::Red)));
const MOVED: Style = Style::new().fg_color(Some(anstyle::Color::Ansi(AnsiColor::Blue)));

/// The answer.
pub(crate) fn answer(answer: &Answer, units: Units, detail: Detail, as_it_stands: bool, printer: Printer) -> String {
    let mut page = Page { text: String::new(), width: printer.width(), colour: printer.colour() };
    page.title(answer, units);
    page.verdict(answer, as_it_stands);
    if as_it_stands {
        page.figures_as_they_stand(answer, units);
    } else {
        page.changes(answer, units, detail);
    }
    page.margins(answer, units, detail);
    page.extras(answer, units);
    page.cost(answer, units);
    page.alternatives(answer);
    page.measure_first(answer);
    page.not_checked(answer, detail);
    page.chart(answer, units, detail == Detail::Full || as_it_stands);
    page.assumptions(answer, units);
    page.cautions(answer);
    page.sources(answer);
    page.text
}

/// Every part for one place, the best first.
pub(crate) fn fits(fits: &Fits, most: usize, units: Units, printer: Printer) -> String {
    let mut page = Page { text: String::new(), width: printer.width(), colour: printer.colour() };
    let there = fits.on_the_bike.as_ref().map_or_else(|| "nothing".to_owned(), described);
    page.paragraph("", &format!("{}: {} now: {there}", fits.bike, lower(&fits.label)));
    let currency = fits.currency.as_deref();
    let mut verdict = None;
    for row in fits.rows.iter().take(most) {
        if verdict != Some(row.verdict) {
            verdict = Some(row.verdict);
            let count = fits.rows.iter().filter(|other| other.verdict == row.verdict).count();
            page.heading(&format!("{} ({count})", drawing::verdict::word(row.verdict)));
        }
        let mut head = described(&row.part);
        if let Some(condition) = &row.condition {
            let _ = write!(head, " · {condition}");
        }
        if let Some(sum) = row.all_in {
            let _ = write!(head, " · {} all in", money(sum, currency));
        }
        if let Some(id) = &row.part.id {
            let _ = write!(head, " [{id}]");
        }
        page.styled(BOLD, "  ", &head);
        page.hanging("    ", 2, &capital(&format!("{}.", row.change)));
        if let Some(worst) = &row.worst {
            let dimension = Dimension::from_word(&worst.dimension).unwrap_or(Dimension::Number);
            let amount = print::change(worst.margin, worst.plus_minus, dimension, units);
            let mark = if worst.state == State::Short { "✗" } else { "?" };
            page.hanging("    ", 2, &format!("{mark} {} · {amount}. {}", worst.label, worst.because));
        }
        if let Some(extras) = &row.extras {
            let what = extras.slots.join(", ").replace('_', " ");
            page.hanging(
                "    ",
                2,
                &format!("+ {what}: {}, {:.0} min at the bench", money(extras.price, currency), extras.minutes),
            );
        }
    }
    page.blank();
    let left = fits.rows.len().saturating_sub(most);
    let more = if left > 0 { format!("; {left} more (--most {})", fits.rows.len()) } else { String::new() };
    let tried = if fits.rows.len() == 1 { "1 part tried".to_owned() } else { format!("{} parts tried", fits.rows.len()) };
    page.paragraph("", &format!("{tried}{more}"));
    page.text
}

/// A list of parts.
pub(crate) fn parts(
    parts: &[&Arc<Part>],
    knowledge: &Knowledge,
    currency: Option<&str>,
    units: Units,
    printer: Printer,
) -> String {
    let mut page = Page { text: String::new(), width: printer.width(), colour: printer.colour() };
    let mut kind = None;
    let id_width = parts.iter().filter_map(|p| p.id.as_deref()).map(UnicodeWidthStr::width).max().unwrap_or(0);
    for part in parts {
        if kind != Some(part.kind) {
            kind = Some(part.kind);
            page.heading(&capital(&knowledge.kind_of(part.kind).name));
        }
        let mut facts = vec![part.figures_in(knowledge, units)];
        if let Some(mass) = part.mass {
            facts.push(print::value(mass.value(), 0.0, Dimension::Mass, units).to_string());
        }
        if let Some(price) = part.price {
            facts.push(format!("{price:.2} {}", currency.unwrap_or_default()).trim().to_owned());
        }
        facts.retain(|f| !f.is_empty());
        let id = part.id.as_deref().unwrap_or_default();
        let line = format!("{}  {} · {}", padded(id, id_width), part.name, facts.join(" · "));
        page.hanging("  ", id_width + 2, &line);
    }
    if parts.is_empty() {
        page.paragraph("", "No part like that in the catalogue.");
    } else {
        page.blank();
        page.paragraph("", &format!("{} parts", parts.len()));
    }
    page.text
}

struct Page {
    text: String,
    width: usize,
    colour: bool,
}

impl Page {
    fn title(&mut self, answer: &Answer, units: Units) {
        let rider = answer.rider.as_deref().map(|r| format!(" · rider {r}")).unwrap_or_default();
        self.paragraph("", &format!("{}{rider}", answer.bike));
        for row in &answer.parts {
            let new = match (&row.on_trial, row.taken_off) {
                (Some(part), _) => described(part),
                (None, true) => "taken off".to_owned(),
                (None, false) => continue,
            };
            let old = row.on_the_bike.as_ref().map_or_else(|| "nothing".to_owned(), described);
            self.hanging("  ", 4, &format!("{}: {old} → {new}", row.label));
        }
        for adjustment in &answer.adjustments {
            let dimension = Dimension::from_word(&adjustment.dimension).unwrap_or(Dimension::Number);
            let show = |v| print::value(v, 0.0, dimension, units).to_string();
            let before = adjustment.before.map_or_else(|| "not stated".to_owned(), show);
            self.hanging("  ", 4, &format!("{}: {before} → {}", capital(&adjustment.label), show(adjustment.after)));
        }
        self.blank();
    }

    fn verdict(&mut self, answer: &Answer, as_it_stands: bool) {
        let bad = matches!(answer.verdict, Verdict::Unsafe | Verdict::DoesNotFit);
        let headline = answer.headline.clone();
        self.styled(if bad { MARKED } else { BOLD }, "", &headline);
        if as_it_stands && answer.summary.is_empty() {
            return;
        }
        for sentence in &answer.summary {
            self.paragraph("", sentence);
        }
    }

    fn changes(&mut self, answer: &Answer, units: Units, detail: Detail) {
        if detail == Detail::Short && answer.changes.iter().all(|change| !change.main || change.change == 0.0) {
            return;
        }
        for pose in [Pose::Unladen, Pose::Sagged] {
            let rows: Vec<&Change> = answer
                .changes
                .iter()
                .filter(|c| c.pose == pose && (detail == Detail::Full || c.main && (c.change != 0.0 || pose == Pose::Unladen)))
                .collect();
            if rows.is_empty() {
                continue;
            }
            self.heading(match pose {
                Pose::Unladen => "What moves, nobody on the bike",
                Pose::Sagged => "What moves, rider aboard",
            });
            let mut table = vec![[String::new(), "before".to_owned(), "after".to_owned(), "change".to_owned(), String::new()]];
            for change in &rows {
                let dimension = Dimension::from_word(&change.dimension).unwrap_or(Dimension::Number);
                let moved = if change.change == 0.0 {
                    "unchanged".to_owned()
                } else {
                    print::change(change.change, change.plus_minus, dimension, units).to_string()
                };
                table.push([
                    change.label.clone(),
                    print::value(change.before, change.before_plus_minus, dimension, units).to_string(),
                    print::value(change.after, change.after_plus_minus, dimension, units).to_string(),
                    moved,
                    if change.noticed == Some(true) {
                        change.meaning.clone().unwrap_or_else(|| "noticeable".to_owned())
                    } else {
                        String::new()
                    },
                ]);
            }
            self.table(&table, Some(3));
            if detail == Detail::Full {
                for change in rows.iter().filter(|c| c.change != 0.0) {
                    self.depends_on(&change.label, &change.depends_on, &change.dimension, units);
                }
            }
        }
    }

    fn figures_as_they_stand(&mut self, answer: &Answer, units: Units) {
        self.heading("How it stands");
        let mut table = vec![[String::new(), "nobody on it".to_owned(), "rider aboard".to_owned(), String::new(), String::new()]];
        for change in answer.changes.iter().filter(|c| c.pose == Pose::Unladen) {
            let dimension = Dimension::from_word(&change.dimension).unwrap_or(Dimension::Number);
            let sagged = answer.changes.iter().find(|c| c.id == change.id && c.pose == Pose::Sagged);
            let show = |c: &Change| print::value(c.after, c.after_plus_minus, dimension, units).to_string();
            table.push([change.label.clone(), show(change), sagged.map(show).unwrap_or_default(), String::new(), String::new()]);
        }
        self.table(&table, None);
    }

    fn margins(&mut self, answer: &Answer, units: Units, detail: Detail) {
        let (felt, checks): (Vec<&Margin>, Vec<&Margin>) = answer.margins.iter().partition(|m| m.severity == Severity::Felt);
        if !checks.is_empty() {
            self.heading("What it must clear");
        }
        // What will not be felt is no news.
        let felt: Vec<&Margin> = felt.into_iter().filter(|m| detail == Detail::Full || m.state != State::Clear).collect();
        let clear = checks.iter().filter(|m| m.state == State::Clear).count();
        let mut listed = 0;
        for margin in checks {
            if margin.state == State::Clear {
                listed += 1;
                if detail == Detail::Short && listed > CLEAR_LISTED {
                    continue;
                }
            }
            self.margin(margin, units, detail);
        }
        if detail == Detail::Short && clear > CLEAR_LISTED {
            self.paragraph("  ", &format!("and {} more checks clear (--full lists them)", clear - CLEAR_LISTED));
        }
        if !felt.is_empty() {
            self.heading("What the rider will feel");
            for margin in felt {
                self.margin(margin, units, detail);
            }
        }
    }

    fn margin(&mut self, margin: &Margin, units: Units, detail: Detail) {
        let dimension = Dimension::from_word(&margin.dimension).unwrap_or(Dimension::Number);
        let amount = print::change(margin.after, margin.plus_minus, dimension, units);
        let felt = margin.severity == Severity::Felt;
        let (mark, word, style) = match margin.state {
            State::Clear => ("✓", "clear", Style::new()),
            State::Unsure => ("?", "unsure", BOLD),
            State::Short if felt => ("•", "noticed", Style::new()),
            State::Short => ("✗", "short", MARKED),
        };
        let sources: Vec<String> = margin.sources.iter().map(ToString::to_string).collect();
        let cite = if sources.is_empty() { String::new() } else { format!(" [{}]", sources.join(", ")) };
        let word = if felt && margin.state == State::Clear { "not noticed" } else { word };
        self.styled(style, "  ", &format!("{mark} {} · {word} · {amount}", margin.label));
        self.hanging("    ", 4, &format!("{}{cite}", margin.because));
        if let Some(caution) = &margin.caution {
            self.hanging("    ", 4, &format!("Caution: {caution}"));
        }
        if detail == Detail::Full {
            self.depends_on(&margin.label, &margin.depends_on, &margin.dimension, units);
        }
    }

    fn depends_on(&mut self, label: &str, contributions: &[stand::answer::Contribution], dimension: &str, units: Units) {
        if contributions.is_empty() {
            return;
        }
        let dimension = Dimension::from_word(dimension).unwrap_or(Dimension::Number);
        let list: Vec<String> = contributions
            .iter()
            .map(|c| format!("{} {}", c.what, print::value(c.plus_minus, c.plus_minus / 10.0, dimension, units).number))
            .collect();
        let text = format!("± of {} comes from: {}", lower(label), list.join("; "));
        self.faint("    ", &text);
    }

    fn not_checked(&mut self, answer: &Answer, detail: Detail) {
        if answer.not_checked.is_empty() {
            return;
        }
        self.heading("What could not be checked");
        let shown = if detail == Detail::Full { answer.not_checked.len() } else { UNCHECKED_LISTED };
        for check in answer.not_checked.iter().take(shown) {
            self.hanging("  ", 2, &format!("{}: needs {}", check.label, check.needs.join("; ")));
        }
        if let Some(more) = answer.not_checked.len().checked_sub(shown).filter(|more| *more > 0) {
            self.paragraph("  ", &format!("and {more} more, for which more would have to be known (--full lists them)"));
        }
    }

    fn cost(&mut self, answer: &Answer, units: Units) {
        let currency = answer.cost.currency.as_deref().unwrap_or_default();
        let mut facts = Vec::new();
        if let Some(price) = answer.cost.parts {
            facts.push(format!("parts {price:.2} {currency}").trim_end().to_owned());
        }
        if let Some(mass) = answer.cost.mass_change_kg {
            facts.push(format!("{} on the bike", print::change(mass, 0.0, Dimension::Mass, units)));
        }
        if !facts.is_empty() {
            self.heading("What it costs");
            self.paragraph("  ", &facts.join(", "));
        }
    }

    fn extras(&mut self, answer: &Answer, units: Units) {
        let Some(extras) = &answer.extras else { return };
        let currency = answer.cost.currency.as_deref();
        self.heading("What else it takes");
        self.paragraph("  ", &extras.finding);
        for (place, set) in extras.sets.iter().enumerate() {
            self.styled(BOLD, "  ", &market::set_heading(place, set, currency, units));
            for item in &set.items {
                self.hanging("    ", 2, &market::item_words(item, currency));
                if place == 0 && !item.because.is_empty() {
                    self.faint("      ", &item.because);
                }
            }
        }
        for (number, fact) in (1..).zip(&extras.collision) {
            self.hanging("    ", 3, &format!("{number}. {fact}"));
        }
        if !(extras.sets.is_empty() && extras.collision.is_empty()) {
            self.faint("  ", &extras.proof);
        }
    }

    fn alternatives(&mut self, answer: &Answer) {
        if answer.alternatives.is_empty() {
            return;
        }
        self.heading("What else could be done");
        for other in &answer.alternatives {
            self.styled(BOLD, "  ", &market::alternative_heading(other, answer.cost.currency.as_deref()));
            self.hanging("    ", 2, &market::alternative_words(other));
        }
    }

    fn measure_first(&mut self, answer: &Answer) {
        if answer.measure_first.is_empty() {
            return;
        }
        self.heading("What to measure first");
        for (number, measurement) in (1..).zip(&answer.measure_first) {
            self.hanging("  ", 3, &format!("{number}. {} Now taken as {}.", measurement.because, measurement.now));
        }
    }

    fn chart(&mut self, answer: &Answer, units: Units, table: bool) {
        self.heading("How the frame's chart was read");
        self.paragraph("  ", &answer.chart.finding);
        if !table {
            return;
        }
        let mut rows = vec![[String::new(), "given".to_owned(), "adjusted".to_owned(), "disagrees by".to_owned(), String::new()]];
        for entry in &answer.chart.entries {
            let dimension = Dimension::from_word(&entry.dimension).unwrap_or(Dimension::Length);
            let note = if entry.set_aside {
                "set aside"
            } else if entry.suspected {
                "in doubt"
            } else if entry.assumed {
                "assumed"
            } else {
                ""
            };
            let sigmas = entry.sigmas.map(|s| format!(" ({:.1} σ)", s.abs())).unwrap_or_default();
            rows.push([
                entry.id.clone(),
                entry
                    .given
                    .map(|g| print::value(g, entry.given_plus_minus.unwrap_or(0.0), dimension, units).to_string())
                    .unwrap_or_default(),
                print::value(entry.adjusted, entry.plus_minus, dimension, units).to_string(),
                entry
                    .disagrees_by
                    .map(|d| format!("{}{sigmas}", print::change(d, entry.plus_minus, dimension, units).number))
                    .unwrap_or_default(),
                note.to_owned(),
            ]);
        }
        for entry in &answer.chart.derived {
            let dimension = Dimension::from_word(&entry.dimension).unwrap_or(Dimension::Length);
            let adjusted = print::value(entry.adjusted, entry.plus_minus, dimension, units).to_string();
            rows.push([entry.id.clone(), "—".to_owned(), adjusted, String::new(), "follows".to_owned()]);
        }
        self.table(&rows, None);
    }

    fn assumptions(&mut self, answer: &Answer, units: Units) {
        if answer.assumptions.is_empty() {
            return;
        }
        self.heading("What was assumed");
        for assumption in &answer.assumptions {
            let dimension = Dimension::from_word(&assumption.dimension).unwrap_or(Dimension::Number);
            let value = print::value(assumption.number, assumption.plus_minus, dimension, units);
            self.hanging("  ", 2, &format!("{}: {value} [{}]", capital(&assumption.what), assumption.source));
        }
    }

    fn cautions(&mut self, answer: &Answer) {
        if answer.cautions.is_empty() {
            return;
        }
        self.heading("Caution");
        for caution in &answer.cautions {
            self.hanging("  ", 2, &format!("{} [{}]", caution.text, caution.source));
        }
    }

    fn sources(&mut self, answer: &Answer) {
        if answer.sources.is_empty() {
            return;
        }
        self.heading("Sources");
        for source in &answer.sources {
            let standing = match source.standing.as_str() {
                "memory" => " (from memory)",
                _ => "",
            };
            self.hanging("  ", 4, &format!("{}. {}{standing}", source.number, source.text));
        }
    }

    fn heading(&mut self, text: &str) {
        self.blank();
        self.styled(BOLD, "", &text.to_uppercase());
    }

    fn blank(&mut self) {
        if !self.text.is_empty() && !self.text.ends_with("\n\n") {
            self.text.push('\n');
        }
    }

    fn paragraph(&mut self, indent: &str, text: &str) {
        self.hanging(indent, 0, text);
    }

    fn faint(&mut self, indent: &str, text: &str) {
        self.wrapped(FAINT, indent, 2, text);
    }

    fn styled(&mut self, style: Style, indent: &str, text: &str) {
        self.wrapped(style, indent, 2, text);
    }

    /// A paragraph whose later lines stand `hang` further in.
    fn hanging(&mut self, indent: &str, hang: usize, text: &str) {
        self.wrapped(Style::new(), indent, hang, text);
    }

    fn wrapped(&mut self, style: Style, indent: &str, hang: usize, text: &str) {
        let later = format!("{indent}{}", " ".repeat(if indent.is_empty() { 0 } else { hang }));
        let options = textwrap::Options::new(self.width).initial_indent(indent).subsequent_indent(&later);
        for line in textwrap::wrap(text, options) {
            if self.colour && style != Style::new() {
                let _ = writeln!(self.text, "{}{line}{}", style.render(), style.render_reset());
            } else {
                let _ = writeln!(self.text, "{line}");
            }
        }
    }

    /// Columns as wide as their widest cell; numbers to the right, the last column as it comes. `marked` is coloured.
    fn table(&mut self, rows: &[[String; 5]], marked: Option<usize>) {
        let widths: Vec<usize> = (0..5).map(|c| rows.iter().map(|r| r[c].width()).max().unwrap_or(0)).collect();
        for (r, row) in rows.iter().enumerate() {
            let mut line = format!("  {}", padded(&row[0], widths[0]));
            for c in 1..4 {
                if widths[c] == 0 {
                    continue;
                }
                let cell = format!("{}{}", " ".repeat(widths[c] - row[c].width()), row[c]);
                if self.colour && marked == Some(c) && r > 0 {
                    let _ = write!(line, "  {}{cell}{}", MOVED.render(), MOVED.render_reset());
                } else {
                    let _ = write!(line, "  {cell}");
                }
            }
            if !row[4].is_empty() {
                let _ = write!(line, "  {}", row[4]);
            }
            let _ = writeln!(self.text, "{}", line.trim_end());
        }
    }
}

fn padded(text: &str, width: usize) -> String {
    format!("{text}{}", " ".repeat(width.saturating_sub(text.width())))
}

fn lower(text: &str) -> String {
    let mut letters = text.chars();
    match (letters.next(), letters.clone().next()) {
        (Some(_), Some(second)) if second.is_uppercase() => text.to_owned(),
        (Some(first), _) => first.to_lowercase().chain(letters).collect(),
        _ => String::new(),
    }
}
