//! Choosing a part: everything of the catalogue that could go in a slot, each tried on the bike, the best first.

use drawing::verdict;
use maud::{Markup, html};
use quantity::{print::money, words::capital};
use stand::answer::{FitRow, Fits};

use crate::{
    asked::Asked,
    mistake::Mistake,
    on_stand::{OnStand, slot},
    page::{compare::MOST, document, said},
    workshop::Workshop,
};

/// Rows shown at once; words narrow a longer list.
const MOST_ROWS: usize = 100;

pub(crate) fn choose(workshop: &Workshop, query: &str) -> Result<Markup, Mistake> {
    let knowledge = workshop.knowledge();
    let asked = Asked::from_query(query);
    let id = slot(&said(query, "slot"), knowledge)?;
    let about = knowledge.slot_of(id);
    let find = said(query, "find");
    let on_stand = OnStand::new(&asked, workshop)?;
    let fits = on_stand.fits_again(&asked, id)?;
    let words: Vec<String> = find.split_whitespace().map(str::to_lowercase).collect();
    let is_wanted = |row: &&FitRow| {
        let text =
            format!("{} {} {}", row.part.id.as_deref().unwrap_or_default(), row.part.name, row.part.figures).to_lowercase();
        words.iter().all(|word| text.contains(word.as_str()))
    };
    let found: Vec<&FitRow> = fits.rows.iter().filter(is_wanted).collect();
    let title = format!("{}: what could go there", about.name);
    let body = html! {
        main #main.sheet.plain {
            section {
                p { a href=(asked.address("/bench")) { "← Back to the bench" } }
                h1 { (title) }
                p { (fits.bike) @if let Some(there) = &fits.on_the_bike { ", now: " (there.name) " " small { (there.figures) } } }
                form #search method="get" action="/choose" role="search" {
                    @for (key, value) in asked.pairs() { input type="hidden" name=(key) value=(value); }
                    input type="hidden" name="slot" value=(about.id);
                    label for="find" { "Only parts with these words" }
                    input #find name="find" type="search" value=(find) autocomplete="off";
                    button { "Look" }
                }
                div #found { (list(&fits, &found, &asked, &about.id)) }
                @if on_stand.build.part(id).is_some() {
                    p { a href=(asked.with_off(&about.id).address("/bench")) { "Leave it empty" } }
                }
            }
        }
    };
    Ok(document(&title, &body))
}

fn list(fits: &Fits, found: &[&FitRow], asked: &Asked, slot: &str) -> Markup {
    let currency = fits.currency.as_deref();
    html! {
        @if fits.rows.is_empty() {
            p { "The catalogue has no part of this kind. Add one to the catalogue that the bike names." }
        } @else if found.is_empty() {
            p { "No part has all these words. " (fits.rows.len()) " are in the catalogue." }
        } @else {
            p.small role="status" { (found.len()) " of " (fits.rows.len()) " parts, the best first" @if found.len() > MOST_ROWS { "; the first " (MOST_ROWS) " are shown" } "." }
            form #compare method="get" action="/compare" {
            @for (key, value) in asked.pairs() { input type="hidden" name=(key) value=(value); }
            input type="hidden" name="slot" value=(slot);
            p.act { button { "Compare what is ticked" } " " small { "up to " (MOST) } }
            table.choices {
                thead { tr { th.tick scope="col" { span.unseen { "Compare" } } th scope="col" { "Part" } th scope="col" { "Verdict" } th scope="col" { "What stands in the way, what it does" } th.num scope="col" { "All in" } } }
                tbody {
                    @for row in found.iter().take(MOST_ROWS) {
                        tr {
                            td.tick { @if let Some(id) = &row.part.id { input type="checkbox" name="with" value=(id) aria-label={ "Compare " (row.part.name) }; } }
                            th scope="row" {
                                @if let Some(id) = &row.part.id {
                                    a href=(asked.with_set(slot, id).address("/bench")) { (row.part.name) }
                                } @else { (row.part.name) }
                                " " small { (row.part.figures) @if let Some(condition) = &row.condition { " · " (condition) } }
                            }
                            td { (verdict::word(row.verdict)) }
                            td { @if let Some(worst) = &row.worst { (worst.because) " " } (capital(&row.change)) "." }
                            td.num { @if let Some(sum) = row.all_in { (money(sum, currency)) } @else { "–" } }
                        }
                    }
                }
            }
            }
        }
    }
}
