//! Standing bicycles against published ones, against an independent root search, and against themselves.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

use mechanics::{
    pedal::{self, Pedals, Sections},
    planar::{AxlePath, Bicycle, Cockpit, Fork, Headset, MainFrame, Sag, Seating, Stance, Wheels, stand},
    plane::Point,
};
use num_dual::DualSVec64;
use proptest::prelude::*;

const NO_SAG: Sag<f64> = Sag { fork_mm: 0.0, rear_axle_mm: 0.0, front_tyre_mm: 0.0, rear_tyre_mm: 0.0 };

fn cases() -> toml::Table {
    include_str!("../../../tests/references/handling.toml").parse().unwrap()
}

fn case(id: &str) -> (toml::Table, toml::Table, f64) {
    let all = cases();
    let found =
        all["case"].as_array().unwrap().iter().find(|c| c["id"].as_str() == Some(id)).unwrap().as_table().unwrap().clone();
    let table = |key: &str| found[key].as_table().unwrap().clone();
    (table("given"), table("expect"), found["tolerance_abs"].as_float().unwrap())
}

fn number(table: &toml::Table, key: &str) -> f64 {
    let value = &table[key];
    value.as_float().or_else(|| value.as_integer().map(|i| i as f64)).unwrap()
}

/// A bicycle known by wheelbase, head angle, offset and radii; what these do not fix is set to something plain.
fn from_front_end(
    wheelbase_mm: f64,
    head_angle_rad: f64,
    offset_mm: f64,
    front_mm: f64,
    rear_mm: f64,
    rear_centre_mm: f64,
    bb_height_mm: f64,
) -> Bicycle<f64> {
    let bb_drop_mm = rear_mm - bb_height_mm;
    let front_ahead_mm = wheelbase_mm - rear_centre_mm;
    let front_up_mm = front_mm - bb_height_mm;
    let (sin, cos) = head_angle_rad.sin_cos();
    // A fork of 400 mm along the axis under a head tube of 150 mm.
    let foot = Point::new(front_ahead_mm - offset_mm * sin, front_up_mm - offset_mm * cos);
    Bicycle {
        frame: MainFrame {
            rear_centre_horizontal_mm: rear_centre_mm,
            bb_drop_mm,
            stack_mm: foot.y + 560.0 * sin,
            reach_mm: foot.x - 560.0 * cos,
            head_angle_rad,
            head_tube_mm: 150.0,
            seat_angle_rad: 73.0_f64.to_radians(),
            seat_tube_angle_rad: 73.0_f64.to_radians(),
        },
        headset: Headset { lower_stack_mm: 10.0, upper_stack_mm: 15.0, axis_change_rad: 0.0, axis_pivot: 0.5 },
        fork: Fork { axle_to_crown_mm: 400.0_f64.hypot(offset_mm), offset_mm },
        wheels: Wheels { front_radius_mm: front_mm, rear_radius_mm: rear_mm },
        axle_path: AxlePath::Straight,
        cockpit: Some(Cockpit {
            spacers_mm: 10.0,
            stem_height_mm: 40.0,
            stem_length_mm: 60.0,
            stem_rise_rad: 0.1,
            bar_rise_mm: 20.0,
            hand_forward_mm: -40.0,
        }),
        seating: Some(Seating { saddle_height_mm: 720.0, back_mm: 10.0 }),
    }
}

#[test]
fn trail_of_the_benchmark_bicycle() {
    let (given, expect, tolerance) = case("whipple_geometry_relations");
    let bicycle = from_front_end(
        number(&given, "wheelbase_m") * 1e3,
        number(&expect, "head_angle_deg").to_radians(),
        number(&expect, "fork_offset_m") * 1e3,
        number(&given, "rF_m") * 1e3,
        number(&given, "rR_m") * 1e3,
        400.0,
        280.0,
    );
    let stance = stand(&bicycle, &NO_SAG).unwrap();
    let near = |got_mm: f64, want_m: f64| assert!((got_mm / 1e3 - want_m).abs() < tolerance, "{got_mm} mm, {want_m} m");
    near(stance.trail_mm(), number(&given, "trail_m"));
    near(stance.mechanical_trail_mm(), number(&expect, "mechanical_trail_m"));
    near(stance.wheel_flop_mm(), number(&expect, "wheel_flop_m"));
    near(stance.wheelbase_mm(), number(&given, "wheelbase_m"));
    assert!(stance.pitch_rad.abs() < 1e-12, "a bicycle as drawn stands as drawn");
}

