//! The cook day: running order back-timed from "in the chill by", pot by pot, and the cooling log.

mod page;

use chrono::{NaiveDate, TimeDelta};
use serde::Serialize;

use super::cooling::{self, Core, Foretold, Strip};
use super::facts::{Asked, Facts, Job, clock, list};
use super::home;
use crate::app::time::how_long;
use crate::kitchen::Limits;
use crate::plan::{Kind, PlannedTask, When};

/// A moment at which something is read or tried, with an empty box or what was read.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Probe {
    pub at: When,
    pub says: String,
}

/// A pot's run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Run {
    pub pot: String,
    pub joints: Vec<String>,
    pub kg: Vec<f64>,
    pub chilling: String,
    /// Simmer, glaze, bake, chill, in order.
    pub steps: Vec<Job>,
    /// Out of the pot as planned and at the slow end.
    pub out: When,
    pub out_slow: When,
    /// Into the chill as planned and at the slow end; wished by.
    pub in_chill: When,
    pub in_chill_slow: When,
    pub in_chill_by: When,
    /// Latest pot-up that has it in the chill by then, as planned.
    pub pot_up_by: When,
    /// Last moment out of the pot from which skin, bake and steam still end by the hour the house stops.
    pub last_out: When,
    pub house_stops: When,
    pub probes: Vec<Probe>,
    pub readings: Vec<(String, Vec<Core>)>,
    pub foretold: Vec<Foretold>,
    /// What to do when it is not tender, in order of time.
    pub if_not: Vec<Probe>,
}

/// A cook day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cook {
    /// Nothing when no cook day is planned.
    pub date: Option<NaiveDate>,
    /// Every cook day of the plan.
    pub days: Vec<NaiveDate>,
    pub runs: Vec<Run>,
    /// Everything that is done that day, in order of start.
    pub order: Vec<Job>,
    /// Minutes the oven is on before it is taken.
    pub oven_heat_minutes: i64,
    /// When the oven is taken, by whom.
    pub oven: Vec<(When, When, String)>,
    pub strips: Vec<Strip>,
    /// Who is out of the house or away that day.
    pub out: Vec<String>,
    pub now: When,
}

impl Cook {
    pub fn new(facts: &Facts, asked: &Asked) -> Self {
        let simmers = || facts.plan.tasks.iter().filter(|t| t.kind == Kind::Simmer);
        let mut days: Vec<NaiveDate> = simmers().map(|t| t.start.date_naive()).collect();
        days.dedup();
        let today = facts.today();
        let date = match asked.on {
            Some(d) => days.contains(&d).then_some(d),
            None => days.iter().copied().find(|d| *d >= today).or(days.last().copied()),
        };
        let on = |t: &&PlannedTask| Some(t.start.date_naive()) == date;
        let runs: Vec<Run> = simmers().filter(on).filter_map(|t| run(facts, t)).collect();
        let of_today = |t: &&PlannedTask| on(t) && t.kind != Kind::Rest;
        let oven = facts.plan.tasks.iter().filter(on).flat_map(|t| {
            let mine = t.uses.iter().filter(|u| u.thing == "oven");
            mine.map(|u| (u.from, u.to, list(&t.joints)))
        });
        let chills = facts.plan.tasks.iter().filter(on).filter(|t| t.kind == Kind::Chill);
        Self {
            date,
            days,
            order: facts.plan.tasks.iter().filter(of_today).map(|t| facts.job(t)).collect(),
            oven_heat_minutes: super::ready::oven_heat(facts) as i64,
            oven: oven.collect(),
            strips: chills.flat_map(|t| cooling::strips(facts, t)).collect(),
            out: date.map_or_else(Vec::new, |d| [home::out(facts, d), home::away(facts, d)].concat()),
            runs,
            now: facts.at(facts.now),
        }
    }
}

