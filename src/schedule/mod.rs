//! The solver. It knows activities, resources, lags, calendars and ordered objectives, and nothing of meat.
//!
//! [`problem`] is what goes in, [`solution`] what comes out, [`mod@check`] the second, plain judge that shares no code with
//! the search.

pub mod better;
pub mod check;
pub mod conflict;
pub mod cost;
pub mod export;
pub mod levels_held;
pub mod problem;
mod proof;
pub mod search;
pub mod solution;
mod steps;
pub mod stop;
pub mod validate;

pub use better::{Against, Inquiry};
pub use check::{Violation, check};
pub use conflict::{Conflict, conflict, lifted_by, without};
pub use cost::cost;
pub use levels_held::{Holding, LevelsHeld, levels_held};
pub use problem::*;
pub use search::slack::{Held, Side, Slack, binding, slack};
pub use search::{Options, Second, solve};
pub use solution::*;
pub use steps::on_whole_steps;
pub use stop::{AnyOf, Cancelled, NodeBudget, Stop, WallClock};
pub use validate::ProblemError;
