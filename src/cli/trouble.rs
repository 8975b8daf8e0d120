//! `turnday trouble`: what the house's own table says when something goes wrong, and what it does to the plan.

use super::book::{self, Which};
use super::{Ended, files};
use crate::app::acts::{Case, FIGURES, Unclear, and_told, by, case_of, ruling_lines};
use crate::kitchen::Limits;
use crate::process::trouble::{Known, Told, Verdict, apply, kinds, rule};
use crate::science::Refused;
use crate::units::{Elapsed, Mass, Temperature};
use anyhow::{Result, bail};
use std::fmt::Write;
use std::path::PathBuf;

/// Whose names are meant.
const NAMES: &str = "joints and tubs are those of a kitchen file (--kitchen FILE) or of the book (--log)";

#[derive(Debug, clap::Args)]
#[command(arg_required_else_help = false)]
pub struct TroubleArgs {
    /// What went wrong, in words as on the screen ("missed turn T1 6 d"): the kind, names, figures; without any, every kind the
    /// table knows is listed
    #[arg(value_name = "KIND", allow_negative_numbers = true)]
    pub words: Vec<String>,
    /// How long: since the last turn, warm, proud, in weak brine, how much later ("6 d", "7 h")
    #[arg(long = "for", value_name = "LENGTH", value_parser = Elapsed::parse)]
    pub lasted: Option<Elapsed>,
    /// Temperature read, of the brine or at the core ("8.5", "47 F")
    #[arg(long, value_name = "TEMPERATURE", value_parser = Temperature::parse, allow_hyphen_values = true)]
    pub reading: Option<Temperature>,
    /// Curing salt that went in over what should have (1.4)
    #[arg(long)]
    pub ratio: Option<f64>,
    /// Weight on your own scale
    #[arg(long, value_parser = Mass::parse)]
    pub weight: Option<Mass>,
    /// Whether the meat smells
    #[arg(long, value_name = "yes|no", value_parser = yes_or_no)]
    pub smells: Option<bool>,
    /// Whether the brine has clouded
    #[arg(long, value_name = "yes|no", value_parser = yes_or_no)]
    pub cloudy: Option<bool>,
    /// Time since the last reading that was inside the limit; stands for a length nobody knows
    #[arg(long, value_name = "LENGTH", value_parser = Elapsed::parse)]
    pub since_good: Option<Elapsed>,
    /// Time in the brine so far
    #[arg(long, value_name = "LENGTH", value_parser = Elapsed::parse)]
    pub in_brine: Option<Elapsed>,
    /// Kitchen file: its cure, its limits, its joints
    #[arg(long, value_name = "FILE")]
    pub kitchen: Option<PathBuf>,
    /// The joint or joints it is about, by name
    #[arg(long = "joint", value_name = "NAME")]
    pub joints: Vec<String>,
    /// The tub they lie in, for what to weigh
    #[arg(long, value_name = "NAME")]
    pub tub: Option<String>,
    /// Without a kitchen file: whether there is nitrite in the cure
    #[arg(long, value_name = "yes|no", value_parser = yes_or_no, conflicts_with = "kitchen")]
    pub nitrite: Option<bool>,
    /// Salt in the brine when it was made, % by weight of the brine
    #[arg(long, value_name = "PERCENT")]
    pub start_percent: Option<f64>,
    /// Without a kitchen file: it is a food business
    #[arg(long, conflicts_with = "kitchen")]
    pub business: bool,
    /// Put it on record, with the ruling; kitchen, tub, joints and time in the brine are then the book's
    #[arg(long, conflicts_with_all = ["kitchen", "nitrite", "business"])]
    pub log: bool,
    #[command(flatten)]
    pub book: Which,
    /// Who saw it
    #[arg(long, value_name = "NAME", requires = "log")]
    pub by: Option<String>,
    /// Write the kitchen file with the ruling worked in
    #[arg(short, long, value_name = "FILE", requires = "kitchen")]
    pub output: Option<PathBuf>,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

fn yes_or_no(text: &str) -> Result<bool, String> {
    match text.to_lowercase().as_str() {
        "yes" | "y" => Ok(true),
        "no" | "n" => Ok(false),
        _ => Err("expected yes or no".to_owned()),
    }
}

pub fn run(args: &TroubleArgs) -> Result<Ended> {
    if args.words.is_empty() {
        return listed(args.json);
    }
    let mut on_record = if args.log { Some(book::open(&args.book)?) } else { None };
    let kitchen = match (&on_record, &args.kitchen) {
        (Some(b), _) => Some(b.state().kitchen.clone()),
        (None, Some(path)) => match files::kitchen(path)? {
            Ok(k) => Some(k),
            Err(e) => return Ok(e),
        },
        (None, None) if args.tub.is_some() || !args.joints.is_empty() => bail!("{NAMES}"),
        (None, None) => None,
    };
    let words = args.words.join(" ");
    let (said, who) = kitchen.as_ref().map_or((words.as_str(), None), |k| by(&words, k));
    let case = match case_of(said, kitchen.as_ref()).and_then(|case| and_told(case, flagged(args))) {
        Ok(case) => case,
        Err(unclear) => return not_understood(args.json, &unclear, kitchen.is_none()),
    };
    let case = on_record.as_ref().map_or(case.clone(), |b| case.by_the_book(b.state(), crate::clock::now()));
    let ruled = match &kitchen {
        Some(k) => case.ruled(k),
        None => {
            let known = Known {
                nitrite: args.nitrite,
                start_percent: case.start_percent,
                business: args.business,
                in_brine: case.in_brine,
                since_good: case.since_good,
                ..Known::default()
            };
            rule(Limits::shipped(), &case.kind, &case.told, &known)
        }
    };
    let ruling = match ruled {
        Ok(r) => r,
        Err(r) => return refused(args.json, &r),
    };
    if let (Some(path), Some(k)) = (&args.output, &kitchen) {
        if case.joints.is_empty() {
            bail!("say which joint it is about: --joint NAME");
        }
        files::write(path, &(serde_json::to_string_pretty(&apply(k, &case.joints, &ruling))? + "\n"))?;
    }
    let line = match &mut on_record {
        Some(b) => {
            let now = crate::clock::now();
            let by = args.by.clone().or(who).unwrap_or_default();
            let mut lines = Vec::new();
            let acts = match case.acts(&ruling, b.state(), now) {
                Ok(acts) => acts,
                Err(r) => return refused(args.json, &r),
            };
            for act in acts {
                match book::refused(b.record(act, &by, now))? {
                    Ok(recorded) => lines.push(recorded.seq),
                    Err(ended) => return Ok(ended),
                }
            }
            lines.first().map(|first| (*first, lines.len()))
        }
        None => None,
    };
    if args.json {
        files::print(&(serde_json::to_string_pretty(&ruling)? + "\n"))?;
    } else {
        files::print(&ruling_lines(&ruling).into_iter().map(|(line, _)| line + "\n").collect::<String>())?;
        if let Some((line, acts)) = line {
            let kitchen = if acts > 1 { "; the kitchen goes by it" } else { "" };
            files::print(&format!("On record, line {line}{kitchen}. `turnday replan` shows what it moves.\n"))?;
        }
    }
    Ok(if matches!(ruling.verdict, Verdict::CarryOn) { Ended::Done } else { Ended::Refused })
}

/// What was told by options.
fn flagged(args: &TroubleArgs) -> Case {
    Case {
        kind: String::new(),
        told: Told {
            lasted: args.lasted,
            celsius: args.reading,
            ratio: args.ratio,
            weight: args.weight,
            smells: args.smells,
            cloudy: args.cloudy,
        },
        joints: args.joints.clone(),
        tub: args.tub.clone(),
        in_brine: args.in_brine,
        since_good: args.since_good,
        start_percent: args.start_percent,
        of_tub: false,
    }
}

/// Says what was not understood, and what could be said instead.
fn not_understood(json: bool, unclear: &Unclear, nameless: bool) -> Result<Ended> {
    let mut hint = unclear.choices.join("; ");
    if nameless {
        hint += &format!("; {NAMES}");
    }
    let hint = hint.trim_start_matches("; ");
    if json {
        return refused(true, &Refused::new(unclear.says.clone(), hint));
    }
    eprintln!("{unclear}");
    if nameless {
        eprintln!("{NAMES}");
    }
    Ok(Ended::Unusable)
}

fn refused(json: bool, r: &Refused) -> Result<Ended> {
    if json {
        files::print(&(serde_json::to_string_pretty(&serde_json::json!({ "refused": r }))? + "\n"))?;
    } else {
        eprintln!("{r}");
    }
    Ok(Ended::Unusable)
}

fn listed(json: bool) -> Result<Ended> {
    let all = kinds();
    if json {
        files::print(&(serde_json::to_string_pretty(&all)? + "\n"))?;
        return Ok(Ended::Done);
    }
    let mut out = format!(
        "turnday trouble KIND, with a joint or a tub and what it asks ({}), in any order; KIND is one of:\n",
        FIGURES.join(", ")
    );
    for k in all {
        let asks = if k.asks.is_empty() { String::new() } else { format!(" (asks: {})", k.asks.join("; ")) };
        let _ = writeln!(out, "  {:<16} {}{asks}", k.kind, k.what);
    }
    files::print(&out)?;
    Ok(Ended::Done)
}
