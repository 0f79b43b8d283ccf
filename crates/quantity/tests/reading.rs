//! Texts read, refused, and put right.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

use Dimension::{
    Angle, Duration, Force, Length, Mass, Number, Pressure, Price, Share, Speed, Stiffness, Temperature, Torque, Volume,
};
use quantity::{Dimension, Origin, Quantity, QuantityProblem, Spread, Unit, parse};

/// kg in a pound (international yard and pound agreement, 1959).
const POUND_KG: f64 = 0.453_592_37;

fn good(text: &str, dimension: Dimension, value: f64, plus_minus: f64) {
    let written = parse(text, dimension).unwrap_or_else(|e| panic!("`{text}`: {e}"));
    assert!((written.quantity.value() - value).abs() < 1e-12 * value.abs().max(1.0), "`{text}`: {}", written.quantity.value());
    let stated = written.quantity.spread();
    assert!((stated.plus_minus() - plus_minus).abs() < 1e-12 * plus_minus.max(1.0), "`{text}`: {stated:?}");
    assert!(matches!(stated, Spread::Exact | Spread::Limits(_)), "a stated ± is a limit");
}

#[test]
fn numbers() {
    good("531", Length, 531.0, 0.0);
    good(" 531 mm ", Length, 531.0, 0.0);
    good("531mm", Length, 531.0, 0.0);
    good("531\u{a0}mm", Length, 531.0, 0.0);
    good("-1.5 deg", Angle, -1.5, 0.0);
    good("−2 mm", Length, -2.0, 0.0);
    good("+2 mm", Length, 2.0, 0.0);
    good("- 2 mm", Length, -2.0, 0.0);
    good(".5 mm", Length, 0.5, 0.0);
    good("5. mm", Length, 5.0, 0.0);
    good("1e2 mm", Length, 100.0, 0.0);
    good("1.5E−2 mm", Length, 0.015, 0.0);
    good("1 1/8 in", Length, 28.575, 0.0);
    good("1-1/8\"", Length, 28.575, 0.0);
    good("9/16 in", Length, 14.287_5, 0.0);
    good("1⅛ in", Length, 28.575, 0.0);
    good("½ in", Length, 12.7, 0.0);
    assert!(parse("-0 mm", Length).unwrap().quantity.value().is_sign_positive());
}

#[test]
fn units() {
    good("20.9 in", Length, 530.86, 0.0);
    good("20.9 in.", Length, 530.86, 0.0);
    good("20.9\"", Length, 530.86, 0.0);
    good("53.1 CM", Length, 531.0, 0.0);
    good("35 µm", Length, 0.035, 0.0);
    good("68.5 deg", Angle, 68.5, 0.0);
    good("68.5°", Angle, 68.5, 0.0);
    good("1900 g", Mass, 1.9, 0.0);
    good("400 N", Force, 400.0, 0.0);
    good("5 N m", Torque, 5.0, 0.0);
    good("5 Nm", Torque, 5.0, 0.0);
    good("40 in lb", Torque, 40.0 * POUND_KG * 9.806_65 * 0.025_4, 0.0);
    good("40 in-lbs", Torque, 40.0 * POUND_KG * 9.806_65 * 0.025_4, 0.0);
    good("30 psi", Pressure, 30.0 * POUND_KG * 9.806_65 / (25.4 * 25.4) * 10.0, 0.0);
    good("450 lb/in", Stiffness, 450.0 * POUND_KG * 9.806_65 / 25.4, 0.0);
    good("30 km/h", Speed, 30.0, 0.0);
    good("90 s", Duration, 1.5, 0.0);
    good("40 ml", Volume, 40.0, 0.0);
    good("25 %", Share, 25.0, 0.0);
    good("32 teeth", Number, 32.0, 0.0);
    good("32 t", Number, 32.0, 0.0);
    good("49.90", Price, 49.9, 0.0);
    // Temperatures have an offset, their tolerances none.
    good("50 °F", Temperature, 10.0, 0.0);
    good("50 ± 9 degF", Temperature, 10.0, 5.0);
    good("20 degC ± 9 °F", Temperature, 20.0, 5.0);
    assert_eq!(parse("20.9 in", Length).unwrap().unit, Unit::named("in"));
    assert_eq!(parse("20.9", Length).unwrap().unit, None);
}

