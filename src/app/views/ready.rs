//! What to have ready for a job.

use super::brine;
use super::facts::{Facts, list};
use crate::app::time::how_long;
use crate::kitchen::{BrineCooling, ChillingMeans, Limits};
use crate::plan::{Kind, PlannedTask, PotLoad};
use crate::process::durations;
use crate::science::chill;

/// Heat of melting of ice, kJ/kg, as in [`crate::science::brine::ice_split`].
const MELT: f64 = 334.0;

/// Kilograms of ice for the brines of a task, by the heat balance of the weigh-out.
pub fn brine_ice(facts: &Facts, task: &PlannedTask) -> f64 {
    if facts.kitchen.cure.brine_cooling != BrineCooling::Ice {
        return 0.0;
    }
    let mine = facts.plan.loads.iter().filter(|l| l.joints.iter().any(|j| task.joints.contains(j)));
    mine.filter_map(|l| brine::slip(facts.kitchen, l).ok()?.value.ice).map(|i| i.ice.as_kg()).sum()
}

/// Kilograms of ice that the heat of the hams of a chill melts by itself; nothing when it is not chilled in iced water.
pub fn chill_ice(facts: &Facts, task: &PlannedTask) -> Option<f64> {
    let cook = facts.plan.cooks.iter().find(|c: &&PotLoad| c.joints.iter().any(|j| task.joints.contains(j)));
    let used = |name: &str| task.uses.iter().any(|u| u.thing == name) || cook.is_some_and(|c| c.chilling == name);
    let means = facts.kitchen.kit.chilling.iter().find(|c| used(&c.name))?;
    if means.means != ChillingMeans::IcedWater {
        return None;
    }
    let hams = task.joints.iter().filter_map(|n| facts.joint(n));
    Some(hams.map(|j| chill::heat_kwh(j.planned_weight()) * 3600.0 / MELT).sum())
}

/// What a task needs at hand.
pub fn for_task(facts: &Facts, task: &PlannedTask) -> Vec<String> {
    let joints = || task.joints.iter().filter_map(|n| facts.joint(n));
    let s = |text: &str| text.to_owned();
    let scale = facts.kitchen.kit.scales.curing_salt_g;
    match task.kind {
        Kind::BrineMake => {
            let mut out = vec![s("brine slip, salt, sugar, pot, thermometer")];
            if let Some(bag) = &facts.kitchen.cure.curing_salt {
                let who = "a second person to check the weighing";
                out.push(format!("curing salt at {} % nitrite, a {scale} g scale, {who}", bag.nitrite_percent));
            }
            let ice = brine_ice(facts, task);
            if ice > 0.0 {
                out.push(format!("{ice:.1} kg of ice from drinking water, for the brine"));
            }
            out
        }
        Kind::Cool => vec![s("thermometer for the brine")],
        Kind::Submerge => {
            vec![
                s("tub, plate and weight, scalded; cold brine, probed; lid; tag"),
                s("joints weighed on your own scale"),
            ]
        }
        Kind::Turn => vec![s("clean hands, skimmer, fridge thermometer, the tub's tag")],
        Kind::Rinse => vec![s("cold running water, clean cloth or paper, rack; boiling water for the tub")],
        Kind::Soak => vec![s("cold water to cover, and as much again for the change")],
        Kind::Dry | Kind::Rest => Vec::new(),
        Kind::Simmer => vec![s("pot, cold water to cover, skewer, probe")],
        Kind::ScoreAndGlaze => vec![s("sharp knife, glaze, tin")],
        Kind::Bake => {
            let heat = oven_heat(facts);
            vec![format!(
                "oven at 180 °C: on {heat:.0} min before, {}",
                super::facts::clock(&(task.start - minutes(heat)))
            )]
        }
        Kind::Chill => {
            let mut out = vec![s("probe, cooling log")];
            if let Some(kg) = chill_ice(facts, task) {
                out.push(format!(
                    "ice: the heat of the ham alone melts {kg:.1} kg; have more, and change it as it melts"
                ));
            }
            out
        }
        Kind::Firm => vec![s("room in the freezer to firm it")],
        Kind::Slice if joints().all(|j| j.outcome.is_ham()) => vec![s("cooked board and knife, clean")],
        Kind::Slice => vec![s("raw board and knife")],
        Kind::VacuumPack => {
            let packs: u32 = joints().map(|j| durations::packs(j, &facts.kitchen.cure)).sum();
            let limits = Limits::with(&facts.kitchen.limits);
            let clean = limits.get("raw_to_cooked_clean");
            vec![
                format!("{packs} bags and labels, and a few over; scale"),
                format!("{}: {}", clean.says, how_long(i64::from(limits.minutes("raw_to_cooked_clean")))),
            ]
        }
        Kind::Freeze => {
            let kg: f64 = joints().map(durations::packed_kg).sum();
            vec![format!("room in the freezer for {kg:.1} kg, spread flat")]
        }
    }
}

/// Minutes the oven takes to heat.
pub fn oven_heat(facts: &Facts) -> f64 {
    facts.kitchen.kit.oven.as_ref().map_or(15.0, |o| o.heat_up.as_minutes())
}

/// For all of a day's tasks, each thing once.
pub fn for_tasks<'a>(facts: &Facts, tasks: impl IntoIterator<Item = &'a PlannedTask>) -> Vec<String> {
    let mut out: Vec<(String, Vec<String>)> = Vec::new();
    for t in tasks {
        for thing in for_task(facts, t) {
            let job = t.kind.words().to_owned();
            match out.iter_mut().find(|o| o.0 == thing) {
                Some(o) if !o.1.contains(&job) => o.1.push(job),
                Some(_) => {}
                None => out.push((thing, vec![job])),
            }
        }
    }
    out.into_iter().map(|(thing, jobs)| format!("{}: {thing}", list(&jobs))).collect()
}

fn minutes(m: f64) -> chrono::TimeDelta {
    chrono::TimeDelta::minutes(m.round() as i64)
}
