//! What the pedal touches: the ground when the bike leans, the front tyre when it steers.
//!
//! **Lean.** The bike leans about its tyres, which are round in section (radius r); the pedal is level and at its lowest. Seen
//! from behind, with the middle of the tyre's section at height r, the pedal's outer lower edge is at (y, h). It touches when
//!
//! ```text
//! (h − r) cos θ − y sin θ + r = 0     ⇒     θ = acos(−r / √((h − r)² + y²)) − atan2(y, h − r)
//! ```
//!
//! Front and rear tyres of different width: r is taken between the two in proportion to where the pedal stands in the wheelbase.
//!
//! **Toe.** With the cranks level, the middle of the forward pedal against the front tyre, a torus of radius R and section radius
//! r, steered by δ about the steering axis: the shortest distance over all δ,
//!
//! ```text
//! d(δ) = √((p·N)² + (√(|p|² − (p·N)²) − (R − r))²) − r     p = pedal − wheel centre, N = wheel's axle direction, both at δ
//! ```
//!
//! That is never more than the distance measured forward and level that the rules speak of. The frame is held still while steering
//! (it sinks a little in truth). Overlap is measured to the middle of the tyre at most: `d ≥ −r`. The least value is found by scanning and golden-section search on plain numbers; derivatives are
//! then taken at that δ, which is exact at a minimum (envelope theorem).
//!
//! Source: own derivation; what is measured follows 16 CFR 1512.17(c), (d).
//! Checked against: `tests/two_wheelers.rs` (a leaning bicycle rotated point by point; a torus sampled point by point).

use crate::{Real, planar::Stance, plane::Point};

/// Cranks and pedals across the bike.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pedals<D> {
    /// Crank length, mm.
    pub crank_length_mm: D,
    /// Middle plane to the middle of the pedal, mm.
    pub centre_from_middle_mm: D,
    /// Middle plane to the pedal's outer edge, mm.
    pub edge_from_middle_mm: D,
    /// Pedal thickness, mm.
    pub thickness_mm: D,
}

/// Both tyres as they stand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sections<D> {
    /// Front tyre width, mm.
    pub front_width_mm: D,
    /// Rear tyre width, mm.
    pub rear_width_mm: D,
    /// Front wheel radius over the tyre, not squashed, mm.
    pub front_radius_mm: D,
}

/// Lowest point of the level pedal above the ground, crank down, bike upright, mm.
pub fn ground_clearance_mm<D: Real>(stance: &Stance<D>, pedals: &Pedals<D>) -> D {
    stance.bb_height_mm() - pedals.crank_length_mm - pedals.thickness_mm * 0.5
}

/// Lean from upright at which the pedal touches the ground, rad; zero or less if it touches when upright.
pub fn lean_rad<D: Real>(stance: &Stance<D>, pedals: &Pedals<D>, sections: &Sections<D>) -> D {
    let share_front = stance.bottom_bracket.x / stance.wheelbase_mm();
    let section_mm = (sections.rear_width_mm + (sections.front_width_mm - sections.rear_width_mm) * share_front) * 0.5;
    let up_mm = ground_clearance_mm(stance, pedals) - section_mm;
    let out_mm = pedals.edge_from_middle_mm;
    let arm_mm = (up_mm * up_mm + out_mm * out_mm).sqrt();
    (-section_mm / arm_mm).acos() - out_mm.atan2(up_mm)
}

/// Steering angles looked at: a quarter turn to the pedal's side.
const FULL_LOCK_RAD: f64 = std::f64::consts::FRAC_PI_2;
/// Steps of the first scan; the distance has one minimum over the quarter turn, far wider than a step.
const SCAN_STEPS: u32 = 9;
/// The search ends when δ is known this well; the distance is then good to its square times the wheel's size, 1e-5 mm.
const ENOUGH_RAD: f64 = 1e-4;

/// Shortest distance from the middle of the forward pedal to the front tyre, wheel turned to any position, mm; negative if they
/// meet.
pub fn toe_clearance_mm<D: Real>(stance: &Stance<D>, pedals: &Pedals<D>, sections: &Sections<D>) -> D {
    toe_clearance_at_mm(stance, pedals, sections, closest_steer_rad(stance, pedals, sections))
}

