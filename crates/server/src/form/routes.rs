//! Addresses of the form, and of a bike that comes as a file or as a text.

use std::sync::Arc;

use axum::{
    Router,
    extract::{RawQuery, Request},
    http::{StatusCode, header},
    response::{IntoResponse, Redirect, Response},
    routing::{get, post},
};
use bike::{Catalogue, read::build_from, write_build};
use quantity::print::Units;
use source_file::{Problem, Problems, SourceFile, quoted};

use crate::{
    asked::{Asked, Which},
    form::{
        chart::reading,
        document::{Node, Table, Written},
        fields,
        filled::{Filled, OPEN},
        sent::{FILE, Sent},
        trial::{bench_of, own, tried},
        troubles::{self, Trouble},
    },
    mistake::Mistake,
    on_stand::{OnStand, offered, own_file},
    page::{self, Brought, FormPage},
    router::{Shop, aside},
    workshop::Workshop,
};

/// What a file that is made of fields is called in messages.
const FORM: &str = "the form";

/// Where a mistake is told to a person.
const PAGE: &str = "/bike";

/// Addresses of the form.
pub(crate) fn routes() -> Router<Arc<Workshop>> {
    Router::new()
        .route("/bike", get(blank).post(filled_in))
        .route("/bike/chart", post(chart))
        .route("/bike.toml", get(file))
        .route("/stand", post(stand))
}

/// What a request comes to.
enum Outcome {
    Page(StatusCode, maud::Markup),
    /// The bike stands: its bench.
    Bench(String),
}

impl IntoResponse for Outcome {
    fn into_response(self) -> Response {
        match self {
            Self::Page(status, page) => (status, page).into_response(),
            Self::Bench(address) => Redirect::to(&address).into_response(),
        }
    }
}

fn answered(outcome: Result<Outcome, Mistake>) -> Response {
    outcome.map_or_else(|mistake| mistake.response(PAGE), IntoResponse::into_response)
}

/// What the form is about, besides what stands in it.
struct About<'w> {
    workshop: &'w Workshop,
    catalogue: &'w Catalogue,
    /// The bench it came from and goes back to, without its bike.
    bench: Asked,
    /// The bike of the workshop it began from.
    offered: Option<String>,
}

impl<'w> About<'w> {
    fn new(workshop: &'w Workshop, bench: Asked) -> Result<Self, Mistake> {
        let (offered, catalogue) = match &bench.bike {
            Which::Offered(id) => (Some(id.clone()), offered(id, workshop)?.catalogue.as_ref()),
            _ => (None, workshop.catalogue.as_ref()),
        };
        Ok(Self { workshop, catalogue, bench: Asked { bike: Which::None, ..bench }, offered })
    }

    fn units(&self) -> Units {
        if self.bench.imperial { Units::Imperial } else { Units::Metric }
    }

    /// The page, with what is wrong and where.
    fn page(&self, filled: &Filled, troubles: &[Trouble], file: Option<&Problems>) -> maud::Markup {
        page::form(&FormPage {
            workshop: self.workshop,
            catalogue: self.catalogue,
            filled,
            troubles,
            file,
            reading: &reading(filled, self.catalogue, self.workshop, self.units()),
            bench: &self.bench,
            offered: self.offered.as_deref(),
            units: self.units(),
        })
    }

    /// Everything that is wrong with what stands in the fields; nothing if the bike stands, with its bench then.
    fn stands(&self, filled: &Filled) -> Result<String, Vec<Trouble>> {
        let knowledge = self.workshop.knowledge();
        let (table, no_values) = filled.to_file(knowledge, self.catalogue);
        let written = Written::of(&table, FORM);
        let wrong = troubles::no_values(&no_values);
        let tried = tried(&written.file, self.catalogue, self.workshop);
        let build =
            tried.map_err(|problem| [wrong.clone(), troubles::troubles(&problem, &written, filled, knowledge)].concat())?;
        if !wrong.is_empty() {
            return Err(wrong);
        }
        // A bike of one's own is read against the workshop's own catalogue: where that says otherwise, every part is written out.
        let same = build_from(&written.file, &self.workshop.catalogue, knowledge).is_ok_and(|again| again == build);
        let text = if same { written.file.text().to_owned() } else { write_build(&build, knowledge) };
        let which = own(&text).map_err(|mistake| vec![Trouble { field: None, sentences: vec![mistake.words()] }])?;
        Ok(self.bench_with(which))
    }

    /// The bench with the bike as it is now; what was on trial stays on trial if it still can.
    fn bench_with(&self, which: Which) -> String {
        let asked = Asked { bike: which, ..self.bench.clone() };
        if OnStand::new(&asked, self.workshop).and_then(|on_stand| on_stand.quick_answer()).is_ok() {
            return asked.address("/bench");
        }
        let Asked { bike, aboard, imperial, rate, budget, new_only, text, .. } = asked;
        Asked { bike, aboard, imperial, rate, budget, new_only, text, ..Asked::default() }.address("/bench")
    }
}

