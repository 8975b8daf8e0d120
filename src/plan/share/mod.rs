//! Who shares a tub, a pot, a bake, a boil: proposals for the planner to time and compare.
//!
//! Few joints: every way of sharing is proposed, cheapest-looking first. Many: a greedy proposal and seeded variations.
//! [`tubs`] groups joints into tubs and finds those a place in the cold, [`pots`] groups hams into pots.

mod pots;
mod tubs;

use crate::kitchen::{Kitchen, Limits};
use crate::process::arrangement::{Arrangement, cooked_spaces, curing_spaces, load_fits};
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
