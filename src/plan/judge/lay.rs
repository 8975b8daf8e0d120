//! Lays a plan from outside on the graph of its own sharing, built anew from the kitchen; every fault of form is told.

use super::{Broken, form, nth, thing_name};
use crate::kitchen::{Kitchen, Limits};
use crate::plan::axis::axis_for;
use crate::plan::history::{self, Ground, History};
use crate::plan::{FORMAT, Plan, PlannedTask};
use crate::process::arrangement::{Arrangement, Cook, Load, curing_spaces};
use crate::process::emit::{Emitted, Form, Promises, Taken};
use crate::process::graph::Batch;
use crate::process::{Axis, facts, fit};
use crate::schedule::{Minute, Solution};
use chrono::{TimeDelta, Timelike, Utc};
use std::collections::HashMap;

/// The plan laid on the kitchen's own graph.
pub struct Laid {
    pub axis: Axis,
    pub arrangement: Arrangement,
    /// Minute before which the kitchen plans nothing.
    pub starts: Minute,
    pub batch: Batch,
    pub emitted: Emitted,
    pub solution: Solution,
    /// What laying the history on the graph brought up.
    pub brought_up: facts::Laid,
}

/// Lays a plan on the graph of its own sharing; faults of form go to `broken`.
pub fn lay(kitchen: &Kitchen, plan: &Plan, broken: &mut Vec<Broken>) -> Option<Laid> {
    lay_after(kitchen, plan, None, broken)
}

/// The same with what has happened, which the plan has to tell as it was.
pub fn lay_after(kitchen: &Kitchen, plan: &Plan, history: Option<&History>, broken: &mut Vec<Broken>) -> Option<Laid> {
    lay_told(kitchen, plan, history, (true, false), broken)
}

/// The same with what has happened laid over the plan: what is on record stands where it was and not where the plan has it, what is
/// overdue is due now, and the rest stands where it was planned. It need not be sound. `lenient`: limits of quality that what has
/// happened may have put out of reach cost instead, as in a plan that was made after it.
pub fn lay_over(
    kitchen: &Kitchen,
    plan: &Plan,
    history: Option<&History>,
    lenient: bool,
    broken: &mut Vec<Broken>,
) -> Option<Laid> {
    lay_told(kitchen, plan, history, (false, lenient), broken)
}

/// `as_it_was`: a plan that has what happened at another time is broken by it.
fn lay_told(
    kitchen: &Kitchen,
    plan: &Plan,
    history: Option<&History>,
    (as_it_was, lenient): (bool, bool),
    broken: &mut Vec<Broken>,
) -> Option<Laid> {
    if plan.format != FORMAT {
        broken.push(form(format!("the plan's format is {}; this program reads {FORMAT}", plan.format), &[]));
        return None;
    }
    let limits = Limits::with(&kitchen.limits);
    let arrangement = sharing(kitchen, plan, history, &limits, broken)?;
    let first = plan.tasks.iter().map(|t| t.start).min();
    let last = plan.tasks.iter().map(|t| t.slow_end.max(t.end)).max();
    let (Some(first), Some(last)) = (first, last) else {
        broken.push(form("the plan has no tasks".to_owned(), &[]));
        return None;
    };
    let (own, starts) = axis_for(kitchen, first.with_timezone(&Utc), &limits);
    let starts_at = own.instant(starts);
    let from = starts_at.min(first.with_timezone(&Utc));
    let from = history.and_then(History::first).map_or(from, |h| h.min(from));
    let days = (last.with_timezone(&Utc) - from).num_days();
    if !(0..=3000).contains(&days) {
        broken.push(form(format!("the plan runs over {days} days"), &[]));
        return None;
    }
    // The axis reaches past the last ready-by too, or time to spare before it would be cut short.
    let due =
        kitchen.joints.iter().filter_map(|j| j.ready_by).map(|m| (kitchen.zone.instant(m.0) - from).num_days()).max();
    let days = days.max(due.unwrap_or(0).min(3000));
    let first_date = kitchen.zone.civil(from).date() - TimeDelta::days(1);
    let axis = Axis::new(kitchen.zone, first_date, days as u32 + 10);
    let starts = axis.minute(starts_at);
    let ground = Ground { kitchen, limits: &limits, axis: &axis, starts, collect: starts, history, old: Some(plan) };
    let built = match ground.build(&arrangement, &Promises::new(), Form::JUDGED, lenient) {
        Ok(e) => e,
        Err(says) => {
            broken.push(form(says, &[]));
            return None;
        }
    };
    let (batch, emitted, brought_up) = (built.batch, built.emitted, built.brought_up);
    let mut solution = timed(kitchen, plan, &axis, &batch, &emitted, as_it_was, broken)?;
    if let Some(h) = history.filter(|_| !as_it_was) {
        let now = axis.minute(h.now) + Minute::from(axis.instant(axis.minute(h.now)) < h.now);
        for n in batch.graph.node_indices().filter(|n| batch.graph[*n].pinned.is_none()) {
            solution.starts[n.index()] = solution.starts[n.index()].max(now);
        }
    }
    Some(Laid { axis, arrangement, starts, batch, emitted, solution, brought_up })
}

