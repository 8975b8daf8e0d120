//! `turnday replan` and `turnday ask`: the plan after what has happened, and what-ifs that commit to nothing.

use super::{Ended, Planning, files, source};
use crate::kitchen::{Kitchen, Moment};
use crate::plan::ask::ask as answer;
use crate::plan::replan::{Again, replan as plan_again};
use crate::plan::{History, Plan, question};
use crate::schedule::{NodeBudget, Stop, WallClock};
use anyhow::{Context, Result, bail};
use chrono::{DateTime, Utc};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// What has happened, and when it is.
#[derive(Debug, Clone, clap::Args)]
pub struct Happened {
    /// What has happened, as JSON (see `turnday schema history`)
    #[arg(long, value_name = "FILE", conflicts_with = "as_planned")]
    pub done: Option<PathBuf>,
    /// Take everything up to now as done as planned
    #[arg(long)]
    pub as_planned: bool,
    /// The moment to plan from, in the kitchen's own time; else the file's, or the present
    #[arg(long, value_name = "YYYY-MM-DD HH:MM", value_parser = moment)]
    pub now: Option<Moment>,
}

#[derive(Debug, clap::Args)]
pub struct ReplanArgs {
    #[command(flatten)]
    pub planning: Planning,
    /// The plan so far
    pub plan: PathBuf,
    #[command(flatten)]
    pub happened: Happened,
    /// Print what changes, with the new plan, as JSON
    #[arg(long)]
    pub json: bool,
    /// Write the new plan as JSON to a file
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
}

