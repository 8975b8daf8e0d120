//! Judges a plan, whoever made it: every limit it breaks, with the reason.
//!
//! The graph is built anew from the kitchen and the plan's own sharing; the plan's times are laid on it and handed to the
//! solver's independent checker. Nothing of the search is used.

use super::axis::axis_for;
use super::claims::false_claims;
use super::history::{self, Deviation, Ground, History};
use super::strike::Timed;
use super::{FORMAT, Plan, When, bounds, tell};
use crate::kitchen::{Kitchen, Limits};
use crate::process::arrangement::{Arrangement, Cook, Load, curing_spaces};
use crate::process::emit::{Emitted, Form, Promises, Taken, emit};
use crate::process::graph::Batch;
use crate::process::{Axis, Kind, Thing, facts, fit};
use crate::schedule::{self, Minute, Solution};
use chrono::{TimeDelta, Timelike, Utc};
use serde::Serialize;
use std::collections::HashMap;

/// One limit that a plan breaks.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Broken {
    /// What is wrong, in plain words.
    pub says: String,
    /// The limit that is broken, and where it comes from; empty for faults of the plan's form.
    pub limit: String,
    pub force: String,
    pub source: String,
    /// Ids of the tasks concerned.
    pub tasks: Vec<String>,
    pub at: Option<When>,
}

/// What a judge says of a plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Verdict {
    pub broken: Vec<Broken>,
    /// Limits that what has happened has missed, whatever is planned now.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub deviations: Vec<Deviation>,
    /// Objective levels reckoned anew; empty when the plan's form did not allow it.
    pub levels: Vec<(String, i64)>,
}

pub(super) fn form(says: String, tasks: &[&str]) -> Broken {
    Broken {
        says,
        limit: String::new(),
        force: "means".to_owned(),
        source: String::new(),
        tasks: tasks.iter().map(|t| (*t).to_owned()).collect(),
        at: None,
    }
}

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

/// Every limit the plan breaks in this kitchen.
pub fn judge(kitchen: &Kitchen, plan: &Plan) -> Verdict {
    judge_after(kitchen, plan, None)
}

/// The same when some of it has happened: what has happened is not the plan's to keep or break, but to tell as it was.
/// Limits that history itself has missed are in [`Verdict::deviations`].
pub fn judge_after(kitchen: &Kitchen, plan: &Plan, history: Option<&History>) -> Verdict {
    let mut broken = Vec::new();
    let laid = lay_after(kitchen, plan, history, &mut broken);
    let mut levels = Vec::new();
    let mut deviations = laid.as_ref().map(|l| history::deviations(&l.brought_up)).unwrap_or_default();
    deviations.extend(history.into_iter().flat_map(|h| h.outside(kitchen, &plan.tasks)));
    if let Some(l) = laid {
        for v in schedule::check(&l.emitted.problem, &l.solution) {
            let reason = waited_too_long(kitchen, &l, &v)
                .or_else(|| v.reason.map(|r| l.emitted.problem.reasons[r.index()].clone()));
            let graph = &l.batch.graph;
            let tasks = v
                .activities
                .iter()
                .filter_map(|a| graph.node_weight(petgraph::graph::NodeIndex::new(a.index())))
                .map(|t| t.id.clone())
                .collect();
            broken.push(Broken {
                says: in_words(&l, &v),
                limit: reason.as_ref().map_or_else(String::new, |r| r.says.clone()),
                force: reason.as_ref().map_or_else(String::new, |r| r.force.word().to_owned()),
                source: reason.map_or_else(String::new, |r| r.source),
                tasks,
                at: Some(l.axis.when(v.at)),
            });
        }
        let cost = schedule::cost(&l.emitted.problem, &l.solution);
        levels = l.emitted.problem.levels.iter().map(|x| x.label.clone()).zip(cost.clone()).collect();
        broken.extend(claims(kitchen, plan, history, l, cost));
    }
    Verdict { broken, deviations, levels }
}

/// An activity has one reason for its first and its last start; for pork that waits past its last, it is this one.
fn waited_too_long(kitchen: &Kitchen, l: &Laid, v: &schedule::Violation) -> Option<schedule::Reason> {
    let [a] = v.activities.as_slice() else { return None };
    let task = l.batch.graph.node_weight(petgraph::graph::NodeIndex::new(a.index()))?;
    if task.kind != Kind::Submerge || task.latest.is_none_or(|latest| l.solution.starts[a.index()] <= latest) {
        return None;
    }
    let limits = Limits::with(&kitchen.limits);
    let limit = limits.get("collect_to_brine_limit");
    Some(schedule::Reason { says: limit.says.clone(), force: schedule::Force::Safety, source: limit.source.clone() })
}

/// What the plan says beside its times, held against the plan told anew from them.
fn claims(kitchen: &Kitchen, plan: &Plan, history: Option<&History>, l: Laid, cost: Vec<i64>) -> Vec<Broken> {
    let limits = Limits::with(&kitchen.limits);
    let bound = match history {
        Some(_) => [0; 8],
        None => bounds::for_every_sharing(kitchen, &limits, &l.axis, l.starts, cost.first().copied().unwrap_or(0)),
    };
    let mut broken = Vec::new();
    if plan.in_hand.as_ref().is_some_and(|h| h.minutes != limits.minutes("turn_in_hand") || !has_in_hand(kitchen, &l)) {
        broken.push(form("the plan claims that every turn has tolerance in hand; not all have".to_owned(), &[]));
    }
    let answer = schedule::Answer { solution: l.solution, bound: bound.to_vec(), cost, nodes: 0 };
    let collect = l.starts;
    let timed =
        Timed { arrangement: l.arrangement, batch: l.batch, emitted: l.emitted, answer, collect, form: Form::JUDGED };
    let told = tell::tell(kitchen, &limits, &l.axis, &timed, false);
    broken.extend(false_claims(kitchen, plan, &told, &bound, history.is_some()));
    broken
}

