//! Turns a batch's graph into a scheduling problem in neutral terms, and keeps the way back from its numbers to tasks.
//!
//! [`resources`] says what there is of each thing and person, [`activities`] what each task takes of it and how far tasks stand
//! apart, [`levels`] what makes one plan better than another.

mod activities;
mod levels;
mod resources;

pub use levels::LEVELS;

use super::Axis;
use super::durations::STEP;
use super::graph::Batch;
use super::task::Thing;
use crate::kitchen::{Kitchen, Limits};
use crate::schedule::{ActivityId, Calendar, CalendarId, Interval, Minute, Problem, Reason, ReasonId, ResourceId};
use petgraph::graph::NodeIndex;
use std::collections::HashMap;

/// A problem with the way back: activity `i` is node `i` of the graph; dummies for due dates come after.
#[derive(Debug, Clone)]
pub struct Emitted {
    pub problem: Problem,
    /// By hold: the thing of each choice, or the person.
    pub taken: Vec<Vec<Taken>>,
}

/// What a hold's choice stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Taken {
    Thing(Thing),
    /// Index into the kitchen's people.
    Person(usize),
}

/// Promises of an earlier plan, by task id: the start, and how dear it is to move.
pub type Promises = HashMap<String, (Minute, i64)>;

/// How limits are written into the problem.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Form {
    /// Limits are rounded to whole steps on their careful side, so that a plan starts things at times people use.
    pub step: Minute,
    /// The good limits of quality are hard too, not only the outermost ones: where a plan exists so, it is found sooner.
    pub good_only: bool,
    /// Some of the tolerance of turns is kept in hand: a plan with every turn on its last day does not survive a lost one.
    pub in_hand: bool,
}

impl Form {
    /// As a judge reads the limits: to the minute, and only the outermost ones hard.
    pub const JUDGED: Self = Self { step: 1, good_only: false, in_hand: false };
    /// From the most careful to the outermost: the first in which there is a plan on time is taken.
    pub const PLANNED: [Self; 3] = [
        Self { step: STEP, good_only: true, in_hand: true },
        Self { step: STEP, good_only: true, in_hand: false },
        Self { step: STEP, good_only: false, in_hand: false },
    ];
}

/// Builds the problem, of a batch on which facts up to `now` have been laid: 0 where nothing has happened.
///
/// # Errors
/// A sentence when nobody in the kitchen does a kind of work that is still to be done.
pub fn emit(
    kitchen: &Kitchen,
    limits: &Limits,
    axis: &Axis,
    batch: &Batch,
    promises: &Promises,
    form: Form,
    now: Minute,
) -> Result<Emitted, String> {
    let mut e = Emitter {
        kitchen,
        limits,
        axis,
        batch,
        problem: Problem { horizon: axis.horizon, ..Problem::default() },
        taken: Vec::new(),
        reasons: HashMap::new(),
        things: HashMap::new(),
        people: Vec::new(),
        step: form.step.max(1),
        good_only: form.good_only,
        in_hand: if form.in_hand { limits.minutes("turn_in_hand") } else { 0 },
        now,
    };
    e.people();
    e.activities()?;
    e.lags();
    e.levels(promises);
    e.make_room_for_facts();
    Ok(Emitted { problem: e.problem, taken: e.taken })
}

struct Emitter<'a> {
    kitchen: &'a Kitchen,
    limits: &'a Limits,
    axis: &'a Axis,
    batch: &'a Batch,
    problem: Problem,
    taken: Vec<Vec<Taken>>,
    reasons: HashMap<Reason, ReasonId>,
    things: HashMap<Thing, ResourceId>,
    people: Vec<ResourceId>,
    step: Minute,
    good_only: bool,
    in_hand: Minute,
    /// Minute up to which things have happened; 0 when nothing has.
    now: Minute,
}

impl Emitter<'_> {
    fn reason(&mut self, r: Reason) -> ReasonId {
        if let Some(id) = self.reasons.get(&r) {
            return *id;
        }
        let id = ReasonId(self.problem.reasons.len() as u32);
        self.problem.reasons.push(r.clone());
        self.reasons.insert(r, id);
        id
    }

    fn calendar(&mut self, label: &str, open: Vec<Interval>) -> CalendarId {
        self.problem.calendars.push(Calendar { label: label.to_owned(), open });
        CalendarId(self.problem.calendars.len() as u32 - 1)
    }
}

/// The activity of a node.
pub fn activity(n: NodeIndex) -> ActivityId {
    ActivityId(n.index() as u32)
}
