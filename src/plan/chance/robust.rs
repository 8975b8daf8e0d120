//! Plans that hold more often, and what they cost: the kitchen is planned again with more asked of it than it asks itself, and
//! what comes out is judged and gone through in the kitchen as it is.

use super::{Chance, Runs, chance};
use crate::kitchen::limits::Override;
use crate::kitchen::{Clock, Kitchen, Limits};
use crate::plan::judge::judge;
use crate::plan::{Plan, Request, strike};
use crate::schedule::NodeBudget;
use chrono::{DateTime, Utc};
use serde::Serialize;

/// What a level comes to in the plan given and in the robust one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cost {
    pub level: String,
    pub unit: String,
    pub was: i64,
    pub becomes: i64,
}

/// A plan that holds more often.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Robust {
    /// What was asked for to get it.
    pub says: String,
    /// Shares of the runs: everything with a date ready, and every cook day in the chill by its hour; was and becomes.
    pub all_ready: [f64; 2],
    pub all_chilled: [f64; 2],
    /// The levels that change, in order.
    pub costs: Vec<Cost>,
    #[serde(skip)]
    pub plan: Plan,
}

fn earlier(clock: Clock, minutes: u16) -> Clock {
    Clock { minutes: clock.minutes.saturating_sub(minutes) }
}

/// The kitchen with more asked of it, and in words what.
fn asked(kitchen: &Kitchen) -> Vec<(String, Kitchen)> {
    let mut out = Vec::new();
    let mut with = |says: String, change: &dyn Fn(&mut Kitchen)| {
        let mut k = kitchen.clone();
        change(&mut k);
        out.push((says, k));
    };
    let chill = |k: &mut Kitchen, m: u16| k.batch.in_chill_by = earlier(k.batch.in_chill_by, m);
    let spare = |k: &mut Kitchen, h: f64| k.batch.spare_hours += h;
    let turns = |k: &mut Kitchen| {
        let own = Override {
            value: Limits::with(&k.limits).value("turn_in_hand") + 720.0,
            source: "asked for a plan that holds more often".to_owned(),
            country: String::new(),
            as_of: String::new(),
        };
        k.limits.0.insert("turn_in_hand".to_owned(), own);
    };
    with("hams in the chill an hour earlier".to_owned(), &|k| chill(k, 60));
    with("hams in the chill two hours earlier".to_owned(), &|k| chill(k, 120));
    with("a day more to spare before each ready-by".to_owned(), &|k| spare(k, 24.0));
    with("two days more to spare before each ready-by".to_owned(), &|k| spare(k, 48.0));
    with("half a day more of the turns' tolerance in hand".to_owned(), &turns);
    with("a day more to spare, hams in the chill an hour earlier, half a day more in hand on turns".to_owned(), &|k| {
        spare(k, 24.0);
        chill(k, 60);
        turns(k);
    });
    out
}

/// Plans that hold more often than `plan`, the best first; each planned with `steps` search steps and the luck of `runs`.
/// Only plans that are sound in the kitchen as it is, and better on one chance and no worse on the other by more than one
/// run in two hundred.
pub fn robust(
    kitchen: &Kitchen,
    plan: &Plan,
    base: &Chance,
    runs: &Runs,
    steps: u64,
    now: DateTime<Utc>,
) -> Vec<Robust> {
    let mut out: Vec<Robust> = Vec::new();
    let runs = &Runs { buffers: false, ..*runs };
    let level = |levels: &[(String, i64)], label: &str| levels.iter().find(|l| l.0 == label).map_or(0, |l| l.1);
    for (says, harder) in asked(kitchen) {
        let request = Request { kitchen: &harder, now, seed: 1, promises: Default::default() };
        let Ok(mut other) = strike(&request, &NodeBudget(steps), &mut |_| ()) else { continue };
        // What the plan says of itself is reckoned in the kitchen as it is.
        let Ok(c) = chance(kitchen, &other, runs) else { continue };
        let verdict = judge(kitchen, &other);
        // Claims about the levels differ with what was asked; what counts is that no limit is broken.
        if verdict.broken.iter().any(|b| !b.limit.is_empty()) {
            continue;
        }
        for l in &mut other.levels {
            (l.value, l.bound) = (level(&verdict.levels, &l.label), 0);
        }
        let gain = [c.all_ready.share - base.all_ready.share, c.all_chilled.share - base.all_chilled.share];
        if gain.iter().all(|g| *g > -0.005) && gain.iter().any(|g| *g > 0.005) {
            let costs = plan
                .levels
                .iter()
                .map(|l| Cost {
                    level: l.label.clone(),
                    unit: l.unit.clone(),
                    was: l.value,
                    becomes: level(&verdict.levels, &l.label),
                })
                .filter(|c| c.was != c.becomes)
                .collect();
            out.push(Robust {
                says,
                all_ready: [base.all_ready.share, c.all_ready.share],
                all_chilled: [base.all_chilled.share, c.all_chilled.share],
                costs,
                plan: other,
            });
        }
    }
    let worth = |r: &Robust| r.all_ready[1] + r.all_chilled[1];
    out.sort_by(|a, b| worth(b).total_cmp(&worth(a)));
    out
}
