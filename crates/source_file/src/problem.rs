//! What is wrong, where, and what would be right.

use std::fmt;
use std::ops::Range;

use crate::{SourceFile, render};

/// A stretch of a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// The file.
    pub file: SourceFile,
    /// Bytes within its text.
    pub span: Range<usize>,
    /// Short words beside the caret; may be empty.
    pub label: String,
}

impl Place {
    /// The same place with these words beside its caret.
    #[must_use]
    pub fn label(mut self, label: impl Into<String>) -> Self {
        self.label = label.into();
        self
    }

    /// Line on which the place begins, counted from 1.
    pub fn line(&self) -> usize {
        self.file.line_column(self.span.start).0
    }
}

/// `file:line:column`, all counted from 1.
impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (line, column) = self.file.line_column(self.span.start);
        write!(f, "{}:{line}:{column}", self.file.name())
    }
}

/// One mistake. The message stands alone; the label points; only a help proposes a change; a note adds facts. All are in
/// lower case, without a full stop, with quoted input in backticks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// What is wrong.
    pub message: String,
    /// Where. Nowhere if no file can be shown (it is missing, or the text came from a command line).
    pub place: Option<Box<Place>>,
    /// Further places that belong to it, such as where something was first given.
    pub also: Vec<Place>,
    /// What would be right.
    pub help: Vec<String>,
    /// Facts that explain it.
    pub notes: Vec<String>,
}

impl Problem {
    /// A problem without a place.
    pub fn new(message: impl Into<String>) -> Self {
        Self { message: message.into(), place: None, also: Vec::new(), help: Vec::new(), notes: Vec::new() }
    }

    /// A problem at these bytes of a file.
    pub fn at(file: &SourceFile, span: Range<usize>, message: impl Into<String>) -> Self {
        Self { place: Some(Box::new(file.place(span))), ..Self::new(message) }
    }

    /// Sets the words beside the caret. Does nothing to a problem without a place.
    #[must_use]
    pub fn label(mut self, label: impl Into<String>) -> Self {
        if let Some(place) = &mut self.place {
            place.label = label.into();
        }
        self
    }

    /// Adds a further place.
    #[must_use]
    pub fn also(mut self, place: Place) -> Self {
        self.also.push(place);
        self
    }

    /// Adds a line that says what would be right.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help.push(help.into());
        self
    }

    /// Adds the help if there is one.
    #[must_use]
    pub fn help_if(self, help: Option<impl Into<String>>) -> Self {
        match help {
            Some(help) => self.help(help),
            None => self,
        }
    }

    /// Adds a line of fact.
    #[must_use]
    pub fn note(mut self, note: impl Into<String>) -> Self {
        self.notes.push(note.into());
        self
    }
}

/// Line for line as [`render`] shows it, without colours.
impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(render(&Problems::from(self.clone()), false).trim_end())
    }
}

impl std::error::Error for Problem {}

/// All that was found wrong, in the order it was found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Problems(Vec<Problem>);

impl Problems {
    /// None yet.
    pub const fn new() -> Self {
        Self(Vec::new())
    }

    /// Adds one.
    pub fn push(&mut self, problem: Problem) {
        self.0.push(problem);
    }

    /// True if nothing is wrong.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Each in turn.
    pub fn iter(&self) -> std::slice::Iter<'_, Problem> {
        self.0.iter()
    }

    /// The value, if nothing was wrong on the way to it.
    ///
    /// # Errors
    ///
    /// These problems, if there is one.
    pub fn unless_any<T>(self, value: T) -> Result<T, Self> {
        if self.is_empty() { Ok(value) } else { Err(self) }
    }

    /// The value of a result; its problem is kept here.
    pub fn keep<T>(&mut self, result: Result<T, Problem>) -> Option<T> {
        result.map_err(|problem| self.push(problem)).ok()
    }
}

/// As [`render`] shows them, without colours.
impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(render(self, false).trim_end())
    }
}

impl std::error::Error for Problems {}

impl From<Problem> for Problems {
    fn from(problem: Problem) -> Self {
        Self(vec![problem])
    }
}

impl Extend<Problem> for Problems {
    fn extend<I: IntoIterator<Item = Problem>>(&mut self, problems: I) {
        self.0.extend(problems);
    }
}

impl FromIterator<Problem> for Problems {
    fn from_iter<I: IntoIterator<Item = Problem>>(problems: I) -> Self {
        Self(problems.into_iter().collect())
    }
}

impl IntoIterator for Problems {
    type Item = Problem;
    type IntoIter = std::vec::IntoIter<Problem>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter()
    }
}

impl<'a> IntoIterator for &'a Problems {
    type Item = &'a Problem;
    type IntoIter = std::slice::Iter<'a, Problem>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}
