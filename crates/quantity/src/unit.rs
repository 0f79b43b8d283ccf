//! In what a quantity is written.
//!
//! `base value = factor × written value + offset`. Factors are exact where the definition is: the inch is 25.4 mm and the pound
//! 0.453 592 37 kg (international yard and pound agreement, 1959), standard gravity is 9.806 65 m/s² (3rd CGPM, 1901); the rest
//! follows from these (NIST Special Publication 811, 2008, appendix B).

use std::f64::consts::PI;

use crate::Dimension;

/// A unit of the table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    symbol: &'static str,
    dimension: Dimension,
    factor: f64,
    offset: f64,
    pub(crate) names: &'static [&'static str],
}

/// kg in a pound.
const POUND_KG: f64 = 0.453_592_37;
/// N that a pound weighs.
const POUND_N: f64 = POUND_KG * STANDARD_GRAVITY_M_S2;
/// m/s².
const STANDARD_GRAVITY_M_S2: f64 = 9.806_65;
/// mm in an inch.
const INCH_MM: f64 = 25.4;

const fn unit(symbol: &'static str, dimension: Dimension, factor: f64, names: &'static [&'static str]) -> Unit {
    Unit { symbol, dimension, factor, offset: 0.0, names }
}

/// Every unit that can be written, base units first of their dimension.
pub const UNITS: [Unit; 40] = [
    unit("mm", Dimension::Length, 1.0, &["millimetre", "millimetres", "millimeter", "millimeters"]),
    unit("cm", Dimension::Length, 10.0, &["centimetre", "centimetres", "centimeter", "centimeters"]),
    unit("m", Dimension::Length, 1000.0, &["metre", "metres", "meter", "meters"]),
    unit("µm", Dimension::Length, 0.001, &["um", "μm", "micron", "microns"]),
    unit("in", Dimension::Length, INCH_MM, &["inch", "inches", "\"", "″", "”"]),
    unit("ft", Dimension::Length, 12.0 * INCH_MM, &["foot", "feet", "'"]),
    unit("deg", Dimension::Angle, 1.0, &["°", "degree", "degrees"]),
    unit("rad", Dimension::Angle, 180.0 / PI, &["radian", "radians"]),
    unit("kg", Dimension::Mass, 1.0, &["kilo", "kilos", "kilogram", "kilograms"]),
    unit("g", Dimension::Mass, 0.001, &["gram", "grams", "gramme", "grammes"]),
    unit("lb", Dimension::Mass, POUND_KG, &["lbs", "pound", "pounds"]),
    unit("oz", Dimension::Mass, POUND_KG / 16.0, &["ounce", "ounces"]),
    unit("st", Dimension::Mass, 14.0 * POUND_KG, &["stone", "stones"]),
    unit("N", Dimension::Force, 1.0, &["newton", "newtons"]),
    unit("lbf", Dimension::Force, POUND_N, &[]),
    unit("kgf", Dimension::Force, STANDARD_GRAVITY_M_S2, &[]),
    unit("N m", Dimension::Torque, 1.0, &["Nm", "N·m", "N*m"]),
    unit("in lb", Dimension::Torque, POUND_N * INCH_MM / 1000.0, &["in-lb", "in lbf", "in-lbs", "in lbs"]),
    unit("ft lb", Dimension::Torque, POUND_N * 12.0 * INCH_MM / 1000.0, &["ft-lb", "ft lbf", "ft-lbs", "ft lbs"]),
    unit("kgf cm", Dimension::Torque, STANDARD_GRAVITY_M_S2 / 100.0, &["kgf·cm"]),
    unit("bar", Dimension::Pressure, 1.0, &["bars"]),
    unit("psi", Dimension::Pressure, POUND_N / (INCH_MM * INCH_MM) * 10.0, &["PSI", "lbf/in2"]),
    unit("kPa", Dimension::Pressure, 0.01, &["kpa"]),
    unit("MPa", Dimension::Pressure, 10.0, &[]),
    unit("N/mm", Dimension::Stiffness, 1.0, &[]),
    unit("lb/in", Dimension::Stiffness, POUND_N / INCH_MM, &["lbf/in", "lbs/in"]),
    unit("min", Dimension::Duration, 1.0, &["minute", "minutes"]),
    unit("s", Dimension::Duration, 1.0 / 60.0, &["second", "seconds", "sec"]),
    unit("h", Dimension::Duration, 60.0, &["hour", "hours", "hr"]),
    unit("km/h", Dimension::Speed, 1.0, &["kph", "kmh"]),
    unit("m/s", Dimension::Speed, 3.6, &[]),
    unit("mph", Dimension::Speed, 1.609_344, &["mi/h"]),
    unit("degC", Dimension::Temperature, 1.0, &["°C", "C"]),
    Unit { symbol: "degF", dimension: Dimension::Temperature, factor: 5.0 / 9.0, offset: -160.0 / 9.0, names: &["°F", "F"] },
    unit("cm3", Dimension::Volume, 1.0, &["cm³", "ml", "mL", "cc"]),
    unit("l", Dimension::Volume, 1000.0, &["L", "litre", "litres"]),
    unit("%", Dimension::Share, 1.0, &["percent", "per cent"]),
    unit("", Dimension::Number, 1.0, &["teeth", "t", "T"]),
    unit("", Dimension::Price, 1.0, &[]),
    unit("arcmin", Dimension::Angle, 1.0 / 60.0, &["′"]),
];

impl Unit {
    /// Symbol as printed.
    pub const fn symbol(self) -> &'static str {
        self.symbol
    }

    /// Dimension.
    pub const fn dimension(self) -> Dimension {
        self.dimension
    }

    /// A value written in this unit, in the base unit.
    pub fn to_base(self, written: f64) -> f64 {
        written * self.factor + self.offset
    }

    /// A value in the base unit, as written in this unit.
    pub fn from_base(self, base: f64) -> f64 {
        (base - self.offset) / self.factor
    }

    /// A difference or tolerance written in this unit, in the base unit: no offset.
    pub fn difference_to_base(self, written: f64) -> f64 {
        written * self.factor
    }

    /// A difference in the base unit, as written in this unit.
    pub fn difference_from_base(self, base: f64) -> f64 {
        base / self.factor
    }

    /// The unit a text names: a symbol or one of its other names, in the trade's usual spellings.
    pub fn named(text: &str) -> Option<Self> {
        let exact = |u: &&Unit| !text.is_empty() && (u.symbol == text || u.names.contains(&text));
        UNITS.iter().find(exact).copied().or_else(|| {
            // `MM`, `Kg`: case is forgiven where it decides nothing.
            let lower = text.to_lowercase();
            UNITS
                .iter()
                .find(|u| {
                    lower.len() > 1 && (u.symbol.to_lowercase() == lower || u.names.iter().any(|n| n.to_lowercase() == lower))
                })
                .copied()
        })
    }

    /// The base unit of a dimension.
    pub fn base(dimension: Dimension) -> Self {
        UNITS.iter().find(|u| u.dimension == dimension).copied().unwrap_or(UNITS[0])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST Special Publication 811 (2008), appendix B.8 (from memory, to the digits printed there).
    #[test]
    fn factors_are_those_of_nist_sp_811() {
        let factor = |name: &str| Unit::named(name).unwrap().to_base(1.0);
        let near = |got: f64, want: f64, relative: f64| assert!((got / want - 1.0).abs() < relative, "{got} {want}");
        near(factor("lbf"), 4.448_222, 1e-6);
        near(factor("psi"), 0.068_947_57, 1e-6);
        near(factor("in lb"), 0.112_984_8, 1e-6);
        near(factor("ft lb"), 1.355_818, 1e-6);
        near(factor("lb/in") * 1000.0, 175.126_8, 1e-6);
        near(factor("kgf cm"), 0.098_066_5, 1e-12);
        near(factor("mph"), 1.609_344, 1e-12);
        near(factor("st"), 6.350_293, 1e-6);
        assert!((Unit::named("degF").unwrap().to_base(212.0) - 100.0).abs() < 1e-12);
        assert!((Unit::named("degF").unwrap().from_base(0.0) - 32.0).abs() < 1e-12);
    }

    #[test]
    fn every_name_finds_its_unit_and_every_dimension_its_base() {
        for unit in UNITS {
            for name in unit.names {
                assert_eq!(Unit::named(name).unwrap().dimension, unit.dimension, "{name}");
            }
            assert!((unit.from_base(unit.to_base(17.3)) - 17.3).abs() < 1e-12);
        }
        for dimension in Dimension::ALL {
            let base = Unit::base(dimension);
            assert_eq!((base.dimension, base.symbol), (dimension, dimension.base_symbol()));
            assert_eq!(Dimension::from_word(dimension.word()), Some(dimension));
        }
        assert_eq!(Unit::named("MM").unwrap().symbol(), "mm");
        assert!(Unit::named("furlong").is_none() && Unit::named("").is_none());
    }
}
