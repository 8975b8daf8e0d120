//! What a replan is told as: the plan as data, what it would be without promises, and the limits that are missed.

use super::{Again, LOOK, Replan, Replanner, Tier, Tried};
use crate::plan::difference::difference;
use crate::plan::history::{Deviation, deviations, open_ends, planned_misses};
use crate::plan::strike::Timed;
use crate::plan::{Collect, Plan, tell, ways};
use crate::process::emit::{Form, Promises};
use crate::process::facts;
use crate::schedule::{self, NodeBudget, Outcome, search};

impl Replanner<'_> {
    /// The plan as data.
    pub fn plan(&self, tried: &Tried, with_slack: bool) -> Plan {
        let Again { kitchen, old, .. } = self.again;
        let mut plan = tell::tell(kitchen, &self.limits, &self.axis, &tried.timed, with_slack);
        let t = &tried.timed;
        let open = (0..kitchen.joints.len()).filter(|j| kitchen.joints[*j].arrives.is_none());
        let first = open
            .map(|j| t.batch.submerge[j])
            .filter(|n| t.batch.graph[*n].pinned.is_none())
            .map(|n| t.answer.solution.starts[n.index()])
            .min();
        plan.collect = first.map(|m| Collect {
            planned: self.axis.when(m),
            last_possible: old.collect.and_then(|c| c.last_possible).filter(|l| *l >= self.axis.when(m)),
        });
        plan
    }

    /// The plan if no promise counted, from where the best one stands; for comparison only.
    pub fn afresh(&self, best: &Tried) -> Option<Plan> {
        let t = &best.timed;
        let laid = self.ground().build(&t.arrangement, &Promises::new(), t.form, best.lenient).ok()?;
        let options = search::Options {
            seed: self.again.seed,
            start_from: Some(t.answer.solution.clone()),
            prove: false,
            ..Default::default()
        };
        match search::solve(&laid.emitted.problem, &options, &NodeBudget(2 * LOOK), &mut |_| ()) {
            Outcome::Found(answer) if schedule::check(&laid.emitted.problem, &answer.solution).is_empty() => {
                let timed = Timed { batch: laid.batch, emitted: laid.emitted, answer, ..t.clone() };
                Some(
                    self.plan(
                        &Tried { timed, brought_up: laid.brought_up, lenient: best.lenient, shifted: false },
                        false,
                    ),
                )
            }
            _ => None,
        }
    }

    pub(super) fn told(&self, best: &Tried, tier: Tier) -> Replan {
        let plan = self.plan(best, true);
        let mut deviations = deviations(&best.brought_up);
        if best.lenient {
            deviations.extend(self.given_up(best));
        }
        deviations.extend(self.again.history.outside(self.again.kitchen, &plan.tasks));
        let late: Vec<String> =
            plan.joints.iter().filter(|j| j.ready_by.is_some_and(|by| j.ready > by)).map(|j| j.name.clone()).collect();
        let ways = if late.is_empty() || self.again.ways == 0 {
            Vec::new()
        } else {
            ways::ways_after(&self.again, &late, self.stop)
        };
        let difference = difference(self, best, &plan, &ways);
        Replan { plan, difference, ways, tier, deviations, open_ends: open_ends(&best.brought_up) }
    }

    /// Limits of quality that a lenient plan misses, though they have not run out yet.
    fn given_up(&self, best: &Tried) -> Vec<Deviation> {
        let Ok(strict) = self.ground().build(&best.timed.arrangement, &self.promises, Form::JUDGED, false) else {
            return Vec::new();
        };
        let problem = &strict.emitted.problem;
        let starts = &best.timed.answer.solution.starts;
        let mut missed: Vec<facts::Missed> = Vec::new();
        for l in &problem.lags {
            let by = l.least - (starts[l.to.index()] - starts[l.from.index()]);
            if by <= 0 {
                continue;
            }
            let reason = problem.reasons[l.reason.index()].clone();
            let label = |a: crate::schedule::ActivityId| problem.activities[a.index()].label.clone();
            let (a, b) = if l.least < 0 { (label(l.to), label(l.from)) } else { (label(l.from), label(l.to)) };
            // Of gaps that overlap, the one that is missed by most stands for all of them.
            match missed.iter_mut().find(|m| m.reason == reason && (m.tasks[1] == b || m.tasks[0] == a)) {
                Some(m) if m.by < by => (m.tasks, m.by) = (vec![a, b], by),
                Some(_) => {}
                None => missed.push(facts::Missed { reason, tasks: vec![a, b], by, open: false }),
            }
        }
        planned_misses(&missed)
    }
}
