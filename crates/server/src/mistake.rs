//! The one place that maps what went wrong to an HTTP status, to words for people and to an object for programs (RFC 9457).

use axum::{
    Json,
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};
use schemars::JsonSchema;
use serde::Serialize;
use source_file::{Place, Problem, Problems};
use stand::StandProblem;

use crate::page;

/// Where programs ask: below it a mistake is an object, elsewhere a page.
pub(crate) const PROGRAMS: &str = "/api/";

/// What a mistake's object is sent as.
pub(crate) const PROBLEM: &str = "application/problem+json";

/// Problems that are told one by one. A text with more has usually one cause.
const MOST_TOLD: usize = 50;

/// Why there is no answer.
#[derive(Debug)]
pub(crate) enum Mistake {
    /// What was sent cannot be used: 422.
    Input(Problems),
    /// What is asked for is not here: 404.
    NotFound(Problem),
    /// It cannot be asked so, or not now: the status says in which way.
    Request(StatusCode, Problem),
    /// The program failed: 500.
    Program(String),
}

/// What went wrong, as RFC 9457 has it.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Problem")]
pub(crate) struct Problematic {
    /// Kind of problem: `about:blank`, which says that the status says it.
    #[serde(rename = "type")]
    pub(crate) kind: &'static str,
    /// The status in words.
    pub(crate) title: String,
    /// The status.
    #[schemars(range(min = 400, max = 599))]
    pub(crate) status: u16,
    /// What is wrong, in one sentence.
    pub(crate) detail: String,
    /// All that was found wrong, in the order it was found.
    pub(crate) problems: Vec<Wrong>,
    /// How many further ones were found that are not told.
    pub(crate) not_told: usize,
}

/// One thing that is wrong.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Wrong {
    /// What is wrong.
    pub(crate) message: String,
    /// Text or file in which it stands; `None` if it stands in none. So for the three that follow.
    pub(crate) file: Option<String>,
    /// Line, from 1.
    #[schemars(range(min = 1))]
    pub(crate) line: Option<usize>,
    /// Column, from 1, in characters.
    #[schemars(range(min = 1))]
    pub(crate) column: Option<usize>,
    /// A few words for this place, if any are needed.
    pub(crate) label: Option<String>,
    /// Further places that belong to it, such as where something was first given.
    pub(crate) also: Vec<At>,
    /// What would be right.
    pub(crate) help: Vec<String>,
    /// Facts that explain it.
    pub(crate) notes: Vec<String>,
    /// The same as a terminal shows it: with the line it stands on and a caret.
    pub(crate) shown: String,
}

/// A further place in a text or file.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Place")]
pub(crate) struct At {
    /// Name of the text or file.
    pub(crate) file: String,
    /// Line, from 1.
    #[schemars(range(min = 1))]
    pub(crate) line: usize,
    /// Column, from 1, in characters.
    #[schemars(range(min = 1))]
    pub(crate) column: usize,
    /// A few words for this place; `None` if none are needed.
    pub(crate) label: Option<String>,
}

impl Mistake {
    pub(crate) fn status(&self) -> StatusCode {
        match self {
            Self::Input(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Self::NotFound(_) => StatusCode::NOT_FOUND,
            Self::Request(status, _) => *status,
            Self::Program(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    /// A mistake for a status that something under the program gave without words.
    pub(crate) fn of_status(status: StatusCode) -> Self {
        match status {
            StatusCode::NOT_FOUND => {
                Self::NotFound(Problem::new("there is nothing at this address").help("begin at the first page"))
            }
            StatusCode::METHOD_NOT_ALLOWED => {
                Self::Request(status, Problem::new("this address cannot be asked with this method").help("see `Allow`"))
            }
            StatusCode::SERVICE_UNAVAILABLE => Self::busy(),
            status if status.is_server_error() => Self::Program("the log of the program says more".to_owned()),
            status => {
                let reason = status.canonical_reason().unwrap_or("this cannot be asked");
                Self::Request(status, Problem::new(reason.to_lowercase()))
            }
        }
    }

    /// More is asked than can be worked on.
    pub(crate) fn busy() -> Self {
        let busy = Problem::new("the program has more to do than it can").help("ask again in a moment");
        Self::Request(StatusCode::SERVICE_UNAVAILABLE, busy)
    }

    /// What is wrong, where and what would be right, as the terminal shows it.
    pub(crate) fn words(&self) -> String {
        match self {
            Self::Program(message) => format!("swapstand failed: {message}\n"),
            _ => source_file::render(&self.problems(), false),
        }
    }

    /// Everything that is wrong.
    pub(crate) fn problems(&self) -> Problems {
        match self {
            Self::Input(problems) => problems.clone(),
            Self::NotFound(problem) | Self::Request(_, problem) => problem.clone().into(),
            Self::Program(message) => Problem::new(format!("swapstand failed: {message}")).into(),
        }
    }

    /// The same for a program.
    pub(crate) fn for_programs(&self) -> Problematic {
        let problems = self.problems();
        let all: Vec<&Problem> = problems.iter().collect();
        let status = self.status();
        let others = match all.len() {
            0 | 1 => String::new(),
            2 => ", and one more problem".to_owned(),
            count => format!(", and {} more problems", count - 1),
        };
        Problematic {
            kind: "about:blank",
            title: status.canonical_reason().unwrap_or_default().to_owned(),
            status: status.as_u16(),
            detail: all.first().map(|first| format!("{}{others}", first.message)).unwrap_or_default(),
            not_told: all.len().saturating_sub(MOST_TOLD),
            problems: all.into_iter().take(MOST_TOLD).map(Wrong::of).collect(),
        }
    }

    /// The whole response: an object for a program, a page for a person.
    pub(crate) fn response(&self, path: &str) -> Response {
        if let Self::Program(message) = self {
            tracing::error!(message, "the program failed");
        }
        if path.starts_with(PROGRAMS) {
            let body = Json(self.for_programs());
            return (self.status(), [(header::CONTENT_TYPE, PROBLEM)], body).into_response();
        }
        (self.status(), page::mistake(self)).into_response()
    }
}

impl Wrong {
    fn of(problem: &Problem) -> Self {
        let at = problem.place.as_deref().map(At::of);
        Self {
            message: problem.message.clone(),
            line: at.as_ref().map(|at| at.line),
            column: at.as_ref().map(|at| at.column),
            label: at.as_ref().and_then(|at| at.label.clone()),
            file: at.map(|at| at.file),
            also: problem.also.iter().map(At::of).collect(),
            help: problem.help.clone(),
            notes: problem.notes.clone(),
            shown: problem.to_string(),
        }
    }
}

impl At {
    fn of(place: &Place) -> Self {
        let (line, column) = place.file.line_column(place.span.start);
        let label = Some(place.label.clone()).filter(|label| !label.is_empty());
        Self { file: place.file.name().to_owned(), line, column, label }
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
