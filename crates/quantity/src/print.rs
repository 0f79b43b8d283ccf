//! Numbers for people, never with more digits than their tolerance carries.
//!
//! 1. The expanded uncertainty U (k = 2) is rounded to two significant digits if they read 10 … 29, else to one. JCGM 100:2008, 7.2.6,
//!    allows at most two; one digit would misstate 1.4 or 2.4 by up to half.
//! 2. It is rounded to the nearest digit, but never down by more than 5 % (EA-4/02 M, section 6; from memory): 3.1 prints as 3, 3.2
//!    as 4. JCGM 100:2008, 7.2.6: "it may sometimes be appropriate to round uncertainties up rather than to the nearest digit …
//!    However, common sense should prevail".
//! 3. The value is rounded to the same place.
//!
//! A value without uncertainty prints the digits natural to its dimension, without trailing zeros; a small one at least two
//! significant digits of its own. Nothing is printed finer than a hundredth of the natural digit: what is less than half of that is
//! "0". Minus is U+2212 and zero has no sign.

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
    /// The unit this system prints a dimension in. Angles, durations, volumes, shares, numbers and prices are the same in both.
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
            Self::Imperial => Unit::named_for(imperial, dimension).unwrap_or(Unit::base(dimension)),
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
    /// The unit as printed: `mm`, `°`, `°C`; empty for numbers and prices.
    pub unit: &'static str,
}

impl Printed {
    /// Whether the unit is set against the number without a space: `68.1°`.
    fn close(&self) -> bool {
        self.unit == "°"
    }
}

