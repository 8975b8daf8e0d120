//! Ways out: the smallest changes under which every joint is ready on time, each checked by planning with it.

use super::replan::{self, Again};
use super::{Plan, Refusal, Request, strike};
use crate::kitchen::{Clock, Days, Hours, Kitchen, Moment, Person};
use crate::schedule::{NodeBudget, Stop};
use crate::units::Mass;
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use serde::Serialize;

/// Search steps spent on one change.
const STEPS: u64 = 600;

/// Most changes tried for one answer after something has happened.
const TRIES: usize = 24;

/// A change that was planned with and found to work.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WayOut {
    /// What to change, as a sentence.
    pub says: String,
    /// What it brings, as a sentence.
    pub brings: String,
}

/// A change not yet tried.
struct Change {
    says: String,
    kitchen: Kitchen,
}

/// Everything on time under a quick plan.
fn works(kitchen: &Kitchen, now: DateTime<Utc>) -> Option<Plan> {
    let request = Request { kitchen, now, seed: 1, promises: Default::default() };
    let plan = strike(&request, &NodeBudget(STEPS), &mut |_| ()).ok()?;
    plan.joints.iter().all(|j| j.ready_by.is_none_or(|by| j.ready <= by)).then_some(plan)
}

/// Changes that put everything on time, smallest first in each kind, at most `most`.
///
/// `late` holds the names of joints that are late under the kitchen as it is; when there is no plan at all every joint is
/// given. Trying stops when `stop` says so; what has been found by then is returned.
pub fn ways_out(kitchen: &Kitchen, late: &[String], now: DateTime<Utc>, most: usize, stop: &dyn Stop) -> Vec<WayOut> {
    let mut out = Vec::new();
    for kind in [swaps, halves, earlier, later, hands, kit] {
        for change in kind(kitchen, late) {
            // What would have had to happen already is no way out.
            let past = |m: &crate::kitchen::Moment| kitchen.zone.instant(m.0) < now;
            if change
                .kitchen
                .joints
                .iter()
                .zip(&kitchen.joints)
                .any(|(a, b)| a.arrives != b.arrives && a.arrives.as_ref().is_some_and(past))
            {
                continue;
            }
            if out.len() >= most || stop.should_stop(0) {
                return out;
            }
            if let Some(plan) = works(&change.kitchen, now) {
                out.push(WayOut { says: change.says, brings: brings(&plan) });
                // The smallest of its kind is enough for the kinds that only differ in size.
                break;
            }
        }
    }
    out
}

/// The same when some of it has happened: each change is planned with from the plan so far, and what has happened stays.
pub fn ways_after(again: &Again, late: &[String], stop: &dyn Stop) -> Vec<WayOut> {
    let now = again.history.now;
    let mut out = Vec::new();
    let mut tries = 0;
    for kind in [swaps, halves, earlier, later, hands, kit] {
        for change in kind(again.kitchen, late) {
            if out.len() >= again.ways || tries >= TRIES || stop.should_stop(0) {
                return out;
            }
            if undone(again, &change.kitchen, now) {
                continue;
            }
            tries += 1;
            let tried = Again { kitchen: &change.kitchen, steps: STEPS, ways: 0, ..*again };
            let Ok(found) = replan::replan_only(&tried, stop) else { continue };
            if found.joints.iter().all(|j| j.ready_by.is_none_or(|by| j.ready <= by)) {
                out.push(WayOut { says: change.says, brings: brings(&found) });
                break;
            }
        }
    }
    out
}

/// Whether a change asks for the past to have been otherwise: pork there sooner than it can be, a ham cut before it is
/// cooked after it has been.
fn undone(again: &Again, changed: &Kitchen, now: DateTime<Utc>) -> bool {
    let past = |m: &Moment| again.kitchen.zone.instant(m.0) < now;
    let begun = |name: &str| {
        let cooked =
            |t: &super::PlannedTask| t.joints.iter().any(|j| j == name) && t.kind == crate::process::Kind::Simmer;
        again.old.tasks.iter().any(|t| cooked(t) && again.history.has_begun(&t.id))
    };
    again.kitchen.joints.iter().any(|j| match changed.joints.iter().find(|c| c.name == j.name) {
        Some(c) => {
            (c.arrives != j.arrives && c.arrives.as_ref().is_some_and(past))
                || (c.outcome != j.outcome && begun(&j.name))
        }
        None => begun(&j.name),
    })
}

