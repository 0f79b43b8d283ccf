//! Where a seated rider's centre of mass is, and the load on the front wheel.
//!
//! The rider is a chain of segments in the bicycle's plane: hip on the saddle, hands on the grips, feet on average at the bottom
//! bracket. Shoulder and knee are where two segments of known length meet. Segment lengths are shares of body height, masses
//! shares of body mass:
//!
//! | segment | length / height | mass / body mass (both sides) | centre of mass, from the upper end |
//! |---------|-----------------|------------------------------|------------------------------------|
//! | trunk, hip to shoulder | 0.288 | 0.497 | 0.50 |
//! | head and neck, above the shoulder | – | 0.081 | 0.112 of height beyond the shoulder, along the trunk |
//! | upper arm | 0.186 | 0.056 | on the line shoulder to hand: 0.436 of its own length from the shoulder |
//! | forearm and hand | 0.200 | 0.044 | the same: 0.682 of forearm length from the elbow |
//! | thigh | 0.245 | 0.200 | 0.433 |
//! | leg and foot | 0.285 | 0.122 | 0.606 |
//!
//! Arms are a little bent (`ARM_CHORD`). A rider who cannot reach the bar leans as far as possible. The model gives the
//! mean over a turn of the cranks, in whatever plane the points are given (as drawn, or standing); posture is the rider's own, so callers add a tolerance to the result.
//!
//! Source of shares: Winter, D. A. (2009) Biomechanics and Motor Control of Human Movement, 4th ed., Figure 4.1 (Drillis &
//! Contini) and Table 4.1 (from memory).
//!
//! The load on the front wheel of a bicycle at rest is a moment balance about the rear contact:
//! `share = Σ m x / (Σ m · wheelbase)`.

use crate::{
    Real,
    plane::{Point, circles_meet_left},
};

/// Hip to shoulder, share of height.
const TRUNK: f64 = 0.288;
/// Upper arm, share of height.
const UPPER_ARM: f64 = 0.186;
/// Elbow to the middle of the closed hand, share of height: forearm 0.146 and half of the hand's 0.108.
const FOREARM: f64 = 0.200;
/// Hip to knee, share of height.
const THIGH: f64 = 0.245;
/// Knee to sole, share of height: leg 0.246 and ankle height 0.039.
const LEG: f64 = 0.285;
/// Elbows bent by some 30°: the shoulder is this share of the arm's length from the hand (judgement, no source).
const ARM_CHORD: f64 = 0.965;

/// A rider's size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rider<D> {
    /// Body mass with what is worn and carried, kg.
    pub mass_kg: D,
    /// Body height, mm.
    pub height_mm: D,
}

/// Centre of mass of a seated rider.
///
/// Returns `None` if the saddle is further from the bottom bracket than the legs are long.
pub fn centre_of_mass<D: Real>(rider: &Rider<D>, saddle: Point<D>, hand: Point<D>, bottom_bracket: Point<D>) -> Option<Point<D>> {
    let height = rider.height_mm;
    let (trunk, arm) = (height * TRUNK, height * ((UPPER_ARM + FOREARM) * ARM_CHORD));
    // Seen from the drive side the shoulder is above, that is on the left of, the way from hip to hand.
    let shoulder = circles_meet_left(saddle, trunk, hand, arm).unwrap_or_else(|| {
        let way = hand - saddle;
        saddle + way.times(trunk / way.length())
    });
    let (thigh, leg) = (height * THIGH, height * LEG);
    // Knees bend forward: on the left of the way from the feet to the hip.
    let knee = circles_meet_left(bottom_bracket, leg, saddle, thigh).map(|left| mirror(left, bottom_bracket, saddle))?;

    let trunk_way = shoulder - saddle;
    let head = shoulder + trunk_way.times(height * 0.112 / trunk);
    let along = |from: Point<D>, to: Point<D>, share: f64| from + (to - from).times(D::from(share));
    let arm_share = |mm_per_height: f64| mm_per_height / (UPPER_ARM + FOREARM);
    let segments = [
        (0.497, along(saddle, shoulder, 0.50)),
        (0.081, head),
        (0.056, along(shoulder, hand, arm_share(0.436 * UPPER_ARM))),
        (0.044, along(shoulder, hand, arm_share(UPPER_ARM + 0.682 * FOREARM))),
        (0.200, along(saddle, knee, 0.433)),
        (0.122, along(knee, bottom_bracket, 0.606)),
    ];
    let zero = D::from(0.0);
    Some(segments.into_iter().fold(Point::new(zero, zero), |sum, (mass, at)| sum + at.times(D::from(mass))))
}

/// `point` mirrored on the line through `a` and `b`.
fn mirror<D: Real>(point: Point<D>, a: Point<D>, b: Point<D>) -> Point<D> {
    let way = b - a;
    let along = (point - a).dot(way) / way.dot(way);
    let foot = a + way.times(along);
    foot + (foot - point)
}

/// Share of the whole mass on the front wheel, 0 to 1: rider and bicycle, each with its centre of mass ahead of the rear contact.
pub fn front_share<D: Real>(masses_kg_at_mm: &[(D, D)], wheelbase_mm: D) -> D {
    let zero = D::from(0.0);
    let (mass, moment) = masses_kg_at_mm.iter().fold((zero, zero), |(mass, moment), &(m, x)| (mass + m, moment + m * x));
    moment / (mass * wheelbase_mm)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn segment_masses_add_up_to_the_body() {
        let sum: f64 = [0.497, 0.081, 0.056, 0.044, 0.200, 0.122].iter().sum();
        assert!((sum - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_rider_sits_between_saddle_and_bar_knees_forward() {
        let rider = Rider { mass_kg: 80.0, height_mm: 1780.0 };
        let saddle = Point::new(-200.0, 720.0);
        let hand = Point::new(480.0, 680.0);
        let centre = centre_of_mass(&rider, saddle, hand, Point::new(0.0, 0.0)).unwrap();
        assert!(centre.x > saddle.x && centre.x < hand.x, "{centre:?}");
        assert!(centre.y > saddle.y && centre.y < saddle.y + 400.0, "{centre:?}");
        // A lower, longer bar brings the rider forward.
        let low = centre_of_mass(&rider, saddle, Point::new(540.0, 580.0), Point::new(0.0, 0.0)).unwrap();
        assert!(low.x > centre.x);
        // Legs too short for the saddle: not a pose.
        assert!(centre_of_mass(&Rider { height_mm: 900.0, ..rider }, saddle, hand, Point::new(0.0, 0.0)).is_none());
    }

    #[test]
    fn the_lever_rule() {
        // Two masses of 10 kg and 30 kg, 400 mm and 500 mm ahead of the rear contact, wheelbase 1000 mm: 19/40.
        let share: f64 = front_share(&[(10.0, 400.0), (30.0, 500.0)], 1000.0);
        assert!((share - 0.475).abs() < 1e-12);
    }
}
