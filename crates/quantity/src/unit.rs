//! In what a quantity is written.
//!
//! ```text
//! base value = factor × written value + offset        the offset is zero for all but degrees Fahrenheit
//! ```
//!
//! Factors follow from four definitions, which are exact:
//!
//! | definition | exact value | source |
//! |---|---|---|
//! | inch | 25.4 mm (foot 12 in, mile 5 280 ft) | international yard and pound agreement, 1959 |
//! | pound | 0.453 592 37 kg (ounce 1/16 lb, stone 14 lb) | the same |
//! | standard gravity | 9.806 65 m/s² | 3rd General Conference on Weights and Measures, 1901 |
//! | radian | 180/π degrees | the definition |
//!
//! The table of NIST Special Publication 811 (2008), appendix B.8, gives the rest to seven digits; the tests hold them against it.

use std::f64::consts::PI;
use std::fmt;

use crate::Dimension;

/// A unit of the table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    symbol: &'static str,
    dimension: Dimension,
    factor: f64,
    offset: f64,
    names: &'static [&'static str],
}

/// mm in an inch: exact (1959).
const INCH_MM: f64 = 25.4;
/// mm in a foot.
const FOOT_MM: f64 = 12.0 * INCH_MM;
/// mm in a mile.
const MILE_MM: f64 = 5280.0 * FOOT_MM;
/// kg in a pound: exact (1959).
const POUND_KG: f64 = 0.453_592_37;
/// m/s²: exact (1901).
const STANDARD_GRAVITY_M_S2: f64 = 9.806_65;
/// N that a pound weighs under standard gravity.
const POUND_N: f64 = POUND_KG * STANDARD_GRAVITY_M_S2;
/// bar in a N/mm².
const BAR_PER_N_MM2: f64 = 10.0;