/// Does it keep the turns' tolerance in hand that a careful plan keeps?
fn has_in_hand(kitchen: &Kitchen, l: &Laid) -> bool {
    let (limits, careful) = (Limits::with(&kitchen.limits), Form { step: 1, ..Form::PLANNED[0] });
    emit(kitchen, &limits, &l.axis, &l.batch, &Promises::new(), careful)
        .is_ok_and(|e| schedule::check(&e.problem, &l.solution).is_empty())
}

/// The checker's finding in civil time: the tasks concerned with their starts, and by how much a lag is missed.
fn in_words(l: &Laid, v: &schedule::Violation) -> String {
    let at = |m: Minute| l.axis.civil(m).format("%a %-d %b %H:%M");
    let tasks: Vec<String> = v
        .activities
        .iter()
        .filter_map(|a| {
            let t = l.batch.graph.node_weight(petgraph::graph::NodeIndex::new(a.index()))?;
            Some(format!("\"{}\" ({})", t.id, at(l.solution.starts[a.index()])))
        })
        .collect();
    if tasks.is_empty() {
        return format!("{}: {}", at(v.at), v.says);
    }
    // "... must start at least N minutes after ..., but does so after M"
    let number = |s: &str| s.split_whitespace().next().and_then(|w| w.parse::<i64>().ok());
    let lag = v.says.split_once("must start at least ").and_then(|(_, rest)| {
        let least = number(rest)?;
        let got = number(rest.rsplit_once("after ")?.1)?;
        Some((least, least - got))
    });
    match lag {
        Some((least, by)) => {
            let apart = if least >= 0 { "too close together" } else { "too far apart" };
            format!(
                "{} are {} h {:02} {apart}",
                super::words::list(&tasks.iter().map(String::as_str).collect::<Vec<_>>()),
                by / 60,
                by % 60
            )
        }
        None => {
            let list = super::words::list(&tasks.iter().map(String::as_str).collect::<Vec<_>>());
            format!("{list}, at {}: {}", at(v.at), plain(&v.says))
        }
    }
}

/// The checker's words without its minutes from the epoch, which mean nothing to a person.
fn plain(says: &str) -> String {
    says.split_once(" throughout ").map_or(says, |(head, _)| head).to_owned()
}

/// Lays a plan on the graph of its own sharing; faults of form go to `broken`.
pub fn lay(kitchen: &Kitchen, plan: &Plan, broken: &mut Vec<Broken>) -> Option<Laid> {
    lay_after(kitchen, plan, None, broken)
}

/// The same with what has happened.
pub fn lay_after(kitchen: &Kitchen, plan: &Plan, history: Option<&History>, broken: &mut Vec<Broken>) -> Option<Laid> {
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
    let built = match ground.build(&arrangement, &Promises::new(), Form::JUDGED, false) {
        Ok(e) => e,
        Err(says) => {
            broken.push(form(says, &[]));
            return None;
        }
    };
    let (batch, emitted, brought_up) = (built.batch, built.emitted, built.brought_up);
    let solution = timed(kitchen, plan, &axis, &batch, &emitted, broken)?;
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

/// Which load of its tub a load is, by its name.
pub(super) fn nth(load: &super::TubLoad) -> Option<u32> {
    let number = load.id.strip_prefix(&load.tub)?.strip_prefix(" (load ")?.strip_suffix(')')?;
    number.parse().ok().filter(|n| (2..1_000_000).contains(n))
}

/// Starts and choices by the plan's tasks.
fn timed(
    kitchen: &Kitchen,
    plan: &Plan,
    axis: &Axis,
    batch: &Batch,
    emitted: &Emitted,
    broken: &mut Vec<Broken>,
) -> Option<Solution> {
    let before = broken.len();
    let mut by_id: HashMap<&str, &super::PlannedTask> = HashMap::new();
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
            if told.is_some_and(|t| !task.gone && axis.minute(t.start.with_timezone(&Utc)) != at) {
                broken.push(history::changed_fact(&task.id));
            } else if told.is_none() && !task.gone {
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
    let tasks: HashMap<&str, &super::PlannedTask> = plan.tasks.iter().map(|t| (t.id.as_str(), t)).collect();
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

/// The name under which a plan lists a thing.
pub(super) fn thing_name(kitchen: &Kitchen, thing: Thing) -> String {
    let kit = &kitchen.kit;
    match thing {
        Thing::Tub(i) => kit.tubs[i].name.clone(),
        Thing::Pot(i) => kit.pots[i].name.clone(),
        Thing::Sink => "sink".to_owned(),
        Thing::Ring => "ring".to_owned(),
        Thing::BigRing => "big ring".to_owned(),
        Thing::Oven => "oven".to_owned(),
        Thing::Chilling(i) | Thing::ChillingLoad(i) => kit.chilling[i].name.clone(),
        Thing::Bench => "board and packer".to_owned(),
        Thing::CookedBench => "cooked board and packer".to_owned(),
        Thing::Freezer => "freezer".to_owned(),
        Thing::Floor(i) | Thing::Litres(i) | Thing::Air(i) => kit.cold[i].name.clone(),
    }
}
