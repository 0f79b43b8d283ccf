//! A bike through a form: nobody has to write TOML.
//!
//! ```text
//! build file ─ document (tree of keys) ─ filled (a text a field) ─▶ page ─▶ browser ─┐
//!    ▲                                                                              │ everything as typed
//!    └── troubles (problems back to their fields) ◀─ bike::read ◀─ document ◀─ filled ◀─┘
//! ```
//!
//! Which fields there are is said by the part kinds ([`fields`]). What is typed becomes a build file and is read like any other; a
//! problem has a place in that file, the place has keys, and the keys are a field.

pub(crate) mod chart;
pub(crate) mod document;
pub(crate) mod fields;
pub(crate) mod filled;
pub(crate) mod sent;
pub(crate) mod trial;
pub(crate) mod troubles;

mod routes;

pub(crate) use routes::routes;
