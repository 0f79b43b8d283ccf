//! The heart: assemble a build before and after a swap, take the margins, read the verdict.

pub mod answer;
