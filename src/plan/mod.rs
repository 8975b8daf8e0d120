//! The kitchen's plan: what is done when, by whom, with what, and why.

mod adapt;
pub mod ask;
pub mod axis;
pub mod binds;
mod bounds;
pub mod chance;
mod claims;
mod collecting;
pub mod cores;
pub mod difference;
pub mod history;
pub mod judge;
mod keep;
pub mod late_turns;
pub mod lost_day;
pub mod model;
pub mod notes;
mod patience;
pub mod question;
mod refusal;
pub mod replan;
mod rivals;
mod share;
pub mod standing;
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
pub use words::{capital, length, moment};
