//! Numbers for people, never with more digits than their tolerance carries.
//!
//! The expanded uncertainty is rounded up to one significant digit, or two where the first is a 1 or 2 (JCGM 100:2008, 7.2.6 allows
//! at most two), and the value to the same place. Values without uncertainty print the digits natural to their dimension.

use std::fmt;

use crate::{Dimension, Unit};

/// The system of units to print in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Units {
    /// mm, kg, bar, N m.
    #[default]
    Metric,
    /// in, lb, psi, in lb.
    Imperial,
}

impl Units {
    /// The unit this system prints a dimension in.
    pub fn unit(self, dimension: Dimension) -> Unit {
        let imperial = match dimension {
            Dimension::Length => "in",
            Dimension::Mass => "lb",
            Dimension::Force => "lbf",
            Dimension::Torque => "in lb",
            Dimension::Pressure => "psi",
            Dimension::Stiffness => "lb/in",
            Dimension::Speed => "mph",
            Dimension::Temperature => "degF",
            _ => return Unit::base(dimension),
        };
        match self {
            Self::Metric => Unit::base(dimension),
            Self::Imperial => Unit::named(imperial).unwrap_or(Unit::base(dimension)),
        }
    }
}

/// A number ready to be shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Printed {
    /// The number, with U+2212 for minus.
    pub number: String,
    /// Its ±, if it has any.
    pub plus_minus: Option<String>,
    /// The unit as printed; `°` for angles.
    pub unit: &'static str,
}

impl Printed {
    /// Whether the unit is set against the number without a space: `68.1°`.
    fn close(&self) -> bool {
        self.unit == "°"
    }
}

impl fmt::Display for Printed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let space = if self.unit.is_empty() || self.close() { "" } else { "\u{a0}" };
        match &self.plus_minus {
            None => write!(f, "{}{space}{}", self.number, self.unit),
            // Degrees go on both, the rest once at the end: `68.1° ± 0.1°`, `531 ± 2 mm`.
            Some(pm) if self.close() => write!(f, "{}°\u{a0}±\u{a0}{pm}°", self.number),
            Some(pm) => write!(f, "{}\u{a0}±\u{a0}{pm}{space}{}", self.number, self.unit),
        }
    }
}

/// Prints a value (base unit) with its expanded uncertainty (base unit; zero if exact).
pub fn value(value: f64, expanded: f64, dimension: Dimension, units: Units) -> Printed {
    let unit = units.unit(dimension);
    printed(unit.from_base(value), unit.difference_from_base(expanded), unit, false)
}

/// Prints a change (base unit) with its expanded uncertainty and an explicit sign.
pub fn change(change: f64, expanded: f64, dimension: Dimension, units: Units) -> Printed {
    let unit = units.unit(dimension);
    printed(unit.difference_from_base(change), unit.difference_from_base(expanded), unit, true)
}

fn printed(value: f64, expanded: f64, unit: Unit, signed: bool) -> Printed {
    let natural = natural_decimals(unit);
    let (decimals, plus_minus) = if expanded > 0.0 && expanded.is_finite() {
        // A tolerance finer than anything a workshop measures is printed no finer than a hundredth of the natural digit.
        let decimals = carried_decimals(expanded).min(natural + 2);
        (decimals, Some(round_up(expanded, decimals)))
    } else {
        (natural, None)
    };
    let mut number = fixed(value, decimals);
    if plus_minus.is_none() {
        number = trimmed(number);
    }
    let zero = number.chars().all(|c| matches!(c, '0' | '.' | '-'));
    if zero {
        number = number.replace('-', "");
    }
    if signed && !zero && !number.starts_with('-') {
        number.insert(0, '+');
    }
    let unit = match unit.symbol() {
        "deg" => "°",
        "degC" => "°C",
        "degF" => "°F",
        "cm3" => "cm³",
        other => other,
    };
    Printed { number: number.replace('-', "\u{2212}"), plus_minus: plus_minus.map(|t| t.replace('-', "\u{2212}")), unit }
}

/// Decimals an exact value is given at most.
fn natural_decimals(unit: Unit) -> i32 {
    match unit.symbol() {
        "mm" | "%" | "psi" | "N" | "km/h" | "degC" | "degF" | "N/mm" | "in lb" | "min" | "mph" | "cm3" | "lb/in" | "lbf" => 1,
        _ => 2,
    }
}

