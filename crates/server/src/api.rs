//! The same over JSON: what the pages show, for programs. Numbers are in base units.

use std::sync::Arc;

use axum::{
    Json, Router,
    extract::RawQuery,
    response::{IntoResponse, Response},
    routing::get,
};
use serde::Serialize;
use serde_json::json;
use source_file::Problem;

use crate::{
    asked::Asked,
    mistake::Mistake,
    on_stand::{OnStand, slot},
    router::{Shop, aside},
    workshop::Workshop,
};

/// Addresses of the API.
pub(crate) fn routes() -> Router<Arc<Workshop>> {
    Router::new()
        .route("/api/bikes", get(bikes))
        .route("/api/answer", get(answer))
        .route("/api/fits", get(fits))
        .route("/api/parts", get(parts))
}

async fn bikes(shop: Shop, query: RawQuery) -> Response {
    json_or_mistake(
        aside(shop, query, |workshop, _| {
            let list: Vec<_> = workshop.bikes.iter().map(|bike| json!({ "id": bike.id, "name": bike.build.name })).collect();
            Ok(json!({ "bikes": list }))
        })
        .await,
    )
}

async fn answer(shop: Shop, query: RawQuery) -> Response {
    json_or_mistake(aside(shop, query, |workshop, query| OnStand::new(&Asked::from_query(query), workshop)?.answer()).await)
}

async fn fits(shop: Shop, query: RawQuery) -> Response {
    json_or_mistake(
        aside(shop, query, |workshop, query| {
            let slot = slot(&pair(query, "slot")?, workshop.knowledge())?;
            OnStand::new(&Asked::from_query(query), workshop)?.fits(slot)
        })
        .await,
    )
}

async fn parts(shop: Shop, query: RawQuery) -> Response {
    json_or_mistake(
        aside(shop, query, |workshop, query| {
            let knowledge = workshop.knowledge();
            let kind = knowledge.slot_of(slot(&pair(query, "slot")?, knowledge)?).kind;
            let on_stand = OnStand::new(&Asked::from_query(query), workshop)?;
            let list: Vec<_> = on_stand
                .catalogue
                .of_kind(kind)
                .map(|part| {
                    json!({
                        "id": part.id, "name": part.name, "maker": part.maker, "figures": part.figures(knowledge),
                        "price": part.price, "mass_kg": part.mass.map(quantity::Quantity::value),
                    })
                })
                .collect();
            Ok(json!({ "currency": on_stand.catalogue.currency(), "parts": list }))
        })
        .await,
    )
}

/// What an address says of a key that has to be there.
fn pair(query: &str, key: &str) -> Result<String, Mistake> {
    let found = form_urlencoded::parse(query.as_bytes()).find(|pair| pair.0 == key && !pair.1.is_empty());
    found.map(|pair| pair.1.into_owned()).ok_or_else(|| Problem::new(format!("`{key}` is not said")).into())
}

fn json_or_mistake<T: Serialize>(made: Result<T, Mistake>) -> Response {
    match made {
        Ok(value) => Json(value).into_response(),
        Err(mistake) => (mistake.status(), Json(json!({ "problems": mistake.words() }))).into_response(),
    }
}
