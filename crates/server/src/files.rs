//! The sheet and the drawing as files.

use std::sync::Arc;

use axum::{
    Router,
    extract::RawQuery,
    http::header,
    response::{IntoResponse, Response},
    routing::get,
};
use stand::answer::Answer;

use crate::{
    asked::Asked,
    guard,
    mistake::Mistake,
    on_stand::OnStand,
    page,
    router::{Shop, aside},
    told,
    workshop::Workshop,
};

/// Width of a drawing as PNG, pixels: wide enough to print across a page.
const PICTURE_WIDTH: u32 = 1600;

/// Addresses of files.
pub(crate) fn routes() -> Router<Arc<Workshop>> {
    Router::new()
        .route("/sheet.html", get(sheet_html))
        .route("/sheet.pdf", get(sheet_pdf))
        .route("/drawing.svg", get(drawing_svg))
        .route("/drawing.png", get(drawing_png))
}

async fn sheet_html(shop: Shop, query: RawQuery) -> Response {
    let headers = [(header::CONTENT_TYPE, "text/html; charset=utf-8"), (header::CONTENT_SECURITY_POLICY, guard::SHEET)];
    let sheet = made(shop, query, |on_stand, answer| {
        let words = told::words(on_stand, answer);
        Ok(drawing::sheet::sheet(answer, on_stand.units, words.as_ref()).into_bytes())
    });
    match sheet.await {
        Ok(sheet) => (headers, sheet).into_response(),
        Err(mistake) => (mistake.status(), page::mistake(&mistake)).into_response(),
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
        "image/svg+xml",
        made(shop, query, |on_stand, answer| {
            let svg = drawing::picture::svg(answer, on_stand.pose, on_stand.units);
            svg.map(String::into_bytes).map_err(|error| source_file::Problem::new(error.to_string()).into())
        })
        .await,
    )
}

async fn drawing_png(shop: Shop, query: RawQuery) -> Response {
    given(
        "image/png",
        made(shop, query, |on_stand, answer| {
            let png = drawing::picture::png(answer, on_stand.pose, on_stand.units, PICTURE_WIDTH);
            png.map_err(|error| source_file::Problem::new(error.to_string()).into())
        })
        .await,
    )
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
        Ok(bytes) => ([(header::CONTENT_TYPE, kind)], bytes).into_response(),
        Err(mistake) => (mistake.status(), page::mistake(&mistake)).into_response(),
    }
}