async fn blank(shop: Shop, query: RawQuery) -> Response {
    let made = aside(shop, query, |workshop, query| {
        let asked = Asked::from_query(query);
        let file = match &asked.bike {
            Which::None => None,
            Which::Offered(id) => Some(offered(id, workshop)?.file.clone()),
            Which::Own(packed) => Some(own_file(packed)?),
        };
        let about = About::new(workshop, asked)?;
        let Some(file) = file else {
            return Ok(Outcome::Page(StatusCode::OK, about.page(&Filled::default(), &[], None)));
        };
        let filled = Filled::of_file(&Table::of_file(&file)?, workshop.knowledge());
        let troubles = about.stands(&filled).err().unwrap_or_default();
        Ok(Outcome::Page(StatusCode::OK, about.page(&filled, &troubles, None)))
    });
    answered(made.await)
}

async fn filled_in(shop: Shop, request: Request) -> Response {
    let sent = match Sent::of(request).await {
        Ok(sent) => sent,
        Err(mistake) => return mistake.response(PAGE),
    };
    answered(aside(shop, RawQuery(None), move |workshop, _| done(workshop, sent)).await)
}

/// What a button of the form does.
fn done(workshop: &Workshop, sent: Sent) -> Result<Outcome, Mistake> {
    if let Some(text) = sent.get("text") {
        return mended(workshop, text);
    }
    let bench = Asked::from_query(sent.get("bench").unwrap_or_default());
    let bike = sent.get("bike").filter(|id| !id.is_empty()).map_or(Which::None, |id| Which::Offered(id.to_owned()));
    let about = About::new(workshop, Asked { bike, ..bench })?;
    let (wanted, open) = (sent.get("do").unwrap_or_default().to_owned(), sent.get("open").map(str::to_owned));
    let mut filled = Filled::of_pairs(sent.pairs);
    let wrong = StatusCode::UNPROCESSABLE_ENTITY;
    if let Some(slot) = open {
        opened(&mut filled, &slot, workshop);
        return Ok(Outcome::Page(StatusCode::OK, about.page(&filled, &[], None)));
    }
    match (wanted.as_str(), sent.file) {
        ("check", _) => Ok(Outcome::Page(StatusCode::OK, about.page(&filled, &[], None))),
        (FILE, None) => {
            let none = Problem::new("no file was chosen").help("choose a build file first").into();
            Ok(Outcome::Page(wrong, about.page(&filled, &[], Some(&none))))
        }
        (FILE, Some(Err(mistake))) => Ok(Outcome::Page(mistake.status(), about.page(&filled, &[], Some(&mistake.problems())))),
        (FILE, Some(Ok(file))) => match brought(workshop, &file) {
            Ok(bench) => Ok(Outcome::Bench(bench)),
            Err(problems) => Ok(Outcome::Page(wrong, about.page(&filled, &[], Some(&problems)))),
        },
        (_, Some(_)) => {
            let both = Problem::new("a file was chosen, and the form was sent in its place");
            let both = both.help("choose it again and press the button beside it, or send the form without it").into();
            Ok(Outcome::Page(wrong, about.page(&filled, &[], Some(&both))))
        }
        _ => match about.stands(&filled) {
            Ok(bench) => Ok(Outcome::Bench(bench)),
            Err(troubles) => Ok(Outcome::Page(wrong, about.page(&filled, &troubles, None))),
        },
    }
}

/// Shows the fields of a place; an empty one gets a part that is written out.
fn opened(filled: &mut Filled, id: &str, workshop: &Workshop) {
    let knowledge = workshop.knowledge();
    let Some(slot) = knowledge.slot(id) else { return };
    let keys = fields::name_of(&fields::keys_of(knowledge, slot));
    let part = format!("{keys}.part");
    if !filled.has(&part) {
        filled.set(part, fields::WRITTEN_OUT);
    }
    filled.set(format!("{keys}{OPEN}"), "yes");
}

/// A text somebody brought, opened in the form, with what is wrong in it beside its fields.
fn mended(workshop: &Workshop, text: &str) -> Result<Outcome, Mistake> {
    let text = text.replace("\r\n", "\n");
    match Table::of_file(&SourceFile::from_text("your bike", text.as_str())) {
        Ok(table) => {
            let about = About::new(workshop, Asked::default())?;
            let filled = Filled::of_file(&table, workshop.knowledge());
            let troubles = about.stands(&filled).err().unwrap_or_default();
            Ok(Outcome::Page(StatusCode::OK, about.page(&filled, &troubles, None)))
        }
        Err(problems) => {
            let brought = Brought { text: &text, problems: &problems, is_file: false, can_be_mended: false };
            Ok(Outcome::Page(StatusCode::UNPROCESSABLE_ENTITY, page::start(workshop, Some(&brought))))
        }
    }
}

/// A bike that comes as a file, as it is: its bench.
fn brought(workshop: &Workshop, file: &SourceFile) -> Result<String, Problems> {
    tried(file, &workshop.catalogue, workshop).map_err(|wrong| wrong.problems(file))?;
    match own(file.text()) {
        Ok(which) => Ok(bench_of(which, &Asked::default())),
        Err(Mistake::Input(problems)) => Err(problems),
        Err(other) => Err(Problem::new(other.words()).into()),
    }
}

