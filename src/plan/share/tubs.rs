//! Which joints share a tub, where the tubs stand in the cold, and which are filled from one boil.

use super::{ALL_PARTITIONS, Places, Proposer, partitions};
use crate::process::arrangement::{Load, curing_spaces, load_fits};
use crate::process::durations;
use crate::process::fit::{self, Misfit};
use crate::schedule::Minute;

impl Proposer<'_> {
    /// Ways to share tubs: every partition for few joints, else joints of like weight and arrival side by side.
    pub(in crate::plan) fn tub_groups(&self) -> Vec<Vec<Vec<usize>>> {
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

    /// Tubs that take a group, least brine first.
    pub(in crate::plan) fn tubs_for(&self, group: &[usize]) -> Vec<(usize, f64)> {
        let mut out: Vec<(usize, f64)> = (0..self.kitchen.kit.tubs.len())
            .filter_map(|t| load_fits(self.kitchen, t, group, self.limits).ok().map(|f| (t, f.brine)))
            .collect();
        out.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
        out
    }

    /// A cold space for every tub, all standing at once, beside tubs that stay where they stand; `None` when they do not all
    /// fit.
    pub(in crate::plan) fn place_beside(&self, tubs: &[usize], fixed: &Places) -> Option<Places> {
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
    pub(in crate::plan) fn loads(&self, groups: &[Vec<usize>]) -> Option<(Vec<Load>, Places)> {
        // First come, first served; where that leaves a group without a tub, those with the fewest tubs to choose from first.
        self.loads_by(groups, false).or_else(|| self.loads_by(groups, true))
    }

    fn loads_by(&self, groups: &[Vec<usize>], scarce_first: bool) -> Option<(Vec<Load>, Places)> {
        let tubs = self.kitchen.kit.tubs.len();
        self.loads_beside(groups, scarce_first, vec![None; tubs], vec![None; tubs])
    }

    /// The same beside tubs that are spoken for: `free` has for each when it is free again, `place` where it stands.
    pub(in crate::plan) fn loads_beside(
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
        let says = format!("{} do not stand in the cold together: {}", crate::plan::words::list(&names), m.says);
        let mut crowded = self.crowded.borrow_mut();
        if crowded.as_ref().is_none_or(|c| m.by < c.by) {
            *crowded = Some(Misfit { says, ..m });
        }
    }

    /// Loads filled from one boil: same arrival, different tubs, within what the pots boil at once.
    pub(in crate::plan) fn boils(&self, loads: &[Load]) -> Vec<Vec<usize>> {
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
}