#[test]
fn measured_bicycles() {
    for id in ["dataset_bicycle_1", "dataset_bicycle_2", "dataset_bicycle_3", "dataset_bicycle_4"] {
        let (given, expect, tolerance) = case(id);
        let radius_m = |side: &str| {
            number(&given, &format!("roll_out_{side}_m")) / (std::f64::consts::TAU * number(&given, &format!("turns_{side}")))
        };
        let optional = |key: &str, otherwise: f64| given.get(key).map_or(otherwise, |_| number(&given, key));
        let rear_m = optional("rear_centre_m", 0.45);
        let height_m = optional("bb_height_m", 0.28);
        let (front_radius_m, rear_radius_m) = (radius_m("front"), radius_m("rear"));
        assert!((front_radius_m - number(&expect, "rF_m")).abs() < tolerance);
        let drop_m = rear_radius_m - height_m;
        let stance = stand(
            &from_front_end(
                number(&given, "wheelbase_m") * 1e3,
                number(&given, "head_angle_deg").to_radians(),
                number(&given, "fork_offset_m") * 1e3,
                front_radius_m * 1e3,
                rear_radius_m * 1e3,
                (rear_m * rear_m - drop_m * drop_m).sqrt() * 1e3,
                height_m * 1e3,
            ),
            &NO_SAG,
        )
        .unwrap();
        let near = |got_mm: f64, key: &str| {
            if expect.contains_key(key) {
                assert!((got_mm / 1e3 - number(&expect, key)).abs() < tolerance, "{id} {key}: {got_mm} mm");
            }
        };
        near(stance.trail_mm(), "trail_m");
        near(stance.mechanical_trail_mm(), "mechanical_trail_m");
        near(stance.bb_drop_mm(), "bb_drop_below_rear_axle_m");
        near(stance.front_centre_mm(), "front_centre_m");
    }
}

/// First-order propagation of head angle, offset and roll-out to the trail gives the uncertainty the measured bicycles' own package
/// states (`trail_one_sigma_m`).
#[test]
fn uncertainty_of_a_measured_trail() {
    for id in ["dataset_bicycle_1", "dataset_bicycle_2", "dataset_bicycle_3", "dataset_bicycle_4"] {
        let (given, expect, _) = case(id);
        let trail_m = |angle_deg: f64, offset_m: f64, roll_out_m: f64| {
            let radius_m = roll_out_m / (std::f64::consts::TAU * number(&given, "turns_front"));
            let wheelbase_mm = number(&given, "wheelbase_m") * 1e3;
            let bicycle = from_front_end(
                wheelbase_mm,
                angle_deg.to_radians(),
                offset_m * 1e3,
                radius_m * 1e3,
                radius_m * 1e3,
                450.0,
                280.0,
            );
            stand(&bicycle, &NO_SAG).unwrap().trail_mm() / 1e3
        };
        let at = [number(&given, "head_angle_deg"), number(&given, "fork_offset_m"), number(&given, "roll_out_front_m")];
        let u = [
            number(&given, "one_sigma_head_angle_deg"),
            number(&given, "one_sigma_fork_offset_m"),
            number(&given, "one_sigma_roll_out_m"),
        ];
        let mut squares = 0.0;
        for i in 0..3 {
            // A thousandth of the uncertainty either way: the slope there, times the uncertainty.
            let moved = |by: f64| {
                let mut x = at;
                x[i] += by * u[i];
                trail_m(x[0], x[1], x[2])
            };
            squares += ((moved(1e-3) - moved(-1e-3)) / 2e-3).powi(2);
        }
        let difference = (squares.sqrt() - number(&expect, "trail_one_sigma_m")).abs();
        assert!(difference < 1e-7, "{id}: {} m", squares.sqrt());
    }
}

