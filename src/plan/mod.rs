//! The kitchen's plan: what is done when, by whom, with what, and why.

mod bounds;
pub mod chance;
mod claims;
pub mod judge;
pub mod model;
mod notes;
mod patience;
mod refusal;
mod share;
pub mod strike;
mod tell;
pub mod ways;
pub mod why;
mod words;

pub use model::*;
pub use patience::Patience;
pub use refusal::Refusal;
pub use strike::{Request, strike};
