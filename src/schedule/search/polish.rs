//! Moves of single activities and of whole tails of a block, taken when the whole cost by level gets better.

use super::rng::Rng;
use super::space::{Push, Space};
use super::tally::Tally;
use crate::schedule::{Minute, Term};

/// How a move carries the rest of the block.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Carry {
    /// Others give way as far as they must.
    Ripple,
    /// Nobody gives way: the activity goes as far towards the target as it can.
    Slack,
    /// All that come after (moving later) or before (moving earlier) move by as much.
    Chain,
}

/// Targets worth trying for one activity, from the terms that look at it.
fn targets(space: &Space, tally: &Tally, activity: u32, rng: &mut Rng, out: &mut Vec<Minute>) {
    let model = space.model;
    let p = model.problem;
    let a = activity as usize;
    let now = space.starts[a];
    let at = |x: crate::schedule::Point| space.starts[x.activity.index()] + x.offset;
    out.clear();
    for &t in model.terms_of.of(a) {
        match *model.terms[t as usize].1 {
            Term::Late { point, due, .. } => out.push(due - point.offset),
            Term::ShortOfSpare { point, due, want, .. } => out.push(due - want - point.offset),
            Term::Over { from, to, good, .. } | Term::Under { from, to, good, .. } => {
                if from.activity != to.activity {
                    if from.activity.0 == activity {
                        out.push(at(to) - good - from.offset);
                    } else {
                        out.push(at(from) + good - to.offset);
                    }
                }
            }
            Term::Moved { promised, .. } => out.push(promised),
            Term::Length { from, to, .. } => {
                if from.activity != to.activity {
                    if from.activity.0 == activity {
                        out.push(at(to) - from.offset);
                    } else {
                        out.push(at(from) - to.offset);
                    }
                }
            }
            Term::Inside { calendar, from, to, .. } => {
                let open = &p.calendars[calendar.index()].open;
                let i = open.partition_point(|o| o.to <= at(from));
                // Behind the bad stretch it touches, or wholly before it.
                if let Some(o) = open.get(i)
                    && o.from < at(to)
                {
                    if from.activity.0 == activity {
                        out.push(o.to - from.offset);
                    }
                    if to.activity.0 == activity {
                        out.push(o.from - to.offset);
                    }
                }
            }
            Term::At { .. } => out.push(model.lo[a]),
            Term::Spells { .. } => {}
        }
    }
    for &(t, k) in model.spells_of.of(a) {
        let t = t as usize;
        let open = &p.calendars[model.spells[t].calendar].open;
        let own = tally.place(t, k as usize);
        let here = own.unwrap_or_else(|| open.partition_point(|o| o.to <= now));
        let used = |i: usize| tally.counts[t][i] > u32::from(Some(i) == own);
        let mut seen = 0;
        for (i, o) in open.iter().enumerate().skip(here + 1).take(40) {
            if o.from > model.hi[a] || seen == 2 {
                break;
            }
            if used(i) {
                out.push(o.from);
                seen += 1;
            }
        }
        seen = 0;
        for i in (here.saturating_sub(40)..here.min(open.len())).rev() {
            if open[i].to <= model.lo[a] || seen == 2 {
                break;
            }
            if used(i) {
                out.push(open[i].to - 1);
                seen += 1;
            }
        }
    }
    const STEPS: [Minute; 6] = [15, 60, 240, 720, 1440, 2880];
    let step = STEPS[rng.below(STEPS.len())];
    out.push(now + step);
    out.push(now - step);
    for t in out.iter_mut() {
        *t = (*t).clamp(model.lo[a], model.hi[a]);
    }
    out.retain(|&t| t != now);
    out.sort_unstable();
    out.dedup();
}

/// Tries one move of a placed block (one with choices in common is out of the profiles meanwhile); keeps it when `tally` gets better (or stays equal, if `sideways`).
fn attempt(
    space: &mut Space,
    tally: &mut Tally,
    block: usize,
    activity: u32,
    target: Minute,
    carry: Carry,
    saved: &mut Saved,
) -> bool {
    let model = space.model;
    let now = space.starts[activity as usize];
    let forward = if target > now { Push::Later } else { Push::Earlier };
    let push = match (carry, forward) {
        (Carry::Slack, Push::Later) => Push::Earlier,
        (Carry::Slack, Push::Earlier) => Push::Later,
        (_, p) => p,
    };
    let whole = !model.blocks[block].classes.is_empty();
    space.load(block, whole && carry == Carry::Slack);
    if !whole && carry == Carry::Slack {
        // Whatever a lag ties to it has a say.
        for arc in model.out.of(activity as usize).iter().chain(model.into.of(activity as usize)) {
            space.wake(arc.other);
        }
    }
    if carry == Carry::Chain {
        let by = target - now;
        for &b in &model.blocks[block].activities {
            let s = space.starts[b as usize];
            let along = if forward == Push::Later { s >= now } else { s <= now };
            if along && model.lo[b as usize] < model.hi[b as usize] {
                space.set(b, (s + by).clamp(model.lo[b as usize], model.hi[b as usize]));
            }
        }
    }
    space.set(activity, target);
    let settled = if whole { space.settle(block, push) } else { space.settle_partly(block, push) };
    if settled.is_err() {
        return false;
    }
    if carry == Carry::Slack && space.s[activity as usize] == now {
        return false;
    }
    saved.take(space, tally, block);
    space.keep(block);
    tally.update(model, block, &space.starts);
    if tally.cost < saved.cost {
        if !whole {
            space.replace(block);
        }
        return true;
    }
    saved.restore(space, tally, block);
    false
}

