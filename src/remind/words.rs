//! What a nudge says: what, which tub or joint, how long, why it matters, what happens if it slips.

use super::due::Rung;
use crate::kitchen::Zone;
use crate::plan::{Plan, PlannedTask, When};
use crate::sheets::words::{length, short, slips, takes, why};
use chrono::{DateTime, Offset, TimeZone, Utc};

/// A moment by the kitchen's clock, with the person's own beside it where that differs.
fn at(when: &When, now: DateTime<Utc>, here: Zone) -> String {
    let utc = when.with_timezone(&Utc);
    let same_day = now.with_timezone(&when.timezone()).date_naive() == when.date_naive();
    let mut out = when.format(if same_day { "%H:%M" } else { "%a %-d %b %H:%M" }).to_string();
    if here.0.offset_from_utc_datetime(&utc.naive_utc()).fix() != *when.offset() {
        out += &utc.with_timezone(&here.0).format(" (%H:%M by your clock)").to_string();
    }
    out
}

/// The line a popup is headed with.
pub fn title(task: &PlannedTask, rung: Option<Rung>, now: DateTime<Utc>, here: Zone) -> String {
    let start = at(&task.start, now, here);
    let what = short(task);
    let minutes = (task.start.with_timezone(&Utc) - now).num_minutes();
    match rung {
        Some(Rung::Overdue | Rung::Days(_)) => format!("Overdue since {start}: {what}"),
        Some(Rung::LastCall) => format!("Last call: {what}"),
        _ if minutes.abs() <= 5 => format!("Now: {what}"),
        _ if minutes < 0 => format!("{} ago: {what}", length(-minutes)),
        _ if minutes < 120 => format!("In {}: {what}", length(minutes)),
        _ => format!("{start}: {what}"),
    }
}

/// One line of a summary.
pub fn line(task: &PlannedTask, rung: Option<Rung>, now: DateTime<Utc>, here: Zone) -> String {
    let late = if rung >= Some(Rung::Overdue) { "overdue, " } else { "" };
    let hands = length(i64::from(task.hands_minutes));
    format!("{late}{}: {}, {hands}", at(&task.start, now, here), short(task))
}

/// What a summary is headed with.
pub fn summary_title(tasks: usize, missed: bool, evening: bool) -> String {
    match (missed, evening) {
        (true, _) => format!("While nobody looked: {tasks} jobs"),
        (_, true) => format!("Tomorrow: {tasks} jobs"),
        _ => format!("{tasks} jobs now"),
    }
}

/// The rest of a popup.
pub fn body(plan: &Plan, task: &PlannedTask, now: DateTime<Utc>, here: Zone) -> Vec<String> {
    let mut out = vec![format!("{}.", task.says), takes(task)];
    if let Some(b) = why(plan, task) {
        out.push(format!("Why: {} ({}).", b.says, b.force));
    }
    let latest = at(&task.latest, now, here);
    if task.latest.with_timezone(&Utc) < now {
        let due =
            plan.joints.iter().filter(|j| task.joints.contains(&j.name)).filter_map(|j| Some((j.ready_by?, &j.name)));
        let due = due
            .min_by_key(|d| d.0)
            .map_or_else(String::new, |(by, name)| format!("; {name} is due {}", by.format("%a %-d %b %H:%M")));
        out.push(format!("Its last moment by the plan was {latest}: plan again{due}."));
    } else {
        out.push(format!("If it slips: {}.", slips(plan, task, &latest)));
    }
    out
}
