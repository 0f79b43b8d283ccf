//! The ways in which a text is not a quantity, each with its words.

use std::fmt;
use std::ops::Range;

use crate::Dimension;
use crate::unit::UNITS;

/// One way for a text to be wrong.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum QuantityProblem {
    /// Nothing there.
    Empty,
    /// No number where one should be.
    NoNumber,
    /// Something that starts like a number but is none: `1.2.3`, `5/0`.
    NotANumber {
        /// As written.
        text: String,
    },
    /// NaN or infinity in words.
    NotFinite,
    /// A number beyond what can be computed with (about 1.8 × 10³⁰⁸ in the base unit).
    TooLarge,
    /// A comma where the decimal point should be: `531,5`.
    DecimalComma {
        /// The number with a point.
        with_point: String,
    },
    /// A comma that may be a decimal or a thousands mark: `1,234`.
    DecimalOrThousands {
        /// Read as a decimal mark.
        decimal: String,
        /// Read as a thousands mark.
        whole: String,
    },
    /// Digits in groups: `1 234`, `1,234,567`.
    ThousandsMark {
        /// The number without.
        plain: String,
    },
    /// A fraction where the trade writes none; only lengths have them (`1 1/8 in`).
    Fraction {
        /// The number with a point.
        decimal: String,
    },
    /// Two ends instead of a value and a tolerance: `10-12 mm`.
    Range,
    /// A guess marked by a word instead of `~`: `about 531 mm`.
    GuessInWords {
        /// The word.
        word: String,
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
    /// Units that do not follow each other: `1 in 6 ft`, `6 ft 30 cm`.
    MixedUnits,
    /// A number without unit beside one that has one: `6 ft 1`.
    MissingUnit,
    /// A broken number of the larger unit, and a smaller one behind it: `5.5 ft 2 in`.
    BrokenUnit,
    /// A part that makes a whole one of the larger unit: `5 ft 14 in`.
    PartTooLarge {
        /// Symbol of the larger unit.
        whole: &'static str,
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
    /// Two ±.
    SecondTolerance,
    /// Different tolerances upwards and downwards, or only one of them: `531 +2/−1 mm`.
    UnevenTolerance,
    /// An uncertainty in brackets behind the number: `531(2)`.
    Brackets,
    /// Something behind the quantity that is no part of it.
    Trailing {
        /// As written.
        text: String,
    },
}

/// Why a text is not a quantity, and where in it.
///
/// Three texts for three places: `Display` states the problem and stands alone, [`label`](Self::label) stands under the caret,
/// [`help`](Self::help) says what would be right.
#[derive(Clone, Debug, PartialEq)]
pub struct QuantityError {
    /// What is wrong.
    pub problem: QuantityProblem,
    /// Bytes of the text it is about: the smallest piece that holds the mistake.
    pub span: Range<usize>,
    /// What was expected.
    pub expected: Dimension,
    /// The whole text put right, if it can be told.
    pub(crate) corrected: Option<String>,
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use QuantityProblem as P;
        let expected = self.expected.with_article();
        match &self.problem {
            P::Empty => write!(f, "nothing where {expected} is expected"),
            P::NoNumber => write!(f, "no number where {expected} is expected"),
            P::NotANumber { text } => write!(f, "`{text}` is not a number"),
            P::NotFinite => write!(f, "no finite number where {expected} is expected"),
            P::TooLarge => write!(f, "a number too large for {expected}"),
            P::DecimalComma { .. } => write!(f, "a comma inside a number"),
            P::DecimalOrThousands { .. } => write!(f, "a comma that may be a decimal or a thousands mark"),
            P::ThousandsMark { .. } => write!(f, "a number in groups of digits"),
            P::Fraction { .. } => write!(f, "a fraction where {expected} is expected"),
            P::Range => write!(f, "a range where {expected} is expected"),
            P::GuessInWords { word } => write!(f, "the word `{word}` where {expected} is expected"),
            P::UnknownUnit { unit, .. } => write!(f, "unknown unit `{unit}`"),
            P::WrongDimension { found } => write!(f, "{} where {expected} is expected", found.with_article()),
            P::MixedUnits => write!(f, "units that do not follow each other"),
            P::MissingUnit => write!(f, "a number without unit beside one with a unit"),
            P::BrokenUnit => write!(f, "a broken number with a smaller unit behind it"),
            P::PartTooLarge { whole } => write!(f, "a part that makes a whole `{whole}` or more"),
            P::NoTolerance => write!(f, "no number after the ±"),
            P::NegativeTolerance => write!(f, "a tolerance below zero"),
            P::ToleranceDimension { found } => write!(f, "{} as the tolerance of {expected}", found.with_article()),
            P::SecondTolerance => write!(f, "a second tolerance"),
            P::UnevenTolerance => write!(f, "a tolerance that is not the same on both sides"),
            P::Brackets => write!(f, "an uncertainty in brackets"),
            P::Trailing { text } => write!(f, "`{text}` behind {expected}"),
        }
    }
}