/// A fork with its front end known only by lengths square to and along the axis: the tilt has to come out of the wheels.
#[test]
fn a_measured_bicycle_known_by_perpendicular_distances() {
    let (given, expect, _) = case("dataset_bicycle_7_perpendicular");
    // In the drawn plane take the steering axis at 70°, then the rear axle is `a` behind it (square) and the front axle `b`
    // further along it and `o` ahead; standing must find the published tilt, whatever the drawn angle was.
    let (a, o, b) = (
        number(&given, "rear_axle_to_steer_axis_m") * 1e3,
        number(&given, "fork_offset_m") * 1e3,
        number(&given, "along_steer_axis_m") * 1e3,
    );
    for drawn_deg in [66.0_f64, 70.0, 75.0] {
        let drawn = drawn_deg.to_radians();
        let (sin, cos) = drawn.sin_cos();
        let (down, forward) = (Point::new(cos, -sin), Point::new(sin, cos));
        let rear_axle = Point::new(-420.0, 60.0);
        let abreast = rear_axle + forward.times(a);
        let foot = abreast + down.times(b);
        let top = foot - down.times(400.0 + 160.0);
        let mut bicycle = from_front_end(1000.0, drawn, o, 335.0, 335.0, 420.0, 275.0);
        bicycle.frame.bb_drop_mm = rear_axle.y;
        bicycle.frame.stack_mm = top.y;
        bicycle.frame.reach_mm = top.x;
        bicycle.wheels = Wheels { front_radius_mm: number(&given, "rF_m") * 1e3, rear_radius_mm: number(&given, "rR_m") * 1e3 };
        let stance = stand(&bicycle, &NO_SAG).unwrap();
        let tilt = std::f64::consts::FRAC_PI_2 - stance.head_angle_rad;
        // The source stores 12 digits of its own root search.
        assert!((tilt - number(&expect, "steer_axis_tilt_rad")).abs() < 1e-9);
        assert!((stance.wheelbase_mm() / 1e3 - number(&expect, "wheelbase_m")).abs() < 1e-9);
        assert!((stance.trail_mm() / 1e3 - number(&expect, "trail_m")).abs() < 1e-9);
    }
}

/// Common practice, no source: a fork 20 mm shorter steepens a 29-inch bike's head angle by about one degree and lowers the
/// bottom bracket by roughly 5 to 7 mm.
#[test]
fn the_trades_rule_of_thumb_for_a_shorter_fork() {
    let bicycle = from_front_end(1180.0, 66.0_f64.to_radians(), 44.0, 370.0, 370.0, 435.0, 335.0);
    let mut shorter = bicycle;
    shorter.fork.axle_to_crown_mm -= 20.0;
    let (before, after) = (stand(&bicycle, &NO_SAG).unwrap(), stand(&shorter, &NO_SAG).unwrap());
    let steeper_deg = (after.head_angle_rad - before.head_angle_rad).to_degrees();
    let lower_mm = before.bb_height_mm() - after.bb_height_mm();
    assert!((0.8..1.15).contains(&steeper_deg), "{steeper_deg}");
    assert!((5.0..7.5).contains(&lower_mm), "{lower_mm}");
}

fn any_bicycle() -> impl Strategy<Value = Bicycle<f64>> {
    (900.0..1300.0, 1.05..1.35, 25.0..60.0, 250.0..380.0, 250.0..380.0, 390.0..480.0, 240.0..340.0)
        .prop_map(|(w, a, o, f, r, c, h)| from_front_end(w, a, o, f, r, c, h))
}

