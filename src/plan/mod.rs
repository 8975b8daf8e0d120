//! The kitchen's plan: what is done when, by whom, with what, and why.

pub mod model;
mod share;

pub use model::*;
