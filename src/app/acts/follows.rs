//! What follows from an act, told when it is recorded.

use super::turns_told;
use crate::book::{Act, State, TaskAct};
use crate::kitchen::{Joint, Limits};
use crate::plan::late_turns::parted;
use crate::process::{Kind, durations};
use crate::units::Mass;
use chrono::{DateTime, Utc};

/// What follows from an act that was recorded, in a sentence; mostly nothing. Another weight is another plan, which a screen makes by
/// itself.
pub fn follows(act: &Act, state: &State) -> String {
    match act {
        Act::Weighed { joint, grams, .. } => of_weight(joint, *grams, state),
        Act::Taken { joint, .. } | Act::Packs { joint, .. } => of_packs(joint, state),
        Act::Task { id, what: TaskAct::Finished, when } => of_turn(id, *when, state),
        _ => String::new(),
    }
}

/// How many packs of a name are left; nothing where none are gone.
fn of_packs(joint: &str, state: &State) -> String {
    let (left, all) = state.lots.left(joint);
    if all == 0 {
        return format!("What is left is not known until it is counted: `turnday log packs {joint} 11 1.6kg`.");
    }
    if left < all { format!("{left} of {all} left.") } else { String::new() }
}

/// A turn that shows a gap to be shorter than what was ruled of it.
fn of_turn(id: &str, when: DateTime<Utc>, state: &State) -> String {
    let Some(line) = state.lines.get(id).map(|l| &l.line).filter(|l| l.kind == Kind::Turn) else {
        return String::new();
    };
    let told = turns_told(state);
    let Some(t) = parted(&Limits::with(&state.kitchen.limits), &line.joints, when, &told) else { return String::new() };
    let (hours, line, days) = (t.hours.unwrap_or_default(), t.line, t.extra_hours / 24.0);
    format!(
        "Line {line} says {:.1} days went by without a turn, and rules {days:.1} days more in the brine: if this turn was done then, take that back with `turnday undo {line}`.",
        hours / 24.0
    )
}

fn of_weight(joint: &str, grams: f64, state: &State) -> String {
    let Some(j) = state.kitchen.joints.iter().find(|j| j.name == *joint) else { return String::new() };
    let cure = &state.kitchen.cure;
    let asked = |weighed| f64::from(durations::cure(&Joint { weighed, ..j.clone() }, cure));
    let minutes = asked(Some(Mass::kg(grams / 1000.0))) - asked(None);
    // Within an hour and a half of curing nothing moves.
    if minutes.abs() < 90.0 {
        return String::new();
    }
    let (more, days) = (if minutes > 0.0 { "more" } else { "less" }, minutes.abs() / 1440.0);
    let expected = (j.weight.as_kg() * 100.0).round() / 100.0;
    format!("Expected was {expected} kg: about {days:.1} days {more} in the brine.")
}
