//! Reading kitchen and plan files, writing results, planning with the patience asked for.

use super::{Ended, Planning};
use crate::book::files::write_whole;
use crate::kitchen::{Kitchen, read};
use crate::plan::replan::{Again, replan};
use crate::plan::{History, Plan, Refusal, Request, strike};
use crate::schedule::{NodeBudget, Stop, WallClock};
use anyhow::{Context, Result};
use chrono::{DateTime, Utc};
use std::io::{IsTerminal, Write};
use std::path::Path;
use std::time::Duration;

/// Reads and judges a kitchen file; prints what was found. `Err(Ended)` when no plan may be made from it.
pub fn kitchen(path: &Path) -> Result<std::result::Result<Kitchen, Ended>> {
    Ok(kitchen_and_warnings(path)?.map(|k| k.0))
}

/// The same, with what the file was warned of, a sentence each.
pub fn kitchen_and_warnings(path: &Path) -> Result<std::result::Result<(Kitchen, Vec<String>), Ended>> {
    kitchen_of(path, &text_of(path)?)
}

/// The same from a text that has been read.
pub fn kitchen_of(path: &Path, text: &str) -> Result<std::result::Result<(Kitchen, Vec<String>), Ended>> {
    let reading = read::read(&path.display().to_string(), text);
    // Today is the kitchen's own date; a file without a readable zone is judged by UTC's.
    let now = crate::clock::now();
    let today = reading.kitchen.as_ref().map_or_else(|| now.date_naive(), |k| k.zone.civil(now).date());
    let reading = reading.judge(today);
    let found = reading.to_text(std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none());
    if !found.is_empty() {
        eprint!("{found}");
    }
    let warnings = reading.findings.iter().map(|f| f.says.clone()).collect();
    Ok(reading.kitchen.map(|k| (k, warnings)).ok_or(Ended::Unusable))
}

/// A file's text, or standard input for `-`.
pub fn text_of(path: &Path) -> Result<String> {
    if path == Path::new("-") {
        return std::io::read_to_string(std::io::stdin()).context("cannot read standard input");
    }
    let bytes = std::fs::read(path).with_context(|| format!("cannot read {}", path.display()))?;
    String::from_utf8(bytes).with_context(|| format!("{} is not text in UTF-8", path.display()))
}

/// Reads a plan file.
pub fn plan(path: &Path) -> Result<Plan> {
    let text = text_of(path)?;
    let mut d = serde_json::Deserializer::from_str(&text);
    let no_plan =
        || format!("{} is not a plan that `turnday plan --json` writes (see `turnday schema plan`)", path.display());
    let plan = serde_path_to_error::deserialize(&mut d).with_context(no_plan)?;
    d.end().with_context(no_plan)?;
    Ok(plan)
}

/// Plans with the patience asked for.
pub fn struck(kitchen: &Kitchen, how: &Planning) -> std::result::Result<Plan, Refusal> {
    let request = Request { kitchen, now: crate::clock::now(), seed: how.seed, promises: Default::default() };
    if let Some(steps) = how.steps {
        return strike(&request, &NodeBudget(steps), &mut |_| ());
    }
    if let Some(s) = how.seconds {
        let stop = WallClock::after(Duration::from_secs_f64(s.clamp(0.0, 86_400.0)));
        return strike(&request, &stop as &dyn Stop, &mut |_| ());
    }
    strike(&request, &NodeBudget(usual_steps(kitchen.joints.len())), &mut |_| ())
}

/// A first plan in a book: of joints that are there already it begins now, since nothing of it is done. A batch that is all past
/// stays where it was, to be logged.
///
/// # Errors
/// [`Refusal`] when nothing can begin now: a plan that lies in the past would be reckoned as if it had happened.
pub fn onward(kitchen: &Kitchen, plan: Plan, now: DateTime<Utc>, seed: u64) -> std::result::Result<Plan, Refusal> {
    let begun = plan.tasks.iter().any(|t| t.start.to_utc() < now);
    let over = plan.tasks.iter().all(|t| t.end.to_utc() <= now);
    if !begun || over {
        return Ok(plan);
    }
    let history = History::none(now);
    let steps = replan_steps(kitchen.joints.len());
    let again = Again { kitchen, old: &plan, history: &history, seed, steps, ways: 0, what: &[] };
    replan(&again, &NodeBudget(u64::MAX)).map(|found| found.plan)
}

/// Search steps taken when nothing else is asked for: the same plan each time and on every machine, in a blink for two
/// joints and a few seconds for two dozen. With few joints every way of sharing is compared too, which takes as long again
/// several times over.
pub fn usual_steps(joints: usize) -> u64 {
    let n = joints.clamp(1, 1000) as u64;
    let found = 1_000 * n * n + 1_000 * n;
    if n <= 6 { 6 * found } else { found.min(100_000) }
}

/// Search steps for planning again when nothing else is asked for: a fraction of a second for five joints.
pub fn replan_steps(joints: usize) -> u64 {
    (200 * joints.clamp(1, 1000) as u64).min(6_000)
}

/// Prints a refusal, as text on standard error or as JSON on standard output.
pub fn refuse(refusal: &Refusal, json: bool) -> Result<Ended> {
    if json {
        print(&(serde_json::to_string_pretty(refusal)? + "\n"))?;
    } else {
        for line in refusal.lines() {
            eprintln!("{line}");
        }
    }
    Ok(Ended::Refused)
}

/// Prints to standard output; a closed pipe comes back as an error, never a panic.
pub fn print(text: &str) -> Result<()> {
    let mut out = std::io::stdout().lock();
    out.write_all(text.as_bytes())?;
    out.flush()?;
    Ok(())
}

/// Writes a file whole or not at all.
pub fn write(path: &Path, text: &str) -> Result<()> {
    anyhow::ensure!(path.file_name().is_some(), "{} names no file", path.display());
    write_whole(path, text.as_bytes()).with_context(|| format!("cannot write {}", path.display()))
}
