//! More to be held inside a window of time than there is room for: a proof that no schedule exists (energetic reasoning;
//! Erschler, Lopez and Thuriot, 1991), over resources of which any may be chosen as over one.

use super::load::{pools, shortest};
use super::model::Model;
use crate::schedule::{Minute, ResourceId};

/// Pools with more holds than this are not looked at: it takes time by the cube of their number.
const MOST_HOLDS: usize = 130;

/// A hold in its window.
struct Work {
    amount: i64,
    length: Minute,
    /// Earliest and latest begin, earliest and latest end.
    begin: (Minute, Minute),
    end: (Minute, Minute),
}

impl Work {
    /// The minutes of it inside `[from, to)` wherever it stands.
    fn inside(&self, from: Minute, to: Minute) -> i64 {
        i64::from(self.length.min(to - from).min(self.end.0 - from).min(to - self.begin.1).max(0))
    }
}

/// Does some pool of resources have to hold more than it can? `lo` and `hi` are start windows that hold in every schedule.
pub(super) fn overfull(model: &Model, lo: &[Minute], hi: &[Minute]) -> bool {
    pools(model.problem).iter().any(|pool| pool_overfull(model, lo, hi, pool))
}

fn pool_overfull(model: &Model, lo: &[Minute], hi: &[Minute], pool: &[ResourceId]) -> bool {
    let p = model.problem;
    let capacity: i64 = pool.iter().map(|r| i64::from(p.resources[r.index()].capacity)).sum();
    let mut works: Vec<Work> = Vec::new();
    for (i, h) in p.holds.iter().enumerate() {
        if h.amount <= 0 || !h.choose.iter().all(|r| pool.contains(r)) {
            continue;
        }
        let length = shortest(model, i, h);
        if length <= 0 {
            continue;
        }
        let (from, at) = (h.from.offset, h.from.activity.index());
        let begin = (lo[at] + from, hi[at] + from);
        let ends = |of: &[Minute]| h.to.iter().map(|t| of[t.activity.index()] + t.offset).max().unwrap_or(Minute::MAX);
        works.push(Work {
            amount: i64::from(h.amount),
            length,
            begin,
            end: (ends(lo).max(begin.0 + length), ends(hi)),
        });
        if works.len() > MOST_HOLDS {
            return false;
        }
    }
    if works.iter().map(|w| w.amount).sum::<i64>() <= capacity {
        return false;
    }
    let mut from: Vec<Minute> = works.iter().flat_map(|w| [w.begin.0, w.begin.1]).collect();
    let mut to: Vec<Minute> = works.iter().flat_map(|w| [w.end.0, w.end.1]).collect();
    for edges in [&mut from, &mut to] {
        edges.sort_unstable();
        edges.dedup();
    }
    from.iter().any(|&a| {
        to.iter().filter(|&&b| b > a).any(|&b| {
            let energy: i64 = works.iter().map(|w| w.amount * w.inside(a, b)).sum();
            energy > capacity * i64::from(b - a)
        })
    })
}
