//! What stands on the printed sheet, section by section, as pieces of a column.

use quantity::{
    print::{self, Units},
    words::capital,
};
use stand::answer::{Answer, Change, Margin, PartNote, Severity, SourceNote, State};
use writing::{
    Text,
    text::{Block, Run},
};

use super::{
    flow::Piece,
    setter::{Setter, short, together, wide},
};
use crate::{
    gauge::{dimension_of, gauge, margin_text},
    letters::{Face, Weight, lines},
    market,
    sections::{assumed, bare, chance, cost_lines, entry_note, label_with_unit, short_list, swap_lines, tag, with_unit},
    side_view::dimensions::moves,
    svg::{Anchor, Ink},
    verdict,
};

/// How much is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Detail {
    /// Every sentence.
    Full,
    /// Clear margins without their sentence, the chart without its numbers: for a sheet of one page.
    Brief,
}

fn numbers(sources: &[u32]) -> String {
    if sources.is_empty() {
        return String::new();
    }
    let list: Vec<String> = sources.iter().map(u32::to_string).collect();
    format!(" [{}]", list.join(",\u{a0}"))
}

/// Pieces of a section that is kept in one.
const SHORT: usize = 4;

/// All sections in reading order, the parts list excepted.
pub(super) fn sections(answer: &Answer, units: Units, words: Option<&Text>, s: Setter, detail: Detail) -> Vec<Piece> {
    let mut all = short_answer(answer, units, words.is_some(), s);
    for section in [
        words.map(|words| told(words, s)).unwrap_or_default(),
        what_moves(answer, units, s),
        extras(answer, units, s),
        what_it_must_clear(answer, units, s, detail),
        not_checked(answer, s, detail),
        cost(answer, units, s),
        alternatives(answer, s),
        measure_first(answer, s),
        chart(answer, units, s, detail),
        assumptions(answer, units, s),
        cautions(answer, s),
        sources(answer, s, detail),
    ] {
        let count = section.len();
        if count > 0 {
            all.push(s.gap(if detail == Detail::Full { 0.75 } else { 0.5 }));
            // A short section is not torn apart.
            let short = count <= SHORT;
            all.extend(
                section
                    .into_iter()
                    .enumerate()
                    .map(|(at, p)| Piece { keep_with_next: p.keep_with_next || short && at + 1 < count, ..p }),
            );
        }
    }
    all
}

fn short_answer(answer: &Answer, units: Units, told: bool, s: Setter) -> Vec<Piece> {
    let mut head = Ink::new();
    head.group("v", [0.0, 0.0], &verdict::mark(answer.verdict));
    head.text("n", [36.0, 18.5], s.size * 1.2, Anchor::Start, verdict::word(answer.verdict));
    let mut all = vec![Piece { height: 31.0, elements: head.into_string(), keep_with_next: true }];
    // A long headline is set smaller, so that the rest keeps its place.
    let size = if answer.headline.chars().count() > 110 { s.size * 1.4 } else { s.size * 1.7 };
    all.extend(s.paragraph(&answer.headline, "n", size, Weight::Bold));
    all.push(s.gap(0.3));
    for sentence in answer.summary.iter().filter(|_| !told) {
        all.extend(s.text(sentence));
    }
    let swap = swap_lines(answer, units);
    if !swap.is_empty() {
        all.push(s.gap(0.3));
    }
    let indent =
        swap.iter().map(|(what, ..)| wide(what, s.size, Weight::Regular)).fold(0.0, f64::max).min(s.width * 0.4) + s.size;
    for (what, before, after) in &swap {
        let what = short(what, indent - s.size * 0.5, s.size, Weight::Regular);
        all.push(s.hanging(&what, indent, &format!("{before} → {after}"), "t on", s.size));
    }
    all
}

/// The answer in words of somebody's own; the drawing stands on the sheet already.
fn told(text: &Text, s: Setter) -> Vec<Piece> {
    let words = |runs: &[Run]| runs.iter().map(|run| run.words.as_str()).collect::<String>();
    let mut all = vec![s.heading("In words")];
    for block in &text.blocks {
        match block {
            Block::Paragraph(runs) => all.extend(s.text(&words(runs))),
            Block::Heading(runs) => all.push(s.subheading(&words(runs))),
            Block::Quotation(runs) => all.push(s.hanging("", s.size, &words(runs), "", s.size)),
            Block::List { numbered, points } => {
                for (place, point) in points.iter().enumerate() {
                    let mark = if *numbered { format!("{}.", place + 1) } else { "–".to_owned() };
                    all.push(s.hanging(&mark, 1.6 * s.size, &words(point), "", s.size));
                }
            }
            Block::Drawing => {}
        }
        all.push(s.gap(0.25));
    }
    all
}