const fn unit(symbol: &'static str, dimension: Dimension, factor: f64, names: &'static [&'static str]) -> Unit {
    Unit { symbol, dimension, factor, offset: 0.0, names }
}

/// Every unit that can be written, the base unit first of its dimension. A name may stand for two units of different dimensions
/// (`'` is a foot and a minute of arc): then the one earlier in the table is meant where nothing else is known.
pub const UNITS: [Unit; 49] = [
    unit("mm", Dimension::Length, 1.0, &["millimetre", "millimetres", "millimeter", "millimeters"]),
    unit("cm", Dimension::Length, 10.0, &["centimetre", "centimetres", "centimeter", "centimeters"]),
    unit("m", Dimension::Length, 1000.0, &["metre", "metres", "meter", "meters"]),
    // The micro sign and the Greek letter look alike; both are typed.
    unit("µm", Dimension::Length, 0.001, &["um", "μm", "micron", "microns", "micrometre", "micrometres"]),
    unit("in", Dimension::Length, INCH_MM, &["inch", "inches", "\"", "″", "”", "''", "′′"]),
    unit("ft", Dimension::Length, FOOT_MM, &["foot", "feet", "'", "′", "’"]),
    unit("km", Dimension::Length, 1e6, &["kilometre", "kilometres", "kilometer", "kilometers"]),
    unit("mi", Dimension::Length, MILE_MM, &["mile", "miles"]),
    // U+00BA and U+02DA are not degree signs, but keyboards offer them for it.
    unit("deg", Dimension::Angle, 1.0, &["°", "º", "˚", "degree", "degrees"]),
    unit("rad", Dimension::Angle, 180.0 / PI, &["radian", "radians"]),
    unit("arcmin", Dimension::Angle, 1.0 / 60.0, &["'", "′", "’", "arcminute", "arcminutes"]),
    unit("arcsec", Dimension::Angle, 1.0 / 3600.0, &["\"", "″", "”", "''", "′′", "arcsecond", "arcseconds"]),
    unit("kg", Dimension::Mass, 1.0, &["kgs", "kilo", "kilos", "kilogram", "kilograms", "kilogramme", "kilogrammes"]),
    unit("g", Dimension::Mass, 0.001, &["gram", "grams", "gramme", "grammes"]),
    unit("lb", Dimension::Mass, POUND_KG, &["lbs", "pound", "pounds"]),
    unit("oz", Dimension::Mass, POUND_KG / 16.0, &["ounce", "ounces"]),
    unit("st", Dimension::Mass, 14.0 * POUND_KG, &["stone", "stones"]),
    unit("N", Dimension::Force, 1.0, &["newton", "newtons"]),
    unit("kN", Dimension::Force, 1000.0, &["kilonewton", "kilonewtons"]),
    unit("lbf", Dimension::Force, POUND_N, &["pound-force"]),
    unit("kgf", Dimension::Force, STANDARD_GRAVITY_M_S2, &["kp"]),
    unit("N m", Dimension::Torque, 1.0, &["Nm", "N·m", "N*m", "N-m", "N.m", "newton metre", "newton metres"]),
    unit(
        "in lb",
        Dimension::Torque,
        POUND_N * INCH_MM / 1000.0,
        &[
            "in-lb", "in·lb", "in lbs", "in-lbs", "in lbf", "in-lbf", "in·lbf", "lb in", "lb-in", "lbf in", "lbf-in", "lbf·in",
            "inlb",
        ],
    ),
    unit(
        "ft lb",
        Dimension::Torque,
        POUND_N * FOOT_MM / 1000.0,
        &[
            "ft-lb", "ft·lb", "ft lbs", "ft-lbs", "ft lbf", "ft-lbf", "ft·lbf", "lb ft", "lb-ft", "lbf ft", "lbf-ft", "lbf·ft",
            "ftlb",
        ],
    ),
    unit("kgf cm", Dimension::Torque, STANDARD_GRAVITY_M_S2 / 100.0, &["kgf·cm", "kgf-cm", "kg cm", "kg·cm", "kg-cm"]),
    unit("bar", Dimension::Pressure, 1.0, &["bars"]),
    unit("psi", Dimension::Pressure, POUND_N / (INCH_MM * INCH_MM) * BAR_PER_N_MM2, &["lbf/in2", "lbf/in²", "lb/in2", "lb/in²"]),
    unit("kPa", Dimension::Pressure, 0.01, &[]),
    unit("MPa", Dimension::Pressure, BAR_PER_N_MM2, &["N/mm2", "N/mm²"]),
    unit("N/mm", Dimension::Stiffness, 1.0, &["kN/m"]),
    unit("lb/in", Dimension::Stiffness, POUND_N / INCH_MM, &["lbf/in", "lbs/in"]),
    unit("N/m", Dimension::Stiffness, 0.001, &[]),
    unit("kgf/mm", Dimension::Stiffness, STANDARD_GRAVITY_M_S2, &["kg/mm"]),
    unit("min", Dimension::Duration, 1.0, &["mins", "minute", "minutes"]),
    unit("s", Dimension::Duration, 1.0 / 60.0, &["second", "seconds", "sec", "secs"]),
    unit("h", Dimension::Duration, 60.0, &["hour", "hours", "hr", "hrs"]),
    unit("years", Dimension::Duration, 525_600.0, &["year", "yr", "yrs"]),
    unit("months", Dimension::Duration, 43_800.0, &["month"]),
    unit("km/h", Dimension::Speed, 1.0, &["kph", "kmh", "km/hr"]),
    unit("m/s", Dimension::Speed, 3.6, &[]),
    // mm/h to km/h.
    unit("mph", Dimension::Speed, MILE_MM / 1e6, &["mi/h"]),
    unit("degC", Dimension::Temperature, 1.0, &["°C", "ºC", "deg C", "C", "Celsius"]),
    Unit {
        symbol: "degF",
        dimension: Dimension::Temperature,
        factor: 5.0 / 9.0,
        offset: -160.0 / 9.0,
        names: &["°F", "ºF", "deg F", "F", "Fahrenheit"],
    },
    unit("cm3", Dimension::Volume, 1.0, &["cm³", "cm^3", "ml", "cc", "ccm", "millilitre", "millilitres"]),
    unit("l", Dimension::Volume, 1000.0, &["litre", "litres", "liter", "liters"]),
    unit("mm3", Dimension::Volume, 0.001, &["mm³", "mm^3"]),
    unit("%", Dimension::Share, 1.0, &["percent", "per cent", "pct"]),
    unit("", Dimension::Number, 1.0, &["teeth", "tooth", "t"]),
    unit("", Dimension::Price, 1.0, &[]),
];

impl Unit {
    /// Symbol as written in data files: `deg`, `N m`, `degC`. Empty for numbers and prices.
    pub const fn symbol(self) -> &'static str {
        self.symbol
    }

    /// The symbol as printed for people: `°`, `°C`, `cm³`.
    pub fn printed(self) -> &'static str {
        match self.symbol {
            "deg" => "°",
            "degC" => "°C",
            "degF" => "°F",
            "cm3" => "cm³",
            "mm3" => "mm³",
            symbol => symbol,
        }
    }

    /// Dimension.
    pub const fn dimension(self) -> Dimension {
        self.dimension
    }

    /// Other ways to write it.
    pub const fn names(self) -> &'static [&'static str] {
        self.names
    }

    /// A value written in this unit, in the base unit: `factor × written + offset`.
    pub fn to_base(self, written: f64) -> f64 {
        written * self.factor + self.offset
    }

    /// A value in the base unit, as written in this unit.
    pub fn from_base(self, base: f64) -> f64 {
        (base - self.offset) / self.factor
    }

    /// A difference or tolerance written in this unit, in the base unit: no offset, so that ± 9 °F are ± 5 °C.
    pub fn difference_to_base(self, written: f64) -> f64 {
        written * self.factor
    }

    /// A difference in the base unit, as written in this unit.
    pub fn difference_from_base(self, base: f64) -> f64 {
        base / self.factor
    }

    /// The unit a text names, whatever its dimension: a symbol or one of its other names, in the trade's usual spellings.
    pub fn named(text: &str) -> Option<Self> {
        Self::find(text, |_| true)
    }

    /// The unit a text names where one of a known dimension is expected: of that dimension if there is one (`'` is a minute of arc
    /// where an angle is expected), else of any other.
    pub fn named_for(text: &str, expected: Dimension) -> Option<Self> {
        Self::find(text, |unit| unit.dimension == expected).or_else(|| Self::named(text))
    }

    fn find(text: &str, among: impl Fn(&Unit) -> bool) -> Option<Self> {
        let candidates = || UNITS.iter().filter(|unit| among(unit));
        let exact = |unit: &&Unit| unit.spellings().any(|name| name == text);
        candidates()
            .find(exact)
            .or_else(|| {
                // `MM`, `Kg`, `PSI`, `L`: case is forgiven where it decides nothing.
                let lower = text.to_lowercase();
                let mut forgiven = candidates().filter(|unit| unit.spellings().any(|name| name.to_lowercase() == lower));
                let first = forgiven.next()?;
                forgiven.next().is_none().then_some(first)
            })
            .copied()
    }

    /// Every way to write it; a unit without a symbol has only its names.
    pub(crate) fn spellings(&self) -> impl Iterator<Item = &'static str> {
        std::iter::once(self.symbol).chain(self.names.iter().copied()).filter(|name| !name.is_empty())
    }

    /// The base unit of a dimension.
    pub fn base(dimension: Dimension) -> Self {
        // Every dimension heads its part of the table (`every_dimension_has_its_base`).
        UNITS.iter().find(|u| u.dimension == dimension).copied().unwrap_or(UNITS[0])
    }
}

