//! Whether a shifter, a derailleur and a sprocket pack index: how far the derailleur stands beside each sprocket.
//!
//! ```text
//! x₀ = b,   x_j = b + A (1 − λ) Σ c_i   (i = 1 … j)      where the derailleur stands after j shifts
//! y_j = Σ P_i                                            where sprocket j is
//! e_j = x_j − y_j                                        error, positive towards the larger sprockets
//! b = −½ (max + min of e_j with b = 0)                   barrel adjuster at its best: the largest error is as small as it can be
//! λ = C k / (1 + C k)                                    cable travel that the housing takes: its give C against the spring's rate k
//! ```
//!
//! | symbol | here | unit | meaning |
//! |--------|------|------|---------|
//! | c | `pulls_mm` | mm | cable pulled by each shift |
//! | A | `ratio` | – | derailleur travel for a unit of cable (actuation ratio) |
//! | λ | `lost_share` | – | share of the pull that the housing takes |
//! | P | `pitches_mm` | mm | from each sprocket to the next, middle to middle |
//! | b | `barrel_mm` | mm | where the derailleur stands beside the first sprocket |
//!
//! With the same pull at each of n − 1 shifts and sprockets evenly spaced the largest error is ½ (n − 1) |A c − P|.
//!
//! Not covered: play in the derailleur's joints, a bent hanger, friction that makes shifts up and down stop at different places; all of
//! them are tolerances of the error, not parts of it.
//! Source: common practice, no source (pull × ratio = pitch; the best adjustment shares the error between the ends); the housing's give is
//! two springs in a row.
//! Checked against: `tests/shifting.rs` (closed form of even spacing; a worked example of the trade; a search over barrel positions).

use std::fmt;

use crate::Real;

/// What moves the derailleur, and what it should move along.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shifting<'a, D> {
    /// Cable pulled by each shift, from the smallest sprocket on, mm.
    pub pulls_mm: &'a [D],
    /// Actuation ratio.
    pub ratio: D,
    /// Share of the pull that the housing takes, 0 to 1.
    pub lost_share: D,
    /// From each sprocket to the next larger one, middle to middle, mm.
    pub pitches_mm: &'a [D],
}

/// Why nothing can be said.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum IndexingError {
    /// More or fewer shifts than sprockets want.
    Shifts {
        /// Shifts there are.
        shifts: usize,
        /// Shifts that the pack wants: one less than its sprockets.
        wanted: usize,
    },
    /// A number that cannot be.
    Impossible {
        /// What is meant.
        what: &'static str,
        /// Its value.
        value: f64,
    },
}

impl fmt::Display for IndexingError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Shifts { shifts, wanted } => {
                write!(f, "{shifts} shifts do not reach {} sprockets: that takes {wanted}", wanted + 1)
            }
            Self::Impossible { what, value } => write!(f, "{what} cannot be {value}"),
        }
    }
}

impl std::error::Error for IndexingError {}

/// How a derailleur stands along a pack, its barrel adjuster at its best.
#[derive(Clone, Debug, PartialEq)]
pub struct Indexed<D> {
    /// Beside each sprocket, from the smallest on, mm; positive towards the larger ones.
    pub errors_mm: Vec<D>,
    /// Where the barrel adjuster puts it beside the smallest sprocket, mm.
    pub barrel_mm: D,
    /// The largest error without its sign, mm.
    pub worst_mm: D,
}

impl<D: Real> Shifting<'_, D> {
    /// The errors along the pack.
    ///
    /// # Errors
    /// [`IndexingError`] if the shifts do not match the sprockets, or a number cannot be: a pull or pitch that is not above zero, a ratio
    /// that is not, a share outside 0 to 1.
    pub fn indexed(&self) -> Result<Indexed<D>, IndexingError> {
        if self.pulls_mm.len() != self.pitches_mm.len() {
            return Err(IndexingError::Shifts { shifts: self.pulls_mm.len(), wanted: self.pitches_mm.len() });
        }
        let positive = |what, numbers: &[D]| {
            let wrong = numbers.iter().map(num_dual::DualStruct::re).find(|value| !(*value > 0.0 && value.is_finite()));
            wrong.map_or(Ok(()), |value| Err(IndexingError::Impossible { what, value }))
        };
        positive("a cable pull", self.pulls_mm)?;
        positive("a sprocket pitch", self.pitches_mm)?;
        positive("an actuation ratio", &[self.ratio])?;
        let lost = self.lost_share.re();
        if !(0.0..1.0).contains(&lost) {
            return Err(IndexingError::Impossible { what: "the share of the pull that the housing takes", value: lost });
        }
        let travel = self.ratio * (-self.lost_share + 1.0);
        let mut error = D::from(0.0);
        let mut errors_mm = vec![error];
        for (pull, pitch) in self.pulls_mm.iter().zip(self.pitches_mm) {
            error += travel * *pull - *pitch;
            errors_mm.push(error);
        }
        let least =
            errors_mm.iter().copied().fold(errors_mm[0], |least, error| if error.re() < least.re() { error } else { least });
        let most = errors_mm.iter().copied().fold(errors_mm[0], |most, error| if error.re() > most.re() { error } else { most });
        let barrel_mm = -(least + most) * 0.5;
        for error in &mut errors_mm {
            *error += barrel_mm;
        }
        Ok(Indexed { errors_mm, barrel_mm, worst_mm: (most - least) * 0.5 })
    }
}

/// Share of the cable's travel that its housing takes: `give_mm_per_n` is how much housing and cable give way together, `rate_n_per_mm` how
/// fast the derailleur's spring pulls harder as the cable moves.
pub fn lost_share<D: Real>(give_mm_per_n: D, rate_n_per_mm: D) -> D {
    let product = give_mm_per_n * rate_n_per_mm;
    product / (product + 1.0)
}

/// The pull a shift with which a derailleur follows a pitch exactly, mm: what a programmable actuator is set to.
pub fn pull_wanted_mm<D: Real>(pitch_mm: D, ratio: D, lost_share: D) -> D {
    pitch_mm / (ratio * (-lost_share + 1.0))
}

/// What is left between a chain on a sprocket and the next one, mm: below a few tenths it rubs or climbs.
pub fn beside_sprocket_mm<D: Real>(pitch_mm: D, sprocket_mm: D, chain_outer_mm: D) -> D {
    pitch_mm - (sprocket_mm + chain_outer_mm) * 0.5
}
