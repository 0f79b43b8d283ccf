//! The answer as a text a rider reads: drafted from an [`Answer`](stand::answer::Answer), edited by a technician, read aloud.
//!
//! ```text
//! Answer ─ figures (every number by name) ─ draft (paragraphs in CommonMark, each number a link to its name)
//!                                             │ a technician edits it
//!          figures of another Answer ─ kept ──┴─ the same text with today's numbers, changed ones marked
//!                                             └─ text (blocks and runs, for whoever lays it out) ─ aloud (words to say, and how long)
//! ```
//!
//! Nothing is computed here: a number is printed from the answer, with the digits its tolerance carries.

pub mod aloud;
pub mod draft;
pub mod figures;
pub mod kept;
mod prose;
pub mod text;

pub use draft::{Draft, Paragraph, draft};
pub use figures::Figures;
pub use kept::{Kept, Refreshed};
pub use text::Text;
