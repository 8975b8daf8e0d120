//! The one thing that matters, in plain words; and how good the plan is known to be.

use super::chart::{Chart, Mark};
use super::news::Planning;
use super::state::State;
use super::time::{Min, how_long, minute, when, when_from};
use super::views::{Facts, alarms, headed};
use crate::plan::notes::under_alarm;
use crate::plan::{LevelStanding, Standing, standing};

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    Plain,
    /// Something is wrong, and the words say what.
    Trouble,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sentence {
    pub tone: Tone,
    pub text: String,
}

/// The top line.
pub fn sentence(state: &State) -> Sentence {
    if let Some(own) = super::views::sentence(state) {
        return own;
    }
    let told = of_plan(state);
    // What is outside a limit comes before whatever the plan has to say.
    match alarm(state) {
        Some(first) => Sentence { tone: Tone::Trouble, text: format!("{first} {}", told.text) },
        None => told,
    }
}

/// The first alarm, and how many there are.
fn alarm(state: &State) -> Option<String> {
    let (chart, now) = (state.chart.as_deref()?, super::time::instant(state.now));
    let facts =
        Facts { kitchen: &state.kitchen, plan: &chart.plan, record: state.record.as_ref(), now, chart: Some(chart) };
    headed(&alarms(&facts))
}

fn of_plan(state: &State) -> Sentence {
    let plain = |text| Sentence { tone: Tone::Plain, text };
    let trouble = |text| Sentence { tone: Tone::Trouble, text };
    let Some(chart) = state.chart.as_deref() else {
        return match &state.progress.state {
            Planning::Impossible(reasons) => match reasons.as_slice() {
                [] => trouble("No plan can be made.".into()),
                [one] => trouble(format!("No plan can be made: {one}")),
                [one, more @ ..] => trouble(format!("No plan can be made: {one} And {} more, below.", more.len())),
            },
            Planning::Failed(why) => trouble(format!("Planning broke off: {why}")),
            _ if state.fresh => {
                let key = |c| state.keymap.first(c);
                plain(format!(
                    "Welcome. A few figures, and there is a plan for your pork: when to collect it, turn it, cook it. {} begins, {} \
                     shows an example, {} quits.",
                    key(super::Command::Begin),
                    key(super::Command::Demo),
                    key(super::Command::Quit)
                ))
            }
            Planning::Running => plain(format!("Planning {}: nothing found yet.", state.kitchen.name)),
            Planning::Stopping | Planning::Finished | Planning::Idle => {
                plain(format!("{}: no plan yet.", state.kitchen.name))
            }
        };
    };
    let next = match next_hands(state, chart) {
        Some(t) => {
            let task = &chart.plan.tasks[t];
            format!(
                "Next, {}: {}, {}.",
                when_from(state.kitchen.zone, chart.tasks[t].start, state.now),
                uncapital(short(&task.says)),
                how_long(chart.tasks[t].hands)
            )
        }
        None if chart.tasks.is_empty() => "Nothing to do in this plan.".into(),
        None => "Nothing is left to do in this plan.".into(),
    };
    if let Some((words, inside)) = state.moving_words() {
        let says = state.moving.map_or("", |m| short(&chart.plan.tasks[m.task].says));
        let text = format!("{says}, to {words}.");
        return if inside { plain(text) } else { trouble(text) };
    }
    if let Some(proposal) = &state.proposal {
        let (d, key) = (&proposal.difference, state.keymap.first(super::Command::ShowChange));
        let why = d.happened.first().map_or_else(String::new, |h| format!("{} ", stop(h)));
        let jobs = |n: usize| if n == 1 { "1 job moves".to_owned() } else { format!("{n} jobs move") };
        let (moves, stay) = (jobs(d.moved.len()), d.stay);
        if why.is_empty() && !state.wished.is_empty() {
            return plain(format!(
                "Planned as asked: {moves}, {stay} stay; {key} shows it, and takes it on or not. {next}"
            ));
        }
        return trouble(format!("{why}The plan has to change: {moves}, {stay} stay; {key} shows it. {next}"));
    }
    if let Planning::Impossible(reasons) = &state.progress.state {
        let why = reasons.first().map_or("", String::as_str);
        return trouble(format!("This plan no longer holds: {} {next}", stop(why)));
    }
    match late(state, chart) {
        Some(trouble_first) => trouble(format!("{trouble_first} {next}")),
        None => plain([next, promises(state, chart), collect(state, chart)].join(" ").trim_end().to_owned()),
    }
}

