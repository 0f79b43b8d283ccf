//! Reading a quantity from text.
//!
//! ```text
//! quantity  = ["~"] amount ["±" number [unit]]      "±" may be written "+-" or "+/-"; "± 1 %" of a length is relative
//! amount    = number [unit] { number unit }         "6 ft 1 in", "13 st 4 lb", "68° 30′"
//! ```
//!
//! Without a unit the base unit of the expected dimension is meant. A stated ± is a limit (rectangular); `~` marks a guess.

use std::{fmt, ops::Range};

use crate::{Dimension, Origin, Quantity, Spread, Unit, unit::UNITS};

/// What a text said.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Written {
    /// The quantity; origin [`Origin::Guess`] if marked so, else [`Origin::MakersSheet`] until the reader knows better.
    pub quantity: Quantity,
    /// The unit it was written in; `None` if none was.
    pub unit: Option<Unit>,
    /// A ± was written.
    pub tolerance_stated: bool,
    /// It was marked as a guess.
    pub guess: bool,
}

/// One way for a text to be wrong.
#[derive(Clone, Debug, PartialEq)]
pub enum QuantityProblem {
    /// Nothing there.
    Empty,
    /// No number where one should be.
    NoNumber,
    /// Something that starts like a number but is none.
    NotANumber,
    /// NaN or infinity, in words or by size.
    NotFinite,
    /// A comma inside the number.
    DecimalComma {
        /// The number with a point.
        with_point: String,
    },
    /// A unit nobody knows.
    UnknownUnit {
        /// As written.
        unit: String,
        /// A known one close to it.
        closest: Option<&'static str>,
    },
    /// A unit of something else.
    WrongDimension {
        /// What was written.
        found: Dimension,
    },
    /// A ± without a number after it.
    NoTolerance,
    /// A negative ±.
    NegativeTolerance,
    /// A ± in another dimension than its value.
    ToleranceDimension {
        /// What was written.
        found: Dimension,
    },
    /// Two units that do not follow each other: `1 in 6 ft`.
    MixedUnits,
    /// Two ±.
    SecondTolerance,
    /// Uncertainty in brackets behind the number: `531(2)`.
    Brackets,
}

/// Why a text is not a quantity, and where in it.
#[derive(Clone, Debug, PartialEq)]
pub struct QuantityError {
    /// What is wrong.
    pub problem: QuantityProblem,
    /// Bytes of the text it is about.
    pub span: Range<usize>,
    /// What was expected.
    pub expected: Dimension,
    /// The number read before the mistake, if any, for the help text.
    number: Option<f64>,
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let expected = self.expected.with_article();
        match &self.problem {
            QuantityProblem::Empty => write!(f, "nothing where {expected} is expected"),
            QuantityProblem::NoNumber | QuantityProblem::NotANumber => write!(f, "no number where {expected} is expected"),
            QuantityProblem::NotFinite => write!(f, "a number without end where {expected} is expected"),
            QuantityProblem::DecimalComma { .. } => write!(f, "a comma inside a number"),
            QuantityProblem::UnknownUnit { unit, .. } => write!(f, "unknown unit `{unit}`"),
            QuantityProblem::WrongDimension { found } => write!(f, "{} where {expected} is expected", found.with_article()),
            QuantityProblem::NoTolerance => write!(f, "no number after the ±"),
            QuantityProblem::NegativeTolerance => write!(f, "a tolerance below zero"),
            QuantityProblem::ToleranceDimension { found } => {
                write!(f, "{} as the tolerance of {expected}", found.with_article())
            }
            QuantityProblem::MixedUnits => write!(f, "units that do not follow each other"),
            QuantityProblem::SecondTolerance => write!(f, "a second tolerance"),
            QuantityProblem::Brackets => write!(f, "an uncertainty in brackets"),
        }
    }
}

impl std::error::Error for QuantityError {}

impl QuantityError {
    /// A few words to stand under the caret.
    pub fn label(&self) -> String {
        let expected = self.expected.with_article();
        match &self.problem {
            QuantityProblem::Empty
            | QuantityProblem::NoNumber
            | QuantityProblem::NotANumber
            | QuantityProblem::WrongDimension { .. } => format!("expected {expected}"),
            QuantityProblem::NotFinite => "not a finite number".to_owned(),
            QuantityProblem::DecimalComma { .. } => "point or thousands?".to_owned(),
            QuantityProblem::UnknownUnit { .. } => "no such unit".to_owned(),
            QuantityProblem::NoTolerance => "how much?".to_owned(),
            QuantityProblem::NegativeTolerance => "must be zero or more".to_owned(),
            QuantityProblem::ToleranceDimension { .. } => format!("expected {expected} or %"),
            QuantityProblem::MixedUnits => "larger unit first, each once".to_owned(),
            QuantityProblem::SecondTolerance => "only one".to_owned(),
            QuantityProblem::Brackets => "expected ±".to_owned(),
        }
    }

