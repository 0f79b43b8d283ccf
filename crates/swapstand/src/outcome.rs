//! The one place that maps failures to what the user reads and to the exit status.

use std::{fmt, io, path::Path};

use bike::Build;
use source_file::{Problem, Problems, SourceFile, render};
use stand::{Stand, StandProblem};

/// Why there is no answer.
#[derive(Debug)]
pub(crate) enum Failure {
    /// The input is wrong: status 2.
    Input(Problems),
    /// The program failed: status 1.
    Program(String),
}

impl Failure {
    pub(crate) fn status(&self) -> u8 {
        match self {
            Self::Input(_) => 2,
            Self::Program(_) => 1,
        }
    }

    pub(crate) fn render(&self, colour: bool) -> String {
        match self {
            Self::Input(problems) => render(problems, colour),
            Self::Program(message) => format!("swapstand failed: {message}\n"),
        }
    }

    /// A bike that cannot be put on the stand: the fault of its file, shown at the number it is about.
    pub(crate) fn stand(path: &Path, stand: &Stand, build: &Build, problem: &StandProblem) -> Self {
        let pointed = stand.place_of(problem, build).and_then(|at| {
            let file = SourceFile::read(Path::new(&*at.file)).ok()?;
            let line = usize::try_from(at.line).ok()?.checked_sub(1)?;
            let start: usize = file.text().split_inclusive('\n').take(line).map(str::len).sum();
            let written = file.text()[start..].lines().next()?.trim_end();
            let indent = written.len() - written.trim_start().len();
            Some(Problem::at(&file, start + indent..start + written.len(), problem.to_string()))
        });
        let shown = pointed.unwrap_or_else(|| Problem::new(problem.to_string()).note(format!("in {}", path.display())));
        Self::Input(shown.help_if(problem.help()).into())
    }

    /// The knowledge lacks what the mechanics need.
    pub(crate) fn knowledge(problem: &StandProblem) -> Self {
        Self::Input(Problem::new(problem.to_string()).help_if(problem.help()).into())
    }

    /// A file that cannot be written.
    pub(crate) fn cannot_write(path: &Path, error: &io::Error) -> Self {
        let message = format!("cannot write `{}`: {error}", path.display());
        Self::Input(Problem::new(message).help("name a file in a folder that exists and may be written").into())
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.render(false))
    }
}

impl From<Problems> for Failure {
    fn from(problems: Problems) -> Self {
        Self::Input(problems)
    }
}

impl From<Problem> for Failure {
    fn from(problem: Problem) -> Self {
        Self::Input(problem.into())
    }
}

impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Self {
        Self::Program(error.to_string())
    }
}
