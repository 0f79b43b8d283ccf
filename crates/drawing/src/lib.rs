//! Figures and documents from an answer: side view, gauges, the sheet as HTML and PDF.
//!
//! Nothing is computed here but places on paper: every number shown is in the answer, and units are converted by
//! [`quantity::print`] alone.

pub mod animation;
mod board;
pub mod card;
pub mod gauge;
pub mod ink;
pub mod letters;
pub mod market;
pub mod picture;
pub mod sections;
pub mod sheet;
pub mod sheet_pdf;
pub mod side_view;
mod style;
pub mod svg;
pub mod verdict;
pub mod words;
