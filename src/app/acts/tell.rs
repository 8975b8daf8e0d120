//! Acts as sentences.

use crate::app::text::count;
use crate::book::{Act, Event, ReadingOf, RulingRecord, TaskAct};
use crate::kitchen::Zone;
use chrono::{DateTime, Utc};

/// Day, date and time in the kitchen's zone; with the year, since a record outlives it.
pub fn moment(at: DateTime<Utc>, zone: Zone) -> String {
    zone.civil(at).format("%a %-d %b %Y %H:%M").to_string()
}

fn number(n: f64) -> String {
    format!("{}", (n * 1000.0).round() / 1000.0)
}

/// What an act says, without when and by whom. `events` are those of the book, for what looks back.
pub fn tell(act: &Act, events: &[Event]) -> String {
    told(act, events, FURTHEST)
}

/// How many lines back from line to line is told: an act that was corrected and undone. A journal made by other hands may point in circles.
pub(super) const FURTHEST: u32 = 4;

fn because(text: &str) -> String {
    if text.is_empty() { String::new() } else { format!(": {text}") }
}

fn done(what: &TaskAct) -> String {
    match what {
        TaskAct::Started => "started".to_owned(),
        TaskAct::Finished => "done".to_owned(),
        TaskAct::Skipped { why } if why.is_empty() => "skipped".to_owned(),
        TaskAct::Skipped { why } => format!("skipped, {why}"),
    }
}

fn measured(of: &ReadingOf) -> String {
    match of {
        ReadingOf::Core { joint } => format!("core of {joint}"),
        ReadingOf::Space { name } => name.clone(),
        ReadingOf::Brine { tub } => format!("brine of {tub}"),
        ReadingOf::Other { what } => what.clone(),
    }
}

/// What the house ruled, where it went past a limit, and what was done about it.
fn ruled(ruling: &RulingRecord) -> String {
    let said = [("", &ruling.says), ("deviation: ", &ruling.deviation), ("corrected by: ", &ruling.corrective)];
    let said = said.iter().filter(|(_, text)| !text.is_empty()).map(|(what, text)| format!("{what}{text}"));
    said.collect::<Vec<_>>().join("; ")
}

fn told(act: &Act, events: &[Event], further: u32) -> String {
    let line = |seq: u64| {
        let event = seq.checked_sub(1).and_then(|i| usize::try_from(i).ok()).and_then(|i| events.get(i));
        match event.filter(|_| further > 0) {
            Some(e) => format!("line {seq} ({})", told(&e.act, events, further - 1)),
            None => format!("line {seq}"),
        }
    };
    match act {
        Act::Started { .. } => "the book was begun".to_owned(),
        Act::KitchenChanged { says, .. } => format!("kitchen changed{}", because(says)),
        Act::PlanAccepted { says, moved, lines, .. } => {
            let moved = if *moved == 0 { String::new() } else { format!(", {moved} of {} moved", lines.len()) };
            format!("plan taken on{}{moved}", because(says))
        }
        Act::PlanKept { says } => format!("old plan kept{}", because(says)),
        Act::Task { id, what, .. } => format!("{id}: {}", done(what)),
        Act::Weighed { joint, grams, .. } => format!("{joint} weighed: {} kg", number(grams / 1000.0)),
        Act::Collected { joint, celsius, .. } => {
            let celsius = celsius.map_or_else(String::new, |c| format!(", {} °C", number(c)));
            format!("{joint} collected{celsius}")
        }
        Act::Reading { of, celsius, .. } => format!("{}: {} °C", measured(of), number(*celsius)),
        Act::Trouble { kind, about, ruling, .. } => {
            let about = if about.is_empty() { String::new() } else { format!(", {about}") };
            format!("trouble: {kind}{about}{}", because(&ruled(ruling)))
        }
        Act::Note { about, text, .. } if about.is_empty() => format!("note: {text}"),
        Act::Note { about, text, .. } => format!("note on {about}: {text}"),
        Act::Taste { joint, score, text, .. } => format!("{joint} tasted: {score} of 5{}", because(text)),
        Act::Packs { joint, packs, grams, .. } => {
            let weight = grams.map_or_else(String::new, |g| format!(", {} kg together", number(g / 1000.0)));
            format!("{joint}: {} in all{weight}", count(*packs as usize, "pack"))
        }
        Act::Taken { joint, packs, gone, .. } => format!("{joint}: {} {}", count(*packs as usize, "pack"), gone.word()),
        Act::Snoozed { task, until } => format!("{task}: nudges put off until {}", until.format("%Y-%m-%d %H:%M UTC")),
        Act::Nudged { task, key, .. } => format!("{task}: nudged ({key})"),
        Act::Undone { seq } => format!("undone: {}", line(*seq)),
        Act::Redone { seq } => format!("done again: {}", line(*seq)),
        Act::Corrected { seq, act } => {
            format!("corrected: {} is now {}", line(*seq), told(act, events, further.saturating_sub(1)))
        }
    }
}
