//! What is measured.

/// The kind of a quantity. Values are kept in its base unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Dimension {
    /// mm
    Length,
    /// deg
    Angle,
    /// kg
    Mass,
    /// N
    Force,
    /// N m
    Torque,
    /// bar
    Pressure,
    /// N/mm
    Stiffness,
    /// min
    Duration,
    /// km/h
    Speed,
    /// °C
    Temperature,
    /// cm³
    Volume,
    /// %
    Share,
    /// a bare number
    Number,
    /// in the shop's own currency
    Price,
}

impl Dimension {
    /// All of them.
    pub const ALL: [Self; 14] = [
        Self::Length,
        Self::Angle,
        Self::Mass,
        Self::Force,
        Self::Torque,
        Self::Pressure,
        Self::Stiffness,
        Self::Duration,
        Self::Speed,
        Self::Temperature,
        Self::Volume,
        Self::Share,
        Self::Number,
        Self::Price,
    ];

    /// The word used in data files.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Length => "length",
            Self::Angle => "angle",
            Self::Mass => "mass",
            Self::Force => "force",
            Self::Torque => "torque",
            Self::Pressure => "pressure",
            Self::Stiffness => "stiffness",
            Self::Duration => "duration",
            Self::Speed => "speed",
            Self::Temperature => "temperature",
            Self::Volume => "volume",
            Self::Share => "share",
            Self::Number => "number",
            Self::Price => "price",
        }
    }

    /// The same with its article, for sentences.
    pub const fn with_article(self) -> &'static str {
        match self {
            Self::Length => "a length",
            Self::Angle => "an angle",
            Self::Mass => "a mass",
            Self::Force => "a force",
            Self::Torque => "a torque",
            Self::Pressure => "a pressure",
            Self::Stiffness => "a stiffness",
            Self::Duration => "a duration",
            Self::Speed => "a speed",
            Self::Temperature => "a temperature",
            Self::Volume => "a volume",
            Self::Share => "a share",
            Self::Number => "a bare number",
            Self::Price => "a price",
        }
    }

    /// The dimension a word names.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|d| d.word() == word)
    }

    /// Symbol of the base unit; empty for numbers and prices.
    pub const fn base_symbol(self) -> &'static str {
        match self {
            Self::Length => "mm",
            Self::Angle => "deg",
            Self::Mass => "kg",
            Self::Force => "N",
            Self::Torque => "N m",
            Self::Pressure => "bar",
            Self::Stiffness => "N/mm",
            Self::Duration => "min",
            Self::Speed => "km/h",
            Self::Temperature => "degC",
            Self::Volume => "cm3",
            Self::Share => "%",
            Self::Number | Self::Price => "",
        }
    }

    /// How a value of this dimension is written, for help texts.
    pub const fn example(self) -> &'static str {
        match self {
            Self::Length => "531 mm",
            Self::Angle => "68.5 deg",
            Self::Mass => "1.9 kg",
            Self::Force => "400 N",
            Self::Torque => "5 N m",
            Self::Pressure => "2.1 bar",
            Self::Stiffness => "80 N/mm",
            Self::Duration => "45 min",
            Self::Speed => "25 km/h",
            Self::Temperature => "20 degC",
            Self::Volume => "40 cm3",
            Self::Share => "25 %",
            Self::Number => "32",
            Self::Price => "49.90",
        }
    }
}
