//! What people type for moments, stretches of time, weights and temperatures: `yesterday 19:00`, `20 min ago`, `12-14 Mar`, `7 lb 8 oz`,
//! `45F`. Always relative to a moment and a zone that are passed in; nothing here asks the clock.
//!
//! What is not understood is named, with examples of what is.

mod amount;
mod moment;
mod pieces;
mod range;

pub use amount::{Said, temperature, weight};
pub use moment::{Spoken, moment};
pub use range::range;

use super::Zone;
use chrono::{DateTime, Utc};
use std::fmt;

/// Where a person stands in time when saying something.
#[derive(Debug, Clone, Copy)]
pub struct Here {
    pub now: DateTime<Utc>,
    pub zone: Zone,
    /// Which way "Saturday" or "12 Mar" looks.
    pub lean: Lean,
}

/// Which of several moments with the same words is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lean {
    /// The last one: what has happened.
    Back,
    /// The next one: what is to come.
    Ahead,
}

/// Words that were not understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotUnderstood {
    /// All that was given.
    pub given: String,
    /// What in it was not understood, and why.
    pub says: String,
    /// What would have been.
    pub examples: &'static str,
}

impl fmt::Display for NotUnderstood {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "cannot read \"{}\": {}; write it like {}", self.given, self.says, self.examples)
    }
}

impl std::error::Error for NotUnderstood {}
