//! Whether an act fits what is on record: the right names, the right order, not twice.

use super::error::Refused;
use super::event::{Act, ReadingOf, TaskAct};
use super::state::{State, kitchen_of};
use crate::kitchen::read::near;
use chrono::{DateTime, Datelike, TimeDelta, Utc};

/// How an act stands to the record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Fit {
    New,
    /// It is there already, on that line.
    Already(u64),
}

/// The same thing said again within this time is one thing said twice by mistake.
const TWICE: TimeDelta = TimeDelta::minutes(2);
/// Clocks of two machines differ by this much at most.
const AHEAD: TimeDelta = TimeDelta::minutes(15);
/// No temperature in a kitchen is outside this, °C.
const CELSIUS: std::ops::RangeInclusive<f64> = -60.0..=300.0;

pub(super) type Answer = Result<Fit, Refused>;

fn refuse(says: impl Into<String>) -> Answer {
    Err(Refused::new(says))
}

fn not_ahead(when: DateTime<Utc>, now: DateTime<Utc>) -> Result<(), Refused> {
    if when > now + AHEAD {
        return Err(Refused::new("that moment is still to come; only what has happened is recorded"));
    }
    // The first and last years that a date in a kitchen can have.
    if !(2000..2100).contains(&when.year()) {
        return Err(Refused::new(format!("nothing of this kitchen happened in {}", when.year())));
    }
    Ok(())
}

fn known(what: &str, name: &str, all: Vec<String>) -> Result<(), Refused> {
    if all.iter().any(|n| n == name) {
        return Ok(());
    }
    let near = near(name, &all).into_iter().map(str::to_owned).collect();
    Err(Refused { says: format!("there is no {what} called \"{name}\""), near })
}

impl State {
    pub fn joint_names(&self) -> Vec<String> {
        self.kitchen.joints.iter().map(|j| j.name.clone()).collect()
    }

    /// The joints of the kitchen and all that ever were in a plan: packs outlast the joints.
    pub fn all_joint_names(&self) -> Vec<String> {
        let mut names = self.joint_names();
        names.extend(self.lines.values().flat_map(|l| l.line.joints.iter().cloned()));
        names.extend(self.lots.iter().map(|l| l.joint.clone()));
        names.sort();
        names.dedup();
        names
    }

    /// Tubs, and their second and later loads as the plan calls them.
    pub fn tub_names(&self) -> Vec<String> {
        let mut names: Vec<String> = self.kitchen.kit.tubs.iter().map(|t| t.name.clone()).collect();
        let loads = self.lines.keys().filter_map(|id| id.strip_prefix("put in ")).map(str::to_owned);
        names.extend(loads.filter(|l| l.contains(" (load ")));
        names
    }

    pub fn space_names(&self) -> Vec<String> {
        self.kitchen.kit.cold.iter().map(|s| s.name.clone()).collect()
    }

    /// Whether and how an act fits.
    pub(super) fn fits(&self, act: &Act, now: DateTime<Utc>) -> Answer {
        if let Some(when) = act.when() {
            not_ahead(when, now)?;
        }
        match act {
            Act::Started { .. } => refuse("the book is begun already"),
            Act::KitchenChanged { kitchen, .. } => {
                self.takes(&kitchen_of(kitchen)?, &[])?;
                Ok(Fit::New)
            }
            Act::PlanAccepted { lines, .. } => {
                let mut ids: Vec<&str> = lines.iter().map(|l| l.id.as_str()).collect();
                ids.sort_unstable();
                match ids.windows(2).find(|w| w[0] == w[1]) {
                    Some(w) => refuse(format!("two tasks of the plan are called \"{}\"", w[0])),
                    None => Ok(Fit::New),
                }
            }
            Act::PlanKept { .. } => Ok(Fit::New),
            Act::Task { id, what, when } => self.task_fits(id, what, *when),
            Act::Weighed { joint, grams, .. } => {
                known("joint", joint, self.joint_names())?;
                if !grams.is_finite() || !(1.0..=100_000.0).contains(grams) {
                    return refuse(format!("{grams} g is no weight of a joint"));
                }
                let counts = self.kitchen.joints.iter().find(|j| j.name == *joint).and_then(|j| j.weighed);
                let same = counts.is_some_and(|kg| (kg.as_g() - grams).abs() < 0.5);
                Ok(match self.weights.get(joint) {
                    Some(w) if same && (w.grams - grams).abs() < 0.5 => Fit::Already(w.mark.seq),
                    _ => Fit::New,
                })
            }
            Act::Collected { joint, celsius, .. } => {
                known("joint", joint, self.joint_names())?;
                celsius.map_or(Ok(()), temperature)?;
                Ok(self.collected.get(joint).map_or(Fit::New, |c| Fit::Already(c.mark.seq)))
            }
            Act::Reading { of, celsius, when } => {
                match of {
                    ReadingOf::Core { joint } => known("joint", joint, self.joint_names())?,
                    ReadingOf::Space { name } => known("cold space", name, self.space_names())?,
                    ReadingOf::Brine { tub } => known("tub", tub, self.tub_names())?,
                    ReadingOf::Other { .. } => {}
                }
                temperature(*celsius)?;
                let same = |r: &&super::state::ReadingRecord| {
                    r.of == *of && r.celsius == *celsius && twice(r.mark.when, *when)
                };
                Ok(self.readings.iter().rev().find(same).map_or(Fit::New, |r| Fit::Already(r.mark.seq)))
            }
            Act::Trouble { kind, about, details, when, .. } => {
                let same = |t: &&super::state::TroubleRecord| {
                    t.kind == *kind && t.about == *about && t.details == *details && twice(t.mark.when, *when)
                };
                Ok(self.troubles.iter().rev().find(same).map_or(Fit::New, |t| Fit::Already(t.mark.seq)))
            }
            Act::Note { about, text, when } => {
                if text.trim().is_empty() {
                    return refuse("the note is empty");
                }
                self.about_fits(about)?;
                let same =
                    |n: &&super::state::NoteRecord| n.about == *about && n.text == *text && twice(n.mark.when, *when);
                Ok(self.notes.iter().rev().find(same).map_or(Fit::New, |n| Fit::Already(n.mark.seq)))
            }
            Act::Taste { joint, score, text, when } => {
                // It is eaten long after its batch is closed.
                known("joint", joint, self.all_joint_names())?;
                if !(1..=5).contains(score) {
                    return refuse(format!("a taste is scored from 1 to 5, not {score}"));
                }
                let same = |t: &&super::state::TasteRecord| {
                    t.joint == *joint && t.score == *score && t.text == *text && twice(t.mark.when, *when)
                };
                let before = self.past.iter().flat_map(|p| &p.tastes);
                Ok(before.chain(&self.tastes).find(same).map_or(Fit::New, |t| Fit::Already(t.mark.seq)))
            }
            Act::Packs { joint, packs, grams, when } => {
                known("joint", joint, self.all_joint_names())?;
                self.lots.count_fits(joint, self.may_be_packed(joint, *when), *packs, *grams)
            }
            Act::Taken { joint, packs, gone, when } => {
                known("joint", joint, self.all_joint_names())?;
                self.lots.take_fits(joint, *packs, *gone, *when)
            }
            Act::Snoozed { task, .. } => self.task_known(task).map(|()| Fit::New),
            Act::Nudged { task, key, .. } => {
                // A nudge of a task that has since left the plan was sent all the same.
                let sent = self.nudged.get(task).is_some_and(|keys| keys.contains_key(key));
                Ok(if sent { Fit::Already(0) } else { Fit::New })
            }
            // These look back at other lines and are judged by the book, which has them.
            Act::Undone { .. } | Act::Redone { .. } | Act::Corrected { .. } => Ok(Fit::New),
        }
    }