/// The δ at which pedal and tyre come closest, rad. It needs no derivatives, so one search serves any number of passes through
/// [`toe_clearance_at_mm`].
pub fn closest_steer_rad<D: Real>(stance: &Stance<D>, pedals: &Pedals<D>, sections: &Sections<D>) -> f64 {
    let toe = Toe::of(stance, pedals, sections);
    Toe {
        head_angle_rad: toe.head_angle_rad.re(),
        foot: toe.foot.re(),
        offset_mm: toe.offset_mm.re(),
        pedal_x_mm: toe.pedal_x_mm.re(),
        pedal_y_mm: toe.pedal_y_mm.re(),
        pedal_out_mm: toe.pedal_out_mm.re(),
        section_mm: toe.section_mm.re(),
        circle_mm: toe.circle_mm.re(),
    }
    .closest_steer_rad()
}

/// d(δ): distance from the middle of the forward pedal to the front tyre, wheel turned by `steer_rad`, mm.
pub fn toe_clearance_at_mm<D: Real>(stance: &Stance<D>, pedals: &Pedals<D>, sections: &Sections<D>, steer_rad: f64) -> D {
    Toe::of(stance, pedals, sections).distance_mm(steer_rad)
}

/// Pedal and steered wheel.
struct Toe<D> {
    head_angle_rad: D,
    foot: Point<D>,
    offset_mm: D,
    pedal_x_mm: D,
    pedal_y_mm: D,
    pedal_out_mm: D,
    section_mm: D,
    circle_mm: D,
}

impl<D: Real> Toe<D> {
    fn of(stance: &Stance<D>, pedals: &Pedals<D>, sections: &Sections<D>) -> Self {
        Self {
            head_angle_rad: stance.head_angle_rad,
            foot: stance.fork_foot(),
            offset_mm: stance.offset_mm,
            pedal_x_mm: stance.bottom_bracket.x + pedals.crank_length_mm,
            pedal_y_mm: stance.bottom_bracket.y,
            pedal_out_mm: pedals.centre_from_middle_mm,
            section_mm: sections.front_width_mm * 0.5,
            circle_mm: sections.front_radius_mm - sections.front_width_mm * 0.5,
        }
    }

    /// d(δ) of the module's header. Axes: x forward, z up, y to the pedal's side.
    fn distance_mm(&self, steer_rad: f64) -> D {
        let (turn_sin, turn_cos) = steer_rad.sin_cos();
        let (sin, cos) = self.head_angle_rad.sin_cos();
        // Square to the axis and forward: n = (sin, 0, cos). Turning takes n to n cos δ + y sin δ and y to y cos δ − n sin δ.
        let out = self.offset_mm * turn_cos;
        let centre = [self.foot.x + sin * out, self.offset_mm * turn_sin, self.foot.y + cos * out];
        let axle = [-sin * turn_sin, D::from(turn_cos), -cos * turn_sin];
        let way = [self.pedal_x_mm - centre[0], self.pedal_out_mm - centre[1], self.pedal_y_mm - centre[2]];
        let aside = way[0] * axle[0] + way[1] * axle[1] + way[2] * axle[2];
        let squared = way[0] * way[0] + way[1] * way[1] + way[2] * way[2];
        let in_plane = (squared - aside * aside).sqrt() - self.circle_mm;
        (aside * aside + in_plane * in_plane).sqrt() - self.section_mm
    }
}

impl Toe<f64> {
    /// The δ of least distance: a scan, then golden sections.
    fn closest_steer_rad(&self) -> f64 {
        let step_rad = FULL_LOCK_RAD / f64::from(SCAN_STEPS);
        let mut best = (0.0, f64::INFINITY);
        for i in 0..=SCAN_STEPS {
            // Turning the wheel's front away from the pedal brings its rear edge towards it: negative δ here.
            let steer_rad = -step_rad * f64::from(i);
            let distance = self.distance_mm(steer_rad);
            if distance < best.1 {
                best = (steer_rad, distance);
            }
        }
        let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
        let (mut low, mut high) = (best.0 - step_rad, (best.0 + step_rad).min(0.0));
        let mut inner = [high - golden * (high - low), low + golden * (high - low)];
        let mut values = inner.map(|s| self.distance_mm(s));
        while high - low > ENOUGH_RAD {
            if values[0] < values[1] {
                high = inner[1];
                inner = [high - golden * (high - low), inner[0]];
                values = [self.distance_mm(inner[0]), values[0]];
            } else {
                low = inner[0];
                inner = [inner[1], low + golden * (high - low)];
                values = [values[1], self.distance_mm(inner[1])];
            }
        }
        f64::midpoint(low, high)
    }
}
