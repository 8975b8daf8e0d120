//! Core readings of a cook day held against the limits: cooked through before it leaves the heat, cold before its time is up.
//!
//! Only what was read and is outside is told. That nothing was read is for the screens to say: it is no finding.

use super::PlannedTask;
use super::history::Deviation;
use super::words::length;
use crate::kitchen::limits::Limit;
use crate::kitchen::{Kitchen, Limits};
use crate::process::Kind;
use crate::process::arrangement::chill_limit;
use crate::science::chill::COLD;
use chrono::{DateTime, TimeDelta, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A probe in the thickest point of a joint.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CoreReading {
    pub joint: String,
    pub at: DateTime<Utc>,
    pub celsius: f64,
}

/// When a task was begun and finished, as far as that is on record.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Ran {
    pub begun: Option<DateTime<Utc>>,
    pub finished: Option<DateTime<Utc>>,
}

/// What is on record outside a limit, and went on all the same.
#[derive(Debug, Clone, PartialEq)]
pub struct Outside {
    /// The kind of trouble, in the house's table, that is about it: no other settles it.
    pub kind: &'static str,
    /// What is told from then on may settle it; what was told before knew nothing of it.
    pub since: DateTime<Utc>,
    /// The joints it is about.
    pub joints: Vec<String>,
    /// In a line that a small screen has room for; the deviation says the whole of it.
    pub short: String,
    pub deviation: Deviation,
}

/// Hams that were read outside the limits and went on all the same. `ran` knows the tasks on record by their ids.
pub fn outside(
    kitchen: &Kitchen,
    tasks: &[PlannedTask],
    ran: &dyn Fn(&str) -> Ran,
    readings: &[CoreReading],
) -> Vec<Outside> {
    let limits = Limits::with(&kitchen.limits);
    let mut out = Vec::new();
    for simmer in tasks.iter().filter(|t| t.kind == Kind::Simmer) {
        // The pot is still on, or has not been: nothing is settled.
        let Some(off) = ran(&simmer.id).finished else { continue };
        let on = ran(&simmer.id).begun.unwrap_or_else(|| off - (simmer.end - simmer.start));
        for joint in &simmer.joints {
            let after = |kind| tasks.iter().find(|t| t.kind == kind && t.joints.contains(joint));
            let mine = |from: DateTime<Utc>, to: Option<DateTime<Utc>>| {
                let within =
                    move |r: &&CoreReading| r.joint == *joint && r.at >= from && to.is_none_or(|to| r.at <= to);
                readings.iter().filter(within)
            };
            let chill = after(Kind::Chill).map(|c| (c, ran(&c.id)));
            let out_of_heat = after(Kind::Bake).and_then(|b| ran(&b.id).finished).unwrap_or(off);
            let core = limits.get("core_celsius");
            let hottest = mine(on, Some(out_of_heat)).map(|r| r.celsius).reduce(f64::max);
            let last = mine(on, Some(out_of_heat)).map(|r| r.at).max();
            if let Some((c, since)) = hottest.filter(|c| *c < core.value).zip(last) {
                let read = format!("{c:.1} °C at the most, as read");
                out.push(told("core-not-up", since, joint, &read, core, &simmer.id, 0));
            }
            let Some((chill, cooling)) = chill else { continue };
            // Ticked off without a beginning, a chill seems begun later than it was: it counts from the last moment it may be.
            let limit = limits.get(chill_limit(kitchen));
            let latest = out_of_heat + TimeDelta::minutes(i64::from(limits.minutes("bake_to_chill_limit")));
            let from = cooling.begun.map_or(out_of_heat, |b| b.min(latest));
            let until = from + TimeDelta::minutes(limit.value as i64);
            if mine(from, Some(until)).any(|r| r.celsius <= COLD.as_celsius()) {
                continue;
            }
            let last = mine(from, None).max_by_key(|r| r.at);
            let settled = |r: &&CoreReading| r.at > until || cooling.finished.is_some();
            if let Some(r) = last.filter(settled) {
                let over = (r.at - until).num_minutes().max(0);
                let over = i32::try_from(over).unwrap_or(i32::MAX);
                let read = format!("{:.1} °C when last read", r.celsius);
                out.push(told("not-cold", r.at, joint, &read, limit, &chill.id, over));
            }
        }
    }
    out
}

fn told(
    kind: &'static str,
    since: DateTime<Utc>,
    joint: &str,
    read: &str,
    limit: &Limit,
    task: &str,
    over: i32,
) -> Outside {
    let by = if over > 0 { format!(", {} past it", length(i64::from(over))) } else { String::new() };
    let deviation = Deviation {
        says: format!(
            "Outside the stated limit: {} ({joint}: {read}{by}). Decide what becomes of it, and write down why; if in doubt, \
             throw it out.",
            limit.says
        ),
        limit: limit.says.clone(),
        force: "safety".to_owned(),
        source: limit.source.clone(),
        tasks: vec![task.to_owned()],
        minutes: over,
        decide: true,
    };
    let short = format!("{joint}: {read}; outside the limit: {}. If in doubt, throw it out.", limit.says);
    Outside { kind, since, joints: vec![joint.to_owned()], short, deviation }
}
