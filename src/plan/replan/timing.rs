//! One sharing, timed on what has happened: from where the plan so far had its tasks.

use super::{FORMS, Replanner, Tried};
use crate::kitchen::Kitchen;
use crate::plan::history::Laid;
use crate::plan::patience::Share;
use crate::plan::strike::Timed;
use crate::plan::{Plan, PlannedTask, Refusal, judge};
use crate::process::Axis;
use crate::process::arrangement::Arrangement;
use crate::process::emit::{Emitted, Form, Taken};
use crate::process::graph::Batch;
use crate::schedule::{self, Answer, Minute, Solution, search};
use petgraph::graph::NodeIndex;
use std::collections::HashMap;

impl Replanner<'_> {
    pub(super) fn lay(&self, arrangement: &Arrangement, form: Form, lenient: bool) -> Result<Laid, Refusal> {
        self.ground().build(arrangement, &self.promises, form, lenient).map_err(Refusal::no_room)
    }

    /// Times one sharing, from the plan so far or from a solution found before.
    pub fn time(
        &self,
        arrangement: &Arrangement,
        form: Form,
        lenient: bool,
        budget: u64,
        from: Option<Solution>,
    ) -> Result<Tried, Refusal> {
        let tried = self.time_laid(self.lay(arrangement, form, lenient)?, arrangement, form, budget, from)?;
        Ok(Tried { lenient, ..tried })
    }

    /// The same for a sharing that is laid out.
    pub(super) fn time_laid(
        &self,
        laid: Laid,
        arrangement: &Arrangement,
        form: Form,
        budget: u64,
        from: Option<Solution>,
    ) -> Result<Tried, Refusal> {
        let start_from = from
            .unwrap_or_else(|| old_times(self.again.old, &self.axis, &laid.batch, &laid.emitted, self.again.kitchen));
        let options =
            search::Options { seed: self.again.seed, start_from: Some(start_from), prove: false, ..Default::default() };
        let part = Share::new(self.stop, self.spent.get(), budget);
        let mut first: Option<Vec<i64>> = None;
        let outcome = search::solve(&laid.emitted.problem, &options, &part, &mut |a| {
            first.get_or_insert_with(|| a.cost.clone());
        });
        self.spent.set(self.spent.get() + part.spent());
        let answer = Refusal::unless_found(&laid.emitted.problem, outcome)?;
        let shifted = first.as_ref().is_some_and(|f| f[..3] == answer.cost[..3]);
        Ok(Tried { shifted, ..self.tried(laid, arrangement, answer, form) })
    }

    /// A sharing as it was laid out and timed, within its limits and where the plan so far had it.
    pub(super) fn tried(&self, laid: Laid, arrangement: &Arrangement, answer: Answer, form: Form) -> Tried {
        let Laid { batch, emitted, brought_up, .. } = laid;
        let timed = Timed { arrangement: arrangement.clone(), batch, emitted, answer, collect: self.collect, form };
        Tried { timed, brought_up, lenient: false, shifted: true }
    }

    /// The better of timing a sharing with the outermost limits, and with the good ones where that leaves some overstepped.
    pub(super) fn look(&self, arrangement: &Arrangement, lenient: bool, budget: u64) -> Result<Tried, Refusal> {
        let mut best: Option<Tried> = None;
        let mut refused = None;
        for form in FORMS {
            match self.time(arrangement, form, lenient, budget, None) {
                Ok(t) => {
                    if best.as_ref().is_none_or(|b| t.timed.answer.cost < b.timed.answer.cost) {
                        best = Some(t);
                    }
                }
                Err(e) => {
                    refused.get_or_insert(e);
                }
            }
            if best.as_ref().is_some_and(|b| b.timed.answer.cost[..2] == [0, 0]) {
                break;
            }
        }
        best.ok_or_else(|| refused.unwrap_or_else(|| Refusal::no_room("nothing was tried".to_owned())))
    }

    /// The plan so far, where it still holds and leaves nothing later or more overstepped than it was before.
    pub(super) fn as_it_is(&self, laid: &Laid) -> Option<Answer> {
        let solution = old_times(self.again.old, &self.axis, &laid.batch, &laid.emitted, self.again.kitchen);
        let cost = schedule::cost(&laid.emitted.problem, &solution);
        let before: Vec<i64> = self.again.old.levels.iter().map(|l| l.value).collect();
        let known = |n: NodeIndex| {
            let t = &laid.batch.graph[n];
            t.pinned.is_some() || self.again.old.tasks.iter().any(|o| o.id == t.id)
        };
        let fine = laid.batch.graph.node_indices().all(known)
            && cost.first() <= Some(before.first().unwrap_or(&0))
            && cost.get(1) <= Some(before.get(1).unwrap_or(&0))
            && cost.get(2) == Some(&0)
            && schedule::check(&laid.emitted.problem, &solution).is_empty();
        fine.then(|| Answer { bound: vec![0; cost.len()], solution, cost, nodes: 0 })
    }
}

/// An earlier plan's times and choices on a problem; tasks it does not have stand at their earliest.
pub(in crate::plan) fn old_times(
    old: &Plan,
    axis: &Axis,
    batch: &Batch,
    emitted: &Emitted,
    kitchen: &Kitchen,
) -> Solution {
    let by_id: HashMap<&str, &PlannedTask> = old.tasks.iter().map(|t| (t.id.as_str(), t)).collect();
    let graph = &batch.graph;
    let problem = &emitted.problem;
    let mut starts: Vec<Minute> = problem.activities.iter().map(|a| a.pinned.unwrap_or(a.release)).collect();
    for n in graph.node_indices().filter(|n| graph[*n].pinned.is_none()) {
        if let Some(t) = by_id.get(graph[n].id.as_str()) {
            starts[n.index()] = axis.minute(t.start.to_utc());
        }
    }
    let chosen = problem
        .holds
        .iter()
        .zip(&emitted.taken)
        .map(|(h, taken)| {
            let task =
                graph.node_weight(NodeIndex::new(h.from.activity.index())).and_then(|t| by_id.get(t.id.as_str()));
            let Some(task) = task else { return 0 };
            let named = |x: &Taken| match x {
                Taken::Person(p) => task.who.as_ref() == Some(&kitchen.people[*p].name),
                Taken::Thing(thing) => {
                    let name = judge::thing_name(kitchen, *thing);
                    task.uses.iter().any(|u| u.thing == name)
                }
            };
            taken.iter().position(named).unwrap_or(0) as u32
        })
        .collect();
    Solution { starts, chosen }
}
