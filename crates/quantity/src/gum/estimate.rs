//! A value that remembers which inputs it rests on.

use std::ops::{Add, Div, Mul, Neg, Sub};

use super::{COVERAGE_FACTOR, combined};

/// A value with its contributions `c_i u_i` from numbered independent inputs, so that results that rest on the same input know it:
/// `x − x` is 0 ± 0, exactly.
///
/// All arithmetic is first order (JCGM 100:2008, equation 10): the contributions of a result are those of its operands times the
/// partial derivatives at their values.
///
/// ```
/// use quantity::gum::Estimate;
/// let bar = Estimate::input(0, 780.0, 2.0);
/// let stem = Estimate::input(1, 40.0, 0.5);
/// let difference = &bar - &bar;
/// assert_eq!((difference.value, difference.standard_uncertainty()), (0.0, 0.0));
/// let both = &bar + 2.0 * &stem;
/// assert_eq!((both.value, both.standard_uncertainty()), (860.0, 5.0_f64.sqrt()));
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    /// The value.
    pub value: f64,
    /// `(input, c_i u_i)`, sorted by input, each input once.
    contributions: Vec<(usize, f64)>,
}

impl Estimate {
    /// A number without uncertainty.
    pub const fn exact(value: f64) -> Self {
        Self { value, contributions: Vec::new() }
    }

    /// An input of its own, with its standard uncertainty. Inputs of the same number are the same input, whatever their values.
    pub fn input(number: usize, value: f64, standard_uncertainty: f64) -> Self {
        Self { value, contributions: vec![(number, standard_uncertainty)] }
    }

    /// A value that rests on several independent inputs, with their contributions `(input, c_i u_i)`; two of the same input add up.
    ///
    /// This is how correlated inputs are written: as what they share and what each has of its own.
    pub fn with_contributions(value: f64, contributions: impl IntoIterator<Item = (usize, f64)>) -> Self {
        let mut given: Vec<(usize, f64)> = contributions.into_iter().collect();
        given.sort_by_key(|(input, _)| *input);
        given.dedup_by(|next, kept| {
            let same = next.0 == kept.0;
            if same {
                kept.1 += next.1;
            }
            same
        });
        Self { value, contributions: given }
    }

    /// Contributions `(input, c_i u_i)`, sorted by input.
    pub fn contributions(&self) -> &[(usize, f64)] {
        &self.contributions
    }

    /// Combined standard uncertainty.
    pub fn standard_uncertainty(&self) -> f64 {
        combined(self.contributions.iter().map(|c| c.1))
    }

    /// Expanded uncertainty `U = k u_c` with the [coverage factor](COVERAGE_FACTOR) of every printed ±.
    pub fn expanded_uncertainty(&self) -> f64 {
        COVERAGE_FACTOR * self.standard_uncertainty()
    }

    /// Covariance with another estimate: the sum over the inputs they share.
    pub fn covariance(&self, other: &Self) -> f64 {
        let shared = |&(input, a): &(usize, f64)| {
            let at = other.contributions.binary_search_by_key(&input, |c| c.0).ok()?;
            Some(a * other.contributions[at].1)
        };
        self.contributions.iter().filter_map(shared).sum()
    }

    /// Correlation with another estimate, −1 … 1; zero if one of them has no uncertainty.
    pub fn correlation(&self, other: &Self) -> f64 {
        let scale = self.standard_uncertainty() * other.standard_uncertainty();
        if scale == 0.0 { 0.0 } else { (self.covariance(other) / scale).clamp(-1.0, 1.0) }
    }

    /// A function of this estimate: its value there and its derivative there.
    #[must_use]
    pub fn through(&self, value: f64, derivative: f64) -> Self {
        // What contributes nothing does so through an infinite derivative, too (the root of an exact zero).
        let times = |c: f64| if c == 0.0 { 0.0 } else { c * derivative };
        Self { value, contributions: self.contributions.iter().map(|&(i, c)| (i, times(c))).collect() }
    }

    /// A function of this estimate and another: its value there and its partial derivatives there.
    #[must_use]
    pub fn through_with(&self, other: &Self, value: f64, derivative: f64, derivative_other: f64) -> Self {
        self.linear(derivative, other, derivative_other, value)
    }

    /// `xⁿ`, derivative `n xⁿ⁻¹`.
    #[must_use]
    pub fn powi(&self, n: i32) -> Self {
        let derivative = if n == 0 { 0.0 } else { f64::from(n) * self.value.powi(n - 1) };
        self.through(self.value.powi(n), derivative)
    }

    /// `√x`, derivative `1/(2√x)`: an uncertain zero has a root of unlimited uncertainty.
    #[must_use]
    pub fn sqrt(&self) -> Self {
        let root = self.value.sqrt();
        self.through(root, 0.5 / root)
    }

    /// `exp x`.
    #[must_use]
    pub fn exp(&self) -> Self {
        self.through(self.value.exp(), self.value.exp())
    }

    /// `ln x`, derivative `1/x`.
    #[must_use]
    pub fn ln(&self) -> Self {
        self.through(self.value.ln(), 1.0 / self.value)
    }

    /// `|x|`; at zero the derivative is taken as 1.
    #[must_use]
    pub fn abs(&self) -> Self {
        self.through(self.value.abs(), if self.value < 0.0 { -1.0 } else { 1.0 })
    }

