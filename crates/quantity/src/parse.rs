//! Reading a quantity from text.
//!
//! ```text
//! quantity  = ["~" | "≈"] amount { amount } ["±" number [unit]]
//! amount    = number [unit]                     more than one only in units that follow each other: "6 ft 1 in", "68° 30′"
//! number    = ["+" | "-" | "−"] digits ["." digits] ["e" [sign] digits]
//!           | [digits (" " | "-")] digits "/" digits          of a length only: "1 1/8 in"
//! "±"       = "±" | "+-" | "+/-"
//! ```
//!
//! - Without a unit the base unit of the expected dimension is meant; a unit behind the ± holds for both (`531 ± 2 mm`).
//! - A stated ± a is a limit: a rectangular distribution of half width a ([`Spread::Limits`]). `± 1 %` of anything but a share or a
//!   temperature is relative to the value.
//! - Tolerances are differences: 50 ± 9 °F are 10 ± 5 °C.
//! - `~` marks a guess.
//! - Units follow each other if the first makes a whole number of the next (12 in to the foot, 14 lb to the stone); all but the last
//!   amount are whole, and none but the first makes a whole one of the unit before it. A minus in front holds for all of them.

use std::ops::Range;

use crate::problem::{QuantityError, QuantityProblem};
use crate::scan::{Amount, Fault, Scanner, decimal};
use crate::{Dimension, Origin, Quantity, Spread, Unit};

/// What a text said.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Written {
    /// The quantity; origin [`Origin::Guess`] if marked so, else [`Origin::MakersSheet`] until the reader knows better.
    pub quantity: Quantity,
    /// The unit it was written in (the largest of several); `None` if none was.
    pub unit: Option<Unit>,
    /// A ± was written, be it zero.
    pub tolerance_stated: bool,
    /// It was marked as a guess.
    pub guess: bool,
}

/// Reads a quantity.
///
/// # Errors
/// [`QuantityError`], with one [`QuantityProblem`] for each way a text can be wrong. The first mistake in the text is reported.
///
/// # Examples
/// ```
/// use quantity::{Dimension, Spread, parse};
/// let written = parse("20.9 in ± 2 mm", Dimension::Length)?;
/// assert!((written.quantity.value() - 530.86).abs() < 1e-9);
/// assert_eq!(written.quantity.spread(), Spread::Limits(2.0));
///
/// let error = parse("531,5 mm", Dimension::Length).unwrap_err();
/// assert_eq!(error.to_string(), "a comma inside a number");
/// assert_eq!(error.help().as_deref(), Some("write \"531.5 mm\""));
/// assert_eq!(error.span, 3..4);
/// # Ok::<(), quantity::QuantityError>(())
/// ```
pub fn parse(text: &str, expected: Dimension) -> Result<Written, QuantityError> {
    Reader::new(text, expected).read().map_err(|Fault { problem, span, corrected }| {
        // A proposal that would be refused in its turn is worse than none.
        let corrected = corrected.filter(|text| Reader::new(text, expected).read().is_ok());
        QuantityError { problem, span, expected, corrected }
    })
}

/// Words for a guess, which `~` marks.
const ABOUT: [&str; 9] = ["about", "approximately", "approx.", "approx", "around", "roughly", "circa", "ca.", "c."];

/// Units often written for another: what is written, what is expected, what is meant.
const TAKEN_FOR: [(&str, Dimension, &str); 7] = [
    ("kg", Dimension::Force, "kgf"),
    ("lb", Dimension::Force, "lbf"),
    ("lb", Dimension::Stiffness, "lb/in"),
    ("lbf", Dimension::Stiffness, "lb/in"),
    ("N", Dimension::Stiffness, "N/mm"),
    ("N", Dimension::Torque, "N m"),
    ("km", Dimension::Speed, "km/h"),
];

struct Reader<'t> {
    scanner: Scanner<'t>,
    expected: Dimension,
}

impl<'t> Reader<'t> {
    fn new(text: &'t str, expected: Dimension) -> Self {
        Self { scanner: Scanner::new(text, expected), expected }
    }

