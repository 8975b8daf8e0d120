//! What a line of the journal says: who recorded which act, and when.

use super::packs::Gone;
use crate::process::Kind;
use chrono::{DateTime, Datelike, Utc};
use serde::{Deserialize, Deserializer, Serialize};
use serde_json::value::RawValue;
use std::sync::Arc;

/// One line of the journal. Lines are numbered from 1 without a gap.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Event {
    pub seq: u64,
    /// When it was recorded, by the clock of the machine; not when it happened.
    pub at: DateTime<Utc>,
    /// Who recorded it, or nothing.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub by: String,
    pub act: Act,
}

/// Everything that can stand in a book. `when` is the moment it happened, which may be long before it was recorded.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Act {
    /// The book is begun, with the whole text of a kitchen file.
    Started {
        kitchen: String,
    },
    /// Any edit of the kitchen: the whole new text, and in a sentence what is different.
    KitchenChanged {
        kitchen: String,
        says: String,
    },
    /// A plan is taken on.
    PlanAccepted {
        plan: RawPlan,
        lines: Vec<PlanLine>,
        says: String,
        moved: u32,
    },
    /// A plan that was proposed is turned down: the old one is kept.
    PlanKept {
        says: String,
    },
    Task {
        id: String,
        what: TaskAct,
        when: DateTime<Utc>,
    },
    Weighed {
        joint: String,
        grams: f64,
        when: DateTime<Utc>,
    },
    Collected {
        joint: String,
        when: DateTime<Utc>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        celsius: Option<f64>,
    },
    Reading {
        of: ReadingOf,
        celsius: f64,
        when: DateTime<Utc>,
    },
    /// Something went wrong, and what the house's own table said to it.
    Trouble {
        kind: String,
        about: String,
        details: serde_json::Value,
        ruling: RulingRecord,
        when: DateTime<Utc>,
    },
    /// `about` is a joint, a tub, a cold space, a task, or nothing.
    Note {
        about: String,
        text: String,
        when: DateTime<Utc>,
    },
    /// `score` from 1 to 5.
    Taste {
        joint: String,
        score: u8,
        text: String,
        when: DateTime<Utc>,
    },
    /// Packs that came of a joint, and what they weigh together.
    Packs {
        joint: String,
        packs: u32,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        grams: Option<f64>,
        when: DateTime<Utc>,
    },
    /// Packs that are no longer there.
    Taken {
        joint: String,
        packs: u32,
        gone: Gone,
        when: DateTime<Utc>,
    },
    Snoozed {
        task: String,
        until: DateTime<Utc>,
    },
    Nudged {
        task: String,
        key: String,
        when: DateTime<Utc>,
    },
    /// The act of that line does not count; the line stays.
    Undone {
        seq: u64,
    },
    /// The act of that line counts again.
    Redone {
        seq: u64,
    },
    /// In place of the act of that line this one counts; the line stays.
    Corrected {
        seq: u64,
        act: Box<Act>,
    },
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TaskAct {
    Started,
    Finished,
    Skipped { why: String },
}

/// What a temperature was read of.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ReadingOf {
    /// The thickest point of a joint.
    Core {
        joint: String,
    },
    Space {
        name: String,
    },
    Brine {
        tub: String,
    },
    Other {
        what: String,
    },
}

/// What the house's table said to a trouble.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct RulingRecord {
    /// What it is and why, in plain words.
    pub says: String,
    /// What a person has to do, in order.
    pub to_do: Vec<String>,
    /// The limit that was missed; empty when none was.
    pub deviation: String,
    /// What was done about it.
    pub corrective: String,
    /// What it does to the plan, as data.
    #[serde(skip_serializing_if = "serde_json::Value::is_null")]
    pub effect: serde_json::Value,
}

/// A task of an accepted plan, in short: enough to know what was to be done when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlanLine {
    pub id: String,
    pub kind: Kind,
    /// The task's one sentence.
    pub says: String,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub joints: Vec<String>,
    /// Kit it takes: tub, pot, cold space.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub things: Vec<String>,
    pub start: DateTime<Utc>,
    pub end: DateTime<Utc>,
    /// Busy hands; 0 for work that does itself.
    pub hands_minutes: i32,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub who: Option<String>,
}

/// A plan as its own JSON, kept letter for letter; this room does not look inside.
#[derive(Debug, Clone, Serialize)]
#[serde(transparent)]
pub struct RawPlan(Arc<RawValue>);