fn brings(plan: &Plan) -> String {
    let tight = plan.joints.iter().filter_map(|j| Some((j, j.ready_by?))).min_by_key(|(j, by)| *by - j.ready);
    match tight {
        Some((j, by)) => {
            let spare = (by - j.ready).num_minutes();
            format!(
                "{} is ready {}, {:.1} days to spare",
                j.name,
                j.ready.format("%a %-d %b %H:%M"),
                spare as f64 / 1440.0
            )
        }
        None => "a plan is found".to_owned(),
    }
}

/// A lighter joint takes over what a late one was to be.
fn swaps(kitchen: &Kitchen, late: &[String]) -> Vec<Change> {
    let mut out = Vec::new();
    for (a, slow) in kitchen.joints.iter().enumerate().filter(|(_, j)| late.contains(&j.name)) {
        for (b, quick) in kitchen.joints.iter().enumerate() {
            let lighter = quick.planned_weight().as_kg() < slow.planned_weight().as_kg();
            if a == b || !lighter || (quick.outcome == slow.outcome && quick.ready_by == slow.ready_by) {
                continue;
            }
            let mut k = kitchen.clone();
            swap(&mut k, a, b);
            let says = format!(
                "{} becomes the {}, {} the {}",
                quick.name,
                slow.outcome.words(),
                slow.name,
                quick.outcome.words()
            );
            out.push(Change { says, kitchen: k });
        }
    }
    out
}

/// Two joints change what they are to become, and when they are wanted.
pub(super) fn swap(kitchen: &mut Kitchen, a: usize, b: usize) {
    let (one, other) = (kitchen.joints[a].clone(), kitchen.joints[b].clone());
    (kitchen.joints[a].outcome, kitchen.joints[a].ready_by) = (other.outcome, other.ready_by);
    (kitchen.joints[b].outcome, kitchen.joints[b].ready_by) = (one.outcome, one.ready_by);
}

/// The kitchen with a joint cut in two; `None` when there is no such joint or a half's name is taken.
pub(super) fn halved(kitchen: &Kitchen, name: &str) -> Option<Kitchen> {
    let at = kitchen.joints.iter().position(|j| j.name == *name)?;
    let mut k = kitchen.clone();
    let whole = k.joints.remove(at);
    for half in ["b", "a"] {
        let mut j = whole.clone();
        j.name = format!("{name} {half}");
        if k.joints.iter().any(|other| other.name == j.name) {
            return None;
        }
        j.weight = Mass::kg(whole.weight.as_kg() / 2.0);
        j.weighed = whole.weighed.map(|w| Mass::kg(w.as_kg() / 2.0));
        // The sizes of the whole say nothing of the halves; they are reckoned from the weight.
        (j.diameter, j.length, j.tub) = (None, None, None);
        k.joints.insert(at, j);
    }
    for group in k.batch.together.iter_mut().chain(&mut k.batch.apart) {
        group.retain(|n| n != name);
    }
    // Who is left alone is with nobody and apart from nobody.
    k.batch.together.retain(|g| g.len() > 1);
    k.batch.apart.retain(|g| g.len() > 1);
    Some(k)
}

/// A late joint is cut in two.
fn halves(kitchen: &Kitchen, late: &[String]) -> Vec<Change> {
    let mut out = Vec::new();
    for name in late {
        let (Some(whole), Some(k)) = (kitchen.joints.iter().find(|j| j.name == *name), halved(kitchen, name)) else {
            continue;
        };
        let each = whole.planned_weight().as_kg() / 2.0;
        out.push(Change { says: format!("cut {name} in two, {each:.1} kg each"), kitchen: k });
    }
    if late.len() > 1 {
        out.truncate(4);
    }
    out
}

