//! True lower bounds, level by level, from each block alone.

use super::energy;
use super::load::Load;
use super::model::{Model, SpellTerm};
use super::space::{Blocked, Push, Space};
use super::spells::{NeverTogether, place};
use crate::schedule::{Minute, Term};
use std::cell::RefCell;

/// A block that finds no place even with everything else out of the way and its own activities free to overlap.
pub(crate) fn block_alone_fails(model: &Model) -> Option<usize> {
    let mut space = Space::new(model);
    (0..model.blocks.len()).find(|&b| {
        space.load_edge(b, Push::Later);
        // An insertion that was given up proves nothing.
        matches!(space.relaxed(b, Push::Later), Err(Blocked(Some(_))))
    })
}

/// Start windows that hold in every schedule, and what follows from them.
pub(crate) struct Bounds {
    lo: Vec<Minute>,
    hi: Vec<Minute>,
    /// What crowded resources make the first level cost at least.
    pub crowded: i64,
    /// By spells term: which of its activities never share one; empty until [`Bounds::look_apart`].
    apart: Vec<NeverTogether>,
    /// The last answer: it hangs on which levels cost nothing, and on nothing else that changes often.
    last: RefCell<Option<Last>>,
}

/// An answer of [`Bounds::by_level`] and what it hangs on.
struct Last {
    /// By level: does it cost nothing?
    nothing: Vec<bool>,
    crowded: i64,
    bound: Vec<i64>,
}

impl Bounds {
    /// Windows of each block alone.
    pub fn new(model: &Model) -> Self {
        let mut space = Space::new(model);
        let (mut lo, mut hi) = (model.lo.clone(), model.hi.clone());
        for (b, block) in model.blocks.iter().enumerate() {
            for push in [Push::Later, Push::Earlier] {
                space.load_edge(b, push);
                if space.relaxed(b, push).is_ok() {
                    for &a in &block.activities {
                        let a = a as usize;
                        match push {
                            Push::Later => lo[a] = lo[a].max(space.s[a]),
                            Push::Earlier => hi[a] = hi[a].min(space.s[a]),
                        }
                    }
                }
            }
        }
        for a in (0..lo.len()).filter(|&a| model.waits[a]) {
            lo[a] = model.follows(a as u32, &lo).0;
        }
        Self { lo, hi, crowded: 0, apart: Vec::new(), last: RefCell::new(None) }
    }

    /// Is some resource asked for more than it has, whatever the order?
    pub fn overfull(&self, model: &Model) -> bool {
        energy::overfull(model, &self.lo, &self.hi)
    }

    /// The crowded resources of the problem, to learn a bound of its first level from.
    pub fn loads(&self, model: &Model) -> Vec<Load> {
        Load::of(model, &self.lo, &self.hi)
    }

    /// From now on bounds of spells reckon with what the lags hold apart: better, and dearer to reckon.
    pub fn look_apart(&mut self, model: &Model) {
        let of = |t: &SpellTerm| {
            let activities: Vec<u32> = t.activities.iter().map(|a| a.0).collect();
            NeverTogether::new(model, &activities, &model.problem.calendars[t.calendar].open)
        };
        self.apart = model.spells.iter().map(of).collect();
        self.last.replace(None);
    }

    /// Lower bounds of each level, given that the levels before it are at `cost`.
    pub fn by_level(&self, model: &Model, cost: &[i64]) -> Vec<i64> {
        let nothing: Vec<bool> = cost.iter().map(|&c| c == 0).collect();
        let last = self.last.borrow();
        if let Some(last) = last.as_ref().filter(|l| l.nothing == nothing && l.crowded == self.crowded) {
            return last.bound.clone();
        }
        drop(last);
        let bound = self.reckon(model, cost);
        self.last.replace(Some(Last { nothing, crowded: self.crowded, bound: bound.clone() }));
        bound
    }

