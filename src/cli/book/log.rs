//! `turnday log`: record what was done, in a few words.

use super::super::{Ended, files};
use super::{Which, open, refused, tell_cuts};
use crate::app::acts::{EXAMPLES, Meant, follows, moment, tell, understand};
use crate::book::{Act, Book, Event};
use crate::kitchen::spoken::{self, Here, Lean};
use anyhow::Result;

#[derive(Debug, clap::Args)]
#[command(after_help = after_help())]
pub struct LogArgs {
    /// What was done
    #[arg(required = true, num_args = 1.., allow_negative_numbers = true)]
    pub words: Vec<String>,
    /// When: "now", "20 min ago", "yesterday 19:00", "Sat 9:00", "2026-12-04 19:00"
    #[arg(long, value_name = "WHEN")]
    pub at: Option<String>,
    /// Who did it
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// Yes, that odd figure is what the scale or the probe said
    #[arg(long)]
    pub really: bool,
    /// Put this in the place of the act on that line of the record
    #[arg(long, value_name = "LINE")]
    pub instead: Option<u64>,
    #[command(flatten)]
    pub book: Which,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

fn after_help() -> String {
    let mut out = "What can be said:\n".to_owned();
    EXAMPLES.iter().for_each(|e| out += &format!("  turnday log {e}\n"));
    out + "A task of the plan may also be named by its whole name (`turnday log done lift shank`)."
}

pub fn run(args: &LogArgs) -> Result<Ended> {
    let mut book = open(&args.book)?;
    let here = Here { now: crate::clock::now(), zone: book.state().kitchen.zone, lean: Lean::Back };
    let at = args.at.as_deref().map(|t| spoken::moment(t, here)).transpose()?;
    let words = args.words.join(" ");
    let meant = match understand(&words, book.state(), here, at.as_ref()) {
        Ok(m) => m,
        Err(e) => {
            eprintln!("{e}");
            return Ok(Ended::Unusable);
        }
    };
    if args.instead.is_some() && meant.len() != 1 {
        anyhow::bail!("only one act can stand in the place of another");
    }
    let at_note = at.and_then(|s| s.note);
    for m in &meant {
        for note in m.note.iter().chain(&at_note) {
            eprintln!("Mind: {note}.");
        }
        match &m.doubt {
            Some((says, true)) if !args.really => {
                eprintln!("Not recorded: {says}. If it is so, say --really.");
                return Ok(Ended::Refused);
            }
            Some((says, _)) => eprintln!("Mind: {says}."),
            None => {}
        }
    }
    let mut told = Vec::new();
    for m in meant {
        match one(args, &mut book, m, here)? {
            Ok(line) => told.push(line),
            Err(e) => return Ok(e),
        }
    }
    tell_cuts(&book.take_cuts());
    if args.json {
        files::print(&(serde_json::to_string_pretty(&told)? + "\n"))?;
    } else {
        for t in &told {
            files::print(&format!("{}\n", t["says"].as_str().unwrap_or_default()))?;
        }
    }
    Ok(Ended::Done)
}

/// Records one act, and gives what is said of it.
fn one(args: &LogArgs, book: &mut Book, m: Meant, here: Here) -> Result<std::result::Result<serde_json::Value, Ended>> {
    let by = args.by.clone().or(m.by).unwrap_or_default();
    let act = m.act.clone();
    let recorded = match args.instead {
        Some(line) => book.correct(line, m.act, &by, here.now),
        None => book.record(m.act, &by, here.now),
    };
    let recorded = match refused(recorded)? {
        Ok(r) => r,
        Err(e) => return Ok(Err(e)),
    };
    let mut says = said(&act, &by, here);
    if recorded.already {
        let events = book.events()?;
        says = there_already(&act, events.iter().find(|e| e.seq == recorded.seq), here);
    } else {
        says = format!("{says} (line {}).", recorded.seq);
        let more = follows(&act, book.state());
        if !more.is_empty() {
            says += &format!(" {more}");
            if matches!(act, Act::Weighed { .. }) {
                says += " Plan again with `turnday replan`.";
            }
        }
    }
    Ok(Ok(serde_json::json!({ "line": recorded.seq, "already": recorded.already, "act": act, "says": says })))
}

/// An act, when it was done and by whom.
fn said(act: &Act, by: &str, here: Here) -> String {
    let who = if by.is_empty() { String::new() } else { format!(", {by}") };
    format!("{}, {}{who}", tell(act, &[]), moment(act.when().unwrap_or(here.now), here.zone))
}

/// That an act was not written since another line says it already; where that line says it otherwise, how to put this in its place.
fn there_already(act: &Act, line: Option<&Event>, here: Here) -> String {
    let Some(line) = line else {
        return format!("{}: that is on record already; nothing was added.", said(act, "", here));
    };
    let seq = line.seq;
    let stands = said(&line.act, &line.by, here);
    let mut says = format!("{stands}: that is on record already, on line {seq}; nothing was added.");
    if matches!(act, Act::Taken { .. }) {
        says += " If these are others, say them with another moment (`yesterday 19:00`).";
    } else if said(act, "", here) != said(&line.act, "", here) {
        says += &format!(" If it is wrong, say it again with `--instead {seq}`.");
    }
    says
}
