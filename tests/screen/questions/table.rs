//! The table of questions, whose rows are in `curing.rs` and `cooking.rs`. Beside a row stands the reckoning by hand that its
//! figures were checked with, where it is not plain.

use super::{cooking, curing, surprises};
use crate::walk::At;

/// A question and where its answer stands.
#[derive(Clone, Copy)]
pub struct Row {
    /// Its number in the trade's list.
    pub number: u8,
    pub asks: &'static str,
    pub often: Often,
    pub at: At,
    /// From the view the program opens on; what is typed stands in quotation marks.
    pub keys: &'static [&'static str],
    pub place: &'static str,
    /// What must stand there.
    pub answer: &'static [&'static str],
}

#[derive(Clone, Copy, PartialEq)]
pub enum Often {
    Daily,
    Weekly,
    Batch,
    Yearly,
    /// When something has happened.
    Then,
}

impl Often {
    pub const fn words(self) -> &'static str {
        match self {
            Self::Daily => "daily",
            Self::Weekly => "weekly",
            Self::Batch => "a batch",
            Self::Yearly => "a year",
            Self::Then => "when it happens",
        }
    }
}

/// Every question that the screen answers.
pub fn table() -> impl Iterator<Item = &'static Row> {
    curing::ROWS.iter().chain(cooking::ROWS).chain(surprises::ROWS)
}

/// What the screen does not answer: the question, and what does.
pub const NOT_YET: &[(u8, &str, &str)] = &[
    (7, "How much pork for 14 people and 20 packs?", "`turnday yield --at-table 14`"),
    (10, "What will it cost a pack?", "`turnday yield KITCHEN --pork-price 7`"),
    (30, "Can I put another joint in with these?", "`turnday show tubs --fit 2.4`"),
    (35, "Does it need soaking?", "`turnday trouble salty` once a slice is fried; before that not yet"),
    (
        59,
        "Am I allowed to sell this?",
        "no program can say; `p` and `6` give the cautions and the nitrite limit with its source",
    ),
    (
        62,
        "Mum's coming on the 22nd: can one be early?",
        "`K` changes the date, `C` shows what moves; not walked here yet",
    ),
];