/// Before, after and change unladen, and the change with the rider aboard, one row a figure.
fn what_moves(answer: &Answer, units: Units, s: Setter) -> Vec<Piece> {
    let rows = short_list(answer);
    if rows.is_empty() {
        return vec![s.heading("What moves"), together(&s.text("No figure of the bike could be worked out."))];
    }
    let right = [s.width - s.size * 13.2, s.width - s.size * 8.8, s.width - s.size * 4.2, s.width];
    let mut head = Ink::new();
    let small = s.small();
    for (x, words) in [(right[0], "before"), (right[1], "after"), (right[2], "change"), (right[3], "aboard")] {
        head.text("sm", [x, small], small, Anchor::End, words);
    }
    let mut all = vec![s.heading("What moves"), Piece { height: s.lead(), elements: head.into_string(), keep_with_next: true }];
    let mut notes = "Before and after: unladen; aboard: the change with the rider on the bike.".to_owned();
    let mut meanings = Vec::new();
    for (change, aboard) in rows {
        all.push(change_row(change, aboard, units, s, right));
        if let (Some(true), Some(meaning), true) = (change.noticed, &change.meaning, moves(change, units)) {
            meanings.push(meaning.clone());
        }
    }
    if !meanings.is_empty() {
        meanings.dedup();
        notes = format!("{notes} Felt: {}.", meanings.join("; "));
    }
    all.extend(s.small_text(&notes));
    all
}

fn change_row(change: &Change, aboard: Option<&Change>, units: Units, s: Setter, right: [f64; 4]) -> Piece {
    let dimension = dimension_of(&change.dimension);
    let shown = |v, pm| {
        let p = print::value(v, pm, dimension, units);
        bare(&p.number, p.unit)
    };
    let difference = |c: &Change| {
        if !moves(c, units) {
            return ("–".to_owned(), "sm");
        }
        let p = print::change(c.change, c.plus_minus, dimension, units);
        (bare(&p.number, p.unit), "t on")
    };
    let mut ink = Ink::new();
    let (before, after) = (shown(change.before, change.before_plus_minus), shown(change.after, change.after_plus_minus));
    let label_room = right[0] - wide(&before, s.size, Weight::Regular) - s.size * 0.5;
    let label = label_with_unit(change, units);
    let broken = lines(&label, label_room, s.size, Weight::Regular, Face::Print);
    for (row, line) in broken.iter().enumerate() {
        ink.text("", [0.0, s.size + s.lead() * row as f64], s.size, Anchor::Start, line);
    }
    ink.text("", [right[0], s.size], s.size, Anchor::End, &before);
    ink.text("", [right[1], s.size], s.size, Anchor::End, &after);
    let (words, class) = difference(change);
    ink.text(&format!("n {class}"), [right[2], s.size], s.size, Anchor::End, &words);
    if let Some((words, class)) = aboard.map(difference) {
        ink.text(class, [right[3], s.size], s.size, Anchor::End, &words);
    }
    let height = s.lead() * broken.len() as f64 + 1.6;
    ink.line("hair", [0.0, height - 1.0], [s.width, height - 1.0]);
    Piece { height: height + 0.6, elements: ink.into_string(), keep_with_next: false }
}

fn what_it_must_clear(answer: &Answer, units: Units, s: Setter, detail: Detail) -> Vec<Piece> {
    let (felt, must): (Vec<&Margin>, Vec<&Margin>) = answer.margins.iter().partition(|m| m.severity == Severity::Felt);
    let mut all = vec![s.heading("What it must clear")];
    if must.is_empty() {
        all.extend(s.text("No check could be made."));
    }
    all.extend(must.iter().map(|m| margin_piece(m, units, s, detail)));
    if !felt.is_empty() {
        all.push(s.subheading("What a rider would feel; nothing is wrong with it"));
        all.extend(felt.iter().map(|m| margin_piece(m, units, s, detail)));
    }
    all
}

