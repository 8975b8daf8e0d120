//! The one sentence used for a task everywhere: timeline, day card, nudge, calendar, paper.

use super::When;
use crate::kitchen::{Kitchen, Outcome};
use crate::process::{Kind, Task, durations};

/// "a", "a and b", "a, b and c".
pub fn list(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// A sentence begun with a capital.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}

/// A length as the trade tells it: "10 min", "2 h 40", "15.6 days"; what is below zero with its sign.
pub fn length(minutes: i64) -> String {
    match minutes {
        m if m < 0 => format!("-{}", length(-m)),
        m if m < 90 => format!("{m} min"),
        m if m < 48 * 60 && m % 60 == 0 => format!("{} h", m / 60),
        m if m < 48 * 60 => format!("{} h {:02}", m / 60, m % 60),
        m => format!("{:.1} days", m as f64 / 1440.0),
    }
}

/// Day name, date and time.
pub fn moment(at: &When) -> String {
    at.format("%a %-d %b %H:%M").to_string()
}

/// The sentence for a task, without its time. `left` are the joints that stay in the tub after a lift.
pub fn sentence(kitchen: &Kitchen, task: &Task, left: &[usize]) -> String {
    let names: Vec<&str> = task.joints.iter().map(|j| kitchen.joints[*j].name.as_str()).collect();
    let who = list(&names);
    let with = &task.with;
    let first = task.joints.first().map(|j| &kitchen.joints[*j]);
    match task.kind {
        Kind::BrineMake if kitchen.cure.curing_salt.is_none() => format!("Weigh out and boil brine for {with}"),
        Kind::BrineMake => format!("Weigh out and boil brine for {with}; curing salt goes in only when it is cold"),
        Kind::Cool => format!("Cool the brine for {with} to 5 °C or under, probe it"),
        Kind::Submerge => format!("Put {who} in {with}, brine over, weight down"),
        Kind::Turn if names.is_empty() => format!("Turn {with}: move the meat, stir, skim, smell, note the fridge"),
        Kind::Turn => format!("Turn {with} ({who}): move the meat, stir, skim, smell, note the fridge"),
        Kind::Rinse if left.is_empty() => {
            format!("Lift {who} from {with} and rinse; brine down the drain, scald the tub")
        }
        Kind::Rinse => {
            let stay: Vec<&str> = left.iter().map(|j| kitchen.joints[*j].name.as_str()).collect();
            let s = if stay.len() == 1 { "s" } else { "" };
            format!("Lift {who} from {with} and rinse; the brine stays, {} stay{s} in and covered", list(&stay))
        }
        Kind::Soak => format!("Soak {who} in cold water in the fridge, change it once"),
        Kind::Dry => format!("Dry {who} and set on a rack in the fridge"),
        Kind::Rest => format!("{who} rests on the rack"),
        Kind::Simmer => format!("Pot up {who} in {with}, bring to a bare simmer; core 75 °C, or 70 °C for 2 min"),
        Kind::ScoreAndGlaze => format!("Skin, score and glaze {who} while hot"),
        Kind::Bake => format!("Bake {who} at 180 °C"),
        Kind::Chill => format!("Chill {who} in {with} to 5 °C at the core, probe and note"),
        Kind::Firm => format!("Firm {who} in the freezer before cutting"),
        Kind::Slice if first.is_some_and(|j| j.outcome == Outcome::GammonSteaks) => format!("Cut {who} into steaks"),
        Kind::Slice => format!("Slice {who} on the cooked board"),
        Kind::VacuumPack => {
            let packs: u32 = task.joints.iter().map(|j| durations::packs(&kitchen.joints[*j], &kitchen.cure)).sum();
            let s = if packs == 1 { "" } else { "s" };
            format!("Vacuum-pack and label {who}, {packs} pack{s}")
        }
        Kind::Freeze => format!("Freeze {who}, packs flat and spread"),
    }
}
