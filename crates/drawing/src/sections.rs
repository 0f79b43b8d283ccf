//! The sections of an answer as HTML: the same on the sheet and on the bench page. Each is a `section` with its heading, or nothing if
//! there is nothing to say.

use maud::{Markup, PreEscaped, html};
use quantity::{
    Dimension,
    print::{self, Units},
    words::capital,
};
use stand::answer::{Answer, Change, ChartEntry, Contribution, Margin, NotChecked, PartNote, Pose, Severity, State, Verdict};
use writing::{Figures, Text};

use crate::{
    gauge::{dimension_of, gauge, gauge_class, margin_text},
    letters::Face,
    market,
    side_view::{dimensions::moves, pose_name},
    svg::{self, escaped},
    verdict,
    words::{Marks, Words},
};

/// Whether what is folded away is written at all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Folded {
    /// It is: to unfold and read.
    Written,
    /// It is not: the page is redrawn many times a second and nobody unfolds it meanwhile.
    LeftOut,
}

/// A text, escaped, without the control characters that no browser shows.
pub fn text(words: &str) -> PreEscaped<String> {
    PreEscaped(escaped(words))
}

/// The verdict's mark; its word stands beside it.
pub fn mark(verdict: Verdict) -> PreEscaped<String> {
    PreEscaped(format!(
        r#"<svg class="v" viewBox="0 0 28 28" width="28" height="28" aria-hidden="true">{}</svg>"#,
        verdict::mark(verdict)
    ))
}

/// Links to sources: `[1, 2]`.
fn references(numbers: &[u32]) -> Markup {
    html! {
        @if !numbers.is_empty() {
            " " span.refs {
                "["
                @for (at, n) in numbers.iter().enumerate() {
                    @if at > 0 { ", " }
                    a href={ "#source-" (n) } aria-label={ "source " (n) } { (n) }
                }
                "]"
            }
        }
    }
}

/// What is swapped and adjusted, one line each: what, before, after.
pub(crate) fn swap_lines(answer: &Answer, units: Units) -> Vec<(String, String, String)> {
    let mut lines = Vec::new();
    for row in &answer.parts {
        let after = match (&row.on_trial, row.taken_off) {
            (Some(note), _) => note.name.clone(),
            (None, true) => "taken off".to_owned(),
            (None, false) => continue,
        };
        let before = row.on_the_bike.as_ref().map_or_else(|| "nothing".to_owned(), |note| note.name.clone());
        lines.push((row.label.clone(), before, after));
    }
    for a in &answer.adjustments {
        let show = |v: f64| print::value(v, 0.0, dimension_of(&a.dimension), units).to_string();
        lines.push((a.label.clone(), a.before.map_or_else(|| "not stated".to_owned(), show), show(a.after)));
    }
    lines
}

/// The short answer: verdict, headline, summary, what is swapped. Where the answer is told in words of somebody's own, they stand
/// in place of the summary.
pub fn short_answer(answer: &Answer, units: Units, words: Option<&Text>) -> Markup {
    let swap = swap_lines(answer, units);
    html! {
        section.answer {
            p.verdict { (mark(answer.verdict)) span { (verdict::word(answer.verdict)) } }
            h1 { (text(&answer.headline)) }
            @if let Some(words) = words { (told(answer, units, words)) } @else { @for sentence in &answer.summary { p { (text(sentence)) } } }
            @if !swap.is_empty() {
                dl.swap {
                    @for (what, before, after) in &swap {
                        div {
                            dt { (text(what)) }
                            dd { (text(before)) " → " b { (text(after)) } }
                        }
                    }
                }
            }
        }
    }
}

/// The answer in words of somebody's own.
fn told(answer: &Answer, units: Units, words: &Text) -> Markup {
    let figures = Figures::of(answer, units);
    let laid_out = Words { answer, figures: &figures, units, pose: Pose::Unladen, marks: Marks::Hidden };
    html! { div.told { (laid_out.html(words, "told")) } }
}

