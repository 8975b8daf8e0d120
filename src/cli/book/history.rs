//! `turnday history`: the record, for a person who was not there.

use super::super::{Ended, files};
use super::{Which, open};
use crate::app::acts::{Filter, Row, rows};
use crate::book::Act;
use crate::kitchen::Zone;
use crate::kitchen::spoken::{self, Here, Lean};
use anyhow::Result;
use chrono::TimeDelta;

#[derive(Debug, clap::Args)]
pub struct HistoryArgs {
    /// Only what is about this joint
    #[arg(long, value_name = "NAME")]
    pub joint: Option<String>,
    /// Only what is about this tub or cold space
    #[arg(long, value_name = "NAME")]
    pub tub: Option<String>,
    /// Only what happened or was recorded on this day: "2026-12-04", "yesterday", "Sat"
    #[arg(long, value_name = "DAY")]
    pub on: Option<String>,
    /// Only acts of this kind
    #[arg(long, value_name = "KIND", value_parser = clap::builder::PossibleValuesParser::new(Act::KINDS))]
    pub kind: Option<String>,
    /// Only what this person recorded
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    #[command(flatten)]
    pub book: Which,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

/// Recorded later than this after it happened, the moment of recording is told too.
const LATER: TimeDelta = TimeDelta::hours(1);

pub fn run(args: &HistoryArgs) -> Result<Ended> {
    let book = open(&args.book)?;
    let zone = book.state().kitchen.zone;
    let here = Here { now: crate::clock::now(), zone, lean: Lean::Back };
    let day = args.on.as_deref().map(|d| spoken::moment(d, here)).transpose()?.map(|s| s.date);
    let filter =
        Filter { joint: args.joint.clone(), tub: args.tub.clone(), day, kind: args.kind.clone(), by: args.by.clone() };
    let rows = rows(&book.events()?, book.state(), &filter, zone);
    if args.json {
        files::print(&(serde_json::to_string_pretty(&rows)? + "\n"))?;
        return Ok(Ended::Done);
    }
    let mut out = format!("{}, times in {zone}\n", book.state().kitchen.name);
    if rows.is_empty() {
        out += "  Nothing on record fits.\n";
    }
    let mut last = None;
    for r in &rows {
        let date = zone.civil(r.when.unwrap_or(r.at)).date();
        if last != Some(date) {
            out += &format!("\n{}\n", date.format("%A %-d %B %Y"));
            last = Some(date);
        }
        out += &line(r, zone);
    }
    files::print(&out)?;
    Ok(Ended::Done)
}

fn line(r: &Row, zone: Zone) -> String {
    let when = r.when.unwrap_or(r.at);
    let mut tail = Vec::new();
    if !r.by.is_empty() {
        tail.push(r.by.clone());
    }
    if (r.at - when).abs() > LATER {
        tail.push(format!("recorded {}", zone.civil(r.at).format("%a %-d %b %H:%M")));
    }
    if let Some(n) = r.undone_by {
        tail.push(format!("does not count: undone on line {n}"));
    }
    if let Some(n) = r.corrected_by {
        tail.push(format!("does not count: corrected on line {n}"));
    }
    let tail = if tail.is_empty() { String::new() } else { format!("  ({})", tail.join("; ")) };
    format!("  {:>4}  {}  {}{tail}\n", r.seq, zone.civil(when).format("%H:%M"), r.says)
}