#[test]
fn tolerances() {
    good("531 ± 2 mm", Length, 531.0, 2.0);
    good("531±2", Length, 531.0, 2.0);
    good("531 +- 2 mm", Length, 531.0, 2.0);
    good("531 +/- 2 mm", Length, 531.0, 2.0);
    good("531 mm ± 2 mm", Length, 531.0, 2.0);
    good("531 mm ± 2", Length, 531.0, 2.0);
    good("53.1 cm ± 2 mm", Length, 531.0, 2.0);
    good("21 ± 1/8 in", Length, 533.4, 3.175);
    good("500 mm ± 1 %", Length, 500.0, 5.0);
    good("-500 ± 1 %", Length, -500.0, 5.0);
    good("25 ± 5 %", Share, 25.0, 5.0);
    good("6 ft 1 in ± 1", Length, 1854.2, 25.4);
    let exactly = parse("531 ± 0 mm", Length).unwrap();
    assert!(exactly.tolerance_stated && exactly.quantity.spread() == Spread::Exact);
    assert!(!parse("531 mm", Length).unwrap().tolerance_stated);
    assert!((parse("531 ± 2 mm", Length).unwrap().quantity.standard_uncertainty() - 2.0 / 3.0_f64.sqrt()).abs() < 1e-15);
}

#[test]
fn several_units() {
    good("6 ft 1 in", Length, 1854.2, 0.0);
    good("6'1\"", Length, 1854.2, 0.0);
    good("6′ 1″", Length, 1854.2, 0.0);
    good("6 ft 1 1/2 in", Length, 1866.9, 0.0);
    good("-6 ft 1 in", Length, -1854.2, 0.0);
    good("-0 ft 6 in", Length, -152.4, 0.0);
    good("1 m 78 cm", Length, 1780.0, 0.0);
    good("13 st 4 lb", Mass, 186.0 * POUND_KG, 0.0);
    good("2 lb 8 oz", Mass, 2.5 * POUND_KG, 0.0);
    good("68°30'", Angle, 68.5, 0.0);
    good("68° 30′", Angle, 68.5, 0.0);
    good("68° 30′ 36″", Angle, 68.51, 0.0);
    good("1 h 30 min", Duration, 90.0, 0.0);
}

#[test]
fn guesses() {
    for text in ["~531 mm", "~ 531 mm", "≈531", "~531 ± 5 mm"] {
        let guess = parse(text, Length).unwrap();
        assert!(guess.guess && guess.quantity.origin() == Origin::Guess, "{text}");
    }
    let plain = parse("531 mm", Length).unwrap();
    assert!(!plain.guess && plain.quantity.origin() == Origin::MakersSheet);
}

