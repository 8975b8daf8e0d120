//! Turns on record that came so late that the house's table gives more days in the brine for it, until that is told as trouble.
//!
//! Nothing is lengthened here: whether a tub was left alone, or turned and not ticked off, only a person can say. What is not on
//! record is never read as a turn.

use super::PlannedTask;
use super::cores::{Outside, Ran};
use super::history::Deviation;
use super::words::{capital, moment};
use crate::kitchen::{Kitchen, Limits};
use crate::process::Kind;
use crate::process::trouble::{Effect, Known, Ruling, Told, rule};
use crate::units::Elapsed;
use chrono::{DateTime, TimeDelta, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The trouble of the table that a late turn is.
pub const KIND: &str = "missed-turn";
/// A trouble is told of a gap at the soonest so long before the gap is late: whoever is away tells it beforehand.
const BEFORE: TimeDelta = TimeDelta::hours(24);

/// A late turn that was told as trouble.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TurnTold {
    pub at: DateTime<Utc>,
    /// The joints it was told of.
    pub joints: Vec<String>,
    /// Hours since the last turn, as told; nothing when nobody knew.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hours: Option<f64>,
    /// Hours more in the brine that were ruled.
    pub extra_hours: f64,
    /// Its line in the record, from 1.
    pub line: u64,
}

/// A stretch in which a load was not turned.
struct Gap {
    from: DateTime<Utc>,
    /// Nothing while it goes on.
    to: Option<DateTime<Utc>>,
    /// From when on it may have been told as trouble.
    told_from: DateTime<Utc>,
    /// Whole hours, rounded down.
    hours: i64,
    tasks: Vec<String>,
    ruling: Ruling,
    extra_hours: f64,
}

/// Loads in the brine whose turns on record came late, and of which that is not told: first what costs the most days. `ran` knows
/// the tasks on record by their ids. `by_book`: the record is the book's, in which commands log and undo.
pub fn late_turns(
    kitchen: &Kitchen,
    tasks: &[PlannedTask],
    ran: &dyn Fn(&str) -> Ran,
    told: &[TurnTold],
    by_book: bool,
    now: DateTime<Utc>,
) -> Vec<Outside> {
    let limits = Limits::with(&kitchen.limits);
    let mut out = Vec::new();
    for put_in in tasks.iter().filter(|t| t.kind == Kind::Submerge) {
        let Some(load) = put_in.id.strip_prefix("put in ") else { continue };
        let lifted = |j: &str| {
            let lift = ran(&format!("lift {j}"));
            lift.begun.is_some() || lift.finished.is_some()
        };
        // What is out of the brine gets no more days in it.
        let inside: Vec<&str> = put_in.joints.iter().map(String::as_str).filter(|j| !lifted(j)).collect();
        let gaps = gaps(&limits, tasks, put_in, load, ran, now);
        for (i, gap) in gaps.iter().enumerate() {
            // By the line on which too little was ruled, or by nothing: two things to do.
            for less in [false, true] {
                let open: Vec<(&str, Option<u64>)> = inside
                    .iter()
                    .filter_map(|j| Some((*j, open(&gaps, i, j, told)?)))
                    .filter(|(_, line)| line.is_some() == less)
                    .collect();
                let Some((_, line)) = open.first().copied() else { continue };
                let names: Vec<&str> = open.iter().map(|o| o.0).collect();
                let says = found(kitchen, load, gap, &names, (names.len() == inside.len(), by_book), line);
                out.push((gap.extra_hours, says));
            }
        }
    }
    // Of as many days the earlier comes first, as they were found.
    out.sort_by(|a, b| b.0.total_cmp(&a.0));
    out.into_iter().map(|(_, found)| found).collect()
}

/// The gaps of a load that cost days in the brine by the table, in order of time.
fn gaps(
    limits: &Limits,
    tasks: &[PlannedTask],
    put_in: &PlannedTask,
    load: &str,
    ran: &dyn Fn(&str) -> Ran,
    now: DateTime<Utc>,
) -> Vec<Gap> {
    let number = |t: &&PlannedTask| {
        let rest = t.id.strip_prefix("turn ").and_then(|r| r.strip_prefix(load)).and_then(|r| r.strip_prefix(' '));
        t.kind == Kind::Turn && rest.is_some_and(|n| n.parse::<u32>().is_ok())
    };
    let turns = tasks.iter().filter(number).filter(|t| ran(&t.id).finished.is_some());
    let late = limits.value("turn_late_hours").clamp(0.0, 10_000.0) * 60.0;
    let all = std::iter::once(put_in).chain(turns);
    let mut met: Vec<_> = all.filter_map(|t| spell(t, ran)).filter(|m| m.0 <= now).collect();
    met.sort();
    let ends = met.iter().skip(1).map(|(start, _, id)| (Some(*start), Some(*id))).chain([(None, None)]);
    let pairs = met.iter().zip(ends);
    pairs
        .filter_map(|((_, from, before), (to, after))| {
            let hours = (to.unwrap_or(now) - *from).num_hours().min(10_000);
            let told = Told { lasted: Some(Elapsed::hours(hours.max(0) as f64)), ..Told::default() };
            let mut ruling = rule(limits, KIND, &told, &Known::default()).ok()?;
            if *before == put_in.id {
                // The table speaks of turns, and before this gap there was none.
                ruling.says = ruling.says.replacen("since the last turn", "since it was put in", 1);
            }
            let more = |e: &Effect| if let Effect::ExtraCure { hours, .. } = e { *hours } else { 0.0 };
            let extra_hours: f64 = ruling.effects.iter().map(more).sum();
            let tasks = std::iter::once(*before).chain(after).map(str::to_owned).collect();
            let told_from = *from + TimeDelta::minutes(late as i64) - BEFORE;
            (extra_hours > 0.0).then_some(Gap { from: *from, to, told_from, hours, tasks, ruling, extra_hours })
        })
        .collect()
}