async fn stand(shop: Shop, request: Request) -> Response {
    let sent = match Sent::of(request).await {
        Ok(sent) => sent,
        Err(mistake) => return mistake.response(PAGE),
    };
    if let Some((name, _)) = sent.pairs.iter().find(|pair| pair.0 != "text") {
        let unknown = Problem::new(format!("the form has no field called {}", quoted(name)));
        return Mistake::Input(unknown.help(format!("send a bike as `text` or as `{FILE}`")).into()).response(PAGE);
    }
    let tried = aside(shop, RawQuery(None), move |workshop, _| {
        let text = sent.get("text").unwrap_or_default().replace("\r\n", "\n");
        let is_file = sent.file.is_some();
        let file = match sent.file {
            Some(Ok(_)) if !text.trim().is_empty() => {
                let both = Problem::new("a file and a text were sent").help("send one of them");
                Err(Mistake::Input(both.into()))
            }
            Some(file) => file,
            None if text.trim().is_empty() => {
                let none = Problem::new("there is no bike in it").help("choose a file, or paste what stands in one");
                Err(Mistake::Input(none.into()))
            }
            None => Ok(SourceFile::from_text("your bike", text.as_str())),
        };
        let told = |status, text: &str, problems: &Problems, can_be_mended| {
            let brought = Brought { text, problems, is_file, can_be_mended };
            Outcome::Page(status, page::start(workshop, Some(&brought)))
        };
        let file = match file {
            Ok(file) => file,
            Err(mistake) => return Ok(told(mistake.status(), &text, &mistake.problems(), false)),
        };
        Ok(match brought(workshop, &file) {
            Ok(bench) => Outcome::Bench(bench),
            Err(problems) => {
                let can_be_mended = Table::of_file(&file).is_ok();
                told(StatusCode::UNPROCESSABLE_ENTITY, file.text(), &problems, can_be_mended)
            }
        })
    });
    answered(tried.await)
}

/// The part of the page that changes while a chart is typed.
async fn chart(shop: Shop, request: Request) -> Response {
    let sent = match Sent::of(request).await {
        Ok(sent) => sent,
        Err(mistake) => return mistake.response(PAGE),
    };
    let made = aside(shop, RawQuery(None), move |workshop, _| {
        let bench = Asked::from_query(sent.get("bench").unwrap_or_default());
        let bike = sent.get("bike").filter(|id| !id.is_empty()).map_or(Which::None, |id| Which::Offered(id.to_owned()));
        let about = About::new(workshop, Asked { bike, ..bench })?;
        let filled = Filled::of_pairs(sent.pairs);
        let reading = reading(&filled, about.catalogue, workshop, about.units());
        Ok(Outcome::Page(StatusCode::OK, page::chart_read(&reading, &filled, workshop.knowledge(), about.units())))
    });
    answered(made.await)
}

/// The bike of an address as a file.
async fn file(shop: Shop, query: RawQuery) -> Response {
    let made = aside(shop, query, |workshop, query| match Asked::from_query(query).bike {
        Which::None => Err(Problem::new("no bike is named").help("choose one on the first page").into()),
        Which::Offered(id) => {
            let found = offered(&id, workshop)?;
            Ok((found.build.name.clone(), write_build(&found.build, workshop.knowledge())))
        }
        Which::Own(packed) => {
            let file = own_file(&packed)?;
            let name = match Table::of_file(&file).ok().as_ref().and_then(|table| table.get("name")) {
                Some(Node::Text(name)) => name.clone(),
                _ => String::new(),
            };
            Ok((name, file.text().to_owned()))
        }
    });
    match made.await {
        Ok((name, text)) => {
            let disposition = format!("attachment; filename=\"{}.toml\"", plain_name(&name));
            (
                [
                    (header::CONTENT_TYPE, "application/toml; charset=utf-8".to_owned()),
                    (header::CONTENT_DISPOSITION, disposition),
                ],
                text,
            )
                .into_response()
        }
        Err(mistake) => mistake.response(PAGE),
    }
}

/// The longest name of a file that is offered, in characters.
const LONGEST_FILE_NAME: usize = 60;

/// A name that any system takes for a file: letters, digits and dashes.
fn plain_name(name: &str) -> String {
    let words = name.split(|letter: char| !letter.is_ascii_alphanumeric()).filter(|word| !word.is_empty());
    let plain: String = words.collect::<Vec<_>>().join("-").to_ascii_lowercase().chars().take(LONGEST_FILE_NAME).collect();
    let plain = plain.trim_end_matches('-');
    if plain.is_empty() { "bike".to_owned() } else { plain.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_has_a_harmless_name() {
        for (name, plain) in [
            ("Heron trail bike, size L", "heron-trail-bike-size-l"),
            ("../../etc/passwd", "etc-passwd"),
            ("\"; filename=\"x\r\ny", "filename-x-y"),
            ("Ä ± ☃", "bike"),
            ("", "bike"),
        ] {
            assert_eq!(plain_name(name), plain);
        }
        assert!(plain_name(&"ab ".repeat(100)).len() <= LONGEST_FILE_NAME);
    }
}
