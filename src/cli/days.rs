//! `turnday turns` and `turnday today`: the plan by tub and by day.

use super::source::{self, Source};
use super::{Ended, Planning, files, text};
use crate::app::views::{Facts, State, alarms};
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
        let data: Vec<_> = plan
            .loads
            .iter()
            .map(|l| {
                let turns: Vec<_> =
                    of(&l.id).iter().map(|t| serde_json::json!({ "at": t.start, "who": t.who, "id": t.id })).collect();
                serde_json::json!({ "tub": l.id, "joints": l.joints, "turns": turns })
            })
            .collect();
        files::print(&(serde_json::to_string_pretty(&data)? + "\n"))?;
        return Ok(Ended::Done);
    }
    let mut out = source.alarmed();
    for l in &plan.loads {
        out += &format!("{} ({})\n", l.id, l.joints.join(", "));
        let mut before = plan.tasks.iter().find(|t| t.id == format!("put in {}", l.id)).map(|t| t.end);
        if let Some(b) = &before {
            out += &format!("  {}  in\n", text::moment(b));
        }
        for t in of(&l.id) {
            let gap = before.map_or(0, |b| (t.start - b).num_minutes());
            let who = t.who.as_ref().map_or_else(String::new, |w| format!(", {w}"));
            out += &format!(
                "  {}  turn, {} since the last{who}{}\n",
                text::moment(&t.start),
                text::length(gap),
                tick(&facts, t)
            );
            before = Some(t.end);
        }
        for t in plan.tasks.iter().filter(|t| t.kind == Kind::Rinse && t.joints.iter().all(|j| l.joints.contains(j))) {
            out += &format!("  {}  lift {}{}\n", text::moment(&t.start), t.joints.join(", "), tick(&facts, t));
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
        let alarms: Vec<String> = alarms(&facts).into_iter().map(|(_, says)| says).collect();
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

fn tick(facts: &Facts, task: &PlannedTask) -> &'static str {
    if facts.is_done(&task.id) { ", done" } else { "" }
}
