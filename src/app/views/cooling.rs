//! Probe readings of a joint on its cook day: what they foretell, and the cooling log strip.

use chrono::TimeDelta;
use serde::Serialize;

use super::facts::Facts;
use crate::app::heat::HOT;
use crate::app::record::{Probed, Read};
use crate::app::time;
use crate::kitchen::Limits;
use crate::plan::{Kind, PlannedTask, When};
use crate::process::{arrangement, bridge};
use crate::science::chill::{self, COLD};
use crate::science::conduction::Stage;
use crate::science::cook;
use crate::science::fit::{Forecast, Subject, forecast};
use crate::science::properties::{Composition, unfrozen};
use crate::science::readings::Reading;
use crate::units::{Elapsed, Temperature};

/// A reading at the core.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Core {
    pub at: When,
    pub celsius: f64,
    pub by: String,
}

/// When a target is reached, by the readings, with a band of nine chances in ten.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Foretold {
    pub joint: String,
    /// °C
    pub target: f64,
    pub expected: When,
    pub soonest: When,
    /// Nothing when the late end is not in sight.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub latest: Option<When>,
    pub reached: bool,
    pub readings: usize,
    /// What must be said with it.
    pub notes: Vec<String>,
}

/// The core readings of a joint between two moments, in order.
pub fn core(facts: &Facts, joint: &str, from: When, to: When) -> Vec<Core> {
    let Some(record) = facts.record else { return Vec::new() };
    let mine = |r: &&Read| matches!(&r.of, Probed::Core(j) if j == joint);
    let mut out: Vec<Core> = record
        .readings
        .iter()
        .filter(mine)
        .map(|r| Core { at: facts.at(r.when), celsius: r.celsius, by: r.by.clone() })
        .filter(|c| c.at >= from && c.at <= to)
        .collect();
    out.sort_by_key(|c| c.at);
    out.dedup_by_key(|c| c.at);
    out
}

fn foretell(
    facts: &Facts,
    joint: &str,
    readings: &[Core],
    target: Temperature,
    subject: impl FnOnce(crate::science::size::Size) -> Option<Subject>,
) -> Option<Foretold> {
    let first = readings.first()?.at;
    let own = facts.joint(joint)?;
    let log: Vec<Reading> = readings
        .iter()
        .map(|c| Reading {
            at: Elapsed::minutes((c.at - first).num_minutes() as f64),
            temperature: Temperature::celsius(c.celsius),
        })
        .collect();
    let fitted = forecast(&subject(bridge::size(own))?, &log, target).ok()?;
    let f: Forecast = fitted.value.forecast;
    if !f.in_sight {
        return None;
    }
    let at = |e: Elapsed| first + TimeDelta::minutes(e.as_minutes().round() as i64);
    Some(Foretold {
        joint: joint.to_owned(),
        target: target.as_celsius(),
        expected: at(f.expected),
        soonest: at(f.soonest),
        latest: f.late_in_sight.then(|| at(f.latest)),
        reached: f.reached,
        readings: f.readings,
        notes: fitted.notes.iter().filter(|n| n.is_flag()).map(|n| n.says().to_owned()).collect(),
    })
}

/// When the core comes to 75 °C in the pot, by the readings.
pub fn hot(facts: &Facts, joint: &str, readings: &[Core]) -> Option<Foretold> {
    let meat = unfrozen(Composition::LEAN_PORK, Temperature::celsius(45.0)).ok()?;
    foretell(facts, joint, readings, Temperature::celsius(HOT), |size| {
        Some(Subject {
            size: Some(size),
            conductivity: meat.conductivity,
            diffusivity: meat.diffusivity(),
            // Part of the heat-up may lie before the first reading; the fit moves the start.
            stages: cook::stages(Elapsed::minutes(1.0), Temperature::celsius(85.0)),
        })
    })
}

