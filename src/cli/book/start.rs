//! `turnday start`: begin a book with a kitchen and a plan.

use super::super::{Ended, Planning, files, text};
use crate::app::acts::accepted;
use crate::book::{Book, place};
use crate::plan::judge::judge;
use anyhow::{Context, Result};
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub struct StartArgs {
    #[command(flatten)]
    pub planning: Planning,
    /// Take this plan on instead of planning anew
    #[arg(long, value_name = "FILE")]
    pub plan: Option<PathBuf>,
    /// Who begins it
    #[arg(long, value_name = "NAME", default_value = "")]
    pub by: String,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

pub fn run(args: &StartArgs) -> Result<Ended> {
    let path = args.planning.kitchen.as_ref().context("name the kitchen file to begin with")?;
    let source = files::text_of(path)?;
    let (kitchen, warnings) = match files::kitchen_of(path, &source)? {
        Ok(k) => k,
        Err(e) => return Ok(e),
    };
    let mut plan = match &args.plan {
        Some(file) => {
            let plan = files::plan(file)?;
            let broken = judge(&kitchen, &plan).broken.len();
            if broken > 0 {
                eprintln!("{} breaks {broken} limits of this kitchen; see `turnday check`.", file.display());
                return Ok(Ended::Refused);
            }
            plan
        }
        None => match files::struck(&kitchen, &args.planning) {
            Ok(p) => p,
            Err(r) => return files::refuse(&r, args.json),
        },
    };
    plan.notes.extend(warnings.iter().map(|w| format!("The kitchen file was warned of this: {w}.")));
    let folder = place::for_new(args.planning.book.book.as_deref(), &kitchen.name)?;
    let now = crate::clock::now();
    let mut book = Book::create(&folder, &source, &args.by, now)?;
    book.record(accepted(&plan, "the plan the book began with", 0)?, &args.by, now)?;
    if args.json {
        let data =
            serde_json::json!({ "book": folder, "id": book.id(), "revision": book.state().revision, "plan": plan });
        files::print(&(serde_json::to_string_pretty(&data)? + "\n"))?;
    } else {
        let mut out = format!("The book of {} is begun in {}.\n", kitchen.name, text::path(&folder));
        out += &text::headline(&plan);
        out += "Record what is done with `turnday log`; `turnday today` and `turnday turns` now need no file.\n";
        files::print(&out)?;
    }
    Ok(Ended::Done)
}
