//! What has happened so far, as a planner sees it: facts by task id, and how they bear on a plan.

use super::cores::{CoreReading, Ran, outside};
use super::judge::{Broken, nth};
use super::late_turns::{TurnTold, late_turns};
use super::words::{length, moment};
use super::{Plan, PlannedTask};
use crate::kitchen::{Kitchen, Limits};
use crate::process::arrangement::{Arrangement, longest_gap};
use crate::process::emit::{Emitted, Form, Promises, emit};
use crate::process::facts::{self, Fact, Facts, Progress};
use crate::process::graph::{self, Batch, Known};
use crate::process::{Axis, Kind, durations};
use crate::schedule::{Force, Minute, Problem, Reason, ReasonId};
use chrono::{DateTime, TimeDelta, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// No load is turned more often. A plan file may say any number, and each is looked up in the record.
pub(super) const MOST_TURNS: u32 = 1000;

/// Where a task stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    Done,
    /// Under way; its end, if one is given, is when it is expected to be done.
    Running,
    /// Not done and not to be done: a turn that was missed, a soak left out.
    Skipped,
}

/// What happened to one task.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Happened {
    /// When it was begun; for a skipped task, when that was settled.
    pub start: DateTime<Utc>,
    /// When it was finished, or is expected to be.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub end: Option<DateTime<Utc>>,
    pub state: State,
}

/// Everything that has happened in a kitchen up to a moment.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct History {
    /// The moment it is told at: nothing is planned before it.
    pub now: DateTime<Utc>,
    /// Facts by task id.
    #[serde(default)]
    pub tasks: BTreeMap<String, Happened>,
    /// By joint: minutes in the brine asked for over the rule, by a ruling after trouble (a missed turn: a day more).
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub longer: BTreeMap<String, i32>,
    /// By task id: the start that a person asked for. It is kept to, or said to be impossible.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub wished: BTreeMap<String, DateTime<Utc>>,
    /// What was read at the core of joints.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub readings: Vec<CoreReading>,
    /// Late turns that were told as trouble.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub turns_told: Vec<TurnTold>,
    /// The record is the book's, in which commands log and undo, and no file of a person's own.
    #[serde(skip)]
    pub by_book: bool,
}

/// A limit that is missed, what that is, and what it asks of a person.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Deviation {
    /// The whole of it in a sentence or two.
    pub says: String,
    /// The limit in plain words.
    pub limit: String,
    pub force: String,
    pub source: String,
    pub tasks: Vec<String>,
    /// Minutes past the limit.
    pub minutes: Minute,
    /// A person has to decide: a safety limit is passed.
    pub decide: bool,
}

impl History {
    /// Nothing has happened yet.
    pub fn none(now: DateTime<Utc>) -> Self {
        Self {
            now,
            tasks: BTreeMap::new(),
            longer: BTreeMap::new(),
            wished: BTreeMap::new(),
            readings: Vec::new(),
            turns_told: Vec::new(),
            by_book: false,
        }
    }

    /// Everything as `plan` has it up to a moment: what ends before is done, what is under way goes on.
    pub fn as_planned(plan: &Plan, now: DateTime<Utc>) -> Self {
        let fact = |t: &PlannedTask| {
            let (start, end) = (t.start.to_utc(), t.end.to_utc());
            let done = end <= now && t.kind != Kind::Rest;
            let state = if done { State::Done } else { State::Running };
            Happened { start, end: done.then_some(end), state }
        };
        let begun = plan.tasks.iter().filter(|t| t.start.to_utc() < now);
        Self { tasks: begun.map(|t| (t.id.clone(), fact(t))).collect(), ..Self::none(now) }
    }

    /// What was read at the core of hams that is outside the limits, and turns that came so late that the table gives more days.
    pub fn outside(&self, kitchen: &Kitchen, tasks: &[PlannedTask]) -> Vec<Deviation> {
        let ran = |id: &str| {
            let happened = self.tasks.get(id).filter(|h| h.state != State::Skipped);
            let finished = happened.filter(|h| h.state == State::Done).and_then(|h| h.end);
            Ran { begun: happened.map(|h| h.start), finished }
        };
        let cores = outside(kitchen, tasks, &ran, &self.readings);
        let turns = late_turns(kitchen, tasks, &ran, &self.turns_told, self.by_book, self.now);
        cores.into_iter().chain(turns).map(|o| o.deviation).collect()
    }

