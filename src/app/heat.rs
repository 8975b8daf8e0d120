//! The heat of a ham's cook day at its core: reckoned by conduction from fridge-cold in the pot to cold again.

use super::time::{Min, minute};
use crate::kitchen::{Kitchen, Limits};
use crate::plan::{Kind, Plan, PlannedTask};
use crate::process::{arrangement, bridge, durations};
use crate::science::chill::{self, COLD};
use crate::science::conduction::{Course, Stage};
use crate::science::cook;
use crate::units::{Elapsed, Temperature};

/// Core at which the trade's rule asks no time.
pub const HOT: f64 = 75.0;

/// In the fridge before, in the pot, in the kitchen between pot, oven and chill, in the oven, °C. Common practice, no source.
const FRIDGE: f64 = 5.0;
const SIMMER: f64 = 85.0;
const KITCHEN: f64 = 20.0;
const OVEN: f64 = 180.0;
/// Films of still air in a kitchen and of the air of an oven, W/m²K. Judgement, no source; drying, which cools, is left out.
const AIR: f64 = 10.0;
const OVEN_AIR: f64 = 20.0;

/// Moments reckoned for a curve.
const SAMPLES: i64 = 200;

/// A ham's cook day.
#[derive(Debug, Clone)]
pub struct Heat {
    /// When simmer, bake and chill begin.
    pub pot_up: Min,
    pub bake: Option<Min>,
    pub chill: Min,
    /// When the limit on cooling is up, counted from the start of the chill.
    pub limit: Min,
    /// First at 75 °C at the core; at 5 °C again, and that at the slow end. Nothing when it does not come to it in the
    /// time drawn.
    pub hot: Option<Min>,
    pub cold: Option<Min>,
    pub cold_slow: Option<Min>,
    /// Moments with the core as reckoned and at the slow end, °C.
    pub curve: Vec<(Min, f64, f64)>,
}

impl Heat {
    /// One body from pot to fridge, with the plan's own times: at every change of surroundings the whole field of
    /// temperatures is carried over, so each stage starts where the last ended. The body is cooked ham throughout, which
    /// takes heat up and gives it off a little slower than raw pork.
    ///
    /// # Errors
    /// In a line, why the sum cannot be done.
    pub fn new(kitchen: &Kitchen, plan: &Plan, joint: usize) -> Result<Self, String> {
        let name = &plan.joints[joint].name;
        let own = kitchen.joints.iter().find(|j| j.name == *name).ok_or("the kitchen file has no such joint")?;
        let find = |kind| plan.tasks.iter().find(|t| t.kind == kind && t.joints.contains(name));
        let simmer = find(Kind::Simmer).ok_or("no simmer is planned")?;
        let chill = find(Kind::Chill).ok_or("no chill is planned")?;
        let bake = find(Kind::Bake);
        let cook = plan.cooks.iter().find(|c| c.joints.contains(name));
        let used = |n: &String| chill.uses.iter().any(|u| u.thing == *n) || cook.is_some_and(|c| c.chilling == *n);
        let means = kitchen.kit.chilling.iter().find(|c| used(&c.name)).ok_or("the plan names no way to chill it")?;
        let pot = kitchen.kit.pots.iter().find(|p| cook.is_some_and(|c| c.pot == p.name));
        let heat_up = durations::heat_up(pot.and_then(|p| p.heat_up), simmer.joints.len());
        let stages = stages(simmer, bake, chill, i64::from(heat_up), &chill::stages(bridge::means(means.means)));

        let size = bridge::size(own);
        let start = Temperature::celsius(FRIDGE);
        let course = chill::course(size, start, &stages).map_err(|r| r.why)?;
        let slow = chill::slow_course(size, start, &stages).map_err(|r| r.why)?;
        let (pot_up, chill) = (minute(simmer.start), minute(chill.start));
        let limits = Limits::with(&kitchen.limits);
        let limit = chill + Min::from(limits.minutes(arrangement::chill_limit(kitchen)));
        let core = |c: &Course, at: Min| c.core(Elapsed::minutes((at - pot_up) as f64)).as_celsius();
        // An hour past the limit, or past the slow end when that is later.
        let horizon = limit + 12 * 60;
        let falls = |c: &Course| (chill..horizon).step_by(5).find(|m| core(c, *m) <= COLD.as_celsius());
        let (cold, cold_slow) = (falls(&course), falls(&slow));
        let until = limit.max(cold_slow.unwrap_or(horizon)) + 60;
        let hot = (pot_up..chill).step_by(5).find(|m| core(&course, *m) >= HOT);
        let moment = |i: i64| pot_up + (until - pot_up) * i / SAMPLES;
        let curve = (0..=SAMPLES).map(moment).map(|m| (m, core(&course, m), core(&slow, m))).collect();
        Ok(Self { pot_up, bake: bake.map(|b| minute(b.start)), chill, limit, hot, cold, cold_slow, curve })
    }
}

/// The surroundings of a ham from pot-up on, as planned.
fn stages(
    simmer: &PlannedTask,
    bake: Option<&PlannedTask>,
    chill: &PlannedTask,
    heat_up: Min,
    chilling: &[Stage],
) -> Vec<Stage> {
    let (pot_up, out) = (minute(simmer.start), minute(simmer.end));
    let heat_up = heat_up.clamp(1, (out - pot_up).max(1));
    let stage = |around, film, from: Min, to: Min| Stage {
        around: Temperature::celsius(around),
        film,
        lasts: Elapsed::minutes((to - from).max(0) as f64),
    };
    let mut all = cook::stages(Elapsed::minutes(heat_up as f64), Temperature::celsius(SIMMER));
    if let Some(last) = all.last_mut() {
        last.lasts = Elapsed::minutes((out - pot_up - heat_up).max(0) as f64);
    }
    let mut before = out;
    if let Some(bake) = bake {
        let (from, to) = (minute(bake.start), minute(bake.end));
        all.push(stage(KITCHEN, AIR, before, from));
        all.push(stage(OVEN, OVEN_AIR, from, to));
        before = to;
    }
    all.push(stage(KITCHEN, AIR, before, minute(chill.start)));
    all.extend_from_slice(chilling);
    all
}