/// The plan's sharing by index; every fault of it.
fn sharing(
    kitchen: &Kitchen,
    plan: &Plan,
    history: Option<&History>,
    limits: &Limits,
    broken: &mut Vec<Broken>,
) -> Option<Arrangement> {
    let before = broken.len();
    let joint = |n: &String| kitchen.joints.iter().position(|j| j.name == *n);
    let mut out = Arrangement { place: vec![None; kitchen.kit.tubs.len()], ..Arrangement::default() };
    let mut cured = vec![0u32; kitchen.joints.len()];
    let mut cooked = vec![0u32; kitchen.joints.len()];
    for l in &plan.loads {
        let tub = kitchen.kit.tubs.iter().position(|t| t.name == l.tub);
        let space = kitchen.kit.cold.iter().position(|c| c.name == l.space);
        let joints: Option<Vec<usize>> = l.joints.iter().map(joint).collect();
        let (Some(tub), Some(space), Some(joints)) = (tub, space, joints) else {
            broken.push(form(format!("load {} names a tub, cold space or joint the kitchen does not have", l.id), &[]));
            continue;
        };
        // A load that has been put in stands where it stands.
        let stands = history.is_some_and(|h| h.has_begun(&format!("put in {}", l.id)));
        if !stands && !curing_spaces(kitchen, limits).contains(&space) {
            let l = limits.get("cure_space_celsius");
            let mut b = form(
                format!(
                    "{} is not known to be cold enough to cure in, or is on the cooked side",
                    kitchen.kit.cold[space].name
                ),
                &[],
            );
            (b.limit, b.force, b.source) = (l.says.clone(), "safety".to_owned(), l.source.clone());
            broken.push(b);
        }
        if out.place[tub].is_some_and(|p| p != space) {
            broken.push(form(format!("{} stands in two places", l.tub), &[]));
        }
        out.place[tub] = Some(space);
        joints.iter().for_each(|j| cured[*j] += 1);
        let boil = l.boil as usize;
        if boil > 2 * plan.loads.len() + kitchen.joints.len() + 100 {
            broken.push(form(format!("load {} is filled from boil number {boil}", l.id), &[]));
            continue;
        }
        if out.boils.len() <= boil {
            out.boils.resize(boil + 1, Vec::new());
        }
        out.boils[boil].push(out.loads.len());
        out.loads.push(Load { tub, joints, turns: l.turns, nth: nth(l) });
    }
    for c in &plan.cooks {
        let pot = kitchen.kit.pots.iter().position(|p| p.name == c.pot);
        let chilling = kitchen.kit.chilling.iter().position(|x| x.name == c.chilling);
        let joints: Option<Vec<usize>> = c.joints.iter().map(joint).collect();
        let (Some(pot), Some(chilling), Some(joints)) = (pot, chilling, joints) else {
            broken.push(form(
                format!("cook {} names a pot, chilling means or joint the kitchen does not have", c.id),
                &[],
            ));
            continue;
        };
        joints.iter().for_each(|j| cooked[*j] += 1);
        out.cooks.push(Cook { pot, chilling, joints });
    }
    for (j, joint) in kitchen.joints.iter().enumerate() {
        if cured[j] != 1 {
            broken.push(form(format!("{} is put in {} times", joint.name, cured[j]), &[]));
        }
        if cooked[j] != u32::from(joint.outcome.is_ham()) {
            broken.push(form(format!("{} is cooked {} times", joint.name, cooked[j]), &[]));
        }
    }
    for (s, space) in kitchen.kit.cold.iter().enumerate() {
        let tubs: Vec<_> =
            (0..kitchen.kit.tubs.len()).filter(|t| out.place[*t] == Some(s)).map(|t| &kitchen.kit.tubs[t]).collect();
        if let Err(m) = fit::in_space(&tubs, space) {
            broken.push(form(m.says, &[]));
        }
    }
    (broken.len() == before).then_some(out)
}