/// By when to collect the pork, where the plan chose that and it is still ahead.
fn collect(state: &State, chart: &Chart) -> String {
    let say = |at| when_from(state.kitchen.zone, minute(at), state.now);
    let Some(c) = chart.plan.collect.filter(|c| minute(c.planned) > state.now) else { return String::new() };
    let last = c.last_possible.map_or_else(String::new, |l| format!(", {} at the latest", say(l)));
    format!("Collect the pork by {}{last}.", say(c.planned))
}

/// With a full stop at its end.
fn stop(text: &str) -> String {
    let text = text.trim_end();
    if text.ends_with(['.', '!', '?']) || text.is_empty() { text.to_owned() } else { format!("{text}.") }
}

/// The next task that needs hands.
pub fn next_hands(state: &State, chart: &Chart) -> Option<usize> {
    upcoming(state, chart).next()
}

/// Tasks that need hands, from now on, in order of start.
pub fn upcoming<'a>(state: &'a State, chart: &'a Chart) -> impl Iterator<Item = usize> + 'a {
    // A task under way is still next: look back over the last day for one that has not ended.
    let from = chart.from(state.now.saturating_sub(24 * 60));
    chart.order[from..]
        .iter()
        .copied()
        .filter(|&t| chart.tasks[t].hands > 0 && chart.tasks[t].end > state.now)
        .filter(|&t| state.mark(chart, t) != Mark::Done)
}

/// The joints that are ready after they are wanted, the worst first.
fn late(state: &State, chart: &Chart) -> Option<String> {
    let mut late: Vec<(Min, usize)> = spare(chart).filter(|s| s.0 < 0).collect();
    late.sort_unstable();
    let &(by, j) = late.first()?;
    let ready = when(state.kitchen.zone, chart.stories[j].ready);
    let more = match late.len() {
        1 => String::new(),
        n => format!(" {} more {} late.", n - 1, if n == 2 { "is" } else { "are" }),
    };
    let name = &chart.plan.joints[j].name;
    Some(format!("Late: {name} is ready {ready}, {} after it is wanted.{more}", how_long(by)))
}

/// Spare minutes before each ready-by, and the joint.
fn spare(chart: &Chart) -> impl Iterator<Item = (Min, usize)> + '_ {
    chart.stories.iter().enumerate().filter_map(|(j, s)| s.ready_by.map(|by| (by - s.ready, j)))
}

fn promises(state: &State, chart: &Chart) -> String {
    let zone = state.kitchen.zone;
    let promised = spare(chart).count();
    match spare(chart).min() {
        Some((by, j)) => {
            let (name, ready) = (&chart.plan.joints[j].name, when(zone, chart.stories[j].ready));
            match promised {
                1 => format!("{name} ready {ready}, {} to spare.", how_long(by)),
                n => format!("Tightest of {n} dates: {name}, ready {ready}, {} to spare.", how_long(by)),
            }
        }
        None => match chart.stories.iter().map(|s| s.ready).max() {
            Some(last) if chart.stories.len() == 1 => format!("Ready {}.", when(zone, last)),
            Some(last) => format!("All {} ready by {}.", chart.stories.len(), when(zone, last)),
            None => String::new(),
        },
    }
}

/// A task's sentence up to where it goes into how it is done.
pub fn short(says: &str) -> &str {
    let end = [": ", "; "].into_iter().filter_map(|mark| says.find(mark)).min();
    says[..end.unwrap_or(says.len())].trim_end()
}

/// `Turn T1` in the middle of a sentence is `turn T1`; a name in capitals stays.
pub fn uncapital(text: &str) -> String {
    let mut chars = text.chars();
    match (chars.next(), chars.next()) {
        (Some(a), Some(b)) if a.is_uppercase() && b.is_lowercase() => {
            a.to_lowercase().collect::<String>() + &text[a.len_utf8()..]
        }
        _ => text.to_owned(),
    }
}