/// The text with its mistake between ⟦ and ⟧, what was expected, message, label, help.
const REFUSED: [(&str, Dimension, &str, &str, &str); 68] = [
    ("⟦⟧", Length, "nothing where a length is expected", "expected a length", "write it like \"531 mm\""),
    ("⟦   ⟧", Length, "nothing where a length is expected", "expected a length", "write it like \"531 mm\""),
    ("⟦long⟧", Length, "no number where a length is expected", "expected a length", "write it like \"531 mm\""),
    ("⟦mm⟧ 531", Length, "no number where a length is expected", "expected a length", "write it like \"531 mm\""),
    ("⟦±⟧ 2 mm", Length, "no number where a length is expected", "expected a length", "write it like \"531 mm\""),
    ("~⟦⟧", Length, "no number where a length is expected", "expected a length", "write it like \"531 mm\""),
    ("⟦-⟧", Angle, "no number where an angle is expected", "expected an angle", "write it like \"68.5 deg\""),
    ("⟦1.2.3⟧ mm", Length, "`1.2.3` is not a number", "expected a length", "write it like \"531 mm\""),
    ("⟦5/0⟧ in", Length, "`5/0` is not a number", "expected a length", "write it like \"531 mm\""),
    ("⟦1,2,3⟧ mm", Length, "`1,2,3` is not a number", "expected a length", "write it like \"531 mm\""),
    ("⟦nan⟧", Length, "no finite number where a length is expected", "not finite", "write it like \"531 mm\""),
    ("⟦-inf⟧ mm", Length, "no finite number where a length is expected", "not finite", "write it like \"531 mm\""),
    ("⟦∞⟧", Length, "no finite number where a length is expected", "not finite", "write it like \"531 mm\""),
    ("531 ± ⟦inf⟧", Length, "no finite number where a length is expected", "not finite", "write it like \"531 mm\""),
    ("⟦1e999⟧ mm", Length, "a number too large for a length", "too large", "write it like \"531 mm\""),
    ("⟦1e308 km⟧", Length, "a number too large for a length", "too large", "write it like \"531 mm\""),
    ("1 ± ⟦1e308 km⟧", Length, "a number too large for a length", "too large", "write it like \"531 mm\""),
    ("531⟦,⟧5 mm", Length, "a comma inside a number", "expected a point", "write \"531.5 mm\""),
    ("0⟦,⟧125 kg", Mass, "a comma inside a number", "expected a point", "write \"0.125 kg\""),
    ("1.234⟦,⟧5 mm", Length, "a comma inside a number", "expected a point", "write \"1234.5 mm\""),
    ("531 ± 1⟦,⟧5 mm", Length, "a comma inside a number", "expected a point", "write \"531 ± 1.5 mm\""),
    ("531⟦,⟧5 mmmm", Length, "a comma inside a number", "expected a point", "write `531.5`"),
    ("⟦1,234⟧ mm", Length, "a comma that may be a decimal or a thousands mark", "which of the two?", "write `1.234` or `1234`"),
    ("⟦1,234.5⟧ mm", Length, "a number in groups of digits", "expected the digits in one piece", "write \"1234.5 mm\""),
    ("⟦1,234,567⟧", Length, "a number in groups of digits", "expected the digits in one piece", "write \"1234567\""),
    ("⟦1.234.567⟧", Length, "a number in groups of digits", "expected the digits in one piece", "write \"1234567\""),
    ("⟦1 234⟧ mm", Length, "a number in groups of digits", "expected the digits in one piece", "write \"1234 mm\""),
    ("⟦1'234.50⟧", Price, "a number in groups of digits", "expected the digits in one piece", "write \"1234.50\""),
    ("⟦1/2⟧ deg", Angle, "a fraction where an angle is expected", "expected a decimal number", "write \"0.5 deg\""),
    (
        "⟦10-12 mm⟧",
        Length,
        "a range where a length is expected",
        "expected one value",
        "write the middle and the tolerance: \"11 ± 1 mm\"",
    ),
    (
        "⟦2.0 bar – 2.5 bar⟧",
        Pressure,
        "a range where a pressure is expected",
        "expected one value",
        "write the middle and the tolerance: \"2.25 ± 0.25 bar\"",
    ),
    (
        "~⟦5 to 8⟧",
        Torque,
        "a range where a torque is expected",
        "expected one value",
        "write the middle and the tolerance: \"~6.5 ± 1.5\"",
    ),
    (
        "⟦5..8 N m⟧",
        Torque,
        "a range where a torque is expected",
        "expected one value",
        "write the middle and the tolerance: \"6.5 ± 1.5 N m\"",
    ),
    ("⟦1 cm - 20 mm⟧", Length, "a range where a length is expected", "expected one value", "write it like \"531 ± 2 mm\""),
    ("⟦about⟧ 531 mm", Length, "the word `about` where a length is expected", "expected `~` for a guess", "write \"~531 mm\""),
    ("⟦Ca.⟧ 2 bar", Pressure, "the word `Ca.` where a pressure is expected", "expected `~` for a guess", "write \"~2 bar\""),
    (
        "⟦about⟧ right",
        Length,
        "the word `about` where a length is expected",
        "expected `~` for a guess",
        "write it like \"531 mm\"",
    ),
    ("531 ⟦mmm⟧", Length, "unknown unit `mmm`", "no such unit", "did you mean `mm`?"),
    ("68.5 ⟦degs⟧", Angle, "unknown unit `degs`", "no such unit", "did you mean `deg`?"),
    ("2 ⟦abr⟧", Pressure, "unknown unit `abr`", "no such unit", "did you mean `bar`?"),
    ("40 ⟦in lbd⟧", Torque, "unknown unit `in lbd`", "no such unit", "did you mean `in lb`?"),
    (
        "531 ⟦furlongs⟧ long",
        Length,
        "unknown unit `furlongs`",
        "no such unit",
        "units of a length: mm, cm, m, µm, in, ft, km, mi",
    ),
    ("32 ⟦cogs⟧", Number, "unknown unit `cogs`", "no such unit", "write the bare number, for example \"32\""),
    (
        "531 ⟦mm⟧",
        Angle,
        "a length where an angle is expected",
        "expected an angle",
        "write it in degrees, for example \"68.5 deg\"",
    ),
    (
        "531 ± 2 ⟦deg⟧",
        Length,
        "an angle where a length is expected",
        "expected a length",
        "write it in millimetres, for example \"531 mm\"",
    ),
    ("450 ⟦lb⟧", Stiffness, "a mass where a stiffness is expected", "expected a stiffness", "did you mean \"450 lb/in\"?"),
    ("40 ⟦kg⟧ ± 1", Force, "a mass where a force is expected", "expected a force", "did you mean \"40 kgf ± 1\"?"),
    (
        "32 ⟦mm⟧",
        Number,
        "a length where a bare number is expected",
        "expected a bare number",
        "write the bare number, for example \"32\"",
    ),
    (
        "32 ⟦teeth⟧",
        Length,
        "a bare number where a length is expected",
        "expected a length",
        "write it in millimetres, for example \"531 mm\"",
    ),
    (
        "6 ft 1 ⟦deg⟧",
        Length,
        "an angle where a length is expected",
        "expected a length",
        "write it in millimetres, for example \"531 mm\"",
    ),
    ("531 ⟦±⟧", Length, "no number after the ±", "how much?", "write it like \"531 ± 2 mm\""),
    ("531 ⟦+-⟧ mm", Length, "no number after the ±", "how much?", "write it like \"531 ± 2 mm\""),
    ("531 ± ⟦-2⟧ mm", Length, "a tolerance below zero", "must be zero or more", "write \"531 ± 2 mm\""),
    (
        "531 mm ± 2 ⟦deg⟧",
        Length,
        "an angle as the tolerance of a length",
        "expected a length or %",
        "write it like \"531 ± 2 mm\"",
    ),
    (
        "20 degC ± 5 ⟦%⟧",
        Temperature,
        "a share as the tolerance of a temperature",
        "expected a temperature",
        "write it like \"20 ± 2 degC\"",
    ),
    ("531 ± 2 ⟦± 3 mm⟧", Length, "a second tolerance", "one too many", "write \"531 ± 2\""),
    (
        "531 ⟦+2/-1 mm⟧",
        Length,
        "a tolerance that is not the same on both sides",
        "expected ±",
        "write the middle and half the width: \"531.5 ± 1.5 mm\"",
    ),
    (
        "531 mm ⟦−0.5⟧",
        Length,
        "a tolerance that is not the same on both sides",
        "expected ±",
        "write the middle and half the width: \"530.75 ± 0.25 mm\"",
    ),
    ("531⟦(2)⟧ mm", Length, "an uncertainty in brackets", "expected ±", "write \"531 ± 2 mm\""),
    ("531.5 ⟦(2)⟧ mm", Length, "an uncertainty in brackets", "expected ±", "write \"531.5 ± 0.2 mm\""),
    (
        "1 in 6 ⟦ft⟧",
        Length,
        "units that do not follow each other",
        "larger unit first, whole, each once",
        "write it like \"6 ft 1 in\"",
    ),
    ("⟦6⟧ 1 in", Length, "a number without unit beside one with a unit", "which unit?", "write it like \"6 ft 1 in\""),
    (
        "⟦5.5⟧ ft 2 in",
        Length,
        "a broken number with a smaller unit behind it",
        "expected a whole number",
        "write it like \"6 ft 1 in\"",
    ),
    ("6 ft ⟦1⟧", Length, "a number without unit beside one with a unit", "which unit?", "write it like \"6 ft 1 in\""),
    (
        "6 ft 30 ⟦cm⟧",
        Length,
        "units that do not follow each other",
        "larger unit first, whole, each once",
        "write it like \"6 ft 1 in\"",
    ),
    (
        "20 degC 5 ⟦degF⟧",
        Temperature,
        "units that do not follow each other",
        "larger unit first, whole, each once",
        "write it like \"20 degC\"",
    ),
    ("5 ft ⟦14 in⟧", Length, "a part that makes a whole `ft` or more", "expected less than 1 ft", "write \"6 ft 2 in\""),
    ("531 mm ⟦long⟧", Length, "`long` behind a length", "not part of it", "write \"531 mm\""),
];

