//! Teeth of a chain wheel: the gap a roller sits in, how high the teeth stand, and how teeth that are thick and thin in turn fill a chain.
//!
//! ```text
//! d = p / sin(π/z)                            pitch circle
//! d_f = d − d₁                                root circle
//! d_a = d + 1.25 p − d₁   …   d + p (1 − 1.6/z) − d₁      tip circle, largest … smallest
//!                       smallest gap            largest gap
//! r_e = flank           0.12 d₁ (z + 2)         0.008 d₁ (z² + 180)
//! r_i = seat            0.505 d₁                0.505 d₁ + 0.069 ∛d₁
//! α   = seating angle   140° − 90°/z            120° − 90°/z
//! ```
//!
//! | symbol | here | unit | meaning |
//! |--------|------|------|---------|
//! | p | [`PITCH_MM`] | mm | pitch |
//! | d₁ | [`ROLLER_MM`] | mm | roller diameter |
//! | z | `teeth` | – | teeth |
//!
//! The profile of a tooth is drawn as the standard has it: the seat is an arc about the roller's middle over the angle α; at its ends the
//! flank goes on as an arc of the other curvature, whose middle lies on the same straight line, until it meets the tip circle.
//!
//! **Thick and thin in turn.** Between inner plates a chain is narrower than between outer ones. A thin tooth fits both, a thick one only
//! the outer gap. What is left beside a tooth is its play to either side, (gap − tooth)/2: the less play, the less the chain can move over
//! before the plates are held by the tooth's flank. With an even number of teeth a thick tooth always meets an outer gap.
//!
//! Source: ISO 606:2015, 5.4 and 5.5 (formulas from memory; limits recomputed elsewhere, see `tests/references/teeth.toml`).
//! Checked against: `tests/teeth.rs`.

use crate::{
    chain_path::{PITCH_MM, pitch_radius_mm},
    plane::Point,
};

/// Roller diameter of a bicycle chain, mm (ISO 9633: 7.75 at most; from memory).
pub const ROLLER_MM: f64 = 7.75;

/// The fewest teeth for which the formulas hold (ISO 606 tables begin with 9).
pub const FEWEST_TEETH: u32 = 9;

/// Which of the two limits of ISO 606.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    /// The roller sits snugly.
    SmallestGap,
    /// The roller has as much room as is allowed: nearer to a worn tooth.
    LargestGap,
}

/// The gap between two teeth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// Flank radius, mm.
    pub flank_mm: f64,
    /// Seating radius, mm.
    pub seat_mm: f64,
    /// Seating angle, rad.
    pub seating_rad: f64,
}

/// The gap of a wheel at one of its limits; `None` below [`FEWEST_TEETH`].
pub fn gap(teeth: u32, limit: Limit) -> Option<Gap> {
    if teeth < FEWEST_TEETH {
        return None;
    }
    let (z, d) = (f64::from(teeth), ROLLER_MM);
    let (flank_mm, seat_mm, straight) = match limit {
        Limit::SmallestGap => (0.12 * d * (z + 2.0), 0.505 * d, 140.0_f64),
        Limit::LargestGap => (0.008 * d * (z * z + 180.0), 0.505 * d + 0.069 * d.cbrt(), 120.0),
    };
    Some(Gap { flank_mm, seat_mm, seating_rad: (straight - 90.0 / z).to_radians() })
}

/// Root diameter, mm.
pub fn root_diameter_mm(teeth: u32) -> f64 {
    2.0 * pitch_radius_mm(teeth) - ROLLER_MM
}

/// Smallest and largest tip diameter, mm.
pub fn tip_diameters_mm(teeth: u32) -> [f64; 2] {
    let pitch_circle = 2.0 * pitch_radius_mm(teeth);
    let smallest = pitch_circle + PITCH_MM * (1.0 - 1.6 / f64::from(teeth)) - ROLLER_MM;
    [smallest, pitch_circle + 1.25 * PITCH_MM - ROLLER_MM]
}

/// How high the tips stand above the pins of a seated chain, mm: by so much a chain has to lift before it is clear of them.
pub fn tips_above_pins_mm(teeth: u32, tip_diameter_mm: f64) -> f64 {
    0.5 * tip_diameter_mm - pitch_radius_mm(teeth)
}

/// Points of an arc, both ends among them.
const ARC_POINTS: u32 = 7;

