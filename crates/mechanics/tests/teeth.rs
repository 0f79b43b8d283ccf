//! Teeth against the limits of ISO 606 (`tests/references/teeth.toml`).

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

use mechanics::{
    chain_path::pitch_radius_mm,
    teeth::{Filling, Limit, ROLLER_MM, gap, outline, root_diameter_mm, tip_diameters_mm, tips_above_pins_mm},
};

#[test]
fn limits_are_those_of_the_standard() {
    let table: toml::Table = include_str!("../../../tests/references/teeth.toml").parse().unwrap();
    let number = |key: &str, at: usize| table[key].as_array().unwrap()[at].as_float().unwrap();
    let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 1e-6, "{found} against {wanted}");
    for (at, teeth) in table["teeth"].as_array().unwrap().iter().enumerate() {
        let teeth = u32::try_from(teeth.as_integer().unwrap()).unwrap();
        for (limit, word) in [(Limit::SmallestGap, "smallest"), (Limit::LargestGap, "largest")] {
            let gap = gap(teeth, limit).unwrap();
            near(gap.flank_mm, number(&format!("{word}_flank_mm"), at));
            near(gap.seat_mm, table[&format!("{word}_seat_mm")].as_float().unwrap());
            near(gap.seating_rad.to_degrees(), number(&format!("{word}_seating_deg"), at));
        }
        near(root_diameter_mm(teeth), number("root_diameter_mm", at));
        near(tip_diameters_mm(teeth)[0], number("tip_diameter_min_mm", at));
        near(tip_diameters_mm(teeth)[1], number("tip_diameter_max_mm", at));
    }
    assert!(gap(8, Limit::SmallestGap).is_none());
}

/// Between root and tips, and clear of every seated roller.
#[test]
fn an_outline_leaves_the_rollers_their_room() {
    for teeth in [11, 17, 32, 50] {
        let tip = tip_diameters_mm(teeth)[0];
        let outline = outline(teeth, Limit::SmallestGap, tip).unwrap();
        let rollers: Vec<_> = (0..teeth)
            .map(|at| std::f64::consts::TAU * f64::from(at) / f64::from(teeth))
            .map(|angle| (-angle.sin() * pitch_radius_mm(teeth), angle.cos() * pitch_radius_mm(teeth)))
            .collect();
        for point in &outline {
            let far = point.length();
            assert!(far <= 0.5 * tip + 1e-9 && far >= 0.5 * root_diameter_mm(teeth) - 0.05, "{teeth}: {far}");
            for (x, y) in &rollers {
                assert!((point.x - x).hypot(point.y - y) >= 0.5 * ROLLER_MM, "{teeth}: {point:?}");
            }
        }
        assert!(tips_above_pins_mm(teeth, tip) > 0.0);
    }
}

#[test]
fn thick_teeth_leave_less_play() {
    let (inner, outer) = (2.18_f64, 3.9_f64);
    let plain = Filling::plain(inner, outer, 1.9);
    let alternating = Filling::alternating(inner, outer, [1.9, 3.7]);
    assert!((plain.inner_mm - 0.14).abs() < 1e-12 && (plain.outer_mm - 1.0).abs() < 1e-12);
    assert!(alternating.outer_mm < plain.outer_mm && alternating.across_mm() < plain.across_mm());
}
