//! `turnday replan`: the plan after what has happened.

use super::{Ended, Planning, book, files};
use crate::app::acts::{accepted, history_of, plan_of, said_since};
use crate::book::{Act, Book};
use crate::kitchen::spoken::{self, Here, Lean};
use crate::kitchen::{Kitchen, Moment};
use crate::plan::replan::{Again, Replan, Tier, replan as plan_again};
use crate::plan::{History, Plan, Refusal, ways};
use crate::schedule::{NodeBudget, Stop, WallClock};
use anyhow::{Context, Result, bail};
use chrono::{DateTime, Utc};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// What has happened, and when it is.
#[derive(Debug, Clone, clap::Args)]
pub struct Happened {
    /// What has happened, as JSON (see `turnday schema history`); the book's record when kitchen and plan are the book's
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
    /// The plan so far, of a kitchen file; left out with it, the book's
    pub plan: Option<PathBuf>,
    #[command(flatten)]
    pub happened: Happened,
    /// Take the new plan on: from now on it is the book's
    #[arg(long, conflicts_with = "keep")]
    pub accept: bool,
    /// Keep the old plan, and put on record that the new one was turned down
    #[arg(long)]
    pub keep: bool,
    /// Put a task at a start of your own, the rest planned around it: "turn T1 3=Sat 19:00"
    #[arg(long, value_name = "TASK=MOMENT")]
    pub put: Vec<String>,
    /// Who decides
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
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
    /// There was no plan so far: it was planned anew.
    pub first: bool,
    /// The book it comes from, if it does.
    pub book: Option<Book>,
    pub seed: u64,
    pub steps: u64,
}

impl Ground {
    /// From a kitchen file and a plan (planned anew when left out), or from the book.
    ///
    /// # Errors
    /// `Err(Ended)` when there is no kitchen or no plan; what is wrong has then been printed.
    pub fn of(
        planning: &Planning,
        plan: Option<&PathBuf>,
        happened: &Happened,
        json: bool,
    ) -> Result<std::result::Result<Self, Ended>> {
        let joints = |k: &Kitchen| k.joints.len();
        let steps = |k: &Kitchen| {
            planning.steps.unwrap_or(if planning.seconds.is_some() {
                u64::MAX / 4
            } else {
                files::replan_steps(joints(k))
            })
        };
        if let Some(path) = &planning.kitchen {
            let kitchen = match files::kitchen(path)? {
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
            let what = Vec::new();
            return Ok(Ok(Self { kitchen, old, history, what, first: false, book: None, seed: planning.seed, steps }));
        }
        let book = book::open(&planning.book)?;
        let state = book.state();
        let kitchen = state.kitchen.clone();
        let old = match (plan, plan_of(state).context("the book's plan is none that this program reads")?) {
            (Some(path), _) => files::plan(path)?,
            (None, Some(p)) if !state.wants_a_first_plan() => p,
            (None, _) => match files::struck(&kitchen, planning) {
                Ok(p) => p,
                Err(r) => return files::refuse(&r, json).map(Err),
            },
        };
        let history = match happened.history_if_any(&kitchen, &old)? {
            Some(h) if happened.done.is_some() || happened.as_planned => h,
            _ => history_of(state, happened.moment(&kitchen).unwrap_or_else(crate::clock::now)),
        };
        let what = said_since(&book.events()?, state);
        let steps = steps(&kitchen);
        let first = plan.is_none() && (state.plan.is_none() || state.wants_a_first_plan());
        Ok(Ok(Self { kitchen, old, history, what, first, book: Some(book), seed: planning.seed, steps }))
    }

    pub fn again(&self, ways: usize) -> Again<'_> {
        let Self { kitchen, old, history, what, seed, steps, .. } = self;
        Again { kitchen, old, history, seed: *seed, steps: *steps, ways, what }
    }

    /// Takes in a start that a person asked for, "TASK=MOMENT".
    fn wish(&mut self, put: &str) -> Result<()> {
        let (task, moment) = put.split_once('=').with_context(|| format!("\"{put}\" is no TASK=MOMENT"))?;
        let task = crate::plan::why::find(&self.old, task.trim()).map_err(anyhow::Error::msg)?.id.clone();
        let at = spoken::moment(moment.trim(), self.here()).map_err(|e| anyhow::Error::msg(e.to_string()))?;
        if !at.timed {
            bail!("say the time of day as well, as in \"{task}=Sat 19:00\"");
        }
        self.put(&task, at.at)
    }

    fn here(&self) -> Here {
        Here { now: self.history.now, zone: self.kitchen.zone, lean: Lean::Ahead }
    }

    /// The start a person asked for.
    ///
    /// # Errors
    /// When it is past, or the task is begun.
    pub fn put(&mut self, task: &str, at: DateTime<Utc>) -> Result<()> {
        if self.history.tasks.contains_key(task) {
            bail!("{task} is begun already; what has happened is not moved");
        }
        if at < self.history.now {
            bail!("{task} cannot be put into the past");
        }
        self.history.wished.insert(task.to_owned(), at);
        Ok(())
    }

