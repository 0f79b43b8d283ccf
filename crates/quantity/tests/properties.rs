//! What holds for all texts, values and units.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

use proptest::prelude::*;
use quantity::print::{self, Units};
use quantity::unit::UNITS;
use quantity::{Dimension, Unit, parse};

fn dimensions() -> impl Strategy<Value = Dimension> {
    prop::sample::select(Dimension::ALL.to_vec())
}

/// A dimension and one of its units that has a symbol to write.
fn units() -> impl Strategy<Value = Unit> {
    prop::sample::select(UNITS.iter().copied().filter(|unit| !unit.symbol().is_empty()).collect::<Vec<_>>())
}

/// Pieces that quantities are made of, in any order: nearer to the grammar than random letters.
fn almost_quantities() -> impl Strategy<Value = String> {
    let pieces = [
        "531", "1", "0", "1/8", "½", ".5", "1.5", "1,5", "1,234", "1 234", "1e3", "1e999", "-", "−", "+", "±", "+-", "~", "≈",
        "(", ")", "(2)", " ", "\u{a0}", "mm", "in", "ft", "deg", "°", "'", "\"", "′", "″", "%", "N", "m", "N m", "degF", "lb",
        "st", "in-lb", ",", ".", "..", "…", "–", "to", "/", "about", "nan", "inf", "∞", "^", "cm3", "µm", "teeth", "İ", "ß", "e",
        "E", "\n", "\u{301}",
    ];
    prop::collection::vec(prop::sample::select(pieces.to_vec()), 0..9).prop_map(|pieces| pieces.concat())
}