impl RawPlan {
    /// # Errors
    /// When the text is not JSON.
    pub fn new(json: &str) -> Result<Self, serde_json::Error> {
        serde_json::from_str(json)
    }

    /// A journal line is one line: whatever the text was laid out like, it is kept without line ends.
    fn flat(value: Box<RawValue>) -> Result<Self, serde_json::Error> {
        if !value.get().contains(['\n', '\r']) {
            return Ok(Self(value.into()));
        }
        let flat: serde_json::Value = serde_json::from_str(value.get())?;
        Ok(Self(serde_json::value::to_raw_value(&flat)?.into()))
    }

    pub fn json(&self) -> &str {
        self.0.get()
    }
}

impl<'de> Deserialize<'de> for RawPlan {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        Self::flat(Box::deserialize(d)?).map_err(serde::de::Error::custom)
    }
}

impl PartialEq for RawPlan {
    fn eq(&self, other: &Self) -> bool {
        self.json() == other.json()
    }
}

impl Event {
    /// Whether all its moments lie in years that calendars reckon with. A clock may be wrong by decades; a moment at the end of all
    /// that can be written is damage, and nothing can be added to it.
    pub fn is_of_this_age(&self) -> bool {
        let sane = |when: DateTime<Utc>| (1900..2300).contains(&when.year());
        let mut act = &self.act;
        while let Act::Corrected { act: inner, .. } = act {
            act = inner;
        }
        let more = match act {
            Act::Snoozed { until, .. } => sane(*until),
            Act::PlanAccepted { lines, .. } => lines.iter().all(|l| sane(l.start) && sane(l.end)),
            _ => act.when().is_none_or(sane),
        };
        more && sane(self.at)
    }
}

impl Act {
    /// The kind in a word, as it is called in the journal and in `turnday history --kind`.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Started { .. } => "started",
            Self::KitchenChanged { .. } => "kitchen",
            Self::PlanAccepted { .. } | Self::PlanKept { .. } => "plan",
            Self::Task { .. } => "task",
            Self::Weighed { .. } => "weighed",
            Self::Collected { .. } => "collected",
            Self::Reading { .. } => "reading",
            Self::Trouble { .. } => "trouble",
            Self::Note { .. } => "note",
            Self::Taste { .. } => "taste",
            Self::Packs { .. } => "packs",
            Self::Taken { .. } => "taken",
            Self::Snoozed { .. } => "snoozed",
            Self::Nudged { .. } => "nudged",
            Self::Undone { .. } => "undone",
            Self::Redone { .. } => "redone",
            Self::Corrected { .. } => "corrected",
        }
    }

    /// Every kind that [`Act::kind`] gives.
    pub const KINDS: [&str; 17] = [
        "started",
        "kitchen",
        "plan",
        "task",
        "weighed",
        "collected",
        "reading",
        "trouble",
        "note",
        "taste",
        "packs",
        "taken",
        "snoozed",
        "nudged",
        "undone",
        "redone",
        "corrected",
    ];

    /// When it happened, if it says so.
    pub const fn when(&self) -> Option<DateTime<Utc>> {
        match self {
            Self::Task { when, .. }
            | Self::Weighed { when, .. }
            | Self::Collected { when, .. }
            | Self::Reading { when, .. }
            | Self::Trouble { when, .. }
            | Self::Note { when, .. }
            | Self::Taste { when, .. }
            | Self::Packs { when, .. }
            | Self::Taken { when, .. }
            | Self::Nudged { when, .. } => Some(*when),
            _ => None,
        }
    }

    /// Whether a person can take it back.
    pub const fn can_be_undone(&self) -> bool {
        !matches!(self, Self::Started { .. } | Self::Undone { .. } | Self::Redone { .. } | Self::Nudged { .. })
    }

    /// Whether another act can be put in its place. What hangs on order (kitchen, plan) is undone and done anew instead.
    pub const fn can_be_corrected(&self) -> bool {
        matches!(
            self,
            Self::Task { .. }
                | Self::Weighed { .. }
                | Self::Collected { .. }
                | Self::Reading { .. }
                | Self::Trouble { .. }
                | Self::Note { .. }
                | Self::Taste { .. }
                | Self::Packs { .. }
                | Self::Taken { .. }
        )
    }
}