    /// Tells of tasks in the record that no plan has: a slip of the pen that would otherwise pass unseen.
    fn tell_strangers(&self) {
        let known = |id: &String| self.old.tasks.iter().any(|t| t.id == *id);
        let ours = |id: &String| self.book.as_ref().is_some_and(|b| b.state().lines.get(id).is_some());
        for id in self.history.tasks.keys().filter(|id| !known(id) && !ours(id)) {
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
    if args.planning.kitchen.is_some() && (args.accept || args.keep) {
        bail!("a plan is taken on or kept in a book; leave the kitchen file out");
    }
    if args.planning.kitchen.is_some() && args.plan.is_none() {
        bail!("name the plan so far behind the kitchen file");
    }
    let mut ground = match Ground::of(&args.planning, args.plan.as_ref(), &args.happened, args.json)? {
        Ok(g) => g,
        Err(e) => return Ok(e),
    };
    let by = args.by.as_deref().unwrap_or_default();
    if args.keep {
        let says = "the plan is kept as it was".to_owned();
        let act = Act::PlanKept { says };
        return record(&mut ground, act, by).map(|e| e.unwrap_or(Ended::Done));
    }
    if ground.kitchen.joints.is_empty() {
        files::print("No joint is in the kitchen: nothing to plan.\n")?;
        return Ok(Ended::Done);
    }
    ground.tell_strangers();
    for put in &args.put {
        ground.wish(put)?;
    }
    let found = match plan_again(&ground.again(5), stop(&args.planning).as_ref()) {
        Ok(r) => r,
        Err(r) => return refuse_with_ways(&ground, r, stop(&args.planning).as_ref(), args.json),
    };
    if let Some(path) = &args.output {
        files::write(path, &(serde_json::to_string_pretty(&found.plan)? + "\n"))?;
    }
    if args.json {
        files::print(&(serde_json::to_string_pretty(&found)? + "\n"))?;
    } else if ground.first {
        files::print(&super::text::whole(&found.plan))?;
    } else {
        files::print(&text(&found))?;
    }
    if args.accept {
        if let Some(ended) = take_on(&mut ground, &found, by)? {
            return Ok(ended);
        }
        if !args.json {
            files::print("Taken on: this is the plan now.\n")?;
        }
    } else if ground.book.is_some() && (ground.first || found.tier != Tier::Kept) && !args.json {
        files::print("Nothing is changed yet: `turnday replan --accept` takes it on, `--keep` turns it down.\n")?;
    }
    let late = found.plan.joints.iter().any(|j| j.ready_by.is_some_and(|by| j.ready > by));
    Ok(if late || found.deviations.iter().any(|d| d.decide) { Ended::Refused } else { Ended::Done })
}

/// No plan: why not, and what would make one, each tried after what has happened.
fn refuse_with_ways(ground: &Ground, refusal: Refusal, stop: &dyn Stop, json: bool) -> Result<Ended> {
    let outcome = Err(refusal);
    let late = ways::late_in(&ground.kitchen, &outcome);
    let found = ways::ways_after(&ground.again(5), &late, stop);
    let Err(refusal) = outcome else { return Ok(Ended::Refused) };
    if json {
        let data = serde_json::json!({ "refused": refusal, "ways_out": found });
        files::print(&(serde_json::to_string_pretty(&data)? + "\n"))?;
        return Ok(Ended::Refused);
    }
    let ended = files::refuse(&refusal, false)?;
    eprint!("{}", super::plan::told(&found));
    Ok(ended)
}

/// Makes a plan the book's; how it ended, when it was refused.
fn take_on(ground: &mut Ground, found: &Replan, by: &str) -> Result<Option<Ended>> {
    let d = &found.difference;
    let moved = u32::try_from(d.moved.len() + d.dropped.len()).unwrap_or(u32::MAX);
    let says = match (d.happened.first(), moved) {
        (Some(h), m) => format!("{h} {m} of {} moved.", d.jobs),
        (None, m) => format!("{m} of {} moved.", d.jobs),
    };
    record(ground, accepted(&found.plan, &says, moved)?, by)
}

/// Plans again with a task where somebody put it on a phone, shows what that changes, and takes it on when `agreed` says so. What came
/// of it, in words.
///
/// # Errors
/// When there is no plan to begin from, or the book cannot be read or written.
pub(super) fn put_by_phone(
    planning: &Planning,
    plan: Option<&PathBuf>,
    (task, at): (&str, DateTime<Utc>),
    by: &str,
    agreed: &mut dyn FnMut(&str) -> Option<bool>,
) -> Result<String> {
    let happened = Happened { done: None, as_planned: false, now: None };
    let Ok(mut ground) = Ground::of(planning, plan, &happened, false)? else { bail!("there is no plan to begin from") };
    ground.put(task, at)?;
    let found = match plan_again(&ground.again(3), stop(planning).as_ref()) {
        Ok(r) => r,
        Err(r) => return Ok(format!("It cannot be there.\n{}\n", r.lines().join("\n"))),
    };
    let shown = text(&found);
    if ground.book.is_none() {
        return Ok(format!("{shown}Only a book can take it on; see `turnday start`.\n"));
    }
    Ok(match agreed(&shown) {
        Some(true) => match take_on(&mut ground, &found, by)? {
            None => format!("{shown}Taken on: this is the plan now.\n"),
            Some(_) => format!("{shown}Not taken on.\n"),
        },
        Some(false) => format!("{shown}Left as it is.\n"),
        None => format!("{shown}Not asked: there is no terminal. Say --yes to take it over.\n"),
    })
}

/// Records an act in the book it is about; how it ended, when it was refused.
fn record(ground: &mut Ground, act: Act, by: &str) -> Result<Option<Ended>> {
    let Some(book) = &mut ground.book else { bail!("there is no book to record it in") };
    match book.record(act, by, crate::clock::now()) {
        Ok(_) => {
            book::tell_cuts(&book.take_cuts());
            Ok(None)
        }
        Err(crate::book::Error::Refused(r)) => {
            eprintln!("Not recorded: {r}");
            Ok(Some(Ended::Refused))
        }
        Err(e) => Err(e.into()),
    }
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