/// The outline of a wheel around its centre, counter-clockwise, one gap after the other, the first roller straight up; mm. `None` below
/// [`FEWEST_TEETH`], or if the flanks meet below the tip circle's radius and the teeth would be cut off by each other.
pub fn outline(teeth: u32, limit: Limit, tip_diameter_mm: f64) -> Option<Vec<Point<f64>>> {
    let half = half_gap(teeth, limit, tip_diameter_mm)?;
    let step = std::f64::consts::TAU / f64::from(teeth);
    let mut outline = Vec::with_capacity(half.len() * 2 * teeth as usize);
    for tooth in 0..teeth {
        let turn = step * f64::from(tooth);
        // Counter-clockwise: the right half of the gap from its tip down, then the left half up.
        let right = half.iter().rev().map(|p| Point::new(p.x, p.y));
        let left = half.iter().map(|p| Point::new(-p.x, p.y));
        outline.extend(right.chain(left).map(|p| p.turned(turn)));
    }
    Some(outline)
}

/// Right half of the gap whose roller is straight above the wheel's centre, from its bottom to the tip circle.
fn half_gap(teeth: u32, limit: Limit, tip_diameter_mm: f64) -> Option<Vec<Point<f64>>> {
    let gap = gap(teeth, limit)?;
    let roller = Point::new(0.0, pitch_radius_mm(teeth));
    let tip = 0.5 * tip_diameter_mm;
    // From straight down the seat goes over half the seating angle to the right.
    let down = -std::f64::consts::FRAC_PI_2;
    let end = down + 0.5 * gap.seating_rad;
    let mut points: Vec<Point<f64>> = arc(roller, gap.seat_mm, down, end).collect();
    let flank_middle = roller + Point::direction(end).times(gap.seat_mm + gap.flank_mm);
    // The flank begins opposite the seat and turns until it is as far from the wheel's centre as the tip circle.
    let begin = end + std::f64::consts::PI;
    let (far, radius) = (flank_middle.length(), gap.flank_mm);
    let cosine = (far * far + radius * radius - tip * tip) / (2.0 * far * radius);
    if !(-1.0..=1.0).contains(&cosine) {
        return None;
    }
    let toward_centre = flank_middle.times(-1.0).angle();
    let off = cosine.acos();
    // Of the two meetings the one further out along the way from the seat: the flank runs clockwise about its middle.
    let stop = [toward_centre + off, toward_centre - off]
        .map(|angle| begin - (begin - angle).rem_euclid(std::f64::consts::TAU))
        .into_iter()
        .fold(f64::NEG_INFINITY, f64::max);
    points.extend(arc(flank_middle, radius, begin, stop).skip(1));
    // Neighbouring flanks may not have crossed before they are as high.
    let edge = points.last()?;
    let inside = edge.x.atan2(edge.y) < std::f64::consts::PI / f64::from(teeth);
    inside.then_some(points)
}

fn arc(middle: Point<f64>, radius: f64, from: f64, to: f64) -> impl Iterator<Item = Point<f64>> {
    (0..ARC_POINTS).map(move |at| {
        let share = f64::from(at) / f64::from(ARC_POINTS - 1);
        middle + Point::direction(from + (to - from) * share).times(radius)
    })
}

/// What is left on either side of a tooth between plates, mm: negative if it does not go in.
pub fn play_mm<D: crate::Real>(gap_mm: D, tooth_mm: D) -> D {
    (gap_mm - tooth_mm) * 0.5
}

/// How well a ring's teeth fill a chain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Filling<D> {
    /// Play of a tooth between inner plates, mm.
    pub inner_mm: D,
    /// Play of a tooth between outer plates, mm.
    pub outer_mm: D,
}

impl<D: crate::Real> Filling<D> {
    /// Of a ring whose teeth are all alike.
    pub fn plain(inner_gap_mm: D, outer_gap_mm: D, tooth_mm: D) -> Self {
        Self { inner_mm: play_mm(inner_gap_mm, tooth_mm), outer_mm: play_mm(outer_gap_mm, tooth_mm) }
    }

    /// Of a ring whose teeth are thick and thin in turn, the thick ones in the outer gaps.
    pub fn alternating(inner_gap_mm: D, outer_gap_mm: D, [thin_mm, thick_mm]: [D; 2]) -> Self {
        Self { inner_mm: play_mm(inner_gap_mm, thin_mm), outer_mm: play_mm(outer_gap_mm, thick_mm) }
    }

    /// How far the chain can move over before any tooth holds it, mm: the plates are stiff across, so the tightest tooth holds it.
    pub fn across_mm(&self) -> D {
        if self.inner_mm.re() < self.outer_mm.re() { self.inner_mm } else { self.outer_mm }
    }
}
