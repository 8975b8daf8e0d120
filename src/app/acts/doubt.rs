//! What a person should look at again before an act goes on record, by what the record says already.

use super::moment;
use crate::book::{Act, Lot, PlanLine, ReadingOf, State, TaskAct};
use crate::kitchen::{Limits, Zone};
use crate::plan::late_turns::quoted;
use crate::plan::length;
use crate::process::{Kind, durations};
use crate::science::chill::COLD;
use chrono::{DateTime, TimeDelta, Utc};

/// How far before its time a task may be ticked off with a word.
const EARLY: TimeDelta = TimeDelta::hours(24);
/// Longer than any batch lies in its brine: whatever is told so far before its time is a slip.
const FAR: TimeDelta = TimeDelta::days(60);
/// A joint may be lifted so much before its days are up with a word; more is asked about. House judgement, no source.
const SHORT: TimeDelta = TimeDelta::hours(6);

/// What is odd about an act; and whether it is so odd that it wants saying twice.
pub fn doubt(act: &Act, state: &State, zone: Zone) -> Option<(String, bool)> {
    match act {
        Act::Task { id, what, when } => {
            let line = &state.lines.get(id)?.line;
            // A year typed wrong stretches every plan from here on back to it.
            if line.start - *when > FAR {
                let (planned, told) = (moment(line.start, zone), moment(*when, zone));
                return Some((format!("{id} is planned for {planned}; {told} is long before that"), true));
            }
            if *what == TaskAct::Finished { finished(line, state, zone, *when) } else { None }
        }
        Act::Reading { of, celsius, when } => warm(of, *celsius, *when, state),
        Act::Packs { joint, grams, when, .. } => {
            not_yet(joint, *when, state, zone).or_else(|| unlikely(joint, (*grams)?, state))
        }
        Act::Taken { joint, when, .. } => of_two(joint, state).or_else(|| not_yet(joint, *when, state, zone)),
        Act::Taste { joint, when, .. } => not_yet(joint, *when, state, zone),
        _ => None,
    }
}

/// Packs of a joint that is to be packed later, where another went by its name before: they are taken to be that one's.
fn not_yet(joint: &str, when: DateTime<Utc>, state: &State, zone: Zone) -> Option<(String, bool)> {
    let before = state.lots.of(joint).any(|l| l.over);
    let lines = state.lines.planned();
    let pack = lines.iter().find(|l| l.kind == Kind::VacuumPack && l.joints.iter().any(|j| j == joint))?;
    let says = format!(
        "{joint} is to be packed {}, so this is put down to the one that went by its name before",
        moment(pack.start, zone)
    );
    (before && !state.may_be_packed(joint, when)).then_some((says, false))
}

/// Packs that weigh more than the pork they are of, or less than half of what the yields make of it.
fn unlikely(joint: &str, grams: f64, state: &State) -> Option<(String, bool)> {
    let own = state.kitchen.joints.iter().find(|j| j.name == joint)?;
    let (green, table, kg) = (own.planned_weight().as_kg(), durations::packed_kg(own), grams / 1000.0);
    if kg > green {
        return Some((format!("{kg:.2} kg of packs from {green:.2} kg of green pork"), true));
    }
    let little = format!("{kg:.2} kg of packs in all, where the yields make {table:.2} kg of {joint}");
    (kg < table / 2.0).then_some((little, true))
}

/// Packs of two batches under one name: the older are taken to be the ones.
fn of_two(joint: &str, state: &State) -> Option<(String, bool)> {
    let left: Vec<u32> = state.lots.of(joint).filter_map(Lot::left).filter(|&n| n > 0).collect();
    let (first, rest) = left.split_first()?;
    let rest = rest.iter().fold(0u32, |sum, n| sum.saturating_add(*n));
    let says = format!(
        "there are packs of {joint} of two batches; these come off the older first ({first} left of it, {rest} of the newer)"
    );
    (rest > 0).then_some((says, false))
}