/// The pose found by bisection on the pitch instead of in closed form.
fn pitch_by_bisection(bicycle: &Bicycle<f64>) -> f64 {
    let drawn = stand(bicycle, &NO_SAG).unwrap();
    let (rear, front) = (drawn.rear_axle, drawn.front_axle);
    // Undo the pose's own turn, then search the turn that puts the front wheel on the ground.
    let way = Point::new(front.x - rear.x, front.y - rear.y).turned(-drawn.pitch_rad);
    let gap = |pitch: f64| way.turned(pitch).y - (bicycle.wheels.front_radius_mm - bicycle.wheels.rear_radius_mm);
    let (mut low, mut high) = (-0.6, 0.6);
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if gap(middle) > 0.0 { high = middle } else { low = middle }
    }
    f64::midpoint(low, high)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn both_wheels_are_on_the_ground_and_rigid_lengths_are_kept(bicycle in any_bicycle(), longer in -60.0..60.0_f64, front in -40.0..40.0_f64) {
        let mut swapped = bicycle;
        swapped.fork.axle_to_crown_mm += longer;
        swapped.wheels.front_radius_mm += front;
        let (before, after) = (stand(&bicycle, &NO_SAG).unwrap(), stand(&swapped, &NO_SAG).unwrap());
        prop_assert!((after.front_axle.y - swapped.wheels.front_radius_mm).abs() < 1e-9);
        prop_assert!((after.rear_axle.y - swapped.wheels.rear_radius_mm).abs() < 1e-9);
        let rigid = |s: &Stance<f64>| [
            s.rear_centre_mm(),
            (s.head_tube_top - s.bottom_bracket).length(),
            (s.head_tube_top - s.rear_axle).length(),
            (s.head_tube_bottom - s.bottom_bracket).length(),
            (s.saddle.unwrap() - s.head_tube_top).length(),
            (s.cockpit.unwrap().hand - s.bottom_bracket).length(),
            s.head_angle_rad + s.pitch_rad,
        ];
        for (a, b) in rigid(&before).into_iter().zip(rigid(&after)) {
            prop_assert!((a - b).abs() < 1e-9, "{a} {b}");
        }
        prop_assert!((after.axle_to_crown_mm - (after.front_axle - after.crown).length()).abs() < 1e-9);
        prop_assert!((after.pitch_rad - pitch_by_bisection(&swapped)).abs() < 1e-12);
    }

    #[test]
    fn swapping_back_is_no_change(bicycle in any_bicycle(), longer in -60.0..60.0_f64) {
        let before = stand(&bicycle, &NO_SAG).unwrap();
        let mut swapped = bicycle;
        swapped.fork.axle_to_crown_mm += longer;
        swapped.fork.axle_to_crown_mm -= longer;
        let again = stand(&swapped, &NO_SAG).unwrap();
        prop_assert!((before.trail_mm() - again.trail_mm()).abs() < 1e-9);
        prop_assert!((before.bb_height_mm() - again.bb_height_mm()).abs() < 1e-9);
    }

    #[test]
    fn derivatives_equal_finite_differences(bicycle in any_bicycle(), sag in 0.0..60.0_f64, rear in 0.0..60.0_f64) {
        let outputs = |x: &[f64; 6]| -> Vec<f64> {
            let mut b = bicycle;
            b.axle_path = AxlePath::Arc(Point::new(40.0, 60.0));
            b.fork.axle_to_crown_mm += x[0];
            b.fork.offset_mm += x[1];
            b.wheels.front_radius_mm += x[2];
            b.frame.head_angle_rad += x[3] / 100.0;
            let s = stand(&b, &Sag { fork_mm: sag + x[4], rear_axle_mm: rear + x[5], front_tyre_mm: 4.0, rear_tyre_mm: 5.0 }).unwrap();
            figures(&s)
        };
        let dual = {
            type D = DualSVec64<6>;
            let x: [D; 6] = std::array::from_fn(|i| D::from_re(0.0).derivative(i));
            let c = |v: f64| D::from_re(v);
            let f = bicycle.frame;
            let b = Bicycle {
                frame: MainFrame {
                    rear_centre_horizontal_mm: c(f.rear_centre_horizontal_mm), bb_drop_mm: c(f.bb_drop_mm), stack_mm: c(f.stack_mm), reach_mm: c(f.reach_mm),
                    head_angle_rad: x[3] / 100.0 + f.head_angle_rad, head_tube_mm: c(f.head_tube_mm),
                    seat_angle_rad: c(f.seat_angle_rad), seat_tube_angle_rad: c(f.seat_tube_angle_rad),
                },
                headset: Headset { lower_stack_mm: c(10.0), upper_stack_mm: c(15.0), axis_change_rad: c(0.0), axis_pivot: c(0.5) },
                fork: Fork { axle_to_crown_mm: x[0] + bicycle.fork.axle_to_crown_mm, offset_mm: x[1] + bicycle.fork.offset_mm },
                wheels: Wheels { front_radius_mm: x[2] + bicycle.wheels.front_radius_mm, rear_radius_mm: c(bicycle.wheels.rear_radius_mm) },
                axle_path: AxlePath::Arc(Point::new(c(40.0), c(60.0))),
                cockpit: bicycle.cockpit.map(|k| Cockpit { spacers_mm: c(k.spacers_mm), stem_height_mm: c(k.stem_height_mm), stem_length_mm: c(k.stem_length_mm), stem_rise_rad: c(k.stem_rise_rad), bar_rise_mm: c(k.bar_rise_mm), hand_forward_mm: c(k.hand_forward_mm) }),
                seating: bicycle.seating.map(|k| Seating { saddle_height_mm: c(k.saddle_height_mm), back_mm: c(k.back_mm) }),
            };
            let s = stand(&b, &Sag { fork_mm: x[4] + sag, rear_axle_mm: x[5] + rear, front_tyre_mm: c(4.0), rear_tyre_mm: c(5.0) }).unwrap();
            figures(&s)
        };
        // Deep overlap of toe and tyre is reported no deeper than half the tyre's width, which is a kink: no derivative there.
        prop_assume!(dual[12].re + 30.0 > 2.0);
        for i in 0..6 {
            let step = 1e-2;
            let mut up = [0.0; 6];
            up[i] = step;
            let mut down = [0.0; 6];
            down[i] = -step;
            for (k, ((high, low), exact)) in outputs(&up).into_iter().zip(outputs(&down)).zip(&dual).enumerate() {
                let difference = (high - low) / (2.0 * step);
                let derivative = exact.eps.unwrap_generic(nalgebra::Const::<6>, nalgebra::U1)[i];
                // Central differences at 0.01 mm; the toe clearance is searched to 1e-5 mm, which a difference multiplies by a hundred, and
                // close to overlap its slope turns within a step.
                let allowed = if k == 12 { 5e-3 } else { 1e-5 };
                prop_assert!((difference - derivative).abs() < allowed * derivative.abs().max(1.0), "input {i}, figure {k}: {difference} {derivative}");
            }
        }
    }

    /// A leaning bicycle turned point by point: at the angle found, pedal edge and both tyres touch one plane.
    #[test]
    fn lean_against_a_turned_bicycle(bicycle in any_bicycle(), width in 25.0..75.0_f64) {
        let stance = stand(&bicycle, &NO_SAG).unwrap();
        let pedals = Pedals { crank_length_mm: 170.0, centre_from_middle_mm: 135.0, edge_from_middle_mm: 180.0, thickness_mm: 18.0 };
        let sections = Sections { front_width_mm: width, rear_width_mm: width, front_radius_mm: bicycle.wheels.front_radius_mm };
        let lean = pedal::lean_rad(&stance, &pedals, &sections);
        // The tyre's round section rolls: its middle stays at height r and everything turns about it.
        let up = pedal::ground_clearance_mm(&stance, &pedals) - width / 2.0;
        let height = up * lean.cos() - 180.0 * lean.sin() + width / 2.0;
        prop_assert!(height.abs() < 1e-9, "{height}");
        let less = lean - 0.01;
        prop_assert!(up * less.cos() - 180.0 * less.sin() + width / 2.0 > 0.0);
    }

    /// The tyre as a cloud of points over all steering angles comes no closer than the distance found, and nearly as close.
    #[test]
    fn toe_clearance_against_sampled_tyres(bicycle in any_bicycle(), width in 25.0..75.0_f64) {
        let stance = stand(&bicycle, &NO_SAG).unwrap();
        let pedals = Pedals { crank_length_mm: 170.0, centre_from_middle_mm: 135.0, edge_from_middle_mm: 180.0, thickness_mm: 18.0 };
        let front_radius_mm = bicycle.wheels.front_radius_mm;
        let found = pedal::toe_clearance_mm(&stance, &pedals, &Sections { front_width_mm: width, rear_width_mm: width, front_radius_mm });
        let pedal = [stance.bottom_bracket.x + 170.0, 135.0, stance.bottom_bracket.y];
        let (sin, cos) = stance.head_angle_rad.sin_cos();
        let axis = [-cos, 0.0, sin];
        let foot = stance.fork_foot();
        let mut least = f64::INFINITY;
        for i in 0..=180 {
            let steer = f64::from(i - 90).to_radians();
            for k in 0..180 {
                // A point on the section's middle circle, straight ahead, then turned about the steering axis (Rodrigues).
                let around = f64::from(k * 2).to_radians();
                let circle = front_radius_mm - width / 2.0;
                let p = [stance.front_axle.x + circle * around.cos() - foot.x, 0.0, stance.front_axle.y + circle * around.sin() - foot.y];
                let cross = [axis[1] * p[2] - axis[2] * p[1], axis[2] * p[0] - axis[0] * p[2], axis[0] * p[1] - axis[1] * p[0]];
                let dot = axis[0] * p[0] + axis[1] * p[1] + axis[2] * p[2];
                let turned: Vec<f64> = (0..3).map(|j| p[j] * steer.cos() + cross[j] * steer.sin() + axis[j] * dot * (1.0 - steer.cos())).collect();
                let at = [turned[0] + foot.x, turned[1], turned[2] + foot.y];
                let distance = (0..3).map(|j| (at[j] - pedal[j]).powi(2)).sum::<f64>().sqrt();
                least = least.min(distance - width / 2.0);
            }
        }
        // Samples lie up to 14 mm apart along the tyre and 7 mm across steering angles: the nearest one misses by 12 mm at most.
        let to_circle = found + width / 2.0;
        prop_assert!(found <= least + 1e-9 && found > least - (to_circle.hypot(12.0) - to_circle), "{found} {least}");
    }
}

