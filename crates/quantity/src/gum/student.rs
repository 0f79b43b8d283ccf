//! Coverage factors: quantiles of Student's distribution.
//!
//! The distribution is summed in closed form for whole degrees of freedom (Abramowitz & Stegun, *Handbook of Mathematical Functions*,
//! 1964, equations 26.7.3 and 26.7.4; the normal limit is 26.2.10 summed as 7.1.6) and inverted by bisection.

use std::f64::consts::{FRAC_2_PI, PI};

/// Degrees of freedom from which on the distribution is expanded about the normal one: the terms left out are below 1e-12 there.
const NEARLY_NORMAL: f64 = 1000.0;

/// The coverage factor `k` for which an interval ± `k u` holds a share `probability` (0 … 1) of Student's distribution with so many
/// degrees of freedom (JCGM 100:2008, G.3): `k = t_p(ν)`. Broken degrees of freedom are cut to the next lower whole number, as the
/// guide does (G.4.2). Infinite ones give the normal distribution.
///
/// Infinite if `probability` is 1 or more, or with less than one degree of freedom: no interval is known to hold it. Zero if
/// `probability` is zero or less.
///
/// Accurate to 1e-9 relative up to a probability of 0.9999 (`tests/guide.rs` holds it against the two decimals of the guide's
/// table G.2).
///
/// ```
/// // JCGM 100:2008, H.1.6: k = t_99(16) = 2.92.
/// let k = quantity::gum::coverage_factor(0.99, 16.7);
/// assert_eq!(format!("{k:.2}"), "2.92");
/// ```
pub fn coverage_factor(probability: f64, degrees_of_freedom: f64) -> f64 {
    let whole = degrees_of_freedom.floor();
    if probability <= 0.0 {
        return 0.0;
    }
    if probability.is_nan() || probability >= 1.0 || whole.is_nan() || whole < 1.0 {
        return f64::INFINITY;
    }
    if whole >= NEARLY_NORMAL {
        return nearly_normal(inverse(within_normal, probability), whole);
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a whole number from 1 to 1000")]
    let nu = whole as u32;
    inverse(|t| within_student(t, nu), probability)
}

/// Beyond this no distribution has a share left that a double could tell from 1.
const FARTHEST: f64 = 9_007_199_254_740_992.0;

/// Share of Student's distribution with ν degrees of freedom between −t and t (26.7.3 for odd ν, 26.7.4 for even ν), t ≥ 0:
///
/// ```text
/// θ = arctan(t/√ν)
/// odd:   A = 2/π {θ + sin θ [cos θ + 2/3 cos³ θ + … + (2·4·…·(ν−3))/(3·5·…·(ν−2)) cos^(ν−2) θ]}     (ν = 1: 2θ/π)
/// even:  A = sin θ {1 + 1/2 cos² θ + (1·3)/(2·4) cos⁴ θ + … + (1·3·…·(ν−3))/(2·4·…·(ν−2)) cos^(ν−2) θ}
/// ```
fn within_student(t: f64, nu: u32) -> f64 {
    let theta = (t / f64::from(nu).sqrt()).atan();
    let (sin, cos) = theta.sin_cos();
    let odd = nu % 2 == 1;
    let mut term = match (odd, nu) {
        (true, 1) => 0.0,
        (true, _) => cos,
        (false, _) => 1.0,
    };
    let mut sum = term;
    let mut power = if odd { 3 } else { 2 };
    while power <= nu.saturating_sub(2) {
        // The ratio of two terms: (power − 1)/power cos².
        term *= f64::from(power - 1) / f64::from(power) * cos * cos;
        sum += term;
        power += 2;
    }
    if odd { FRAC_2_PI * (theta + sin * sum) } else { sin * sum }
}

/// Share of the normal distribution between −z and z: `√(2/π) exp(−z²/2) Σ z^(2n+1)/(1·3·…·(2n+1))` (7.1.6), z ≥ 0.
fn within_normal(z: f64) -> f64 {
    let mut term = z;
    let mut sum = z;
    let mut odd = 1.0;
    while term > sum * f64::EPSILON {
        odd += 2.0;
        term *= z * z / odd;
        sum += term;
    }
    (2.0 / PI).sqrt() * (-z * z / 2.0).exp() * sum
}

/// Quantile of Student's distribution from that of the normal one, for many degrees of freedom (26.7.5).
fn nearly_normal(z: f64, nu: f64) -> f64 {
    let g1 = (z.powi(3) + z) / 4.0;
    let g2 = (5.0 * z.powi(5) + 16.0 * z.powi(3) + 3.0 * z) / 96.0;
    let g3 = (3.0 * z.powi(7) + 19.0 * z.powi(5) + 17.0 * z.powi(3) - 15.0 * z) / 384.0;
    z + g1 / nu + g2 / nu.powi(2) + g3 / nu.powi(3)
}

/// Where a share that grows from 0 to 1 reaches `probability`.
fn inverse(within: impl Fn(f64) -> f64, probability: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    // Doubling finds the far end: at 2⁵³ even ν = 1 has reached the largest share below 1. The sum for the normal distribution may
    // end a rounding short of it; its quantile lies below 9, and so does that of the last doubling.
    while within(high) < probability && high < FARTHEST {
        (low, high) = (high, 2.0 * high);
    }
    while high - low > 2.0 * f64::EPSILON * high {
        let middle = f64::midpoint(low, high);
        if within(middle) < probability { low = middle } else { high = middle }
    }
    f64::midpoint(low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed forms: ν = 1 (Cauchy) t = tan(p π/2), ν = 2 t = p √(2/(1 − p²)).
    #[test]
    fn one_and_two_degrees_of_freedom_have_closed_forms() {
        for p in [0.1, 0.5, 0.6827, 0.95, 0.99, 0.9999_f64] {
            let one = (p * PI / 2.0).tan();
            let two = p * (2.0 / (1.0 - p * p)).sqrt();
            assert!((coverage_factor(p, 1.0) / one - 1.0).abs() < 1e-9, "{p}");
            assert!((coverage_factor(p, 2.0) / two - 1.0).abs() < 1e-9, "{p}");
        }
    }

    /// The closed sum and the expansion about the normal distribution meet.
    #[test]
    fn the_two_routes_agree_where_they_meet() {
        for p in [0.5, 0.9, 0.9545, 0.99, 0.9999] {
            let summed = inverse(|t| within_student(t, 1000), p);
            assert!((summed / coverage_factor(p, 1000.0) - 1.0).abs() < 1e-9, "{p}");
        }
    }

    #[test]
    #[expect(clippy::float_cmp, reason = "the ends are given, not computed")]
    fn ends_of_the_range() {
        assert_eq!(coverage_factor(0.0, 5.0), 0.0);
        assert_eq!(coverage_factor(-1.0, 5.0), 0.0);
        assert_eq!(coverage_factor(1.0, 5.0), f64::INFINITY);
        assert_eq!(coverage_factor(0.95, 0.5), f64::INFINITY);
        assert_eq!(coverage_factor(0.95, f64::NAN), f64::INFINITY);
        for nu in [1.0, 2.0, 3.0, 999.0, f64::INFINITY] {
            let nearly_one = coverage_factor(1.0 - f64::EPSILON / 2.0, nu);
            assert!(nearly_one > 7.0 && nearly_one.is_finite(), "{nu}: {nearly_one}");
        }
    }

    #[test]
    fn more_degrees_of_freedom_never_widen() {
        let factors: Vec<f64> = (1..1100).map(|nu| coverage_factor(0.95, f64::from(nu))).collect();
        assert!(factors.is_sorted_by(|wide, narrow| wide > narrow));
    }
}
