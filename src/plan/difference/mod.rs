//! What a new plan changes, told as a good foreman tells it on the phone: what happened, what stays, what moves from when to
//! when with one cause each, what it costs, what to do next and by when, and what else could have been done.

mod causes;
mod text;

use super::history::History;
use super::replan::{Replanner, Tried};
use super::ways::WayOut;
use super::words::{length, moment};
use super::{Plan, PlannedTask, When};
use crate::kitchen::Kitchen;
use crate::process::Kind;
use crate::schedule;
use causes::Causes;
use chrono::{NaiveDate, TimeDelta, Timelike};
use serde::Serialize;
use std::collections::{BTreeSet, HashMap};

/// A job that stands at another time than before.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Moved {
    pub task: String,
    pub says: String,
    pub from: When,
    pub to: When,
    /// The one limit that keeps it from where it was.
    pub cause: String,
    /// It was due within the next two days.
    pub near: bool,
}

/// A job that is new, or no longer done.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    pub task: String,
    pub says: String,
    pub at: When,
}

/// Something else that could be done, and why it was not.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Other {
    pub says: String,
    pub why_not: String,
}

/// What to do first.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Next {
    pub task: String,
    pub says: String,
    pub who: Option<String>,
    pub at: When,
}

/// Old plan and new, side by side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Difference {
    pub happened: Vec<String>,
    /// Jobs of the old plan that were still to come, and how many of them stay where they were.
    pub jobs: usize,
    pub stay: usize,
    pub moved: Vec<Moved>,
    /// Proven: with tubs and pots shared as they now are, and starts on whole five minutes, no plan that is as little late and
    /// oversteps as little breaks fewer promises, near ones counted thrice.
    pub fewest: bool,
    pub added: Vec<Line>,
    pub dropped: Vec<Line>,
    /// Jobs that stay and are now somebody else's, a sentence each.
    pub handed_over: Vec<String>,
    pub costs: Vec<String>,
    pub next: Option<Next>,
    /// The first moment at which the two plans part.
    pub decide_by: Option<When>,
    pub others: Vec<Other>,
}

/// Jobs: what somebody has to do with their hands.
pub(super) fn is_job(t: &PlannedTask) -> bool {
    t.hands_minutes > 0
}

/// Days on which something is simmered.
fn cook_days(plan: &Plan) -> usize {
    let days: BTreeSet<NaiveDate> =
        plan.tasks.iter().filter(|t| t.kind == Kind::Simmer).map(|t| t.start.date_naive()).collect();
    days.len()
}

/// Parts of days (to noon, to five, to midnight) in which hands are needed.
fn visits(plan: &Plan) -> usize {
    let part = |t: &PlannedTask| match t.start.hour() {
        0..12 => 0,
        12..17 => 1,
        _ => 2,
    };
    let all: BTreeSet<(NaiveDate, u32)> =
        plan.tasks.iter().filter(|t| is_job(t)).map(|t| (t.start.date_naive(), part(t))).collect();
    all.len()
}

pub(super) fn difference(r: &Replanner, best: &Tried, new: &Plan, ways: &[WayOut]) -> Difference {
    let (old, history) = (r.again.old, r.again.history);
    let to_come = |t: &PlannedTask| is_job(t) && t.start.to_utc() >= history.now && !history.tasks.contains_key(&t.id);
    let by_id: HashMap<&str, &PlannedTask> = new.tasks.iter().map(|t| (t.id.as_str(), t)).collect();
    let before: HashMap<&str, &PlannedTask> = old.tasks.iter().map(|t| (t.id.as_str(), t)).collect();
    let near = history.now + TimeDelta::hours(48);
    let causes = Causes::new(r, best);
    let (mut moved, mut dropped, mut handed_over) = (Vec::new(), Vec::new(), Vec::new());
    let mut jobs = 0;
    for t in old.tasks.iter().filter(|t| to_come(t)) {
        jobs += 1;
        let Some(n) = by_id.get(t.id.as_str()) else {
            dropped.push(Line { task: t.id.clone(), says: t.says.clone(), at: t.start });
            continue;
        };
        if n.start == t.start {
            if let (Some(a), Some(b)) = (&t.who, &n.who)
                && a != b
            {
                handed_over.push(format!("{}, \"{}\": {b} instead of {a}", moment(&n.start), n.id));
            }
            continue;
        }
        moved.push(Moved {
            task: t.id.clone(),
            says: n.says.clone(),
            from: t.start,
            to: n.start,
            cause: causes.of(&t.id),
            near: t.start.to_utc() < near,
        });
    }
    moved.sort_by(|a, b| (a.to, &a.task).cmp(&(b.to, &b.task)));
    let added: Vec<Line> = new
        .tasks
        .iter()
        .filter(|t| is_job(t) && t.start.to_utc() >= history.now && !before.contains_key(t.id.as_str()))
        .map(|t| Line { task: t.id.clone(), says: t.says.clone(), at: t.start })
        .collect();
    let next = new.tasks.iter().find(|t| is_job(t) && t.start.to_utc() >= history.now).map(|t| Next {
        task: t.id.clone(),
        says: t.says.clone(),
        who: t.who.clone(),
        at: t.start,
    });
    let parting = moved.iter().flat_map(|m| [m.from, m.to]).chain(added.iter().map(|l| l.at));
    let decide_by = parting.chain(dropped.iter().map(|l| l.at)).filter(|w| w.to_utc() > history.now).min();
    let changed = !moved.is_empty() || !added.is_empty() || !dropped.is_empty();
    Difference {
        happened: happened(r.again.kitchen, old, history, r.again.what),
        jobs,
        stay: jobs - moved.len() - dropped.len(),
        costs: costs(old, new),
        others: if changed { others(r, best, new, ways, &causes) } else { Vec::new() },
        moved,
        fewest: false,
        added,
        dropped,
        handed_over,
        next,
        decide_by,
    }
}

