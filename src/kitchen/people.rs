//! People: when each is at home, when each can work, and what each does.

use super::{Clock, Days, Moment};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A kind of work. A person without `does` does everything.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Skill {
    /// Brine, putting in, lifting, rinsing, resting.
    Cure,
    /// Turning tubs.
    Turn,
    /// Simmer, score, glaze, bake, chill.
    Cook,
    /// Slice, cut, vacuum-pack, freeze.
    Pack,
}

/// Hours that come round every week.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Hours {
    /// The days on which it holds.
    #[serde(default = "every_day")]
    pub days: Days,
    /// When it begins.
    pub from: Clock,
    /// When not later than `from`, it runs over midnight.
    pub to: Clock,
    /// First date on which it holds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub since: Option<Moment>,
    /// Last date on which it holds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub until: Option<Moment>,
    /// What it is, in a person's words ("school run").
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub why: String,
}

fn yes() -> bool {
    true
}

fn every_day() -> Days {
    Days::EVERY
}

/// A single stretch of time away from the kitchen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Away {
    /// When it begins.
    pub from: Moment,
    /// When it ends. A bare date is the first minute of that day.
    pub to: Moment,
    /// What it is, in a person's words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub why: String,
}

/// When a person sleeps. Asleep is not at home: a pot is not watched.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Sleep {
    /// Bedtime.
    pub from: Clock,
    /// Getting up.
    pub to: Clock,
}

impl Default for Sleep {
    fn default() -> Self {
        Self { from: Clock::at(22, 30), to: Clock::at(6, 30) }
    }
}

/// Somebody who can be in the kitchen.
///
/// At home: whenever not asleep, not `busy` and not `away`. Able to work: when at home and, if `works` is given,
/// inside it. Staff who do not live here are at home only while they work.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Person {
    /// What they are called in the plan; no two people share a name.
    pub name: String,
    /// False for staff, who are in the kitchen only while they work.
    #[serde(default = "yes")]
    pub lives_here: bool,
    /// Weekly hours out of the house: a job, the school run, market day.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub busy: Vec<Hours>,
    /// Weekly hours in which they work in the kitchen. Left out: whenever at home.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub works: Option<Vec<Hours>>,
    /// Single spells away from the kitchen.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub away: Vec<Away>,
    /// When they sleep. Left out: 22:30 to 06:30; for staff whose hours are given, never in those hours.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sleep: Option<Sleep>,
    /// What they do. Left out: everything.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub does: Option<Vec<Skill>>,
}

impl Person {
    /// The night that is kept free of work. Staff who come for given hours are awake in them, a baker's at four too,
    /// unless their sleep is told.
    pub fn asleep(&self) -> Option<Sleep> {
        let comes = !self.lives_here && self.works.is_some();
        self.sleep.or_else(|| (!comes).then(Sleep::default))
    }
}
