//! Pages: an HTML document for every address a person opens.

mod bench;
mod choose;
mod compare;
mod form;
mod knobs;
mod programs;
mod start;
mod write;

use maud::{DOCTYPE, Markup, html};

use crate::mistake::Mistake;

pub(crate) use bench::{NEXT, PARTS, Room, bench, live};
pub(crate) use choose::choose;
pub(crate) use compare::compare;
pub(crate) use form::{FormPage, chart_read, form};
pub(crate) use programs::programs;
pub(crate) use start::{Brought, start};
pub(crate) use write::{aloud, preview, write};

/// The script of all pages; without it every page works, only less quickly.
pub(crate) const SCRIPT: &str = concat!(
    include_str!("../../assets/bench.js"),
    include_str!("../../assets/choose.js"),
    include_str!("../../assets/write.js"),
    include_str!("../../assets/form.js")
);

/// The style sheet of all pages.
pub(crate) fn style() -> String {
    format!(
        "{}{}{}",
        drawing::sheet::sheet_style(),
        include_str!("../../assets/bench.css"),
        include_str!("../../assets/form.css")
    )
}

/// What an address says of a key that is a page's own; the last of two counts, nothing if it is not there.
fn said(query: &str, key: &str) -> String {
    let found = form_urlencoded::parse(query.as_bytes()).filter(|pair| pair.0 == key).last();
    found.map(|pair| pair.1.trim().to_owned()).unwrap_or_default()
}

/// A document around a page.
fn document(title: &str, body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width,initial-scale=1";
                title { (title) " · Swapstand" }
                link rel="stylesheet" href="/style.css";
                link rel="icon" href="data:,";
                script src="/script.js" defer {}
            }
            body {
                a.skip href="#main" { "To the page" }
                (body)
            }
        }
    }
}

/// The page that says what is wrong.
pub(crate) fn mistake(mistake: &Mistake) -> Markup {
    let heading = match mistake {
        Mistake::Input(_) => "This cannot be put on the stand",
        Mistake::NotFound(_) => "Not here",
        Mistake::Request(..) => "This cannot be answered",
        Mistake::Program(_) => "The program failed",
    };
    let body = html! {
        main #main.sheet.plain {
            section {
                h1 { (heading) }
                pre.problems tabindex="0" { (mistake.words()) }
                p { a href="/" { "To the first page" } }
            }
        }
    };
    document(heading, &body)
}
