//! Reconciling a geometry chart.
//!
//! A frame chart gives some lengths and angles of one rigid figure; some are missing, some are given twice over, and now and then
//! one is wrong. The figure has ten free numbers
//!
//! ```text
//! θ = (c, d, S, X, α, H, l, o, R_r, R_f)
//! ```
//!
//! | symbol | meaning | unit |
//! |--------|---------|------|
//! | c, d | rear axle behind and above the bottom bracket | mm |
//! | S, X | stack, reach | mm |
//! | α | head angle from horizontal | rad |
//! | H, l | head tube, lower headset stack | mm |
//! | o | fork offset, square to the steering axis | mm |
//! | R_r, R_f | wheel radii | mm |
//!
//! and every chart entry is a function of them. The bike stands level, so the front axle is at height `R_f`, which fixes how far
//! down the steering axis it is:
//!
//! ```text
//! t = (S + o cos α − (R_f − R_r + d)) / sin α      top of the head tube to the front axle, along the axis
//! front axle − bottom bracket = (X + t cos α + o sin α,  R_f − R_r + d)
//! L = √((t − H − l)² + o²)                         axle-to-crown
//! ```
//!
//! # Adjustment
//! Weighted least squares on these functions, `min Σ ((ℓ_i − f_i(θ)) / u_i)²`, by Levenberg–Marquardt with the exact Jacobian A
//! (dual numbers) and columns scaled to one. Then, with P = diag(1/u²),
//!
//! ```text
//! Q_xx = (AᵀPA)⁻¹        covariance of θ
//! G    = Q_xx AᵀP        sensitivity of θ to each entry
//! Q_vv = P⁻¹ − A Q_xx Aᵀ covariance of the residuals v = ℓ − f
//! r_i  = (Q_vv)_ii / u_i²            redundancy of an entry; Σ r_i = entries − rank
//! w_i  = v_i / √(Q_vv)_ii            normalised residual: the w-test
//! ∇_i  = v_i / r_i                   by how much the entry disagrees with all the others
//! ```
//!
//! The entry with the largest |w| above [`CRITICAL_SIGMAS`] is the one that is wrong; entries whose w is the same to within
//! correlation [`SAME_TEST`] cannot be told apart by the chart alone and are all named.
//!
//! Errors: [`ChartError::Undetermined`] with the entries that would help, [`ChartError::NotAFigure`] if no figure comes near.
//! Source: Baarda, W. (1968) A testing procedure for use in geodetic networks, Netherlands Geodetic Commission, Publications on
//! Geodesy, New Series 2(5) (w-test, redundancy; from memory); Levenberg–Marquardt after Nocedal & Wright (2006) Numerical
//! Optimization, 2nd ed., §10.3 (from memory).
//! Checked against: `tests/charts.rs` (charts made from known bicycles; covariance against 1 000 noisy draws; planted errors).

use std::fmt;

use nalgebra::{DMatrix, DVector, SMatrix, SVector, SymmetricEigen};
use num_dual::DualSVec64;

use crate::Real;

/// Free numbers of the figure.
pub const UNKNOWNS: usize = 10;

/// |w| above which an entry is called wrong: two-sided 0.1 %, the usual choice of the w-test (Baarda 1968).
pub const CRITICAL_SIGMAS: f64 = 3.29;

/// Two w-tests more correlated than this point at the same thing.
pub const SAME_TEST: f64 = 0.99;

/// Below this share of its variance an entry has no redundancy to speak of: nothing else controls it.
const NO_REDUNDANCY: f64 = 1e-6;

/// A direction of θ counts as undetermined if it moves no entry by more than this many of its u per natural unit
/// ([`NATURAL_UNITS`]); rounding leaves some 1e-12, real charts have more than 1e-2.
const BLIND: f64 = 1e-6;

/// A step of each unknown that is about as large as the others: 1 mm, and 1 mm at a metre for the angle.
const NATURAL_UNITS: [f64; UNKNOWNS] = [1.0, 1.0, 1.0, 1.0, 1e-3, 1.0, 1.0, 1.0, 1.0, 1.0];

/// Where the search starts: a middling bicycle (any will do; a chart is nearly linear).
const START: [f64; UNKNOWNS] = [430.0, 50.0, 600.0, 420.0, 1.2, 130.0, 8.0, 46.0, 350.0, 350.0];

/// Steps of the search; a sound chart takes five.
const MOST_STEPS: usize = 60;

