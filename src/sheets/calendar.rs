//! The plan as a calendar: RFC 5545 with alarms as RFC 9074 has them.
//!
//! An entry's UID is made from the kitchen and the task's id, so a task keeps it for life. SEQUENCE goes up when the entry
//! changes, and an entry whose task is gone is cancelled, not forgotten: for both, what was written last has to be at
//! hand (`Before`). Times are UTC. DTSTAMP follows SEQUENCE and not the clock, so one plan gives the same bytes always.

use super::lines::Part;
use super::words;
use crate::plan::{Plan, PlannedTask};
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::BTreeMap;

/// Which tasks are entries.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Include {
    /// Every task, also those that do themselves.
    Plan,
    /// Those that take hands.
    Hands,
    /// One person's.
    Who(String),
}

impl Include {
    pub fn holds(&self, task: &PlannedTask) -> bool {
        match self {
            Self::Plan => true,
            Self::Hands => task.hands_minutes > 0,
            Self::Who(name) => task.hands_minutes > 0 && task.who.as_ref() == Some(name),
        }
    }
}

/// Events, which every phone shows, or to-dos, which can be ticked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Form {
    #[default]
    Events,
    Todos,
}

/// One entry of the calendar.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    pub uid: String,
    pub sequence: u32,
    pub cancelled: bool,
    /// VEVENT or VTODO with everything but SEQUENCE, DTSTAMP and STATUS.
    pub part: Part,
}

/// Entries written before, by UID.
pub type Before = BTreeMap<String, Entry>;

/// Never read from a clock: the DTSTAMP of SEQUENCE 0.
const STAMP: &str = "2026-01-01T00:00:00Z";

pub fn utc(at: DateTime<Utc>) -> String {
    at.format("%Y%m%dT%H%M%SZ").to_string()
}

/// FNV-1a, 64 bit: short, and the same for ever.
fn hash(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |h, b| (h ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3))
}

/// A task's UID for life: its id in a form that every server takes, and a number that keeps kitchens apart.
pub fn uid(kitchen: &str, task: &str) -> String {
    let mut slug: String =
        task.to_lowercase().chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
    slug.truncate(40);
    format!("{slug}-{:016x}@turnday", hash(&format!("{kitchen}\0{task}")))
}

fn span(minutes: i64) -> String {
    match minutes {
        m if m % 1440 == 0 && m > 0 => format!("P{}D", m / 1440),
        m if m % 60 == 0 && m > 0 => format!("PT{}H", m / 60),
        m => format!("PT{m}M"),
    }
}

/// The entries of a plan, as if none had been written before. `alarms` says at which moments a task is spoken of.
pub fn entries(
    plan: &Plan,
    include: &Include,
    form: Form,
    alarms: &dyn Fn(&PlannedTask) -> Vec<DateTime<Utc>>,
) -> Vec<Entry> {
    let tasks = plan.tasks.iter().filter(|t| include.holds(t));
    tasks.map(|t| entry(plan, t, form, &alarms(t))).collect()
}

fn entry(plan: &Plan, task: &PlannedTask, form: Form, alarms: &[DateTime<Utc>]) -> Entry {
    let (start, end) = (task.start.with_timezone(&Utc), task.end.with_timezone(&Utc));
    let uid = uid(&plan.kitchen, &task.id);
    let mut p = Part::new(if form == Form::Todos { "VTODO" } else { "VEVENT" });
    p.push("UID", uid.as_str());
    p.push("DTSTART", utc(start));
    p.push(if form == Form::Todos { "DUE" } else { "DTEND" }, utc(end.max(start + TimeDelta::minutes(1))));
    p.push_text("SUMMARY", words::short(task));
    let place = words::place(plan, task);
    p.push_text(
        "LOCATION",
        &if place.is_empty() { plan.kitchen.clone() } else { format!("{place} ({})", plan.kitchen) },
    );
    p.push_text("DESCRIPTION", &description(plan, task));
    p.push_text("CATEGORIES", task.kind.words());
    if form == Form::Events {
        // Work that does itself leaves a person free.
        p.push("TRANSP", if task.hands_minutes > 0 { "OPAQUE" } else { "TRANSPARENT" });
    }
    p.push_text("X-TURNDAY-TASK", &task.id);
    for (n, at) in alarms.iter().enumerate() {
        let before = (start - *at).num_minutes();
        let mut a = Part::new("VALARM");
        a.push("UID", format!("a{n}-{uid}"));
        a.push("ACTION", "DISPLAY");
        a.push("TRIGGER", format!("{}{}", if before > 0 { "-" } else { "" }, span(before.abs())));
        a.push_text("DESCRIPTION", words::short(task));
        p.parts.push(a);
    }
    Entry { uid, sequence: 0, cancelled: false, part: p }
}