/// What has to hold of any text: it is read, or refused with a span inside it, words, and a proposal that can be read.
fn read_or_refused(text: &str, dimension: Dimension) -> Result<(), TestCaseError> {
    match parse(text, dimension) {
        Ok(written) => {
            prop_assert_eq!(written.quantity.dimension(), dimension);
            prop_assert!(written.quantity.value().is_finite() && written.quantity.spread().plus_minus() >= 0.0);
            prop_assert!(written.unit.is_none_or(|unit| unit.dimension() == dimension));
        }
        Err(error) => {
            prop_assert!(text.get(error.span.clone()).is_some(), "span {:?} of {:?}", error.span, text);
            prop_assert!(!error.to_string().is_empty() && !error.label().is_empty() && error.help().is_some());
            if let Some(corrected) = error.corrected() {
                prop_assert!(parse(corrected, dimension).is_ok(), "{:?} put right as {:?}", text, corrected);
            }
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 1024, ..ProptestConfig::default() })]

    #[test]
    fn any_text_is_read_or_refused(text in "\\PC{0,24}", dimension in dimensions()) {
        read_or_refused(&text, dimension)?;
    }

    #[test]
    fn almost_a_quantity_is_read_or_refused(text in almost_quantities(), dimension in dimensions()) {
        read_or_refused(&text, dimension)?;
    }

    /// Written with all its digits, a value comes back as it was, in any unit and with any sign for the minus.
    #[test]
    fn what_is_written_is_read(value in -1e6..1e6_f64, half_width in 0.0..1e3_f64, unit in units(), guess: bool) {
        let text = format!("{}{value} ± {half_width} {unit}", if guess { "~" } else { "" });
        for text in [text.replace('-', "−"), text] {
            let written = parse(&text, unit.dimension()).unwrap();
            prop_assert_eq!(written.quantity.value().to_bits(), (unit.to_base(value) + 0.0).to_bits());
            prop_assert_eq!(written.quantity.spread().plus_minus().to_bits(), unit.difference_to_base(half_width).to_bits());
            prop_assert_eq!((written.unit, written.guess, written.tolerance_stated), (Some(unit), guess, true));
        }
    }

    /// There and back in a unit changes a value by rounding only.
    #[test]
    fn units_convert_there_and_back(value in -1e6..1e6_f64, unit in units()) {
        // The offset of degrees Fahrenheit cancels leading digits of small values.
        let rounding = 4.0 * f64::EPSILON * value.abs().max(100.0);
        prop_assert!((unit.from_base(unit.to_base(value)) - value).abs() <= rounding);
        prop_assert!((unit.difference_from_base(unit.difference_to_base(value)) - value).abs() <= rounding);
        // A difference is the difference of two values.
        let difference = unit.to_base(value) - unit.to_base(0.0);
        prop_assert!((difference - unit.difference_to_base(value)).abs() <= 1e-12 * difference.abs().max(100.0));
    }

    /// What is printed can be read; it names the same value within its ±, the ± is neither understated by more than 5 % nor
    /// overstated by more than 27 % (3.16 printed as 4) or the finest place, and printing it again changes nothing.
    #[test]
    fn what_is_printed_is_read(
        value in -5000.0..5000.0_f64, order in -2.0..3.0_f64, dimension in dimensions(), imperial: bool,
    ) {
        let units = if imperial { Units::Imperial } else { Units::Metric };
        let expanded = 10.0_f64.powf(order);
        let printed = print::value(value, expanded, dimension, units);
        let text = printed.to_string();
        let again = parse(&text, dimension).unwrap().quantity;
        let stated = again.spread().plus_minus();
        // Half a last place of the ±, which is at least a thirtieth of it, or the finest place that is printed.
        prop_assert!((again.value() - value).abs() <= 0.5 * stated, "{text}: {value}");
        let finest = units.unit(dimension).difference_to_base(0.001);
        prop_assert!(stated >= 0.949 * expanded && stated <= (1.27 * expanded).max(expanded + finest), "{text}: {expanded}");
        let twice = print::value(again.value(), stated, dimension, units);
        prop_assert_eq!(&printed, &twice);
        // As many decimals in both, and no zero with a sign.
        let decimals = |text: &str| text.split_once('.').map_or(0, |(_, decimals)| decimals.len());
        prop_assert_eq!(decimals(&printed.number), decimals(printed.plus_minus.as_deref().unwrap()));
        let is_zero = printed.number.chars().all(|c| matches!(c, '0' | '.' | '−'));
        prop_assert!(!text.contains('-'), "minus is U+2212: {text}");
        prop_assert!(!is_zero || !printed.number.contains('−'), "{text}");
    }

    /// A value without uncertainty is printed to within half its natural place.
    #[test]
    fn exact_values_are_printed_and_read(value in -5000.0..5000.0_f64, dimension in dimensions()) {
        let printed = print::value(value, 0.0, dimension, Units::Metric);
        prop_assert_eq!(&printed.plus_minus, &None);
        let again = parse(&printed.to_string(), dimension).unwrap();
        prop_assert!((again.quantity.value() - value).abs() <= 0.050_001, "{}", printed);
        prop_assert!(!again.tolerance_stated);
    }

    #[test]
    fn a_change_has_a_sign_or_is_nothing(change in -50.0..50.0_f64, expanded in 0.0..5.0_f64, dimension in dimensions()) {
        let printed = print::change(change, expanded, dimension, Units::Metric);
        let magnitude: f64 = printed.number.trim_start_matches(['+', '−']).parse().unwrap();
        let sign = printed.number.chars().next().unwrap();
        let expected = if magnitude == 0.0 { '0' } else if change > 0.0 { '+' } else { '−' };
        prop_assert_eq!(sign, expected, "{}", printed);
    }

    /// Whatever is printed, no number panics.
    #[test]
    fn any_number_is_printed(value: f64, expanded: f64, dimension in dimensions(), imperial: bool) {
        let units = if imperial { Units::Imperial } else { Units::Metric };
        prop_assert!(!print::value(value, expanded, dimension, units).number.is_empty());
        prop_assert!(!print::change(value, expanded, dimension, units).number.is_empty());
    }
}