    fn read(mut self) -> Result<Written, Fault> {
        self.scanner.skip_space();
        if self.scanner.rest().is_empty() {
            return Err(Fault::new(QuantityProblem::Empty, 0..self.scanner.text().len()));
        }
        self.refuse_guess_in_words()?;
        let guess = self.scanner.eat("~") || self.scanner.eat("≈");
        self.scanner.skip_space();
        let mut amounts = vec![self.scanner.amount()?];
        let mut tolerance: Option<Amount> = None;
        while !self.scanner.rest().is_empty() {
            if let Some(mark) = self.scanner.plus_minus() {
                let read = self.tolerance(&mark)?;
                if tolerance.is_some() {
                    let corrected = self.scanner.text()[..mark.start].trim().to_owned();
                    return Err(Fault::new(QuantityProblem::SecondTolerance, mark.start..read.span().end).corrected(corrected));
                }
                tolerance = Some(read);
            } else if tolerance.is_none() && self.scanner.rest().starts_with(|c: char| c.is_ascii_digit()) {
                amounts.push(self.scanner.amount()?);
            } else {
                return Err(self.left_over(&amounts, tolerance.is_some()));
            }
        }
        self.assemble(&amounts, tolerance.as_ref(), guess)
    }

    /// `about 531 mm` is refused; the help says how a guess is marked.
    fn refuse_guess_in_words(&self) -> Result<(), Fault> {
        let rest = self.scanner.rest();
        let is_there = |word: &&str| rest.get(..word.len()).is_some_and(|start| start.eq_ignore_ascii_case(word));
        let Some(word) = ABOUT.into_iter().find(is_there).filter(|word| !rest[word.len()..].starts_with(char::is_alphabetic))
        else {
            return Ok(());
        };
        let span = self.scanner.at()..self.scanner.at() + word.len();
        let corrected = format!("~{}", rest[word.len()..].trim());
        Err(Fault::new(QuantityProblem::GuessInWords { word: rest[..word.len()].to_owned() }, span).corrected(corrected))
    }

    /// The number behind a ± that stands at `mark`.
    fn tolerance(&mut self, mark: &Range<usize>) -> Result<Amount, Fault> {
        self.scanner.skip_space();
        let missing = || Fault::new(QuantityProblem::NoTolerance, mark.clone());
        if self.scanner.rest().is_empty() {
            return Err(missing());
        }
        let amount = self.scanner.amount().map_err(|fault| match fault.problem {
            QuantityProblem::NoNumber => missing(),
            _ => fault,
        })?;
        if amount.value < 0.0 {
            let corrected = self.scanner.with(&amount.number_span, &decimal(-amount.value));
            return Err(Fault::new(QuantityProblem::NegativeTolerance, amount.number_span).corrected(corrected));
        }
        Ok(amount)
    }

    /// What stands behind the amounts and belongs to no quantity: a range, an uneven tolerance, brackets, anything.
    fn left_over(&self, amounts: &[Amount], toleranced: bool) -> Fault {
        let span = self.scanner.left_over();
        if !toleranced
            && let [only] = amounts
            && let Some(fault) = self.range(only).or_else(|| self.uneven(only)).or_else(|| self.brackets(only))
        {
            return fault;
        }
        let text = self.scanner.text();
        Fault::new(QuantityProblem::Trailing { text: text[span.clone()].to_owned() }, span.clone())
            .corrected(text[..span.start].trim().to_owned())
    }

    /// `10-12 mm`.
    fn range(&self, low: &Amount) -> Option<Fault> {
        let mut ahead = self.scanner.clone();
        if !ahead.range_mark() {
            return None;
        }
        let high = ahead.amount().ok()?;
        if high.value <= low.value || ahead.signed_number_next() || ahead.rest().starts_with('/') {
            return None;
        }
        let span = low.number_span.start..high.span().end;
        let corrected = self.centred((low.value, low.unit), (low.value, high.value), high.unit, &span);
        Some(Fault::new(QuantityProblem::Range, span).corrected(corrected))
    }

