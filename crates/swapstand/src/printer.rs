//! The one place that prints: results to standard output, everything else to standard error; a closed pipe is no failure.

use std::io::{self, IsTerminal, Write};

use crate::arguments::Colour;

/// How wide text is set when the terminal does not say.
const PLAIN_WIDTH: usize = 100;
/// Lines longer than this are hard to read, however wide the terminal.
const WIDEST: usize = 110;

/// Prints. Results and messages go through a value of this, so that nothing else in the program prints.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Printer {
    colour_out: bool,
    colour_err: bool,
    width: usize,
}

#[expect(clippy::unused_self, reason = "printing needs a printer, whether or not it looks at it")]
impl Printer {
    pub(crate) fn new(colour: Colour) -> Self {
        let allowed = std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty());
        let wanted = |terminal: bool| match colour {
            Colour::Always => true,
            Colour::Never => false,
            Colour::Auto => allowed && terminal,
        };
        let width = std::env::var("COLUMNS").ok().and_then(|c| c.parse().ok()).or_else(terminal_width).unwrap_or(PLAIN_WIDTH);
        Self {
            colour_out: wanted(io::stdout().is_terminal()),
            colour_err: wanted(io::stderr().is_terminal()),
            width: width.clamp(40, WIDEST),
        }
    }

    /// Columns that text may take.
    pub(crate) fn width(self) -> usize {
        self.width
    }

    /// Whether results carry colour.
    pub(crate) fn colour(self) -> bool {
        self.colour_out
    }

    /// Whether messages carry colour.
    pub(crate) fn colour_of_messages(self) -> bool {
        self.colour_err
    }

    /// A result.
    pub(crate) fn result(self, text: &str) -> io::Result<()> {
        forgiving(io::stdout().lock().write_all(text.as_bytes()))
    }

    /// A message.
    pub(crate) fn message(self, text: &str) -> io::Result<()> {
        forgiving(io::stderr().lock().write_all(text.as_bytes()))
    }
}

/// The reader of a pipe may go when it has seen enough.
fn forgiving(written: io::Result<()>) -> io::Result<()> {
    match written {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        other => other,
    }
}

fn terminal_width() -> Option<usize> {
    io::stdout().is_terminal().then(|| terminal_size::terminal_size().map(|(width, _)| usize::from(width.0))).flatten()
}
