//! What the events come to: the kitchen, the plan, and what has happened.

use super::error::Refused;
use super::event::{Act, Event, PlanLine, RawPlan, ReadingOf, RulingRecord, TaskAct};
use super::lines::Lines;
use super::packs::Lots;
use super::stays::Past;
use crate::kitchen::{Kitchen, read};
use crate::units::Mass;
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// When something happened, who recorded it, and on which line of the journal.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Mark {
    pub when: DateTime<Utc>,
    pub by: String,
    pub seq: u64,
}

/// What has happened to a task.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct TaskRecord {
    pub started: Option<Mark>,
    pub finished: Option<Mark>,
    /// Left out for good, and why.
    pub skipped: Option<(Mark, String)>,
}

impl TaskRecord {
    /// Nothing more is to be done.
    pub const fn is_settled(&self) -> bool {
        self.finished.is_some() || self.skipped.is_some()
    }
}

/// A task through its whole life, whatever plans came and went.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LineRecord {
    /// As the last plan that had it says.
    pub line: PlanLine,
    /// Raised whenever the line changes, is cancelled, or comes back; never falls. Calendars need this.
    pub sequence: u32,
    /// No longer in the plan.
    pub cancelled: bool,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WeightRecord {
    pub grams: f64,
    pub mark: Mark,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CollectedRecord {
    pub celsius: Option<f64>,
    pub mark: Mark,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReadingRecord {
    pub of: ReadingOf,
    pub celsius: f64,
    pub mark: Mark,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct NoteRecord {
    pub about: String,
    pub text: String,
    pub mark: Mark,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TasteRecord {
    pub joint: String,
    /// 1 to 5.
    pub score: u8,
    pub text: String,
    pub mark: Mark,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TroubleRecord {
    pub kind: String,
    pub about: String,
    pub details: serde_json::Value,
    pub ruling: RulingRecord,
    pub mark: Mark,
}

/// The fold of a book's events.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Number of the last event.
    pub seq: u64,
    /// The kitchen file's text as last changed.
    pub kitchen_text: String,
    /// By joint: the event in which the text was changed to say another weight of it.
    pub(super) said: BTreeMap<String, u64>,
    /// The kitchen, with the weights on record laid over.
    pub kitchen: Kitchen,
    pub plan: Option<RawPlan>,
    /// The event the plan stands in; 0 without a plan.
    pub plan_seq: u64,
    /// Number of the last event that changed the plan or the kitchen, also by undoing: an answer for another revision is stale.
    pub revision: u64,
    pub tasks: BTreeMap<String, TaskRecord>,
    pub lines: Lines,
    pub weights: BTreeMap<String, WeightRecord>,
    pub collected: BTreeMap<String, CollectedRecord>,
    pub readings: Vec<ReadingRecord>,
    pub notes: Vec<NoteRecord>,
    pub tastes: Vec<TasteRecord>,
    pub lots: Lots,
    pub troubles: Vec<TroubleRecord>,
    /// When the book was begun.
    pub begun: DateTime<Utc>,
    /// Joints that left the kitchen, in order.
    pub past: Vec<Past>,
    /// Names of joints that have left and not come again.
    pub(super) departed: BTreeSet<String>,
    /// By joint that came in after the book was begun: the event.
    pub(super) came: BTreeMap<String, u64>,
    /// Until when a task's nudges are put off.
    pub snoozed: BTreeMap<String, DateTime<Utc>>,
    /// Nudges sent, by task and key, and when.
    pub nudged: BTreeMap<String, BTreeMap<String, DateTime<Utc>>>,
    /// Events that do not count.
    pub undone: BTreeSet<u64>,
    /// By corrected event: the correction that counts in its place.
    pub corrected: BTreeMap<u64, u64>,
}

/// Which act of each event counts.
struct Counting<'a> {
    undone: BTreeSet<u64>,
    corrected: BTreeMap<u64, (u64, &'a Act)>,
}

impl<'a> Counting<'a> {
    fn of(events: &'a [Event]) -> Self {
        let mut undone = BTreeSet::new();
        for e in events {
            match e.act {
                Act::Undone { seq } => drop(undone.insert(seq)),
                Act::Redone { seq } => drop(undone.remove(&seq)),
                _ => {}
            }
        }
        let mut corrected = BTreeMap::new();
        for e in events.iter().filter(|e| !undone.contains(&e.seq)) {
            if let Act::Corrected { seq, act } = &e.act {
                corrected.insert(*seq, (e.seq, &**act));
            }
        }
        Self { undone, corrected }
    }
}

/// Whether an event changes what earlier events count for.
pub(super) const fn looks_back(act: &Act) -> bool {
    matches!(act, Act::Undone { .. } | Act::Redone { .. } | Act::Corrected { .. })
}

/// Reads a kitchen's text.
pub(super) fn kitchen_of(text: &str) -> Result<Kitchen, Refused> {
    let reading = read::read("the kitchen", text);
    let first = reading.findings.first().map_or_else(String::new, |f| f.says.clone());
    reading.kitchen.ok_or_else(|| Refused::new(format!("the kitchen cannot be read: {first}")))
}

impl State {
    /// Folds all events of a book, in order.
    ///
    /// # Errors
    /// When the first does not begin a book, or a kitchen in them cannot be read.
    pub fn fold(events: &[Event]) -> Result<Self, Refused> {
        let Some(Event { seq: 1, at, act: Act::Started { kitchen }, .. }) = events.first() else {
            return Err(Refused::new("the first line does not begin a book"));
        };
        let mut state = Self::begin(kitchen, *at)?;
        let counting = Counting::of(events);
        for e in events {
            state.seq = e.seq;
            state.follow(e);
            if counting.undone.contains(&e.seq) {
                continue;
            }
            // A correction counts where the act stood that it corrects.
            let (seq, act) = counting.corrected.get(&e.seq).map_or((e.seq, &e.act), |(s, a)| (*s, a));
            state.apply(seq, e, act);
        }
        state.corrected = counting.corrected.iter().map(|(k, (s, _))| (*k, *s)).collect();
        state.undone = counting.undone;
        state.settle()?;
        Ok(state)
    }

    /// Adds events that look back at nothing.
    pub(super) fn extend(&mut self, events: &[Event]) -> Result<(), Refused> {
        for e in events {
            self.seq = e.seq;
            self.follow(e);
            self.apply(e.seq, e, &e.act);
        }
        let new_kitchen = events.iter().any(|e| matches!(e.act, Act::KitchenChanged { .. }));
        if new_kitchen {
            return self.settle();
        }
        self.lay_weights();
        Ok(())
    }

    /// There are joints, and a plan for none: nothing to plan again from.
    pub fn wants_a_first_plan(&self) -> bool {
        !self.kitchen.joints.is_empty() && self.lines.planned().is_empty()
    }

    fn begin(text: &str, begun: DateTime<Utc>) -> Result<Self, Refused> {
        let kitchen = kitchen_of(text)?;
        let mut lots = Lots::default();
        lots.leave(&[], kitchen.joints.iter().map(|j| j.name.clone()).collect());
        Ok(Self {
            seq: 0,
            kitchen_text: text.to_owned(),
            said: BTreeMap::new(),
            kitchen,
            plan: None,
            plan_seq: 0,
            revision: 1,
            tasks: BTreeMap::new(),
            lines: Lines::default(),
            weights: BTreeMap::new(),
            collected: BTreeMap::new(),
            readings: Vec::new(),
            notes: Vec::new(),
            tastes: Vec::new(),
            lots,
            troubles: Vec::new(),
            begun,
            past: Vec::new(),
            departed: BTreeSet::new(),
            came: BTreeMap::new(),
            snoozed: BTreeMap::new(),
            nudged: BTreeMap::new(),
            undone: BTreeSet::new(),
            corrected: BTreeMap::new(),
        })
    }

    /// What hangs on the order in which things were recorded, undone or not: revision and the lives of lines.
    fn follow(&mut self, e: &Event) {
        self.lines.follow(e);
        let changes = match &e.act {
            Act::KitchenChanged { .. } | Act::PlanAccepted { .. } | Act::Weighed { .. } => true,
            // What they look back at may have changed the kitchen or the plan; a number too high does no harm.
            a => looks_back(a),
        };
        if changes {
            self.revision = e.seq;
        }
    }

    /// Applies an act: that of the event, or what stands in its place on another line.
    fn apply(&mut self, seq: u64, e: &Event, act: &Act) {
        let mark = |when: &DateTime<Utc>| Mark { when: *when, by: e.by.clone(), seq };
        match act {
            Act::KitchenChanged { kitchen, .. } => {
                if let Ok(new) = kitchen_of(kitchen) {
                    self.part(&new, e.seq, e.at);
                    self.note_said(&new, seq);
                }
                self.kitchen_text.clone_from(kitchen);
            }
            Act::PlanAccepted { plan, .. } => {
                self.plan = Some(plan.clone());
                self.plan_seq = seq;
            }
            Act::Task { id, what, when } => self.task(id, what, mark(when)),
            Act::Weighed { joint, grams, when } => {
                self.weights.insert(joint.clone(), WeightRecord { grams: *grams, mark: mark(when) });
            }
            Act::Collected { joint, when, celsius } => {
                self.collected.insert(joint.clone(), CollectedRecord { celsius: *celsius, mark: mark(when) });
            }
            Act::Reading { of, celsius, when } => {
                self.readings.push(ReadingRecord { of: of.clone(), celsius: *celsius, mark: mark(when) });
            }
            Act::Trouble { kind, about, details, ruling, when } => self.troubles.push(TroubleRecord {
                kind: kind.clone(),
                about: about.clone(),
                details: details.clone(),
                ruling: ruling.clone(),
                mark: mark(when),
            }),
            Act::Note { about, text, when } => {
                self.notes.push(NoteRecord { about: about.clone(), text: text.clone(), mark: mark(when) });
            }
            Act::Taste { joint, score, text, when } => {
                self.taste(TasteRecord { joint: joint.clone(), score: *score, text: text.clone(), mark: mark(when) })
            }
            Act::Packs { joint, packs, grams, when } => {
                self.lots.count(joint, self.may_be_packed(joint, *when), *packs, *grams, mark(when));
            }
            Act::Taken { joint, packs, gone, when } => {
                self.lots.take(joint, self.may_be_packed(joint, *when), *packs, *gone, &mark(when));
            }
            Act::Snoozed { task, until } => drop(self.snoozed.insert(task.clone(), *until)),
            Act::Nudged { task, key, when } => {
                self.nudged.entry(task.clone()).or_default().insert(key.clone(), *when);
            }
            Act::Started { .. }
            | Act::PlanKept { .. }
            | Act::Undone { .. }
            | Act::Redone { .. }
            | Act::Corrected { .. } => {}
        }
    }

    fn task(&mut self, id: &str, what: &TaskAct, mark: Mark) {
        let t = self.tasks.entry(id.to_owned()).or_default();
        match what {
            TaskAct::Started => t.started = Some(mark),
            TaskAct::Finished => {
                t.finished = Some(mark);
                // What was given up was done after all.
                t.skipped = None;
            }
            TaskAct::Skipped { why } => t.skipped = Some((mark, why.clone())),
        }
    }

    /// Reads the kitchen's text as it is now.
    fn settle(&mut self) -> Result<(), Refused> {
        self.kitchen = kitchen_of(&self.kitchen_text)?;
        self.lay_weights();
        Ok(())
    }

    /// Notes the joints of which a new text says another weight than the text before: for no others is it later than the scale.
    fn note_said(&mut self, new: &Kitchen, seq: u64) {
        let Ok(old) = kitchen_of(&self.kitchen_text) else { return };
        for joint in &new.joints {
            let before = old.joints.iter().find(|o| o.name == joint.name).and_then(|o| o.weighed);
            if before != joint.weighed {
                self.said.insert(joint.name.clone(), seq);
            }
        }
    }

    fn lay_weights(&mut self) {
        lay(&self.weights, &self.said, &mut self.kitchen);
    }
}

/// A weighing counts until the kitchen's text is changed to say another weight.
pub(super) fn lay(weights: &BTreeMap<String, WeightRecord>, said: &BTreeMap<String, u64>, kitchen: &mut Kitchen) {
    for joint in &mut kitchen.joints {
        if let Some(w) = weights.get(&joint.name)
            && (said.get(&joint.name).is_none_or(|said| w.mark.seq > *said) || joint.weighed.is_none())
        {
            joint.weighed = Some(Mass::kg(w.grams / 1000.0));
        }
    }
}
