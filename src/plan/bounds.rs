//! Bounds that hold for every way of sharing tubs and pots: what no plan of this kitchen can do better than.
//!
//! Cheap and plain, so that "proven" never rests on the search. They assume what every plan here keeps: the turns a joint's
//! own days ask for, and the least lags of the trade.

use crate::kitchen::{Kitchen, Limits, Outcome};
use crate::process::durations as d;
use crate::process::{
    Axis,
    arrangement::{chill_by, chill_limit, longest_gap},
};
use crate::schedule::Minute;

/// A lower bound for each objective level, in the order of [`crate::process::emit::LEVELS`], for plans that are `late` as
/// many minutes: where that is nothing, every date is a limit to what comes after lateness.
pub fn for_every_sharing(kitchen: &Kitchen, limits: &Limits, axis: &Axis, starts: Minute, late: i64) -> [i64; 8] {
    let on_time = late == 0;
    let mut late = 0i64;
    let mut lives = Vec::new();
    let mut cooks: Vec<(chrono::NaiveDate, chrono::NaiveDate)> = Vec::new();
    let slowest = kitchen.joints.iter().map(|j| d::cure(j, &kitchen.cure)).max().unwrap_or(0);
    let mut chill_over = 0i64;
    let cured = chill_limit(kitchen) == "chill_cured_limit";
    let good = limits.minutes(if cured { "chill_cured_good" } else { "chill_uncured_good" });
    for (j, joint) in kitchen.joints.iter().enumerate() {
        let ham = joint.outcome.is_ham();
        if ham {
            // Hams that share a chill count once, so the slowest alone is what every plan has.
            chill_over = chill_over.max(i64::from((quickest_chill(kitchen, limits, j) - good).max(0)));
        }
        let need = d::cure(joint, &kitchen.cure);
        let there = joint.arrives.map_or(starts, |a| axis.of(a).max(starts));
        let turns = if need == slowest {
            i64::from(d::turns(need, &kitchen.cure, longest_gap(kitchen)))
        } else {
            fewest_turns(need, limits)
        };
        let cured = there + d::submerge(1) + need;
        let rested = cured + d::rinse() + d::dry() + limits.minutes("rest_min");
        let due = joint.ready_by.filter(|_| on_time).map(|by| axis.of(by));
        let put_by = joint.arrives.map(|a| axis.of(a).max(starts) + limits.minutes("collect_to_brine_limit"));
        lives.push(Life { there, put_by, cured, rested, due, turns, sliced: joint.outcome == Outcome::HamSliced });
        if ham {
            let day = |m: Minute| axis.civil(m).date();
            let last = due.map_or(chrono::NaiveDate::MAX, |due| day((due - ham_line(kitchen, limits, j)).max(rested)));
            cooks.push((day(rested), last));
        }
        if let Some(by) = joint.ready_by {
            let ready = rested
                + if ham {
                    ham_line(kitchen, limits, j)
                } else {
                    d::pack(d::packs(joint, &kitchen.cure), &kitchen.kit.packer)
                };
            late += i64::from((ready - axis.of(by)).max(0));
        }
    }
    let visits = lives.iter().map(|l| l.with_others(&lives, limits)).max().unwrap_or(0);
    [late, chill_over, 0, fewest_days(cooks), visits, 0, 0, 0]
}

/// Days of which each stretch has one: stretches that do not overlap have one each.
fn fewest_days(mut stretches: Vec<(chrono::NaiveDate, chrono::NaiveDate)>) -> i64 {
    stretches.sort_unstable_by_key(|s| (s.1, s.0));
    let mut count = 0;
    let mut taken = None;
    for (first, last) in stretches {
        if taken.is_none_or(|t| first > t) {
            (count, taken) = (count + 1, Some(last));
        }
    }
    count
}

/// No part of a day in which a visit is counted is longer, minutes.
const LONGEST_PART: Minute = 720;

/// What every plan has of a joint's life, minutes of the axis.
struct Life {
    there: Minute,
    /// Latest putting in, where the day it comes is known.
    put_by: Option<Minute>,
    /// Earliest end of its days in the brine, and earliest moment at which it may go on from its rest.
    cured: Minute,
    rested: Minute,
    /// When it is ready at the latest.
    due: Option<Minute>,
    turns: i64,
    sliced: bool,
}

impl Life {
    /// Put in, each turn at least a day from the last, and after at least 12 h of rest a visit to cook or pack. A ham is
    /// sliced after its chill and 8 h of firming, another visit. The lift may share a visit with the last turn. Only the
    /// slowest joint is sure of all its own turns: a quicker one that shares its tub may be lifted between two of them.
    fn visits(&self, limits: &Limits) -> i64 {
        2 + self.turns_apart(limits) + i64::from(self.sliced) - i64::from(!is_long(limits, "rest_min"))
    }