/// Whether a gap is still to be told of a joint: `Some(None)` when nothing was, `Some(Some(line))` when that line rules less than the
/// record shows. Each trouble told speaks of one gap: the one nearest to what was said.
fn open(gaps: &[Gap], which: usize, joint: &str, told: &[TurnTold]) -> Option<Option<u64>> {
    let mut by: Vec<Option<&TurnTold>> = vec![None; gaps.len()];
    let mut mine: Vec<&TurnTold> = told.iter().filter(|t| t.joints.iter().any(|j| j == joint)).collect();
    mine.sort_by_key(|t| t.at);
    for t in mine {
        // Not known how long is read as the longest.
        let off = |g: &Gap| t.hours.map_or(-(g.hours as f64), |h| (h - g.hours as f64).abs());
        let fits = (0..gaps.len()).filter(|i| by[*i].is_none() && gaps[*i].told_from <= t.at);
        if let Some(i) = fits.min_by(|a, b| off(&gaps[*a]).total_cmp(&off(&gaps[*b]))) {
            by[i] = Some(t);
        }
    }
    match by[which] {
        Some(t) if t.extra_hours >= gaps[which].extra_hours => None,
        found => Some(found.map(|t| t.line)),
    }
}

/// What was told of a gap that a turn at `at` parts, so that it was never as long as told: neither part of it is late then, and the
/// days it was ruled to cost may be taken back.
pub fn parted<'t>(limits: &Limits, joints: &[String], at: DateTime<Utc>, told: &'t [TurnTold]) -> Option<&'t TurnTold> {
    let late = limits.value("turn_late_hours");
    let hours = |t: TimeDelta| t.num_minutes() as f64 / 60.0;
    told.iter().filter(|t| t.extra_hours > 0.0 && t.joints.iter().any(|j| joints.contains(j))).find(|t| {
        let after = hours(t.at - at);
        t.hours.is_some_and(|all| (0.0..all).contains(&after) && after < late && all - after < late)
    })
}

/// When a task was begun and ended, and its id; what was ticked off without a beginning took as long as planned.
fn spell<'t>(t: &'t PlannedTask, ran: &dyn Fn(&str) -> Ran) -> Option<(DateTime<Utc>, DateTime<Utc>, &'t str)> {
    let r = ran(&t.id);
    let end = r.finished.or(r.begun)?;
    Some((r.begun.unwrap_or(end - (t.end - t.start)).min(end), end, t.id.as_str()))
}

fn found(
    kitchen: &Kitchen,
    load: &str,
    gap: &Gap,
    names: &[&str],
    (all, by_book): (bool, bool),
    line: Option<u64>,
) -> Outside {
    let at = |t: DateTime<Utc>| moment(&t.with_timezone(&kitchen.zone.0).fixed_offset());
    let span = match gap.to {
        Some(to) => format!("{} to {}", at(gap.from), at(to)),
        None => format!("{} until now", at(gap.from)),
    };
    let tub = load.split(" (load ").next().unwrap_or(load);
    let about = match all {
        true => format!("--tub {}", quoted(tub)),
        false => names.iter().map(|n| format!("--joint {}", quoted(n))).collect::<Vec<_>>().join(" "),
    };
    let how_long = if gap.hours % 24 == 0 { format!("{}d", gap.hours / 24) } else { format!("{}h", gap.hours) };
    let tell = format!("`turnday trouble {KIND} {about} --for {how_long} --log`");
    let turn = if gap.to.is_none() { "Turn it now; " } else { "" };
    let next = match line {
        _ if !by_book => {
            format!("{turn}put the turn there was into the record, or what was ruled (see `turnday schema history`)")
        }
        Some(line) => format!("{turn}line {line} rules less: `turnday undo {line}`, then {tell}"),
        None => format!("{turn}{tell}, or log the turn there was"),
    };
    // What a person has to do comes before the ruling: a small screen shows two rows.
    let (since, more) = gap.ruling.says.split_once(": ").unwrap_or((&gap.ruling.says, ""));
    let short = match line {
        None => format!("{load}: {since}. {}. By the house's table: {more}.", capital(&next)),
        Some(_) => format!("{load}: {next}. By the house's table, {since}: {more}."),
    };
    let says = format!("{load}: {} ({span}). {}.", gap.ruling.says, capital(&next));
    let limit = gap.ruling.deviation.as_ref();
    let deviation = Deviation {
        says,
        limit: limit.map(|d| d.limit.clone()).unwrap_or_default(),
        force: "quality".to_owned(),
        source: gap.ruling.source.clone(),
        tasks: gap.tasks.clone(),
        minutes: i32::try_from(gap.hours * 60).unwrap_or(i32::MAX),
        decide: false,
    };
    let joints = names.iter().map(|n| (*n).to_owned()).collect();
    Outside { kind: KIND, since: gap.told_from, joints, short, deviation }
}

/// A name as a shell takes it for one word.
pub(crate) fn quoted(name: &str) -> String {
    let plain = name.chars().all(|c| c.is_alphanumeric() || "-_.".contains(c)) && !name.is_empty();
    if plain { name.to_owned() } else { format!("'{}'", name.replace('\'', r"'\''")) }
}
