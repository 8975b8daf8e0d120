//! What binds: which limits hold the tightest joint, and which hold each level of the plan, where they are.

use super::ask::Answer;
use super::bounds;
use super::replan::{Again, Replanner, Tried};
use super::words::{length, moment};
use crate::schedule::{Force, NodeBudget, Problem, Reason, ReasonId, Stop, conflict, cost, levels_held, lifted_by};
use chrono::TimeDelta;
use serde::Serialize;

/// Steps of search for all limits together, and the most and least for one.
const STEPS: u64 = 60_000;
const STEPS_EACH: std::ops::RangeInclusive<u64> = 400..=1_500;
/// Limits named for a level: those that gain most.
const NAMED: usize = 3;

/// What holds a level of the plan where it is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HeldBy {
    pub level: String,
    pub unit: String,
    /// What it comes to in the plan.
    pub value: i64,
    /// What it came to, with all limits in force, in the searches made here: less than `value` where a longer search pays.
    pub found: i64,
    /// No plan of this kitchen is below this.
    pub bound: i64,
    /// Limits, each left out alone, without which a plan was found with less and nothing worse on the levels before; the
    /// greatest gain first. A limit that is not here may hold it too: it was a search.
    pub without: Vec<Without>,
}

/// What a level came to without a limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Without {
    pub limit: String,
    pub force: Force,
    pub source: String,
    pub value: i64,
}

/// A limit of the kit, of somebody's hours or wishes, or of quality. That one task follows another, and needs somebody's
/// hands, is no limit that anybody could lift.
fn could_be_lifted(problem: &Problem, reason: ReasonId) -> bool {
    let r = &problem.reasons[reason.index()];
    let structure = r.force == Force::Means && r.source == "common practice";
    !structure && !r.says.starts_with("somebody has to be free")
}

/// Answers for the plan as it stands.
pub(super) fn binds(again: Again, stop: &dyn Stop, out: &mut Answer) {
    let replanner = Replanner::new(again, stop);
    match replanner.best() {
        Ok((best, _)) => {
            tightest(&replanner, &best, out);
            levels(&replanner, &best, stop, out);
        }
        Err(r) => out.says.extend(r.lines()),
    }
}

/// What holds each level. Limits of safety are nobody's to lift and are not tried; promises do not count here.
fn levels(replanner: &Replanner, best: &Tried, stop: &dyn Stop, out: &mut Answer) {
    let mut problem = best.timed.emitted.problem.clone();
    let Again { kitchen, history, .. } = replanner.again;
    // What has happened may be better than a plan from the begin can count on.
    let fresh = history.tasks.is_empty();
    let late = best.timed.answer.cost.first().copied().unwrap_or(0);
    let Replanner { limits, axis, starts, .. } = replanner;
    let bounds = fresh.then(|| bounds::for_every_sharing(kitchen, limits, axis, *starts, late));
    if let Some(promises) = problem.levels.get_mut(2) {
        promises.terms.clear();
    }
    let reasons: Vec<ReasonId> = (0..problem.reasons.len() as u32)
        .map(ReasonId)
        .filter(|r| could_be_lifted(&problem, *r) && problem.reasons[r.index()].force != Force::Safety)
        .collect();
    let steps = (STEPS / reasons.len().max(1) as u64).clamp(*STEPS_EACH.start(), *STEPS_EACH.end());
    let now = cost(&problem, &best.timed.answer.solution);
    let held = levels_held(&problem, &best.timed.answer.solution, &reasons, steps, stop);
    for (l, by) in held.by.iter().enumerate() {
        let (level, value, found) = (&problem.levels[l], now[l], held.as_it_is[l]);
        let bound = bounds.and_then(|b| b.get(l).copied()).unwrap_or(0);
        if value <= bound {
            continue;
        }
        let without = by.iter().take(NAMED).map(|h| {
            let r = &problem.reasons[h.reason.index()];
            Without { limit: r.says.clone(), force: r.force, source: r.source.clone(), value: h.cost }
        });
        out.held.push(HeldBy {
            level: level.label.clone(),
            unit: level.unit.clone(),
            value,
            found,
            bound,
            without: without.collect(),
        });
    }
    if out.held.is_empty() {
        out.says.push("No level of this plan can be lower under any plan of this kitchen.".to_owned());
        return;
    }
    out.says.push(format!(
        "What holds each level of the plan: {} limits left out one at a time, {steps} steps of search for each, limits of safety never{}. It tells what a limit costs, not that it may be left out: limits of quality are there for the meat.",
        reasons.len(),
        if held.all { "" } else { "; stopped before all were tried" }
    ));
    out.says.extend(out.held.iter().map(HeldBy::words).collect::<Vec<_>>());
}