impl std::error::Error for QuantityError {}

impl QuantityError {
    /// A few words to stand under the caret.
    pub fn label(&self) -> String {
        use QuantityProblem as P;
        let expected = self.expected.with_article();
        match &self.problem {
            P::Empty | P::NoNumber | P::NotANumber { .. } | P::WrongDimension { .. } => format!("expected {expected}"),
            P::NotFinite => "not finite".to_owned(),
            P::TooLarge => "too large".to_owned(),
            P::DecimalComma { .. } => "expected a point".to_owned(),
            P::DecimalOrThousands { .. } => "which of the two?".to_owned(),
            P::ThousandsMark { .. } => "expected the digits in one piece".to_owned(),
            P::Fraction { .. } => "expected a decimal number".to_owned(),
            P::Range => "expected one value".to_owned(),
            P::GuessInWords { .. } => "expected `~` for a guess".to_owned(),
            P::UnknownUnit { .. } => "no such unit".to_owned(),
            P::MixedUnits => "larger unit first, whole, each once".to_owned(),
            P::MissingUnit => "which unit?".to_owned(),
            P::BrokenUnit => "expected a whole number".to_owned(),
            P::PartTooLarge { whole } => format!("expected less than 1 {whole}"),
            P::NoTolerance => "how much?".to_owned(),
            P::NegativeTolerance => "must be zero or more".to_owned(),
            // A share of a temperature would depend on where its scale starts.
            P::ToleranceDimension { .. } if matches!(self.expected, Dimension::Temperature | Dimension::Share) => {
                format!("expected {expected}")
            }
            P::ToleranceDimension { .. } => format!("expected {expected} or %"),
            P::SecondTolerance => "one too many".to_owned(),
            P::UnevenTolerance | P::Brackets => "expected ±".to_owned(),
            P::Trailing { .. } => "not part of it".to_owned(),
        }
    }

    /// What would be right: the corrected text where it can be told, else an example of the dimension.
    pub fn help(&self) -> Option<String> {
        Some(self.help_with(self.expected.example()))
    }

    /// The same with an example that fits what is asked for: `40 mm` for a stem.
    pub fn help_with(&self, example: &str) -> String {
        use QuantityProblem as P;
        let expected = self.expected.with_article();
        match (&self.problem, self.corrected()) {
            (P::UnknownUnit { closest: Some(closest), .. }, _) => format!("did you mean `{closest}`?"),
            (P::UnknownUnit { closest: None, .. }, _) => {
                let units = UNITS.iter().filter(|u| u.dimension() == self.expected && !u.symbol().is_empty());
                let symbols: Vec<&str> = units.map(|u| u.symbol()).collect();
                if symbols.is_empty() {
                    format!("write the bare number, for example \"{example}\"")
                } else {
                    format!("units of {expected}: {}", symbols.join(", "))
                }
            }
            (P::DecimalOrThousands { decimal, whole }, _) => format!("write `{decimal}` or `{whole}`"),
            (P::WrongDimension { .. }, Some(corrected)) => format!("did you mean \"{corrected}\"?"),
            (P::WrongDimension { .. }, None) => match self.expected.base_in_words() {
                "" => format!("write the bare number, for example \"{example}\""),
                unit => format!("write it in {unit}, for example \"{example}\""),
            },
            (P::Range, Some(corrected)) => format!("write the middle and the tolerance: \"{corrected}\""),
            (P::UnevenTolerance, Some(corrected)) => format!("write the middle and half the width: \"{corrected}\""),
            (_, Some(corrected)) => format!("write \"{corrected}\""),
            (
                P::DecimalComma { with_point: number } | P::ThousandsMark { plain: number } | P::Fraction { decimal: number },
                None,
            ) => format!("write `{number}`"),
            (P::MixedUnits | P::MissingUnit | P::BrokenUnit | P::PartTooLarge { .. }, None) => {
                format!("write it like \"{}\"", self.expected.example_in_parts().unwrap_or(example))
            }
            (
                P::NoTolerance
                | P::NegativeTolerance
                | P::ToleranceDimension { .. }
                | P::SecondTolerance
                | P::UnevenTolerance
                | P::Brackets
                | P::Range,
                None,
            ) => {
                let (number, unit) = example.split_once(' ').unwrap_or((example, ""));
                let toleranced = format!("{number} ± 2 {unit}");
                format!("write it like \"{}\"", toleranced.trim_end())
            }
            (
                P::Empty
                | P::NoNumber
                | P::NotANumber { .. }
                | P::NotFinite
                | P::TooLarge
                | P::GuessInWords { .. }
                | P::Trailing { .. },
                None,
            ) => format!("write it like \"{example}\""),
        }
    }

    /// The whole text put right, where there is one way to do so. It can be read: [`parse`](crate::parse()) takes it.
    pub fn corrected(&self) -> Option<&str> {
        self.corrected.as_deref()
    }
}
