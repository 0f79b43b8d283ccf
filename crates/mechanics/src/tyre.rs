//! Tyres: width on a rim, radius over the tread, squash under load.
//!
//! ```text
//! W = W₀ + κ (i − i₀)         width on a rim of inner width i, stated as W₀ on a rim of i₀
//! R = D/2 + h,  h = W         radius over the tread of a round section on a bead seat of diameter D
//! ```
//!
//! | symbol | here | unit | meaning |
//! |--------|------|------|---------|
//! | W, W₀ | `stated_width_mm`, returned | mm | section width |
//! | i, i₀ | `rim_inner_mm`, `stated_on_rim_mm` | mm | rim width between the hooks |
//! | κ | [`WIDTH_PER_RIM_WIDTH`] | – | widening of the section with the rim |
//! | D | `bead_seat_diameter_mm` | mm | ISO 5775-2 rim diameter |
//! | h | – | mm | section height, bead seat to tread |
//!
//! Not covered: tread blocks, pressure, casings that are not round (h ≠ W).
//! Source: common practice, no source; the wheel radii quoted in the trade for given designations agree with h = W within
//! 4 mm (`tests/wheel_radii.rs`).

use crate::Real;

/// Widening of a tyre's section per widening of its rim: 0.4 mm a millimetre, common practice, no source.
pub const WIDTH_PER_RIM_WIDTH: f64 = 0.4;

/// Width of a tyre on a rim, mm.
pub fn width_on_rim_mm<D: Real>(stated_width_mm: D, stated_on_rim_mm: D, rim_inner_mm: D) -> D {
    stated_width_mm + (rim_inner_mm - stated_on_rim_mm) * WIDTH_PER_RIM_WIDTH
}

/// Radius over the tread of an unladen wheel, mm.
pub fn radius_mm<D: Real>(bead_seat_diameter_mm: D, width_on_rim_mm: D) -> D {
    bead_seat_diameter_mm * 0.5 + width_on_rim_mm
}

/// How much lower the axle stands when the tyre is squashed by `share` (0 to 1) of its section height, mm.
pub fn squash_mm<D: Real>(radius_mm: D, bead_seat_diameter_mm: D, share: D) -> D {
    (radius_mm - bead_seat_diameter_mm * 0.5) * share
}
