//! What has happened, as the views and the timeline read it. Doors fill it from wherever a record is kept.

use std::collections::{BTreeMap, HashSet};

use chrono::{DateTime, Utc};
use serde::Serialize;

use crate::kitchen::Outcome;
use crate::plan::late_turns::TurnTold;

/// A task that was begun, finished or left out.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Happened {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub started: Option<DateTime<Utc>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub finished: Option<DateTime<Utc>>,
    /// Why it was left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub skipped: Option<String>,
    /// Who said so; may be empty.
    pub by: String,
}

impl Happened {
    /// When it was begun. Told only when it was over, it was begun by then, and no later than planned as far as is known.
    pub fn begun_by(&self, planned: DateTime<Utc>) -> DateTime<Utc> {
        self.started.unwrap_or_else(|| self.finished.map_or(planned, |f| f.min(planned)))
    }
}

/// What a thermometer was in.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Probed {
    /// The core of a joint.
    Core(String),
    /// The air of a cold space.
    Space(String),
    /// The brine of a tub.
    Brine(String),
    Other(String),
}

/// A temperature that was read, °C.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Read {
    pub of: Probed,
    pub celsius: f64,
    pub when: DateTime<Utc>,
    pub by: String,
}

/// A joint on the kitchen's own scale.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Weighed {
    pub joint: String,
    pub grams: f64,
    pub when: DateTime<Utc>,
    pub by: String,
}

/// A joint collected, with what its core or surface read, °C.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Collected {
    pub joint: String,
    pub when: DateTime<Utc>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub celsius: Option<f64>,
    pub by: String,
}

/// Words about a joint, a tub, a task, or nothing in particular.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Noted {
    pub about: String,
    pub text: String,
    pub when: DateTime<Utc>,
    pub by: String,
}

/// How it tasted, 1 to 5.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Tasted {
    pub joint: String,
    pub score: u8,
    pub text: String,
    pub when: DateTime<Utc>,
    pub by: String,
}

/// Something that went wrong, and what was done.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Trouble {
    /// One of the table's kinds.
    pub kind: String,
    pub about: String,
    /// The joints it was told of.
    pub joints: Vec<String>,
    /// How warm it was, as told, °C.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub celsius: Option<f64>,
    /// The ruling found a stated limit missed.
    pub deviates: bool,
    /// What was seen.
    pub says: String,
    /// What the house's rules said to do, deviation and corrective action.
    pub ruling: String,
    pub when: DateTime<Utc>,
    pub by: String,
}

/// What became of an entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Holds {
    #[default]
    Yes,
    /// Taken back by the entry with this number.
    Undone(u64),
    /// Put right by the entry with this number.
    Corrected(u64),
}

/// An entry of the book, in words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Entry {
    pub seq: u64,
    /// When it was written down.
    pub at: DateTime<Utc>,
    /// When it happened, if that was another moment.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub when: Option<DateTime<Utc>>,
    pub by: String,
    /// What kind of entry, in a word: "turn", "weight", "reading", "plan", "kitchen", "note", "taste", "trouble".
    pub kind: String,
    pub says: String,
    pub holds: Holds,
}

/// The recipe a batch was cured by.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Recipe {
    pub salt_percent: f64,
    pub sugar_percent: f64,
    /// mg/kg of sodium nitrite; nothing for a cure without.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nitrite_mg_per_kg: Option<f64>,
    pub days_per_kg: f64,
    pub turn_every_days: f64,
}

/// The packs of a joint, as they were counted and taken.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Counted {
    pub joint: String,
    /// How many there were; nothing where nobody counted.
    pub packs: Option<u32>,
    /// What all of them weighed together, where somebody said.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub grams: Option<f64>,
    /// What became of those that are no longer there ("eaten"), and of how many.
    pub gone: Vec<(String, u32)>,
    pub left: Option<u32>,
    /// The first moment at which any of them was counted or taken.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seen: Option<DateTime<Utc>>,
    /// Of the last count.
    pub when: Option<DateTime<Utc>>,
    pub by: String,
}

/// What a joint of a batch came to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Came {
    pub joint: String,
    pub outcome: String,
    #[serde(skip)]
    pub product: Outcome,
    /// Green, kg.
    pub kg: f64,
    /// Whether that is what a scale said.
    pub weighed: bool,
    /// Packed weight that the yields make of it, kg.
    pub table_kg: f64,
    pub frozen: bool,
    /// When it was cooked, if it was, and when it was packed: by the record, else as planned.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cooked: Option<DateTime<Utc>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub packed: Option<DateTime<Utc>>,
    /// Whether that is on record.
    pub packed_told: bool,
    /// First and last number on the labels of its packs.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub numbers: Option<(u32, u32)>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub packs: Option<Counted>,
    /// Days in the brine, put in to lifted, as they happened.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub brine_days: Option<f64>,
    /// Minutes of simmer, planned and as it happened.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub simmer: Option<(i64, i64)>,
    pub tastes: Vec<Tasted>,
    pub notes: Vec<String>,
}

/// A batch that was cured before.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Before {
    pub name: String,
    pub began: DateTime<Utc>,
    pub recipe: Recipe,
    pub joints: Vec<Came>,
}

/// What has happened. Sets by the stable names of tasks.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Record {
    pub done: HashSet<String>,
    pub pinned: HashSet<String>,
    pub moved: HashSet<String>,
    /// More about tasks, by id: when, and by whom.
    pub tasks: BTreeMap<String, Happened>,
    /// In order of time, each of these.
    pub readings: Vec<Read>,
    pub weights: Vec<Weighed>,
    pub collected: Vec<Collected>,
    pub notes: Vec<Noted>,
    pub tastes: Vec<Tasted>,
    /// Packs of the joints that are in the kitchen.
    pub packs: Vec<Counted>,
    pub troubles: Vec<Trouble>,
    /// Which late turns are among them.
    pub turns_told: Vec<TurnTold>,
    /// By joint: minutes in the brine asked for over the rule, by the rulings on what went wrong.
    pub longer: BTreeMap<String, i32>,
    /// Every entry, in the order written.
    pub entries: Vec<Entry>,
    /// Batches that were finished, the oldest first.
    pub before: Vec<Before>,
}

impl Record {
    /// Ticks a task off.
    pub fn finish(&mut self, id: &str, at: DateTime<Utc>, by: &str) {
        self.done.insert(id.to_owned());
        let t = self.tasks.entry(id.to_owned()).or_default();
        t.finished = Some(at);
        by.clone_into(&mut t.by);
    }
}