impl HeldBy {
    /// One sentence.
    pub fn words(&self) -> String {
        let amount = |v: i64| if self.unit == "minutes" { length(v) } else { format!("{v}") };
        let least = match self.bound {
            0 => String::new(),
            b => format!(" (no plan has under {})", amount(b)),
        };
        let longer = match self.found {
            f if amount(f) != amount(self.value) => format!(", {} after a longer search", amount(f)),
            _ => String::new(),
        };
        let head = format!("{} {}{longer}{least}", super::words::capital(&self.level), amount(self.value));
        if self.found <= self.bound {
            return format!("{head}: no limit holds it, the search fell short.");
        }
        if self.without.is_empty() {
            return format!("{head}: no one limit alone was found to hold it.");
        }
        let each = self.without.iter().map(|w| {
            let kind = if w.force == Force::Quality { " (quality)" } else { "" };
            format!("{} without \"{}\"{kind}", amount(w.value), w.limit)
        });
        format!("{head}: {}.", each.collect::<Vec<_>>().join(", "))
    }
}

/// Which rules together keep the tightest joint from being ready a day sooner (or in time), and which alone would free it.
/// That one task follows another, and needs somebody's hands, is no limit that anybody could lift.
fn tightest(replanner: &Replanner, best: &Tried, out: &mut Answer) {
    let plan = replanner.plan(best, false);
    let tight = plan
        .joints
        .iter()
        .enumerate()
        .filter_map(|(j, s)| Some((j, s, s.ready_by?)))
        .min_by_key(|(_, s, by)| *by - s.ready);
    let Some((j, story, by)) = tight else {
        out.says.push("No joint has a day by which it is wanted, so no limit binds.".to_owned());
        return;
    };
    let late = story.ready > by;
    let mut problem = best.timed.emitted.problem.clone();
    let node = best.timed.batch.ready[j].index();
    let wanted = ReasonId(problem.reasons.len() as u32);
    let target = if late { by } else { story.ready - TimeDelta::days(1) };
    let says = format!("{} is wanted {}", story.name, moment(&target));
    problem.reasons.push(Reason { says, force: Force::Wish, source: "the kitchen file".to_owned() });
    let duration = problem.activities[node].duration;
    let a = &mut problem.activities[node];
    a.latest = (replanner.axis.minute(target.to_utc()) - duration).max(0);
    a.reason = wanted;
    out.says.push(if late {
        format!("{} is {} late.", story.name, length((story.ready - by).num_minutes()))
    } else {
        format!(
            "The tightest is {}, ready {} with {} to spare.",
            story.name,
            moment(&story.ready),
            length((by - story.ready).num_minutes())
        )
    });
    let what = if late { "in time" } else { "a day sooner" };
    let Some(found) = conflict(&problem, &NodeBudget(30_000)) else {
        out.says.push(format!(
            "No limits were shown to keep it from being ready {what}: wishes (fewer visits, no ugly hours, promises kept) may have it where it is."
        ));
        return;
    };
    let words = |r: &ReasonId| {
        let r = &problem.reasons[r.index()];
        if r.force == Force::Safety { format!("{} (safety, not to be lifted)", r.says) } else { r.says.clone() }
    };
    let plain = |r: &ReasonId| *r != wanted && could_be_lifted(&problem, *r);
    let alone: Vec<_> = lifted_by(&problem, &found, 2_000).into_iter().filter(plain).collect();
    let with: Vec<String> = found.reasons.iter().filter(|r| plain(r)).map(words).collect();
    out.says.push(format!("What keeps it from being ready {what}, together: {}.", with.join("; ")));
    out.says.extend(match alone.as_slice() {
        [] => None,
        [one] => Some(format!("The one limit that binds: {}.", words(one))),
        many => Some(format!(
            "Any one of these alone would free it: {}.",
            many.iter().map(words).collect::<Vec<_>>().join("; ")
        )),
    });
}
