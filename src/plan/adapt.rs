//! The sharing of an earlier plan, carried over to a kitchen that has changed: what still holds is kept, the rest is proposed
//! anew beside it.

use super::history::{History, MOST_TURNS, highest_load};
use super::share::{Places, Proposer, partitions};
use super::{Plan, PotLoad, TubLoad, judge::nth};
use crate::kitchen::{Kitchen, Limits};
use crate::process::arrangement::{Arrangement, Cook, Load, cook_fits, curing_spaces, load_fits};
use crate::process::{Axis, fit, graph};
use crate::schedule::Minute;

/// Up to this many open joints every way of grouping them is proposed.
const ALL_WAYS: usize = 4;

/// How much of an earlier sharing is put up for choice again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Open {
    /// Only what no longer holds.
    Broken,
    /// Everything that has not been put in or put on.
    NotBegun,
}

/// An earlier sharing in a changed kitchen.
#[derive(Debug, Clone, Default)]
pub(super) struct Adapted {
    pub kept: Arrangement,
    /// Joints without a tub, hams without a pot.
    pub joints: Vec<usize>,
    pub hams: Vec<usize>,
    /// Why something was not kept, a sentence each.
    pub says: Vec<String>,
}

/// Indices of the joints that stand for a name of the earlier plan: itself, or the pieces it has been cut into.
pub(super) fn pieces(kitchen: &Kitchen, name: &str) -> Vec<usize> {
    let find = |n: &str| kitchen.joints.iter().position(|j| j.name == n);
    match find(name) {
        Some(j) => vec![j],
        // One alone is another joint that is called so.
        None => {
            ["a", "b"].iter().map(|half| find(&format!("{name} {half}"))).collect::<Option<_>>().unwrap_or_default()
        }
    }
}

/// Carries a plan's sharing over.
///
/// # Errors
/// A sentence when meat lies in a tub, or hams are in a pot, that the kitchen no longer has.
pub(super) fn adapt(
    kitchen: &Kitchen,
    limits: &Limits,
    old: &Plan,
    history: Option<&History>,
    open: Open,
) -> Result<Adapted, String> {
    let mut carrying = Carrying { kitchen, limits, old, history, open, out: Adapted::default() };
    carrying.out.kept.place = vec![None; kitchen.kit.tubs.len()];
    for load in &old.loads {
        carrying.load(load)?;
    }
    for cook in &old.cooks {
        carrying.cook(cook);
    }
    let mut out = carrying.out;
    let n = 0..kitchen.joints.len();
    out.joints = n.clone().filter(|j| !out.kept.loads.iter().any(|l| l.joints.contains(j))).collect();
    let cooked = |j: &usize| out.kept.cooks.iter().any(|c| c.joints.contains(j));
    out.hams = n.filter(|j| kitchen.joints[*j].outcome.is_ham() && !cooked(j)).collect();
    Ok(out)
}

/// An earlier sharing on its way into a changed kitchen.
struct Carrying<'a> {
    kitchen: &'a Kitchen,
    limits: &'a Limits,
    old: &'a Plan,
    history: Option<&'a History>,
    open: Open,
    out: Adapted,
}