/// What happened since the plan was made: what was said, weights, and jobs done at other times than planned.
fn happened(kitchen: &Kitchen, old: &Plan, history: &History, said: &[String]) -> Vec<String> {
    let mut out: Vec<String> = said.to_vec();
    for j in &kitchen.joints {
        let Some(was) = old.joints.iter().find(|s| s.name == j.name) else {
            out.push(format!("{} ({:.1} kg) is new.", j.name, j.planned_weight().as_kg()));
            continue;
        };
        let kg = j.planned_weight().as_kg();
        if (kg - was.kg).abs() >= 0.05 {
            out.push(format!("{} weighs {kg:.1} kg, not {:.1}.", j.name, was.kg));
        }
        if was.outcome != j.outcome.words() {
            out.push(format!("{} is to be {}, not {}.", j.name, j.outcome.words(), was.outcome));
        }
        let by = j.ready_by.map(|m| kitchen.zone.instant(m.0));
        if by != was.ready_by.map(|w| w.to_utc()) {
            let when = j.ready_by.map_or("whenever".to_owned(), |m| format!("by {}", m.0.format("%a %-d %b %H:%M")));
            out.push(format!("{} is wanted {when}.", j.name));
        }
    }
    for s in old.joints.iter().filter(|s| !kitchen.joints.iter().any(|j| j.name == s.name)) {
        let halves = super::adapt::pieces(kitchen, &s.name);
        out.push(if halves.is_empty() {
            format!("{} is no longer in the batch.", s.name)
        } else {
            format!("{} is cut in two.", s.name)
        });
    }
    for t in &old.tasks {
        let Some(h) = history.tasks.get(&t.id) else { continue };
        let zone = t.start.timezone();
        let over = |to: chrono::DateTime<chrono::Utc>, from: When| (to - from.to_utc()).num_minutes();
        let late = over(h.start, t.start);
        // A few minutes are nobody's news.
        if h.state != super::history::State::Skipped && late.abs() >= 30 && is_job(t) {
            let way = if late > 0 { "late" } else { "early" };
            let at = moment(&h.start.with_timezone(&zone));
            out.push(format!("\"{}\" was begun {at}, {} {way}.", t.id, length(late.abs())));
        } else if let Some(end) = h.end
            && over(end, t.end) >= 15
            && t.kind != Kind::Rest
        {
            let ran = if h.state == super::history::State::Running { "is expected to run" } else { "ran" };
            let at = moment(&end.with_timezone(&zone));
            out.push(format!("\"{}\" {ran} {} over, to {at}.", t.id, length(over(end, t.end))));
        }
    }
    out
}

