//! The pages in a real browser.
//!
//! ```text
//! tests/, src/bin ─▶ house ─┬─ bench (the program's server, on a free port)
//!                           ├─ driver (`WebDriver`'s process, on a free port)
//!                           └─ browser (a window with a fresh profile, asked over `WebDriver` and its developer tools)
//! ```
//!
//! Whatever was started is ended when its owner is dropped, whether a test went well or not.

mod browser;
mod devtools;
mod driver;
mod house;

use std::error::Error;

pub use browser::Browser;
pub use driver::Driver;
pub use house::House;

/// Why a browser did not do what was asked, in words.
pub type Fault = Box<dyn Error + Send + Sync>;

/// What came of it.
pub type Outcome<T> = Result<T, Fault>;
