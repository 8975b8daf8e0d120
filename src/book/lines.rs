//! The life of each task's line across all plans that were accepted, replaced, undone and redone.

use super::event::{Act, Event, PlanLine};
use super::state::LineRecord;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::ops::Deref;
use std::sync::Arc;

/// Every line there ever was, by its task's stable name. A map to read from.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Lines {
    records: BTreeMap<String, LineRecord>,
    /// Accepted plans in order: the event, whether it counts, and its lines.
    plans: Vec<Accepted>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct Accepted {
    seq: u64,
    counts: bool,
    lines: Arc<Vec<PlanLine>>,
}

impl Deref for Lines {
    type Target = BTreeMap<String, LineRecord>;
    fn deref(&self) -> &Self::Target {
        &self.records
    }
}

impl Lines {
    /// Follows one event in the order of the journal. Undoing a plan brings the lines of the one before it back, as a further
    /// change: a sequence never falls.
    pub(super) fn follow(&mut self, e: &Event) {
        match &e.act {
            Act::PlanAccepted { lines, .. } => {
                self.plans.push(Accepted { seq: e.seq, counts: true, lines: Arc::new(lines.clone()) });
            }
            Act::Undone { seq } | Act::Redone { seq } => {
                let Some(plan) = self.plans.iter_mut().find(|p| p.seq == *seq) else { return };
                plan.counts = matches!(e.act, Act::Redone { .. });
            }
            _ => return,
        }
        let now = self.plans.iter().rfind(|p| p.counts).map(|p| Arc::clone(&p.lines)).unwrap_or_default();
        self.relay(&now);
    }

    fn relay(&mut self, now: &[PlanLine]) {
        let there: BTreeMap<&str, &PlanLine> = now.iter().map(|l| (l.id.as_str(), l)).collect();
        for (id, record) in &mut self.records {
            if !there.contains_key(id.as_str()) && !record.cancelled {
                record.cancelled = true;
                record.sequence += 1;
            }
        }
        for (id, line) in there {
            match self.records.get_mut(id) {
                Some(r) if !r.cancelled && r.line == *line => {}
                Some(r) => *r = LineRecord { line: line.clone(), sequence: r.sequence + 1, cancelled: false },
                None => {
                    let new = LineRecord { line: line.clone(), sequence: 0, cancelled: false };
                    self.records.insert(id.to_owned(), new);
                }
            }
        }
    }

    /// Whether a task is in the plan of one line and not in the one that counts without it.
    pub(super) fn only_in(&self, plan: u64, task: &str) -> bool {
        let has = |p: &Accepted| p.lines.iter().any(|l| l.id == task);
        let before = self.plans.iter().rfind(|p| p.counts && p.seq != plan);
        self.plans.iter().any(|p| p.seq == plan && has(p)) && !before.is_some_and(has)
    }

    /// The lines of the plan that counts, in order of start.
    pub fn planned(&self) -> Vec<&PlanLine> {
        let mut lines: Vec<&PlanLine> = self.records.values().filter(|r| !r.cancelled).map(|r| &r.line).collect();
        lines.sort_by(|a, b| (a.start, &a.id).cmp(&(b.start, &b.id)));
        lines
    }
}
