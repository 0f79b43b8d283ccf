//! A value with its spread and origin.

use crate::{Dimension, Unit};

/// How far the true value may be from the stated one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Spread {
    /// Not at all: a count, a definition.
    Exact,
    /// Anywhere within ± this, base unit: a rectangular distribution, u = a/√3 (JCGM 100:2008, 4.3.7).
    Limits(f64),
    /// Expanded uncertainty with coverage factor 2, base unit: u = U/2 (JCGM 100:2008, 6.2).
    Expanded(f64),
    /// Standard uncertainty, base unit.
    Standard(f64),
}

impl Spread {
    /// Standard uncertainty u, base unit.
    pub fn standard_uncertainty(self) -> f64 {
        match self {
            Self::Exact => 0.0,
            Self::Limits(half_width) => half_width / 3.0_f64.sqrt(),
            Self::Expanded(expanded) => expanded / 2.0,
            Self::Standard(u) => u,
        }
    }

    /// The ± as stated, base unit.
    pub fn plus_minus(self) -> f64 {
        match self {
            Self::Exact => 0.0,
            Self::Limits(half_width) => half_width,
            Self::Expanded(expanded) => expanded,
            Self::Standard(u) => 2.0 * u,
        }
    }
}

/// Where a value comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Origin {
    /// Measured on the bike or part.
    Measured,
    /// The maker's sheet or chart.
    MakersSheet,
    /// A standard.
    Standard,
    /// Common practice.
    CommonPractice,
    /// A guess.
    Guess,
    /// Computed from others.
    Computed,
}

impl Origin {
    /// All of them.
    pub const ALL: [Self; 6] =
        [Self::Measured, Self::MakersSheet, Self::Standard, Self::CommonPractice, Self::Guess, Self::Computed];

    /// The words used in data files and for people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Measured => "measured",
            Self::MakersSheet => "maker's sheet",
            Self::Standard => "standard",
            Self::CommonPractice => "common practice",
            Self::Guess => "guess",
            Self::Computed => "computed",
        }
    }

    /// The origin a word names.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|o| o.word() == word)
    }
}

/// A value in the base unit of its dimension, with spread and origin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    dimension: Dimension,
    value: f64,
    spread: Spread,
    origin: Origin,
}

impl Quantity {
    /// A value (base unit) with its spread.
    pub const fn new(value: f64, dimension: Dimension, spread: Spread, origin: Origin) -> Self {
        Self { dimension, value, spread, origin }
    }

    /// A value (base unit) without spread.
    pub const fn exact(value: f64, dimension: Dimension, origin: Origin) -> Self {
        Self::new(value, dimension, Spread::Exact, origin)
    }

    /// The same with another spread.
    #[must_use]
    pub const fn with_spread(self, spread: Spread) -> Self {
        Self { spread, ..self }
    }

    /// The same from elsewhere.
    #[must_use]
    pub const fn with_origin(self, origin: Origin) -> Self {
        Self { origin, ..self }
    }

    /// The same with another value (base unit).
    #[must_use]
    pub const fn with_value(self, value: f64) -> Self {
        Self { value, ..self }
    }

    /// In the base unit.
    pub const fn value(self) -> f64 {
        self.value
    }

    /// In another unit of its dimension.
    pub fn in_unit(self, unit: Unit) -> f64 {
        unit.from_base(self.value)
    }

    /// Dimension.
    pub const fn dimension(self) -> Dimension {
        self.dimension
    }

    /// Spread.
    pub const fn spread(self) -> Spread {
        self.spread
    }

    /// Origin.
    pub const fn origin(self) -> Origin {
        self.origin
    }

    /// Standard uncertainty u, base unit.
    pub fn standard_uncertainty(self) -> f64 {
        self.spread.standard_uncertainty()
    }

    /// Expanded uncertainty U = 2 u, base unit.
    pub fn expanded_uncertainty(self) -> f64 {
        2.0 * self.standard_uncertainty()
    }
}
