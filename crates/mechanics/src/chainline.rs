//! How aslant a chain runs in each gear, and what its pins take of the rider's work.
//!
//! ```text
//! y_i = y_0 − Σ P                        sprocket i from the bicycle's middle plane; 0 is the outermost, the smallest
//! γ = atan((ring − y_i) / l)             lateral angle of the pulling run
//! η_lost = 2π μ (r/p) (1/z₁ + 1/z₂)      share of the work that the pins of the pulling run take
//! ```
//!
//! A link that comes on to a wheel of z teeth turns against its neighbour by 2π/z under the tension T, with its pin (radius r) rubbing in
//! the bush: μ T r · 2π/z of work for each link; in the same time the chain moves on by a pitch and does T p. It happens where the pulling
//! run leaves the sprocket and where it meets the ring. By Archard's law wear goes with the work of rubbing, so that of two gears alike
//! the one that takes less also wears less.
//!
//! | symbol | here | unit | meaning |
//! |--------|------|------|---------|
//! | μ | `friction` | – | friction of pin in bush |
//! | r | `pin_radius_mm` | mm | radius of the pin |
//! | z₁, z₂ | `ring_teeth`, `sprocket_teeth` | – | teeth |
//! | l | `run_mm` | mm | pulling run, where it touches ring and sprocket |
//!
//! Not covered: the slack run and the jockey wheels, whose share is larger the less the chain is pulled; shock of the teeth; dirt. So the
//! figure is the least that is lost, and good for telling gears apart. A chain that runs aslant adds little (Spicer et al. 2001).
//! Source: Lodge, C. J. & Burgess, S. C. (2002) A model of the tension and transmission efficiency of a bush roller chain. Proceedings of
//! the Institution of Mechanical Engineers C 216, 385–394 (from memory); Spicer, J. B. et al. (2001) Effects of frictional loss on bicycle
//! chain drive efficiency. Journal of Mechanical Design 123(4), 598–605.
//! Checked against: `tests/shifting.rs` (work of one turn counted link by link; the order of sprockets and the best figure of Spicer et al.).

use crate::{Real, chain_path::PITCH_MM};

/// Friction of pin in bush in an oiled chain: about 0.1, from memory of the literature on roller chains.
pub const FRICTION: f64 = 0.1;

/// Radius of a bicycle chain's pin, mm: about 3.6 mm across (from memory; common practice, no source).
pub const PIN_RADIUS_MM: f64 = 1.8;

/// Lateral angle of the pulling run, rad; positive where the ring stands further out than the sprocket.
pub fn lateral_angle_rad<D: Real>(ring_from_middle_mm: D, sprocket_from_middle_mm: D, run_mm: D) -> D {
    ((ring_from_middle_mm - sprocket_from_middle_mm) / run_mm).atan()
}

/// Where the sprockets stand from the middle plane, the smallest and outermost first, mm.
pub fn sprockets_from_middle_mm<D: Real>(outermost_mm: D, pitches_mm: &[D]) -> impl Iterator<Item = D> {
    let inward = pitches_mm.iter().scan(outermost_mm, |place, pitch| {
        *place -= *pitch;
        Some(*place)
    });
    std::iter::once(outermost_mm).chain(inward)
}

/// The place of a single ring, from the middle plane, at which its most aslant gears run equally aslant to both sides, mm.
pub fn middle_of_pack_mm<D: Real>(outermost_mm: D, pitches_mm: &[D]) -> D {
    let innermost = sprockets_from_middle_mm(outermost_mm, pitches_mm).last().unwrap_or(outermost_mm);
    (outermost_mm + innermost) * 0.5
}

/// Share of the work that the pins of the pulling run take; `None` without teeth on one of the wheels.
pub fn pin_loss_share<D: Real>(ring_teeth: u32, sprocket_teeth: u32, friction: D, pin_radius_mm: D) -> Option<D> {
    if ring_teeth == 0 || sprocket_teeth == 0 {
        return None;
    }
    let turns = std::f64::consts::TAU * (f64::from(ring_teeth).recip() + f64::from(sprocket_teeth).recip());
    Some(friction * pin_radius_mm * (turns / PITCH_MM))
}
