//! The kitchen's plan: what is done when, by whom, with what, and why.

mod adapt;
mod bounds;
mod claims;
pub mod difference;
pub mod history;
pub mod judge;
pub mod model;
mod notes;
mod patience;
mod refusal;
pub mod replan;
mod share;
pub mod strike;
mod tell;
pub mod ways;
pub mod why;
mod words;

pub use history::{Deviation, Happened, History};
pub use model::*;
pub use patience::Patience;
pub use refusal::Refusal;
pub use strike::{Request, strike};
