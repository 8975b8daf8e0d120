//! Plans again after something has happened, with as few promises broken as can be.
//!
//! In tiers: the plan so far, if it still holds; what must move, moved on from where it stood; then a search in which each
//! task that leaves its promised time costs one, and three within the next two days. Other sharing is tried only for what
//! is not begun, and only where it is needed: something no longer fits, is late, or cannot be planned. What has happened is
//! never changed.

use super::adapt::{Adapted, Open, adapt, complete};
use super::axis::axis_from;
use super::difference::{Difference, difference};
use super::history::{Deviation, Ground, History, Laid, MOST_TURNS, deviations, open_ends};
use super::patience::Share;
use super::share::Proposer;
use super::strike::Timed;
use super::ways::WayOut;
use super::{Collect, Plan, Refusal, tell};
use crate::kitchen::{Kitchen, Limits};
use crate::process::arrangement::{Arrangement, Load};
use crate::process::emit::{Emitted, Form, Promises, Taken};
use crate::process::graph::Batch;
use crate::process::{Axis, facts};
use crate::schedule::{self, Answer, Minute, NodeBudget, Outcome, Solution, Stop, search};
use chrono::TimeDelta;
use petgraph::graph::NodeIndex;
use serde::Serialize;
use std::cell::Cell;
use std::collections::HashMap;

/// What to plan again.
#[derive(Debug, Clone, Copy)]
pub struct Again<'a> {
    /// The kitchen as it is now.
    pub kitchen: &'a Kitchen,
    /// The plan so far.
    pub old: &'a Plan,
    pub history: &'a History,
    /// The same seed and steps give the same plan.
    pub seed: u64,
    /// Search steps in all.
    pub steps: u64,
    /// Most ways out looked for when something is late.
    pub ways: usize,
    /// What is known to have changed, a sentence each, for the telling.
    pub what: &'a [String],
}

/// How much had to be thought over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Tier {
    /// The plan so far holds as it is.
    Kept,
    /// What had to move was moved on from where it stood.
    Shifted,
    /// A search found fewer broken promises, or what shifting alone did not.
    Searched,
    /// Who shares what was changed among what is not begun.
    Rearranged,
}

/// The plan after what has happened.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Replan {
    pub plan: Plan,
    pub difference: Difference,
    pub ways: Vec<WayOut>,
    pub tier: Tier,
    /// Limits that are missed, by what has happened or because nothing else is possible.
    pub deviations: Vec<Deviation>,
    /// What the record leaves open, a sentence each.
    pub open_ends: Vec<String>,
}

/// A promise within the next two days weighs as much as so many later ones.
pub const NEAR: i64 = 3;
/// What counts as near, hours.
const NEAR_HOURS: i64 = 48;
/// Search steps for a look at one sharing.
pub(super) const LOOK: u64 = 40;
/// Sharings looked at.
const MOST: usize = 10;

/// How planning goes: the outermost limits are hard, and what is past a good one costs on its level; where that leaves
/// something overstepped, the good limits are tried as hard ones too.
const FORMS: [Form; 2] = [Form::PLANNED[2], Form::PLANNED[1]];

/// A sharing timed with its history.
pub(super) struct Tried {
    pub timed: Timed,
    pub brought_up: facts::Laid,
    pub lenient: bool,
    /// Promises are kept, or broken only by moving on.
    shifted: bool,
}

/// The ground a replan works on; several questions about one kitchen can share it.
pub(super) struct Replanner<'a> {
    pub again: Again<'a>,
    pub limits: Limits,
    pub axis: Axis,
    pub(super) starts: Minute,
    collect: Minute,
    pub(super) promises: Promises,
    pub(super) stop: &'a dyn Stop,
    pub(super) spent: Cell<u64>,
}

/// Promises of a plan: every task with hands that is still to come, by when it was to start, near ones dearer.
pub fn promises(old: &Plan, history: &History, axis: &Axis) -> Promises {
    let near = history.now + TimeDelta::hours(NEAR_HOURS);
    old.tasks
        .iter()
        .filter(|t| t.hands_minutes > 0 && t.start.to_utc() >= history.now)
        .map(|t| {
            let start = t.start.to_utc();
            (t.id.clone(), (axis.minute(start), if start < near { NEAR } else { 1 }))
        })
        .collect()
}