    /// Turns that are a visit each; where a house lets turns follow each other closely, only the lift is sure of one.
    fn turns_apart(&self, limits: &Limits) -> i64 {
        let apart = is_long(limits, "turn_gap_least") && is_long(limits, "first_turn_min");
        if apart { self.turns } else { self.turns.min(1) }
    }

    /// Its visits, and those that another joint has for certain before it comes or after it is ready.
    fn with_others(&self, others: &[Self], limits: &Limits) -> i64 {
        let before = others.iter().map(|o| o.before(self.there - LONGEST_PART, limits)).max().unwrap_or(0);
        let after = self.due.and_then(|due| others.iter().map(|o| o.after(due + LONGEST_PART, limits)).max());
        self.visits(limits) + before + after.unwrap_or(0)
    }

    /// Visits that cannot be before `moment`, no two of which can be one: slicing, the pot or the pack, the lift (with
    /// the last turn, if they are one), and turns counted back from it.
    fn after(&self, moment: Minute, limits: &Limits) -> i64 {
        let (first, gap) = (limits.minutes("last_turn_to_lift"), longest_between(limits));
        let turn = |back: i64| i64::from(self.cured) - i64::from(first) - back * (i64::from(gap) + TURN);
        let turns = (1..self.turns_apart(limits)).take_while(|&back| turn(back) > i64::from(moment)).count() as i64;
        let surely = |m: Minute| i64::from(m > moment);
        let rested = if is_long(limits, "rest_min") { surely(self.rested) } else { 0 };
        turns + surely(self.cured) + rested + if self.sliced { surely(self.rested + 480) } else { 0 }
    }

    /// Visits that cannot be after `moment`: putting in, and turns counted on from it.
    fn before(&self, moment: Minute, limits: &Limits) -> i64 {
        let Some(put_by) = self.put_by.filter(|&p| p < moment) else { return 0 };
        let (first, gap) = (limits.minutes("first_turn_max"), longest_between(limits));
        let turn = |on: i64| {
            let put = i64::from(put_by) + i64::from(d::submerge(MANY)) + i64::from(first) + TURN;
            put + (on - 1) * (i64::from(gap) + TURN)
        };
        1 + (1..=self.turns_apart(limits)).take_while(|&on| turn(on) < i64::from(moment)).count() as i64
    }
}

/// Is a least wait of this limit longer than a part of a day?
fn is_long(limits: &Limits, id: &str) -> bool {
    limits.minutes(id) >= LONGEST_PART
}

/// Minutes that a turn itself takes at the most, and joints that go into one tub at the most.
const TURN: i64 = 120;
const MANY: usize = 60;

/// Longest wait between two turns by the outermost limits.
fn longest_between(limits: &Limits) -> Minute {
    limits.minutes("turn_gap_once").max(limits.minutes("turn_gap_max"))
}

/// Shortest way from the pot to the pack for a ham alone.
fn ham_line(kitchen: &Kitchen, limits: &Limits, j: usize) -> Minute {
    let joint = &kitchen.joints[j];
    let heat = kitchen.kit.pots.iter().map(|p| d::heat_up(p.heat_up, 1)).min().unwrap_or(0);
    let simmer = d::simmer(joint, &kitchen.cure, heat, limits).0;
    let chill = quickest_chill(kitchen, limits, j);
    heat + simmer
        + limits.minutes("simmer_to_bake_min")
        + d::score_and_glaze(1)
        + d::bake(1)
        + limits.minutes("bake_to_chill_min")
        + chill
        + d::pack(d::packs(joint, &kitchen.cure), &kitchen.kit.packer)
}

/// Planned minutes of the quickest chill that takes a ham alone.
fn quickest_chill(kitchen: &Kitchen, limits: &Limits, j: usize) -> Minute {
    let all = (0..kitchen.kit.chilling.len()).filter_map(|m| chill_by(kitchen, m, &[j], limits).ok());
    all.map(|c| c.0).min().unwrap_or(0)
}

/// Fewest turns that a stay in the brine must have by the outermost limits between turns.
fn fewest_turns(need: Minute, limits: &Limits) -> i64 {
    let (first, last) = (limits.minutes("first_turn_max"), limits.minutes("last_turn_to_lift"));
    let gap = longest_between(limits).max(1);
    let between = i64::from(need) - i64::from(first) - i64::from(last);
    // The minutes of each turn itself are left out of account, a few in hundreds: one turn less is said, to be sure.
    (between.max(0) / i64::from(gap)).max(1)
}
