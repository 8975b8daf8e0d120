//! How a plan stands the loss of a day: everybody away from midnight to midnight, and told of it only that morning.

use super::difference::lateness;
use super::history::History;
use super::replan::{Again, Replanner, replan_only};
use super::{Plan, Refusal};
use crate::kitchen::{Away, Kitchen, Moment};
use crate::schedule::NodeBudget;
use chrono::{NaiveDate, NaiveTime, TimeDelta};
use serde::Serialize;

/// One day, lost.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LostDay {
    pub date: NaiveDate,
    /// Moving on what must move is enough: nothing is later than it was, and every limit holds.
    pub survived: bool,
    /// Some plan without that day was found, by the longer search too.
    pub possible: bool,
    /// Jobs that move.
    pub moved: usize,
    /// What stands in the way where it is not survived; empty where it is.
    pub because: String,
}

/// How a plan stands the loss of each of its days.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Survival {
    pub days: Vec<LostDay>,
}

impl Survival {
    /// Days that can be lost.
    pub fn survived(&self) -> usize {
        self.days.iter().filter(|d| d.survived).count()
    }

    /// Days for which any plan was found.
    pub fn can_be(&self) -> usize {
        self.days.iter().filter(|d| d.possible).count()
    }
}

/// The kitchen with everybody away on a date.
pub fn without_day(kitchen: &Kitchen, date: NaiveDate) -> Kitchen {
    let at = |d: NaiveDate| Moment(d.and_time(NaiveTime::MIN));
    let mut k = kitchen.clone();
    for p in &mut k.people {
        p.away.push(Away { from: at(date), to: at(date + TimeDelta::days(1)), why: "a day lost".to_owned() });
    }
    k
}

/// The record as it would be on the morning of a date, if all goes as planned until then.
pub fn morning_of(kitchen: &Kitchen, plan: &Plan, so_far: &History, date: NaiveDate) -> History {
    let now = kitchen.zone.instant(date.and_time(NaiveTime::MIN)).max(so_far.now);
    let mut history = History::as_planned(plan, now);
    for (id, h) in &so_far.tasks {
        history.tasks.insert(id.clone(), *h);
    }
    history.longer.clone_from(&so_far.longer);
    history
}

/// The plan after the loss of a day, by moving on what must move: milliseconds.
///
/// # Errors
/// [`Refusal`] when that does not do.
pub fn lose(again: &Again) -> Result<(Plan, usize), Refusal> {
    let stop = NodeBudget(u64::MAX);
    let replanner = Replanner::new(*again, &stop);
    let best = replanner.quick()?;
    let plan = replanner.plan(&best, false);
    let moved = super::difference::moved_between(again.old, &plan, again.history);
    Ok((plan, moved))
}

/// Loses each day from now to the end of the plan in turn. `steps` are for the longer search of the days that moving on
/// alone does not survive.
pub fn survival(kitchen: &Kitchen, plan: &Plan, so_far: &History, seed: u64, steps: u64) -> Survival {
    let zone = kitchen.zone;
    let first = plan.tasks.iter().map(|t| t.start.to_utc()).min().unwrap_or(so_far.now).max(so_far.now);
    let last = plan.tasks.iter().map(|t| t.start.to_utc()).max().unwrap_or(first);
    let before = lateness(plan);
    let mut days = Vec::new();
    let mut date = zone.civil(first).date();
    if so_far.now > zone.instant(date.and_time(NaiveTime::MIN)) {
        // A day that has begun is not lost whole.
        date += TimeDelta::days(1);
    }
    while zone.instant(date.and_time(NaiveTime::MIN)) <= last && days.len() < 800 {
        let lost = without_day(kitchen, date);
        let history = morning_of(kitchen, plan, so_far, date);
        let again = Again { kitchen: &lost, old: plan, history: &history, seed, steps, ways: 0, what: &[] };
        let quick = lose(&again);
        let fine = quick.as_ref().is_ok_and(|(p, _)| lateness(p) <= before);
        let moved = quick.as_ref().map_or(0, |q| q.1);
        let (possible, because) = if fine {
            (true, String::new())
        } else {
            let longer = replan_only(&again, &NodeBudget(steps));
            let possible = longer.as_ref().is_ok_and(|p| lateness(p) <= before);
            let because = match (quick, longer) {
                (Ok((p, _)), _) => super::difference::late_words(&p).into_iter().next().unwrap_or_default(),
                (Err(_), Ok(_)) if possible => "more would have to move than what stands in the way".to_owned(),
                (Err(r), _) => {
                    let lines: Vec<String> =
                        r.lines().iter().map(|l| l.trim().trim_end_matches('.').to_owned()).collect();
                    match lines.as_slice() {
                        [] => String::new(),
                        [only] => only.clone(),
                        [head, rest @ ..] => {
                            format!("{}: {}", head.trim_end_matches(':'), rest[..rest.len().min(2)].join("; "))
                        }
                    }
                }
            };
            (possible, because)
        };
        let because = because.trim_end_matches('.').to_owned();
        days.push(LostDay { date, survived: fine, possible, moved, because });
        date += TimeDelta::days(1);
    }
    Survival { days }
}