#[test]
fn ways_to_get_it_wrong() {
    for (marked, dimension, message, label, help) in REFUSED {
        let (before, rest) = marked.split_once('⟦').unwrap();
        let (piece, behind) = rest.split_once('⟧').unwrap();
        let text = format!("{before}{piece}{behind}");
        let error = parse(&text, dimension).expect_err(marked);
        assert_eq!(error.to_string(), message, "`{marked}`");
        assert_eq!(
            error.span,
            before.len()..before.len() + piece.len(),
            "`{marked}`: caret under `{}`",
            &text[error.span.clone()]
        );
        assert_eq!(error.label(), label, "`{marked}`");
        assert_eq!(error.help().as_deref(), Some(help), "`{marked}`");
        assert_eq!(error.expected, dimension);
        if let Some(corrected) = error.corrected() {
            parse(corrected, dimension).unwrap_or_else(|e| panic!("`{marked}` is put right as `{corrected}`: {e}"));
        }
    }
}

/// The list above shows every kind of problem: as many as the enum has.
#[test]
fn every_problem_is_shown_by_a_text() {
    let kinds: std::collections::HashSet<_> = REFUSED
        .iter()
        .map(|(marked, dimension, ..)| {
            let text: String = marked.chars().filter(|c| !matches!(c, '⟦' | '⟧')).collect();
            std::mem::discriminant(&parse(&text, *dimension).unwrap_err().problem)
        })
        .collect();
    assert_eq!(kinds.len(), 24, "variants of `QuantityProblem`");
}

