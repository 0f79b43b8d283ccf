//! Combining uncertainties (JCGM 100:2008, *Guide to the expression of uncertainty in measurement*).
//!
//! ```text
//! u_c²(y) = Σ (c_i u_i)²                                        independent inputs (equation 11a)
//! u_c²(y) = Σ_i Σ_j c_i c_j u_i u_j r_ij                         correlated ones (equation 16)
//! ν_eff   = u_c⁴ / Σ (c_i u_i)⁴ / ν_i                           Welch–Satterthwaite (equation G.2b)
//! ```
//!
//! | symbol | meaning |
//! |---|---|
//! | `c_i` | sensitivity ∂`y/∂x_i` |
//! | `u_i` | standard uncertainty of the input `x_i` |
//! | `r_ij` | correlation of `x_i` and `x_j` |
//! | `ν_i` | degrees of freedom of `u_i` |
//!
//! First order throughout. Checked against the guide's own examples H.1 and H.2 and JCGM 101:2008, 9.2 (`tests/guide.rs`).

use std::ops::{Add, Div, Mul, Neg, Sub};

/// Coverage factor of every printed ±.
pub const COVERAGE_FACTOR: f64 = 2.0;

/// Combined standard uncertainty of independent contributions `c_i u_i`.
pub fn combined(contributions: impl IntoIterator<Item = f64>) -> f64 {
    contributions.into_iter().map(|c| c * c).sum::<f64>().sqrt()
}

/// Covariance of two results of correlated inputs: `Σ_i Σ_j a_i b_j r_ij`, with contributions `a_i = c_i u_i` of the one and `b_j`
/// of the other and the correlation given by `correlation(i, j)`.
pub fn covariance(a: &[f64], b: &[f64], correlation: impl Fn(usize, usize) -> f64) -> f64 {
    let mut sum = 0.0;
    for (i, &a_i) in a.iter().enumerate() {
        for (j, &b_j) in b.iter().enumerate() {
            sum += a_i * b_j * correlation(i, j);
        }
    }
    sum
}

/// Effective degrees of freedom of independent contributions `(c_i u_i, ν_i)`; infinite `ν_i` do not count.
pub fn effective_degrees_of_freedom(contributions: &[(f64, f64)]) -> f64 {
    let fourth: f64 = contributions.iter().map(|(c, nu)| c.powi(4) / nu).sum();
    combined(contributions.iter().map(|(c, _)| *c)).powi(4) / fourth
}

/// A value with its contributions `c_i u_i` from numbered independent inputs, so that results that rest on the same input know it:
/// `x − x` is 0 ± 0.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    /// The value.
    pub value: f64,
    /// `(input, c_i u_i)`, sorted by input.
    contributions: Vec<(usize, f64)>,
}

impl Estimate {
    /// A number without uncertainty.
    pub const fn exact(value: f64) -> Self {
        Self { value, contributions: Vec::new() }
    }

    /// An input of its own, with its standard uncertainty.
    pub fn input(number: usize, value: f64, standard_uncertainty: f64) -> Self {
        Self { value, contributions: vec![(number, standard_uncertainty)] }
    }

    /// Contributions `(input, c_i u_i)`.
    pub fn contributions(&self) -> &[(usize, f64)] {
        &self.contributions
    }

    /// Combined standard uncertainty.
    pub fn standard_uncertainty(&self) -> f64 {
        combined(self.contributions.iter().map(|c| c.1))
    }

    /// Covariance with another estimate.
    pub fn covariance(&self, other: &Self) -> f64 {
        self.contributions
            .iter()
            .filter_map(|&(input, a)| {
                let at = other.contributions.binary_search_by_key(&input, |c| c.0).ok()?;
                Some(a * other.contributions[at].1)
            })
            .sum()
    }

    /// A function of this estimate: its value there and its derivative there.
    #[must_use]
    pub fn through(&self, value: f64, derivative: f64) -> Self {
        Self { value, contributions: self.contributions.iter().map(|&(i, c)| (i, c * derivative)).collect() }
    }

    /// `value` with contributions `a` times those of `self` plus `b` times those of `other`.
    fn linear(&self, a: f64, other: &Self, b: f64, value: f64) -> Self {
        let mut contributions = Vec::with_capacity(self.contributions.len() + other.contributions.len());
        let (mut left, mut right) = (self.contributions.iter().peekable(), other.contributions.iter().peekable());
        loop {
            let next = match (left.peek(), right.peek()) {
                (None, None) => break,
                (Some(l), Some(r)) if l.0 == r.0 => (l.0, true, true),
                (Some(l), Some(r)) => (l.0.min(r.0), l.0 < r.0, r.0 < l.0),
                (Some(l), None) => (l.0, true, false),
                (None, Some(r)) => (r.0, false, true),
            };
            let from_left = if next.1 { left.next().map_or(0.0, |c| a * c.1) } else { 0.0 };
            let from_right = if next.2 { right.next().map_or(0.0, |c| b * c.1) } else { 0.0 };
            contributions.push((next.0, from_left + from_right));
        }
        Self { value, contributions }
    }
}

impl Add for &Estimate {
    type Output = Estimate;
    fn add(self, other: Self) -> Estimate {
        self.linear(1.0, other, 1.0, self.value + other.value)
    }
}

impl Sub for &Estimate {
    type Output = Estimate;
    fn sub(self, other: Self) -> Estimate {
        self.linear(1.0, other, -1.0, self.value - other.value)
    }
}

impl Mul for &Estimate {
    type Output = Estimate;
    fn mul(self, other: Self) -> Estimate {
        self.linear(other.value, other, self.value, self.value * other.value)
    }
}

impl Div for &Estimate {
    type Output = Estimate;
    fn div(self, other: Self) -> Estimate {
        let value = self.value / other.value;
        self.linear(1.0 / other.value, other, -value / other.value, value)
    }
}

impl Neg for &Estimate {
    type Output = Estimate;
    fn neg(self) -> Estimate {
        self.through(-self.value, -1.0)
    }
}
