//! Values with unit, tolerance and source: reading, printing, and the arithmetic of uncertainty.
//!
//! | module | subject |
//! |---|---|
//! | [`dimension`] | what is measured: a length, an angle, a mass … |
//! | [`unit`] | in what: mm, in, deg, kg … |
//! | [`value`] | a value with its spread and origin |
//! | [`parse`](mod@parse) | `"531 ± 2 mm"`, `"20.9 in"`, `"~68.5 deg"`, `"6 ft 1 in"` |
//! | [`print`] | for people, never with more digits than the tolerance carries |
//! | [`gum`] | combining uncertainties as JCGM 100:2008 does |

pub mod dimension;
pub mod gum;
pub mod parse;
pub mod print;
pub mod unit;
pub mod value;

pub use dimension::Dimension;
pub use parse::{QuantityError, QuantityProblem, Written, parse};
pub use unit::Unit;
pub use value::{Origin, Quantity, Spread};
