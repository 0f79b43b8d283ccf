//! Sheet, drawing, card and animation as files.
//!
//! Asked for as a bench is; card and animation know one key more, `paper=dark`.

use std::sync::Arc;

use axum::{
    Router,
    extract::RawQuery,
    http::header,
    response::{IntoResponse, Response},
    routing::get,
};
use drawing::{ink::Paper, picture::PictureError};
use stand::answer::Answer;

use crate::{
    asked::Asked,
    guard,
    mistake::Mistake,
    on_stand::OnStand,
    router::{Shop, aside},
    told,
    workshop::Workshop,
};

/// Width of a drawing as PNG, pixels: wide enough to print across a page.
const PICTURE_WIDTH: u32 = 1600;

const SVG: &str = "image/svg+xml";

/// Addresses of files.
pub(crate) fn routes() -> Router<Arc<Workshop>> {
    Router::new()
        .route("/sheet.html", get(sheet_html))
        .route("/sheet.pdf", get(sheet_pdf))
        .route("/drawing.svg", get(drawing_svg))
        .route("/drawing.png", get(drawing_png))
        .route("/card.svg", get(card_svg))
        .route("/card.png", get(card_png))
        .route("/animation.svg", get(animation_svg))
        .route("/animation.png", get(animation_png))
}

async fn sheet_html(shop: Shop, query: RawQuery) -> Response {
    let headers = [(header::CONTENT_TYPE, "text/html; charset=utf-8"), (header::CONTENT_SECURITY_POLICY, guard::ALONE)];
    let sheet = made(shop, query, |on_stand, answer| {
        let words = told::words(on_stand, answer);
        Ok(drawing::sheet::sheet(answer, on_stand.units, words.as_ref()).into_bytes())
    });
    match sheet.await {
        Ok(sheet) => (headers, sheet).into_response(),
        Err(mistake) => mistake.response("/"),
    }
}

async fn sheet_pdf(shop: Shop, query: RawQuery) -> Response {
    given(
        "application/pdf",
        made(shop, query, |on_stand, answer| {
            let words = told::words(on_stand, answer);
            drawing::sheet_pdf::sheet_pdf(answer, on_stand.units, words.as_ref())
                .map_err(|error| Mistake::Program(error.to_string()))
        })
        .await,
    )
}

async fn drawing_svg(shop: Shop, query: RawQuery) -> Response {
    given(
        SVG,
        made(shop, query, |on_stand, answer| {
            let svg = drawing::picture::svg(answer, on_stand.pose, on_stand.units);
            svg.map(String::into_bytes).map_err(|error| no_picture(&error))
        })
        .await,
    )
}

async fn drawing_png(shop: Shop, query: RawQuery) -> Response {
    given(
        "image/png",
        made(shop, query, |on_stand, answer| {
            let png = drawing::picture::png(answer, on_stand.pose, on_stand.units, PICTURE_WIDTH);
            png.map_err(|error| no_picture(&error))
        })
        .await,
    )
}

async fn card_svg(shop: Shop, query: RawQuery) -> Response {
    let paper = paper(&query);
    given(
        SVG,
        made(shop, query, move |on_stand, answer| {
            Ok(drawing::card::svg(answer, on_stand.pose, on_stand.units, paper).into_bytes())
        })
        .await,
    )
}

async fn card_png(shop: Shop, query: RawQuery) -> Response {
    let paper = paper(&query);
    given(
        "image/png",
        made(shop, query, move |on_stand, answer| {
            drawing::card::png(answer, on_stand.pose, on_stand.units, paper).map_err(|error| no_picture(&error))
        })
        .await,
    )
}

async fn animation_svg(shop: Shop, query: RawQuery) -> Response {
    let paper = paper(&query);
    given(
        SVG,
        made(shop, query, move |on_stand, answer| {
            let svg = drawing::animation::svg(answer, on_stand.pose, on_stand.units, paper);
            svg.map(String::into_bytes).map_err(|error| no_picture(&error))
        })
        .await,
    )
}

async fn animation_png(shop: Shop, query: RawQuery) -> Response {
    let paper = paper(&query);
    given(
        "image/png",
        made(shop, query, move |on_stand, answer| {
            drawing::animation::png(answer, on_stand.pose, on_stand.units, paper).map_err(|error| no_picture(&error))
        })
        .await,
    )
}

/// What a picture is to be looked at on.
fn paper(RawQuery(query): &RawQuery) -> Paper {
    let pairs = form_urlencoded::parse(query.as_deref().unwrap_or_default().as_bytes());
    match pairs.filter(|(key, _)| key == "paper").last() {
        Some((_, value)) if value == "dark" => Paper::Dark,
        _ => Paper::Light,
    }
}

/// Why there is no picture, as whoever asked is told it.
fn no_picture(error: &PictureError) -> Mistake {
    match error {
        PictureError::Render(_) => Mistake::Program(error.to_string()),
        PictureError::NoView(_) | PictureError::Width(_) => source_file::Problem::new(error.to_string()).into(),
    }
}

async fn made(
    shop: Shop,
    query: RawQuery,
    make: impl FnOnce(&OnStand<'_>, &Answer) -> Result<Vec<u8>, Mistake> + Send + 'static,
) -> Result<Vec<u8>, Mistake> {
    aside(shop, query, |workshop, query| {
        let on_stand = OnStand::new(&Asked::from_query(query), workshop)?;
        make(&on_stand, &on_stand.answer()?)
    })
    .await
}

fn given(kind: &'static str, file: Result<Vec<u8>, Mistake>) -> Response {
    match file {
        // A picture opened by itself is a document: its own style, no script.
        Ok(bytes) if kind == SVG => {
            ([(header::CONTENT_TYPE, kind), (header::CONTENT_SECURITY_POLICY, guard::ALONE)], bytes).into_response()
        }
        Ok(bytes) => ([(header::CONTENT_TYPE, kind)], bytes).into_response(),
        Err(mistake) => mistake.response("/"),
    }
}