/// A ham's cooling log.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Strip {
    pub joint: String,
    /// Out of the oven, and into the chill at the latest.
    pub out: When,
    pub chill_by: When,
    /// Into the chill as planned, and where.
    pub chill: When,
    pub means: String,
    /// Moments to read at.
    pub read_at: Vec<When>,
    /// 5 °C as planned, at the slow end, and the limit, counted from the planned start of the chill.
    pub cold: When,
    pub cold_slow: When,
    pub limit: When,
    /// The limit in words.
    pub limit_says: String,
    pub readings: Vec<Core>,
    /// 5 °C by the readings.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub foretold: Option<Foretold>,
    /// 5 °C by the heat sum, as reckoned and at the slow end; nothing inside when it comes too late to be drawn.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by_sum: Option<(Option<When>, Option<When>)>,
    /// Past its limit and not known to be cold.
    pub over: bool,
}

/// The strip of each ham of a chill.
pub fn strips(facts: &Facts, chill_task: &PlannedTask) -> Vec<Strip> {
    let limits = Limits::with(&facts.kitchen.limits);
    let limit = limits.get(arrangement::chill_limit(facts.kitchen));
    let ninety = TimeDelta::minutes(i64::from(limits.minutes("bake_to_chill_limit")));
    let cook = facts.plan.cooks.iter().find(|c| c.joints.iter().any(|j| chill_task.joints.contains(j)));
    let means = facts
        .kitchen
        .kit
        .chilling
        .iter()
        .find(|m| chill_task.uses.iter().any(|u| u.thing == m.name) || cook.is_some_and(|c| c.chilling == m.name));
    let stages: Vec<Stage> = means.map(|m| chill::stages(bridge::means(m.means))).unwrap_or_default();
    let one = |joint: &String| {
        let before = facts.plan.tasks.iter().filter(|t| t.joints.contains(joint) && t.end <= chill_task.start);
        let out = before
            .filter(|t| matches!(t.kind, Kind::Bake | Kind::Simmer | Kind::ScoreAndGlaze))
            .map(|t| t.end)
            .max()
            .unwrap_or(chill_task.start);
        // What is done counts from when it was done.
        let begun = facts.happened(&chill_task.id).and_then(|h| h.started).map_or(chill_task.start, |at| facts.at(at));
        let limit_at = begun + TimeDelta::minutes(limit.value as i64);
        let later = begun - chill_task.start;
        let (cold, cold_slow) = (chill_task.end + later, chill_task.slow_end + later);
        let mut read_at = vec![out, begun, begun + ninety];
        let mut at = begun + TimeDelta::hours(2);
        while at < cold {
            read_at.push(at);
            at += TimeDelta::hours(2);
        }
        read_at.extend([cold, cold_slow]);
        read_at.sort();
        read_at.dedup();
        let readings = core(facts, joint, out, limit_at + TimeDelta::hours(24));
        let ham = chill::cooked_ham();
        let foretold = foretell(facts, joint, &readings, COLD, |size| {
            (!stages.is_empty()).then(|| Subject {
                size: Some(size),
                conductivity: ham.conductivity,
                diffusivity: ham.diffusivity(),
                stages: stages.clone(),
            })
        });
        let is_cold = readings.iter().any(|r| r.celsius <= COLD.as_celsius() && r.at <= limit_at);
        let plan_joint = facts.plan.joints.iter().position(|j| j.name == *joint);
        Strip {
            joint: joint.clone(),
            out,
            chill_by: out + ninety,
            chill: begun,
            means: means.map_or_else(String::new, |m| m.name.clone()),
            read_at,
            cold,
            cold_slow,
            limit: limit_at,
            limit_says: limit.says.clone(),
            readings,
            foretold,
            by_sum: plan_joint.and_then(|j| facts.heat(j).ok()).map(|h| {
                let at = |m: i64| facts.at(time::instant(m));
                (h.cold.map(at), h.cold_slow.map(at))
            }),
            over: facts.record.is_some() && facts.at(facts.now) > limit_at && !is_cold,
        }
    };
    chill_task.joints.iter().map(one).collect()
}