    /// `531 +2/−1 mm`, `531 mm +2 mm`.
    fn uneven(&self, value: &Amount) -> Option<Fault> {
        let mut ahead = self.scanner.clone();
        let start = ahead.at();
        let (mut up, mut down, mut unit, mut end) = (0.0_f64, 0.0_f64, None, start);
        for _ in 0..2 {
            if !ahead.signed_number_next() {
                break;
            }
            let deviation = ahead.amount().ok()?;
            up = up.max(deviation.value);
            down = down.min(deviation.value);
            unit = deviation.unit.or(unit);
            end = deviation.span().end;
            let _ = ahead.eat("/") || ahead.eat(",");
            ahead.skip_space();
        }
        if end == start {
            return None;
        }
        let corrected = self.centred(
            (value.value, value.unit),
            (value.value + down, value.value + up),
            unit,
            &(value.number_span.start..end),
        );
        Some(Fault::new(QuantityProblem::UnevenTolerance, start..end).corrected(corrected))
    }

    /// The text with `span` replaced by the middle of two ends and its tolerance, if both are in one unit.
    fn centred(
        &self,
        (_, unit): (f64, Option<Unit>),
        (low, high): (f64, f64),
        other: Option<Unit>,
        span: &Range<usize>,
    ) -> Option<String> {
        if let (Some(a), Some(b)) = (unit, other)
            && a != b
        {
            return None;
        }
        let (middle, half) = (f64::midpoint(low, high), (high - low) / 2.0);
        let symbol = unit.or(other).map_or("", Unit::symbol);
        let centred = format!("{} ± {} {symbol}", decimal(middle), decimal(half));
        Some(self.scanner.with(span, centred.trim_end()))
    }

    /// `531(2) mm`: the digits in brackets count in the last place of the number.
    fn brackets(&self, value: &Amount) -> Option<Fault> {
        let inside = self.scanner.rest().strip_prefix('(')?;
        let (digits, behind) = inside.split_once(')')?;
        let start = self.scanner.at();
        let span = start..start + digits.len() + 2;
        let count: u32 = digits.trim().parse().ok()?;
        let number = &self.scanner.text()[value.number_span.clone()];
        let decimals = number.split_once('.').map_or(0, |(_, decimals)| decimals.len());
        let half_width = f64::from(count) / 10.0_f64.powi(i32::try_from(decimals).ok()?);
        let text = self.scanner.text();
        let corrected = format!("{} ± {} {}", text[..start].trim(), decimal(half_width), behind.trim());
        Some(Fault::new(QuantityProblem::Brackets, span).corrected(corrected.trim().to_owned()))
    }

    /// Puts the pieces together in the base unit.
    fn assemble(&self, amounts: &[Amount], tolerance: Option<&Amount>, guess: bool) -> Result<Written, Fault> {
        let relative = tolerance.is_some_and(|t| t.unit.is_some_and(|u| u.dimension() == Dimension::Share))
            && self.expected != Dimension::Share;
        // `531 ± 2 mm`: the unit behind the tolerance is meant for both.
        let lent = tolerance.filter(|_| amounts.len() == 1 && amounts[0].unit.is_none() && !relative);
        let unit = lent.map_or(amounts[0].unit, |t| t.unit);
        if let Some(unit) = unit {
            let amount = lent.unwrap_or(&amounts[0]);
            self.check_dimension(unit, &amount.unit_span)?;
        }
        let (base, last) = self.sum(amounts, unit)?;
        let spread = match tolerance {
            None => Spread::Exact,
            Some(stated) => self.spread(stated, relative, base, last)?,
        };
        if !base.is_finite() {
            return Err(Fault::new(QuantityProblem::TooLarge, amounts[0].span()));
        }
        let origin = if guess { Origin::Guess } else { Origin::MakersSheet };
        Ok(Written {
            quantity: Quantity::new(base, self.expected, spread, origin),
            unit,
            tolerance_stated: tolerance.is_some(),
            guess,
        })
    }

