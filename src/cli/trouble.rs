//! `turnday trouble`: what the house's own table says when something goes wrong, and what it does to the plan.

use super::book::{self, Which};
use super::{Ended, files, text};
use crate::book::{Act, Book, RulingRecord, State};
use crate::kitchen::{Basis, Joint, Kitchen, Limits};
use crate::process::trouble::{Effect, Known, Ruling, Told, Verdict, apply, kinds, rule, share_words};
use crate::process::{bridge, durations, fit};
use crate::science::Refused;
use crate::science::brine::{water_for, weigh_out};
use crate::units::{Elapsed, Mass, Temperature, Volume};
use anyhow::{Result, bail};
use std::fmt::Write;
use std::path::PathBuf;

#[derive(Debug, Clone, clap::Args)]
#[command(arg_required_else_help = false)]
pub struct TroubleArgs {
    /// What went wrong; without it, every kind the table knows is listed
    pub kind: Option<String>,
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
    let Some(kind) = &args.kind else { return listed(args.json) };
    let mut on_record = if args.log { Some(book::open(&args.book)?) } else { None };
    let (kitchen, args) = match (&on_record, &args.kitchen) {
        (Some(b), _) => (Some(b.state().kitchen.clone()), &by_the_book(args, b.state())),
        (None, Some(path)) => match files::kitchen(path)? {
            Ok(k) => (Some(k), args),
            Err(e) => return Ok(e),
        },
        (None, None) if args.tub.is_some() || !args.joints.is_empty() => {
            bail!("joints and tubs are those of a kitchen file (--kitchen FILE) or of the book (--log)")
        }
        (None, None) => (None, args),
    };
    let known = match &kitchen {
        Some(k) => match known_of(k, args)? {
            Ok(known) => known,
            Err(r) => return refused(args.json, &r),
        },
        None => Known {
            nitrite: args.nitrite,
            start_percent: args.start_percent,
            business: args.business,
            in_brine: args.in_brine,
            since_good: args.since_good,
            ..Known::default()
        },
    };
    let told = Told {
        lasted: args.lasted,
        celsius: args.reading,
        ratio: args.ratio,
        weight: args.weight,
        smells: args.smells,
        cloudy: args.cloudy,
    };
    let limits = kitchen.as_ref().map_or_else(|| Limits::shipped().clone(), |k| Limits::with(&k.limits));
    let ruling = match rule(&limits, kind, &told, &known) {
        Ok(r) => r,
        Err(r) => return refused(args.json, &r),
    };
    if let (Some(path), Some(k)) = (&args.output, &kitchen) {
        if args.joints.is_empty() {
            bail!("say which joint it is about: --joint NAME");
        }
        files::write(path, &(serde_json::to_string_pretty(&apply(k, &args.joints, &ruling))? + "\n"))?;
    }
    let line = match &mut on_record {
        Some(b) => match log(b, args, &ruling) {
            Err(e) => match e.downcast::<crate::book::Error>() {
                Ok(crate::book::Error::Refused(r)) => {
                    eprintln!("Not recorded: {r}");
                    return Ok(Ended::Refused);
                }
                Ok(e) => return Err(e.into()),
                Err(e) => return Err(e),
            },
            Ok(line) => Some(line),
        },
        None => None,
    };
    if args.json {
        files::print(&(serde_json::to_string_pretty(&ruling)? + "\n"))?;
    } else {
        files::print(&told_as_text(&ruling))?;
        if let Some(line) = line {
            files::print(&format!("On record, line {line}. `turnday replan` shows what it moves.\n"))?;
        }
    }
    Ok(if matches!(ruling.verdict, Verdict::CarryOn) { Ended::Done } else { Ended::Refused })
}

