//! The equations: pure functions of numbers, one module a subject.
//!
//! Nothing here reads a file, a clock or a locale, and nothing here has met a bicycle part: lengths, angles and masses go in,
//! lengths, angles and shares come out. Every function is written over [`Real`], so that the same lines give a plain number
//! or a number with its exact derivatives (forward mode, dual numbers).
//!
//! | module | subject |
//! |---|---|
//! | [`plane`] | points and directions in the bicycle's plane |
//! | [`planar`] | a two-wheeler standing on the ground |
//! | [`pedal`] | what the pedal touches: the ground in a lean, the front tyre in a turn |
//! | [`rider`] | where a rider's centre of mass is, and the load on the front wheel |
//! | [`tyre`] | width on a rim, radius over the tread, squash |
//! | [`chart`] | reconciling a geometry chart |
//! | [`chain_path`] | the way of a chain around ring, sprocket and jockey wheels |
//! | [`chainline`] | how aslant a chain runs, and what its pins take |
//! | [`indexing`] | where a derailleur stands beside each sprocket |
//! | [`teeth`] | the teeth of a ring, and how they fill a chain |

pub mod chain_path;
pub mod chainline;
pub mod chart;
pub mod indexing;
pub mod pedal;
pub mod planar;
pub mod plane;
pub mod rider;
pub mod teeth;
pub mod tyre;

use num_dual::DualNum;

/// A real number, or a real number with derivatives.
pub trait Real: DualNum<Primitive = f64> + Copy {}

impl<T: DualNum<Primitive = f64> + Copy> Real for T {}
