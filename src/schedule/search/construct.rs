//! The first plan: block after block, each as early as the ones before it leave room for.

use super::model::Model;
use super::rng::Rng;
use super::space::{Push, Space};
use crate::schedule::{Minute, Solution, Stop, Term};

/// How long each block could be put off without being late: its smallest `due - earliest` (its latest start where nothing
/// is due). Blocks with history come first of all.
fn urgency(model: &Model) -> Vec<i64> {
    let p = model.problem;
    let mut slack = vec![i64::from(Minute::MAX); model.blocks.len()];
    for (_, term) in &model.terms {
        if let Term::Late { point, due, .. } = term {
            let b = model.block_of[point.activity.index()] as usize;
            let spare = i64::from(due - (model.lo[point.activity.index()] + point.offset));
            slack[b] = slack[b].min(spare);
        }
    }
    for (i, a) in p.activities.iter().enumerate() {
        let b = model.block_of[i] as usize;
        slack[b] = slack[b].min(i64::from(model.hi[i] - model.lo[i]));
        if a.pinned.is_some() {
            slack[b] = slack[b].min(i64::from(Minute::MIN));
        }
    }
    slack
}

/// Places one block: earliest, then latest, then earliest with its holds served in another order.
pub(super) fn place(space: &mut Space, block: usize, rng: &mut Rng) -> bool {
    for push in [Push::Later, Push::Earlier] {
        space.load_edge(block, push);
        if space.settle(block, push).is_ok() {
            space.keep(block);
            if space.put_back(block) {
                return true;
            }
        }
    }
    // Its activities may stand in each other's way: let them begin from scattered starts.
    let model = space.model;
    for _ in 0..6 {
        space.load_edge(block, Push::Later);
        for &a in &model.blocks[block].activities {
            let i = a as usize;
            let room = (model.hi[i] - model.lo[i]).min(10_080);
            if rng.chance(30) {
                space.set(a, model.lo[i] + rng.below(room as usize + 1) as Minute);
            }
        }
        if space.settle(block, Push::Later).is_ok() {
            space.keep(block);
            if space.put_back(block) {
                return true;
            }
        }
    }
    false
}

/// Takes over what still fits of an earlier solution; what does not is pushed on from where it stood.
fn take_over(space: &mut Space, from: &Solution) {
    let model = space.model;
    let p = model.problem;
    if from.starts.len() != p.activities.len() || from.chosen.len() != p.holds.len() {
        return;
    }
    for (i, &s) in from.starts.iter().enumerate() {
        space.starts[i] = s.clamp(model.lo[i], model.hi[i]);
    }
    for (i, &c) in from.chosen.iter().enumerate() {
        space.chosen[i] = c.min(p.holds[i].choose.len() as u32 - 1);
    }
    let mut moved = Vec::new();
    for b in 0..model.blocks.len() {
        // A block whose starts are sound settles exactly where it is.
        space.load(b, true);
        let still = space.settle(b, Push::Later).is_ok()
            && model.blocks[b].activities.iter().all(|&a| space.s[a as usize] == space.starts[a as usize]);
        if still {
            space.keep(b);
            space.put_back(b);
        } else {
            moved.push(b);
        }
    }
    for b in moved {
        for push in [Push::Later, Push::Earlier] {
            space.load(b, true);
            if space.settle(b, push).is_ok() {
                space.keep(b);
                if space.put_back(b) {
                    break;
                }
            }
        }
    }
}

/// Places every block; `false` when the search was stopped first or no order of blocks it tried worked.
pub(super) fn construct(space: &mut Space, from: Option<&Solution>, rng: &mut Rng, stop: &dyn Stop) -> bool {
    let model = space.model;
    let blocks = model.blocks.len();
    if let Some(from) = from {
        take_over(space, from);
    }
    let urgency = urgency(model);
    let mut order: Vec<usize> = (0..blocks).collect();
    order.sort_by_key(|&b| urgency[b]);
    let mut weight = vec![0i64; blocks];
    for round in 0..50 * (blocks + 4) {
        let mut failed = None;
        for &b in &order {
            if !space.is_placed[b] && !place(space, b, rng) {
                failed = Some(b);
                break;
            }
            if stop.should_stop(space.nodes) && round > 0 {
                return space.is_placed.iter().all(|&x| x);
            }
        }
        let Some(b) = failed else { return true };
        // The block that found no room is placed earlier next time; at first only those of its own kind of urgency give
        // way, later a random few, in the end all.
        weight[b] += 1 + round as i64;
        order.sort_by_key(|&b| (std::cmp::Reverse(weight[b]), urgency[b]));
        if round % 3 == 2 && blocks > 1 {
            let i = rng.below(blocks);
            let j = rng.below(blocks);
            order.swap(i, j);
        }
        for b in 0..blocks {
            if space.is_placed[b] {
                space.take_out(b);
            }
        }
    }
    false
}

/// Places every block anew, those of `order` first and in that order; `false` when one found no room.
pub(super) fn in_order(space: &mut Space, order: &[usize], rng: &mut Rng) -> bool {
    let blocks = space.model.blocks.len();
    (0..blocks).filter(|&b| space.is_placed[b]).collect::<Vec<_>>().into_iter().for_each(|b| space.take_out(b));
    let named = order.iter().copied();
    let rest = (0..blocks).filter(|b| !order.contains(b));
    named.chain(rest).all(|b| place(space, b, rng))
}

/// Places every block anew: those named in their order, the activity each begins with at the moment given or as soon after as
/// there is room; `false` when one found none.
pub(super) fn begun(space: &mut Space, order: &[(usize, u32, Minute)], rng: &mut Rng) -> bool {
    let blocks = space.model.blocks.len();
    (0..blocks).filter(|&b| space.is_placed[b]).collect::<Vec<_>>().into_iter().for_each(|b| space.take_out(b));
    for &(block, with, at) in order {
        space.load_edge(block, Push::Later);
        space.set(with, at);
        let settled = space.settle(block, Push::Later).is_ok() && {
            space.keep(block);
            space.put_back(block)
        };
        if !settled && !place(space, block, rng) {
            return false;
        }
    }
    (0..blocks).filter(|&b| !space.is_placed[b]).collect::<Vec<_>>().into_iter().all(|b| place(space, b, rng))
}
