//! `turnday undo` and `turnday redo`.

use super::super::{Ended, files};
use super::{Which, open, refused, tell_cuts};
use crate::app::acts::tell;
use crate::book::{Book, Result as BookResult, Reversed};
use anyhow::Result;

#[derive(Debug, clap::Args)]
pub struct UndoArgs {
    /// The line of the record; else the last
    pub line: Option<u64>,
    /// Who says so
    #[arg(long, value_name = "NAME", default_value = "")]
    pub by: String,
    #[command(flatten)]
    pub book: Which,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

pub fn undo(args: &UndoArgs) -> Result<Ended> {
    reverse(args, "Undone", |b| b.undo(args.line, &args.by, crate::clock::now()))
}

pub fn redo(args: &UndoArgs) -> Result<Ended> {
    reverse(args, "Done again", |b| b.redo(args.line, &args.by, crate::clock::now()))
}

fn reverse(args: &UndoArgs, word: &str, how: impl FnOnce(&mut Book) -> BookResult<Reversed>) -> Result<Ended> {
    let mut book = open(&args.book)?;
    let reversed = match refused(how(&mut book))? {
        Ok(r) => r,
        Err(e) => return Ok(e),
    };
    tell_cuts(&book.take_cuts());
    let says = format!("{word}: line {}, {}.", reversed.event.seq, tell(&reversed.event.act, &book.events()?));
    if args.json {
        let data = serde_json::json!({ "line": reversed.seq, "about_line": reversed.event.seq, "says": says });
        files::print(&(serde_json::to_string_pretty(&data)? + "\n"))?;
    } else {
        files::print(&format!("{says}\n"))?;
    }
    Ok(Ended::Done)
}
