//! What the solver answers: starts, choices, what each objective level costs and what is known about its bound.

use super::{Minute, ReasonId};
use serde::{Deserialize, Serialize};

/// A start for every activity and a chosen resource for every hold.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Solution {
    /// By activity.
    pub starts: Vec<Minute>,
    /// By hold: position in its `choose` list.
    pub chosen: Vec<u32>,
}

/// A solution with its standing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answer {
    pub solution: Solution,
    /// Cost by level, in the problem's order.
    pub cost: Vec<i64>,
    /// A true lower bound by level, given that all levels before it are at the cost stated. 0 where nothing better is known.
    pub bound: Vec<i64>,
    /// Steps of search done when it was found.
    pub nodes: u64,
}

impl Answer {
    /// How many levels, from the first on, are proven: cost equals bound there and on every level before.
    pub fn levels_proven(&self) -> usize {
        self.cost.iter().zip(&self.bound).take_while(|(c, b)| c == b).count()
    }

    pub fn is_proven_best(&self) -> bool {
        self.levels_proven() == self.cost.len()
    }
}

/// How a search ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// The best answer found.
    Found(Answer),
    /// No solution exists: these rules cannot hold together.
    Impossible { because: Vec<ReasonId> },
    /// Stopped before a solution was found or ruled out; the rules met most often when the search was turned back.
    Unknown { in_the_way: Vec<ReasonId> },
    /// The problem's form is wrong ([`super::Problem::validate`]); nothing was searched.
    Unusable { errors: Vec<super::ProblemError> },
}
