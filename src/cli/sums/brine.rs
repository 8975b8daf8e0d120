//! `turnday brine`: the weigh-out slip, tub by tub.

use super::super::source::{self, Source};
use super::super::{Ended, Planning};
use super::{bridge, filled, notes, refused, show};
use crate::kitchen::{BrineCooling, Kitchen};
use crate::plan::TubLoad;
use crate::science::brine::{IceSplit, WeighOut, ice_split, water_for, weigh_out};
use crate::science::nitrite::{pick_up, whole_system};
use crate::science::{Answer, Note, Refused};
use crate::units::{Mass, Temperature, Volume};
use anyhow::Result;
use serde::Serialize;
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

#[derive(Serialize)]
struct Slip {
    load: String,
    joints: Vec<String>,
    fill_cm: f64,
    weigh: WeighOut,
    #[serde(skip_serializing_if = "Option::is_none")]
    ice: Option<IceSplit>,
    /// Ingoing nitrite by the pick-up method at 10 % pick-up, mg/kg.
    nitrite_by_pick_up: f64,
}

/// Pick-up that the second official method is shown with.
const PICK_UP: f64 = 0.10;

fn slip(kitchen: &Kitchen, load: &TubLoad) -> Result<Answer<Slip>, Refused> {
    let meat: f64 =
        kitchen.joints.iter().filter(|j| load.joints.contains(&j.name)).map(|j| j.planned_weight().as_kg()).sum();
    let meat = Mass::kg(meat);
    let recipe = bridge::recipe(&kitchen.cure);
    let fit = filled(kitchen, load)?;
    let water = water_for(&recipe, meat, Volume::litres(fit.brine))?;
    // Water is weighed to the tenth of a kilogram on a kitchen's big scale.
    let water = Mass::kg((water.as_kg() * 10.0).round() / 10.0);
    let weigh = weigh_out(&recipe, meat, water, bridge::scales(kitchen))?;
    let mut more: Vec<Note> = Vec::new();
    let ice = match kitchen.cure.brine_cooling {
        BrineCooling::Overnight => None,
        BrineCooling::Ice => {
            let cold = Temperature::celsius(4.0);
            match ice_split(water, weigh.value.salt_total, 1.0 / 3.0, cold, cold) {
                Ok(a) => {
                    more.extend(a.notes);
                    Some(a.value)
                }
                Err(r) => {
                    more.push(Note::flag(r.to_string()));
                    None
                }
            }
        }
    };
    let w = &weigh.value;
    let nitrite = w.curing_salt.as_kg() * recipe.bag.as_ref().map_or(0.0, |b| b.nitrite_share());
    let pickle = w.water.as_kg() + w.salt_total.as_kg() + w.sugar.as_kg();
    debug_assert!((whole_system(nitrite, w.meat.as_kg(), w.water.as_kg()) - w.nitrite_mg_per_kg).abs() < 1e-6);
    let nitrite_by_pick_up = pick_up(nitrite, pickle, PICK_UP);
    Ok(weigh
        .map(|weigh| Slip {
            load: load.id.clone(),
            joints: load.joints.clone(),
            fill_cm: fit.fill,
            weigh,
            ice,
            nitrite_by_pick_up,
        })
        .with_all(more))
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
    let Source { kitchen, plan } = match source::of(&args.planning, args.plan.as_ref(), args.json)? {
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
    let mut slips = Vec::new();
    for l in loads {
        match slip(&kitchen, l) {
            Ok(s) => slips.push(s),
            Err(r) => return refused(args.json, &r),
        }
    }
    let mut out: String = slips.iter().map(|s| text(&kitchen, s)).collect();
    out += &notes(slips.iter().flat_map(|s| &s.notes));
    show(args.json, &slips, &out)
}
