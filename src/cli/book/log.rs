//! `turnday log`: record what was done, in a few words.

use super::super::{Ended, files};
use super::{Which, open, refused, tell_cuts};
use crate::app::acts::{EXAMPLES, Meant, moment, tell, turns_told, understand};
use crate::book::{Act, Book, Event, State, TaskAct};
use crate::kitchen::spoken::{self, Here, Lean};
use crate::kitchen::{Joint, Limits};
use crate::plan::late_turns::parted;
use crate::process::{Kind, durations};
use crate::units::Mass;
use anyhow::Result;
use chrono::{DateTime, Utc};

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
        says += &hint(&act, book);
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
    if said(act, "", here) != said(&line.act, "", here) {
        says += &format!(" If it is wrong, say it again with `--instead {seq}`.");
    }
    says
}

/// What follows from an act, in a sentence.
fn hint(act: &Act, book: &Book) -> String {
    match act {
        Act::Weighed { joint, grams, .. } => of_weight(joint, *grams, book),
        Act::Taken { joint, .. } => of_packs(joint, book.state()),
        Act::Task { id, what: TaskAct::Finished, when } => of_turn(id, *when, book.state()),
        _ => String::new(),
    }
}

/// How many packs of a name are left.
fn of_packs(joint: &str, state: &State) -> String {
    let (left, all) =
        state.lots.iter().filter(|l| l.joint == joint).fold((0, 0), |s, l| (s.0 + l.left(), s.1 + l.packs));
    format!(" {left} of {all} left.")
}

/// A turn that shows a gap to be shorter than what was ruled of it.
fn of_turn(id: &str, when: DateTime<Utc>, state: &State) -> String {
    let Some(line) = state.lines.get(id).map(|l| &l.line).filter(|l| l.kind == Kind::Turn) else {
        return String::new();
    };
    let told = turns_told(state);
    let Some(t) = parted(&Limits::with(&state.kitchen.limits), &line.joints, when, &told) else { return String::new() };
    let (hours, line, days) = (t.hours.unwrap_or_default(), t.line, t.extra_hours / 24.0);
    format!(
        " Line {line} says {:.1} days went by without a turn, and rules {days:.1} days more in the brine: if this turn was done then, take that back with `turnday undo {line}`.",
        hours / 24.0
    )
}

fn of_weight(joint: &str, grams: f64, book: &Book) -> String {
    let Some(j) = book.state().kitchen.joints.iter().find(|j| j.name == *joint) else { return String::new() };
    let cure = &book.state().kitchen.cure;
    let asked = |weighed| f64::from(durations::cure(&Joint { weighed, ..j.clone() }, cure));
    let minutes = asked(Some(Mass::kg(grams / 1000.0))) - asked(None);
    // Within an hour and a half of curing nothing moves.
    if minutes.abs() < 90.0 {
        return String::new();
    }
    let (more, days) = (if minutes > 0.0 { "more" } else { "less" }, minutes.abs() / 1440.0);
    let expected = (j.weight.as_kg() * 100.0).round() / 100.0;
    format!(" Expected was {expected} kg: about {days:.1} days {more} in the brine. Plan again with `turnday replan`.")
}
