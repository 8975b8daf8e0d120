//! `turnday rota`: who does what in the coming days, and a note to hand a neighbour.

use super::source::{self, Source};
use super::{Ended, Planning, files};
use crate::plan::{Kind, PlannedTask};
use crate::sheets::{note, words};
use anyhow::Result;
use chrono::{NaiveDate, TimeDelta};
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub struct RotaArgs {
    #[command(flatten)]
    pub planning: Planning,
    /// Use this plan instead of planning anew
    #[arg(long, value_name = "FILE")]
    pub plan: Option<PathBuf>,
    /// First day; today in the kitchen's zone when left out
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub from: Option<NaiveDate>,
    /// Number of days
    #[arg(long, value_name = "DAYS", default_value_t = 7, value_parser = clap::value_parser!(u16).range(1..=366))]
    pub days: u16,
    /// Only this person's tasks
    #[arg(long, value_name = "NAME")]
    pub who: Option<String>,
    /// Print a note for somebody who steps in, with the turns of these days
    #[arg(long, value_name = "NAME")]
    pub note: Option<String>,
    /// Print as JSON
    #[arg(long, conflicts_with = "note")]
    pub json: bool,
}

pub fn run(args: &RotaArgs) -> Result<Ended> {
    let Source { kitchen, plan } = match source::of(&args.planning, args.plan.as_ref(), args.json)? {
        Ok(s) => s,
        Err(e) => return Ok(e),
    };
    let from = args.from.unwrap_or_else(|| kitchen.zone.civil(crate::clock::now()).date());
    let until = from + TimeDelta::days(i64::from(args.days));
    let wanted = |t: &&PlannedTask| {
        let day = t.start.date_naive();
        let theirs = args.who.is_none() || t.who == args.who;
        t.hands_minutes > 0 && day >= from && day < until && theirs
    };
    let tasks: Vec<&PlannedTask> = plan.tasks.iter().filter(wanted).collect();
    if let Some(to) = &args.note {
        // Turning is what can be handed over; a cook is not.
        let turns: Vec<&PlannedTask> = tasks.into_iter().filter(|t| t.kind == Kind::Turn).collect();
        files::print(&note::note(&plan, &turns, to))?;
        return Ok(Ended::Done);
    }
    if args.json {
        let rows: Vec<_> = tasks
            .iter()
            .map(|t| serde_json::json!({ "who": t.who, "at": t.start, "task": t.id, "minutes": t.hands_minutes, "says": words::short(t) }))
            .collect();
        files::print(&(serde_json::to_string_pretty(&rows)? + "\n"))?;
        return Ok(Ended::Done);
    }
    let mut people: Vec<Option<&str>> = tasks.iter().map(|t| t.who.as_deref()).collect();
    people.sort_unstable();
    people.dedup();
    let mut out = String::new();
    for who in people {
        let own: Vec<&&PlannedTask> = tasks.iter().filter(|t| t.who.as_deref() == who).collect();
        let minutes: i64 = own.iter().map(|t| i64::from(t.hands_minutes)).sum();
        out += &format!("{}, {} of hands\n", who.unwrap_or("Anybody"), words::length(minutes));
        for t in own {
            let hands = words::length(i64::from(t.hands_minutes));
            out += &format!("  {}  {}, {hands}\n", t.start.format("%a %-d %b %H:%M"), words::short(t));
        }
    }
    if tasks.is_empty() {
        out += "Nothing to do in these days.\n";
    }
    files::print(&out)?;
    Ok(Ended::Done)
}