fn margin_piece(margin: &Margin, units: Units, s: Setter, detail: Detail) -> Piece {
    let value = margin_text(margin, units);
    let alarming = margin.state == State::Short && margin.severity != Severity::Felt;
    let class = if alarming { "n alarm" } else { "n" };
    if detail == Detail::Brief && (margin.state == State::Clear || margin.severity == Severity::Felt) {
        return row(margin, &value, units, s);
    }
    let sources = numbers(&margin.sources);
    let mut pieces = vec![s.pair(&margin.label, &value, class, Weight::Bold)];
    if margin.state != State::Clear {
        let class = if alarming { "n alarm" } else { "n" };
        pieces.extend(s.paragraph(&tag(margin), class, s.small(), Weight::Bold));
    }
    let drawn = gauge(margin, units, s.width, s.small(), Face::Print);
    let mut ink = Ink::new();
    ink.group("d", [0.0, 0.0], &drawn.elements);
    pieces.push(Piece { height: drawn.height, elements: ink.into_string(), keep_with_next: false });
    pieces.extend(s.small_text(&format!("{}{sources}", margin.because)));
    if let (Some(caution), true) = (&margin.caution, margin.state != State::Clear) {
        pieces.extend(s.small_text(caution));
    }
    pieces.push(s.gap(if detail == Detail::Full { 0.3 } else { 0.15 }));
    together(&pieces)
}

/// A margin on one line: name, gauge without figures, amount.
fn row(margin: &Margin, value: &str, units: Units, s: Setter) -> Piece {
    let (from, to) = (s.width * 0.46, s.width * 0.73);
    let drawn = gauge(margin, units, to - from, 0.0, Face::Print);
    let label = format!("{}{}", margin.label, numbers(&margin.sources));
    let broken = lines(&label, from - s.size * 0.5, s.size, Weight::Regular, Face::Print);
    // The gauge stands on the first baseline and has to keep clear of the rows above and below.
    let baseline = s.size.max(13.0);
    let height = (baseline + s.lead() * broken.len().saturating_sub(1) as f64 + s.size * 0.35).max(baseline + 6.6);
    let mut ink = Ink::new();
    for (at, line) in broken.iter().enumerate() {
        ink.text("", [0.0, baseline + s.lead() * at as f64], s.size, Anchor::Start, line);
    }
    ink.group("d", [from, baseline - 14.5], &drawn.elements);
    ink.text("n", [s.width, baseline], s.size, Anchor::End, value);
    Piece { height, elements: ink.into_string(), keep_with_next: false }
}

/// What else it takes: the best set in full, the others in a line each; or the facts that collide.
fn extras(answer: &Answer, units: Units, s: Setter) -> Vec<Piece> {
    let Some(extras) = &answer.extras else { return Vec::new() };
    let currency = answer.cost.currency.as_deref();
    let mut all = vec![s.heading("What else it takes")];
    all.extend(s.text(&extras.finding));
    for (place, set) in extras.sets.iter().enumerate() {
        all.extend(s.paragraph(&market::set_heading(place, set, currency, units), "n", s.size, Weight::Bold));
        for item in &set.items {
            let mut pieces = vec![s.hanging("–", s.size, &market::item_words(item, currency), "", s.size)];
            if place == 0 && !item.because.is_empty() {
                pieces.push(s.hanging("", s.size, &item.because, "sm", s.small()));
            }
            all.push(together(&pieces));
        }
    }
    for (place, fact) in extras.collision.iter().enumerate() {
        all.push(s.hanging(&(place + 1).to_string(), s.size * 1.3, fact, "", s.size));
    }
    if !(extras.sets.is_empty() && extras.collision.is_empty()) {
        all.extend(s.small_text(&extras.proof));
    }
    all
}

fn alternatives(answer: &Answer, s: Setter) -> Vec<Piece> {
    if answer.alternatives.is_empty() {
        return Vec::new();
    }
    let currency = answer.cost.currency.as_deref();
    let mut all = vec![s.heading("What else could be done")];
    for other in &answer.alternatives {
        all.push(together(&[
            s.hanging("–", s.size, &market::alternative_heading(other, currency), "", s.size),
            s.hanging("", s.size, &market::alternative_words(other), "sm", s.small()),
        ]));
    }
    all
}

/// Checks that could not be made named on a brief sheet, at most.
const UNCHECKED_BRIEF: usize = 5;

