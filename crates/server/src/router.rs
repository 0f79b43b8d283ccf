//! Addresses and what answers at each.

use std::sync::Arc;

use axum::{
    Router,
    extract::{Form, RawQuery, State},
    http::{StatusCode, Uri, header},
    response::{IntoResponse, Redirect, Response},
    routing::{get, post},
};
use maud::Markup;
use serde::Deserialize;

use crate::{
    Allowance, api, asked::Asked, files, follow, form, guard, mistake::Mistake, on_stand::OnStand, page, told, workshop::Workshop,
};

/// The whole app over a workshop.
pub fn app(workshop: Arc<Workshop>) -> Router {
    app_with(workshop, &Allowance::default())
}

/// The same with another allowance of time.
pub(crate) fn app_with(workshop: Arc<Workshop>, allowance: &Allowance) -> Router {
    let routes = Router::new()
        .route("/", get(start))
        .route("/bench", get(bench))
        .merge(follow::routes(allowance.headers))
        .route("/choose", get(choose))
        .route("/compare", get(compare))
        .route("/write", get(write).post(keep))
        .route("/write/preview", post(preview))
        .route("/aloud", get(aloud))
        .merge(files::routes())
        .route("/api", get(programs))
        .merge(form::routes())
        .merge(api::routes())
        .route("/style.css", get(|| async { asset("text/css; charset=utf-8", page::style()) }))
        .route("/script.js", get(|| async { asset("text/javascript; charset=utf-8", page::SCRIPT.to_owned()) }))
        .route("/healthz", get(|| async { "ok\n" }))
        .fallback(nothing_here);
    guard::guarded(routes.with_state(workshop), allowance)
}

/// The workshop, as handlers ask for it.
pub(crate) type Shop = State<Arc<Workshop>>;

/// Does work that takes a while where it holds nobody up.
pub(crate) async fn aside<T: Send + 'static>(
    State(workshop): Shop,
    RawQuery(query): RawQuery,
    work: impl FnOnce(&Workshop, &str) -> Result<T, Mistake> + Send + 'static,
) -> Result<T, Mistake> {
    let hand = workshop.hands.take().await?;
    let work = move || {
        // Held until the work is done, even if nobody waits for it any more.
        let _hand = hand;
        work(&workshop, query.as_deref().unwrap_or_default())
    };
    tokio::task::spawn_blocking(work).await.unwrap_or_else(|error| Err(Mistake::Program(error.to_string())))
}

/// A page, or the page that says what is wrong.
fn page_or_mistake(made: Result<Markup, Mistake>) -> Response {
    match made {
        Ok(page) => page.into_response(),
        Err(mistake) => mistake.response("/"),
    }
}

async fn start(shop: Shop, query: RawQuery) -> Response {
    page_or_mistake(aside(shop, query, |workshop, _| Ok(page::start(workshop, None))).await)
}

/// A text somebody brings: what the draft became.
#[derive(Deserialize)]
struct Brought {
    #[serde(default)]
    text: String,
}

async fn bench(shop: Shop, query: RawQuery) -> Response {
    let made = aside(shop, query, |workshop, query| {
        let asked = Asked::from_query(query);
        let on_stand = OnStand::new(&asked, workshop)?;
        let answer = on_stand.answer()?;
        Ok(page::bench(&asked, &on_stand, &answer))
    });
    page_or_mistake(made.await)
}

async fn choose(shop: Shop, query: RawQuery) -> Response {
    page_or_mistake(aside(shop, query, page::choose).await)
}

async fn compare(shop: Shop, query: RawQuery) -> Response {
    page_or_mistake(aside(shop, query, page::compare).await)
}

async fn write(shop: Shop, query: RawQuery) -> Response {
    page_or_mistake(aside(shop, query, page::write).await)
}

async fn aloud(shop: Shop, query: RawQuery) -> Response {
    page_or_mistake(aside(shop, query, page::aloud).await)
}

/// What somebody made of the draft goes into the address.
async fn keep(shop: Shop, query: RawQuery, Form(brought): Form<Brought>) -> Response {
    let kept = aside(shop, query, move |workshop, query| told::address_with(workshop, query, &brought.text));
    match kept.await {
        Ok(address) => Redirect::to(&address).into_response(),
        Err(mistake) => page_or_mistake(Err(mistake)),
    }
}

/// How a text looks while it is written.
async fn preview(shop: Shop, query: RawQuery, Form(brought): Form<Brought>) -> Response {
    fragment(aside(shop, query, move |workshop, query| page::preview(workshop, query, &brought.text)).await)
}

/// A part of a page, or what is wrong as plain text.
fn fragment(made: Result<Markup, Mistake>) -> Response {
    match made {
        Ok(fragment) => fragment.into_response(),
        Err(mistake) => words_alone(&mistake),
    }
}

/// What is wrong, for a script to show where it is wrong.
pub(crate) fn words_alone(mistake: &Mistake) -> Response {
    (mistake.status(), [(header::CONTENT_TYPE, "text/plain; charset=utf-8")], mistake.words()).into_response()
}

fn asset(kind: &'static str, text: String) -> Response {
    ([(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, "no-cache")], text).into_response()
}

async fn programs(shop: Shop, query: RawQuery) -> Response {
    page_or_mistake(aside(shop, query, |workshop, _| Ok(page::programs(workshop))).await)
}

async fn nothing_here(address: Uri) -> Response {
    Mistake::of_status(StatusCode::NOT_FOUND).response(address.path())
}