fn finished(line: &PlanLine, state: &State, zone: Zone, when: DateTime<Utc>) -> Option<(String, bool)> {
    // Only what was read since it was begun; not told when that was, it took as long as planned.
    let begun =
        state.tasks.get(&line.id).and_then(|t| t.started.as_ref()).map_or(when - (line.end - line.start), |m| m.when);
    let core = |joint: &String| -> Option<(String, f64)> {
        let mine = state.readings.iter().filter(|r| {
            let its = matches!(&r.of, ReadingOf::Core { joint: j } if j == joint);
            its && r.mark.when >= begun && r.mark.when <= when
        });
        mine.max_by_key(|r| r.mark.when).map(|r| (joint.clone(), r.celsius))
    };
    let limits = Limits::with(&state.kitchen.limits);
    match line.kind {
        Kind::Simmer => {
            let limit = limits.get("core_celsius");
            let (joint, c) = line.joints.iter().filter_map(core).find(|(_, c)| *c < limit.value)?;
            let says = format!("{joint} was {c:.1} °C at the core when last read; {}", limit.says);
            Some((format!("{says}. `trouble core-not-up` says what to do"), true))
        }
        Kind::Chill => {
            let (joint, c) = line.joints.iter().filter_map(core).find(|(_, c)| *c > COLD.as_celsius())?;
            Some((format!("{joint} was {c:.1} °C at the core when last read, not 5 °C or under"), true))
        }
        Kind::Rinse => line.joints.iter().find_map(|j| short(j, line, state, zone, when)),
        _ => (line.start - when > EARLY)
            .then(|| (format!("{} was not due before {}", line.id, moment(line.start, zone)), false)),
    }
}

/// A joint that comes out before its days in the brine are up: what came out too soon cannot be put back as if it had stayed.
fn short(joint: &str, lift: &PlanLine, state: &State, zone: Zone, when: DateTime<Utc>) -> Option<(String, bool)> {
    let own = state.kitchen.joints.iter().find(|j| j.name == joint)?;
    let lines = state.lines.planned();
    let put_in = lines.iter().find(|l| l.kind == Kind::Submerge && l.joints.iter().any(|j| j == joint))?;
    let mark = state.tasks.get(&put_in.id).and_then(|t| t.finished.as_ref().or(t.started.as_ref()));
    let in_since = mark.map_or(put_in.start, |m| m.when);
    let longer = super::history_of(state, when).longer.get(joint).copied().unwrap_or(0);
    let days = durations::cure(own, &state.kitchen.cure) + longer;
    let up = in_since + TimeDelta::minutes(i64::from(days));
    let by = length((up - when).num_minutes());
    (when < up).then(|| (format!("{}: {by} short of its days, up {}", lift.id, moment(up, zone)), up - when > SHORT))
}

/// Meat that lies too warm: it is not only a figure to keep.
fn warm(of: &ReadingOf, celsius: f64, when: DateTime<Utc>, state: &State) -> Option<(String, bool)> {
    let limits = Limits::with(&state.kitchen.limits);
    let limit = limits.get("cure_space_celsius");
    if celsius <= limit.value {
        return None;
    }
    let marks = |id: &str| state.tasks.get(id).into_iter().flat_map(|t| t.started.iter().chain(&t.finished));
    let begun = |id: String| marks(&id).any(|m| m.when <= when);
    let done = |id: String| state.tasks.get(&id).and_then(|t| t.finished.as_ref()).is_some_and(|m| m.when <= when);
    // As it was when it was read. Tubs with meat in them, by the load that was put in and is not lifted.
    let full = |l: &&PlanLine| {
        l.kind == Kind::Submerge && begun(l.id.clone()) && !l.joints.iter().all(|j| done(format!("lift {j}")))
    };
    let lines: Vec<&PlanLine> = state.lines.planned();
    let about = |l: &&PlanLine| match of {
        // A tub may be called by the load that lies in it.
        ReadingOf::Brine { tub } => l.things.iter().any(|t| Some(t.as_str()) == tub.split(" (load ").next()),
        ReadingOf::Space { name } => l.things.contains(name),
        _ => false,
    };
    let loads: Vec<&PlanLine> = lines.into_iter().filter(full).filter(about).collect();
    // By the tub, so that it is ruled on for all that lies in it; a reading of a space is about every tub there.
    let tell = |l: &&PlanLine| {
        let tub = l.id.strip_prefix("put in ")?.split(" (load ").next()?;
        Some(format!("`turnday trouble warm --tub {} --reading {celsius} --for HOW-LONG --log`", quoted(tub)))
    };
    let commands: Vec<String> = loads.iter().filter_map(tell).collect();
    let (say, put) = match commands.as_slice() {
        [] => return None,
        [_] => ("says", "puts"),
        _ => ("say", "put"),
    };
    let inside = loads.iter().flat_map(|l| &l.joints).filter(|j| !done(format!("lift {j}")));
    let inside: Vec<&str> = inside.map(String::as_str).collect();
    let says = format!(
        "{celsius} °C with {} in it; {}. For how long? {} {say} what to do, and {put} it on record",
        inside.join(" and "),
        limit.says,
        commands.join(" and "),
    );
    Some((says, false))
}
