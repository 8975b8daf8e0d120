//! A plan as plain text: day by day, with what a person needs to trust it.

use crate::plan::standing::{in_hand, sharings};
use crate::plan::{Kind, LevelStanding, Plan, PlannedTask, Standing, When};
use std::fmt::Write;

/// Day name and date.
pub fn day(at: &When) -> String {
    at.format("%a %-d %b").to_string()
}

pub use crate::plan::{length, moment};

/// Joints that are not ready by the moment asked for, a sentence each.
pub fn late(plan: &Plan) -> Vec<String> {
    plan.joints
        .iter()
        .filter_map(|j| {
            let by = j.ready_by.filter(|by| j.ready > *by)?;
            let over = length((j.ready - by).num_minutes());
            Some(format!("{} cannot be ready by {}: ready {}, {over} late.", j.name, moment(&by), moment(&j.ready)))
        })
        .collect()
}

/// What comes before all else, a line each.
pub fn alarmed(plan: &Plan) -> String {
    plan.alarms.iter().map(|says| format!("{says}\n")).collect()
}

/// The one or two sentences that matter most.
pub fn headline(plan: &Plan) -> String {
    let mut out = String::new();
    let late = late(plan);
    for l in &late {
        let _ = writeln!(out, "{l}");
    }
    if late.is_empty() {
        let mut due: Vec<_> = plan.joints.iter().filter_map(|j| Some((j.ready_by? - j.ready, j))).collect();
        let many = due.len() > 5;
        if many {
            due.sort_by_key(|d| d.0);
            let _ = write!(out, "All {} with a date are in time. The tightest: ", due.len());
            due.truncate(3);
        }
        let said: Vec<String> = due
            .iter()
            .map(|(spare, j)| {
                format!("{} ready {}, {} to spare", j.name, moment(&j.ready), length(spare.num_minutes()))
            })
            .collect();
        if !said.is_empty() {
            let _ = writeln!(out, "{}.", said.join("; "));
        }
    }
    if let Some(c) = &plan.collect {
        let _ = write!(out, "Collect the pork by {}", moment(&c.planned));
        match &c.last_possible {
            Some(l) if l > &c.planned => {
                let _ = writeln!(out, "; the last possible moment is {}, with nothing to spare.", moment(l));
            }
            _ => out += ".\n",
        }
    }
    let value = |label: &str| plan.levels.iter().find(|l| l.label == label).map_or(0, |l| l.value);
    let s = |n: i64| if n == 1 { "" } else { "s" };
    let (days, visits) = (value("cook days"), value("visits"));
    let _ = writeln!(out, "{days} cook day{}, {visits} visits to the kitchen. {}.", s(days), standing(plan));
    out
}

/// What is known about how good the plan is.
pub fn standing(plan: &Plan) -> String {
    let proven = plan.levels.iter().take_while(|l| l.is_proven()).count();
    let over = if plan.levels[..proven].iter().all(|l| l.value == l.bound) { String::new() } else { sharings(plan) };
    let comma = if over.is_empty() { String::new() } else { format!(",{over},") };
    match plan.standing {
        Standing::ProvenBest => format!("Proven best{over} on every level"),
        Standing::BestFound if proven == 0 => "Best found, not proven".to_owned(),
        Standing::BestFound => {
            let names: Vec<&str> = plan.levels[..proven].iter().map(|l| l.label.as_str()).collect();
            format!("Best found; proven best{comma} for: {}", names.join(", "))
        }
    }
}

/// How far a level is known to be the best.
fn known(plan: &Plan, l: &LevelStanding) -> String {
    match l.compared {
        _ if l.value == l.bound => ", proven".to_owned(),
        Some(_) if l.is_proven() => format!(", proven best{}", sharings(plan)),
        Some(c) if c > l.bound => format!(", the best found;{} none has under {c}", sharings(plan)),
        _ if l.bound > 0 => format!(", the best found; no plan has under {}", l.bound),
        _ => ", the best found".to_owned(),
    }
}

/// One task's line: time, sentence, length, who.
pub fn task(t: &PlannedTask) -> String {
    let minutes = (t.end - t.start).num_minutes();
    let slow = (t.slow_end - t.start).num_minutes();
    let mut tail = Vec::new();
    if t.hands_minutes > 0 && i64::from(t.hands_minutes) < minutes {
        tail.push(format!("{} of hands", length(i64::from(t.hands_minutes))));
    }
    if let Some(who) = &t.who {
        tail.push(who.clone());
    }
    let cooking = matches!(t.kind, Kind::Simmer | Kind::Bake | Kind::Chill | Kind::Cool);
    let length = if cooking && slow > minutes {
        // Moments, not lengths: what runs over before it is in the slow end too.
        let clock = |at: &When| {
            let same_day = at.date_naive() == t.start.date_naive();
            at.format(if same_day { "%H:%M" } else { "%a %H:%M" })
        };
        format!("{}, to {}, at the slow end {}", length(minutes), clock(&t.end), clock(&t.slow_end))
    } else {
        length(minutes)
    };
    tail.insert(0, length);
    format!("{}  {} ({})", t.start.format("%H:%M"), t.says, tail.join("; "))
}

/// Tasks under their days.
pub fn days<'a>(tasks: impl IntoIterator<Item = &'a PlannedTask>) -> String {
    let mut out = String::new();
    let mut last = None;
    for t in tasks {
        let date = t.start.date_naive();
        if last != Some(date) {
            let gap = if last.is_some() { "\n" } else { "" };
            let _ = writeln!(out, "{gap}{}", t.start.format("%A %-d %B %Y"));
            last = Some(date);
        }
        let _ = writeln!(out, "  {}", task(t));
    }
    out
}

/// The whole plan, what is outside the limits before all else.
pub fn whole(plan: &Plan) -> String {
    let mut out = format!("{}{}\n{}\n", alarmed(plan), plan.kitchen, headline(plan));
    out += &days(&plan.tasks);
    out += "\nJoints\n";
    for j in &plan.joints {
        let _ = writeln!(
            out,
            "  {}: {:.1} kg, {}, in {}; {:.1} days in the brine, cured {}, lifted {}, ready {}",
            j.name,
            j.kg,
            j.outcome,
            j.tub,
            j.cure_days,
            moment(&j.cured),
            moment(&j.lift),
            moment(&j.ready)
        );
    }
    out += "\nTubs\n";
    for l in &plan.loads {
        let _ = writeln!(
            out,
            "  {} in {}: {}; brine {:.1} cm deep, about {:.1} L; {} turns",
            l.id,
            l.space,
            l.joints.join(", "),
            l.fill_cm,
            l.brine_litres,
            l.turns
        );
    }
    out += "\nHow good\n";
    for l in &plan.levels {
        // A unit is named in the plural: "1 days" is one too many.
        let unit = if l.value == 1 { l.unit.trim_end_matches('s') } else { &l.unit };
        let _ = writeln!(out, "  {}: {} {unit}{}", l.label, l.value, known(plan, l));
    }
    if let Some(says) = in_hand(plan) {
        let _ = writeln!(out, "  {says}");
    }
    out += "\nCautions\n";
    for n in &plan.notes {
        let _ = writeln!(out, "  {n}");
    }
    out
}

/// A path as a person writes it: the home folder as `~`.
pub fn path(path: &std::path::Path) -> String {
    let home = etcetera::home_dir().ok().filter(|h| h.components().count() > 1);
    match home.and_then(|h| path.strip_prefix(h).ok().map(std::path::Path::to_owned)) {
        Some(inside) => format!("~/{}", inside.display()),
        None => path.display().to_string(),
    }
}
