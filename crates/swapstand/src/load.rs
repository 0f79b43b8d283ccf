//! Loading what a command works on.

use std::path::Path;

use knowledge::Knowledge;

use crate::outcome::Failure;

/// The built-in knowledge, or that of a folder over it.
pub(crate) fn knowledge(folder: Option<&Path>) -> Result<Knowledge, Failure> {
    Ok(match folder {
        Some(folder) => Knowledge::load(folder)?,
        None => Knowledge::embedded()?,
    })
}
