//! `turnday brine`: the weigh-out slip, tub by tub.

use super::super::source::{self, Source};
use super::super::{Ended, Planning};
use super::{notes, of_load, refused, show};
use crate::app::views::{Slip, slip};
use crate::kitchen::Kitchen;
use crate::plan::TubLoad;
use crate::science::Answer;
use anyhow::Result;
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub struct BrineArgs {
    #[command(flatten)]
    pub planning: Planning,
    /// Only this tub
    #[arg(long, value_name = "NAME")]
    pub tub: Option<String>,
    /// Use this plan's tubs instead of planning anew
    #[arg(long, value_name = "FILE")]
    pub plan: Option<PathBuf>,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

fn text(kitchen: &Kitchen, a: &Answer<Slip>) -> String {
    let s = &a.value;
    let w = &s.weigh;
    let tick = "  ____ ____";
    let mut out = format!(
        "{}: {} ({:.1} kg of meat)\n  Fill to {:.1} cm with about {:.1} L of brine\n",
        s.load,
        s.joints.join(", "),
        w.meat.as_kg(),
        s.fill_cm,
        w.brine.as_litres()
    );
    out += &format!("  {:<13}{:>8.1} kg{tick}\n", "water", w.water.as_kg());
    if let Some(i) = s.ice {
        out += &format!(
            "    of it boil {:.1} kg with the salt and sugar, then {:.1} kg as ice and {:.1} kg fridge-cold\n",
            i.boil.as_kg(),
            i.ice.as_kg(),
            i.cold.as_kg()
        );
    }
    out += &format!("  {:<13}{:>8.0} g{tick}\n", "plain salt", w.plain_salt.as_g());
    if let Some(b) = &kitchen.cure.curing_salt {
        let step = if kitchen.kit.scales.curing_salt_g < 0.05 { 2 } else { 1 };
        let code = if b.code.is_empty() { String::new() } else { format!(", bag {}", b.code) };
        out += &format!(
            "  {:<13}{:>8.step$} g{tick}  {} % nitrite{code}; goes in cold\n",
            "curing salt",
            w.curing_salt.as_g(),
            b.nitrite_percent
        );
    }
    out += &format!("  {:<13}{:>8.0} g{tick}\n", "sugar", w.sugar.as_g());
    let degrees = w.salometer.map_or_else(String::new, |d| format!(", {d:.0}° on a salometer"));
    out += &format!(
        "  Starts at {:.1} % salt{degrees}; {:.2} % of meat and water; {:.1} times as much brine as meat\n",
        w.start_percent, w.salt_on_system, w.brine_to_meat
    );
    if w.nitrite_mg_per_kg > 0.0 {
        out += &format!(
            "  Nitrite going in: {:.0} mg/kg on meat and water; {:.0} mg/kg by the pick-up method at 10 %\n",
            w.nitrite_mg_per_kg, s.nitrite_by_pick_up
        );
    }
    out + "\n"
}

pub fn run(args: &BrineArgs) -> Result<Ended> {
    let Source { kitchen, plan, .. } = match source::of(&args.planning, args.plan.as_ref(), args.json)? {
        Ok(s) => s,
        Err(e) => return Ok(e),
    };
    let wanted = |l: &&TubLoad| args.tub.as_ref().is_none_or(|t| *t == l.tub || *t == l.id);
    let loads: Vec<&TubLoad> = plan.loads.iter().filter(wanted).collect();
    if loads.is_empty() {
        let used: Vec<&str> = plan.loads.iter().map(|l| l.id.as_str()).collect();
        let tub = args.tub.as_deref().unwrap_or("");
        anyhow::bail!("the plan puts nothing in a tub called \"{tub}\"; it fills {}", used.join(", "));
    }
    let (mut slips, mut none) = (Vec::new(), Vec::new());
    for l in loads {
        match slip(&kitchen, l) {
            Ok(s) => slips.push(s),
            Err(r) if args.json => return refused(true, &r),
            Err(r) => none.push(of_load(l, r)),
        }
    }
    let mut out: String = slips.iter().map(|s| text(&kitchen, s)).collect();
    out += &notes(slips.iter().flat_map(|s| &s.notes));
    let ended = show(args.json, &slips, &out)?;
    // The other tubs are weighed out all the same.
    none.iter().try_fold(ended, |_, r| refused(false, r))
}
