//! What a part is: parts, slots, builds, swaps and catalogues, read from files and written back.
//!
//! | module | subject |
//! |---|---|
//! | [`value`] | what is stated about a thing, and where it was written |
//! | [`part`] | a part, and its figures in a few words |
//! | [`catalogue`] | parts to choose from |
//! | [`build`] | one bicycle, and what is to change on it |
//! | [`read`] | files and command-line arguments into these; all that is wrong with them at once |
//! | [`mod@write`] | a build as a file that reads back equal |
//! | [`schema`] | JSON Schemas of the files, for editors |
//!
//! This crate knows what a part *is*, never what it *does*: which attributes a part of a kind has is said by the part kinds of
//! `knowledge`; what follows from them is computed elsewhere.

mod kinds;

pub mod value;

pub mod part;

pub mod catalogue;

pub mod build;

pub mod read;

pub mod write;

pub mod schema;

pub use build::{Build, Swap};
pub use catalogue::Catalogue;
pub use part::{Condition, Part};
pub use value::{Named, Stated, Value, Values, WrittenAt};
pub use write::write_build;