/// Plans again.
///
/// # Errors
/// [`Refusal`] when there is no plan that keeps what has happened and every limit that can still be kept.
pub fn replan(again: &Again, stop: &dyn Stop) -> Result<Replan, Refusal> {
    let replanner = Replanner::new(*again, stop);
    let (mut best, tier) = replanner.best()?;
    let before = best.timed.answer.cost.clone();
    let fewest = replanner.fewest(&mut best);
    let gained = best.timed.answer.cost[..3] < before[..3];
    let mut told = replanner.told(&best, if gained { tier.max(Tier::Searched) } else { tier });
    told.difference.fewest = fewest && !best.lenient && !told.difference.moved.is_empty();
    Ok(told)
}

/// Plans again and tells nothing but the plan.
///
/// # Errors
/// As [`replan`].
pub(super) fn replan_only(again: &Again, stop: &dyn Stop) -> Result<Plan, Refusal> {
    let replanner = Replanner::new(*again, stop);
    let (best, _) = replanner.best()?;
    Ok(replanner.plan(&best, false))
}

impl<'a> Replanner<'a> {
    pub fn new(again: Again<'a>, stop: &'a dyn Stop) -> Self {
        let limits = Limits::with(&again.kitchen.limits);
        let first = again.history.first().map_or(again.history.now, |f| f.min(again.history.now));
        let last = again.old.tasks.iter().map(|t| t.end.to_utc()).max().unwrap_or(first);
        let (axis, starts) = axis_from(again.kitchen, again.history.now, &limits, first, last);
        let now = axis.minute(again.history.now);
        // Pork whose day of collection was open is there when the plan so far has it.
        let open = again.kitchen.joints.iter().filter(|j| j.arrives.is_none());
        let puts = open.filter_map(|j| again.old.joints.iter().find(|s| s.name == j.name));
        let put_in = puts.map(|s| axis.minute(s.put_in.to_utc())).min();
        let planned = again.old.collect.map(|c| axis.minute(c.planned.to_utc()));
        let collect = planned.or(put_in).unwrap_or(now).max(now);
        let promises = promises(again.old, again.history, &axis);
        Self { again, limits, axis, starts, collect, promises, stop, spent: Cell::new(0) }
    }

