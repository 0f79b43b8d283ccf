//! Up to four parts for one place side by side: each tried on the bike, the same figures and checks in the same rows.

use drawing::{
    letters::Face,
    market::described,
    sections,
    side_view::{Setting, side_view},
    verdict,
};
use maud::{Markup, PreEscaped, html};
use quantity::{
    Dimension,
    print::{self, Units, money},
    words::capital,
};
use source_file::Problem;
use stand::answer::{Answer, Change, Margin, Pose, Severity, State};

use crate::{
    asked::Asked,
    mistake::Mistake,
    on_stand::{OnStand, slot},
    page::{document, said},
    workshop::Workshop,
};

/// Parts that stand side by side, at most: more columns than that nobody reads.
pub(crate) const MOST: usize = 4;

const DRAWING: Setting = Setting { width: 300.0, height: None, text: 11.0, face: Face::Screen, sparse: true };

/// One part tried.
struct Column {
    asked: Asked,
    answer: Answer,
    /// What it is called above its column.
    name: String,
    figures: String,
    drawing: Option<String>,
}

pub(crate) fn compare(workshop: &Workshop, query: &str) -> Result<Markup, Mistake> {
    let asked = Asked::from_query(query);
    let id = slot(&said(query, "slot"), workshop.knowledge())?;
    let about = workshop.knowledge().slot_of(id);
    let mut with: Vec<String> = Vec::new();
    for (_, part) in form_urlencoded::parse(query.as_bytes()).filter(|pair| pair.0 == "with" && !pair.1.is_empty()) {
        if with.iter().all(|other| *other != *part) {
            with.push(part.into_owned());
        }
    }
    let choose = asked.address_with("/choose", &[("slot", &about.id)]);
    if with.is_empty() || with.len() > MOST {
        let number = if with.is_empty() { "no part is ticked".to_owned() } else { format!("{} parts are ticked", with.len()) };
        return Err(Problem::new(format!("{number}: there is nothing to compare"))
            .help(format!("go back and tick one to {MOST} parts for the same place"))
            .into());
    }
    let mut columns = Vec::with_capacity(with.len());
    for part in &with {
        let asked = asked.with_set(&about.id, part);
        let on_stand = OnStand::new(&asked, workshop)?;
        let answer = on_stand.answer()?;
        let note = answer.parts.iter().find(|row| row.slot == about.id).and_then(|row| row.on_trial.as_ref());
        let (name, figures) = note.map_or_else(Default::default, |note| (note.name.clone(), note.figures.clone()));
        let drawing = side_view(&answer, on_stand.pose, on_stand.units, DRAWING)
            .map(|drawing| drawing.figure(&format!("view-{}", columns.len()), ""));
        columns.push(Column { asked, answer, name, figures, drawing });
    }
    let on_stand = OnStand::new(&asked, workshop)?;
    let title = format!("{} side by side", about.name);
    let there =
        on_stand.part(id).map(|part| format!("{} ({})", part.name, part.figures_in(workshop.knowledge(), on_stand.units)));
    let body = html! {
        main #main.sheet {
            section.compare {
                p { a href=(choose) { "← Choose other parts" } " · " a href=(asked.address("/bench")) { "to the bench" } }
                h1 { (title) }
                p { (on_stand.build.name) @if let Some(there) = there { ", now: " (there) } }
                (table(&columns, on_stand.units, on_stand.pose))
                p.small { "A dash: it does not move, or it is not known. Changes " @if on_stand.pose == Pose::Sagged { "with the rider aboard" } @else { "unladen" } "; numbers after ± hold 19 times in 20." }
            }
        }
    };
    Ok(document(&title, &body))
}

