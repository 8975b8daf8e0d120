//! The words that paper, calendar and nudge have in common: how long, why it matters, what happens if it slips.

use crate::plan::{Because, Kind, Plan, PlannedTask};

pub use crate::plan::length;

/// The task in a few words: its sentence up to the first stop, brackets and all.
pub fn short(task: &PlannedTask) -> &str {
    let mut depth = 0i32;
    let end = task.says.char_indices().find(|(_, c)| {
        depth += i32::from(*c == '(') - i32::from(*c == ')');
        depth <= 0 && matches!(c, ':' | ';')
    });
    end.map_or(&task.says, |(at, _)| &task.says[..at])
}

/// "Takes 10 min of hands, 3 h 55 in all; Bram."
pub fn takes(task: &PlannedTask) -> String {
    let all = (task.end - task.start).num_minutes();
    let hands = i64::from(task.hands_minutes);
    let mut out = match hands {
        0 => format!("Takes {} by itself", length(all)),
        h if all > h => format!("Takes {} of hands, {} in all", length(h), length(all)),
        h => format!("Takes {}", length(h)),
    };
    if task.slow_end > task.end {
        out += &format!(", at the slow end until {}", task.slow_end.format("%H:%M"));
    }
    if let Some(who) = &task.who {
        out += &format!("; {who}");
    }
    out + "."
}

fn rank(force: &str) -> u8 {
    match force {
        "safety" => 0,
        "quality" => 1,
        "means" => 2,
        _ => 3,
    }
}

/// Whether a limit is one on how long something may last, and not on how soon it may be.
pub fn is_upper(says: &str) -> bool {
    let upper = [
        "within",
        "no more",
        "never more",
        "no joint stays",
        "thrown out",
        "at once",
        "goes straight",
        "not left",
        "before it",
    ];
    upper.iter().any(|w| says.contains(w))
}

/// The weightiest limit that a late start would break: on the time since something before it, or, where there is none, the
/// weightiest of those that what follows waits for.
pub fn why<'a>(plan: &Plan, task: &'a PlannedTask) -> Option<&'a Because> {
    let before = |b: &Because| plan.tasks.iter().any(|t| t.id == b.other && t.start < task.start);
    // Of equals the everyday limit, and not the one that holds once.
    let weight = |b: &&Because| (rank(&b.force), b.says.contains("days once"));
    let since = task.because.iter().filter(|b| before(b) && is_upper(&b.says)).min_by_key(weight);
    let ahead = || {
        let waits = |b: &&Because| !b.other.is_empty() && !before(b) && !is_upper(&b.says);
        task.because.iter().filter(waits).min_by_key(|b| rank(&b.force))
    };
    // "One follows the other" tells nobody why.
    since.or_else(ahead).filter(|b| b.force != "means")
}

/// The next work that waits for a task.
pub fn waiting<'a>(plan: &'a Plan, task: &PlannedTask) -> Option<&'a PlannedTask> {
    let waits = |t: &&PlannedTask| t.hands_minutes > 0 && t.because.iter().any(|b| b.other == task.id);
    plan.tasks.iter().filter(|t| t.id != task.id && t.start >= task.end).filter(waits).min_by_key(|t| t.start)
}

/// What happens if it slips, as a clause; `latest` is its latest start in words.
pub fn slips(plan: &Plan, task: &PlannedTask, latest: &str) -> String {
    let then = waiting(plan, task).map_or_else(String::new, |n| match n.kind == task.kind {
        true => format!("; the next one is {}", n.start.format("%a %-d %b %H:%M")),
        false => format!("; \"{}\" waits for it", short(n)),
    });
    if (task.latest - task.start).num_minutes() >= 10 {
        return format!("it can wait until {latest}, after that the plan has to change{then}");
    }
    match task.kind {
        Kind::ScoreAndGlaze | Kind::Bake | Kind::Chill => {
            format!("there is no slack: note the times, probe, and throw out what is past its limit{then}")
        }
        _ => format!("there is no slack, the plan has to change{then}"),
    }
}

/// Where it is done: the tub and where it stands, or the kit it takes.
pub fn place(plan: &Plan, task: &PlannedTask) -> String {
    if matches!(task.kind, Kind::Turn | Kind::Submerge | Kind::Rinse) {
        let id = task.id.strip_prefix("put in ").or_else(|| {
            let turn = task.id.strip_prefix("turn ")?;
            Some(turn.rsplit_once(' ').map_or(turn, |t| t.0))
        });
        let holds = |l: &&crate::plan::TubLoad| match id {
            Some(id) => l.id == id,
            None => task.joints.iter().all(|j| l.joints.contains(j)),
        };
        if let Some(l) = plan.loads.iter().find(holds) {
            return if l.space.is_empty() { l.tub.clone() } else { format!("{}, {}", l.tub, l.space) };
        }
    }
    let mut things: Vec<&str> = task.uses.iter().map(|u| u.thing.as_str()).collect();
    things.dedup();
    things.join(", ")
}