    fn ground(&self) -> Ground<'_> {
        Ground {
            kitchen: self.again.kitchen,
            limits: &self.limits,
            axis: &self.axis,
            starts: self.starts,
            collect: self.collect,
            history: Some(self.again.history),
            old: Some(self.again.old),
        }
    }

    fn proposer(&self) -> Proposer<'_> {
        let of = |m: crate::kitchen::Moment| self.axis.of(m);
        let now = self.axis.minute(self.again.history.now);
        let k = self.again.kitchen;
        Proposer {
            kitchen: k,
            limits: &self.limits,
            arrival: k.joints.iter().map(|j| j.arrives.map_or(self.collect, of).max(now)).collect(),
            due: k.joints.iter().map(|j| j.ready_by.map(of)).collect(),
            crowded: Default::default(),
        }
    }

    pub(super) fn stopped(&self) -> bool {
        self.spent.get() >= self.again.steps || self.stop.should_stop(self.spent.get())
    }

    fn lay(&self, arrangement: &Arrangement, form: Form, lenient: bool) -> Result<Laid, Refusal> {
        self.ground().build(arrangement, &self.promises, form, lenient).map_err(Refusal::no_room)
    }

    /// Times one sharing, from the plan so far or from a solution found before.
    pub(super) fn time(
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
    fn time_laid(
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
    fn tried(&self, laid: Laid, arrangement: &Arrangement, answer: Answer, form: Form) -> Tried {
        let Laid { batch, emitted, brought_up, .. } = laid;
        let timed = Timed { arrangement: arrangement.clone(), batch, emitted, answer, collect: self.collect, form };
        Tried { timed, brought_up, lenient: false, shifted: true }
    }

    /// The better of timing a sharing with the outermost limits, and with the good ones where that leaves some overstepped.
    fn look(&self, arrangement: &Arrangement, lenient: bool, budget: u64) -> Result<Tried, Refusal> {
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
    fn as_it_is(&self, laid: &Laid) -> Option<Answer> {
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

    /// The sharing so far with a turn or two more, or fewer, in each tub that is not yet empty.
    fn other_turns(&self, a: &Arrangement) -> Vec<Arrangement> {
        let kitchen = self.again.kitchen;
        let lifted = |j: &usize| self.again.history.has_begun(&format!("lift {}", kitchen.joints[*j].name));
        let begun = |id: &str, k: u32| self.again.history.tasks.contains_key(&format!("turn {id} {k}"));
        let ids = crate::process::graph::load_ids(kitchen, a);
        let with = |change: i64| {
            let mut a = a.clone();
            for (l, id) in a.loads.iter_mut().zip(&ids).filter(|(l, _)| !l.joints.iter().all(lifted)) {
                let fewest = Load::new(kitchen, l.tub, l.joints.clone()).turns;
                let turns = (i64::from(l.turns) + change).clamp(1, i64::from(MOST_TURNS)) as u32;
                // Never fewer than the stay asks for, and what is in the record stays.
                if change > 0 || (turns >= fewest && !(turns + 1..=l.turns.min(MOST_TURNS)).any(|k| begun(id, k))) {
                    l.turns = turns;
                }
            }
            a
        };
        let mut out: Vec<Arrangement> = Vec::new();
        for tried in [1, 2, -1, -2].map(with) {
            if tried != *a && !out.contains(&tried) {
                out.push(tried);
            }
        }
        out
    }

    fn candidates(&self, open: Open) -> Result<(Adapted, Vec<Arrangement>), Refusal> {
        let Again { kitchen, old, history, .. } = self.again;
        let adapted = adapt(kitchen, &self.limits, old, Some(history), open).map_err(Refusal::no_room)?;
        if adapted.joints.is_empty() && adapted.hams.is_empty() {
            let only = adapted.kept.clone();
            return Ok((adapted, vec![only]));
        }
        let proposer = self.proposer();
        let all = complete(&proposer, &self.axis, old, Some(history), &adapted, MOST);
        Ok((adapted, all))
    }

    /// The plan so far, or what moving on alone makes of it; no search.
    pub fn quick(&self) -> Result<Tried, Refusal> {
        let (adapted, first) = self.candidates(Open::Broken)?;
        let Some(a) = first.first() else { return Err(Refusal::no_room("nothing was tried".to_owned())) };
        let laid = self.lay(a, FORMS[0], false)?;
        if adapted.joints.is_empty()
            && adapted.hams.is_empty()
            && let Some(kept) = self.as_it_is(&laid)
        {
            return Ok(self.tried(laid, a, kept, FORMS[0]));
        }
        self.time_laid(laid, a, FORMS[0], 1, None)
    }

    /// The best plan found, and what it took.
    pub fn best(&self) -> Result<(Tried, Tier), Refusal> {
        let none: Vec<String> = self
            .proposer()
            .no_room()
            .into_iter()
            .filter(|n| {
                let name = &self.again.kitchen.joints[n.joint].name;
                !self.again.old.tasks.iter().any(|t| t.joints.contains(name) && self.again.history.has_begun(&t.id))
            })
            .map(|n| format!("{}: {}", self.again.kitchen.joints[n.joint].name, n.misfit.says))
            .collect();
        if !none.is_empty() {
            return Err(Refusal::NoRoom { says: none });
        }
        let (adapted, first) = self.candidates(Open::Broken)?;
        let same = adapted.joints.is_empty() && adapted.hams.is_empty();
        let kept = if same {
            let laid = self.lay(&first[0], FORMS[0], false).ok();
            laid.and_then(|l| self.as_it_is(&l).map(|answer| self.tried(l, &first[0], answer, FORMS[0])))
        } else {
            None
        };
        let late = |t: &Tried| t.timed.answer.cost[0];
        if let Some(kept) = kept {
            if late(&kept) == 0 {
                return Ok((kept, Tier::Kept));
            }
            // Late as it was: only a plan that is less so is worth a change.
            return Ok(match self.anew(&adapted, &first, same) {
                Ok(found) if late(&found.0) < late(&kept) => found,
                _ => (kept, Tier::Kept),
            });
        }
        self.anew(&adapted, &first, same)
    }

    /// Shifted, searched or rearranged.
    fn anew(&self, adapted: &Adapted, first: &[Arrangement], same: bool) -> Result<(Tried, Tier), Refusal> {
        let mut best: Option<(Tried, Tier)> = None;
        let mut refused: Option<Refusal> = None;
        let mut take = |tried: Result<Tried, Refusal>, tier: Tier, best: &mut Option<(Tried, Tier)>| match tried {
            Ok(t) => {
                let tier = if tier == Tier::Shifted && !t.shifted { Tier::Searched } else { tier };
                if best.as_ref().is_none_or(|b| t.timed.answer.cost < b.0.timed.answer.cost) {
                    *best = Some((t, tier));
                }
            }
            Err(e) if refused.as_ref().is_none_or(|r| e.mildness() < r.mildness()) => refused = Some(e),
            Err(_) => {}
        };
        let tier = if same { Tier::Shifted } else { Tier::Rearranged };
        for a in first {
            take(self.look(a, false, LOOK), tier, &mut best);
        }
        let clean = |best: &Option<(Tried, Tier)>| best.as_ref().is_some_and(|b| b.0.timed.answer.cost[..2] == [0, 0]);
        let on_time = |best: &Option<(Tried, Tier)>| best.as_ref().is_some_and(|b| b.0.timed.answer.cost[0] == 0);
        if !clean(&best) {
            // A joint that stays in longer is turned more often.
            for a in first.iter().take(2).flat_map(|a| self.other_turns(a)) {
                take(self.look(&a, false, LOOK), tier, &mut best);
            }
        }
        if !on_time(&best)
            && let Ok((_, more)) = self.candidates(Open::NotBegun)
        {
            for a in more.iter().filter(|a| !first.contains(a)) {
                take(self.look(a, false, LOOK), Tier::Rearranged, &mut best);
            }
        }
        if best.is_none() && self.again.history.wished.is_empty() {
            // Nothing keeps every limit: what is only quality, and hangs on what has happened, may be missed. A start that somebody
            // asks for is no such thing: it is refused instead.
            for a in first.iter().take(3).flat_map(|a| std::iter::once(a.clone()).chain(self.other_turns(a))) {
                take(self.look(&a, true, LOOK), Tier::Searched, &mut best);
            }
        }
        // The closure's borrow of what was refused ends here.
        let Some((mut found, mut tier)) = best else {
            let crowded = "no way of sharing lets all of them stand in the cold".to_owned();
            let refusal = match (refused, first.first()) {
                (Some(r), Some(a)) => self.because(a).unwrap_or(r),
                (Some(r), None) => r,
                (None, _) => {
                    Refusal::NoRoom { says: if adapted.says.is_empty() { vec![crowded] } else { adapted.says.clone() } }
                }
            };
            return Err(match refusal {
                // What one sharing's limits rule out is not ruled out for every sharing.
                Refusal::Impossible { because, beside } if !same => Refusal::NotFound { in_the_way: because, beside },
                other => other,
            });
        };
        if self.keep_promises(&mut found) {
            tier = tier.max(Tier::Searched);
        }
        let mut budget = 4 * LOOK;
        while !self.stopped() {
            let t = &found.timed;
            let left = self.again.steps.saturating_sub(self.spent.get()).max(1).min(budget);
            let from = Some(t.answer.solution.clone());
            let (before, spent) = (t.answer.cost.clone(), self.spent.get());
            let Ok(better) = self.time(&t.arrangement, t.form, found.lenient, left, from) else { break };
            if better.timed.answer.cost < before {
                if better.timed.answer.cost[..3] < before[..3] {
                    tier = tier.max(Tier::Searched);
                }
                found = better;
            }
            budget = budget.saturating_mul(2);
            // A search that ends before its steps do has nothing left to gain.
            if self.spent.get() - spent < left {
                break;
            }
        }
        self.same_hands(&mut found);
        Ok((found, tier))
    }

    /// A smallest set of rules that cannot hold together with what has happened.
    fn because(&self, arrangement: &Arrangement) -> Option<Refusal> {
        let laid = self.ground().build(arrangement, &self.promises, FORMS[0], false).ok()?;
        let found = schedule::conflict(&laid.emitted.problem, &NodeBudget(60_000))?;
        let because: Vec<_> = found.reasons.iter().map(|r| laid.emitted.problem.reasons[r.index()].clone()).collect();
        (!because.is_empty()).then_some(Refusal::Impossible { because, beside: Vec::new() })
    }

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

    fn told(&self, best: &Tried, tier: Tier) -> Replan {
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
            super::ways::ways_after(&self.again, &late, self.stop)
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
        super::history::planned_misses(&missed)
    }
}

/// An earlier plan's times and choices on a problem; tasks it does not have stand at their earliest.
pub(super) fn old_times(old: &Plan, axis: &Axis, batch: &Batch, emitted: &Emitted, kitchen: &Kitchen) -> Solution {
    let by_id: HashMap<&str, &super::PlannedTask> = old.tasks.iter().map(|t| (t.id.as_str(), t)).collect();
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
                    let name = super::judge::thing_name(kitchen, *thing);
                    task.uses.iter().any(|u| u.thing == name)
                }
            };
            taken.iter().position(named).unwrap_or(0) as u32
        })
        .collect();
    Solution { starts, chosen }
}
