//! `turnday why` and `turnday export-problem`: what holds a task, and the problem in the solver's neutral terms.

use super::source::{self, Source};
use super::{Ended, Planning, files, text};
use crate::plan::{judge, why};
use anyhow::Result;
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub struct WhyArgs {
    #[command(flatten)]
    pub planning: Planning,
    /// The task: its id, or a piece of its id or sentence. Given alone, it is a task of the book
    pub task: Option<String>,
    /// Use this plan instead of planning anew
    #[arg(long, value_name = "FILE")]
    pub plan: Option<PathBuf>,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, clap::Args)]
pub struct ExportArgs {
    #[command(flatten)]
    pub planning: Planning,
    /// Use this plan's sharing instead of planning anew
    #[arg(long, value_name = "FILE")]
    pub plan: Option<PathBuf>,
}

pub fn why(args: &WhyArgs) -> Result<Ended> {
    // One word alone is the task, and the kitchen the book's.
    let (planning, wanted) = match (&args.planning.kitchen, &args.task) {
        (_, Some(task)) => (args.planning.clone(), task.clone()),
        (Some(task), None) => {
            (Planning { kitchen: None, ..args.planning.clone() }, task.to_string_lossy().into_owned())
        }
        (None, None) => {
            eprintln!("Which task? `turnday turns` and `turnday plan --json` name them.");
            return Ok(Ended::Unusable);
        }
    };
    let Source { kitchen, plan, history, .. } = match source::of(&planning, args.plan.as_ref(), args.json)? {
        Ok(s) => s,
        Err(e) => return Ok(e),
    };
    let task = match why::find(&plan, &wanted) {
        Ok(t) => t,
        Err(says) => {
            eprintln!("{says}");
            return Ok(Ended::Unusable);
        }
    };
    let why = match why::why(&kitchen, &plan, history.as_ref(), &task.id) {
        Ok(why) => why,
        Err(broken) => return no_longer_holds(&broken, "what holds this task", planning.kitchen.is_none(), args.json),
    };
    if args.json {
        files::print(&(serde_json::to_string_pretty(&why)? + "\n"))?;
        return Ok(Ended::Done);
    }
    let mut out = format!("{}: {}\n", text::moment(&why.starts), task.says);
    let span = |pair: &[crate::plan::When; 2]| {
        if pair[0] == pair[1] {
            "only then".to_owned()
        } else {
            format!("{} to {}", text::moment(&pair[0]), text::moment(&pair[1]))
        }
    };
    out += &format!("With all else where it is it can start: {}\n", span(&why.alone));
    out += &format!("When what is tied to it gives way: {}\n", span(&why.together));
    for (head, list) in [("Not earlier, because:", &why.not_earlier), ("Not later, because:", &why.not_later)] {
        if !list.is_empty() {
            out += &format!("{head}\n");
            list.iter().for_each(|l| out += &format!("  {l}\n"));
        }
    }
    files::print(&out)?;
    Ok(Ended::Done)
}

/// Of a plan that is itself broken nothing of `what` can be told: what breaks it is, and what to do about it.
pub(super) fn no_longer_holds(broken: &[judge::Broken], what: &str, by_the_book: bool, json: bool) -> Result<Ended> {
    let next = if by_the_book {
        "`turnday replan` plans again by what is on record."
    } else {
        "`turnday check` lists every limit it breaks; plan again with `turnday plan KITCHEN`."
    };
    if json {
        let data = serde_json::json!({ "no_longer_holds": broken, "next": next });
        files::print(&(serde_json::to_string_pretty(&data)? + "\n"))?;
        return Ok(Ended::Refused);
    }
    eprintln!("The plan no longer holds, so {what} cannot be told:");
    broken.iter().for_each(|b| eprintln!("  {}", b.says));
    eprintln!("{next}");
    Ok(Ended::Refused)
}

pub fn export(args: &ExportArgs) -> Result<Ended> {
    let Source { kitchen, plan, .. } = match source::of(&args.planning, args.plan.as_ref(), false)? {
        Ok(s) => s,
        Err(e) => return Ok(e),
    };
    let mut broken = Vec::new();
    let Some(laid) = judge::lay(&kitchen, &plan, &mut broken) else {
        broken.iter().for_each(|b| eprintln!("{}", b.says));
        return Ok(Ended::Refused);
    };
    files::print(&(crate::schedule::export::to_json(&laid.emitted.problem)? + "\n"))?;
    Ok(Ended::Done)
}