/// The late joints are collected so many days earlier.
fn earlier(kitchen: &Kitchen, late: &[String]) -> Vec<Change> {
    let mut out = Vec::new();
    for days in [1, 2, 3, 4, 5, 7, 10, 14] {
        let mut k = kitchen.clone();
        let mut first: Option<Moment> = None;
        for j in k.joints.iter_mut().filter(|j| late.contains(&j.name)) {
            if let Some(a) = j.arrives.as_mut() {
                a.0 -= TimeDelta::days(days);
                first = Some(first.map_or(*a, |f| f.min(*a)));
            }
        }
        let Some(first) = first else { return out };
        if let Some(s) = k.batch.starts.as_mut() {
            s.0 = s.0.min(first.0 - TimeDelta::days(1));
        }
        let s = if days == 1 { "" } else { "s" };
        out.push(Change {
            says: format!(
                "collect {} {days} day{s} earlier, by {}",
                late.join(" and "),
                first.0.format("%a %-d %b %H:%M")
            ),
            kitchen: k,
        });
    }
    out
}

/// The late joints are wanted so many days later.
fn later(kitchen: &Kitchen, late: &[String]) -> Vec<Change> {
    let mut out = Vec::new();
    for days in [1, 2, 3, 4, 5, 7, 10, 14] {
        let mut k = kitchen.clone();
        let mut any = Vec::new();
        for j in k.joints.iter_mut().filter(|j| late.contains(&j.name)) {
            if let Some(by) = j.ready_by.as_mut() {
                by.0 += TimeDelta::days(days);
                any.push(j.name.clone());
            }
        }
        if any.is_empty() {
            return out;
        }
        let s = if days == 1 { "" } else { "s" };
        out.push(Change { says: format!("want {} {days} day{s} later", any.join(" and ")), kitchen: k });
    }
    out
}

/// Somebody is in the kitchen on one more day of the week.
fn hands(kitchen: &Kitchen, _: &[String]) -> Vec<Change> {
    ["Sat", "Sun", "Fri", "Wed"]
        .iter()
        .filter_map(|day| {
            let mut k = kitchen.clone();
            k.people.push(Person {
                name: "somebody more".to_owned(),
                lives_here: false,
                busy: Vec::new(),
                works: Some(vec![Hours {
                    days: Days::parse(day)?,
                    from: Clock::at(7, 0),
                    to: Clock::at(20, 0),
                    since: None,
                    until: None,
                    why: String::new(),
                }]),
                away: Vec::new(),
                sleep: None,
                does: None,
            });
            let full = NaiveDate::from_isoywd_opt(2024, 1, day.parse().ok()?)?.format("%A");
            Some(Change { says: format!("have somebody in the kitchen on {full}s, 07:00 to 20:00"), kitchen: k })
        })
        .collect()
}

/// One more of a tub, or iced water to chill in.
fn kit(kitchen: &Kitchen, _: &[String]) -> Vec<Change> {
    let mut out = Vec::new();
    for t in &kitchen.kit.tubs {
        let mut k = kitchen.clone();
        let mut more = t.clone();
        more.name = format!("second {}", t.name);
        k.kit.tubs.push(more);
        out.push(Change { says: format!("one more tub like {}", t.name), kitchen: k });
    }
    if !kitchen.kit.chilling.iter().any(|c| c.means == crate::kitchen::ChillingMeans::IcedWater) {
        let mut k = kitchen.clone();
        k.kit.chilling.push(crate::kitchen::Chilling {
            name: "a big bowl of iced water".to_owned(),
            means: crate::kitchen::ChillingMeans::IcedWater,
            hams: 1,
            load: None,
            space: None,
        });
        out.push(Change { says: "chill in a big bowl of iced water".to_owned(), kitchen: k });
    }
    out
}

/// Names of the joints that a plan has late; all joints when there is none.
pub fn late_in(kitchen: &Kitchen, outcome: &Result<Plan, Refusal>) -> Vec<String> {
    match outcome {
        Ok(plan) => {
            plan.joints.iter().filter(|j| j.ready_by.is_some_and(|by| j.ready > by)).map(|j| j.name.clone()).collect()
        }
        Err(_) => kitchen.joints.iter().map(|j| j.name.clone()).collect(),
    }
}