/// What a chart entry measures. Lengths are in mm, angles in rad.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Entry {
    /// Bottom bracket to top of head tube, upright.
    Stack,
    /// The same, level.
    Reach,
    /// Steering axis from horizontal.
    HeadAngle,
    /// Head tube length.
    HeadTube,
    /// Bottom bracket to rear axle, straight.
    RearCentre,
    /// The same, level.
    RearCentreHorizontal,
    /// Bottom bracket below the rear axle.
    BbDrop,
    /// Bottom bracket above the ground.
    BbHeight,
    /// Bottom bracket to front axle, straight.
    FrontCentre,
    /// Axle to axle, level.
    Wheelbase,
    /// Front contact to steering axis, on the ground.
    Trail,
    /// Front axle to crown-race seat, straight.
    AxleToCrown,
    /// Front axle square to the steering axis.
    ForkOffset,
    /// Head tube to crown-race seat.
    LowerHeadsetStack,
    /// Front wheel radius.
    FrontRadius,
    /// Rear wheel radius.
    RearRadius,
}

impl Entry {
    /// All of them.
    pub const ALL: [Self; 16] = [
        Self::Stack,
        Self::Reach,
        Self::HeadAngle,
        Self::HeadTube,
        Self::RearCentre,
        Self::RearCentreHorizontal,
        Self::BbDrop,
        Self::BbHeight,
        Self::FrontCentre,
        Self::Wheelbase,
        Self::Trail,
        Self::AxleToCrown,
        Self::ForkOffset,
        Self::LowerHeadsetStack,
        Self::FrontRadius,
        Self::RearRadius,
    ];
}

/// One number of a chart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Observation {
    /// What it measures.
    pub entry: Entry,
    /// Its value, mm or rad.
    pub value: f64,
    /// Its standard uncertainty, mm or rad; above zero.
    pub standard_uncertainty: f64,
}

/// The figure: the frame as drawn, with what it was drawn with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure<D> {
    /// Rear axle behind the bottom bracket, level, mm.
    pub rear_centre_horizontal_mm: D,
    /// Rear axle above the bottom bracket, mm.
    pub bb_drop_mm: D,
    /// Stack, mm.
    pub stack_mm: D,
    /// Reach, mm.
    pub reach_mm: D,
    /// Head angle, rad.
    pub head_angle_rad: D,
    /// Head tube, mm.
    pub head_tube_mm: D,
    /// Lower headset stack, mm.
    pub lower_stack_mm: D,
    /// Fork offset, mm.
    pub fork_offset_mm: D,
    /// Rear wheel radius, mm.
    pub rear_radius_mm: D,
    /// Front wheel radius, mm.
    pub front_radius_mm: D,
}

impl<D: Real> Figure<D> {
    /// The figure of ten numbers, in the order of the fields.
    pub fn from_array(theta: [D; UNKNOWNS]) -> Self {
        let [c, d, stack, reach, head_angle, head_tube, lower, offset, rear, front] = theta;
        Self {
            rear_centre_horizontal_mm: c,
            bb_drop_mm: d,
            stack_mm: stack,
            reach_mm: reach,
            head_angle_rad: head_angle,
            head_tube_mm: head_tube,
            lower_stack_mm: lower,
            fork_offset_mm: offset,
            rear_radius_mm: rear,
            front_radius_mm: front,
        }
    }

    /// The value an entry would have, mm or rad.
    pub fn value(&self, entry: Entry) -> D {
        let front_up = self.front_radius_mm - self.rear_radius_mm + self.bb_drop_mm;
        let (sin, cos) = self.head_angle_rad.sin_cos();
        let down_axis = (self.stack_mm + self.fork_offset_mm * cos - front_up) / sin;
        let front_ahead = self.reach_mm + down_axis * cos + self.fork_offset_mm * sin;
        let hypotenuse = |a: D, b: D| (a * a + b * b).sqrt();
        match entry {
            Entry::Stack => self.stack_mm,
            Entry::Reach => self.reach_mm,
            Entry::HeadAngle => self.head_angle_rad,
            Entry::HeadTube => self.head_tube_mm,
            Entry::RearCentre => hypotenuse(self.rear_centre_horizontal_mm, self.bb_drop_mm),
            Entry::RearCentreHorizontal => self.rear_centre_horizontal_mm,
            Entry::BbDrop => self.bb_drop_mm,
            Entry::BbHeight => self.rear_radius_mm - self.bb_drop_mm,
            Entry::FrontCentre => hypotenuse(front_ahead, front_up),
            Entry::Wheelbase => self.rear_centre_horizontal_mm + front_ahead,
            Entry::Trail => (self.front_radius_mm * cos - self.fork_offset_mm) / sin,
            Entry::AxleToCrown => hypotenuse(down_axis - self.head_tube_mm - self.lower_stack_mm, self.fork_offset_mm),
            Entry::ForkOffset => self.fork_offset_mm,
            Entry::LowerHeadsetStack => self.lower_stack_mm,
            Entry::FrontRadius => self.front_radius_mm,
            Entry::RearRadius => self.rear_radius_mm,
        }
    }
}