fn description(plan: &Plan, task: &PlannedTask) -> String {
    let mut out = vec![format!("{}.", task.says), words::takes(task)];
    if let Some(b) = words::why(plan, task) {
        out.push(format!("Why: {} ({}).", b.says, b.force));
    }
    if task.hands_minutes > 0 {
        let latest = task.latest.format("%a %-d %b %H:%M").to_string();
        out.push(format!("If it slips: {}.", words::slips(plan, task, &latest)));
    }
    out.join("\n")
}

/// Follows on from what was written before: SEQUENCE up where an entry changed, cancelled where its task is gone.
pub fn follow(entries: Vec<Entry>, before: &Before) -> Vec<Entry> {
    let mut out: Vec<Entry> = entries
        .into_iter()
        .map(|mut e| {
            if let Some(b) = before.get(&e.uid) {
                let same = b.part == e.part && !b.cancelled;
                e.sequence = b.sequence.saturating_add(u32::from(!same));
            }
            e
        })
        .collect();
    for (uid, b) in before {
        if out.iter().any(|e| e.uid == *uid) {
            continue;
        }
        let mut gone = b.clone();
        if !gone.cancelled {
            gone.cancelled = true;
            gone.sequence = gone.sequence.saturating_add(1);
            gone.part.parts.clear();
        }
        out.push(gone);
    }
    out.sort_by_key(|e| (e.part.line("DTSTART").map(|l| l.value.clone()), e.uid.clone()));
    out
}

impl Entry {
    /// The component as it is written.
    pub fn written(&self) -> Part {
        let mut p = self.part.clone();
        let at = p.lines.iter().position(|l| l.name == "UID").map_or(0, |i| i + 1);
        let stamp: DateTime<Utc> = STAMP.parse().unwrap_or_default();
        let status = match (self.cancelled, p.name.as_str()) {
            (true, _) => "CANCELLED",
            (_, "VTODO") => "NEEDS-ACTION",
            _ => "CONFIRMED",
        };
        let own = [
            ("DTSTAMP", utc(stamp + TimeDelta::seconds(i64::from(self.sequence)))),
            ("SEQUENCE", self.sequence.to_string()),
            ("STATUS", status.to_owned()),
        ];
        for (n, (name, value)) in own.into_iter().enumerate() {
            let line = super::lines::Line { name: name.to_owned(), params: String::new(), value };
            p.lines.insert(at + n, line);
        }
        p
    }

    /// Back from its written form.
    pub fn from_written(mut part: Part) -> Option<Self> {
        let uid = part.line("UID")?.value.clone();
        let sequence = part.line("SEQUENCE").and_then(|l| l.value.trim().parse().ok()).unwrap_or(0);
        let cancelled = part.line("STATUS").is_some_and(|l| l.value.trim() == "CANCELLED");
        part.lines.retain(|l| !matches!(l.name.as_str(), "SEQUENCE" | "DTSTAMP" | "STATUS"));
        Some(Self { uid, sequence, cancelled, part })
    }

    /// A calendar with this entry alone, as servers keep it.
    pub fn alone(&self) -> String {
        frame(None, [self.written()])
    }
}

fn frame(name: Option<&str>, parts: impl IntoIterator<Item = Part>) -> String {
    let mut c = Part::new("VCALENDAR");
    c.push("VERSION", "2.0");
    c.push("PRODID", "-//turnday//plan//EN");
    c.push("CALSCALE", "GREGORIAN");
    if let Some(name) = name {
        c.push_text("X-WR-CALNAME", name);
    }
    c.parts.extend(parts);
    c.write()
}

/// The calendar file.
pub fn file(name: &str, entries: &[Entry]) -> String {
    frame(Some(name), entries.iter().map(Entry::written))
}

/// The entries of a calendar file that this program wrote; others' are left alone.
///
/// # Errors
/// What is wrong with the form.
pub fn read_back(text: &str) -> Result<Before, String> {
    let calendar = super::lines::read(text)?;
    let ours = calendar.parts.into_iter().filter(|p| p.line("X-TURNDAY-TASK").is_some());
    Ok(ours.filter_map(Entry::from_written).map(|e| (e.uid.clone(), e)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_uid_is_for_life() {
        // FNV-1a's published test vectors (draft-eastlake-fnv, 64 bit): "" and "a".
        assert_eq!((hash(""), hash("a")), (0xcbf2_9ce4_8422_2325, 0xaf63_dc4c_8601_ec8c));
        let one = uid("Tern Row", "turn Long box 3");
        assert_eq!(one, uid("Tern Row", "turn Long box 3"));
        assert!(one.starts_with("turn-long-box-3-") && one.ends_with("@turnday"), "{one}");
        assert_ne!(one, uid("Tern Rowt", "urn Long box 3"));
        assert!(uid("k", &"é".repeat(300)).len() < 80);
    }

    #[test]
    fn spans() {
        assert_eq!(["PT90M", "PT1H", "P2D", "PT0M"].map(str::to_owned), [90, 60, 2880, 0].map(span));
    }
}