    /// What would be right.
    pub fn help(&self) -> Option<String> {
        let unit = self.expected.base_symbol();
        let example = match self.number {
            Some(number) if !unit.is_empty() => format!("{number} {unit}"),
            _ => self.expected.example().to_owned(),
        };
        Some(match &self.problem {
            QuantityProblem::DecimalComma { with_point } => {
                format!("write `{with_point}`, with a decimal point and no thousands mark")
            }
            QuantityProblem::UnknownUnit { closest: Some(closest), .. } => format!("did you mean `{closest}`?"),
            QuantityProblem::UnknownUnit { closest: None, .. } => {
                let known: Vec<&str> = UNITS
                    .iter()
                    .filter(|u| u.dimension() == self.expected && !u.symbol().is_empty())
                    .map(|u| u.symbol())
                    .collect();
                if known.is_empty() {
                    "write the bare number".to_owned()
                } else {
                    format!("units of {}: {}", self.expected.with_article(), known.join(", "))
                }
            }
            QuantityProblem::WrongDimension { .. } => format!("write it like `{}`", self.expected.example()),
            QuantityProblem::NoTolerance
            | QuantityProblem::NegativeTolerance
            | QuantityProblem::ToleranceDimension { .. }
            | QuantityProblem::SecondTolerance
            | QuantityProblem::Brackets => {
                let (number, unit) = example.split_once(' ').unwrap_or((&example, ""));
                format!("write it like `{number} ± 2 {unit}`").replace(" `", "`").replace("like`", "like `")
            }
            QuantityProblem::MixedUnits => "write it like `6 ft 1 in` or `13 st 4 lb`".to_owned(),
            QuantityProblem::Empty | QuantityProblem::NoNumber | QuantityProblem::NotANumber | QuantityProblem::NotFinite => {
                format!("write it like `{example}`")
            }
        })
    }
}

/// Reads a quantity.
///
/// # Errors
/// [`QuantityError`], one kind for each way a text can be wrong.
///
/// ```
/// use quantity::{Dimension, parse};
/// let written = parse("20.9 in ± 2 mm", Dimension::Length)?;
/// assert!((written.quantity.value() - 530.86).abs() < 1e-9);
/// assert_eq!(written.quantity.spread().plus_minus(), 2.0);
/// # Ok::<(), quantity::QuantityError>(())
/// ```
pub fn parse(text: &str, expected: Dimension) -> Result<Written, QuantityError> {
    Reader { text, at: 0, expected, number: None }.read()
}

/// A number and the unit behind it.
struct Amount {
    value: f64,
    unit: Option<Unit>,
    unit_span: Range<usize>,
    span: Range<usize>,
}

struct Reader<'t> {
    text: &'t str,
    at: usize,
    expected: Dimension,
    number: Option<f64>,
}

/// Texts that announce a tolerance.
const PLUS_MINUS: [&str; 4] = ["±", "+/-", "+-", "+/−"];

