//! `turnday cure-check`: how far the salt has got in each joint, today and on the day it is lifted.

use super::super::source::{self, Source};
use super::super::{Ended, Planning, text};
use super::{bridge, notes, show};
use crate::app::views::{filled, in_brine};
use crate::kitchen::Moment;
use crate::science::brine::{water_for, weigh_out};
use crate::science::salt::{Band, Reached, Story, Tub};
use crate::science::{Note, Refused, cure, salt};
use crate::units::{Elapsed, Mass, Temperature, Volume};
use anyhow::Result;
use serde::Serialize;
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub struct CureCheckArgs {
    #[command(flatten)]
    pub planning: Planning,
    /// Only this joint
    #[arg(long, value_name = "NAME")]
    pub joint: Option<String>,
    /// The moment to look at, in the kitchen's zone; now when left out
    #[arg(long, value_name = "\"YYYY-MM-DD HH:MM\"")]
    pub on: Option<String>,
    /// Use this plan instead of planning anew
    #[arg(long, value_name = "FILE")]
    pub plan: Option<PathBuf>,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Serialize)]
struct Checked {
    joint: String,
    tub: String,
    /// Days in the brine asked for, with what the rulings on record add.
    rule_days: f64,
    /// What the rule says of the stay, as it happened or is planned.
    standing: cure::Standing,
    /// Salt in the meat in the end, %.
    final_percent: f64,
    /// `None` before it is in the brine or after it is lifted.
    now: Option<Reached>,
    on_lift: Reached,
    /// Days to 80 % of the final uptake: soonest, middle, latest.
    days_to_80: [Option<f64>; 3],
    notes: Vec<Note>,
}

/// All of it as data, headed by what is outside the limits by the record, the worst first.
#[derive(Serialize)]
struct Told {
    alarms: Vec<String>,
    joints: Vec<Checked>,
    /// What could not be reckoned, and why.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    refused: Vec<Refused>,
}

fn band(b: &Band, scale: f64, digits: usize) -> String {
    format!("{:.digits$} ({:.digits$} to {:.digits$})", b.middle * scale, b.low * scale, b.high * scale)
}

fn line(label: &str, r: &Reached) -> String {
    format!(
        "  {label}, day {:.1}: {} % of its final salt taken up, {} % at the core; {} % salt on average\n",
        r.days,
        band(&r.uptake, 100.0, 0),
        band(&r.core, 100.0, 0),
        band(&r.mean_percent, 1.0, 2)
    )
}

pub fn run(args: &CureCheckArgs) -> Result<Ended> {
    let source = match source::of(&args.planning, args.plan.as_ref(), args.json)? {
        Ok(s) => s,
        Err(e) => return Ok(e),
    };
    let (facts, Source { kitchen, plan, .. }) = (source.facts(), &source);
    let now = match &args.on {
        Some(t) => {
            let m = Moment::parse(t)
                .ok_or_else(|| anyhow::anyhow!("cannot read \"{t}\": expected {}", Moment::EXPECTED))?;
            kitchen.zone.instant(m.0)
        }
        None => crate::clock::now(),
    };
    if let Some(name) = &args.joint
        && !kitchen.joints.iter().any(|j| j.name == *name)
    {
        anyhow::bail!("no joint is called \"{name}\"");
    }
    let recipe = bridge::recipe(&kitchen.cure);
    let (mut checked, mut none, mut out) = (Vec::new(), Vec::new(), source.alarmed());
    for (k, story) in plan.joints.iter().enumerate() {
        if args.joint.as_ref().is_some_and(|n| *n != story.name) {
            continue;
        }
        let Some(joint) = kitchen.joints.iter().find(|j| j.name == story.name) else { continue };
        let Some(load) = plan.loads.iter().find(|l| l.joints.contains(&story.name)) else { continue };
        // The days and the put-in that the record leaves standing, not those the plan once had.
        let Some(spent) = in_brine(&facts, k) else { continue };
        let need = Elapsed::minutes(f64::from(spent.need));
        let meat: f64 =
            kitchen.joints.iter().filter(|j| load.joints.contains(&j.name)).map(|j| j.planned_weight().as_kg()).sum();
        let meat = Mass::kg(meat);
        let known = bridge::brine_temperature(kitchen);
        let reckoned = || {
            let water = water_for(&recipe, meat, Volume::litres(filled(kitchen, load)?.brine))?;
            let w = weigh_out(&recipe, meat, water, bridge::scales(kitchen))?.value;
            let tub = Tub {
                shape: bridge::size(joint).into(),
                meat,
                water,
                salt: w.salt_total,
                temperature: known.unwrap_or(Temperature::celsius(4.0)),
            };
            let stay = Elapsed::minutes((spent.lift - spent.put_in).num_minutes() as f64);
            let so_far = Elapsed::minutes((now - spent.put_in.to_utc()).num_minutes() as f64);
            let run = Story::new(tub, Elapsed::days(200.0))?;
            let mut notes = salt::notes(tub);
            if known.is_none() {
                notes.push(Note::flag("no thermometer in the curing fridge: 4 °C is taken, which nobody has read"));
            }
            if joint.bone_in {
                notes.push(Note::flag(format!("{} is on the bone, which the model does not see", joint.name)));
            }
            let on_lift = run.at(stay);
            let said = salt::rule_against(on_lift.uptake.middle);
            notes.extend(said.map(|n| Note::flag(format!("{}: {}", joint.name, n.says()))));
            Ok(Checked {
                joint: joint.name.clone(),
                tub: load.id.clone(),
                rule_days: need.as_days(),
                standing: cure::standing(stay, need, kitchen.cure.basis),
                final_percent: tub.final_percent(),
                now: (so_far.as_minutes() >= 0.0 && so_far <= stay).then(|| run.at(so_far)),
                on_lift,
                days_to_80: run.uptake_reaches(0.8),
                notes,
            })
        };
        let c = match reckoned() {
            Ok(c) => c,
            Err(r) => {
                let r = super::of_load(load, r);
                if !none.contains(&r) {
                    none.push(r);
                }
                continue;
            }
        };
        let more = match spent.longer {
            0 => String::new(),
            m => format!(", {} of them for what happened", text::length(i64::from(m))),
        };
        out += &format!(
            "{} ({}): in {}, out {}\n  Rule: {:.1} days{more}; the plan gives {:.0} % of them: {}\n",
            c.joint,
            c.tub,
            text::moment(&spent.put_in),
            text::moment(&spent.lift),
            c.rule_days,
            c.standing.percent,
            c.standing.says
        );
        out += &match &c.now {
            Some(r) => line("Now", r),
            None => "  Not in the brine at that moment\n".to_owned(),
        };
        out += &line("On lifting", &c.on_lift);
        let day = |d: Option<f64>| d.map_or_else(|| "over 200".to_owned(), |d| format!("{d:.0}"));
        let [soon, middle, late] = c.days_to_80.map(day);
        out += &format!(
            "  80 % taken up on day {middle} ({soon} to {late}); in the end {:.1} % salt all through\n\n",
            c.final_percent
        );
        checked.push(c);
    }
    out += &notes(checked.iter().flat_map(|c| &c.notes));
    // The other joints are told all the same.
    if args.json {
        let ended = if none.is_empty() { Ended::Done } else { Ended::Refused };
        show(true, &Told { alarms: source.alarms(), joints: checked, refused: none }, &out)?;
        return Ok(ended);
    }
    let ended = show(false, &checked, &out)?;
    none.iter().try_fold(ended, |_, r| super::refused(false, r))
}
