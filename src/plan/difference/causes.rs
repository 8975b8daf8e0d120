//! Why a task is not where it was: the one limit that keeps it from there.

use crate::plan::replan::{Replanner, Tried, old_times};
use crate::schedule::{self, Force, Problem, Solution};
use std::collections::HashMap;

/// Why single tasks are not where they were.
pub(super) struct Causes<'a> {
    pub problem: &'a Problem,
    solution: &'a Solution,
    node: HashMap<&'a str, usize>,
    /// The old plan's times on the new problem.
    pub old: Solution,
}

impl<'a> Causes<'a> {
    pub fn new(r: &Replanner, best: &'a Tried) -> Self {
        let t = &best.timed;
        let graph = &t.batch.graph;
        let node = graph.node_indices().map(|n| (graph[n].id.as_str(), n.index())).collect();
        let old = old_times(r.again.old, &r.axis, &t.batch, &t.emitted, r.again.kitchen);
        Self { problem: &t.emitted.problem, solution: &t.answer.solution, node, old }
    }

    fn label(&self, a: usize) -> &str {
        &self.problem.activities[a].label
    }

    /// The limit that keeps one task from its old time with all others at their new ones.
    pub fn of(&self, id: &str) -> String {
        let Some(&a) = self.node.get(id) else { return "it is part of the job no more".to_owned() };
        let was = self.old.starts[a];
        let starts = &self.solution.starts;
        let activity = &self.problem.activities[a];
        if was < activity.release {
            let r = &self.problem.reasons[activity.reason.index()];
            return if r.says.starts_with("nothing is planned before") {
                "its time is past".to_owned()
            } else {
                r.says.clone()
            };
        }
        // Least lags and longest waits to and from it; the one that misses by most is what keeps it.
        let broken = self.problem.lags.iter().filter_map(|l| {
            let (from, to) = (l.from.index(), l.to.index());
            let gap = match (from == a, to == a) {
                (true, false) => starts[to] - was,
                (false, true) => was - starts[from],
                _ => return None,
            };
            let other = if from == a { to } else { from };
            (gap < l.least).then(|| (l.least - gap, other, l.reason))
        });
        if let Some((_, other, reason)) = broken.max_by_key(|b| (b.0, std::cmp::Reverse(b.1))) {
            let says = &self.problem.reasons[reason.index()].says;
            let moved = self.old.starts[other] != starts[other] && self.problem.activities[other].pinned.is_none();
            return match (moved, self.problem.activities[other].pinned.is_some()) {
                (true, _) => format!("goes with \"{}\": {says}", self.label(other)),
                (_, true) => says.clone(),
                _ => format!("{says} (\"{}\")", self.label(other)),
            };
        }
        let mut tried = self.solution.clone();
        tried.starts[a] = was;
        let me = schedule::ActivityId(a as u32);
        let violations = schedule::check(self.problem, &tried);
        if let Some(v) = violations.iter().find(|v| v.activities.contains(&me)).or(violations.first())
            && let Some(r) = v.reason
        {
            let others: Vec<String> =
                v.activities.iter().filter(|x| **x != me).map(|x| format!("\"{}\"", self.label(x.index()))).collect();
            let says = &self.problem.reasons[r.index()].says;
            return if others.is_empty() { says.clone() } else { format!("{says} ({})", others.join(", ")) };
        }
        let (is, would) = (schedule::cost(self.problem, self.solution), schedule::cost(self.problem, &tried));
        match is.iter().zip(&would).position(|(a, b)| b > a) {
            Some(level) => format!("left where it was it would cost: {}", self.problem.levels[level].label),
            None => "it suits what moves with it".to_owned(),
        }
    }

    /// What the old plan as a whole would break; safety first.
    pub fn whole(&self) -> Option<String> {
        let reason = |v: &schedule::Violation| v.reason.map(|r| &self.problem.reasons[r.index()]);
        let broken = schedule::check(self.problem, &self.old);
        let worst = broken.iter().filter(|v| reason(v).is_some()).min_by_key(|v| match reason(v).map(|r| r.force) {
            Some(Force::Safety) => 0,
            Some(Force::Quality) => 1,
            Some(Force::Means) => 2,
            _ => 3,
        })?;
        let tasks: Vec<String> = worst.activities.iter().map(|a| format!("\"{}\"", self.label(a.index()))).collect();
        Some(format!("{} ({})", reason(worst)?.says, tasks.join(", ")))
    }
}