/// A caller who knows what is asked for gives an example of it.
#[test]
fn help_takes_an_example() {
    let help = |text: &str| parse(text, Length).unwrap_err().help_with("40 mm");
    assert_eq!(help("long"), "write it like \"40 mm\"");
    assert_eq!(help("40 deg"), "write it in millimetres, for example \"40 mm\"");
    assert_eq!(help("40 ±"), "write it like \"40 ± 2 mm\"");
    assert_eq!(help("40,5 mm"), "write \"40.5 mm\"", "what was written goes first");
}

#[test]
fn more_that_hangs_on() {
    for (text, left) in [
        ("531 mm;", ";"),
        ("531 mm, 20.9 in", ", 20.9 in"),
        ("531 mm (20.9 in)", "(20.9 in)"),
        ("531 ± 2 mm 3", "3"),
        ("531 $", "$"),
        ("531 ± 2 mm + 3", "+ 3"),
    ] {
        let error = parse(text, Length).unwrap_err();
        assert_eq!(error.problem, QuantityProblem::Trailing { text: left.to_owned() }, "{text}");
        assert_eq!(&text[error.span.clone()], left);
        assert!(error.corrected().is_some_and(|corrected| text.starts_with(corrected)), "{text}");
    }
}

#[test]
fn quantities_and_their_spreads() {
    let q = |s| Quantity::new(10.0, Length, s, Origin::Measured);
    assert!((q(Spread::Limits(3.0)).standard_uncertainty() - 3.0_f64.sqrt()).abs() < 1e-15);
    assert!((q(Spread::Expanded(3.0)).standard_uncertainty() - 1.5).abs() < 1e-15);
    assert!((q(Spread::Standard(3.0)).expanded_uncertainty() - 6.0).abs() < 1e-15);
    assert!((q(Spread::Standard(3.0)).spread().plus_minus() - 6.0).abs() < 1e-15);
    assert!((q(Spread::Exact).in_unit(Unit::named("cm").unwrap()) - 1.0).abs() < 1e-15);
    let exact = Quantity::exact(10.0, Length, Origin::Standard);
    assert_eq!((exact.standard_uncertainty(), exact.expanded_uncertainty()), (0.0, 0.0));
    let other = exact.with_value(11.0).with_spread(Spread::Limits(1.0)).with_origin(Origin::Guess);
    assert_eq!(other, Quantity::new(11.0, Length, Spread::Limits(1.0), Origin::Guess));
    for origin in Origin::ALL {
        assert_eq!(Origin::from_word(origin.word()), Some(origin));
    }
    assert_eq!(Origin::from_word("hearsay"), None);
}
