//! What is measured.

/// The kind of a quantity. Values are kept in its base unit.
///
/// ```
/// use quantity::Dimension;
/// assert_eq!(Dimension::from_word("angle"), Some(Dimension::Angle));
/// assert_eq!(Dimension::Angle.base_symbol(), "deg");
/// ```
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

/// What is said of a dimension, in one place.
struct Says {
    word: &'static str,
    with_article: &'static str,
    base_symbol: &'static str,
    base_in_words: &'static str,
    example: &'static str,
    in_parts: Option<&'static str>,
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

    const fn says(self) -> Says {
        /// Word, with article, symbol of the base unit, base unit in words, example, example in two units.
        const fn says(
            word: &'static str,
            with_article: &'static str,
            base_symbol: &'static str,
            base_in_words: &'static str,
            example: &'static str,
            in_parts: Option<&'static str>,
        ) -> Says {
            Says { word, with_article, base_symbol, base_in_words, example, in_parts }
        }
        match self {
            Self::Length => says("length", "a length", "mm", "millimetres", "531 mm", Some("6 ft 1 in")),
            Self::Angle => says("angle", "an angle", "deg", "degrees", "68.5 deg", Some("68° 30′")),
            Self::Mass => says("mass", "a mass", "kg", "kilograms", "1.9 kg", Some("13 st 4 lb")),
            Self::Force => says("force", "a force", "N", "newtons", "400 N", None),
            Self::Torque => says("torque", "a torque", "N m", "newton metres", "5 N m", None),
            Self::Pressure => says("pressure", "a pressure", "bar", "bar", "2.1 bar", None),
            Self::Stiffness => says("stiffness", "a stiffness", "N/mm", "newtons per millimetre", "80 N/mm", None),
            Self::Duration => says("duration", "a duration", "min", "minutes", "45 min", Some("1 h 30 min")),
            Self::Speed => says("speed", "a speed", "km/h", "kilometres per hour", "25 km/h", None),
            Self::Temperature => says("temperature", "a temperature", "degC", "degrees Celsius", "20 degC", None),
            Self::Volume => says("volume", "a volume", "cm3", "cubic centimetres", "40 cm3", None),
            Self::Share => says("share", "a share", "%", "per cent", "25 %", None),
            Self::Number => says("number", "a bare number", "", "", "32", None),
            Self::Price => says("price", "a price", "", "", "49.90", None),
        }
    }

    /// The word used in data files.
    pub const fn word(self) -> &'static str {
        self.says().word
    }

    /// The same with its article, for sentences.
    pub const fn with_article(self) -> &'static str {
        self.says().with_article
    }

    /// The dimension a word names.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|d| d.word() == word)
    }

    /// Symbol of the base unit; empty for numbers and prices.
    pub const fn base_symbol(self) -> &'static str {
        self.says().base_symbol
    }

    /// The base unit in words, for sentences; empty for numbers and prices.
    pub const fn base_in_words(self) -> &'static str {
        self.says().base_in_words
    }

    /// How a value of this dimension is written, for help texts.
    pub const fn example(self) -> &'static str {
        self.says().example
    }

    /// The same in two units that follow each other, where the trade writes it so: `6 ft 1 in`.
    pub const fn example_in_parts(self) -> Option<&'static str> {
        self.says().in_parts
    }
}