    /// Ties the tasks that a person has given a start, and that are not begun, to that start.
    fn hold_to_wishes(&self, axis: &Axis, batch: &Batch, problem: &mut Problem) {
        for n in batch.graph.node_indices() {
            let task = &batch.graph[n];
            let Some(at) = self.wished.get(&task.id).filter(|_| task.pinned.is_none()) else { continue };
            let minute = axis.minute(*at);
            let says = format!("{} was asked for {}", task.id, moment(&axis.when(minute)));
            let reason = ReasonId(problem.reasons.len() as u32);
            problem.reasons.push(Reason { says, force: Force::Wish, source: "asked for".to_owned() });
            let activity = &mut problem.activities[n.index()];
            (activity.release, activity.latest, activity.reason) = (minute, minute, reason);
        }
    }

    /// The first moment anything happened.
    pub fn first(&self) -> Option<DateTime<Utc>> {
        self.tasks.values().map(|h| h.start).min()
    }

    /// The facts in minutes of an axis. What would have happened after `now` has not happened.
    pub(super) fn facts(&self, kitchen: &Kitchen, axis: &Axis, old: Option<&Plan>) -> Facts {
        let tasks = self.tasks.iter().filter(|(_, h)| h.start <= self.now).map(|(id, h)| {
            let progress = match h.state {
                State::Done => Progress::Done,
                State::Running => Progress::Running,
                State::Skipped => Progress::Skipped,
            };
            let end = h.end.map(|e| if h.state == State::Done { e.min(self.now) } else { e });
            (id.clone(), Fact { start: axis.minute(h.start), end: end.map(|e| axis.minute(e)), progress })
        });
        let mut tasks: BTreeMap<String, Fact> = tasks.collect();
        // What happened to a joint has happened to the pieces it has been cut into.
        for piece in kitchen.joints.iter().map(|j| &j.name) {
            let Some(whole) = piece.strip_suffix(" a").or(piece.strip_suffix(" b")) else { continue };
            if kitchen.joints.iter().any(|j| j.name == whole) {
                continue;
            }
            let own = tasks.iter().filter_map(|(id, f)| {
                let what = id.strip_suffix(whole)?.strip_suffix(' ')?;
                (!what.contains(' ') && what != "turn").then(|| (format!("{what} {piece}"), *f))
            });
            for (id, fact) in own.collect::<Vec<_>>() {
                tasks.entry(id).or_insert(fact);
            }
        }
        let planned = old.map(|p| p.tasks.iter().map(|t| (t.id.clone(), axis.minute(t.start.to_utc()))).collect());
        Facts {
            now: axis.minute(self.now) + Minute::from(axis.instant(axis.minute(self.now)) < self.now),
            tasks,
            planned: planned.unwrap_or_default(),
            lenient: false,
        }
    }

    pub(super) fn has_begun(&self, id: &str) -> bool {
        self.tasks.get(id).is_some_and(|h| h.state != State::Skipped && h.start <= self.now)
    }

    /// How many turns of a load are told as missed.
    pub(super) fn missed_turns(&self, load: &str, turns: u32) -> u32 {
        let missed = |k: &u32| self.tasks.get(&format!("turn {load} {k}")).is_some_and(|h| h.state == State::Skipped);
        (1..=turns.min(MOST_TURNS)).filter(missed).count() as u32
    }