/// What the book knows of it: the tub a joint lies in, the joints that lie in a tub, and since when.
fn by_the_book(args: &TroubleArgs, state: &State) -> TroubleArgs {
    let mut args = args.clone();
    let lines = || state.lines.values().filter(|l| !l.cancelled).map(|l| &l.line);
    let load = |line: &crate::book::PlanLine| line.id.strip_prefix("put in ").map(str::to_owned);
    let lifted = |joint: &str| state.tasks.get(&format!("lift {joint}")).is_some_and(|t| t.finished.is_some());
    let mut into = args.tub.clone();
    if let (None, Some(joint)) = (&into, args.joints.first()) {
        into = lines().filter(|l| l.joints.contains(joint)).find_map(load);
    }
    let Some(load) = into else { return args };
    let put_in = format!("put in {load}");
    if args.joints.is_empty() {
        let inside = lines().find(|l| l.id == put_in).map(|l| l.joints.clone()).unwrap_or_default();
        args.joints = inside.into_iter().filter(|j| !lifted(j)).collect();
    }
    if args.in_brine.is_none()
        && let Some(mark) = state.tasks.get(&put_in).and_then(|t| t.finished.as_ref().or(t.started.as_ref()))
    {
        let minutes = (crate::clock::now() - mark.when).num_minutes();
        args.in_brine = (minutes >= 0).then(|| Elapsed::minutes(minutes as f64));
    }
    // A tub's second load is called "T1 (load 2)".
    args.tub = Some(load.split(" (load ").next().unwrap_or(&load).to_owned());
    args
}

/// Puts it on record with the ruling; its line.
fn log(book: &mut Book, args: &TroubleArgs, ruling: &Ruling) -> Result<u64> {
    let about = match (args.joints.as_slice(), &args.tub) {
        ([one], _) => one.clone(),
        (_, Some(tub)) => tub.clone(),
        _ => String::new(),
    };
    let details = serde_json::json!({
        "hours": args.lasted.map(Elapsed::as_hours),
        "celsius": args.reading.map(Temperature::as_celsius),
        "ratio": args.ratio,
        "kg": args.weight.map(Mass::as_kg),
        "smells": args.smells,
        "cloudy": args.cloudy,
    });
    let to_do = std::iter::once(ruling.first.clone()).chain(ruling.then.iter().cloned()).collect();
    let record = RulingRecord {
        says: ruling.says.clone(),
        to_do,
        deviation: ruling.deviation.as_ref().map_or_else(String::new, |d| d.limit.clone()),
        corrective: ruling.deviation.as_ref().map_or_else(String::new, |d| d.corrective.clone()),
        effect: serde_json::to_value(&ruling.effects)?,
    };
    let now = crate::clock::now();
    let act = Act::Trouble { kind: ruling.kind.clone(), about, details, ruling: record, when: now };
    Ok(book.record(act, args.by.as_deref().unwrap_or_default(), now)?.seq)
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
    let mut out = "turnday trouble KIND, where KIND is one of:\n".to_owned();
    for k in all {
        let asks = if k.asks.is_empty() { String::new() } else { format!(" (asks: {})", k.asks.join("; ")) };
        let _ = writeln!(out, "  {:<16} {}{asks}", k.kind, k.what);
    }
    files::print(&out)?;
    Ok(Ended::Done)
}

/// What a kitchen file knows of the joints, their tub and their brine.
fn known_of(k: &Kitchen, args: &TroubleArgs) -> Result<std::result::Result<Known, Refused>> {
    let mut joints: Vec<&Joint> = Vec::new();
    for name in &args.joints {
        match k.joints.iter().find(|j| j.name == *name) {
            Some(j) => joints.push(j),
            None => bail!("no joint is called \"{name}\""),
        }
    }
    let tub_name = args.tub.clone().or_else(|| joints.first().and_then(|j| j.tub.clone()));
    let recipe = bridge::recipe(&k.cure);
    let scales = bridge::scales(k);
    let mut tub = None;
    if let Some(name) = &tub_name {
        let Some(found) = k.kit.tubs.iter().find(|t| t.name == *name) else { bail!("no tub is called \"{name}\"") };
        if !joints.is_empty() {
            let meat = Mass::kg(joints.iter().map(|j| j.planned_weight().as_kg()).sum());
            let filled = fit::in_tub(&joints, found, &Limits::with(&k.limits));
            let water = match filled {
                Ok(f) => water_for(&recipe, meat, Volume::litres(f.brine)),
                Err(m) => Err(Refused::new(m.says, "name the tub they really lie in")),
            };
            match water {
                Ok(w) => tub = Some((recipe.clone(), meat, w)),
                Err(r) => return Ok(Err(r)),
            }
        }
    }
    let start = match (&tub, k.cure.basis) {
        (Some((r, meat, water)), _) => weigh_out(r, *meat, *water, scales).ok().map(|a| a.value.start_percent),
        (None, Basis::Excess) => {
            Some(100.0 * k.cure.salt_percent / (100.0 + k.cure.salt_percent + k.cure.sugar_percent))
        }
        (None, Basis::Equilibrium) => None,
    };
    let need = joints.iter().map(|j| durations::cure(j, &k.cure)).max();
    let one = match joints.as_slice() {
        [one] => Some(one.planned_weight()),
        _ => None,
    };
    Ok(Ok(Known {
        nitrite: Some(k.cure.curing_salt.as_ref().is_some_and(|c| c.target_mg_per_kg > 0.0)),
        nitrite_target: k.cure.curing_salt.as_ref().map(|c| c.target_mg_per_kg),
        start_percent: args.start_percent.or(start),
        business: k.batch.business,
        in_brine: args.in_brine,
        need: need.map(|m| Elapsed::minutes(f64::from(m))),
        since_good: args.since_good,
        expected: one,
        days_per_kg: Some(k.cure.days_per_kg),
        tub,
        scales,
    }))
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}