fn not_checked(answer: &Answer, s: Setter, detail: Detail) -> Vec<Piece> {
    if answer.not_checked.is_empty() {
        return Vec::new();
    }
    let most = if detail == Detail::Brief { UNCHECKED_BRIEF } else { usize::MAX };
    let mut all = vec![s.heading("Not checked")];
    for check in answer.not_checked.iter().take(most) {
        let needs = if check.needs.is_empty() { String::new() } else { format!(": needs {}", check.needs.join(", ")) };
        all.push(s.hanging("–", s.size, &format!("{}{needs}", check.label), "", s.size));
    }
    if let Some(more) = answer.not_checked.len().checked_sub(most).filter(|more| *more > 0) {
        all.extend(s.small_text(&format!("and {more} more, for which more would have to be known")));
    }
    all
}

fn cost(answer: &Answer, units: Units, s: Setter) -> Vec<Piece> {
    let lines = cost_lines(answer, units);
    if lines.is_empty() {
        return Vec::new();
    }
    let mut all = vec![s.heading("Cost, without labour")];
    all.extend(lines.iter().map(|(what, amount)| s.pair(what, amount, "", Weight::Regular)));
    all
}

fn measure_first(answer: &Answer, s: Setter) -> Vec<Piece> {
    if answer.measure_first.is_empty() {
        return Vec::new();
    }
    let mut all = vec![s.heading("Measure first")];
    for (at, m) in answer.measure_first.iter().enumerate() {
        let words = format!("{}: {}; known now: {}.", m.what, m.with, m.now);
        let why = format!("{} {}.", m.because, capital(&chance(m.chance)));
        let indent = s.size * 1.3;
        all.push(together(&[
            s.hanging(&(at + 1).to_string(), indent, &words, "", s.size),
            s.hanging("", indent, &why, "sm", s.small()),
        ]));
    }
    all
}

fn chart(answer: &Answer, units: Units, s: Setter, detail: Detail) -> Vec<Piece> {
    let report = &answer.chart;
    if report.finding.is_empty() && report.entries.is_empty() {
        return Vec::new();
    }
    let mut all = vec![s.heading("How the chart was read")];
    all.extend(s.text(&report.finding));
    let suspicious = report.entries.iter().any(|e| e.set_aside || e.suspected);
    if detail == Detail::Full || suspicious {
        for entry in report.entries.iter().chain(&report.derived) {
            if detail == Detail::Brief && !(entry.set_aside || entry.suspected) {
                continue;
            }
            let dimension = dimension_of(&entry.dimension);
            let exact = |v| {
                let p = print::value(v, 0.0, dimension, units);
                with_unit(&p.number, p.unit)
            };
            let taken = print::value(entry.adjusted, entry.plus_minus, dimension, units);
            let given = entry.given.map_or_else(|| "not given".to_owned(), |g| format!("given {}", exact(g)));
            let note = entry_note(entry);
            let note = if note.is_empty() { String::new() } else { format!(" ({note})") };
            let words = format!("{given}, taken as {}{note}", with_unit(&taken.number, taken.unit));
            let class = if entry.set_aside || entry.suspected { "n alarm" } else { "sm" };
            all.push(s.pair(&entry.label, &words, class, Weight::Regular));
        }
    }
    all
}

fn assumptions(answer: &Answer, units: Units, s: Setter) -> Vec<Piece> {
    if answer.assumptions.is_empty() {
        return Vec::new();
    }
    let mut all = vec![s.heading("Assumed, because nobody said")];
    for a in &answer.assumptions {
        let value = assumed(a.number, a.plus_minus, &a.dimension, units);
        let words = format!("{}: {value}; {}{}", capital(&a.what), a.because, numbers(&[a.source]));
        all.push(s.hanging("–", s.size, &words, "", s.small()));
    }
    all
}

