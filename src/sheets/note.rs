//! A note to hand a neighbour, and each person's own list.

use super::words;
use crate::plan::{Kind, Plan, PlannedTask};
use std::fmt::Write;

/// The jobs of one person (or of all) between two dates, as a note somebody can follow who has never seen a tub.
pub fn note(plan: &Plan, tasks: &[&PlannedTask], to: &str) -> String {
    let mut out = format!("For {to}: {}\n", plan.kitchen);
    if tasks.is_empty() {
        out += "Nothing to do in these days.\n";
        return out;
    }
    for t in tasks {
        let _ = writeln!(out, "\n{}  {}", t.start.format("%A %-d %B, %H:%M"), words::short(t));
        let place = words::place(plan, t);
        if !place.is_empty() {
            let _ = writeln!(out, "  Where: {place}.");
        }
        if t.kind == Kind::Turn {
            out += "  Wash your hands. Lift the lid, turn every piece over, stir up what has settled, skim, put the weight back so\n  that \
                    nothing stands out of the brine, lid on. Read the fridge thermometer.\n";
        } else {
            let _ = writeln!(out, "  {}.", t.says);
        }
        let _ = writeln!(out, "  {}", words::takes(t));
        if (t.latest - t.start).num_minutes() >= 10 {
            let _ = writeln!(
                out,
                "  Any time from {} to {} will do.",
                t.start.format("%H:%M"),
                t.latest.format("%a %-d %b %H:%M")
            );
        }
        out += "  Done at ____:____   fridge ______ °C   initials ____\n";
    }
    out += "\nOver 5 °C, a sour smell, strings in the brine or meat standing out of it: ring before you do anything else.\n";
    out
}
