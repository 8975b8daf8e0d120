//! The stretch of time that is planned on: from before the first pork to well after the last dish.

use crate::kitchen::{Kitchen, Limits};
use crate::process::{Axis, durations};
use crate::schedule::Minute;
use chrono::{DateTime, TimeDelta, Utc};

/// How far ahead to look: long enough for every load to follow every other, short enough to stay quick.
fn horizon_days(kitchen: &Kitchen, limits: &Limits) -> u32 {
    let longest = kitchen.joints.iter().map(|j| durations::cure(j, &kitchen.cure)).max().unwrap_or(0);
    let waves = kitchen.joints.len().div_ceil(kitchen.kit.tubs.len().max(1)) as i64;
    let one = i64::from(longest) / 1440 + i64::from(limits.minutes("rest_limit")) / 1440 + 14;
    (one * waves.min(12) + 21).clamp(30, 700) as u32
}

/// The axis a kitchen is planned on, and the minute before which nothing is planned.
pub fn axis_for(kitchen: &Kitchen, now: DateTime<Utc>, limits: &Limits) -> (Axis, Minute) {
    let first_arrival = kitchen.joints.iter().filter_map(|j| j.arrives).min();
    let starts = match (kitchen.batch.starts, first_arrival) {
        (Some(s), _) => kitchen.zone.instant(s.0),
        // The brine may be made the evening before the first pork comes.
        (None, Some(a)) => kitchen.zone.instant(a.0) - TimeDelta::hours(36),
        (None, None) => now,
    };
    let last = kitchen
        .joints
        .iter()
        .flat_map(|j| [j.arrives, j.ready_by])
        .flatten()
        .map(|m| kitchen.zone.instant(m.0))
        .fold(starts, DateTime::max);
    let days = horizon_days(kitchen, limits) + (last - starts).num_days().clamp(0, 2000) as u32;
    let axis = Axis::new(kitchen.zone, kitchen.zone.civil(starts).date() - TimeDelta::days(1), days);
    let starts = axis.minute(starts);
    (axis, starts)
}

/// The axis on which a kitchen is planned again: from the first thing that happened to well past what was planned.
pub(super) fn axis_from(
    kitchen: &Kitchen,
    now: DateTime<Utc>,
    limits: &Limits,
    first: DateTime<Utc>,
    last: DateTime<Utc>,
) -> (Axis, Minute) {
    let (own, starts) = axis_for(kitchen, now, limits);
    let starts = own.instant(starts);
    let from = first.min(starts);
    let end = own.instant(own.horizon).max(last).max(now + TimeDelta::days(i64::from(horizon_days(kitchen, limits))));
    let days = (end - from).num_days().clamp(1, 3000) as u32 + 3;
    let axis = Axis::new(kitchen.zone, kitchen.zone.civil(from).date() - TimeDelta::days(1), days);
    let starts = axis.minute(starts);
    (axis, starts)
}
