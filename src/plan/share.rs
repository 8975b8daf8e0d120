//! Who shares a tub, a pot, a bake, a boil: proposals for the planner to time and compare.
//!
//! Few joints: every way of sharing is proposed, cheapest-looking first. Many: a greedy proposal and seeded variations.

use crate::kitchen::{Kitchen, Limits};
use crate::process::arrangement::{Arrangement, Cook, Load, cook_fits, cooked_spaces, curing_spaces, load_fits};
use crate::process::durations;
use crate::process::fit::{self, Misfit};
use crate::schedule::Minute;
use std::cell::RefCell;

/// Up to this many pieces every partition is looked at (Bell number 203).
const ALL_PARTITIONS: usize = 6;

/// By tub: the cold space it stands in.
pub(super) type Places = Vec<Option<usize>>;

/// Why a joint or a group cannot be placed at all.
#[derive(Debug, Clone, PartialEq)]
pub struct NoRoom {
    /// Index of the joint.
    pub joint: usize,
    /// The nearest miss of everything that was tried.
    pub misfit: Misfit,
}

/// When a joint can be in the kitchen, for grouping: minutes, or `None` when open.
pub struct Proposer<'a> {
    pub kitchen: &'a Kitchen,
    pub limits: &'a Limits,
    /// By joint: arrival in minutes of the axis; the collection minute for joints whose arrival is open.
    pub arrival: Vec<Minute>,
    /// By joint: ready-by in minutes, if any.
    pub due: Vec<Option<Minute>>,
    /// The nearest miss met when tubs wanted at once did not all stand in the cold.
    pub crowded: RefCell<Option<Misfit>>,
}

/// Every way to split `items` into groups that `ok` accepts, each group and the list in first-item order.
pub(super) fn partitions(items: &[usize], ok: &mut dyn FnMut(&[usize]) -> bool) -> Vec<Vec<Vec<usize>>> {
    let Some((&first, rest)) = items.split_first() else { return vec![Vec::new()] };
    let mut out = Vec::new();
    for bits in 0..(1u32 << rest.len()) {
        let mut group = vec![first];
        let mut left = Vec::new();
        for (k, i) in rest.iter().enumerate() {
            if bits >> k & 1 == 1 { group.push(*i) } else { left.push(*i) }
        }
        if ok(&group) {
            for mut tail in partitions(&left, ok) {
                tail.insert(0, group.clone());
                out.push(tail);
            }
        }
    }
    out
}