/// Value and gradient of an entry at θ.
fn linearised(theta: &SVector<f64, UNKNOWNS>, entry: Entry) -> (f64, SVector<f64, UNKNOWNS>) {
    let duals = std::array::from_fn(|i| DualSVec64::<UNKNOWNS>::from_re(theta[i]).derivative(i));
    let value = Figure::from_array(duals).value(entry);
    let gradient = value.eps.unwrap_generic(nalgebra::Const::<UNKNOWNS>, nalgebra::U1);
    (value.re, gradient)
}

/// What the adjustment says of one entry.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Residual {
    /// Given minus adjusted, mm or rad.
    pub residual: f64,
    /// r_i: 0 nothing else controls it, 1 everything does.
    pub redundancy: f64,
    /// w_i; `None` without redundancy.
    pub sigmas: Option<f64>,
    /// ∇_i, mm or rad; `None` without redundancy.
    pub disagrees_by: Option<f64>,
}

/// A reconciled chart.
#[derive(Clone, Debug)]
pub struct Reconciled {
    /// The adjusted figure.
    pub figure: Figure<f64>,
    /// θ as an array, in the order of [`Figure`]'s fields.
    pub theta: [f64; UNKNOWNS],
    /// Q_xx, in squares of mm and rad.
    pub covariance: SMatrix<f64, UNKNOWNS, UNKNOWNS>,
    /// G, a column an observation: how far θ moves per unit of that entry.
    pub sensitivity: DMatrix<f64>,
    /// What is said of each observation, in the order given.
    pub residuals: Vec<Residual>,
    /// Q_vv, for telling entries apart.
    residual_covariance: DMatrix<f64>,
    /// Entries minus unknowns.
    pub redundancy: usize,
    /// Σ (v/u)²; about the redundancy for a sound chart.
    pub chi_squared: f64,
    /// Steps the search took.
    pub steps: usize,
}

/// Why a chart cannot be reconciled.
#[derive(Clone, Debug, PartialEq)]
pub enum ChartError {
    /// Some of the figure's numbers are not fixed by what is given.
    Undetermined {
        /// How many more numbers it takes at least.
        missing: usize,
        /// Entries not given of which any one is such a number.
        would_help: Vec<Entry>,
    },
    /// An uncertainty that is not above zero, or a value that is not finite.
    BadObservation {
        /// Which.
        entry: Entry,
    },
    /// The numbers are so far from any bicycle that no figure comes near.
    NotAFigure,
}

impl fmt::Display for ChartError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Undetermined { missing, .. } => {
                write!(f, "the chart leaves {missing} of the frame's numbers open")
            }
            Self::BadObservation { entry } => write!(f, "{entry:?} is not a number with an uncertainty above zero"),
            Self::NotAFigure => write!(f, "no bicycle comes near these numbers"),
        }
    }
}

impl std::error::Error for ChartError {}

