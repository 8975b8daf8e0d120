//! What a proposed plan changes, a line a job.

use super::state::State;
use super::time::{minute, when};
use crate::plan::difference::Difference;

/// A job that stands elsewhere, is new, or is gone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// The task's stable name.
    pub task: String,
    /// When it was to be; nothing when it is new.
    pub from: Option<String>,
    /// When it is to be now; nothing when it is gone.
    pub to: Option<String>,
    pub says: String,
    /// The one limit that keeps it from where it was.
    pub why: String,
}

/// The lines of the proposal in order of their new time; none when nothing is proposed.
pub fn changes(state: &State) -> Vec<Change> {
    let Some(proposal) = &state.proposal else { return Vec::new() };
    let d = &proposal.difference;
    let at = |m| when(state.kitchen.zone, minute(m));
    let mut out = Vec::new();
    for m in &d.moved {
        let why = m.cause.clone();
        let (from, to) = (Some(at(m.from)), Some(at(m.to)));
        out.push((m.to, Change { task: m.task.clone(), from, to, says: m.says.clone(), why }));
    }
    for l in &d.added {
        let (says, why) = (l.says.clone(), "new".to_owned());
        out.push((l.at, Change { task: l.task.clone(), from: None, to: Some(at(l.at)), says, why }));
    }
    for l in &d.dropped {
        let says = l.says.clone();
        out.push((l.at, Change { task: l.task.clone(), from: Some(at(l.at)), to: None, says, why: String::new() }));
    }
    out.sort_by_key(|c| c.0);
    out.into_iter().map(|c| c.1).collect()
}

/// Whether a plan differs in anything a person does.
pub fn is_same(d: &Difference) -> bool {
    d.moved.is_empty() && d.added.is_empty() && d.dropped.is_empty() && d.handed_over.is_empty()
}
