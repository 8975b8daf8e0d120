//! What a person should look at again before an act goes on record, by what the record says already.

use super::moment;
use crate::book::{Act, PlanLine, ReadingOf, State, TaskAct};
use crate::kitchen::{Limits, Zone};
use crate::process::Kind;
use crate::science::chill::COLD;
use chrono::{DateTime, TimeDelta, Utc};

/// How far before its time a task may be ticked off with a word.
const EARLY: TimeDelta = TimeDelta::hours(24);
/// Longer than any batch lies in its brine: whatever is told so far before its time is a slip.
const FAR: TimeDelta = TimeDelta::days(60);
/// A reading older than this says nothing of a cook day.
const LATELY: TimeDelta = TimeDelta::hours(36);

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
        Act::Reading { of, celsius, .. } => warm(of, *celsius, state),
        _ => None,
    }
}

fn finished(line: &PlanLine, state: &State, zone: Zone, when: DateTime<Utc>) -> Option<(String, bool)> {
    let core = |joint: &String| -> Option<(String, f64)> {
        let mine = state.readings.iter().filter(|r| {
            matches!(&r.of, ReadingOf::Core { joint: j } if j == joint)
                && r.mark.when <= when
                && when - r.mark.when < LATELY
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
        kind => {
            let planned = moment(line.start, zone);
            (line.start - when > EARLY).then(|| match kind {
                // What comes out too soon cannot be put back as if it had stayed.
                Kind::Rinse => (format!("{}, not due before {planned}, is not cured through", line.id), true),
                _ => (format!("{} was not due before {planned}", line.id), false),
            })
        }
    }
}

/// Meat that lies too warm: it is not only a figure to keep.
fn warm(of: &ReadingOf, celsius: f64, state: &State) -> Option<(String, bool)> {
    let limits = Limits::with(&state.kitchen.limits);
    let limit = limits.get("cure_space_celsius");
    if celsius <= limit.value {
        return None;
    }
    let begun = |id: String| state.tasks.get(&id).is_some_and(|t| t.started.is_some() || t.finished.is_some());
    let done = |id: String| state.tasks.get(&id).is_some_and(|t| t.finished.is_some());
    // Tubs with meat in them, by the load that was put in and is not lifted.
    let full = |l: &&PlanLine| {
        l.kind == Kind::Submerge && begun(l.id.clone()) && !l.joints.iter().all(|j| done(format!("lift {j}")))
    };
    let lines: Vec<&PlanLine> = state.lines.planned();
    let mut loads = lines.into_iter().filter(full);
    let load = match of {
        ReadingOf::Brine { tub } => loads.find(|l| l.things.contains(tub)),
        ReadingOf::Space { name } => loads.find(|l| l.things.contains(name)),
        _ => None,
    }?;
    let says = format!(
        "{celsius} °C with {} in it; {}. For how long? `turnday trouble warm --joint {} --reading {celsius} --for 3h --log` \
         says what to do, and puts it on record",
        load.joints.join(" and "),
        limit.says,
        load.joints.first().map_or("NAME", String::as_str)
    );
    Some((says, false))
}