/// What the new plan costs beside the old one.
fn costs(old: &Plan, new: &Plan) -> Vec<String> {
    let mut out = Vec::new();
    for n in &new.joints {
        let Some(o) = old.joints.iter().find(|o| o.name == n.name) else { continue };
        let later = (n.ready - o.ready).num_minutes();
        if let Some(by) = n.ready_by {
            let spare = (by - n.ready).num_minutes();
            if spare < 0 {
                out.push(format!(
                    "{} misses its day: ready {}, {} after {}.",
                    n.name,
                    moment(&n.ready),
                    length(-spare),
                    moment(&by)
                ));
                continue;
            }
            if later > 0 {
                out.push(format!("{} is ready {} later, with {} to spare.", n.name, length(later), length(spare)));
                continue;
            }
        } else if later >= 60 {
            out.push(format!("{} is ready {} later, {}.", n.name, length(later), moment(&n.ready)));
        }
        if later <= -60 {
            out.push(format!("{} is ready {} sooner, {}.", n.name, length(-later), moment(&n.ready)));
        }
    }
    let mut count = |one: &str, many: &str, was: usize, is: usize| {
        let by = was.abs_diff(is);
        let what = if by == 1 { one } else { many };
        match is.cmp(&was) {
            std::cmp::Ordering::Greater => out.push(format!("{by} more {what}.")),
            std::cmp::Ordering::Less => out.push(format!("{by} fewer {what}.")),
            std::cmp::Ordering::Equal => {}
        }
    };
    count("cook day", "cook days", cook_days(old), cook_days(new));
    count("visit to the kitchen", "visits to the kitchen", visits(old), visits(new));
    out
}

/// One or two other ways.
fn others(r: &Replanner, best: &Tried, new: &Plan, ways: &[WayOut], causes: &Causes) -> Vec<Other> {
    let mut out: Vec<Other> = ways
        .iter()
        .take(2)
        .map(|w| Other {
            says: format!("{}: {}", w.says, w.brings),
            why_not: "it changes what was asked for, so it is yours to say".to_owned(),
        })
        .collect();
    if let Some(says) = causes.whole() {
        out.push(Other { says: "keep to the old plan".to_owned(), why_not: format!("it no longer holds: {says}") });
    } else if best.timed.answer.cost != schedule::cost(causes.problem, &causes.old) {
        let late: Vec<String> = best
            .timed
            .emitted
            .problem
            .levels
            .iter()
            .zip(schedule::cost(causes.problem, &causes.old))
            .zip(&best.timed.answer.cost)
            .filter(|((l, was), is)| was > *is && l.label != "unevenness")
            .map(|((l, was), is)| format!("{} {was} {} instead of {is}", l.label, l.unit))
            .collect();
        if let Some(first) = late.first() {
            out.push(Other { says: "keep to the old plan".to_owned(), why_not: first.clone() });
        }
    }
    if let Some(afresh) = r.afresh(best) {
        let moved = moved_between(r.again.old, &afresh, r.again.history);
        let here = moved_between(r.again.old, new, r.again.history);
        let mut saves = Vec::new();
        let mut say = |what: &str, n: usize, f: usize| {
            if f < n {
                let s = if n - f == 1 { "" } else { "s" };
                saves.push(format!("{} {what}{s} fewer", n - f));
            }
        };
        say("cook day", cook_days(new), cook_days(&afresh));
        say("visit", visits(new), visits(&afresh));
        if moved > here && !saves.is_empty() {
            out.push(Other {
                says: format!("plan everything to come afresh: {}", saves.join(", ")),
                why_not: format!("{moved} jobs would move instead of {here}"),
            });
        }
    }
    out.truncate(3);
    out
}

/// Jobs still to come that stand at another time in the second plan, or not at all.
pub fn moved_between(old: &Plan, new: &Plan, history: &History) -> usize {
    let at: HashMap<&str, When> = new.tasks.iter().map(|t| (t.id.as_str(), t.start)).collect();
    old.tasks
        .iter()
        .filter(|t| is_job(t) && t.start.to_utc() >= history.now && !history.tasks.contains_key(&t.id))
        .filter(|t| at.get(t.id.as_str()) != Some(&t.start))
        .count()
}

/// Joints that miss their day, a sentence each.
pub(super) fn late_words(plan: &Plan) -> Vec<String> {
    let late = plan.joints.iter().filter_map(|j| {
        let by = j.ready_by.filter(|by| j.ready > *by)?;
        let over = length((j.ready - by).num_minutes());
        Some(format!("{} misses {}: ready {}, {over} late.", j.name, moment(&by), moment(&j.ready)))
    });
    late.collect()
}

/// Minutes of lateness in a plan, all joints together.
pub(super) fn lateness(plan: &Plan) -> i64 {
    plan.joints.iter().filter_map(|j| Some((j.ready - j.ready_by?).num_minutes().max(0))).sum()
}
