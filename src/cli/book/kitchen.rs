//! `turnday book kitchen`: the book's kitchen as a file, and another file in its place.

use super::super::{Ended, Planning, files, text};
use super::{open, refused, tell_cuts};
use crate::app::acts::{accepted, exchange};
use crate::book::{Act, Book, Recorded, State};
use crate::kitchen::Kitchen;
use crate::plan::capital;
use anyhow::Result;

#[derive(Debug, clap::Args)]
pub struct KitchenArgs {
    #[command(flatten)]
    pub planning: Planning,
    /// Also while something is still to be done for a joint that leaves
    #[arg(long)]
    pub anyway: bool,
    /// Who says so
    #[arg(long, value_name = "NAME", default_value = "")]
    pub by: String,
}

pub fn run(args: &KitchenArgs) -> Result<Ended> {
    let mut book = open(&args.planning.book)?;
    let Some(path) = &args.planning.kitchen else {
        let own = &book.state().kitchen_text;
        let end = if own.ends_with('\n') { "" } else { "\n" };
        files::print(&format!("{own}{end}"))?;
        return Ok(Ended::Done);
    };
    let source = files::text_of(path)?;
    let (kitchen, warnings) = match files::kitchen_of(path, &source)? {
        Ok(k) => k,
        Err(e) => return Ok(e),
    };
    let (acts, says) = match refused(exchange(&source, &kitchen, book.state(), args.anyway).map_err(Into::into))? {
        Ok(a) => a,
        Err(e) => return Ok(e),
    };
    if acts.is_empty() {
        files::print("Nothing in it is different from the book's kitchen.\n")?;
        return Ok(Ended::Done);
    }
    let mut first = None;
    for act in acts {
        match refused(record(&mut book, act, args))? {
            Ok(r) => first = first.or(Some(r.seq)),
            Err(e) => return Ok(e),
        }
    }
    tell_cuts(&book.take_cuts());
    let mut out = format!("The kitchen of the book is that of {} now.\n", path.display());
    out.extend(says.iter().map(|s| format!("  {}.\n", capital(s))));
    out.extend(back(book.state(), first.unwrap_or(0)).map(|s| format!("  Mind: {s}.\n")));
    files::print(&out)?;
    let ended = if book.state().wants_a_first_plan() {
        first_plan(&mut book, &kitchen, &warnings, args)?
    } else {
        files::print("What is planned stands as it was: `turnday replan` plans with it.\n")?;
        Ended::Done
    };
    let times = match book.state().seq - first.map_or(book.state().seq, |f| f - 1) {
        0 | 1 => "`turnday undo`".to_owned(),
        2 => "`turnday undo` twice".to_owned(),
        n => format!("`turnday undo` {n} times"),
    };
    files::print(&format!("{times} takes it back.\n"))?;
    Ok(ended)
}

fn record(book: &mut Book, act: Act, args: &KitchenArgs) -> crate::book::Result<Recorded> {
    book.record(act, &args.by, crate::clock::now())
}

/// Plans joints where nothing was planned.
fn first_plan(book: &mut Book, kitchen: &Kitchen, warnings: &[String], args: &KitchenArgs) -> Result<Ended> {
    let struck = files::struck(kitchen, &args.planning);
    let mut plan = match struck.and_then(|p| files::onward(kitchen, p, crate::clock::now(), args.planning.seed)) {
        Ok(p) => p,
        Err(r) => return files::refuse(&r, false),
    };
    plan.notes.extend(warnings.iter().map(|w| format!("The kitchen file was warned of this: {w}.")));
    let act = accepted(&plan, "the plan the batch began with", 0)?;
    if let Err(e) = refused(record(book, act, args))? {
        return Ok(e);
    }
    files::print(&text::headline(&plan))?;
    Ok(Ended::Done)
}

/// Joints that came from a line on by a name that left under way: put back by mistake they are others to the book.
fn back(state: &State, from: u64) -> impl Iterator<Item = String> {
    let came = state.kitchen.joints.iter().filter(move |j| state.is_before(&j.name, from.saturating_sub(1)));
    let left = came.filter_map(|j| state.past.iter().rev().find(|p| p.joint.name == j.name));
    left.filter(|p| !p.is_packed() && p.is_begun()).map(|p| {
        format!(
            "{} left with line {} before it was packed; if this is the same joint, `turnday undo` back to that line, and its record is there again",
            p.joint.name, p.seq
        )
    })
}
