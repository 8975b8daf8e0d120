//! `turnday replan` and `turnday ask`: the plan after what has happened, and what-ifs that commit to nothing.

use super::source::{self, Source};
use super::{Ended, Planning, files};
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
    /// The plan so far; the book's when no kitchen file is named
    pub plan: Option<PathBuf>,
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

/// Kitchen and plan so far. A plan that has been lived with may break limits: it is not judged here.
fn so_far(planning: &Planning, file: Option<&PathBuf>, json: bool) -> Result<std::result::Result<Source, Ended>> {
    match (&planning.kitchen, file) {
        (Some(path), Some(file)) => match files::kitchen(path)? {
            Ok(kitchen) => Ok(Ok(Source { kitchen, plan: files::plan(file)?, record: None, history: None })),
            Err(e) => Ok(Err(e)),
        },
        _ => source::of(planning, file, json),
    }
}

/// Search steps for a replan when nothing else is asked for: a fraction of a second for five joints.
fn usual_steps(joints: usize) -> u64 {
    (200 * joints.clamp(1, 1000) as u64).min(6_000)
}

impl Happened {
    /// The record, if anything is said of one.
    pub(super) fn history_if_any(&self, kitchen: &Kitchen, plan: &Plan) -> Result<Option<History>> {
        let any = self.done.is_some() || self.as_planned || self.now.is_some();
        any.then(|| history(kitchen, plan, self, None)).transpose()
    }
}

/// The record, from a file, from the plan, or empty.
fn history(kitchen: &Kitchen, plan: &Plan, how: &Happened, kept: Option<History>) -> Result<History> {
    let told: Option<DateTime<Utc>> = how.now.map(|m| kitchen.zone.instant(m.0));
    if let (Some(mut kept), None, false) = (kept, &how.done, how.as_planned) {
        kept.now = told.unwrap_or(kept.now);
        return Ok(kept);
    }
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
    if args.planning.kitchen.is_some() && args.plan.is_none() {
        bail!("name the plan so far after the kitchen file");
    }
    let Source { kitchen, plan: old, history: kept, .. } = match so_far(&args.planning, args.plan.as_ref(), args.json)?
    {
        Ok(s) => s,
        Err(e) => return Ok(e),
    };
    let history = history(&kitchen, &old, &args.happened, kept)?;
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
    // A first word that is no file is a question to the book's plan.
    let mut planning = args.planning.clone();
    let mut asked = args.questions.clone();
    if let Some(first) = planning.kitchen.clone().filter(|p| !p.exists() && p.as_os_str() != "-") {
        asked.insert(0, first.to_string_lossy().into_owned());
        planning.kitchen = None;
    }
    if asked.is_empty() {
        bail!("ask a question, such as \"away 12-14 Mar\" or \"latest\"");
    }
    let Source { kitchen, plan: old, history: kept, .. } = match so_far(&planning, args.plan.as_ref(), args.json)? {
        Ok(s) => s,
        Err(e) => return Ok(e),
    };
    let history = history(&kitchen, &old, &args.happened, kept)?;
    let mut questions = Vec::new();
    for q in &asked {
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