/// Figures of a stance whose derivatives are compared.
fn figures<D: mechanics::Real>(s: &Stance<D>) -> Vec<D> {
    let pedals = Pedals {
        crank_length_mm: D::from(170.0),
        centre_from_middle_mm: D::from(135.0),
        edge_from_middle_mm: D::from(180.0),
        thickness_mm: D::from(18.0),
    };
    let sections =
        Sections { front_width_mm: D::from(60.0), rear_width_mm: D::from(50.0), front_radius_mm: s.front_axle.y + 4.0 };
    vec![
        s.head_angle_rad,
        s.wheelbase_mm(),
        s.bb_height_mm(),
        s.trail_mm(),
        s.stack_mm(),
        s.reach_mm(),
        s.front_centre_mm(),
        s.axle_to_crown_mm,
        s.effective_seat_angle_rad().unwrap(),
        s.bar_reach_stack_mm().unwrap().x,
        s.saddle_to_bar_mm().unwrap().y,
        pedal::lean_rad(s, &pedals, &sections),
        pedal::toe_clearance_mm(s, &pedals, &sections),
    ]
}

#[test]
fn impossible_bicycles_are_refused() {
    let bicycle = from_front_end(1100.0, 1.2, 44.0, 350.0, 350.0, 430.0, 290.0);
    let mut short = bicycle;
    short.fork.axle_to_crown_mm = 30.0;
    assert!(stand(&short, &NO_SAG).unwrap_err().to_string().contains("offset of 44 mm is longer"));
    assert!(
        stand(&bicycle, &Sag { fork_mm: 500.0, ..NO_SAG }).unwrap_err().to_string().contains("cannot be compressed by 500 mm")
    );
    let mut tall = bicycle;
    tall.wheels.front_radius_mm = 1600.0;
    assert!(stand(&tall, &NO_SAG).unwrap_err().to_string().contains("too close"));
    let mut arc = bicycle;
    arc.axle_path = AxlePath::Arc(Point::new(-380.0, 60.0));
    assert!(stand(&arc, &Sag { rear_axle_mm: 120.0, ..NO_SAG }).unwrap_err().to_string().contains("at most"));
    let mut low = bicycle;
    low.frame.seat_tube_angle_rad = 0.9;
    low.seating = Some(Seating { saddle_height_mm: 90.0, back_mm: 0.0 });
    assert!(stand(&low, &NO_SAG).unwrap_err().to_string().contains("does not reach"));
}
