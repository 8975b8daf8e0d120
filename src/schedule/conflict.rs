//! Which rules cannot hold together: a minimal set of reasons, and which of them to lift.
//!
//! QuickXplain (Junker, 2004) over the reasons; each question, "is there no schedule under these rules alone?", is put to
//! the lags, to the exact insertion of each block alone, and to the proof engine under a node budget.

use super::proof::Prover;
use super::search::{bounds, first_plan, model::Model};
use super::validate::LARGEST_AMOUNT;
use super::{Force, NodeBudget, Options, Outcome, Problem, ReasonId, Stop, solve};
use std::rc::Rc;

/// Nodes spent on one question before it is left open.
const NODES_A_QUESTION: u64 = 4_000;

/// Rules that cannot all hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Conflict {
    /// The reasons, wishes before means, quality and safety. Empty when the horizon or the form alone is at fault.
    pub reasons: Vec<ReasonId>,
    /// Every question was answered: leaving out any one of the reasons lifts this contradiction. When `false`, the reasons
    /// still cannot hold together, but there may be fewer.
    pub minimal: bool,
}

/// The problem without the rules that carry one of these reasons, and without objectives.
pub fn without(problem: &Problem, reasons: &[ReasonId]) -> Problem {
    let mut dropped = vec![false; problem.reasons.len()];
    for r in reasons {
        if let Some(d) = dropped.get_mut(r.index()) {
            *d = true;
        }
    }
    drop_rules(problem, &dropped)
}

fn drop_rules(problem: &Problem, dropped: &[bool]) -> Problem {
    let mut p = lift(problem, |r| dropped[r.index()]);
    p.levels.clear();
    // Groups only say what is searched together; rules that are left tie what they must.
    for (i, a) in p.activities.iter_mut().enumerate() {
        a.group = i as u32;
    }
    p
}

/// The problem, objectives and all, without the rules that carry a reason that is `off`. Every solution of the whole is one
/// of this, but for its choices: they are by hold, and holds may be gone.
pub(super) fn lift(problem: &Problem, off: impl Fn(ReasonId) -> bool) -> Problem {
    let mut p = Problem {
        horizon: problem.horizon,
        activities: problem.activities.clone(),
        resources: problem.resources.clone(),
        calendars: problem.calendars.clone(),
        levels: problem.levels.clone(),
        reasons: problem.reasons.clone(),
        ..Problem::default()
    };
    for a in p.activities.iter_mut().filter(|a| off(a.reason)) {
        (a.pinned, a.release, a.latest) = (None, 0, p.horizon);
    }
    for r in p.resources.iter_mut().filter(|r| off(r.reason)) {
        (r.calendar, r.capacity) = (None, LARGEST_AMOUNT);
        r.changeover.clear();
    }
    p.lags.extend(problem.lags.iter().filter(|l| !off(l.reason)));
    p.within.extend(problem.within.iter().filter(|w| !off(w.reason)));
    for (h, &f) in problem.holds.iter().zip(&problem.families).filter(|(h, _)| !off(h.reason)) {
        p.holds.push(h.clone());
        p.families.push(f);
    }
    p
}

/// Is it impossible by the lags, by one block alone, or by what a resource would have to hold?
fn plainly_impossible(problem: &Problem) -> bool {
    let Ok(model) = Model::new(problem) else { return true };
    bounds::block_alone_fails(&model).is_some() || bounds::Bounds::new(&model).overfull(&model)
}

struct Asker<'p> {
    problem: &'p Problem,
    stop: &'p dyn Stop,
    nodes: u64,
    open: bool,
}

impl Asker<'_> {
    /// Is it proven that no schedule keeps the rules of these reasons (and those of no reason)?
    fn impossible(&mut self, kept: &[ReasonId]) -> bool {
        if self.stop.should_stop(self.nodes) {
            self.open = true;
            return false;
        }
        let mut dropped = vec![true; self.problem.reasons.len()];
        kept.iter().for_each(|r| dropped[r.index()] = false);
        let p = drop_rules(self.problem, &dropped);
        if plainly_impossible(&p) {
            return true;
        }
        let Ok(model) = Model::new(&p) else { return true };
        // A schedule found by insertion answers fastest.
        if first_plan(&model, self.stop, self.nodes, NODES_A_QUESTION / 20) {
            self.nodes += 1;
            return false;
        }
        let Some(mut prover) = Prover::new(&Rc::new(model)) else {
            self.open = true;
            return false;
        };
        let (mut best, mut nodes, before) = (None, 0, self.nodes);
        let stop = self.stop;
        let mut halt = |n: u64| n >= NODES_A_QUESTION || stop.should_stop(before + n);
        if !prover.impossible {
            prover.prove(&mut best, &mut nodes, &mut halt, &mut |_, _, _| {});
        }
        self.nodes += nodes + 1;
        if !prover.impossible && best.is_none() {
            self.open = true;
        }
        prover.impossible
    }

    fn explain(&mut self, base: &[ReasonId], changed: bool, of: &[ReasonId]) -> Vec<ReasonId> {
        if changed && self.impossible(base) {
            return Vec::new();
        }
        if of.len() <= 1 {
            return of.to_vec();
        }
        let (first, second) = of.split_at(of.len() / 2);
        let with_first = [base, first].concat();
        let from_second = self.explain(&with_first, true, second);
        let with_second = [base, from_second.as_slice()].concat();
        let mut found = self.explain(&with_second, !from_second.is_empty(), first);
        found.extend(from_second);
        found
    }
}

/// A minimal set of reasons that cannot hold together, wishes preferred; `None` when no contradiction was proven before
/// `stop`. The problem must be valid.
pub fn conflict(problem: &Problem, stop: &dyn Stop) -> Option<Conflict> {
    problem.validate().ok()?;
    let mut asker = Asker { problem, stop, nodes: 0, open: false };
    let all = by_force(problem);
    asker.impossible(&all).then(|| minimal(asker, &all))
}

/// The same for a problem that is known to be impossible: its reasons are told even when there is no time to thin them out.
pub(super) fn conflict_of_impossible(problem: &Problem, stop: &dyn Stop) -> Conflict {
    minimal(Asker { problem, stop, nodes: 0, open: false }, &by_force(problem))
}

/// All reasons, wishes first: what is asked for first is what the conflict names.
fn by_force(problem: &Problem) -> Vec<ReasonId> {
    let mut reasons: Vec<ReasonId> = (0..problem.reasons.len() as u32).map(ReasonId).collect();
    reasons.sort_by_key(|r| match problem.reasons[r.index()].force {
        Force::Wish => 0,
        Force::Means => 1,
        Force::Quality => 2,
        Force::Safety => 3,
    });
    reasons
}

fn minimal(mut asker: Asker, all: &[ReasonId]) -> Conflict {
    let reasons = if asker.impossible(&[]) { Vec::new() } else { asker.explain(&[], false, all) };
    Conflict { reasons, minimal: !asker.open }
}

/// Those of a conflict's reasons whose rules, left out alone, leave a problem for which a schedule was found within so many
/// nodes each. An empty list means that more than one must give way, or that the search did not get there.
pub fn lifted_by(problem: &Problem, conflict: &Conflict, nodes: u64) -> Vec<ReasonId> {
    let found = |r: &&ReasonId| {
        let p = without(problem, &[**r]);
        if plainly_impossible(&p) {
            return false;
        }
        let options = Options { prove: true, ..Options::default() };
        matches!(solve(&p, &options, &NodeBudget(nodes), &mut |_| {}), Outcome::Found(_))
    };
    conflict.reasons.iter().filter(found).copied().collect()
}
