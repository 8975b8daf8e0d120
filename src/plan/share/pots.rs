//! Which hams share a pot, and what they are chilled by.

use super::{ALL_PARTITIONS, Proposer, partitions};
use crate::process::arrangement::{Cook, cook_fits};
use crate::process::durations;
use crate::process::fit::{self, Misfit};
use crate::schedule::Minute;

impl Proposer<'_> {
    /// The smallest pot and the quickest chill that take these hams together.
    pub(in crate::plan) fn pot_for(&self, joints: &[usize]) -> Result<Cook, Misfit> {
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

    /// A rough moment at which each ham could be cooked: cured and rested.
    pub(in crate::plan) fn cookable(&self, j: usize) -> Minute {
        self.arrival[j] + durations::cure(&self.kitchen.joints[j], &self.kitchen.cure) + 1440
    }

    /// Ways to share pots: every partition for few hams, else runs of hams that are cookable close together.
    pub(in crate::plan) fn cooks(&self) -> Vec<Vec<Cook>> {
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
}