/// How good the plan is, in one line, in order of weight: what is proven, and how far the rest could still go. What is
/// proven to be nothing comes last.
pub fn standing_line(state: &State) -> String {
    let Some(chart) = state.chart.as_deref() else {
        return match state.progress.state {
            Planning::Running => "looking for a first plan".into(),
            _ => String::new(),
        };
    };
    let (zero, rest): (Vec<&LevelStanding>, Vec<&LevelStanding>) =
        chart.plan.levels.iter().partition(|l| l.value == 0 && l.is_proven());
    let head = head(state, chart);
    // Said of the whole it is not said of each part again.
    let proven = if head == PROVEN_BEST { "" } else { " proven" };
    let mut parts = vec![head.to_owned()];
    parts.extend(rest.into_iter().map(|l| match l.is_proven() {
        true => format!("{}{proven}", figure(l, l.value)),
        // That it cannot go below nothing goes without saying.
        false if l.least() <= 0 => figure(l, l.value),
        false => format!("{}, not under {}", figure(l, l.value), amount(l, l.least())),
    }));
    if !zero.is_empty() {
        parts.push(format!("0{proven}: {}", zero.iter().map(|l| l.label.as_str()).collect::<Vec<_>>().join(", ")));
    }
    parts.join(" · ")
}

const PROVEN_BEST: &str = "Proven best";

/// `Best found so far, still looking`.
fn head(state: &State, chart: &Chart) -> &'static str {
    match (&state.progress.state, chart.plan.standing) {
        _ if state.proposal.is_some() => "A changed plan waits; this is the one on record",
        (Planning::Running, _) if state.chart_of != state.progress.revision => "Planning anew; this is the plan before",
        (_, Standing::ProvenBest) => PROVEN_BEST,
        (Planning::Running, _) => "Best found so far, still looking",
        (Planning::Stopping, _) => "Best found so far, stopping",
        (Planning::Failed(_), _) => "Best found, looking broke off",
        _ => "Best found",
    }
}

fn figure(l: &LevelStanding, value: i64) -> String {
    format!("{} {}", l.label, amount(l, value))
}

/// A value with its unit; long stretches of minutes as hours and days.
fn amount(l: &LevelStanding, value: i64) -> String {
    match l.unit.as_str() {
        "min" | "minutes" if value.abs() >= 60 => format!("{}{}", if value < 0 { "-" } else { "" }, how_long(value)),
        // A count that names itself ("visits 7 visits") says it once.
        unit if unit.is_empty() || l.label.ends_with(unit) => value.to_string(),
        unit => format!("{value} {unit}"),
    }
}

/// What has to be said of how good it is beside the table: what it was compared with, and what is kept in hand.
pub fn standing_notes(state: &State) -> Vec<String> {
    let Some(chart) = state.chart.as_deref() else { return Vec::new() };
    let compared = chart.plan.levels.iter().any(|l| l.is_proven() && l.bound < l.value);
    let over = compared.then(|| format!("Proven: best{}.", standing::sharings(&chart.plan)));
    over.into_iter().chain(standing::in_hand(&chart.plan)).collect()
}

/// The plan's cautions; under an alarm none that says it stays inside the limits.
pub fn cautions(state: &State) -> Vec<String> {
    let Some(chart) = state.chart.as_deref() else { return Vec::new() };
    let alarmed = alarm(state).is_some();
    chart.plan.notes.iter().map(|n| if alarmed { under_alarm(n) } else { n.clone() }).collect()
}

/// The same as a table: label, value, bound, and whether it is proven, in order of weight.
pub fn standing_table(state: &State) -> Vec<[String; 4]> {
    let Some(chart) = state.chart.as_deref() else { return Vec::new() };
    let words = |l: &LevelStanding| {
        let proven = if l.is_proven() { "proven" } else { "open" };
        [l.label.clone(), amount(l, l.value), amount(l, l.least()), proven.to_owned()]
    };
    chart.plan.levels.iter().map(words).collect()
}