#[derive(Debug, clap::Args)]
pub struct AskArgs {
    #[command(flatten)]
    pub planning: Planning,
    /// Questions, each in quotes: "away 12-14 Mar", "tub", "latest", "weighs JOINT 3.4", "halve JOINT", "swap JOINT JOINT",
    /// "more 2.2 steaks", "home Sat 19 Dec 07:00-12:00", "binds", "lost-day"
    #[arg(required = true)]
    pub questions: Vec<String>,
    /// The plan so far; planned anew when left out
    #[arg(long, value_name = "FILE")]
    pub plan: Option<PathBuf>,
    #[command(flatten)]
    pub happened: Happened,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

fn moment(text: &str) -> Result<Moment, String> {
    Moment::parse(text).ok_or_else(|| format!("expected {}", Moment::EXPECTED))
}

/// Search steps for a replan when nothing else is asked for: a fraction of a second for five joints.
fn usual_steps(joints: usize) -> u64 {
    (200 * joints.clamp(1, 1000) as u64).min(6_000)
}

impl Happened {
    /// The record, if anything is said of one.
    pub(super) fn history_if_any(&self, kitchen: &Kitchen, plan: &Plan) -> Result<Option<History>> {
        let any = self.done.is_some() || self.as_planned || self.now.is_some();
        any.then(|| history(kitchen, plan, self)).transpose()
    }
}

/// The record, from a file, from the plan, or empty.
fn history(kitchen: &Kitchen, plan: &Plan, how: &Happened) -> Result<History> {
    let told: Option<DateTime<Utc>> = how.now.map(|m| kitchen.zone.instant(m.0));
    if let Some(path) = &how.done {
        let mut history = read(path)?;
        history.now = told.unwrap_or(history.now);
        return Ok(history);
    }
    let now = told.unwrap_or_else(crate::clock::now);
    Ok(if how.as_planned { History::as_planned(plan, now) } else { History::none(now) })
}

fn read(path: &Path) -> Result<History> {
    let text = files::text_of(path)?;
    let mut d = serde_json::Deserializer::from_str(&text);
    let not = || format!("{} is no record of what has happened (see `turnday schema history`)", path.display());
    let history = serde_path_to_error::deserialize(&mut d).with_context(not)?;
    d.end().with_context(not)?;
    Ok(history)
}

/// Tasks of the record that are in no plan: a slip of the pen that would otherwise pass unseen.
fn strangers(plan: &Plan, history: &History) -> Vec<String> {
    let known = |id: &String| plan.tasks.iter().any(|t| t.id == *id);
    history.tasks.keys().filter(|id| !known(id)).cloned().collect()
}

fn stop(how: &Planning) -> Box<dyn Stop> {
    match how.seconds {
        Some(s) => Box::new(WallClock::after(Duration::from_secs_f64(s.clamp(0.0, 86_400.0)))),
        None => Box::new(NodeBudget(u64::MAX)),
    }
}

fn steps(how: &Planning, joints: usize) -> u64 {
    how.steps.unwrap_or(if how.seconds.is_some() { u64::MAX / 4 } else { usual_steps(joints) })
}

pub fn replan(args: &ReplanArgs) -> Result<Ended> {
    let kitchen = match source::kitchen(&args.planning)? {
        Ok(k) => k,
        Err(e) => return Ok(e),
    };
    let old = files::plan(&args.plan)?;
    let history = history(&kitchen, &old, &args.happened)?;
    for id in strangers(&old, &history) {
        eprintln!("The record tells of \"{id}\", which is in no plan; it is left out of account.");
    }
    let again = Again {
        kitchen: &kitchen,
        old: &old,
        history: &history,
        seed: args.planning.seed,
        steps: steps(&args.planning, kitchen.joints.len()),
        ways: 5,
        what: &[],
    };
    let found = match plan_again(&again, stop(&args.planning).as_ref()) {
        Ok(r) => r,
        Err(r) => return files::refuse(&r, args.json),
    };
    if let Some(path) = &args.output {
        files::write(path, &(serde_json::to_string_pretty(&found.plan)? + "\n"))?;
    }
    if args.json {
        files::print(&(serde_json::to_string_pretty(&found)? + "\n"))?;
    } else {
        let mut out = found.difference.to_text();
        let mut part = |head: &str, lines: &[String]| {
            if !lines.is_empty() {
                out += &format!("{head}\n");
                lines.iter().for_each(|l| out += &format!("  {l}\n"));
            }
        };
        part("What the record leaves open", &found.open_ends);
        part("Limits", &found.deviations.iter().map(|d| d.says.clone()).collect::<Vec<_>>());
        if !found.ways.is_empty() {
            let ways: Vec<String> = found.ways.iter().map(|w| format!("{}: {}", w.says, w.brings)).collect();
            part("Any one of these would put everything on time, each tried in a plan", &ways);
        }
        files::print(&out)?;
    }
    let late = found.plan.joints.iter().any(|j| j.ready_by.is_some_and(|by| j.ready > by));
    Ok(if late || found.deviations.iter().any(|d| d.decide) { Ended::Refused } else { Ended::Done })
}

pub fn ask(args: &AskArgs) -> Result<Ended> {
    let kitchen = match source::kitchen(&args.planning)? {
        Ok(k) => k,
        Err(e) => return Ok(e),
    };
    let old = match &args.plan {
        Some(path) => files::plan(path)?,
        None => match files::struck(&kitchen, &args.planning) {
            Ok(p) => p,
            Err(r) => return files::refuse(&r, args.json),
        },
    };
    let history = history(&kitchen, &old, &args.happened)?;
    let mut questions = Vec::new();
    for q in &args.questions {
        match question::read(q, &kitchen, history.now) {
            Ok(q) => questions.push(q),
            Err(says) => bail!("{says}"),
        }
    }
    let again = Again {
        kitchen: &kitchen,
        old: &old,
        history: &history,
        seed: args.planning.seed,
        steps: steps(&args.planning, kitchen.joints.len()),
        ways: 4,
        what: &[],
    };
    let answers = answer(&again, &questions, stop(&args.planning).as_ref());
    if args.json {
        files::print(&(serde_json::to_string_pretty(&answers)? + "\n"))?;
    } else {
        let texts: Vec<String> = answers.iter().map(crate::plan::ask::Answer::to_text).collect();
        files::print(&texts.join("\n"))?;
    }
    Ok(Ended::Done)
}