/// Cautions stand in a box of the warning ink, and together.
fn cautions(answer: &Answer, s: Setter) -> Vec<Piece> {
    if answer.cautions.is_empty() {
        return Vec::new();
    }
    let pad = s.size * 0.8;
    let inner = Setter { width: s.width - 2.0 * pad, ..s };
    let mut title = Ink::new();
    title.text("n alarm", [0.0, s.size * 1.1], s.size * 1.14, Anchor::Start, "Caution");
    let mut pieces = vec![Piece { height: s.size * 1.65, elements: title.into_string(), keep_with_next: true }];
    for caution in &answer.cautions {
        pieces.extend(inner.text(&format!("{}{}", caution.text, numbers(&[caution.source]))));
        pieces.push(s.gap(0.2));
    }
    let content = together(&pieces);
    let height = content.height + 2.0 * pad - s.lead() * 0.2;
    let mut ink = Ink::new();
    ink.rect("caution", 0.8, 0.8, s.width - 1.6, height - 1.6);
    ink.group("", [pad, pad], &content.elements);
    vec![Piece { height, elements: ink.into_string(), keep_with_next: false }]
}

fn sources(answer: &Answer, s: Setter, detail: Detail) -> Vec<Piece> {
    if answer.sources.is_empty() {
        return Vec::new();
    }
    let mut all = vec![s.heading("Sources")];
    let full = |source: &SourceNote| {
        let standing = if source.text.starts_with(&source.standing) { String::new() } else { format!(" ({})", source.standing) };
        format!("{}{standing}", source.text)
    };
    match detail {
        Detail::Full => {
            all.extend(answer.sources.iter().map(|n| s.hanging(&n.number.to_string(), s.size * 1.7, &full(n), "", s.small())));
        }
        // One after the other, as in a footnote.
        Detail::Brief => {
            let run: Vec<String> = answer.sources.iter().map(|n| format!("[{}]\u{a0}{}.", n.number, full(n))).collect();
            all.extend(s.paragraph(&run.join(" "), "", s.small(), Weight::Regular));
        }
    }
    all
}

/// The parts list: number, part, what is on the bike; what is on trial on lines of its own.
pub(super) fn parts_list(answer: &Answer, s: Setter) -> Vec<Piece> {
    if answer.parts.is_empty() {
        return Vec::new();
    }
    let label_at = s.size * 2.0;
    let names = answer.parts.iter().map(|p| wide(&p.label, s.size, Weight::Regular)).fold(0.0, f64::max);
    let note_at = label_at + names.min(s.width * 0.3) + s.size * 0.8;
    let room = s.width - note_at;
    // What is swapped is said in full, the rest on a line each.
    let described = |note: &PartNote, swapped: bool| {
        let full = if note.figures.is_empty() { note.name.clone() } else { format!("{} · {}", note.name, note.figures) };
        if swapped {
            lines(&full, room, s.size, Weight::Regular, Face::Print)
        } else {
            vec![short(&full, room, s.size, Weight::Regular)]
        }
    };
    let mut all = vec![s.heading("Parts")];
    for row in &answer.parts {
        let swapped = row.on_trial.is_some() || row.taken_off;
        let on_the_bike = row.on_the_bike.as_ref().map_or_else(|| vec!["–".to_owned()], |note| described(note, swapped));
        let on_trial = match (&row.on_trial, row.taken_off) {
            (Some(note), _) => described(note, true),
            (None, true) => vec!["taken off".to_owned()],
            (None, false) => Vec::new(),
        };
        let height = s.lead() * (on_the_bike.len() + on_trial.len()) as f64 + 1.2;
        let baseline = |line: usize| s.size * 1.05 + s.lead() * line as f64;
        let mut ink = Ink::new();
        if swapped {
            ink.rect("wash", 0.0, 0.0, s.width, height - 0.8);
        }
        let number = if swapped { "n t on" } else { "n" };
        ink.text(number, [s.size * 1.3, baseline(0)], s.size, Anchor::End, &row.balloon.to_string());
        let label = short(&row.label, note_at - label_at - s.size * 0.4, s.size, Weight::Regular);
        ink.text("", [label_at, baseline(0)], s.size, Anchor::Start, &label);
        for (line, words) in on_the_bike.iter().enumerate() {
            ink.text("sm", [note_at, baseline(line)], s.size, Anchor::Start, words);
        }
        if swapped {
            ink.text("n t on", [label_at, baseline(on_the_bike.len())], s.size, Anchor::Start, "on trial");
        }
        for (line, words) in on_trial.iter().enumerate() {
            ink.text("", [note_at, baseline(on_the_bike.len() + line)], s.size, Anchor::Start, words);
        }
        ink.line("hair", [0.0, height - 0.4], [s.width, height - 0.4]);
        all.push(Piece { height, elements: ink.into_string(), keep_with_next: false });
    }
    all
}