const fn verdict(v: Verdict) -> &'static str {
    match v {
        Verdict::CarryOn => "carry on",
        Verdict::Hold => "hold: nothing goes on until the first thing is done",
        Verdict::Renew => "renew the brine",
        Verdict::Bin => "bin it",
        Verdict::Decide => "a person decides; in doubt, throw it out",
    }
}

fn told_as_text(r: &Ruling) -> String {
    let within = match r.within_minutes {
        0 => "at once".to_owned(),
        m => format!("within {}", text::length(i64::from(m))),
    };
    let mut out = format!(
        "The house's table: {}.\n  {} ({within}).\nRuling: {}.\n",
        r.says,
        capital(&r.first),
        verdict(r.verdict)
    );
    for t in &r.then {
        let _ = writeln!(out, "  Then: {t}.");
    }
    for e in &r.effects {
        let _ = writeln!(out, "Plan: {}.", effect(e));
    }
    if r.effects.is_empty() {
        out += "Plan: nothing moves by this alone.\n";
    }
    if let Some(d) = &r.deviation {
        let _ = writeln!(out, "For the record, a deviation: {}.\n  Corrective action: {}.", d.limit, d.corrective);
    }
    for a in &r.read_as {
        let _ = writeln!(out, "Mind: {a}.");
    }
    for c in &r.cautions {
        let _ = writeln!(out, "Caution: {c}.");
    }
    let _ = writeln!(out, "From: {}; looked at {}.", r.source, r.as_of);
    out
}

fn effect(e: &Effect) -> String {
    let length = |hours: f64| text::length((hours * 60.0).round() as i64);
    match e {
        Effect::ExtraCure { hours, .. } => format!("{} more in the brine", length(*hours)),
        Effect::RestartClock { hours: Some(h), .. } => {
            format!("the clock starts again: {} more in the brine", length(*h))
        }
        Effect::RestartClock { hours: None, .. } => "the clock starts again".to_owned(),
        Effect::NotCounted { hours, .. } => format!("{} in the brine do not count", length(*hours)),
        Effect::RenewBrine { share, weigh } => {
            let at = format!("new brine at {}", share_words(*share));
            match weigh {
                None => at,
                Some(w) => format!(
                    "{at}: water {:.1} kg, plain salt {:.0} g, curing salt {:.1} g, sugar {:.0} g",
                    w.water.as_kg(),
                    w.plain_salt.as_kg() * 1000.0,
                    w.curing_salt.as_kg() * 1000.0,
                    w.sugar.as_kg() * 1000.0
                ),
            }
        }
        Effect::JointLost => "the joint is out of the plan".to_owned(),
        Effect::CookAtOnce { why } => format!("lifted as soon as it is cured, cooked or packed at once ({why})"),
        Effect::Weighed { kg, days: None } => format!("it goes by {kg:.2} kg"),
        Effect::Weighed { kg, days: Some(d) } => format!("it goes by {kg:.2} kg: {d:+.1} days in the brine"),
        Effect::ArrivesLater { hours } => format!("the pork comes {} later", length(*hours)),
        Effect::Soak { hours } => format!("a soak of {}", length(*hours)),
        Effect::AsFreshPork => "from here it counts as fresh pork: stricter cooling, no cured keeping life".to_owned(),
        Effect::AddCureBalance { grams: Some(g) } => format!("{g:.1} g of curing salt still to weigh in"),
        Effect::AddCureBalance { grams: None } => "the balance of curing salt still to weigh in".to_owned(),
    }
}