/// Starts and choices by the plan's tasks.
fn timed(
    kitchen: &Kitchen,
    plan: &Plan,
    axis: &Axis,
    batch: &Batch,
    emitted: &Emitted,
    as_it_was: bool,
    broken: &mut Vec<Broken>,
) -> Option<Solution> {
    let before = broken.len();
    let mut by_id: HashMap<&str, &PlannedTask> = HashMap::new();
    for t in &plan.tasks {
        if by_id.insert(&t.id, t).is_some() {
            broken.push(form(format!("the task \"{}\" stands in the plan twice", t.id), &[&t.id]));
        }
        if t.start.second() != 0 || t.start.nanosecond() != 0 {
            broken.push(form(format!("the task \"{}\" does not start on a whole minute", t.id), &[&t.id]));
        }
    }
    let mut starts: Vec<Minute> = Vec::with_capacity(emitted.problem.activities.len());
    let graph = &batch.graph;
    for n in graph.node_indices() {
        let task = &graph[n];
        if let Some(at) = task.pinned {
            // What has left the job need not be told; what has happened is told as it was.
            let told = by_id.remove(task.id.as_str());
            if told.is_some_and(|t| as_it_was && !task.gone && axis.minute(t.start.with_timezone(&Utc)) != at) {
                broken.push(history::changed_fact(&task.id));
            } else if as_it_was && told.is_none() && !task.gone {
                broken.push(form(format!("the plan leaves out \"{}\", which has happened", task.id), &[&task.id]));
            }
            starts.push(at);
            continue;
        }
        let Some(t) = by_id.remove(task.id.as_str()) else {
            broken.push(form(format!("the plan leaves out \"{}\"", task.id), &[&task.id]));
            starts.push(0);
            continue;
        };
        if (t.end - t.start).num_minutes() < i64::from(task.minutes) {
            let says =
                format!("\"{}\" is given {} min; it takes {}", t.id, (t.end - t.start).num_minutes(), task.minutes);
            broken.push(form(says, &[&t.id]));
        }
        starts.push(axis.minute(t.start.with_timezone(&Utc)));
    }
    let mut strange: Vec<&str> = by_id.into_keys().collect();
    strange.sort_unstable();
    for id in strange {
        broken.push(form(format!("the plan has a task the job does not: \"{id}\""), &[id]));
    }
    for a in &emitted.problem.activities[graph.node_count()..] {
        starts.push(a.pinned.unwrap_or(a.release));
    }
    let tasks: HashMap<&str, &PlannedTask> = plan.tasks.iter().map(|t| (t.id.as_str(), t)).collect();
    let mut chosen = Vec::with_capacity(emitted.problem.holds.len());
    for (h, hold) in emitted.problem.holds.iter().enumerate() {
        let id = graph.node_weight(petgraph::graph::NodeIndex::new(hold.from.activity.index())).map(|t| t.id.as_str());
        let task = id.and_then(|i| tasks.get(i));
        let named = |x: &Taken| match (x, task) {
            (Taken::Person(p), Some(t)) => t.who.as_ref() == Some(&kitchen.people[*p].name),
            (Taken::Thing(thing), Some(t)) => {
                let name = thing_name(kitchen, *thing);
                t.uses.iter().any(|u| u.thing == name)
            }
            (_, None) => false,
        };
        let fact = emitted.problem.activities[hold.from.activity.index()].pinned.is_some();
        let position = emitted.taken[h].iter().position(named);
        let people = matches!(emitted.taken[h].first(), Some(Taken::Person(_)));
        if fact {
            // Which of several it took is nobody's concern any more, and told only where it is plain.
        } else if position.is_none() && emitted.taken[h].len() > 1 {
            if let (Some(id), true) = (id, task.is_some()) {
                let what = if people { "who does it" } else { "which of the kit it takes" };
                broken.push(form(format!("\"{id}\" does not say {what}, or names something unknown"), &[id]));
            }
        } else if people && position.is_none() && task.is_some_and(|t| t.who.is_some()) {
            let id = id.unwrap_or_default();
            broken.push(form(format!("\"{id}\" is given to somebody who does not do this"), &[id]));
        }
        chosen.push(position.unwrap_or(0) as u32);
    }
    (broken.len() == before).then_some(Solution { starts, chosen })
}