/// A block as it was, to go back to.
#[derive(Debug, Default, Clone)]
pub(crate) struct Saved {
    starts: Vec<Minute>,
    chosen: Vec<u32>,
    pub cost: Vec<i64>,
}

impl Saved {
    pub fn take(&mut self, space: &Space, tally: &Tally, block: usize) {
        let b = &space.model.blocks[block];
        self.starts.clear();
        self.starts.extend(b.activities.iter().map(|&a| space.starts[a as usize]));
        self.chosen.clear();
        self.chosen.extend(b.holds.iter().map(|&h| space.chosen[h as usize]));
        self.cost.clone_from(&tally.cost);
    }

    pub fn restore(&self, space: &mut Space, tally: &mut Tally, block: usize) {
        let b = &space.model.blocks[block];
        for (&a, &s) in b.activities.iter().zip(&self.starts) {
            space.starts[a as usize] = s;
        }
        for (&h, &c) in b.holds.iter().zip(&self.chosen) {
            space.chosen[h as usize] = c;
        }
        space.follow(block);
        tally.update(space.model, block, &space.starts);
    }
}

/// Wakes an activity and those that a lag or a term ties to it.
fn wake_around(space: &Space, awake: &mut [bool], activity: u32) {
    let model = space.model;
    awake[activity as usize] = true;
    for arc in model.out.of(activity as usize).iter().chain(model.into.of(activity as usize)) {
        awake[arc.other as usize] = true;
    }
    for &t in model.terms_of.of(activity as usize) {
        for a in super::model::term_activities(model.terms[t as usize].1).into_iter().flatten() {
            awake[a as usize] = true;
        }
    }
}

/// Moves the awake activities of a block, and those woken by what moved, until none of their moves makes the cost better.
/// `true` when something got better. The block must be placed, and is placed again afterwards.
pub(crate) fn polish(
    space: &mut Space,
    tally: &mut Tally,
    block: usize,
    awake: &mut [bool],
    rng: &mut Rng,
    stop: &mut dyn FnMut(u64) -> bool,
) -> bool {
    let model = space.model;
    let mut better = false;
    let mut wanted = Vec::new();
    let mut saved = Saved::default();
    let mut order: Vec<u32> = Vec::new();
    let whole = !model.blocks[block].classes.is_empty();
    if whole {
        space.take_out(block);
    }
    'all: loop {
        order.clear();
        order.extend(model.blocks[block].activities.iter().filter(|&&a| awake[a as usize]));
        if order.is_empty() {
            break;
        }
        rng.shuffle(&mut order);
        for &a in &order {
            let fixed = model.lo[a as usize] == model.hi[a as usize] || model.waits[a as usize];
            if !std::mem::take(&mut awake[a as usize]) || fixed {
                continue;
            }
            targets(space, tally, a, rng, &mut wanted);
            for &t in &wanted {
                for carry in [Carry::Slack, Carry::Ripple, Carry::Chain] {
                    if stop(space.nodes) {
                        break 'all;
                    }
                    if t != space.starts[a as usize] && attempt(space, tally, block, a, t, carry, &mut saved) {
                        better = true;
                        for (&b, &old) in model.blocks[block].activities.iter().zip(&saved.starts) {
                            if space.starts[b as usize] != old {
                                wake_around(space, awake, b);
                            }
                        }
                    }
                }
            }
        }
    }
    for &a in &model.blocks[block].activities {
        awake[a as usize] = false;
    }
    if whole {
        let fits = space.put_back(block);
        debug_assert!(fits, "a settled block fits where it was settled");
    }
    better
}

/// Wakes every activity of a block that stands elsewhere than it was saved.
pub(crate) fn wake_moved(space: &Space, awake: &mut [bool], block: usize, saved: &Saved) {
    for (&a, &old) in space.model.blocks[block].activities.iter().zip(&saved.starts) {
        if space.starts[a as usize] != old {
            wake_around(space, awake, a);
        }
    }
}