    /// How many turns a load in the brine has in all, where it has once not been turned for longer than is good: those on record
    /// and as many as the rest of its stay asks for, from now if it waits for one. What was missed is not made up by turning it more
    /// often. The `planned` ones stay where they do not come much sooner after one another than the recipe says.
    pub(super) fn turns_after_gap(&self, kitchen: &Kitchen, load: &str, joints: &[usize], planned: u32) -> Option<u32> {
        let at = |id: &str| self.tasks.get(id).filter(|_| self.has_begun(id)).map(|h| h.start);
        let put_in = at(&format!("put in {load}"))?;
        let turn = |k: u32| format!("turn {load} {k}");
        let told = (1..=planned.min(MOST_TURNS)).rev().find(|k| self.tasks.contains_key(&turn(*k))).unwrap_or(0);
        let mut met: Vec<DateTime<Utc>> = (1..=told).filter_map(|k| at(&turn(k))).chain([put_in]).collect();
        met.sort();
        let longest = longest_gap(kitchen);
        let ends = met.iter().skip(1).chain([&self.now]);
        if met.iter().zip(ends).all(|(from, to)| *to - *from <= TimeDelta::minutes(longest.into())) {
            return None;
        }
        let stay = |j: &usize| {
            let joint = &kitchen.joints[*j];
            let longer = self.longer.get(&joint.name).copied().unwrap_or(0).clamp(0, 100_000);
            durations::cure(joint, &kitchen.cure) + longer
        };
        let every = (kitchen.cure.turn_every_days * 1440.0) as Minute;
        let last = met.last().map_or(put_in, |m| *m).max(self.now - TimeDelta::minutes(every.into()));
        let lift = put_in + TimeDelta::minutes(joints.iter().map(stay).max().unwrap_or(0).into());
        let rest = (lift - last).num_minutes().clamp(0, 1_000_000) as Minute;
        let least = told + durations::turns_to_come(rest, &kitchen.cure, longest);
        let crowded = |n: u32| 6 * i64::from(rest) < 5 * i64::from(every) * i64::from(n.saturating_sub(told) + 1);
        Some(if planned < least || crowded(planned) { least } else { planned })
    }

    /// What of an arrangement is settled: loads put in, cooks put on. A later task in the record settles it as well.
    pub(super) fn known(&self, kitchen: &Kitchen, arrangement: &Arrangement) -> Known {
        let ids = graph::load_ids(kitchen, arrangement);
        let name = |j: &usize| kitchen.joints[*j].name.as_str();
        let lifted = |js: &[usize]| js.iter().any(|j| self.has_begun(&format!("lift {}", name(j))));
        let in_brine = arrangement.loads.iter().zip(&ids).map(|(l, id)| {
            self.has_begun(&format!("put in {id}"))
                || (1..=l.turns.min(MOST_TURNS)).any(|k| self.has_begun(&format!("turn {id} {k}")))
                || lifted(&l.joints)
        });
        let on = arrangement.cooks.iter().map(|c| {
            let id = c.joints.iter().map(name).collect::<Vec<_>>().join("+");
            let after = |what: &str| c.joints.iter().any(|j| self.has_begun(&format!("{what} {}", name(j))));
            self.has_begun(&format!("simmer {id}"))
                || ["glaze", "bake", "chill", "slice", "pack"].iter().any(|w| after(w))
        });
        let longer = kitchen.joints.iter().map(|j| self.longer.get(&j.name).copied().unwrap_or(0).clamp(0, 100_000));
        Known { in_brine: in_brine.collect(), on: on.collect(), longer: longer.collect() }
    }
}

/// A batch with its history laid on it, as a problem.
#[derive(Debug, Clone)]
pub(super) struct Laid {
    pub batch: Batch,
    pub emitted: Emitted,
    pub brought_up: facts::Laid,
}

/// What a problem is built from besides the kitchen.
pub(super) struct Ground<'a> {
    pub kitchen: &'a Kitchen,
    pub limits: &'a Limits,
    pub axis: &'a Axis,
    pub starts: Minute,
    pub collect: Minute,
    pub history: Option<&'a History>,
    /// The plan so far: where a task in no record was to be.
    pub old: Option<&'a Plan>,
}

impl Ground<'_> {
    /// Graph and problem of an arrangement, with what has happened laid on them.
    ///
    /// # Errors
    /// What does not fit, or nobody does.
    pub fn build(
        &self,
        arrangement: &Arrangement,
        promises: &Promises,
        form: Form,
        lenient: bool,
    ) -> Result<Laid, String> {
        let (kitchen, limits, axis) = (self.kitchen, self.limits, self.axis);
        let known = self.history.map_or_else(Known::default, |h| h.known(kitchen, arrangement));
        let mut batch = graph::build_on(kitchen, limits, axis, arrangement, self.starts, self.collect, &known)
            .map_err(|m| m.says)?;
        let mut now = 0;
        let mut brought_up = facts::Laid::default();
        if let Some(h) = self.history {
            let facts = Facts { lenient, ..h.facts(kitchen, axis, self.old) };
            now = facts.now;
            brought_up = facts::lay(kitchen, limits, axis, &mut batch, &facts, form.step.max(1));
        }
        let mut emitted = emit(kitchen, limits, axis, &batch, promises, form, now)?;
        if let Some(h) = self.history {
            h.hold_to_wishes(axis, &batch, &mut emitted.problem);
        }
        Ok(Laid { batch, emitted, brought_up })
    }
}

