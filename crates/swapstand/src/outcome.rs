//! The one place that maps failures to what the user reads and to the exit status.

use std::{fmt, io, path::Path};

use source_file::{Problem, Problems, render};
use stand::StandProblem;

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

    /// A bike that cannot be put on the stand: the build file's fault.
    pub(crate) fn stand(build: &Path, problem: &StandProblem) -> Self {
        let shown = Problem::new(problem.to_string()).help_if(problem.help()).note(format!("in {}", build.display()));
        Self::Input(shown.into())
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