    fn reckon(&self, model: &Model, cost: &[i64]) -> Vec<i64> {
        let (lo, mut hi) = (&self.lo, self.hi.clone());
        let mut bound = vec![0i64; cost.len()];
        for (level, sum) in bound.iter_mut().enumerate() {
            for (_, term) in model.terms.iter().filter(|(l, _)| *l == level) {
                *sum += least(model, term, lo, &hi);
            }
            for (k, t) in model.spells.iter().enumerate().filter(|(_, t)| t.level == level) {
                *sum += t.weight * fewest_spells(model, t, self.apart.get(k), lo, &hi);
            }
            if level == 0 {
                *sum = (*sum).max(self.crowded);
            }
            // A level of lateness that costs nothing turns its due dates into limits for the levels below.
            if cost[level] == 0 {
                for (_, term) in model.terms.iter().filter(|(l, _)| *l == level) {
                    if let Term::Late { point, due, weight } = term
                        && *weight > 0
                    {
                        let i = point.activity.index();
                        hi[i] = hi[i].min(due - point.offset);
                    }
                }
            }
        }
        bound
    }
}

/// The least a term can cost when starts stay in their windows.
fn least(model: &Model, term: &Term, lo: &[Minute], hi: &[Minute]) -> i64 {
    let early = |p: crate::schedule::Point| lo[p.activity.index()] + p.offset;
    let late = |p: crate::schedule::Point| hi[p.activity.index()] + p.offset;
    let over = |m: Minute, w: i64| i64::from(m.max(0)) * w;
    // The shortest and longest stretch between two points, as far as windows and a direct lag tell.
    let shortest = |from: crate::schedule::Point, to: crate::schedule::Point| {
        let lag = model.out.of(from.activity.index()).iter().filter(|a| a.other == to.activity.0).map(|a| a.least);
        let by_lag = lag.max().map_or(Minute::MIN, |l| l + to.offset - from.offset);
        if from.activity == to.activity { to.offset - from.offset } else { by_lag.max(early(to) - late(from)) }
    };
    let longest = |from: crate::schedule::Point, to: crate::schedule::Point| {
        let lag = model.out.of(to.activity.index()).iter().filter(|a| a.other == from.activity.0).map(|a| -a.least);
        let by_lag = lag.min().map_or(Minute::MAX, |l| l + to.offset - from.offset);
        if from.activity == to.activity { to.offset - from.offset } else { by_lag.min(late(to) - early(from)) }
    };
    match *term {
        Term::Late { point, due, weight } => over(early(point) - due, weight),
        Term::ShortOfSpare { point, due, want, weight } => over(want - (due - early(point)), weight),
        Term::Over { from, to, good, weight } => over(shortest(from, to) - good, weight),
        Term::Under { from, to, good, weight } => over(good - longest(from, to), weight),
        Term::Moved { activity, promised, weight } => {
            let i = activity.index();
            if (lo[i]..=hi[i]).contains(&promised) { 0 } else { weight }
        }
        Term::Length { from, to, weight } => over(shortest(from, to), weight),
        Term::At { point, weight } => over(early(point), weight),
        Term::Inside { .. } | Term::Spells { .. } => 0,
    }
}

/// Activities no two of which can share a spell need one each. Without `apart` only their windows tell.
fn fewest_spells(model: &Model, t: &SpellTerm, apart: Option<&NeverTogether>, lo: &[Minute], hi: &[Minute]) -> i64 {
    let open = &model.problem.calendars[t.calendar].open;
    let range = |a: &crate::schedule::ActivityId| (place(open, lo[a.index()]), place(open, hi[a.index()]));
    if let Some(apart) = apart {
        let ranges: Vec<_> = t.activities.iter().map(|a| Some(range(a))).collect();
        return apart.largest(&ranges, usize::MAX).set.len() as i64;
    }
    let mut ranges: Vec<_> = t.activities.iter().map(range).collect();
    ranges.sort_unstable_by_key(|r| (r.1, r.0));
    let mut count = 0;
    let mut stabbed: Option<usize> = None;
    for (first, last) in ranges {
        if stabbed.is_none_or(|s| first > s) {
            count += 1;
            stabbed = Some(last);
        }
    }
    count
}