fn note(note: Option<&PartNote>) -> Markup {
    html! {
        @if let Some(note) = note {
            (text(&note.name))
            @if !note.figures.is_empty() { " " small { (text(&note.figures)) } }
        } @else { span.faint { "–" } }
    }
}

/// The list of parts, its numbers those of the balloons.
pub fn parts(answer: &Answer) -> Markup {
    html! {
        @if !answer.parts.is_empty() {
            table.parts {
                caption { "Parts" }
                thead { tr { th.no scope="col" { "No." } th scope="col" { "Part" } th scope="col" { "On the bike" } th scope="col" { "On trial" } } }
                tbody {
                    @for row in &answer.parts {
                        @let swapped = row.on_trial.is_some() || row.taken_off;
                        tr class=[swapped.then_some("on")] {
                            td.no { i { (row.balloon) } }
                            th scope="row" { (text(&row.label)) }
                            td { (note(row.on_the_bike.as_ref())) }
                            td {
                                @if row.taken_off { "taken off" }
                                @else if row.on_trial.is_some() { (note(row.on_trial.as_ref())) }
                                @else { span.faint { "–" } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The figures of the short list unladen, each with the same figure with the rider aboard.
pub(crate) fn short_list(answer: &Answer) -> Vec<(&Change, Option<&Change>)> {
    let aboard = |id: &str| answer.changes.iter().find(|c| c.id == id && c.pose == Pose::Sagged);
    answer.changes.iter().filter(|c| c.pose == Pose::Unladen && c.main).map(|c| (c, aboard(&c.id))).collect()
}

/// A figure's name with the unit its numbers are in, where that is not written at each.
pub fn label_with_unit(change: &Change, units: Units) -> String {
    let unit = print::value(0.0, 0.0, dimension_of(&change.dimension), units).unit;
    if matches!(unit, "°" | "") { change.label.clone() } else { format!("{}, {unit}", change.label) }
}

/// A number as it stands in a column whose unit is named elsewhere.
pub(crate) fn bare(number: &str, unit: &str) -> String {
    if unit == "°" { format!("{number}°") } else { number.to_owned() }
}

/// What moves, in short, and all figures to unfold.
pub fn what_moves(answer: &Answer, units: Units, folded: Folded) -> Markup {
    let rows = short_list(answer);
    html! {
        section.moves {
            h2 { "What moves" }
            @if rows.is_empty() {
                p { "No figure of the bike could be worked out, so nothing can be said of what moves." }
            } @else {
                table {
                    caption { "Before, after and change unladen; aboard: the change with the rider on the bike" }
                    thead {
                        tr {
                            th scope="col" { "Figure" }
                            @for head in ["before", "after", "change", "aboard"] { th.num scope="col" { (head) } }
                        }
                    }
                    tbody { @for (change, aboard) in &rows { (short_row(change, *aboard, units, folded)) } }
                }
            }
            @if !answer.changes.is_empty() && folded == Folded::Written {
                details {
                    summary { "All figures in both poses, with their tolerances" }
                    table {
                        thead {
                            tr {
                                th scope="col" { "Figure" }
                                @for head in ["before", "after", "change"] { th.num scope="col" { (head) } }
                            }
                        }
                        @for pose in [Pose::Unladen, Pose::Sagged] {
                            tbody {
                                tr { th scope="rowgroup" colspan="4" { (capital(pose_name(pose))) } }
                                @for change in answer.changes.iter().filter(|c| c.pose == pose) { (full_row(change, units)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// A figure before and after, its change in both poses, and what it means for the rider.
fn short_row(change: &Change, aboard: Option<&Change>, units: Units, folded: Folded) -> Markup {
    let shown = |v: f64, pm: f64| {
        let printed = print::value(v, pm, dimension_of(&change.dimension), units);
        bare(&printed.number, printed.unit)
    };
    let moved = moves(change, units);
    html! {
        tr {
            th scope="row" {
                (text(&label_with_unit(change, units)))
                @if let (Some(true), Some(words), true) = (change.noticed, &change.meaning, moved) { " " small.means { (text(words)) } }
            }
            td.num { (shown(change.before, change.before_plus_minus)) }
            td.num { (shown(change.after, change.after_plus_minus)) }
            (explained(Some(change), units, folded))
            (explained(aboard, units, folded))
        }
    }
}

/// The same as [`difference`], with what is behind the number for whoever asks: from what to what, how sure, and why no surer.
fn explained(change: Option<&Change>, units: Units, folded: Folded) -> Markup {
    let Some(change) = change.filter(|it| folded == Folded::Written && moves(it, units) && !it.depends_on.is_empty()) else {
        return difference(change, units);
    };
    let dimension = dimension_of(&change.dimension);
    let shown = |value, plus_minus| print::value(value, plus_minus, dimension, units);
    let id = format!("why-{}-{}", change.id, if change.pose == Pose::Sagged { "aboard" } else { "unladen" });
    html! {
        td.num.change.moved {
            button.ask type="button" popovertarget=(id) {
                span.unseen { (text(&change.label)) ", " (pose_name(change.pose)) ": " }
                (moved(Some(change), units))
                span.unseen { ": what is behind it" }
            }
            div.behind id=(id) popover {
                p { b { (text(&change.label)) ", " (pose_name(change.pose)) } }
                p { (shown(change.before, change.before_plus_minus)) " before, " (shown(change.after, change.after_plus_minus)) " after" }
                p { (print::change(change.change, change.plus_minus, dimension, units)) ", which holds 19 times in 20. Its ± comes from:" }
                (shares(&change.depends_on, dimension, units))
            }
        }
    }
}

/// The cell of a change with its tolerance.
fn difference(change: Option<&Change>, units: Units) -> Markup {
    html! { td.num.change.moved[change.is_some_and(|change| moves(change, units))] { (moved(change, units)) } }
}

/// A change with its tolerance, the unit being named elsewhere; `none` if it does not move, a dash if it is not known.
pub fn moved(change: Option<&Change>, units: Units) -> Markup {
    html! {
        @if let Some(change) = change.filter(|change| moves(change, units)) {
            @let printed = print::change(change.change, change.plus_minus, dimension_of(&change.dimension), units);
            b { (bare(&printed.number, printed.unit)) }
            @if let Some(pm) = &printed.plus_minus { " " span { "±\u{a0}" (bare(pm, printed.unit)) } }
        } @else if change.is_some() { span.faint { "none" } } @else { span.faint { "–" } }
    }
}

fn full_row(change: &Change, units: Units) -> Markup {
    let shown = |v: f64, pm: f64| print::value(v, pm, dimension_of(&change.dimension), units);
    let ends = [shown(change.before, change.before_plus_minus), shown(change.after, change.after_plus_minus)];
    html! {
        tr {
            th scope="row" { (text(&label_with_unit(change, units))) (depends_on(&change.depends_on, &change.dimension, units)) }
            @for value in &ends {
                td.num { (bare(&value.number, value.unit)) @if let Some(pm) = &value.plus_minus { " " small { "±\u{a0}" (pm) } } }
            }
            (difference(Some(change), units))
        }
    }
}

/// A number with its unit, the degree sign close to it.
pub(crate) fn with_unit(number: &str, unit: &str) -> String {
    if unit.is_empty() || unit == "°" { format!("{number}{unit}") } else { format!("{number}\u{a0}{unit}") }
}

/// What it means when a margin is short.
pub(crate) fn severity_words(severity: Severity) -> &'static str {
    match severity {
        Severity::Hurts => "can hurt somebody",
        Severity::DoesNotGo => "does not go together",
        Severity::WorksBadly => "works badly",
        Severity::Felt => "will be felt",
    }
}

/// How a margin stands, for people: `short – can hurt somebody`.
pub fn tag(margin: &Margin) -> String {
    match margin.state {
        State::Clear if margin.severity == Severity::Felt => "not felt".to_owned(),
        State::Unsure if margin.severity == Severity::Felt => "◇ may be felt".to_owned(),
        State::Short if margin.severity == Severity::Felt => "▼ will be felt".to_owned(),
        State::Clear => "clear".to_owned(),
        State::Unsure => format!("◇ unsure – if short, it {}", severity_words(margin.severity)),
        State::Short => format!("▼ short – {}", severity_words(margin.severity)),
    }
}

fn gauge_item(margin: &Margin, units: Units, folded: Folded) -> Markup {
    html! {
        li class=(gauge_class(margin)) {
            div.head {
                span { (text(&margin.label)) span.tag { (tag(margin)) } }
                b { (margin_text(margin, units)) }
            }
            (PreEscaped(gauge(margin, units, 310.0, 11.5, Face::Screen).figure()))
            p { (text(&margin.because)) (references(&margin.sources)) }
            @if let (Some(caution), true) = (&margin.caution, margin.state != State::Clear) { p.small { (text(caution)) } }
            @if folded == Folded::Written { (depends_on(&margin.depends_on, &margin.dimension, units)) }
        }
    }
}

/// What a ± comes from, largest first, to unfold.
fn depends_on(contributions: &[Contribution], dimension: &str, units: Units) -> Markup {
    html! {
        @if contributions.iter().any(|it| it.plus_minus > 0.0) {
            details.why {
                summary { "What the ± comes from" }
                (shares(contributions, dimension_of(dimension), units))
            }
        }
    }
}

/// Stated numbers with their share of a ± (they add as squares) as a bar.
fn shares(contributions: &[Contribution], dimension: Dimension, units: Units) -> Markup {
    let all: f64 = contributions.iter().map(|it| it.plus_minus * it.plus_minus).sum();
    let share = |it: &Contribution| 100.0 * it.plus_minus * it.plus_minus / all;
    html! {
        ul.shares {
            @for it in contributions {
                li {
                    span { (text(&it.what)) " " small { "(" (text(&it.from)) ")" } }
                    svg.d viewBox="0 0 100 5" preserveAspectRatio="none" aria-hidden="true" { rect.bar width=(svg::number(share(it))) height="5" {} }
                    b { (format!("{:.0}\u{a0}%", share(it))) }
                    small { (print::value(it.plus_minus, 0.0, dimension, units)) }
                }
            }
        }
    }
}

/// Clear margins shown at once.
const CLEAR_SHOWN: usize = 9;

/// Margins as gauges, the worst first.
pub fn what_it_must_clear(answer: &Answer, units: Units, folded: Folded) -> Markup {
    let (felt, must): (Vec<&Margin>, Vec<&Margin>) = answer.margins.iter().partition(|m| m.severity == Severity::Felt);
    // What is not clear, and the closest of what is; the rest unfolds.
    let open = must.iter().filter(|margin| margin.state != State::Clear).count();
    let shown = must.len().min(open + CLEAR_SHOWN);
    html! {
        section.clears {
            h2 { "What it must clear" }
            @if must.is_empty() {
                p { "No check could be made." }
            } @else {
                p.small { "Worst first. The upright line is zero; the hatched side is too little. The band is the tolerance; a small triangle under the line is where it stood before." }
                ul.gauges { @for margin in &must[..shown] { (gauge_item(margin, units, folded)) } }
                @if shown < must.len() && folded == Folded::Written {
                    details {
                        summary { (must.len() - shown) " more checks that are clear" }
                        ul.gauges { @for margin in &must[shown..] { (gauge_item(margin, units, folded)) } }
                    }
                }
            }
            @if !felt.is_empty() {
                h3 { "What a rider would feel" }
                p.small { "Nothing is wrong where these are short; the bike is only different." }
                ul.gauges { @for margin in felt { (gauge_item(margin, units, folded)) } }
            }
        }
    }
}

/// What else it takes: sets side by side, or the facts that collide.
pub fn extras(answer: &Answer, units: Units) -> Markup {
    let currency = answer.cost.currency.as_deref();
    html! {
        @if let Some(extras) = &answer.extras {
            section.extras {
                h2 { "What else it takes" }
                p { (text(&extras.finding)) }
                @if !extras.sets.is_empty() {
                    ol.sets {
                        @for (place, set) in extras.sets.iter().enumerate() {
                            li {
                                b { (text(&market::set_heading(place, set, currency, units))) }
                                ul {
                                    @for item in &set.items {
                                        li {
                                            (text(&market::item_words(item, currency)))
                                            @if place == 0 && !item.because.is_empty() { p.small { (text(&item.because)) } }
                                        }
                                    }
                                }
                            }
                        }
                    }
                }
                @if !extras.collision.is_empty() {
                    ol.facts { @for fact in &extras.collision { li { (text(fact)) } } }
                }
                @if !(extras.sets.is_empty() && extras.collision.is_empty()) { p.small { (text(&extras.proof)) } }
            }
        }
    }
}

/// What else could be done.
pub fn alternatives(answer: &Answer) -> Markup {
    let currency = answer.cost.currency.as_deref();
    html! {
        @if !answer.alternatives.is_empty() {
            section {
                h2 { "What else could be done" }
                ul {
                    @for other in &answer.alternatives {
                        li { b { (text(&market::alternative_heading(other, currency))) } p { (text(&market::alternative_words(other))) } }
                    }
                }
            }
        }
    }
}

/// Checks that could not be made shown at once; the rest unfolds.
const UNCHECKED_SHOWN: usize = 6;

/// Checks that could not be made.
pub fn not_checked(answer: &Answer) -> Markup {
    let list = |checks: &[NotChecked]| {
        html! {
            ul {
                @for check in checks {
                    li { (text(&capital(&check.label))) @if !check.needs.is_empty() { " " small { "needs " (text(&check.needs.join(", "))) } } }
                }
            }
        }
    };
    let (shown, more) = answer.not_checked.split_at(answer.not_checked.len().min(UNCHECKED_SHOWN));
    html! {
        @if !shown.is_empty() {
            section {
                h2 { "Not checked" }
                (list(shown))
                @if !more.is_empty() { details { summary { (more.len()) " more, for which more would have to be known" } (list(more)) } }
            }
        }
    }
}

/// The lines of the cost: what, how much.
pub(crate) fn cost_lines(answer: &Answer, units: Units) -> Vec<(String, String)> {
    let mut lines = Vec::new();
    let currency = answer.cost.currency.as_deref();
    let money = |amount: f64| print::money(amount, currency);
    for row in &answer.parts {
        let Some(note) = &row.on_trial else { continue };
        lines.push((note.name.clone(), note.price.map_or_else(|| "no price known".to_owned(), money)));
    }
    if lines.len() > 1 {
        lines.push(("Parts together".to_owned(), answer.cost.parts.map_or_else(|| "not known".to_owned(), money)));
    }
    if let Some(mass) = answer.cost.mass_change_kg {
        lines.push(("Mass".to_owned(), print::change(mass, 0.0, quantity::Dimension::Mass, units).to_string()));
    }
    lines
}

/// What the parts cost.
pub fn cost(answer: &Answer, units: Units) -> Markup {
    let lines = cost_lines(answer, units);
    html! {
        @if !lines.is_empty() {
            section {
                h2 { "Cost" }
                dl { @for (what, amount) in &lines { dt { (text(what)) } dd { (text(amount)) } } }
                p.small { "Parts only, without labour." }
            }
        }
    }
}

/// A chance as people say it.
pub(crate) fn chance(chance: f64) -> String {
    format!("settles it {:.0} times in 100", (chance * 100.0).clamp(0.0, 100.0))
}

/// What to measure first.
pub fn measure_first(answer: &Answer) -> Markup {
    html! {
        @if !answer.measure_first.is_empty() {
            section {
                h2 { "Measure first" }
                ol {
                    @for m in &answer.measure_first {
                        li {
                            b { (text(&m.what)) } " " small { (text(&m.with)) "; known now: " (text(&m.now)) }
                            p { (text(&m.because)) " " span.faint { (capital(&chance(m.chance))) "." } }
                        }
                    }
                }
            }
        }
    }
}

/// How the chart was read.
pub fn chart(answer: &Answer, units: Units) -> Markup {
    let report = &answer.chart;
    let suspicious = report.entries.iter().any(|e| e.set_aside || e.suspected);
    html! {
        section.full[suspicious] {
            h2 { "How the chart was read" }
            p { (text(&report.finding)) }
            @if !report.entries.is_empty() || !report.derived.is_empty() {
                details open[suspicious] {
                    summary { "The chart, number by number" }
                    table {
                        thead { tr { th scope="col" { "Number" } th.num scope="col" { "given" } th.num scope="col" { "taken as" } th.num scope="col" { "off by" } th scope="col" { "note" } } }
                        tbody { @for entry in report.entries.iter().chain(&report.derived) { (chart_row(entry, units)) } }
                    }
                }
            }
        }
    }
}

/// What there is to say of an entry of the chart.
pub(crate) fn entry_note(entry: &ChartEntry) -> &'static str {
    match entry {
        ChartEntry { set_aside: true, .. } => "set aside",
        ChartEntry { suspected: true, .. } => "may be wrong",
        ChartEntry { assumed: true, .. } => "assumed",
        ChartEntry { given: None, .. } => "worked out",
        _ => "",
    }
}

fn chart_row(entry: &ChartEntry, units: Units) -> Markup {
    let dimension = dimension_of(&entry.dimension);
    let adjusted = print::value(entry.adjusted, entry.plus_minus, dimension, units);
    let doubtful = entry.set_aside || entry.suspected;
    html! {
        tr {
            th scope="row" { (text(&entry.label)) }
            td.num {
                @if let Some(given) = entry.given {
                    @let given = print::value(given, 0.0, dimension, units);
                    (with_unit(&given.number, given.unit))
                } @else { span.faint { "–" } }
            }
            td.num { (with_unit(&adjusted.number, adjusted.unit)) }
            td.num {
                @if let Some(by) = entry.disagrees_by {
                    (print::change(by, entry.given_plus_minus.unwrap_or(0.0), dimension, units).number)
                    @if let Some(sigmas) = entry.sigmas { " " small { (format!("{:.1}\u{a0}σ", sigmas.abs())) } }
                } @else { span.faint { "–" } }
            }
            td.flag[doubtful] { (entry_note(entry)) }
        }
    }
}

/// An assumption's value in the units asked for.
pub(crate) fn assumed(number: f64, plus_minus: f64, dimension: &str, units: Units) -> String {
    print::value(number, plus_minus, dimension_of(dimension), units).to_string()
}

/// What was assumed.
pub fn assumptions(answer: &Answer, units: Units) -> Markup {
    html! {
        @if !answer.assumptions.is_empty() {
            section {
                h2 { "Assumed, because nobody said" }
                ul {
                    @for a in &answer.assumptions {
                        li {
                            (text(&capital(&a.what))) ": " b { (assumed(a.number, a.plus_minus, &a.dimension, units)) }
                            " " small { (text(&a.because)) } (references(&[a.source]))
                        }
                    }
                }
            }
        }
    }
}

/// Warnings.
pub fn cautions(answer: &Answer) -> Markup {
    html! {
        @if !answer.cautions.is_empty() {
            section.cautions {
                h2 {
                    (PreEscaped(r#"<svg class="v" viewBox="0 0 28 28" width="24" height="24" aria-hidden="true"><path d="M14 3L26.5 25H1.5Z"/><path d="M14 11V17.5M14 21.3v.1"/></svg>"#))
                    "Caution"
                }
                ul { @for caution in &answer.cautions { li { (text(&caution.text)) (references(&[caution.source])) } } }
            }
        }
    }
}

/// Where everything comes from.
pub fn sources(answer: &Answer) -> Markup {
    html! {
        @if !answer.sources.is_empty() {
            section.sources {
                h2 { "Sources" }
                ol {
                    @for source in &answer.sources {
                        li id={ "source-" (source.number) } {
                            span { (source.number) }
                            span { (text(&source.text)) @if source.text != source.standing && !source.text.starts_with(&source.standing) { " " small { "(" (text(&source.standing)) ")" } } }
                        }
                    }
                }
            }
        }
    }
}