impl Proposer<'_> {
    fn nearest(misfits: impl Iterator<Item = Misfit>) -> Option<Misfit> {
        misfits.min_by(|a, b| a.by.total_cmp(&b.by))
    }

    /// Joints that fit no tub, no pot or no chilling means even alone, each with its nearest miss.
    pub fn no_room(&self) -> Vec<NoRoom> {
        let k = self.kitchen;
        let mut out = Vec::new();
        let spaces = curing_spaces(k, self.limits);
        for (joint, j) in k.joints.iter().enumerate() {
            let tubs: Vec<Result<(), Misfit>> = (0..k.kit.tubs.len())
                .map(|t| {
                    load_fits(k, t, &[joint], self.limits)?;
                    let tub = &k.kit.tubs[t];
                    let tried: Vec<_> = spaces.iter().map(|s| fit::in_space(&[tub], &k.kit.cold[*s])).collect();
                    if tried.iter().any(Result::is_ok) {
                        return Ok(());
                    }
                    Err(Self::nearest(tried.into_iter().filter_map(Result::err)).unwrap_or(Misfit {
                        says: "no cold space on the raw side is known to be at 5 °C or under".to_owned(),
                        by: f64::MAX,
                        unit: "space",
                    }))
                })
                .collect();
            if !tubs.iter().any(Result::is_ok) {
                let none = Misfit { says: "the kitchen has no tub".to_owned(), by: 1.0, unit: "tub" };
                let misfit = Self::nearest(tubs.into_iter().filter_map(Result::err)).unwrap_or(none);
                out.push(NoRoom { joint, misfit });
            } else if j.outcome.is_ham() && cooked_spaces(k, self.limits).is_empty() {
                let says =
                    "no cold space on the cooked side is known to be at 5 °C or under, to keep the ham in".to_owned();
                out.push(NoRoom { joint, misfit: Misfit { says, by: 1.0, unit: "space" } });
            } else if j.outcome.is_ham()
                && let Err(misfit) = self.pot_for(&[joint])
            {
                out.push(NoRoom { joint, misfit });
            }
        }
        out
    }

    /// The smallest pot and the quickest chill that take these hams together.
    pub(super) fn pot_for(&self, joints: &[usize]) -> Result<Cook, Misfit> {
        let k = self.kitchen;
        let all: Vec<_> = joints.iter().map(|j| &k.joints[*j]).collect();
        let mut pots: Vec<usize> = (0..k.kit.pots.len()).collect();
        pots.sort_by(|a, b| fit::pot_litres(&k.kit.pots[*a]).total_cmp(&fit::pot_litres(&k.kit.pots[*b])));
        let mut best: Option<(Minute, Cook)> = None;
        let (mut too_small, mut further) = (Vec::new(), Vec::new());
        for pot in pots {
            if let Err(m) = fit::in_pot(&all, &k.kit.pots[pot]) {
                too_small.push(m);
                continue;
            }
            for chilling in 0..k.kit.chilling.len() {
                let cook = Cook { pot, chilling, joints: joints.to_vec() };
                match cook_fits(k, &cook, self.limits) {
                    Ok(()) => {
                        let slow = crate::process::arrangement::chill_by(k, chilling, joints, self.limits)?.1;
                        if best.as_ref().is_none_or(|b| slow < b.0) {
                            best = Some((slow, cook));
                        }
                    }
                    Err(m) => further.push(m),
                }
            }
            if best.is_some() {
                break;
            }
        }
        let lacks = if k.kit.pots.is_empty() { "pot" } else { "chilling means" };
        // Where some pot is large enough, what comes after the pot is what binds.
        let binds = if further.is_empty() { too_small } else { further };
        best.map(|b| b.1).ok_or_else(|| {
            let none = Misfit { says: format!("the kitchen has no {lacks}"), by: 1.0, unit: "" };
            Self::nearest(binds.into_iter()).unwrap_or(none)
        })
    }

    /// Whether joints arrive close enough together to go into one tub.
    pub(super) fn arrive_together(&self, joints: &[usize]) -> bool {
        let wait = self.limits.minutes("collect_to_brine_good");
        let (lo, hi) = joints
            .iter()
            .fold((Minute::MAX, Minute::MIN), |(lo, hi), j| (lo.min(self.arrival[*j]), hi.max(self.arrival[*j])));
        hi - lo <= wait
    }

    /// Groups a person asked for, to be kept whole.
    fn asked(&self) -> Vec<Vec<usize>> {
        self.kitchen
            .batch
            .together
            .iter()
            .map(|g| (0..self.kitchen.joints.len()).filter(|j| g.contains(&self.kitchen.joints[*j].name)).collect())
            .collect()
    }

    fn keeps_asked(groups: &[Vec<usize>], asked: &[Vec<usize>]) -> bool {
        asked.iter().all(|a| groups.iter().any(|g| a.iter().all(|j| g.contains(j))) || a.is_empty())
    }

    /// Tubs that take a group, least brine first.
    pub(super) fn tubs_for(&self, group: &[usize]) -> Vec<(usize, f64)> {
        let mut out: Vec<(usize, f64)> = (0..self.kitchen.kit.tubs.len())
            .filter_map(|t| load_fits(self.kitchen, t, group, self.limits).ok().map(|f| (t, f.brine)))
            .collect();
        out.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
        out
    }

    /// A cold space for every tub, all standing at once, beside tubs that stay where they stand; `None` when they do not all
    /// fit.
    pub(super) fn place_beside(&self, tubs: &[usize], fixed: &Places) -> Option<Places> {
        let spaces = curing_spaces(self.kitchen, self.limits);
        let mut order: Vec<usize> = tubs.to_vec();
        order.sort_by(|a, b| {
            fit::tub_height(&self.kitchen.kit.tubs[*b])
                .total_cmp(&fit::tub_height(&self.kitchen.kit.tubs[*a]))
                .then(a.cmp(b))
        });
        order.retain(|t| fixed[*t].is_none());
        let here = |s: &usize| (0..fixed.len()).filter(|t| fixed[*t] == Some(*s)).collect();
        let mut inside: Vec<Vec<usize>> = spaces.iter().map(here).collect();
        let mut budget = 3000u32;
        self.place_rest(&order, &spaces, &mut inside, &mut budget).then(|| {
            let mut place = fixed.clone();
            for (s, ts) in inside.iter().enumerate() {
                ts.iter().for_each(|t| place[*t] = Some(spaces[s]));
            }
            place
        })
    }

    fn place_rest(&self, rest: &[usize], spaces: &[usize], inside: &mut [Vec<usize>], budget: &mut u32) -> bool {
        let Some((&tub, rest)) = rest.split_first() else { return true };
        // Lowest space that is tall enough first, so that the tall ones stay free for tall tubs.
        let mut order: Vec<usize> = (0..spaces.len()).collect();
        order.sort_by(|a, b| {
            let h = |s: &usize| self.kitchen.kit.cold[spaces[*s]].height.as_cm();
            h(a).total_cmp(&h(b)).then(a.cmp(b))
        });
        for s in order {
            if *budget == 0 {
                return false;
            }
            *budget -= 1;
            inside[s].push(tub);
            let tubs: Vec<_> = inside[s].iter().map(|t| &self.kitchen.kit.tubs[*t]).collect();
            if fit::in_space(&tubs, &self.kitchen.kit.cold[spaces[s]]).is_ok()
                && self.place_rest(rest, spaces, inside, budget)
            {
                return true;
            }
            inside[s].pop();
        }
        false
    }

    /// Gives each group a tub: distinct tubs that can all stand in the cold while they last, then the soonest free again.
    fn loads(&self, groups: &[Vec<usize>]) -> Option<(Vec<Load>, Places)> {
        // First come, first served; where that leaves a group without a tub, those with the fewest tubs to choose from first.
        self.loads_by(groups, false).or_else(|| self.loads_by(groups, true))
    }

    fn loads_by(&self, groups: &[Vec<usize>], scarce_first: bool) -> Option<(Vec<Load>, Places)> {
        let tubs = self.kitchen.kit.tubs.len();
        self.loads_beside(groups, scarce_first, vec![None; tubs], vec![None; tubs])
    }

    /// The same beside tubs that are spoken for: `free` has for each when it is free again, `place` where it stands.
    pub(super) fn loads_beside(
        &self,
        groups: &[Vec<usize>],
        scarce_first: bool,
        mut free: Vec<Option<Minute>>,
        mut place: Places,
    ) -> Option<(Vec<Load>, Places)> {
        let options: Vec<Vec<(usize, f64)>> = groups.iter().map(|g| self.tubs_for(g)).collect();
        let mut order: Vec<usize> = (0..groups.len()).collect();
        let first = |g: usize| groups[g].iter().map(|j| self.arrival[*j]).max().unwrap_or(0);
        let need = |g: usize| {
            groups[g].iter().map(|j| durations::cure(&self.kitchen.joints[*j], &self.kitchen.cure)).max().unwrap_or(0)
        };
        order.sort_by_key(|g| (if scarce_first { 0 } else { first(*g) }, options[*g].len(), -need(*g)));
        let fixed = place.clone();
        let mut used: Vec<usize> = Vec::new();
        let mut tub_of = vec![0usize; groups.len()];
        for g in order {
            let mut best: Option<(Minute, f64, usize, Option<Places>)> = None;
            for &(t, brine) in &options[g] {
                let (start, stand) = match free[t] {
                    Some(at) => (at.max(first(g)), None),
                    None => {
                        let mut with = used.clone();
                        with.push(t);
                        let Some(p) = self.place_beside(&with, &fixed) else {
                            self.note_crowd(&with);
                            continue;
                        };
                        (first(g), Some(p))
                    }
                };
                if best.as_ref().is_none_or(|b| (start, brine) < (b.0, b.1)) {
                    best = Some((start, brine, t, stand));
                }
            }
            let (start, _, t, stand) = best?;
            if let Some(p) = stand {
                place = p;
                used.push(t);
            }
            free[t] = Some(start + need(g) + 2880);
            tub_of[g] = t;
        }
        let loads = groups.iter().enumerate().map(|(g, js)| Load::new(self.kitchen, tub_of[g], js.clone())).collect();
        Some((loads, place))
    }

    /// Remembers by how much tubs wanted together fall short of standing in the cold.
    fn note_crowd(&self, tubs: &[usize]) {
        let names: Vec<&str> = tubs.iter().map(|t| self.kitchen.kit.tubs[*t].name.as_str()).collect();
        let all: Vec<_> = tubs.iter().map(|t| &self.kitchen.kit.tubs[*t]).collect();
        let spaces = curing_spaces(self.kitchen, self.limits);
        let misses = spaces.iter().filter_map(|s| fit::in_space(&all, &self.kitchen.kit.cold[*s]).err());
        let Some(m) = Self::nearest(misses) else { return };
        let says = format!("{} do not stand in the cold together: {}", super::words::list(&names), m.says);
        let mut crowded = self.crowded.borrow_mut();
        if crowded.as_ref().is_none_or(|c| m.by < c.by) {
            *crowded = Some(Misfit { says, ..m });
        }
    }

    /// Loads filled from one boil: same arrival, different tubs, within what the pots boil at once.
    pub(super) fn boils(&self, loads: &[Load]) -> Vec<Vec<usize>> {
        // A concentrate of a third is boiled; a kitchen without a pot boils in a pan of its own, tub by tub.
        let pot = self.kitchen.kit.pots.iter().map(fit::pot_litres).fold(0.0, f64::max);
        let share = match self.kitchen.cure.brine_cooling {
            crate::kitchen::BrineCooling::Ice => 1.0 / 3.0,
            crate::kitchen::BrineCooling::Overnight => 1.0,
        };
        let mut out: Vec<(Minute, f64, Vec<usize>)> = Vec::new();
        let mut order: Vec<usize> = (0..loads.len()).collect();
        let arrival = |l: &Load| l.joints.iter().map(|j| self.arrival[*j]).max().unwrap_or(0);
        order.sort_by_key(|l| arrival(&loads[*l]));
        let mut seen_tub = vec![0u32; self.kitchen.kit.tubs.len()];
        for l in order {
            let load = &loads[l];
            let fill: f64 =
                load_fits(self.kitchen, load.tub, &load.joints, self.limits).map_or(0.0, |f| f.brine) * share;
            let again = seen_tub[load.tub] > 0;
            seen_tub[load.tub] += 1;
            let at = arrival(load);
            let fits = out.iter_mut().find(|b| !again && (b.0 - at).abs() <= 1440 && b.1 + fill <= pot);
            match fits {
                Some(b) => {
                    b.1 += fill;
                    b.2.push(l);
                }
                None => out.push((if again { Minute::MIN / 2 } else { at }, fill, vec![l])),
            }
        }
        // In the order of the loads, as anybody who reads the plan sees them.
        let in_order = |mut loads: Vec<usize>| {
            loads.sort_unstable();
            loads
        };
        out.into_iter().map(|b| in_order(b.2)).collect()
    }

    /// A rough moment at which each ham could be cooked: cured and rested.
    pub(super) fn cookable(&self, j: usize) -> Minute {
        self.arrival[j] + durations::cure(&self.kitchen.joints[j], &self.kitchen.cure) + 1440
    }

    /// Ways to share pots: every partition for few hams, else runs of hams that are cookable close together.
    fn cooks(&self) -> Vec<Vec<Cook>> {
        let mut hams: Vec<usize> =
            (0..self.kitchen.joints.len()).filter(|j| self.kitchen.joints[*j].outcome.is_ham()).collect();
        hams.sort_by_key(|j| (self.due[*j].unwrap_or(Minute::MAX), self.cookable(*j), *j));
        let apart = self.limits.minutes("rest_limit") + 7200;
        let near = |g: &[usize]| {
            let (lo, hi) = g
                .iter()
                .fold((Minute::MAX, Minute::MIN), |(lo, hi), j| (lo.min(self.cookable(*j)), hi.max(self.cookable(*j))));
            hi - lo <= apart && (g.len() == 1 || self.pot_for(g).is_ok())
        };
        let make = |groups: &[Vec<usize>]| groups.iter().map(|g| self.pot_for(g).ok()).collect::<Option<Vec<Cook>>>();
        if hams.len() <= ALL_PARTITIONS {
            let mut all = partitions(&hams, &mut |g| near(g));
            all.sort_by_key(Vec::len);
            return all.iter().filter_map(|g| make(g)).collect();
        }
        let mut out = Vec::new();
        for most in [usize::MAX, 2, 1] {
            let mut groups: Vec<Vec<usize>> = Vec::new();
            for j in &hams {
                let joined = groups.last_mut().filter(|g| g.len() < most).is_some_and(|g| {
                    g.push(*j);
                    near(g) || {
                        g.pop();
                        false
                    }
                });
                if !joined {
                    groups.push(vec![*j]);
                }
            }
            out.extend(make(&groups));
        }
        out
    }

    /// Ways to share tubs: every partition for few joints, else joints of like weight and arrival side by side.
    fn tub_groups(&self) -> Vec<Vec<Vec<usize>>> {
        let mut all: Vec<usize> = (0..self.kitchen.joints.len()).collect();
        let asked = self.asked();
        let ok = |g: &[usize]| self.arrive_together(g) && !self.tubs_for(g).is_empty();
        if all.len() <= ALL_PARTITIONS {
            let mut out = partitions(&all, &mut |g| ok(g));
            out.retain(|g| Self::keeps_asked(g, &asked));
            out.sort_by_key(Vec::len);
            return out;
        }
        let kg = |j: &usize| (self.kitchen.joints[*j].planned_weight().as_kg() * 1000.0) as i64;
        all.sort_by_key(|j| (self.arrival[*j], -kg(j), *j));
        let mut out = Vec::new();
        for most in [usize::MAX, 3, 2, 1] {
            let mut groups: Vec<Vec<usize>> = asked.iter().filter(|g| !g.is_empty()).cloned().collect();
            for j in all.iter().filter(|j| !asked.iter().any(|g| g.contains(j))) {
                let found = groups.iter_mut().find_map(|g| {
                    if g.len() >= most {
                        return None;
                    }
                    g.push(*j);
                    if ok(g) {
                        return Some(());
                    }
                    g.pop();
                    None
                });
                if found.is_none() {
                    groups.push(vec![*j]);
                }
            }
            out.push(groups);
        }
        out.dedup();
        out
    }

    /// Arrangements worth timing, most promising first, at most `most`.
    pub fn arrangements(&self, most: usize) -> Vec<Arrangement> {
        let cooks = self.cooks();
        let mut out: Vec<Arrangement> = Vec::new();
        let loads: Vec<_> = self.tub_groups().iter().filter_map(|g| self.loads(g)).collect();
        // Diagonal order: the first of both lists, then the near neighbours of that.
        let mut pairs: Vec<(usize, usize)> =
            (0..loads.len()).flat_map(|l| (0..cooks.len().max(1)).map(move |c| (l, c))).collect();
        pairs.sort_by_key(|(l, c)| (l + c, *l));
        for (l, c) in pairs {
            if out.len() >= most {
                break;
            }
            let (loads, place) = loads[l].clone();
            let boils = self.boils(&loads);
            let cooks = cooks.get(c).cloned().unwrap_or_default();
            out.push(Arrangement { loads, cooks, place, boils });
        }
        out
    }
}
