//! Combining uncertainties (JCGM 100:2008, *Guide to the expression of uncertainty in measurement*), to first order.
//!
//! ```text
//! u_c²(y)   = Σ_i c_i² u_i²                                          independent inputs             (equation 10)
//! u_c²(y)   = Σ_i Σ_j c_i c_j u(x_i, x_j),  u(x_i, x_j) = u_i u_j r_ij     correlated ones       (equations 13 and 14)
//! u(y, z)   = Σ_i Σ_j c_i d_j u(x_i, x_j)                            two results of the same inputs  (equation H.9)
//! ν_eff     = u_c⁴ / Σ_i (c_i u_i)⁴ / ν_i                            Welch–Satterthwaite          (equation G.2b)
//! U         = k u_c                                                  expanded uncertainty          (equation 18)
//! ```
//!
//! | symbol | meaning |
//! |---|---|
//! | `c_i` | sensitivity ∂`y/∂x_i`; `d_i` that of `z` |
//! | `u_i` | standard uncertainty of the input `x_i` |
//! | `c_i u_i` | contribution of the input to the result, in the unit of the result; signed |
//! | `r_ij` | correlation of `x_i` and `x_j` |
//! | `ν_i` | degrees of freedom of `u_i`; infinite where it is known |
//! | `k` | coverage factor |
//!
//! First order means: where a sensitivity vanishes at the estimate (a product of two inputs estimated as zero) its input counts for
//! nothing. JCGM 101:2008, 9.3, shows a case in which that is 30 % too little; the mechanics are checked by Monte Carlo for this.
//!
//! Checked against the guide's own examples H.1, H.2 and H.3, its table G.2, and JCGM 101:2008, 9.2 and 9.3 (`tests/guide.rs`, data in
//! `tests/references/gum.toml`).

mod estimate;
mod student;

pub use estimate::Estimate;
pub use student::coverage_factor;

/// Coverage factor k of every printed ±: for a normal distribution, about 95 % (JCGM 100:2008, 6.3.3).
pub const COVERAGE_FACTOR: f64 = 2.0;

/// Combined standard uncertainty of independent contributions `c_i u_i` (equation 10).
///
/// ```
/// assert_eq!(quantity::gum::combined([3.0, -4.0]), 5.0);
/// ```
pub fn combined(contributions: impl IntoIterator<Item = f64>) -> f64 {
    contributions.into_iter().map(|c| c * c).sum::<f64>().sqrt()
}

/// Covariance of two results of the same inputs (equation H.9): `Σ_i Σ_j a_i b_j r_ij`, with contributions `a_i = c_i u_i` of the one
/// and `b_j` of the other, and the correlation of the inputs given by `correlation(i, j)`; 1 for `i = j`.
pub fn covariance(a: &[f64], b: &[f64], correlation: impl Fn(usize, usize) -> f64) -> f64 {
    let mut sum = 0.0;
    for (i, &a_i) in a.iter().enumerate() {
        for (j, &b_j) in b.iter().enumerate() {
            sum += a_i * b_j * correlation(i, j);
        }
    }
    sum
}

/// Combined standard uncertainty of correlated contributions `c_i u_i` (equation 13).
///
/// ```
/// use quantity::gum::combined_correlated;
/// // Fully correlated contributions add up with their signs.
/// assert_eq!(combined_correlated(&[3.0, 4.0], |_, _| 1.0), 7.0);
/// assert_eq!(combined_correlated(&[3.0, -3.0], |_, _| 1.0), 0.0);
/// ```
pub fn combined_correlated(contributions: &[f64], correlation: impl Fn(usize, usize) -> f64) -> f64 {
    // Contributions that cancel may leave a rounding below zero.
    covariance(contributions, contributions, correlation).max(0.0).sqrt()
}

/// Effective degrees of freedom of independent contributions `(c_i u_i, ν_i)` (equation G.2b); infinite if all that count are.
///
/// ```
/// use quantity::gum::effective_degrees_of_freedom;
/// assert_eq!(effective_degrees_of_freedom(&[(2.0, 9.0)]), 9.0);
/// assert_eq!(effective_degrees_of_freedom(&[(2.0, f64::INFINITY)]), f64::INFINITY);
/// ```
pub fn effective_degrees_of_freedom(contributions: &[(f64, f64)]) -> f64 {
    let fourth: f64 = contributions.iter().filter(|(c, _)| *c != 0.0).map(|(c, nu)| c.powi(4) / nu).sum();
    if fourth == 0.0 {
        return f64::INFINITY;
    }
    combined(contributions.iter().map(|(c, _)| *c)).powi(4) / fourth
}
