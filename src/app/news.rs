//! What a planner on another thread has to tell.

use crate::plan::Plan;
use crate::plan::replan::Replan;

/// News about the plan, tagged with the revision of the question it answers; news of an older question is dropped.
#[derive(Debug, Clone)]
pub struct PlanNews {
    pub revision: u64,
    pub news: News,
}

#[derive(Debug, Clone)]
pub enum News {
    /// A better plan than before, checked.
    Better(Box<Plan>),
    /// The plan on record, planned again after what has happened, with what changes.
    Again(Box<Replan>),
    /// Looking is over; the last plan told stands.
    Finished,
    /// No plan can be made, because of these reasons.
    Impossible(Vec<String>),
    /// Planning broke off by a fault of the program.
    Failed(String),
}

/// How the planning stands.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Progress {
    pub state: Planning,
    /// How many better plans were told.
    pub better: u32,
    /// The question being answered.
    pub revision: u64,
}

#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub enum Planning {
    /// Nobody is looking.
    #[default]
    Idle,
    Running,
    /// Asked to stop, not stopped yet.
    Stopping,
    Finished,
    Impossible(Vec<String>),
    Failed(String),
}

impl Progress {
    pub fn is_running(&self) -> bool {
        self.state == Planning::Running
    }
}
