//! Text files a person wrote, and what is wrong in them: line, caret, and what would be right.
//!
//! A reader of files goes through them to the end and gathers every [`Problem`] it meets, so that a technician can put
//! all of them right in one go; nothing half-loaded leaves a reader that found one. The steps:
//!
//! 1. [`SourceFile::read`] takes a text file in, or says why it cannot.
//! 2. [`toml_table::parse`] or [`csv_rows::parse`] takes it apart, and keeps the place of every key, value and cell.
//! 3. The caller takes out what it knows by name; wrong types, missing keys and keys nobody asked for become problems.
//! 4. [`render`] shows the problems with the line they stand on.
//!
//! This crate knows nothing of bicycles, units or part kinds: only of texts and places in them.

mod file;
mod problem;
mod render;
mod spelling;
mod text;
mod toml_syntax;

pub mod csv_rows;
pub mod toml_table;

pub use file::{LARGEST_FILE_BYTES, SourceFile};
pub use problem::{Place, Problem, Problems};
pub use render::render;
pub use spelling::{closest, quoted};
pub use text::Text;
