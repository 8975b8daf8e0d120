//! `turnday plan`: plan a kitchen and print it.

use super::{Ended, Planning, files, source, text};
use crate::plan::notes::under_alarm;
use crate::plan::{Plan, ways};
use crate::schedule::WallClock;
use anyhow::Result;
use std::path::PathBuf;
use std::time::Duration;

/// Longest time spent on looking for ways out.
const WAYS_OUT: Duration = Duration::from_secs(5);

#[derive(Debug, clap::Args)]
pub struct PlanArgs {
    #[command(flatten)]
    pub planning: Planning,
    /// Print the whole plan as JSON
    #[arg(long)]
    pub json: bool,
    /// Write the whole plan as JSON to a file
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
}

pub fn run(args: &PlanArgs) -> Result<Ended> {
    let Some(path) = &args.planning.kitchen else { return from_book(args) };
    let (kitchen, warnings) = match files::kitchen_and_warnings(path)? {
        Ok(k) => k,
        Err(e) => return Ok(e),
    };
    let outcome = files::struck(&kitchen, &args.planning);
    let late = ways::late_in(&kitchen, &outcome);
    let ways = if late.is_empty() {
        Vec::new()
    } else {
        let patience = WallClock::after(WAYS_OUT);
        ways::ways_out(&kitchen, &late, crate::clock::now(), 5, &patience)
    };
    let plan = match outcome {
        Ok(mut p) => {
            p.notes.extend(warnings.iter().map(|w| format!("The kitchen file was warned of this: {w}.")));
            p
        }
        Err(r) if args.json => {
            let mut data = serde_json::to_value(&r)?;
            data["ways_out"] = serde_json::to_value(&ways)?;
            files::print(&(serde_json::to_string_pretty(&data)? + "\n"))?;
            return Ok(Ended::Refused);
        }
        Err(r) => {
            let ended = files::refuse(&r, false)?;
            eprint!("{}", told(&ways));
            return Ok(ended);
        }
    };
    let data = serde_json::to_string_pretty(&plan)? + "\n";
    if let Some(path) = &args.output {
        files::write(path, &data)?;
    }
    if args.json {
        files::print(&data)?;
    } else if args.output.is_none() {
        files::print(&text::whole(&plan))?;
    } else {
        files::print(&text::headline(&plan))?;
    }
    if !late.is_empty() {
        eprint!("{}", told(&ways));
    }
    Ok(if late.is_empty() { Ended::Done } else { Ended::Refused })
}

/// The plan that the book has, headed by what is outside the limits by its record: nothing is planned anew.
fn from_book(args: &PlanArgs) -> Result<Ended> {
    let source = match source::of(&args.planning, None, args.json)? {
        Ok(s) => s,
        Err(e) => return Ok(e),
    };
    let alarms = source.alarms();
    let mut plan = Plan { alarms, ..source.plan };
    if !plan.alarms.is_empty() {
        plan.notes.iter_mut().for_each(|n| *n = under_alarm(n));
    }
    let data = serde_json::to_string_pretty(&plan)? + "\n";
    if let Some(path) = &args.output {
        files::write(path, &data)?;
    }
    match (args.json, &args.output) {
        (true, _) => files::print(&data)?,
        (false, None) => files::print(&text::whole(&plan))?,
        (false, Some(_)) => files::print(&(text::alarmed(&plan) + &text::headline(&plan)))?,
    }
    Ok(if text::late(&plan).is_empty() { Ended::Done } else { Ended::Refused })
}

/// The ways out as lines; each was planned with and found to put everything on time.
pub(super) fn told(ways: &[ways::WayOut]) -> String {
    if ways.is_empty() {
        return "No single change that was tried puts everything on time.\n".to_owned();
    }
    let mut out = "Any one of these would put everything on time, each tried in a plan:\n".to_owned();
    for w in ways {
        out += &format!("  {}: {}\n", w.says, w.brings);
    }
    out
}
