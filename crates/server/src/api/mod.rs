//! The same over JSON: what the pages show, for programs. Numbers are in base units.
//!
//! ```text
//! addresses ─┬─ routes                              query or body ─ question ─ asked (words) ─ on_stand ─ given
//!            ├─ description (OpenAPI 3.1)
//!            └─ page for people
//! ```
//!
//! One list, [`addresses`], makes the routes, their description and the page that tells of them; what an address takes and gives are
//! the types of its handler.

mod addresses;
mod description;
mod given;
mod parameters;
mod question;

use std::sync::Arc;

use axum::Router;

use crate::workshop::Workshop;

pub(crate) use addresses::{Address, Method, Takes, addresses};
pub use description::description;
pub(crate) use parameters::{Example, parameters};

/// Addresses of the API.
pub(crate) fn routes() -> Router<Arc<Workshop>> {
    addresses().into_iter().fold(Router::new(), |router, address| match address.router {
        Some(answers) => router.route(address.path, answers),
        None => router,
    })
}