/// The limits that history has missed, in plain words.
pub(super) fn deviations(laid: &facts::Laid) -> Vec<Deviation> {
    let tasks = |ids: &[String]| ids.iter().map(|i| format!("\"{i}\"")).collect::<Vec<_>>().join(" and ");
    laid.missed
        .iter()
        .map(|m| {
            let safety = m.reason.force == Force::Safety;
            let by = if m.by > 0 { format!(", by {}", length(i64::from(m.by))) } else { String::new() };
            let says = match (safety, m.open) {
                (true, open) => format!(
                    "Outside the stated limit: {} ({}{by}). {}Decide what becomes of it, and write down why; if in doubt, throw it out.",
                    m.reason.says,
                    tasks(&m.tasks),
                    if open { "It is planned as soon as possible. " } else { "" }
                ),
                (false, true) => {
                    format!("Past a limit of quality: {} ({}{by}). It is planned as soon as possible.", m.reason.says, tasks(&m.tasks))
                }
                (false, false) => format!("A limit of quality was missed: {} ({}{by}).", m.reason.says, tasks(&m.tasks)),
            };
            Deviation {
                says,
                limit: m.reason.says.clone(),
                force: m.reason.force.word().to_owned(),
                source: m.reason.source.clone(),
                tasks: m.tasks.clone(),
                minutes: m.by,
                decide: safety,
            }
        })
        .collect()
}

/// Limits of quality that cannot be kept with what has happened, though they have not run out yet.
pub(super) fn planned_misses(missed: &[facts::Missed]) -> Vec<Deviation> {
    let tasks = |ids: &[String]| ids.iter().map(|i| format!("\"{i}\"")).collect::<Vec<_>>().join(" and ");
    let one = |m: &facts::Missed| Deviation {
        says: format!(
            "Cannot be kept any more: {} ({}, by {}).",
            m.reason.says,
            tasks(&m.tasks),
            length(i64::from(m.by))
        ),
        limit: m.reason.says.clone(),
        force: m.reason.force.word().to_owned(),
        source: m.reason.source.clone(),
        tasks: m.tasks.clone(),
        minutes: m.by,
        decide: m.reason.force == Force::Safety,
    };
    missed.iter().map(one).collect()
}

/// What the record leaves open, a sentence each.
pub(super) fn open_ends(laid: &facts::Laid) -> Vec<String> {
    let list = |ids: &[String]| {
        let names: Vec<String> = ids.iter().map(|i| format!("\"{i}\"")).collect();
        super::words::list(&names.iter().map(String::as_str).collect::<Vec<_>>())
    };
    let mut out = Vec::new();
    let mut say = |ids: &[String], one: &str, many: &str| {
        if !ids.is_empty() {
            out.push(format!("{} {}", list(ids), if ids.len() == 1 { one } else { many }));
        }
    };
    say(
        &laid.unrecorded,
        "was due and is not ticked off: it is due now.",
        "were due and are not ticked off: they are due now.",
    );
    say(
        &laid.assumed,
        "is not ticked off; it is taken as done as planned, since what follows it is.",
        "are not ticked off; they are taken as done as planned, since what follows them is.",
    );
    say(&laid.missed_turns, "was missed.", "were missed.");
    say(
        &laid.cannot_skip,
        "cannot be left out: it is still to be done.",
        "cannot be left out: they are still to be done.",
    );
    out
}

/// The loads' numbers as a plan has them, for loads that come after.
pub(super) fn highest_load(plan: &Plan, tub: &str) -> u32 {
    plan.loads.iter().filter(|l| l.tub == tub).map(|l| nth(l).unwrap_or(1)).max().unwrap_or(0)
}

/// A plan that does not keep to what has happened.
pub(super) fn changed_fact(id: &str) -> Broken {
    super::judge::form(format!("the plan has \"{id}\" otherwise than it happened"), &[id])
}
