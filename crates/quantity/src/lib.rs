//! Values with unit, tolerance and source: reading, printing, and the arithmetic of uncertainty.
//!
//! | module | subject |
//! |---|---|
//! | [`dimension`] | what is measured: a length, an angle, a mass … |
//! | [`unit`](mod@unit) | in what: mm, in, deg, kg … |
//! | [`value`] | a value with its spread and origin |
//! | [`parse`](mod@parse) | `"531 ± 2 mm"`, `"20.9 in"`, `"~68.5 deg"`, `"6 ft 1 in"` |
//! | [`problem`] | the ways in which a text is not a quantity, with caret and help |
//! | [`print`](mod@print) | for people, never with more digits than the tolerance carries |
//! | [`words`](mod@words) | around numbers: counts, lists |
//! | [`gum`] | combining uncertainties as JCGM 100:2008 does |
//!
//! ```
//! use quantity::{Dimension, parse, print};
//! let fork = parse("531 ± 2 mm", Dimension::Length)?.quantity;
//! let shown = print::value(fork.value(), fork.spread().plus_minus(), fork.dimension(), print::Units::Imperial);
//! assert_eq!(shown.number, "20.91");
//! assert_eq!(shown.plus_minus.as_deref(), Some("0.08"));
//! assert_eq!(shown.unit, "in");
//! # Ok::<(), quantity::QuantityError>(())
//! ```

pub mod dimension;
pub mod gum;
pub mod parse;
pub mod print;
pub mod problem;
mod scan;
pub mod unit;
pub mod value;
pub mod words;

pub use dimension::Dimension;
pub use parse::{Written, parse};
pub use problem::{QuantityError, QuantityProblem};
pub use unit::Unit;
pub use value::{Origin, Quantity, Spread};