    /// The sum of the amounts in the base unit, and the unit of the last.
    fn sum(&self, amounts: &[Amount], unit: Option<Unit>) -> Result<(f64, Unit), Fault> {
        let [first, parts @ ..] = amounts else { return Err(Fault::new(QuantityProblem::Empty, 0..0)) };
        let known = match unit {
            Some(unit) => unit,
            None if parts.is_empty() => Unit::base(self.expected),
            None => return Err(Fault::new(QuantityProblem::MissingUnit, first.number_span.clone())),
        };
        let (mut whole, mut before, mut base) = (known, first, known.to_base(first.value));
        for part in parts {
            let Some(unit) = part.unit else { return Err(Fault::new(QuantityProblem::MissingUnit, part.number_span.clone())) };
            self.check_dimension(unit, &part.unit_span)?;
            let Some(in_whole) = parts_in_whole(whole, unit) else {
                return Err(Fault::new(QuantityProblem::MixedUnits, part.unit_span.clone()));
            };
            if before.value.fract() != 0.0 {
                return Err(Fault::new(QuantityProblem::BrokenUnit, before.number_span.clone()));
            }
            if part.value >= in_whole {
                let fault = Fault::new(QuantityProblem::PartTooLarge { whole: whole.symbol() }, part.span());
                let carried = (part.value / in_whole).floor();
                let corrected = format!(
                    "{} {whole} {} {unit}",
                    decimal(before.value.abs() + carried),
                    decimal(part.value - carried * in_whole)
                );
                return Err(fault.corrected(self.scanner.with(&(before.number_span.start..part.span().end), &corrected)));
            }
            // `−6 ft 1 in` is less than −6 ft, and so is `−0 ft 1 in` less than nothing.
            base += unit.to_base(if first.value.is_sign_negative() { -part.value } else { part.value });
            (whole, before) = (unit, part);
        }
        // −0 is written 0.
        Ok((base + 0.0, whole))
    }

    /// The spread a stated tolerance makes; `unit` is that of the value.
    fn spread(&self, stated: &Amount, relative: bool, base: f64, unit: Unit) -> Result<Spread, Fault> {
        let half_width = if relative && self.expected != Dimension::Temperature {
            (base * stated.value / 100.0).abs()
        } else {
            let unit = stated.unit.unwrap_or(unit);
            if unit.dimension() != self.expected {
                let found = unit.dimension();
                return Err(Fault::new(QuantityProblem::ToleranceDimension { found }, stated.unit_span.clone()));
            }
            unit.difference_to_base(stated.value)
        };
        if !half_width.is_finite() {
            return Err(Fault::new(QuantityProblem::TooLarge, stated.span()));
        }
        Ok(if half_width == 0.0 { Spread::Exact } else { Spread::Limits(half_width) })
    }

    fn check_dimension(&self, unit: Unit, span: &Range<usize>) -> Result<(), Fault> {
        if unit.dimension() == self.expected {
            return Ok(());
        }
        let meant = TAKEN_FOR.into_iter().find(|(written, expected, _)| *written == unit.symbol() && *expected == self.expected);
        let corrected = meant.map(|(_, _, meant)| self.scanner.with(span, meant));
        Err(Fault::new(QuantityProblem::WrongDimension { found: unit.dimension() }, span.clone()).corrected(corrected))
    }
}

/// How many `part` make a `whole`, if it is a whole number of at least two and neither scale has an offset.
fn parts_in_whole(whole: Unit, part: Unit) -> Option<f64> {
    /// Factors such as 1/60 are not exact in binary.
    const ROUNDING: f64 = 1e-9;
    let ratio = whole.difference_to_base(1.0) / part.difference_to_base(1.0);
    let plain = whole.to_base(0.0) == 0.0 && part.to_base(0.0) == 0.0;
    (plain && ratio > 1.5 && (ratio - ratio.round()).abs() < ROUNDING * ratio).then_some(ratio.round())
}