    /// Sine of an angle in radians.
    #[must_use]
    pub fn sin(&self) -> Self {
        self.through(self.value.sin(), self.value.cos())
    }

    /// Cosine of an angle in radians.
    #[must_use]
    pub fn cos(&self) -> Self {
        self.through(self.value.cos(), -self.value.sin())
    }

    /// Tangent of an angle in radians, derivative `1 + tan²`.
    #[must_use]
    pub fn tan(&self) -> Self {
        let tan = self.value.tan();
        self.through(tan, 1.0 + tan * tan)
    }

    /// Arc sine in radians, derivative `1/√(1 − x²)`.
    #[must_use]
    pub fn asin(&self) -> Self {
        self.through(self.value.asin(), 1.0 / (1.0 - self.value * self.value).sqrt())
    }

    /// Arc cosine in radians, derivative `−1/√(1 − x²)`.
    #[must_use]
    pub fn acos(&self) -> Self {
        self.through(self.value.acos(), -1.0 / (1.0 - self.value * self.value).sqrt())
    }

    /// Arc tangent in radians, derivative `1/(1 + x²)`.
    #[must_use]
    pub fn atan(&self) -> Self {
        self.through(self.value.atan(), 1.0 / (1.0 + self.value * self.value))
    }

    /// Angle in radians of the point with this as its `y` and the other as its `x`; derivatives `x/(x² + y²)` and `−y/(x² + y²)`.
    #[must_use]
    pub fn atan2(&self, x: &Self) -> Self {
        let square = self.value * self.value + x.value * x.value;
        self.linear(x.value / square, x, -self.value / square, self.value.atan2(x.value))
    }

    /// Hypotenuse `√(x² + y²)`; derivatives `x/h` and `y/h`.
    #[must_use]
    pub fn hypot(&self, other: &Self) -> Self {
        let h = self.value.hypot(other.value);
        self.linear(self.value / h, other, other.value / h, h)
    }

    /// `value` with contributions `a` times those of `self` plus `b` times those of `other`.
    fn linear(&self, a: f64, other: &Self, b: f64, value: f64) -> Self {
        let mut contributions = Vec::with_capacity(self.contributions.len() + other.contributions.len());
        let (mut left, mut right) = (self.contributions.iter().peekable(), other.contributions.iter().peekable());
        while let Some(&input) = [left.peek(), right.peek()].into_iter().flatten().map(|(input, _)| input).min() {
            let from_left = left.next_if(|c| c.0 == input).map_or(0.0, |c| a * c.1);
            let from_right = right.next_if(|c| c.0 == input).map_or(0.0, |c| b * c.1);
            contributions.push((input, from_left + from_right));
        }
        Self { value, contributions }
    }
}

impl From<f64> for Estimate {
    /// A number without uncertainty.
    fn from(value: f64) -> Self {
        Self::exact(value)
    }
}

impl Neg for &Estimate {
    type Output = Estimate;
    fn neg(self) -> Estimate {
        self.through(-self.value, -1.0)
    }
}

impl Neg for Estimate {
    type Output = Self;
    fn neg(self) -> Self {
        -&self
    }
}

/// An operator for every pairing of owned, borrowed and plain numbers: equations read as written on paper.
macro_rules! operator {
    ($name:ident, $method:ident, $function:expr) => {
        impl $name for &Estimate {
            type Output = Estimate;
            fn $method(self, other: Self) -> Estimate {
                let function: fn(&Estimate, &Estimate) -> Estimate = $function;
                function(self, other)
            }
        }
        impl $name for Estimate {
            type Output = Self;
            fn $method(self, other: Self) -> Self {
                (&self).$method(&other)
            }
        }
        impl $name<&Self> for Estimate {
            type Output = Self;
            fn $method(self, other: &Self) -> Self {
                (&self).$method(other)
            }
        }
        impl $name<Estimate> for &Estimate {
            type Output = Estimate;
            fn $method(self, other: Estimate) -> Estimate {
                self.$method(&other)
            }
        }
        impl $name<f64> for &Estimate {
            type Output = Estimate;
            fn $method(self, other: f64) -> Estimate {
                self.$method(&Estimate::exact(other))
            }
        }
        impl $name<f64> for Estimate {
            type Output = Self;
            fn $method(self, other: f64) -> Self {
                (&self).$method(other)
            }
        }
        impl $name<&Estimate> for f64 {
            type Output = Estimate;
            fn $method(self, other: &Estimate) -> Estimate {
                (&Estimate::exact(self)).$method(other)
            }
        }
        impl $name<Estimate> for f64 {
            type Output = Estimate;
            fn $method(self, other: Estimate) -> Estimate {
                self.$method(&other)
            }
        }
    };
}

operator!(Add, add, |x, y| x.linear(1.0, y, 1.0, x.value + y.value));
operator!(Sub, sub, |x, y| x.linear(1.0, y, -1.0, x.value - y.value));
operator!(Mul, mul, |x, y| x.linear(y.value, y, x.value, x.value * y.value));
operator!(Div, div, |x, y| {
    let quotient = x.value / y.value;
    x.linear(1.0 / y.value, y, -quotient / y.value, quotient)
});