/// Reconciles a chart.
///
/// # Errors
/// [`ChartError`] if the chart does not determine a figure.
pub fn reconcile(observations: &[Observation]) -> Result<Reconciled, ChartError> {
    for o in observations {
        if !(o.value.is_finite() && o.standard_uncertainty.is_finite() && o.standard_uncertainty > 0.0) {
            return Err(ChartError::BadObservation { entry: o.entry });
        }
    }
    let (theta, steps) = search(observations)?;
    let system = System::at(&theta, observations);
    open_directions(&theta, &system, observations)?;

    let normal = system.normal();
    let covariance = unscaled_inverse(&normal).ok_or(ChartError::NotAFigure)?;
    let count = observations.len();
    let weighted = DMatrix::from_fn(UNKNOWNS, count, |i, j| system.rows[j][i] / observations[j].standard_uncertainty);
    let covariance_dynamic = DMatrix::from_fn(UNKNOWNS, UNKNOWNS, |i, j| covariance[(i, j)]);
    let sensitivity = &covariance_dynamic * weighted;
    // A in the entries' own units; row i of `system` is already divided by u_i.
    let jacobian = DMatrix::from_fn(count, UNKNOWNS, |i, j| system.rows[i][j] * observations[i].standard_uncertainty);
    let mut residual_covariance = -(&jacobian * &covariance_dynamic * jacobian.transpose());
    for (i, o) in observations.iter().enumerate() {
        residual_covariance[(i, i)] += o.standard_uncertainty * o.standard_uncertainty;
    }
    let residuals = observations
        .iter()
        .enumerate()
        .map(|(i, o)| {
            let residual = system.misfit[i] * o.standard_uncertainty;
            let variance = residual_covariance[(i, i)].max(0.0);
            let redundancy = variance / (o.standard_uncertainty * o.standard_uncertainty);
            let controlled = redundancy > NO_REDUNDANCY;
            Residual {
                residual,
                redundancy,
                sigmas: controlled.then(|| residual / variance.sqrt()),
                disagrees_by: controlled.then(|| residual / redundancy),
            }
        })
        .collect();
    Ok(Reconciled {
        figure: Figure::from_array(std::array::from_fn(|i| theta[i])),
        theta: std::array::from_fn(|i| theta[i]),
        covariance,
        sensitivity,
        residuals,
        residual_covariance,
        redundancy: count - UNKNOWNS,
        chi_squared: system.misfit.norm_squared(),
        steps,
    })
}

impl Reconciled {
    /// An entry as it comes out of the reconciled figure: value and standard uncertainty, mm or rad.
    pub fn entry(&self, entry: Entry) -> (f64, f64) {
        let (value, gradient) = linearised(&SVector::from(self.theta), entry);
        (value, (gradient.transpose() * self.covariance * gradient)[(0, 0)].max(0.0).sqrt())
    }

    /// The observations that may be the wrong one: the one with the largest |w| above [`CRITICAL_SIGMAS`] first, then those whose
    /// test cannot be told apart from it. Empty if the chart agrees with itself.
    pub fn suspects(&self) -> Vec<usize> {
        let size = |i: usize| self.residuals[i].sigmas.map_or(0.0, f64::abs);
        let Some(worst) = (0..self.residuals.len()).max_by(|&a, &b| size(a).total_cmp(&size(b))) else {
            return Vec::new();
        };
        if size(worst) < CRITICAL_SIGMAS {
            return Vec::new();
        }
        let mut suspects = vec![worst];
        suspects.extend(
            (0..self.residuals.len()).filter(|&i| {
                i != worst && self.residuals[i].sigmas.is_some() && self.test_correlation(worst, i).abs() > SAME_TEST
            }),
        );
        suspects
    }

    /// Correlation of the w-tests of two observations.
    pub fn test_correlation(&self, a: usize, b: usize) -> f64 {
        let q = &self.residual_covariance;
        q[(a, b)] / (q[(a, a)] * q[(b, b)]).sqrt()
    }
}

/// The linearised chart, each row divided by its u.
struct System {
    rows: Vec<SVector<f64, UNKNOWNS>>,
    misfit: DVector<f64>,
}

impl System {
    fn at(theta: &SVector<f64, UNKNOWNS>, observations: &[Observation]) -> Self {
        let mut misfit = DVector::zeros(observations.len());
        let rows = observations
            .iter()
            .enumerate()
            .map(|(i, o)| {
                let (value, gradient) = linearised(theta, o.entry);
                misfit[i] = (o.value - value) / o.standard_uncertainty;
                gradient / o.standard_uncertainty
            })
            .collect();
        Self { rows, misfit }
    }

    fn normal(&self) -> SMatrix<f64, UNKNOWNS, UNKNOWNS> {
        self.rows.iter().fold(SMatrix::zeros(), |sum, row| sum + row * row.transpose())
    }
}

