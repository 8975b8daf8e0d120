//! `turnday replan`: the plan after what has happened.

use super::{Ended, Planning, files};
use crate::kitchen::{Kitchen, Moment};
use crate::plan::replan::{Again, Replan, replan as plan_again};
use crate::plan::{History, Plan};
use crate::schedule::{NodeBudget, Stop, WallClock};
use anyhow::{Context, Result};
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
        any.then(|| self.history(kitchen, plan)).transpose()
    }

    fn moment(&self, kitchen: &Kitchen) -> Option<DateTime<Utc>> {
        self.now.map(|m| kitchen.zone.instant(m.0))
    }

    /// The record, from a file, from the plan, or empty.
    fn history(&self, kitchen: &Kitchen, plan: &Plan) -> Result<History> {
        let told = self.moment(kitchen);
        if let Some(path) = &self.done {
            let mut history = read(path)?;
            history.now = told.unwrap_or(history.now);
            return Ok(history);
        }
        let now = told.unwrap_or_else(crate::clock::now);
        Ok(if self.as_planned { History::as_planned(plan, now) } else { History::none(now) })
    }
}

fn read(path: &Path) -> Result<History> {
    let text = files::text_of(path)?;
    let mut d = serde_json::Deserializer::from_str(&text);
    let not = || format!("{} is no record of what has happened (see `turnday schema history`)", path.display());
    let history = serde_path_to_error::deserialize(&mut d).with_context(not)?;
    d.end().with_context(not)?;
    Ok(history)
}

/// Where a replan, or a question, begins.
pub(super) struct Ground {
    pub kitchen: Kitchen,
    pub old: Plan,
    pub history: History,
    /// What is known to have changed, a sentence each.
    pub what: Vec<String>,
    pub seed: u64,
    pub steps: u64,
}

impl Ground {
    /// From a kitchen file and a plan (planned anew when left out).
    ///
    /// # Errors
    /// `Err(Ended)` when there is no kitchen or no plan; what is wrong has then been printed.
    pub fn of(
        planning: &Planning,
        plan: Option<&PathBuf>,
        happened: &Happened,
        json: bool,
    ) -> Result<std::result::Result<Self, Ended>> {
        let steps = |k: &Kitchen| {
            planning.steps.unwrap_or(if planning.seconds.is_some() {
                u64::MAX / 4
            } else {
                usual_steps(k.joints.len())
            })
        };
        let kitchen = match files::kitchen(&planning.kitchen)? {
            Ok(k) => k,
            Err(e) => return Ok(Err(e)),
        };
        let old = match plan {
            Some(path) => files::plan(path)?,
            None => match files::struck(&kitchen, planning) {
                Ok(p) => p,
                Err(r) => return files::refuse(&r, json).map(Err),
            },
        };
        let history = happened.history(&kitchen, &old)?;
        let steps = steps(&kitchen);
        Ok(Ok(Self { kitchen, old, history, what: Vec::new(), seed: planning.seed, steps }))
    }

    pub fn again(&self, ways: usize) -> Again<'_> {
        let Self { kitchen, old, history, what, seed, steps, .. } = self;
        Again { kitchen, old, history, seed: *seed, steps: *steps, ways, what }
    }

    /// Tells of tasks in the record that no plan has: a slip of the pen that would otherwise pass unseen.
    fn tell_strangers(&self) {
        let known = |id: &String| self.old.tasks.iter().any(|t| t.id == *id);
        for id in self.history.tasks.keys().filter(|id| !known(id)) {
            eprintln!("The record tells of \"{id}\", which is in no plan; it is left out of account.");
        }
    }
}

pub(super) fn stop(how: &Planning) -> Box<dyn Stop> {
    match how.seconds {
        Some(s) => Box::new(WallClock::after(Duration::from_secs_f64(s.clamp(0.0, 86_400.0)))),
        None => Box::new(NodeBudget(u64::MAX)),
    }
}

pub fn replan(args: &ReplanArgs) -> Result<Ended> {
    let ground = match Ground::of(&args.planning, Some(&args.plan), &args.happened, args.json)? {
        Ok(g) => g,
        Err(e) => return Ok(e),
    };
    ground.tell_strangers();
    let found = match plan_again(&ground.again(5), stop(&args.planning).as_ref()) {
        Ok(r) => r,
        Err(r) => return files::refuse(&r, args.json),
    };
    if let Some(path) = &args.output {
        files::write(path, &(serde_json::to_string_pretty(&found.plan)? + "\n"))?;
    }
    if args.json {
        files::print(&(serde_json::to_string_pretty(&found)? + "\n"))?;
    } else {
        files::print(&text(&found))?;
    }
    let late = found.plan.joints.iter().any(|j| j.ready_by.is_some_and(|by| j.ready > by));
    Ok(if late || found.deviations.iter().any(|d| d.decide) { Ended::Refused } else { Ended::Done })
}

fn text(found: &Replan) -> String {
    let mut out = found.difference.to_text();
    let mut part = |head: &str, lines: &[String]| {
        if !lines.is_empty() {
            out += &format!("{head}\n");
            lines.iter().for_each(|l| out += &format!("  {l}\n"));
        }
    };
    part("What the record leaves open", &found.open_ends);
    part("Limits", &found.deviations.iter().map(|d| d.says.clone()).collect::<Vec<_>>());
    let ways: Vec<String> = found.ways.iter().map(|w| format!("{}: {}", w.says, w.brings)).collect();
    part("Any one of these would put everything on time, each tried in a plan", &ways);
    out
}