impl fmt::Display for Unit {
    /// The symbol, as in data files.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.symbol)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn factor(name: &str) -> f64 {
        Unit::named(name).unwrap().difference_to_base(1.0)
    }

    /// NIST Special Publication 811 (2008), appendix B.8, "Factors for units listed alphabetically" (from memory, to the digits
    /// printed there; bold, that is exact, ones are held to rounding).
    #[test]
    fn factors_are_those_of_nist_sp_811() {
        let printed = [
            ("lbf", 4.448_222),
            ("psi", 6.894_757e-2),
            ("in lb", 0.112_984_8),
            ("ft lb", 1.355_818),
            ("lb/in", 175.126_8e-3),
            ("oz", 2.834_952e-2),
            ("st", 6.350_293),
            ("rad", 57.295_78),
        ];
        for (name, expected) in printed {
            // Half a unit of the seventh digit.
            assert!((factor(name) / expected - 1.0_f64).abs() < 5e-7, "{name}: {}", factor(name));
        }
        let exact = [
            ("in", 25.4),
            ("ft", 304.8),
            ("mi", 1_609_344.0),
            ("lb", 0.453_592_37),
            ("mph", 1.609_344),
            ("kgf", 9.806_65),
            ("kgf cm", 0.098_066_5),
            ("m/s", 3.6),
            ("MPa", 10.0),
            ("kPa", 0.01),
        ];
        for (name, expected) in exact {
            assert!((factor(name) / expected - 1.0_f64).abs() < 4.0 * f64::EPSILON, "{name}: {}", factor(name));
        }
    }

    /// Freezing and boiling water, and the temperature at which the two scales agree.
    #[test]
    fn fahrenheit_has_an_offset_and_its_differences_have_none() {
        let fahrenheit = Unit::named("°F").unwrap();
        for (f, c) in [(32.0, 0.0), (212.0, 100.0), (-40.0, -40.0)] {
            assert!((fahrenheit.to_base(f) - c).abs() < 1e-12 && (fahrenheit.from_base(c) - f).abs() < 1e-12, "{f} °F");
        }
        assert!((fahrenheit.difference_to_base(9.0) - 5.0).abs() < 1e-12);
        assert!((fahrenheit.difference_from_base(5.0) - 9.0).abs() < 1e-12);
    }

    #[test]
    fn every_name_finds_its_unit_where_its_dimension_is_expected() {
        for unit in UNITS {
            for name in unit.spellings() {
                assert_eq!(Unit::named_for(name, unit.dimension), Some(unit), "{name}");
            }
        }
    }

    /// Two units of one dimension never share a name, or one of them could not be written.
    #[test]
    fn no_name_is_given_twice_in_a_dimension() {
        let mut seen = std::collections::HashSet::new();
        for unit in UNITS {
            for name in unit.spellings() {
                assert!(seen.insert((unit.dimension, name)), "{name}");
            }
        }
    }

    #[test]
    fn every_dimension_has_its_base() {
        for dimension in Dimension::ALL {
            let base = Unit::base(dimension);
            assert_eq!((base.dimension, base.symbol, base.factor, base.offset), (dimension, dimension.base_symbol(), 1.0, 0.0));
            assert_eq!(Dimension::from_word(dimension.word()), Some(dimension));
            assert_eq!(dimension.base_in_words().is_empty(), base.symbol.is_empty());
        }
        assert_eq!(Dimension::from_word("colour"), None);
    }

    #[test]
    fn case_is_forgiven_where_it_decides_nothing() {
        for (written, meant) in
            [("MM", "mm"), ("PSI", "psi"), ("Kg", "kg"), ("kpa", "kPa"), ("ML", "cm3"), ("L", "l"), ("NM", "N m")]
        {
            assert_eq!(Unit::named(written).unwrap().symbol(), meant);
        }
        assert!(Unit::named("furlong").is_none() && Unit::named("").is_none());
    }
}
