//! From a book to what a replan takes: what has happened, and what was said to have changed since the plan was taken on.

use super::trouble::named;
use crate::book::{Act, Event, ReadingOf, ReadingRecord, State, TroubleRecord};
use crate::plan::cores::CoreReading;
use crate::plan::history::{Happened, History, State as Stands};
use crate::plan::late_turns::{KIND, TurnTold};
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

/// The record of a book as a planner reads it.
pub fn history_of(state: &State, now: DateTime<Utc>) -> History {
    let mut tasks = BTreeMap::new();
    for (id, t) in &state.tasks {
        let planned = state.lines.get(id).map(|l| (l.line.start, l.line.end));
        let happened = match (&t.skipped, &t.started, &t.finished) {
            (Some((mark, _)), ..) => Happened { start: mark.when, end: None, state: Stands::Skipped },
            (None, started, Some(finished)) => {
                // Ticked off without a beginning: it took as long as it was planned to.
                let length = planned.map_or_else(chrono::TimeDelta::zero, |(a, b)| b - a);
                let start = started.as_ref().map_or(finished.when - length, |m| m.when).min(finished.when);
                Happened { start, end: Some(finished.when), state: Stands::Done }
            }
            (None, Some(started), None) => Happened { start: started.when, end: None, state: Stands::Running },
            (None, None, None) => continue,
        };
        tasks.insert(id.clone(), happened);
    }
    let core = |r: &ReadingRecord| match &r.of {
        ReadingOf::Core { joint } => Some(CoreReading { joint: joint.clone(), at: r.mark.when, celsius: r.celsius }),
        _ => None,
    };
    let readings = state.readings.iter().filter_map(core).collect();
    History {
        longer: longer(state),
        tasks,
        readings,
        turns_told: turns_told(state),
        by_book: true,
        ..History::none(now)
    }
}

/// Minutes more in the brine, by joint, from the rulings on what went wrong.
pub fn longer(state: &State) -> BTreeMap<String, i32> {
    let mut out: BTreeMap<String, i32> = BTreeMap::new();
    for t in &state.troubles {
        for hours in more_hours(t) {
            for joint in joints_of(t, state) {
                *out.entry(joint).or_default() += (hours.min(2_000.0) * 60.0) as i32;
            }
        }
    }
    out
}

/// Late turns that were told as trouble.
pub fn turns_told(state: &State) -> Vec<TurnTold> {
    let told = |t: &TroubleRecord| TurnTold {
        at: t.mark.when,
        joints: joints_of(t, state),
        hours: t.details.get("hours").and_then(serde_json::Value::as_f64).filter(|h| h.is_finite()),
        extra_hours: more_hours(t).sum(),
        line: t.mark.seq,
    };
    let of_here = |t: &TurnTold| !t.joints.is_empty();
    state.troubles.iter().filter(|t| t.kind == KIND).map(told).filter(of_here).collect()
}

/// Hours more in the brine, effect by effect of a ruling.
fn more_hours(t: &TroubleRecord) -> impl Iterator<Item = f64> {
    let list = t.ruling.effect.as_array().cloned().unwrap_or_else(|| vec![t.ruling.effect.clone()]);
    list.into_iter().filter_map(|e| {
        let kind = e.get("effect").and_then(serde_json::Value::as_str).unwrap_or_default();
        let hours = e.get("hours").and_then(serde_json::Value::as_f64).filter(|h| h.is_finite() && *h > 0.0);
        hours.filter(|_| matches!(kind, "extra-cure" | "not-counted" | "restart-clock"))
    })
}

/// The joints of the kitchen that a trouble was told of; a record from before these were written down has a joint, or a tub and
/// with it all that lies in it.
pub fn joints_of(t: &TroubleRecord, state: &State) -> Vec<String> {
    let named = named(&t.details);
    let put_in = format!("put in {}", t.about);
    let lies_in = |j: &str| state.lines.get(&put_in).is_some_and(|l| l.line.joints.iter().any(|x| x == j));
    let about = |j: &str| match named.as_slice() {
        [] => j == t.about || lies_in(j),
        names => names.contains(&j),
    };
    let here = state.kitchen.joints.iter().map(|j| &j.name);
    here.filter(|j| about(j) && !state.is_before(j, t.mark.seq)).cloned().collect()
}

/// What was said to have changed since the plan was taken on, a sentence each.
pub fn said_since(events: &[Event], state: &State) -> Vec<String> {
    let counts = |e: &&Event| e.seq > state.plan_seq && !state.undone.contains(&e.seq);
    events
        .iter()
        .filter(counts)
        .filter_map(|e| match &e.act {
            Act::KitchenChanged { says, .. } => Some(says.clone()),
            Act::Trouble { ruling, about, .. } => Some(format!("{about}: {}", ruling.says)),
            _ => None,
        })
        .filter(|s| !s.is_empty())
        .collect()
}
