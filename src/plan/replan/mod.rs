//! Plans again after something has happened, with as few promises broken as can be.
//!
//! In tiers: the plan so far, if it still holds; what must move, moved on from where it stood; then a search in which each
//! task that leaves its promised time costs one, and three within the next two days. Other sharing is tried only for what
//! is not begun, and only where it is needed: something no longer fits, is late, or cannot be planned. What has happened is
//! never changed.
//!
//! [`timing`] times one sharing on what has happened, [`tiers`] goes from tier to tier, [`telling`] makes of the best a plan and
//! what is to be said about it.

mod telling;
mod tiers;
mod timing;

pub(super) use timing::old_times;

use super::axis::axis_from;
use super::difference::Difference;
use super::history::{Deviation, Ground, History};
use super::share::Proposer;
use super::strike::Timed;
use super::ways::WayOut;
use super::{Plan, Refusal};
use crate::kitchen::{Kitchen, Limits};
use crate::process::emit::{Form, Promises};
use crate::process::{Axis, facts};
use crate::schedule::{Minute, Stop};
use chrono::TimeDelta;
use serde::Serialize;
use std::cell::Cell;

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
}