fn run(facts: &Facts, simmer: &PlannedTask) -> Option<Run> {
    let mine = |t: &&PlannedTask| {
        matches!(t.kind, Kind::Simmer | Kind::ScoreAndGlaze | Kind::Bake | Kind::Chill)
            && t.joints.iter().any(|j| simmer.joints.contains(j))
            && t.start >= simmer.start
    };
    let tasks: Vec<&PlannedTask> = facts.plan.tasks.iter().filter(mine).collect();
    let chill = tasks.iter().filter(|t| t.kind == Kind::Chill).max_by_key(|t| t.start)?;
    let bake = tasks.iter().filter(|t| t.kind == Kind::Bake).max_by_key(|t| t.start);
    let cook = facts.plan.cooks.iter().find(|c| c.joints.iter().any(|j| simmer.joints.contains(j)));
    let pots = &facts.kitchen.kit.pots;
    let used = simmer.uses.iter().find(|u| pots.iter().any(|p| p.name == u.thing)).map(|u| u.thing.clone());
    let batch = &facts.kitchen.batch;
    let date = simmer.start.date_naive();
    let in_chill_by = facts.civil(date, batch.in_chill_by.minutes);
    let house_stops = facts.civil(date, batch.not_after.minutes);
    // From the end of the simmer to the start of the chill the day runs as planned, however late it began.
    let rest_of_it = chill.start - simmer.end;
    let slow = bake.map_or(simmer.slow_end + rest_of_it, |b| b.slow_end + (chill.start - b.end));
    let last_out = house_stops - rest_of_it;
    let kg = simmer.joints.iter().filter_map(|n| facts.joint(n)).map(|j| j.planned_weight().as_kg());
    let readings: Vec<(String, Vec<Core>)> = simmer
        .joints
        .iter()
        .map(|j| (j.clone(), cooling::core(facts, j, simmer.start, chill.start.min(last_out).max(simmer.slow_end))))
        .filter(|r| !r.1.is_empty())
        .collect();
    let foretold = readings.iter().filter_map(|(j, log)| cooling::hot(facts, j, log)).collect();
    let mut probes = Vec::new();
    let mut at = simmer.end - TimeDelta::hours(1);
    while at < simmer.slow_end {
        if at > simmer.start {
            probes.push(Probe { at, says: "core; skewer".to_owned() });
        }
        at += TimeDelta::minutes(30);
    }
    probes.push(Probe { at: simmer.slow_end, says: "core; skewer; slow end".to_owned() });
    let at_home = facts.kitchen.people.iter().flat_map(|p| {
        // Who must leave the house in the hours it may run over.
        p.busy.iter().filter(|h| h.days.contains(chrono::Datelike::weekday(&date))).filter_map(|h| {
            let since = h.since.is_none_or(|s| s.0.date() <= date);
            let until = h.until.is_none_or(|u| u.0.date() >= date);
            let from = facts.civil(date, h.from.minutes);
            (since && until && from > simmer.end && from < slow)
                .then(|| format!("{} out from {}", p.name, clock(&from)))
        })
    });
    let at_home: Vec<String> = at_home.collect();
    Some(Run {
        pot: cook.map(|c| c.pot.clone()).or(used).unwrap_or_default(),
        joints: simmer.joints.clone(),
        kg: kg.collect(),
        chilling: cook.map_or_else(String::new, |c| c.chilling.clone()),
        out: simmer.end,
        out_slow: simmer.slow_end,
        in_chill: chill.start,
        in_chill_slow: slow,
        in_chill_by,
        pot_up_by: in_chill_by - (chill.start - simmer.start),
        last_out,
        house_stops,
        probes,
        readings,
        foretold,
        if_not: if_not(facts, simmer, rest_of_it, slow, last_out, &at_home),
        steps: tasks.iter().map(|t| facts.job(t)).collect(),
    })
}

/// Common practice, no source; the limits are the house's own.
fn if_not(
    facts: &Facts,
    simmer: &PlannedTask,
    rest_of_it: TimeDelta,
    slow: When,
    last_out: When,
    at_home: &[String],
) -> Vec<Probe> {
    let limits = Limits::with(&facts.kitchen.limits);
    let bake = limits.get("simmer_to_bake_limit");
    let home =
        if at_home.is_empty() { String::new() } else { format!(" Somebody stays with the pot: {}.", list(at_home)) };
    let mut out = vec![
        Probe {
            at: simmer.end,
            says: format!(
                "If not tender: leave it in, barely moving, and try again every 20 min. Bake and chill slide with it.{home}"
            ),
        },
        Probe {
            at: simmer.slow_end,
            says: format!(
                "If not tender: still leave it in. Out by now it is in the chill {}; each 10 min more is 10 min later. More ice, and a check of the core late in the evening.",
                clock(&slow)
            ),
        },
    ];
    if last_out > simmer.slow_end {
        out.push(Probe {
            at: last_out,
            says: format!(
                "If still in the pot: leave out the bake. {} from here to the chill would end after the house stops. Core at 75 °C, skin it, chill it at once; a ham that waits over {} for the oven and falls under 63 °C is chilled too, and heated right through another day.",
                how_long(rest_of_it.num_minutes()),
                how_long(bake.value as i64)
            ),
        });
    }
    out
}
