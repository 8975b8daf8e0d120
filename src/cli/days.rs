//! `turnday turns` and `turnday today`: the plan by tub and by day.

use super::source::{self, Source};
use super::{Ended, Planning, files, text};
use crate::app::views::{Facts, State};
use crate::plan::{Kind, PlannedTask};
use anyhow::Result;
use chrono::NaiveDate;
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub struct TurnsArgs {
    #[command(flatten)]
    pub planning: Planning,
    /// Use this plan instead of planning anew
    #[arg(long, value_name = "FILE")]
    pub plan: Option<PathBuf>,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, clap::Args)]
pub struct TodayArgs {
    #[command(flatten)]
    pub planning: Planning,
    /// The day to show; today in the kitchen's zone when left out
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub on: Option<NaiveDate>,
    /// Use this plan instead of planning anew
    #[arg(long, value_name = "FILE")]
    pub plan: Option<PathBuf>,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

pub fn turns(args: &TurnsArgs) -> Result<Ended> {
    let source = match source::of(&args.planning, args.plan.as_ref(), args.json)? {
        Ok(s) => s,
        Err(e) => return Ok(e),
    };
    let (facts, Source { plan, .. }) = (source.facts(), &source);
    let of = |load: &str| -> Vec<&PlannedTask> {
        let prefix = format!("turn {load} ");
        let number = |t: &&PlannedTask| t.id.strip_prefix(&prefix).is_some_and(|n| n.parse::<u32>().is_ok());
        plan.tasks.iter().filter(|t| t.kind == Kind::Turn).filter(number).collect()
    };
    if args.json {
        let tubs: Vec<_> = plan
            .loads
            .iter()
            .map(|l| {
                let told = |t: &&PlannedTask| {
                    let at = facts.stood(t).0;
                    serde_json::json!({ "at": at, "who": t.who, "id": t.id, "state": facts.state(t) })
                };
                let turns: Vec<_> = of(&l.id).iter().map(told).collect();
                serde_json::json!({ "tub": l.id, "joints": l.joints, "turns": turns })
            })
            .collect();
        let data = serde_json::json!({ "alarms": source.alarms(), "tubs": tubs });
        files::print(&(serde_json::to_string_pretty(&data)? + "\n"))?;
        return Ok(Ended::Done);
    }
    let mut out = source.alarmed();
    for l in &plan.loads {
        out += &format!("{} ({})\n", l.id, l.joints.join(", "));
        let put_in = plan.tasks.iter().find(|t| t.id == format!("put in {}", l.id));
        let mut before = put_in.map(|t| facts.stood(t).1);
        if let (Some(t), Some(b)) = (put_in, &before) {
            out += &format!("  {}  in{}\n", text::moment(b), standing(&facts, t));
        }
        for t in of(&l.id) {
            let who = t.who.as_ref().map_or_else(String::new, |w| format!(", {w}"));
            let (start, end) = facts.stood(t);
            // What is on no record is read as no turn: the meat has lain since the one before it.
            let none = matches!(facts.state(t), State::Skipped | State::Missed | State::Lapsed);
            let gap = before.filter(|_| !none).map_or_else(String::new, |b| {
                format!(", {} since the last", text::length((start - b).num_minutes().max(0)))
            });
            out += &format!("  {}  turn{gap}{who}{}\n", text::moment(&start), standing(&facts, t));
            before = if none { before } else { Some(end) };
        }
        for t in plan.tasks.iter().filter(|t| t.kind == Kind::Rinse && t.joints.iter().all(|j| l.joints.contains(j))) {
            let at = text::moment(&facts.stood(t).0);
            out += &format!("  {at}  lift {}{}\n", t.joints.join(", "), standing(&facts, t));
        }
    }
    files::print(&out)?;
    Ok(Ended::Done)
}

pub fn today(args: &TodayArgs) -> Result<Ended> {
    let source = match source::of(&args.planning, args.plan.as_ref(), args.json)? {
        Ok(s) => s,
        Err(e) => return Ok(e),
    };
    let (facts, Source { kitchen, plan, .. }) = (source.facts(), &source);
    let date = args.on.unwrap_or_else(|| kitchen.zone.civil(crate::clock::now()).date());
    let starts: Vec<&PlannedTask> = plan.tasks.iter().filter(|t| t.start.date_naive() == date).collect();
    let going: Vec<&PlannedTask> =
        plan.tasks.iter().filter(|t| t.start.date_naive() < date && t.end.date_naive() >= date).collect();
    if args.json {
        let alarms = source.alarms();
        let data = serde_json::json!({ "date": date, "alarms": alarms, "starting": starts, "going_on": going });
        files::print(&(serde_json::to_string_pretty(&data)? + "\n"))?;
        return Ok(Ended::Done);
    }
    let mut out = source.alarmed() + &format!("{}\n", date.format("%A %-d %B %Y"));
    // Of days before, what is on no record: asked for today, and of no other day.
    let today = date == facts.today();
    let missed = |t: &&PlannedTask| {
        today && t.hands_minutes > 0 && t.start.date_naive() < date && facts.state(t) == State::Missed
    };
    let missed: Vec<&PlannedTask> = plan.tasks.iter().filter(missed).collect();
    for t in &missed {
        out += &format!("  Not ticked off: {}, {}\n", text::day(&t.start), text::task(t));
    }
    if starts.is_empty() && missed.is_empty() {
        out += "  Nothing to do in the kitchen.\n";
    }
    for t in &starts {
        out += &format!("  {}{}\n", text::task(t), tick(&facts, t));
    }
    for t in going
        .iter()
        .filter(|t| !facts.is_done(&t.id))
        .filter(|t| matches!(t.kind, Kind::Rest | Kind::Chill | Kind::Soak))
    {
        out += &format!("  going on until {}: {}\n", text::moment(&t.end), t.says);
    }
    if let Some(next) = plan.tasks.iter().find(|t| t.start.date_naive() > date && t.hands_minutes > 0) {
        out += &format!("Next: {}, {}\n", text::day(&next.start), text::task(next));
    }
    files::print(&out)?;
    Ok(Ended::Done)
}

/// How a task stands, where that is more than to be due.
fn standing(facts: &Facts, task: &PlannedTask) -> String {
    match facts.state(task) {
        State::Due | State::Past => String::new(),
        state => format!(", {}", state.word()),
    }
}

fn tick(facts: &Facts, task: &PlannedTask) -> &'static str {
    if facts.is_done(&task.id) { ", done" } else { "" }
}