fn table(columns: &[Column], units: Units, pose: Pose) -> Markup {
    html! {
        table.side {
            thead {
                tr {
                    th scope="col" { "Part" }
                    @for column in columns { th scope="col" { (sections::text(&column.name)) br; small { (sections::text(&column.figures)) } } }
                }
            }
            tbody {
                (row("Verdict", columns, |column| html! {
                    span.verdict { (sections::mark(column.answer.verdict)) b { (verdict::word(column.answer.verdict)) } }
                }))
                (row("In short", columns, |column| html! { (sections::text(&column.answer.headline)) }))
                @if columns.iter().any(|column| column.drawing.is_some()) {
                    (row("Drawing", columns, |column| html! {
                        @if let Some(drawing) = &column.drawing { (PreEscaped(drawing.clone())) } @else { span.faint { "–" } }
                    }))
                }
                (row("All in", columns, |column| all_in(column, units)))
                (row("What else it takes", columns, extras))
            }
            tbody {
                (heading("What moves", columns.len()))
                @for change in figures(columns, pose) {
                    (row(&sections::label_with_unit(change, units), columns, |column| moved(column, change, pose, units)))
                }
            }
            tbody {
                (heading("What it must clear", columns.len()))
                @for margin in margins(columns) {
                    (row(&margin.label, columns, |column| standing(column, margin, units)))
                }
                (row("Other checks", columns, |column| {
                    let clear = column.answer.margins.iter().filter(|margin| must(margin) && margin.state == State::Clear).count();
                    html! { (clear) " clear" @if !column.answer.not_checked.is_empty() { ", " (column.answer.not_checked.len()) " could not be made" } }
                }))
            }
            tbody {
                tr.go {
                    th scope="row" { "Bench" }
                    @for column in columns { td { a href=(column.asked.address("/bench")) { "Try this one" span.unseen { ": " (column.name) } } } }
                }
            }
        }
    }
}

/// A row: its name, and a cell a column; where columns stand one below the other, each cell says whose it is.
fn row(label: &str, columns: &[Column], cell: impl Fn(&Column) -> Markup) -> Markup {
    html! {
        tr {
            th scope="row" { (sections::text(&capital(label))) }
            @for column in columns { td { span.whose aria-hidden="true" { (column.name) } (cell(column)) } }
        }
    }
}

fn heading(words: &str, columns: usize) -> Markup {
    html! { tr.heading { th scope="rowgroup" colspan=(columns + 1) { (words) } } }
}

fn all_in(column: &Column, units: Units) -> Markup {
    let currency = column.answer.cost.currency.as_deref();
    let best = column.answer.extras.as_ref().and_then(|extras| extras.sets.first());
    let sum = best.map_or(column.answer.cost.parts, |set| set.all_in);
    html! {
        @if let Some(sum) = sum { b { (money(sum, currency)) } @if best.is_some() { " with extras" } } @else { "not known" }
        @if let Some(mass) = column.answer.cost.mass_change_kg { br; small { (print::change(mass, 0.0, Dimension::Mass, units)) } }
    }
}

fn extras(column: &Column) -> Markup {
    html! {
        @if let Some(extras) = &column.answer.extras {
            @if let Some(set) = extras.sets.first() {
                ul {
                    @for item in &set.items {
                        li { (sections::text(&item.part.as_ref().map_or_else(|| item.what.clone(), described))) }
                    }
                }
            } @else { (sections::text(&extras.finding)) }
        } @else { span.faint { "–" } }
    }
}

/// Figures of the short list that move with one of the parts at least.
fn figures(columns: &[Column], pose: Pose) -> Vec<&Change> {
    let mut found: Vec<&Change> = Vec::new();
    for change in columns.iter().flat_map(|column| &column.answer.changes) {
        let wanted = change.pose == pose && change.main && change.change != 0.0;
        if wanted && found.iter().all(|other| other.id != change.id) {
            found.push(change);
        }
    }
    found
}

fn moved(column: &Column, wanted: &Change, pose: Pose, units: Units) -> Markup {
    let change = column.answer.changes.iter().find(|change| change.id == wanted.id && change.pose == pose);
    html! {
        @if let Some(change) = change {
            (sections::moved(Some(change), units))
            @if let (Some(true), Some(meaning)) = (change.noticed, &change.meaning) { br; small.means { (sections::text(meaning)) } }
        } @else { span.faint { "–" } }
    }
}

fn must(margin: &Margin) -> bool {
    margin.severity != Severity::Felt
}

/// Checks that are not clear with one of the parts at least, the worst first.
fn margins(columns: &[Column]) -> Vec<&Margin> {
    let mut found: Vec<&Margin> = Vec::new();
    for margin in columns.iter().flat_map(|column| &column.answer.margins) {
        if must(margin) && margin.state != State::Clear && found.iter().all(|other| other.id != margin.id) {
            found.push(margin);
        }
    }
    found
}

fn standing(column: &Column, wanted: &Margin, units: Units) -> Markup {
    let margin = column.answer.margins.iter().find(|margin| margin.id == wanted.id);
    html! {
        @if let Some(margin) = margin {
            span class={ "stands " (drawing::gauge::gauge_class(margin)) } { (sections::tag(margin)) }
            " " b.num { (drawing::gauge::margin_text(margin, units)) }
        } @else { span.faint { "not checked" } }
    }
}
