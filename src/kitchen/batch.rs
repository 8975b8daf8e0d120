//! The batch: when planning starts, and what the people wish for.

use super::{Clock, Days, Moment};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Dates that a person wants left alone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NamedDays {
    /// First date.
    pub from: Moment,
    /// Last date; the same day when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<Moment>,
    /// What it is, in a person's words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub why: String,
}

/// The joints planned together, and the wishes that go with them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Batch {
    /// Nothing is planned before this moment. Left out: the first arrival, or as late as the due dates allow.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub starts: Option<Moment>,
    /// Days of the week on which a cook day is welcome; every day when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cook_days: Option<Days>,
    /// A cooked ham should be in the chill by this time of day.
    pub in_chill_by: Clock,
    /// Nothing should start before this time of day.
    pub not_before: Clock,
    /// Nothing should end after this time of day.
    pub not_after: Clock,
    /// Dates to leave alone if it can be done.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub leave_alone: Vec<NamedDays>,
    /// Spare time wanted before each ready-by, hours.
    pub spare_hours: f64,
    /// Joints that must share a tub, by name.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub together: Vec<Vec<String>>,
    /// Joints that must not share a tub, by name.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub apart: Vec<Vec<String>>,
    /// A registered food business: one lot in a tub, separate machines, no home judgement.
    pub business: bool,
}

impl Default for Batch {
    fn default() -> Self {
        Self {
            starts: None,
            cook_days: None,
            in_chill_by: Clock::at(17, 0),
            not_before: Clock::at(6, 30),
            not_after: Clock::at(22, 0),
            leave_alone: Vec::new(),
            spare_hours: 24.0,
            together: Vec::new(),
            apart: Vec::new(),
            business: false,
        }
    }
}
