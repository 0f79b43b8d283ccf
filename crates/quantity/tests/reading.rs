//! Texts read, refused, and printed back.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

use proptest::prelude::*;
use quantity::{Dimension, Origin, Quantity, QuantityProblem, Spread, Unit, gum::Estimate, parse, print};

fn good(text: &str, dimension: Dimension, value: f64, plus_minus: f64) {
    let written = parse(text, dimension).unwrap_or_else(|e| panic!("`{text}`: {e}"));
    assert!((written.quantity.value() - value).abs() < 1e-9 * value.abs().max(1.0), "`{text}`: {}", written.quantity.value());
    assert!((written.quantity.spread().plus_minus() - plus_minus).abs() < 1e-9, "`{text}`: {:?}", written.quantity.spread());
}

#[test]
fn ways_to_write_a_quantity() {
    good("531", Dimension::Length, 531.0, 0.0);
    good(" 531 mm ", Dimension::Length, 531.0, 0.0);
    good("531mm", Dimension::Length, 531.0, 0.0);
    good("531 ± 2 mm", Dimension::Length, 531.0, 2.0);
    good("531±2", Dimension::Length, 531.0, 2.0);
    good("531 +- 2 mm", Dimension::Length, 531.0, 2.0);
    good("531 +/- 2 mm", Dimension::Length, 531.0, 2.0);
    good("531 mm ± 2", Dimension::Length, 531.0, 2.0);
    good("53.1 cm ± 2 mm", Dimension::Length, 531.0, 2.0);
    good("20.9 in", Dimension::Length, 530.86, 0.0);
    good("20.9\"", Dimension::Length, 530.86, 0.0);
    good("500 mm ± 1 %", Dimension::Length, 500.0, 5.0);
    good("25 ± 5 %", Dimension::Share, 25.0, 5.0);
    good("6 ft 1 in", Dimension::Length, 1854.2, 0.0);
    good("6'1\"", Dimension::Length, 1854.2, 0.0);
    good("13 st 4 lb", Dimension::Mass, 186.0 * 0.453_592_37, 0.0);
    good("68.5 deg", Dimension::Angle, 68.5, 0.0);
    good("68.5°", Dimension::Angle, 68.5, 0.0);
    good("68°30'", Dimension::Angle, 68.5, 0.0);
    good("68° 30′", Dimension::Angle, 68.5, 0.0);
    good("-1.5 deg", Dimension::Angle, -1.5, 0.0);
    good("−2 mm", Dimension::Length, -2.0, 0.0);
    good("1e2 mm", Dimension::Length, 100.0, 0.0);
    good("5 N m", Dimension::Torque, 5.0, 0.0);
    good("5 Nm", Dimension::Torque, 5.0, 0.0);
    good("40 in lb", Dimension::Torque, 4.519_393_161_105, 0.0);
    good("30 psi", Dimension::Pressure, 2.068_427_187_950_508_5, 0.0);
    good("50 °F", Dimension::Temperature, 10.0, 0.0);
    good("50 ± 9 degF", Dimension::Temperature, 10.0, 5.0);
    good("32 teeth", Dimension::Number, 32.0, 0.0);
    good("49.90", Dimension::Price, 49.9, 0.0);
    let guess = parse("~531 mm", Dimension::Length).unwrap();
    assert!(guess.guess && guess.quantity.origin() == Origin::Guess && !guess.tolerance_stated);
    assert!(parse("531 ± 0 mm", Dimension::Length).unwrap().tolerance_stated);
}