/// Share of the last digit by which an uncertainty may be printed too small.
const FORGIVEN: f64 = 0.01;

/// Decimals that an expanded uncertainty carries: negative for tens and hundreds.
fn carried_decimals(expanded: f64) -> i32 {
    let exponent = order(expanded);
    let leading = expanded / 10.0_f64.powi(exponent);
    // Two digits where the first is 1 or 2: rounding 1.4 up to 2 would overstate it by nearly half.
    if (leading * 10.0 - FORGIVEN).ceil() < 30.0 { 1 - exponent } else { -exponent }
}

/// Decimal order: floor of log10.
fn order(x: f64) -> i32 {
    #[expect(clippy::cast_possible_truncation, reason = "the order of a finite number lies between −324 and 308")]
    let order = x.abs().log10().floor() as i32;
    order
}

/// `x` with so many decimals, rounded to tens and hundreds for negative ones.
fn fixed(x: f64, decimals: i32) -> String {
    if decimals < 0 {
        let step = 10.0_f64.powi(-decimals);
        format!("{:.0}", (x / step).round() * step)
    } else {
        format!("{x:.*}", usize::try_from(decimals).unwrap_or(0))
    }
}

/// An uncertainty is rounded up, so that it is never understated, but for [`FORGIVEN`].
fn round_up(x: f64, decimals: i32) -> String {
    let step = 10.0_f64.powi(-decimals);
    trimmed_if_whole(fixed((x / step - FORGIVEN).ceil().max(1.0) * step, decimals), decimals)
}

fn trimmed_if_whole(text: String, decimals: i32) -> String {
    if decimals <= 0 { trimmed(text) } else { text }
}

/// Without trailing zeros after the point.
fn trimmed(text: String) -> String {
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(v: f64, expanded: f64, dimension: Dimension) -> String {
        value(v, expanded, dimension, Units::Metric).to_string().replace('\u{a0}', " ")
    }

    #[test]
    fn digits_follow_the_tolerance() {
        assert_eq!(shown(531.27, 2.3, Dimension::Length), "531.3 ± 2.3 mm");
        assert_eq!(shown(531.27, 3.2, Dimension::Length), "531 ± 4 mm");
        assert_eq!(shown(531.27, 31.0, Dimension::Length), "530 ± 40 mm");
        assert_eq!(shown(68.058, 0.05, Dimension::Angle), "68.06° ± 0.05°");
        assert_eq!(shown(68.058, 0.11, Dimension::Angle), "68.06° ± 0.11°");
        assert_eq!(shown(531.0, 0.0, Dimension::Length), "531 mm");
        assert_eq!(shown(28.6, 0.0, Dimension::Length), "28.6 mm");
        assert_eq!(shown(69.0, 0.0, Dimension::Angle), "69°");
        assert_eq!(shown(25.0, 0.0, Dimension::Share), "25 %");
        assert_eq!(shown(32.0, 0.0, Dimension::Number), "32");
    }

    #[test]
    fn changes_carry_a_sign_and_zero_does_not() {
        let shown = |v: f64, e: f64| change(v, e, Dimension::Length, Units::Metric).to_string().replace('\u{a0}', " ");
        assert_eq!(shown(7.12, 0.3), "+7.1 ± 0.3 mm");
        assert_eq!(shown(-10.02, 0.4), "\u{2212}10.0 ± 0.4 mm");
        assert_eq!(shown(-0.01, 0.4), "0.0 ± 0.4 mm");
        assert_eq!(shown(-0.0, 0.0), "0 mm");
    }

    #[test]
    fn imperial() {
        let shown = |v: f64, e: f64, d| value(v, e, d, Units::Imperial).to_string().replace('\u{a0}', " ");
        assert_eq!(shown(531.0, 2.0, Dimension::Length), "20.91 ± 0.08 in");
        assert_eq!(shown(80.0, 0.0, Dimension::Mass), "176.37 lb");
        assert_eq!(shown(2.0, 0.1, Dimension::Pressure), "29.0 ± 1.5 psi");
        assert_eq!(shown(20.0, 0.0, Dimension::Temperature), "68 °F");
        assert_eq!(change(10.0, 0.0, Dimension::Temperature, Units::Imperial).number, "+18");
    }
}