impl Reader<'_> {
    fn read(mut self) -> Result<Written, QuantityError> {
        self.skip_space();
        if self.rest().is_empty() {
            return Err(self.problem(QuantityProblem::Empty, 0..self.text.len()));
        }
        let guess = self.eat("~");
        self.skip_space();
        let mut amounts = vec![self.amount()?];
        self.number = Some(amounts[0].value);
        let mut tolerance = None;
        while !self.rest().is_empty() {
            let mark = self.at;
            if PLUS_MINUS.iter().any(|p| self.rest().starts_with(p)) {
                if tolerance.is_some() {
                    return Err(self.problem(QuantityProblem::SecondTolerance, mark..self.text.len()));
                }
                tolerance = Some(self.tolerance()?);
            } else if tolerance.is_some() {
                return Err(self.problem(QuantityProblem::MixedUnits, mark..self.text.trim_end().len()));
            } else {
                amounts.push(self.amount()?);
            }
        }
        self.assemble(&amounts, tolerance, guess)
    }

    /// Puts the pieces together in the base unit.
    fn assemble(&self, amounts: &[Amount], tolerance: Option<Amount>, guess: bool) -> Result<Written, QuantityError> {
        let first = &amounts[0];
        // `531 ± 2 mm`: the unit behind the tolerance is meant for both, unless it is a relative tolerance.
        let borrowed = tolerance
            .as_ref()
            .and_then(|t| t.unit)
            .filter(|u| u.dimension() != Dimension::Share || self.expected == Dimension::Share);
        let unit = first.unit.or(if amounts.len() == 1 { borrowed } else { None });
        let mut base = 0.0;
        let mut last: Option<Unit> = None;
        for (i, amount) in amounts.iter().enumerate() {
            let written = if i == 0 { unit } else { amount.unit };
            let known = match written {
                Some(known) => known,
                None if amounts.len() == 1 => Unit::base(self.expected),
                None => return Err(self.problem(QuantityProblem::MixedUnits, amount.span.clone())),
            };
            if known.dimension() != self.expected && !(i > 0 && known.symbol() == "ft" && self.expected == Dimension::Angle) {
                let span = if amount.unit.is_some() { amount.unit_span.clone() } else { amount.span.clone() };
                return Err(self.problem(QuantityProblem::WrongDimension { found: known.dimension() }, span));
            }
            // `68° 30'`: behind degrees the apostrophe is a minute of arc.
            let known = if i > 0 && known.symbol() == "ft" && self.expected == Dimension::Angle {
                Unit::named("arcmin").unwrap_or(known)
            } else {
                known
            };
            if let Some(before) = last
                && (known.difference_to_base(1.0) >= before.difference_to_base(1.0) || amount.value.is_sign_negative())
            {
                return Err(self.problem(QuantityProblem::MixedUnits, amount.span.clone()));
            }
            let value = known.to_base(amount.value);
            base += if i > 0 && first.value.is_sign_negative() { -value } else { value };
            last = Some(known);
        }
        let unit_meant = last.unwrap_or(Unit::base(self.expected));
        let spread = match tolerance {
            None => Spread::Exact,
            Some(t) => {
                let relative = t.unit.is_some_and(|u| u.dimension() == Dimension::Share) && self.expected != Dimension::Share;
                let in_unit = t.unit.unwrap_or(unit_meant);
                if !relative && in_unit.dimension() != self.expected {
                    return Err(self.problem(QuantityProblem::ToleranceDimension { found: in_unit.dimension() }, t.unit_span));
                }
                if t.value.is_sign_negative() && t.value != 0.0 {
                    return Err(self.problem(QuantityProblem::NegativeTolerance, t.span));
                }
                let half_width = if relative { (base * t.value / 100.0).abs() } else { in_unit.difference_to_base(t.value) };
                if half_width == 0.0 { Spread::Exact } else { Spread::Limits(half_width) }
            }
        };
        if !base.is_finite() || !spread.plus_minus().is_finite() {
            return Err(self.problem(QuantityProblem::NotFinite, first.span.clone()));
        }
        let origin = if guess { Origin::Guess } else { Origin::MakersSheet };
        Ok(Written {
            quantity: Quantity::new(base, self.expected, spread, origin),
            unit,
            tolerance_stated: tolerance_written(self.text),
            guess,
        })
    }

    fn tolerance(&mut self) -> Result<Amount, QuantityError> {
        let mark = self.at;
        for sign in PLUS_MINUS {
            if self.eat(sign) {
                break;
            }
        }
        let behind_sign = self.at;
        self.skip_space();
        if self.rest().is_empty() {
            return Err(self.problem(QuantityProblem::NoTolerance, mark..behind_sign));
        }
        self.amount().map_err(|error| match error.problem {
            QuantityProblem::NoNumber => self.problem(QuantityProblem::NoTolerance, mark..behind_sign),
            _ => error,
        })
    }

    /// A number and, up to the next number or ±, its unit.
    fn amount(&mut self) -> Result<Amount, QuantityError> {
        let start = self.at;
        let value = self.number()?;
        let number_end = self.at;
        self.skip_space();
        let unit_start = self.at;
        let length = self.unit_length();
        let name = self.rest()[..length].trim_end();
        let unit_span = unit_start..unit_start + name.len();
        let unit = if name.is_empty() { None } else { Some(self.unit(name, unit_span.clone())?) };
        self.at = unit_start + length;
        self.skip_space();
        let end = if unit.is_some() { unit_span.end } else { number_end };
        Ok(Amount { value, unit, unit_span, span: start..end })
    }

    /// Bytes up to the next number (a digit after a space or directly after a mark such as ° or ') or ±.
    fn unit_length(&self) -> usize {
        let rest = self.rest();
        let mut before = ' ';
        for (i, c) in rest.char_indices() {
            let tolerance = PLUS_MINUS.iter().any(|p| rest[i..].starts_with(p));
            let number = c.is_ascii_digit() && !before.is_alphabetic() || matches!(c, '-' | '−' | '+') && before == ' ';
            if tolerance || number {
                return i;
            }
            before = c;
        }
        rest.len()
    }

    fn unit(&self, name: &str, span: Range<usize>) -> Result<Unit, QuantityError> {
        if name.starts_with('(') {
            return Err(self.problem(QuantityProblem::Brackets, span));
        }
        if name.starts_with(',') {
            // The number, the comma and the digits behind it.
            let digits = self.text[span.start + 1..].chars().take_while(char::is_ascii_digit).count();
            let number_start = self.text[..span.start]
                .trim_end()
                .rfind(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))
                .map_or(0, |i| i + 1);
            let whole = self.text[number_start..span.start].trim_end().to_owned();
            let behind = &self.text[span.start + 1..span.start + 1 + digits];
            let with_point = if behind.is_empty() { whole } else { format!("{whole}.{behind}") };
            return Err(self.problem(QuantityProblem::DecimalComma { with_point }, span.start..span.start + 1));
        }
        // `m` is a metre; `68.5 °` and `68.5 deg` alike; a torque may be written with a space or without.
        let single = name.split_whitespace().collect::<Vec<_>>().join(" ");
        if let Some(unit) = Unit::named(&single) {
            if unit.symbol().is_empty() && self.expected != unit.dimension() {
                return Err(self.problem(QuantityProblem::WrongDimension { found: unit.dimension() }, span));
            }
            return Ok(unit);
        }
        let closest = closest_unit(&single, self.expected);
        Err(self.problem(QuantityProblem::UnknownUnit { unit: single, closest }, span))
    }

    fn number(&mut self) -> Result<f64, QuantityError> {
        let rest = self.rest();
        let lower = rest.to_lowercase();
        for word in ["nan", "infinity", "inf", "+inf", "-inf", "∞", "-∞", "-nan", "+nan"] {
            if lower.starts_with(word) && !lower[word.len()..].starts_with(char::is_alphabetic) {
                return Err(self.problem(QuantityProblem::NotFinite, self.at..self.at + word.len()));
            }
        }
        let mut digits = String::new();
        let mut seen_digit = false;
        let mut length = 0;
        let mut characters = rest.char_indices().peekable();
        while let Some((i, c)) = characters.next() {
            let take = match c {
                '+' | '-' | '−' => i == 0 || digits.ends_with('e'),
                '0'..='9' => true,
                '.' => !digits.contains(['.', 'e']),
                'e' | 'E' => {
                    seen_digit
                        && !digits.contains('e')
                        && characters.peek().is_some_and(|(_, next)| next.is_ascii_digit() || matches!(next, '-' | '−' | '+'))
                }
                _ => false,
            };
            if !take {
                break;
            }
            seen_digit |= c.is_ascii_digit();
            digits.push(match c {
                '−' => '-',
                'E' => 'e',
                other => other,
            });
            length = i + c.len_utf8();
        }
        if !seen_digit {
            let word = rest.split_whitespace().next().map_or(rest.len(), str::len).max(length);
            return Err(self.problem(QuantityProblem::NoNumber, self.at..self.at + word));
        }
        // A second point: `1.2.3`.
        if rest[length..].starts_with('.') {
            let word = rest.split_whitespace().next().map_or(rest.len(), str::len);
            return Err(self.problem(QuantityProblem::NotANumber, self.at..self.at + word));
        }
        let span = self.at..self.at + length;
        let value: f64 = digits.parse().map_err(|_| self.problem(QuantityProblem::NotANumber, span.clone()))?;
        if !value.is_finite() {
            return Err(self.problem(QuantityProblem::NotFinite, span));
        }
        self.at += length;
        Ok(value)
    }

    fn rest(&self) -> &str {
        &self.text[self.at..]
    }

    fn skip_space(&mut self) {
        self.at += self.rest().len() - self.rest().trim_start().len();
    }

    fn eat(&mut self, text: &str) -> bool {
        let there = self.rest().starts_with(text);
        if there {
            self.at += text.len();
        }
        there
    }

    fn problem(&self, problem: QuantityProblem, span: Range<usize>) -> QuantityError {
        QuantityError { problem, span, expected: self.expected, number: self.number }
    }
}

fn tolerance_written(text: &str) -> bool {
    PLUS_MINUS.iter().any(|p| text.contains(p))
}

/// A unit of the expected dimension that differs by one letter, or has this as its beginning.
fn closest_unit(name: &str, expected: Dimension) -> Option<&'static str> {
    let lower = name.to_lowercase();
    UNITS
        .iter()
        .filter(|u| u.dimension() == expected && !u.symbol().is_empty())
        .flat_map(|u| std::iter::once(u.symbol()).chain(u.names.iter().copied()).map(move |n| (u.symbol(), n)))
        .filter(|(_, n)| n.chars().count() > 1 && one_letter_apart(&lower, &n.to_lowercase()))
        .map(|(symbol, _)| symbol)
        .next()
}

/// Whether one letter changed, added or left out makes `a` into `b`.
fn one_letter_apart(a: &str, b: &str) -> bool {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let same_start = a.iter().zip(&b).take_while(|(x, y)| x == y).count();
    let same_end = a[same_start..].iter().rev().zip(b[same_start..].iter().rev()).take_while(|(x, y)| x == y).count();
    a.len().max(b.len()) - same_start - same_end <= 1
}