/// Text, dimension, the piece the caret stands under, message, help.
#[test]
fn ways_to_get_it_wrong() {
    let cases: [(&str, Dimension, &str, &str, &str); 24] = [
        ("", Dimension::Length, "", "nothing where a length is expected", "write it like `531 mm`"),
        ("   ", Dimension::Length, "   ", "nothing where a length is expected", "write it like `531 mm`"),
        ("long", Dimension::Length, "long", "no number where a length is expected", "write it like `531 mm`"),
        ("mm 531", Dimension::Length, "mm", "no number where a length is expected", "write it like `531 mm`"),
        ("1.2.3 mm", Dimension::Length, "1.2.3", "no number where a length is expected", "write it like `531 mm`"),
        ("nan", Dimension::Length, "nan", "a number without end where a length is expected", "write it like `531 mm`"),
        ("inf mm", Dimension::Length, "inf", "a number without end where a length is expected", "write it like `531 mm`"),
        ("1e999 mm", Dimension::Length, "1e999", "a number without end where a length is expected", "write it like `531 mm`"),
        (
            "531,5 mm",
            Dimension::Length,
            ",",
            "a comma inside a number",
            "write `531.5`, with a decimal point and no thousands mark",
        ),
        ("531 mmm", Dimension::Length, "mmm", "unknown unit `mmm`", "did you mean `mm`?"),
        ("531 furlongs", Dimension::Length, "furlongs", "unknown unit `furlongs`", "units of a length: mm, cm, m, µm, in, ft"),
        ("68.5 degs", Dimension::Angle, "degs", "unknown unit `degs`", "did you mean `deg`?"),
        ("531 mm", Dimension::Angle, "mm", "a length where an angle is expected", "write it like `68.5 deg`"),
        ("531 kg", Dimension::Length, "kg", "a mass where a length is expected", "write it like `531 mm`"),
        ("531 ±", Dimension::Length, "±", "no number after the ±", "write it like `531 ± 2 mm`"),
        ("531 ± mm", Dimension::Length, "±", "no number after the ±", "write it like `531 ± 2 mm`"),
        ("531 ± -2 mm", Dimension::Length, "-2 mm", "a tolerance below zero", "write it like `531 ± 2 mm`"),
        ("531 mm ± 2 deg", Dimension::Length, "deg", "an angle as the tolerance of a length", "write it like `531 ± 2 mm`"),
        ("531 ± 2 ± 3 mm", Dimension::Length, "± 3 mm", "a second tolerance", "write it like `531 ± 2 mm`"),
        (
            "1 in 6 ft",
            Dimension::Length,
            "6 ft",
            "units that do not follow each other",
            "write it like `6 ft 1 in` or `13 st 4 lb`",
        ),
        ("6 ft 1", Dimension::Length, "1", "units that do not follow each other", "write it like `6 ft 1 in` or `13 st 4 lb`"),
        ("531(2) mm", Dimension::Length, "(", "an uncertainty in brackets", "write it like `531 ± 2 mm`"),
        ("32 mm", Dimension::Number, "mm", "a length where a bare number is expected", "write it like `32`"),
        ("32 teeth", Dimension::Length, "teeth", "a bare number where a length is expected", "write it like `531 mm`"),
    ];
    for (text, dimension, piece, message, help) in cases {
        let error = parse(text, dimension).expect_err(text);
        assert_eq!(error.to_string(), message, "`{text}`");
        assert!(text[error.span.clone()].starts_with(piece), "`{text}`: caret under `{}`", &text[error.span.clone()]);
        assert_eq!(error.help().as_deref(), Some(help), "`{text}`");
        assert!(!error.label().is_empty());
    }
    assert!(matches!(parse("531,5", Dimension::Length).unwrap_err().problem, QuantityProblem::DecimalComma { .. }));
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_text_panics(text in "\\PC{0,24}", which in 0usize..14) {
        let dimension = Dimension::ALL[which];
        if let Err(error) = parse(&text, dimension) {
            prop_assert!(text.get(error.span.clone()).is_some(), "span {:?} of {text:?}", error.span);
            let _ = (error.to_string(), error.label(), error.help());
        }
    }

    #[test]
    fn almost_quantities_do_not_panic(text in "[~ 0-9.,±+−'\"°a-zA-Z%/()-]{0,20}") {
        let _ = parse(&text, Dimension::Length);
        let _ = parse(&text, Dimension::Angle);
    }

    #[test]
    fn printed_values_read_back_within_their_last_digit(value in -5000.0..5000.0_f64, tolerance in 0.0001..300.0_f64) {
        let printed = print::value(value, tolerance, Dimension::Length, print::Units::Metric).to_string();
        let again = parse(&printed.replace('\u{a0}', " "), Dimension::Length).unwrap();
        prop_assert!((again.quantity.value() - value).abs() <= tolerance.max(1e-3), "{printed}");
        prop_assert!(again.quantity.spread().plus_minus() >= tolerance * 0.99, "never understated: {printed}");
        let twice = print::value(again.quantity.value(), again.quantity.spread().plus_minus(), Dimension::Length, print::Units::Metric).to_string();
        prop_assert_eq!(printed, twice);
    }

    #[test]
    fn imperial_and_metric_name_the_same_length(value in 1.0..3000.0_f64, tolerance in 0.1..20.0_f64) {
        let imperial = print::value(value, tolerance, Dimension::Length, print::Units::Imperial).to_string().replace('\u{a0}', " ");
        let read = parse(&imperial, Dimension::Length).unwrap().quantity;
        prop_assert!((read.value() - value).abs() <= tolerance);
    }

    #[test]
    fn a_thing_less_itself_is_nothing(value in -1e3..1e3_f64, u in 0.0..10.0_f64) {
        let x = Estimate::input(7, value, u);
        let zero = &x - &x;
        prop_assert_eq!((zero.value, zero.standard_uncertainty()), (0.0, 0.0));
        let one = &x / &x;
        prop_assume!(value.abs() > 1e-3);
        prop_assert!((one.value - 1.0).abs() < 1e-12 && one.standard_uncertainty() < 1e-9 * u.max(1.0) / value.abs().min(1.0));
        let sum = &x + &Estimate::input(3, value, u);
        prop_assert!((sum.standard_uncertainty() - u * 2.0_f64.sqrt()).abs() < 1e-9);
        prop_assert!((sum.covariance(&x) - u * u).abs() < 1e-9);
    }
}

#[test]
fn spreads() {
    let q = |s| Quantity::new(10.0, Dimension::Length, s, Origin::Measured);
    assert!((q(Spread::Limits(3.0)).standard_uncertainty() - 3.0_f64.sqrt()).abs() < 1e-12);
    assert!((q(Spread::Expanded(3.0)).standard_uncertainty() - 1.5).abs() < 1e-12);
    assert!((q(Spread::Standard(3.0)).expanded_uncertainty() - 6.0).abs() < 1e-12);
    assert!((q(Spread::Exact).in_unit(Unit::named("cm").unwrap()) - 1.0).abs() < 1e-12);
    for origin in Origin::ALL {
        assert_eq!(Origin::from_word(origin.word()), Some(origin));
    }
}