impl Carrying<'_> {
    fn begun(&self, id: &str) -> bool {
        self.history.is_some_and(|h| h.has_begun(id))
    }

    /// A load that is in its tub stays there; one that is not, where it still fits and is not to be chosen anew.
    fn load(&mut self, l: &TubLoad) -> Result<(), String> {
        let kit = &self.kitchen.kit;
        let joints: Vec<usize> = l.joints.iter().flat_map(|n| pieces(self.kitchen, n)).collect();
        if joints.is_empty() {
            return Ok(());
        }
        let tub = kit.tubs.iter().position(|t| t.name == l.tub);
        let space = kit.cold.iter().position(|c| c.name == l.space);
        let lifted = |n: &String| self.begun(&format!("lift {n}"));
        let told = l.turns.min(MOST_TURNS);
        let turned = (1..=told).any(|k| self.begun(&format!("turn {} {k}", l.id)));
        let is_in = self.begun(&format!("put in {}", l.id)) || turned || l.joints.iter().any(lifted);
        let out_again = l.joints.iter().all(lifted);
        let (Some(tub), true) = (tub, space.is_some() || !is_in) else {
            if is_in {
                let who = l.joints.join(" and ");
                return Err(format!("{who} is in {} in {}, which the kitchen no longer has", l.tub, l.space));
            }
            self.out.says.push(format!("{} is not in the kitchen any more", l.tub));
            return Ok(());
        };
        if !is_in {
            if let Err(says) = self.still_fits(tub, space, &joints, &l.space) {
                self.out.says.push(says);
                return Ok(());
            }
            if self.open == Open::NotBegun {
                return Ok(());
            }
        }
        let fresh = Load::new(self.kitchen, tub, joints);
        let missed = self.history.map_or(0, |h| h.missed_turns(&l.id, told));
        let after_gap = self.history.and_then(|h| h.turns_after_gap(self.kitchen, &l.id, &fresh.joints, told));
        let turns = match (out_again, after_gap) {
            (true, _) => told,
            (false, Some(turns)) => turns,
            // A lighter joint is not turned less for it, unless that has to be.
            (false, None) => told.max(fresh.turns + missed),
        };
        let boil = (l.boil as usize).min(self.old.loads.len() + 100);
        let kept = &mut self.out.kept;
        kept.place[tub] = kept.place[tub].or(space);
        if kept.boils.len() <= boil {
            kept.boils.resize(boil + 1, Vec::new());
        }
        kept.boils[boil].push(kept.loads.len());
        kept.loads.push(Load { turns, nth: Some(nth(l).unwrap_or(1)), ..fresh });
        Ok(())
    }

    /// Whether joints still fit their tub, and the tub its place in the cold beside those that are kept there.
    fn still_fits(&self, tub: usize, space: Option<usize>, joints: &[usize], named: &str) -> Result<(), String> {
        let kit = &self.kitchen.kit;
        load_fits(self.kitchen, tub, joints, self.limits).map_err(|m| m.says)?;
        let space = space.filter(|s| curing_spaces(self.kitchen, self.limits).contains(s));
        let space = space.ok_or_else(|| format!("{named} is no place to cure in any more"))?;
        let mut there: Vec<_> = (0..kit.tubs.len()).filter(|t| self.out.kept.place[*t] == Some(space)).collect();
        if !there.contains(&tub) {
            there.push(tub);
        }
        let tubs: Vec<_> = there.iter().map(|t| &kit.tubs[*t]).collect();
        fit::in_space(&tubs, &kit.cold[space]).map_err(|m| m.says)
    }

    /// A cook that is on stays; one that is not, where it still fits and is not to be chosen anew.
    fn cook(&mut self, c: &PotLoad) {
        let kit = &self.kitchen.kit;
        let mut joints: Vec<usize> = c.joints.iter().flat_map(|n| pieces(self.kitchen, n)).collect();
        joints.retain(|j| self.kitchen.joints[*j].outcome.is_ham());
        if joints.is_empty() {
            return;
        }
        let pot = kit.pots.iter().position(|p| p.name == c.pot);
        let chilling = kit.chilling.iter().position(|m| m.name == c.chilling);
        let (Some(pot), Some(chilling)) = (pot, chilling) else {
            self.out.says.push(format!("{} or {} is not in the kitchen any more", c.pot, c.chilling));
            return;
        };
        let cook = Cook { pot, chilling, joints };
        let mut tried = self.out.kept.clone();
        tried.cooks.push(cook.clone());
        let on = self.history.is_some_and(|h| h.known(self.kitchen, &tried).on.last() == Some(&true));
        if !on {
            if let Err(m) = cook_fits(self.kitchen, &cook, self.limits) {
                self.out.says.push(m.says);
                return;
            }
            if self.open == Open::NotBegun {
                return;
            }
        }
        self.out.kept.cooks.push(cook);
    }
}

/// Groupings of the open ones: every one of a few, else each alone and greedily together.
fn groupings(open: &[usize], ok: &mut dyn FnMut(&[usize]) -> bool) -> Vec<Vec<Vec<usize>>> {
    if open.is_empty() {
        return vec![Vec::new()];
    }
    if open.len() <= ALL_WAYS {
        let mut all = partitions(open, ok);
        all.sort_by_key(Vec::len);
        return all;
    }
    let alone = open.iter().map(|j| vec![*j]).collect();
    let mut together: Vec<Vec<usize>> = Vec::new();
    for j in open {
        let joined = together.iter_mut().any(|g| {
            g.push(*j);
            ok(g) || {
                g.pop();
                false
            }
        });
        if !joined {
            together.push(vec![*j]);
        }
    }
    vec![together, alone]
}

