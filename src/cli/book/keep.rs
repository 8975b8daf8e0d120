//! `turnday book`: where it is, whether it is whole, out and in again, its kitchen, and closing a batch.

use super::super::{Ended, files};
use super::{Which, open, refused, tell_cuts};
use crate::app::acts::close;
use crate::book::{export, import, place};
use anyhow::{Context, Result};
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub struct BookArgs {
    #[command(subcommand)]
    pub what: What,
}

#[derive(Debug, clap::Subcommand)]
pub enum What {
    /// Print the folder the book is in
    Where(Plain),
    /// Read the whole journal and say whether it is whole
    Check(Plain),
    /// Write the whole book as one JSON file
    Export {
        /// The file; else standard output
        #[arg(short, long, value_name = "FILE")]
        output: Option<PathBuf>,
        #[command(flatten)]
        book: Which,
    },
    /// Make a book of an export; refuses to overwrite one
    Import {
        /// The file; - is standard input
        file: PathBuf,
        #[command(flatten)]
        book: Which,
    },
    /// Print the kitchen of the book, or take another kitchen file in its place: people's hours, the next batch
    Kitchen(super::kitchen::KitchenArgs),
    /// Take the joints of a finished batch out of the kitchen and the plan; the record keeps them
    Close {
        batch: String,
        /// Also while something is still to be done for it
        #[arg(long)]
        anyway: bool,
        /// Who says so
        #[arg(long, value_name = "NAME", default_value = "")]
        by: String,
        #[command(flatten)]
        book: Which,
    },
}

#[derive(Debug, clap::Args)]
pub struct Plain {
    #[command(flatten)]
    pub book: Which,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

pub fn run(args: &BookArgs) -> Result<Ended> {
    match &args.what {
        What::Where(p) => {
            let folder = place::find(p.book.book.as_deref())?;
            if p.json {
                files::print(&(serde_json::to_string(&serde_json::json!({ "book": folder }))? + "\n"))?;
            } else {
                files::print(&format!("{}\n", folder.display()))?;
            }
            Ok(Ended::Done)
        }
        What::Check(p) => check(p),
        What::Export { output, book } => {
            let text = export(&open(book)?)?;
            match output {
                Some(path) => {
                    crate::book::files::write_new(path, text.as_bytes())
                        .with_context(|| format!("cannot write {}", path.display()))?;
                }
                None => files::print(&text)?,
            }
            Ok(Ended::Done)
        }
        What::Import { file, book } => bring_in(file, book),
        What::Kitchen(args) => super::kitchen::run(args),
        What::Close { batch, anyway, by, book } => {
            let mut book = open(book)?;
            let acts = match refused(close(batch, book.state(), *anyway).map_err(Into::into))? {
                Ok(a) => a,
                Err(e) => return Ok(e),
            };
            // With no plan in the book there is only the kitchen to put back.
            let undo = if acts.len() == 1 { "`turnday undo`" } else { "`turnday undo` twice" };
            for act in acts {
                if let Err(e) = refused(book.record(act, by, crate::clock::now()))? {
                    return Ok(e);
                }
            }
            tell_cuts(&book.take_cuts());
            files::print(&format!(
                "Batch {batch} is closed: its joints left the kitchen and the plan. {undo} brings them back.\n"
            ))?;
            Ok(Ended::Done)
        }
    }
}

fn check(args: &Plain) -> Result<Ended> {
    let folder = place::find(args.book.book.as_deref())?;
    let mut book = crate::book::Book::open(&folder, crate::clock::now())?;
    let cuts = book.take_cuts();
    let events = book.events()?;
    // What the snapshot and the following of others came to must be what the whole journal comes to.
    let same = crate::book::State::fold(&events)? == *book.state();
    if args.json {
        let cuts: Vec<_> = cuts
            .iter()
            .map(|c| serde_json::json!({ "bytes": c.bytes, "whole_lines": c.whole_lines, "kept": c.kept, "last": c.last }))
            .collect();
        let data = serde_json::json!({ "book": folder, "lines": events.len(), "cut": cuts, "folds": same });
        files::print(&(serde_json::to_string_pretty(&data)? + "\n"))?;
    } else {
        tell_cuts(&cuts);
        let state =
            if same { "they fold to what is shown" } else { "they do NOT fold to what is shown: delete snapshot.json" };
        files::print(&format!("{}: {} lines, each whole; {state}.\n", folder.display(), events.len()))?;
    }
    Ok(if cuts.is_empty() && same { Ended::Done } else { Ended::Refused })
}

fn bring_in(file: &std::path::Path, which: &Which) -> Result<Ended> {
    let text = files::text_of(file)?;
    // The kitchen's name says where it goes on the shelf; the last one counts.
    let name = || -> Option<String> {
        let value: serde_json::Value = serde_json::from_str(&text).ok()?;
        let events = value.get("events")?.as_array()?;
        let kitchen = events.iter().rev().find_map(|e| {
            let act = e.get("act")?;
            act.get("kitchen_changed").or_else(|| act.get("started"))?.get("kitchen")?.as_str().map(str::to_owned)
        })?;
        crate::kitchen::read("the kitchen", &kitchen).kitchen.map(|k| k.name)
    };
    let folder = place::for_new(which.book.as_deref(), &name().unwrap_or_default())?;
    let book = match refused(import(&folder, &text, crate::clock::now()))? {
        Ok(b) => b,
        Err(_) => return Ok(Ended::Unusable),
    };
    files::print(&format!("A book of {} lines is in {} now.\n", book.state().seq, folder.display()))?;
    Ok(Ended::Done)
}
