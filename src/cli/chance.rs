//! `turnday chance`: how likely a plan holds, what breaks it, and where a buffer helps.

use super::source::{self, Source};
use super::why::no_longer_holds;
use super::{Ended, Planning, files, text};
use crate::kitchen::Limits;
use crate::plan::chance::{Chance, Luck, Robust, Runs, Share, chance_after, robust};
use anyhow::Result;
use std::fmt::Write;
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub struct ChanceArgs {
    #[command(flatten)]
    pub planning: Planning,
    /// Use this plan instead of planning anew
    pub plan: Option<PathBuf>,
    /// Times to go through the plan; the search's seed is the seed of its luck too
    #[arg(long, default_value_t = 2000, value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    pub runs: u32,
    /// Look for plans that hold more often too, and say what they cost
    #[arg(long)]
    pub robust: bool,
    /// Write the plan that holds most often to a file
    #[arg(short, long, value_name = "FILE", requires = "robust")]
    pub output: Option<PathBuf>,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

pub fn run(args: &ChanceArgs) -> Result<Ended> {
    let Source { kitchen, plan, history, .. } = match source::of(&args.planning, args.plan.as_ref(), args.json)? {
        Ok(s) => s,
        Err(e) => return Ok(e),
    };
    if args.robust && history.as_ref().is_some_and(|h| !h.tasks.is_empty()) {
        eprintln!(
            "Some of this plan has happened, and --robust plans from the beginning: `turnday chance` tells how likely it holds, `turnday replan` plans again by what is on record."
        );
        return Ok(Ended::Refused);
    }
    let luck = Luck::of(&Limits::with(&kitchen.limits));
    let runs = Runs { runs: args.runs, seed: args.planning.seed, luck, buffers: true };
    let found = match chance_after(&kitchen, &plan, history.as_ref(), &runs) {
        Ok(c) => c,
        Err(broken) => {
            let by_the_book = args.planning.kitchen.is_none();
            return no_longer_holds(&broken, "how likely it holds", by_the_book, args.json);
        }
    };
    let better = if args.robust {
        let steps = args.planning.steps.unwrap_or_else(|| files::usual_steps(kitchen.joints.len()));
        Some(robust(&kitchen, &plan, &found, &runs, steps, crate::clock::now()))
    } else {
        None
    };
    if let (Some(path), Some(best)) = (&args.output, better.as_ref().and_then(|b| b.first())) {
        files::write(path, &(serde_json::to_string_pretty(&best.plan)? + "\n"))?;
    }
    if args.json {
        let mut data = serde_json::to_value(&found)?;
        if let Some(b) = &better {
            data["robust"] = serde_json::to_value(b)?;
        }
        files::print(&(serde_json::to_string_pretty(&data)? + "\n"))?;
    } else {
        files::print(&told(&found, better.as_deref()))?;
    }
    Ok(Ended::Done)
}

fn percent(s: &Share) -> String {
    format!("{:.1} % ({:.1} to {:.1})", s.share * 100.0, s.low * 100.0, s.high * 100.0)
}

fn told(c: &Chance, better: Option<&[Robust]>) -> String {
    let mut out = format!("{} runs, seed {}; in brackets the 95 % interval.\n\n", c.runs, c.seed);
    for j in &c.joints {
        let nine = j.nine_in_ten.as_ref().map_or_else(|| "not in this plan's time".to_owned(), text::moment);
        let _ = writeln!(
            out,
            "{} ready by {}: {}; nine in ten by {nine}",
            j.joint,
            text::moment(&j.ready_by),
            percent(&j.in_time)
        );
    }
    for k in &c.cooks {
        let _ = writeln!(
            out,
            "{} in the chill by {} on {}: {}; cooked on that day {}",
            k.cook,
            k.hour,
            text::day(&k.planned),
            percent(&k.by_the_hour),
            percent(&k.on_the_day)
        );
    }
    let _ = writeln!(out, "Everything with a date in time: {}", percent(&c.all_ready));
    let _ = writeln!(out, "No stated limit missed: {}", percent(&c.nothing_broken));
    if !c.breaks.is_empty() {
        out += "\nWhat is missed most often:\n";
        for b in &c.breaks {
            let _ = writeln!(out, "  {} at \"{}\": {} ({}; {})", b.limit, b.task, percent(&b.share), b.force, b.source);
        }
    }
    out += "\nWhere a buffer helps most, each tried in the same runs:\n";
    for b in &c.buffers {
        let joint = b.joint.as_ref().map_or_else(String::new, |(n, g)| format!("; {n} {:+.1}", g * 100.0));
        let _ = writeln!(
            out,
            "  \"{}\" {} earlier: everything in time {:+.1} points, in the chill by the hour {:+.1}{joint}",
            b.task,
            text::length(i64::from(b.earlier)),
            b.all_ready * 100.0,
            b.all_chilled * 100.0
        );
    }
    if c.buffers.is_empty() {
        out += "  none of an hour or a day does\n";
    }
    if let Some(all) = better {
        out += "\nPlans that hold more often, each planned and judged:\n";
        for r in all {
            let _ = writeln!(
                out,
                "  {}: everything in time {:.1} to {:.1} %, in the chill by the hour {:.1} to {:.1} %",
                r.says,
                r.all_ready[0] * 100.0,
                r.all_ready[1] * 100.0,
                r.all_chilled[0] * 100.0,
                r.all_chilled[1] * 100.0
            );
            let costs: Vec<String> =
                r.costs.iter().map(|c| format!("{} {} to {} {}", c.level, c.was, c.becomes, c.unit)).collect();
            let _ = writeln!(
                out,
                "    it costs: {}",
                if costs.is_empty() { "nothing".to_owned() } else { costs.join("; ") }
            );
        }
        if all.is_empty() {
            out += "  none of the ones tried\n";
        }
    }
    out += "\nTaken for this:\n";
    for a in &c.assumptions {
        let _ = writeln!(out, "  {a}");
    }
    out
}