/// Ways to complete an adapted sharing, most promising first, at most `most`.
pub(super) fn complete(
    proposer: &Proposer,
    axis: &Axis,
    old: &Plan,
    history: Option<&History>,
    adapted: &Adapted,
    most: usize,
) -> Vec<Arrangement> {
    let kitchen = proposer.kitchen;
    let kept = &adapted.kept;
    let mut ok = |g: &[usize]| proposer.arrive_together(g) && !proposer.tubs_for(g).is_empty();
    // A tub that is spoken for is free again when its last joint is lifted.
    let mut free: Vec<Option<Minute>> = vec![None; kitchen.kit.tubs.len()];
    for (load, id) in kept.loads.iter().zip(graph::load_ids(kitchen, kept)) {
        let lifts = old.joints.iter().filter(|j| j.tub == id).map(|j| axis.minute(j.lift.to_utc()) + 30).max();
        free[load.tub] = free[load.tub].max(Some(lifts.unwrap_or(axis.horizon / 2)));
    }
    let place: Places = kept.place.clone();
    let mut loads: Vec<(Vec<Load>, Places)> = Vec::new();
    for groups in groupings(&adapted.joints, &mut ok) {
        for scarce in [false, true] {
            let found = proposer.loads_beside(&groups, scarce, free.clone(), place.clone());
            if let Some((mut new, place)) = found {
                let mut tubs: Vec<usize> = new.iter().map(|l| l.tub).collect();
                tubs.sort_unstable();
                tubs.dedup();
                for t in tubs {
                    let name = &kitchen.kit.tubs[t].name;
                    let kept_too = kept.loads.iter().filter(|l| l.tub == t).filter_map(|l| l.nth).max();
                    // A load that was planned and not begun gives its number back.
                    let begun = if kept_too.is_some() { highest_load(old, name).max(kept_too.unwrap_or(0)) } else { 0 };
                    for (k, l) in new.iter_mut().filter(|l| l.tub == t).enumerate() {
                        l.nth = Some(begun + k as u32 + 1);
                    }
                }
                loads.push((new, place));
                break;
            }
        }
    }
    let apart = proposer.limits.minutes("rest_limit") + 7200;
    let mut near = |g: &[usize]| {
        let at = |j: &usize| proposer.cookable(*j);
        let (lo, hi) = (g.iter().map(at).min().unwrap_or(0), g.iter().map(at).max().unwrap_or(0));
        (g.len() == 1 || hi - lo <= apart) && proposer.pot_for(g).is_ok()
    };
    let cooks: Vec<Vec<Cook>> = groupings(&adapted.hams, &mut near)
        .iter()
        .filter_map(|groups| groups.iter().map(|g| proposer.pot_for(g).ok()).collect())
        .collect();
    let mut pairs: Vec<(usize, usize)> = (0..loads.len()).flat_map(|l| (0..cooks.len()).map(move |c| (l, c))).collect();
    pairs.sort_by_key(|(l, c)| (l + c, *l));
    pairs
        .into_iter()
        .take(most)
        .map(|(l, c)| {
            let mut a = kept.clone();
            let (new, place) = loads[l].clone();
            a.place = place;
            let first = a.loads.len();
            // Brine that is made goes to those it is enough for; the others get a boil of their own.
            let mut unfilled: Vec<usize> = (0..new.len()).collect();
            let made = |k: usize| history.is_some_and(|h| h.has_begun(&format!("brine {}", k + 1)));
            for (k, boil) in a.boils.iter_mut().enumerate().filter(|(k, b)| b.is_empty() && made(*k)) {
                let litres: f64 = old.loads.iter().filter(|l| l.boil as usize == k).map(|l| l.brine_litres).sum();
                let mut left = 1.1 * litres;
                unfilled.retain(|l| {
                    let fit = load_fits(kitchen, new[*l].tub, &new[*l].joints, proposer.limits);
                    let enough = fit.is_ok_and(|f| {
                        f.brine <= left && {
                            left -= f.brine;
                            true
                        }
                    });
                    if enough {
                        boil.push(l + first);
                    }
                    !enough
                });
            }
            // Each number of a boil is a task's name: new boils take the numbers that are free.
            let rest: Vec<Load> = unfilled.iter().map(|l| new[*l].clone()).collect();
            for boil in proposer.boils(&rest) {
                let boil: Vec<usize> = boil.iter().map(|l| unfilled[*l] + first).collect();
                let free = (0..a.boils.len()).find(|k| a.boils[*k].is_empty() && !made(*k));
                match free {
                    Some(k) => a.boils[k] = boil,
                    None => a.boils.push(boil),
                }
            }
            a.loads.extend(new);
            a.cooks.extend(cooks[c].iter().cloned());
            a
        })
        .collect()
}