/// Levenberg–Marquardt from [`START`], damping relative to natural units so that open directions stay where they are.
fn search(observations: &[Observation]) -> Result<(SVector<f64, UNKNOWNS>, usize), ChartError> {
    let mut theta = SVector::from(START);
    for o in observations {
        // Begin at the given numbers where an entry is one of the unknowns itself.
        if let Some(i) = direct(o.entry) {
            theta[i] = o.value;
        }
    }
    let cost = |theta: &SVector<f64, UNKNOWNS>| -> f64 {
        let figure = Figure::from_array(std::array::from_fn(|i| theta[i]));
        observations.iter().map(|o| ((o.value - figure.value(o.entry)) / o.standard_uncertainty).powi(2)).sum()
    };
    let mut now = cost(&theta);
    let mut damping = 1e-6;
    for step in 0..MOST_STEPS {
        let system = System::at(&theta, observations);
        let normal = system.normal();
        let right = system
            .rows
            .iter()
            .zip(system.misfit.iter())
            .fold(SVector::zeros(), |sum: SVector<f64, UNKNOWNS>, (row, m)| sum + row * *m);
        loop {
            let mut damped = normal;
            for i in 0..UNKNOWNS {
                damped[(i, i)] += damping * (normal[(i, i)] + BLIND / NATURAL_UNITS[i].powi(2));
            }
            let delta = damped.cholesky().map(|c| c.solve(&right));
            if let Some(delta) = delta {
                let tried = theta + delta;
                let then = cost(&tried);
                let small = (0..UNKNOWNS).all(|i| delta[i].abs() < 1e-9 * NATURAL_UNITS[i]);
                if then.is_finite() && (then <= now || small) {
                    theta = tried;
                    let done = small || (now - then) <= 1e-13 * now;
                    now = then;
                    damping = (damping * 0.1).max(1e-12);
                    if done && small {
                        return Ok((theta, step + 1));
                    }
                    break;
                }
            }
            damping *= 10.0;
            if damping > 1e12 {
                // No step improves any more: this is the bottom, or there is none.
                return if now.is_finite() { Ok((theta, step + 1)) } else { Err(ChartError::NotAFigure) };
            }
        }
    }
    if now.is_finite() { Ok((theta, MOST_STEPS)) } else { Err(ChartError::NotAFigure) }
}

/// The unknown that an entry measures directly.
fn direct(entry: Entry) -> Option<usize> {
    Some(match entry {
        Entry::RearCentreHorizontal => 0,
        Entry::BbDrop => 1,
        Entry::Stack => 2,
        Entry::Reach => 3,
        Entry::HeadAngle => 4,
        Entry::HeadTube => 5,
        Entry::LowerHeadsetStack => 6,
        Entry::ForkOffset => 7,
        Entry::RearRadius => 8,
        Entry::FrontRadius => 9,
        _ => return None,
    })
}

/// Finds directions of θ that no entry sees, and what would close them.
fn open_directions(theta: &SVector<f64, UNKNOWNS>, system: &System, observations: &[Observation]) -> Result<(), ChartError> {
    let scale = SMatrix::<f64, UNKNOWNS, UNKNOWNS>::from_diagonal(&SVector::from(NATURAL_UNITS));
    let eigen = SymmetricEigen::new(scale * system.normal() * scale);
    let largest = eigen.eigenvalues.max();
    let open: Vec<usize> = (0..UNKNOWNS).filter(|&i| eigen.eigenvalues[i] <= (BLIND * BLIND).max(largest * 1e-14)).collect();
    if open.is_empty() {
        return Ok(());
    }
    let would_help = Entry::ALL
        .into_iter()
        .filter(|entry| observations.iter().all(|o| o.entry != *entry))
        .filter(|&entry| {
            let (_, gradient) = linearised(theta, entry);
            // One more number must see every open direction if there is one, or any of them if there are more.
            open.iter().any(|&i| (scale * gradient).dot(&eigen.eigenvectors.column(i)).abs() > 1e-3)
        })
        .collect();
    Err(ChartError::Undetermined { missing: open.len(), would_help })
}

/// Inverse of a normal matrix, scaled to unit diagonal first: lengths and angles differ in size by 10³.
fn unscaled_inverse(normal: &SMatrix<f64, UNKNOWNS, UNKNOWNS>) -> Option<SMatrix<f64, UNKNOWNS, UNKNOWNS>> {
    let scale = SVector::<f64, UNKNOWNS>::from_fn(|i, _| 1.0 / normal[(i, i)].sqrt());
    let scaled = SMatrix::<f64, UNKNOWNS, UNKNOWNS>::from_fn(|i, j| normal[(i, j)] * scale[i] * scale[j]);
    let inverse = scaled.cholesky()?.inverse();
    Some(SMatrix::from_fn(|i, j| inverse[(i, j)] * scale[i] * scale[j]))
}
