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

/// A lower bound for each objective level, in the order of [`crate::process::emit::LEVELS`].
pub fn for_every_sharing(kitchen: &Kitchen, limits: &Limits, axis: &Axis, starts: Minute) -> [i64; 8] {
    let mut late = 0i64;
    let mut visits = 0i64;
    let mut any_ham = false;
    let slowest = kitchen.joints.iter().map(|j| d::cure(j, &kitchen.cure)).max().unwrap_or(0);
    let mut chill_over = 0i64;
    let cured = chill_limit(kitchen) == "chill_cured_limit";
    let good = limits.minutes(if cured { "chill_cured_good" } else { "chill_uncured_good" });
    for (j, joint) in kitchen.joints.iter().enumerate() {
        let ham = joint.outcome.is_ham();
        any_ham |= ham;
        if ham {
            // Hams that share a chill count once, so the slowest alone is what every plan has.
            chill_over = chill_over.max(i64::from((quickest_chill(kitchen, limits, j) - good).max(0)));
        }
        let need = d::cure(joint, &kitchen.cure);
        // Put in, each turn at least a day from the last, and after at least 12 h of rest a visit to cook or pack; no
        // part of a day in which a visit is counted is longer than 12 h. A ham is sliced after its chill and 8 h of
        // firming, another visit. The lift may share a visit with the last turn. Only the slowest joint is sure of all
        // its own turns: a quicker one that shares its tub may be lifted between two of them.
        let turns = if need == slowest {
            i64::from(d::turns(need, &kitchen.cure, longest_gap(kitchen)))
        } else {
            fewest_turns(need, limits)
        };
        visits = visits.max(2 + turns + i64::from(joint.outcome == Outcome::HamSliced));
        if let Some(by) = joint.ready_by {
            let there = joint.arrives.map_or(starts, |a| axis.of(a).max(starts));
            let cured = there + d::submerge(1) + need + d::rinse() + d::dry() + limits.minutes("rest_min");
            let ready = cured
                + if ham {
                    ham_line(kitchen, limits, j)
                } else {
                    d::pack(d::packs(joint, &kitchen.cure), &kitchen.kit.packer)
                };
            late += i64::from((ready - axis.of(by)).max(0));
        }
    }
    [late, chill_over, 0, i64::from(any_ham), visits, 0, 0, 0]
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
    let gap = limits.minutes("turn_gap_once").max(limits.minutes("turn_gap_max")).max(1);
    let between = i64::from(need) - i64::from(first) - i64::from(last);
    // The minutes of each turn itself are left out of account, a few in hundreds: one turn less is said, to be sure.
    (between.max(0) / i64::from(gap)).max(1)
}
