//! Activities that only wait for others: "all is packed". They hold nothing and nothing waits for them, so that as soon as
//! what they wait for is done is never worse than later. They tie no blocks together; their starts follow from the others'.

use super::model::{Lists, Model, Union, is_regular};
use crate::schedule::{Minute, Problem, Term};

/// Those that only wait, whatever they wait for.
pub(super) fn waiting(p: &Problem) -> Vec<bool> {
    let mut waits = vec![false; p.activities.len()];
    p.lags.iter().filter(|l| l.from != l.to).for_each(|l| waits[l.to.index()] = true);
    for l in p.lags.iter().filter(|l| l.from != l.to) {
        waits[l.from.index()] = false;
    }
    for h in &p.holds {
        waits[h.from.activity.index()] = false;
        h.to.iter().for_each(|t| waits[t.activity.index()] = false);
    }
    for w in &p.within {
        (waits[w.from.activity.index()], waits[w.to.activity.index()]) = (false, false);
    }
    for term in p.levels.iter().flat_map(|l| &l.terms).filter(|t| !is_regular(t)) {
        if let Term::Spells { activities, .. } = term {
            activities.iter().for_each(|a| waits[a.index()] = false);
        }
        super::model::term_activities(term).into_iter().flatten().for_each(|a| waits[a as usize] = false);
    }
    waits
}

/// Ties those that wait for one block only to that block; the others are left in `waits`.
pub(super) fn tie_single(p: &Problem, waits: &mut [bool], union: &mut Union) {
    let mut first = vec![None; waits.len()];
    let mut several = vec![false; waits.len()];
    for l in p.lags.iter().filter(|l| waits[l.to.index()] && l.from != l.to) {
        let root = union.root(l.from.0);
        several[l.to.index()] |= *first[l.to.index()].get_or_insert(root) != root;
    }
    for a in 0..waits.len() {
        if waits[a] && !several[a] {
            waits[a] = false;
            if let Some(root) = first[a] {
                union.join(root, a as u32);
            }
        }
    }
}

/// By block: those that wait for one of its activities, or are its own.
pub(super) fn by_block(p: &Problem, waits: &[bool], block_of: &[u32], blocks: usize) -> Lists<u32> {
    let mut pairs: Vec<(u32, u32)> =
        p.lags.iter().filter(|l| waits[l.to.index()]).map(|l| (block_of[l.from.index()], l.to.0)).collect();
    pairs.extend((0..waits.len()).filter(|&a| waits[a]).map(|a| (block_of[a], a as u32)));
    pairs.sort_unstable();
    pairs.dedup();
    Lists::build(blocks, &pairs)
}

impl Model<'_> {
    /// When what an activity waits for is done, and by which.
    pub fn follows(&self, activity: u32, starts: &[Minute]) -> (Minute, Option<u32>) {
        let i = activity as usize;
        let after = self.into.of(i).iter().filter(|arc| arc.other != activity);
        let last = after.map(|arc| (starts[arc.other as usize] + arc.least, arc.other)).max();
        match last {
            Some((at, by)) if at > self.lo[i] => (at, Some(by)),
            _ => (self.lo[i], None),
        }
    }
}
