//! The round-section radius rule against the radii the trade quotes (`tests/references/wheel_radii.toml`).

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

#[test]
fn a_round_section_gives_the_radii_of_the_trade() {
    let text = include_str!("../../../tests/references/wheel_radii.toml");
    let table: toml::Table = text.parse().unwrap();
    let cases = table["case"].as_array().unwrap();
    assert!(cases.len() >= 11);
    let number = |case: &toml::Value, key: &str| {
        let value = &case[key];
        value.as_float().or_else(|| value.as_integer().map(|i| i as f64)).unwrap()
    };
    for case in cases {
        let radius = mechanics::tyre::radius_mm(number(case, "bead_seat_diameter_mm"), number(case, "tyre_width_mm"));
        let off = (radius - number(case, "radius_mm")).abs();
        assert!(off <= number(case, "tolerance_mm"), "{:?}: off by {off} mm", case["id"]);
        // Loaded, the axle stands lower by what a tyre squashed by a tenth to a third of its height gives, within the same tolerance.
        let squash = mechanics::tyre::squash_mm(radius, number(case, "bead_seat_diameter_mm"), 0.10);
        assert!(radius - squash > number(case, "loaded_radius_mm") - 3.0 * number(case, "tolerance_mm"));
    }
}