    fn task_known(&self, id: &str) -> Result<(), Refused> {
        if self.lines.contains_key(id) {
            return Ok(());
        }
        let mut all: Vec<String> = self.lines.planned().iter().map(|l| l.id.clone()).collect();
        all.sort();
        if all.is_empty() {
            return Err(Refused::new("the book has no plan yet, so it has no tasks"));
        }
        known("task", id, all)
    }

    fn task_fits(&self, id: &str, what: &TaskAct, when: DateTime<Utc>) -> Answer {
        self.task_known(id)?;
        if self.is_departed(id) {
            return refuse(format!("\"{id}\" is of a batch that has left the kitchen (`turnday history` says when)"));
        }
        let Some(record) = self.tasks.get(id) else { return Ok(Fit::New) };
        match (what, &record.started, &record.finished, &record.skipped) {
            (TaskAct::Finished, _, Some(m), _) | (TaskAct::Skipped { .. }, _, _, Some((m, _))) => {
                Ok(Fit::Already(m.seq))
            }
            (TaskAct::Started, Some(m), _, _) => Ok(Fit::Already(m.seq)),
            (TaskAct::Skipped { .. }, _, Some(m), _) => {
                refuse(format!("\"{id}\" is recorded as done on line {}; undo that first", m.seq))
            }
            (TaskAct::Started, _, Some(m), _) if when > m.when => {
                refuse(format!("\"{id}\" is recorded as done before that, on line {}", m.seq))
            }
            (TaskAct::Started, _, _, Some((m, _))) => {
                refuse(format!("\"{id}\" is recorded as skipped on line {}; undo that first", m.seq))
            }
            (TaskAct::Finished, Some(m), _, _) if when < m.when => {
                refuse(format!("\"{id}\" is recorded as started after that, on line {}", m.seq))
            }
            _ => Ok(Fit::New),
        }
    }

    /// A note may be about nothing, or about anything that has a name.
    fn about_fits(&self, about: &str) -> Result<(), Refused> {
        if about.is_empty() || self.lines.contains_key(about) {
            return Ok(());
        }
        let mut all = self.joint_names();
        all.extend(self.tub_names());
        all.extend(self.space_names());
        all.extend(self.kitchen.kit.pots.iter().map(|p| p.name.clone()));
        all.extend(self.kitchen.people.iter().map(|p| p.name.clone()));
        // What a joint that has since left was called is not forgotten.
        all.extend(self.past.iter().map(|p| p.joint.name.clone()));
        known("joint, tub, cold space, pot, person or task", about, all)
    }
}

fn temperature(celsius: f64) -> Result<(), Refused> {
    if CELSIUS.contains(&celsius) {
        return Ok(());
    }
    Err(Refused::new(format!("{celsius} °C is no temperature of a kitchen")))
}

pub(super) fn twice(a: DateTime<Utc>, b: DateTime<Utc>) -> bool {
    (a - b).abs() < TWICE
}
