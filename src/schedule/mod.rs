//! The solver. It knows activities, resources, lags, calendars and ordered objectives, and nothing of meat.
//!
//! [`problem`] is what goes in, [`solution`] what comes out, [`check`] the second, plain judge that shares no code with
//! the search.

pub mod problem;
pub mod solution;

pub use problem::*;
pub use solution::*;
