//! The one place that maps what went wrong to an HTTP status and to words.

use axum::http::StatusCode;
use source_file::{Problem, Problems};
use stand::StandProblem;

/// Why there is no answer.
#[derive(Debug)]
pub(crate) enum Mistake {
    /// What was sent cannot be used: 422.
    Input(Problems),
    /// What is asked for is not here: 404.
    NotFound(Problem),
    /// The program failed: 500.
    Program(String),
}

impl Mistake {
    pub(crate) fn status(&self) -> StatusCode {
        match self {
            Self::Input(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Self::NotFound(_) => StatusCode::NOT_FOUND,
            Self::Program(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    /// What is wrong, where and what would be right, as the terminal shows it.
    pub(crate) fn words(&self) -> String {
        match self {
            Self::Input(problems) => source_file::render(problems, false),
            Self::NotFound(problem) => source_file::render(&problem.clone().into(), false),
            Self::Program(message) => format!("swapstand failed: {message}\n"),
        }
    }
}

impl From<Problems> for Mistake {
    fn from(problems: Problems) -> Self {
        Self::Input(problems)
    }
}

impl From<Problem> for Mistake {
    fn from(problem: Problem) -> Self {
        Self::Input(problem.into())
    }
}

impl From<StandProblem> for Mistake {
    fn from(problem: StandProblem) -> Self {
        Self::Input(Problem::new(problem.to_string()).help_if(problem.help()).into())
    }
}