impl fmt::Display for Printed {
    /// `531 ± 2 mm`, `68.1° ± 0.1°`; the spaces are no-break spaces, so that a number never parts from its unit.
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

/// Prints a value (base unit) with its expanded uncertainty (base unit; zero or less if exact).
///
/// ```
/// use quantity::{Dimension, print::{self, Units}};
/// let shown = print::value(531.27, 2.31, Dimension::Length, Units::Metric);
/// assert_eq!(shown.to_string(), "531.3\u{a0}±\u{a0}2.3\u{a0}mm");
/// ```
pub fn value(value: f64, expanded: f64, dimension: Dimension, units: Units) -> Printed {
    let unit = units.unit(dimension);
    printed(unit.from_base(value), unit.difference_from_base(expanded), unit, false)
}

/// Prints a change (base unit) with its expanded uncertainty and an explicit sign. No change is "0", and a change that rounds to
/// nothing has no sign. A change of temperature has no offset.
///
/// ```
/// use quantity::{Dimension, print::{self, Units}};
/// let shown = print::change(-0.938, 0.05, Dimension::Angle, Units::Metric);
/// assert_eq!((shown.number.as_str(), shown.plus_minus.as_deref()), ("−0.94", Some("0.05")));
/// ```
pub fn change(change: f64, expanded: f64, dimension: Dimension, units: Units) -> Printed {
    let unit = units.unit(dimension);
    printed(unit.difference_from_base(change), unit.difference_from_base(expanded), unit, true)
}

/// Prints a sum of money: `189.90 EUR`.
///
/// ```
/// # use quantity::print::money;
/// assert_eq!(money(189.9, Some("EUR")), "189.90\u{a0}EUR");
/// assert_eq!(money(12.0, None), "12.00");
/// ```
pub fn money(sum: f64, currency: Option<&str>) -> String {
    currency.map_or_else(|| format!("{sum:.2}"), |currency| format!("{sum:.2}\u{a0}{currency}"))
}

fn printed(value: f64, expanded: f64, unit: Unit, signed: bool) -> Printed {
    let natural = natural_decimals(unit);
    let finest = natural + FINER;
    let (decimals, plus_minus) = if expanded.is_nan() || expanded == f64::INFINITY {
        // Nothing is known of the value: no digit of it is carried.
        (natural.min(0), Some("∞".to_owned()))
    } else if expanded > 0.0 {
        let decimals = carried_decimals(expanded).min(finest);
        (decimals, Some(fixed(rounded(expanded, decimals).max(place(decimals)), decimals)))
    } else {
        (exact_decimals(value, natural, finest), None)
    };
    let mut number = fixed(value, decimals);
    if plus_minus.is_none() {
        number = trimmed(&number, unit.dimension() == Dimension::Price);
    }
    if number.chars().all(|c| matches!(c, '0' | '.' | '-')) {
        number = number.replace('-', "");
    } else if signed && !number.starts_with('-') {
        number.insert(0, '+');
    }
    Printed { number: number.replace('-', "\u{2212}"), plus_minus, unit: unit.printed() }
}

/// Decimals beyond the natural ones at which printing ends: a micrometre, a gram's hundredth.
const FINER: i32 = 2;

/// Decimals natural to a unit: about what a workshop's tools tell.
fn natural_decimals(unit: Unit) -> i32 {
    match unit.symbol() {
        "deg" | "kg" | "lb" | "in" | "N m" | "bar" | "" => 2,
        _ => 1,
    }
}

/// Decimals an exact value is given at most: the natural ones, but two significant digits of a small value.
fn exact_decimals(value: f64, natural: i32, finest: i32) -> i32 {
    if value == 0.0 || !value.is_finite() { natural } else { (1 - order(value)).clamp(natural, finest) }
}

/// Share by which an uncertainty may be printed too small (EA-4/02 M, section 6; from memory).
const UNDERSTATED: f64 = 0.05;

/// Decimals that an expanded uncertainty carries: negative for tens and hundreds.
fn carried_decimals(expanded: f64) -> i32 {
    let two_digits = 1 - order(expanded);
    // 2.96 would read 3.0 with two digits, which is more than it carries: 3.
    if rounded(expanded, two_digits) / place(two_digits) < 29.5 { two_digits } else { two_digits - 1 }
}

/// Rounded to a place, to the nearest, or up if that would understate it.
fn rounded(expanded: f64, decimals: i32) -> f64 {
    let in_places = expanded / place(decimals);
    let nearest = in_places.round();
    // The slack leaves 3.1578947368 = 3/0.95 on the same side however it was computed.
    let places = if nearest < in_places * (1.0 - UNDERSTATED) - 1e-9 { nearest + 1.0 } else { nearest };
    places * place(decimals)
}

/// The size of the last place with so many decimals.
fn place(decimals: i32) -> f64 {
    10.0_f64.powi(-decimals)
}

/// Decimal order of a number that is not zero: floor of log10.
fn order(x: f64) -> i32 {
    #[expect(clippy::cast_possible_truncation, reason = "the order of a finite number lies between −324 and 308")]
    let order = x.abs().log10().floor() as i32;
    order
}

/// `x` with so many decimals, rounded to tens and hundreds for negative ones.
fn fixed(x: f64, decimals: i32) -> String {
    if x.is_infinite() {
        if x > 0.0 { "∞".to_owned() } else { "-∞".to_owned() }
    } else if decimals < 0 && x.is_finite() {
        format!("{:.0}", (x / place(decimals)).round() * place(decimals))
    } else {
        let decimals = u32::try_from(decimals).unwrap_or(0);
        whole_places(x, decimals).unwrap_or_else(|| format!("{x:.*}", decimals as usize))
    }
}

/// The same for most numbers in a fifth of the time: counted in whole places. `None` for what is too large or so near the middle
/// between two places that multiplying could put it on the other side.
fn whole_places(x: f64, decimals: u32) -> Option<String> {
    const MOST_DECIMALS: u32 = 6;
    const LARGEST: f64 = 1e9;
    const NEAR_THE_MIDDLE: f64 = 1e-6;
    if decimals > MOST_DECIMALS {
        return None;
    }
    let in_places = x.abs() * f64::from(10_u32.pow(decimals));
    if in_places.is_nan() || in_places >= LARGEST || (in_places.fract() - 0.5).abs() < NEAR_THE_MIDDLE {
        return None;
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 0 to a milliard")]
    let places = in_places.round() as u32;
    let (whole, rest) = (places / 10_u32.pow(decimals), places % 10_u32.pow(decimals));
    let mut text = String::with_capacity(16);
    if x.is_sign_negative() {
        text.push('-');
    }
    let mut digits = itoa::Buffer::new();
    text.push_str(digits.format(whole));
    if decimals > 0 {
        text.push('.');
        let rest = digits.format(rest);
        text.extend(std::iter::repeat_n('0', decimals as usize - rest.len()));
        text.push_str(rest);
    }
    Some(text)
}

/// Without trailing zeros after the point; prices only lose both (`49.90`, `50`).
fn trimmed(text: &str, only_whole: bool) -> String {
    let Some((whole, decimals)) = text.split_once('.') else { return text.to_owned() };
    match decimals.trim_end_matches('0') {
        "" => whole.to_owned(),
        _ if only_whole => text.to_owned(),
        left => format!("{whole}.{left}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(printed: &Printed) -> String {
        printed.to_string().replace('\u{a0}', " ")
    }

    #[test]
    fn digits_follow_the_tolerance() {
        let cases = [
            (531.27, 2.3, Dimension::Length, "531.3 ± 2.3 mm"),
            (531.27, 3.1, Dimension::Length, "531 ± 3 mm"),
            (531.27, 3.2, Dimension::Length, "531 ± 4 mm"),
            (531.27, 2.96, Dimension::Length, "531 ± 3 mm"),
            (531.27, 9.6, Dimension::Length, "531 ± 10 mm"),
            (531.27, 31.0, Dimension::Length, "530 ± 30 mm"),
            (531.27, 250.0, Dimension::Length, "530 ± 250 mm"),
            (531.27, 3000.0, Dimension::Length, "1000 ± 3000 mm"),
            (531.27, 0.000_1, Dimension::Length, "531.270 ± 0.001 mm"),
            (68.058, 0.05, Dimension::Angle, "68.06° ± 0.05°"),
            (68.058, 0.1, Dimension::Angle, "68.06° ± 0.10°"),
            (68.058, 0.11, Dimension::Angle, "68.06° ± 0.11°"),
            (-68.058, 0.3, Dimension::Angle, "−68.1° ± 0.3°"),
            (21.2, 1.2, Dimension::Temperature, "21.2 ± 1.2 °C"),
            (0.04, 0.016, Dimension::Length, "0.040 ± 0.016 mm"),
        ];
        for (v, expanded, dimension, expected) in cases {
            assert_eq!(plain(&value(v, expanded, dimension, Units::Metric)), expected, "{v} ± {expanded}");
        }
    }

    /// The guide's own examples of rounding (JCGM 100:2008, 7.2.6): 28.05 kHz to 28 kHz, and 10.057 62 Ω with 27 mΩ to 10.058 Ω.
    #[test]
    fn the_guide_s_examples_of_rounding() {
        assert_eq!(value(0.0, 28.05, Dimension::Number, Units::Metric).plus_minus.unwrap(), "28");
        let ohm = value(10.057_62, 0.027, Dimension::Number, Units::Metric);
        assert_eq!((ohm.number.as_str(), ohm.plus_minus.as_deref()), ("10.058", Some("0.027")));
    }

    #[test]
    fn exact_values_print_natural_digits() {
        let cases = [
            (531.0, Dimension::Length, "531 mm"),
            (28.6, Dimension::Length, "28.6 mm"),
            (530.86, Dimension::Length, "530.9 mm"),
            (0.04, Dimension::Length, "0.04 mm"),
            (0.041_6, Dimension::Length, "0.042 mm"),
            (1e-9, Dimension::Length, "0 mm"),
            (-1e-9, Dimension::Length, "0 mm"),
            (69.0, Dimension::Angle, "69°"),
            (68.5, Dimension::Angle, "68.5°"),
            (1.875, Dimension::Mass, "1.88 kg"),
            (25.0, Dimension::Share, "25 %"),
            (32.0, Dimension::Number, "32"),
            (49.9, Dimension::Price, "49.90"),
            (50.0, Dimension::Price, "50"),
            (5.0, Dimension::Torque, "5 N m"),
            (40.0, Dimension::Volume, "40 cm³"),
        ];
        for (v, dimension, expected) in cases {
            assert_eq!(plain(&value(v, 0.0, dimension, Units::Metric)), expected, "{v}");
        }
    }

    #[test]
    fn changes_carry_a_sign_and_zero_does_not() {
        let shown = |v: f64, e: f64| plain(&change(v, e, Dimension::Length, Units::Metric));
        assert_eq!(shown(7.12, 0.3), "+7.1 ± 0.3 mm");
        assert_eq!(shown(-10.02, 0.4), "−10.0 ± 0.4 mm");
        assert_eq!(shown(-0.01, 0.4), "0.0 ± 0.4 mm");
        assert_eq!(shown(0.01, 0.4), "0.0 ± 0.4 mm");
        assert_eq!(shown(-0.0, 0.0), "0 mm");
        assert_eq!(shown(1e-12, 0.0), "0 mm");
    }

    #[test]
    fn imperial() {
        let shown = |v: f64, e: f64, d| plain(&value(v, e, d, Units::Imperial));
        assert_eq!(shown(531.0, 2.0, Dimension::Length), "20.91 ± 0.08 in");
        assert_eq!(shown(28.6, 0.0, Dimension::Length), "1.13 in");
        assert_eq!(shown(80.0, 0.0, Dimension::Mass), "176.37 lb");
        assert_eq!(shown(2.0, 0.1, Dimension::Pressure), "29.0 ± 1.5 psi");
        assert_eq!(shown(5.0, 0.0, Dimension::Torque), "44.3 in lb");
        assert_eq!(shown(20.0, 0.0, Dimension::Temperature), "68 °F");
        assert_eq!(shown(68.5, 0.1, Dimension::Angle), "68.50° ± 0.10°");
        assert_eq!(change(10.0, 0.0, Dimension::Temperature, Units::Imperial).number, "+18");
    }

    #[test]
    fn what_is_not_known_is_not_printed_as_exact() {
        assert_eq!(plain(&value(531.27, f64::INFINITY, Dimension::Length, Units::Metric)), "531 ± ∞ mm");
        assert_eq!(value(531.27, f64::NAN, Dimension::Length, Units::Metric).plus_minus.unwrap(), "∞");
        assert_eq!(value(f64::NEG_INFINITY, 0.0, Dimension::Length, Units::Metric).number, "−∞");
    }
}
