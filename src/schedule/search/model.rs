//! The problem made ready for search: who touches whom, what ties activities into blocks, and the start windows that
//! follow from the lags alone.

use super::followers;
use crate::schedule::{Minute, Point, Problem, Term};

/// Lists by owner, stored end to end.
#[derive(Debug, Clone)]
pub(crate) struct Lists<T> {
    first: Vec<u32>,
    items: Vec<T>,
}

impl<T: Copy> Lists<T> {
    pub fn build(owners: usize, pairs: &[(u32, T)]) -> Self {
        let mut first = vec![0u32; owners + 1];
        for (o, _) in pairs {
            first[*o as usize + 1] += 1;
        }
        for i in 0..owners {
            first[i + 1] += first[i];
        }
        let mut next = first.clone();
        let mut items: Vec<T> = Vec::with_capacity(pairs.len());
        if let Some((_, t)) = pairs.first() {
            items.resize(pairs.len(), *t);
        }
        for (o, t) in pairs {
            items[next[*o as usize] as usize] = *t;
            next[*o as usize] += 1;
        }
        Self { first, items }
    }

    pub fn of(&self, owner: usize) -> &[T] {
        &self.items[self.first[owner] as usize..self.first[owner + 1] as usize]
    }
}

/// One end of a lag, seen from the other.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Arc {
    pub other: u32,
    pub least: Minute,
    pub reason: u32,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Touch {
    Hold(u32),
    Within(u32),
}

/// Activities that must be placed together, because a lag, a hold, a stretch or a common choice ties them.
#[derive(Debug, Clone, Default)]
pub(crate) struct Block {
    pub activities: Vec<u32>,
    pub holds: Vec<u32>,
    /// Numbers of choices made in common.
    pub classes: Vec<u32>,
    /// Terms other than spells that look at an activity of the block.
    pub terms: Vec<u32>,
    /// Such terms of activities that follow from this block and others.
    pub following: Vec<u32>,
    /// `(spells term, place in its list of activities)`.
    pub spells: Vec<(u32, u32)>,
}

pub(crate) struct Model<'a> {
    pub problem: &'a Problem,
    /// Start windows by the lags alone.
    pub lo: Vec<Minute>,
    pub hi: Vec<Minute>,
    pub out: Lists<Arc>,
    pub into: Lists<Arc>,
    pub touch: Lists<Touch>,
    pub block_of: Vec<u32>,
    pub blocks: Vec<Block>,
    /// By block: activities whose start only follows from those of several blocks, this one among them.
    pub followers: Lists<u32>,
    /// Is the activity one of those?
    pub waits: Vec<bool>,
    /// Length of a hold whose two ends belong to one activity.
    pub fixed: Vec<Option<Minute>>,
    /// Does the hold (the stretch) have some length in every schedule?
    pub sure_hold: Vec<bool>,
    pub sure_within: Vec<bool>,
    pub class_of: Vec<Option<u32>>,
    pub classes: Vec<Vec<u32>>,
    /// `(level, term)` of all terms but spells.
    pub terms: Vec<(usize, &'a Term)>,
    pub terms_of: Lists<u32>,
    pub spells: Vec<SpellTerm<'a>>,
    /// `(spells term, place in its list)` by activity.
    pub spells_of: Lists<(u32, u32)>,
    /// A topological order of activities by their earliest starts: the order in which a block's holds are given room.
    pub rank: Vec<u32>,
}

pub(crate) struct SpellTerm<'a> {
    pub level: usize,
    pub calendar: usize,
    pub weight: i64,
    pub activities: &'a [crate::schedule::ActivityId],
}

pub(super) struct Union(Vec<u32>);

impl Union {
    pub fn root(&mut self, mut x: u32) -> u32 {
        while self.0[x as usize] != x {
            self.0[x as usize] = self.0[self.0[x as usize] as usize];
            x = self.0[x as usize];
        }
        x
    }
    pub fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.root(a), self.root(b));
        self.0[a.max(b) as usize] = a.min(b);
    }
}

/// The activities a term looks at, spells aside.
pub(crate) fn term_activities(term: &Term) -> [Option<u32>; 2] {
    match term {
        Term::Late { point, .. } | Term::ShortOfSpare { point, .. } | Term::At { point, .. } => {
            [Some(point.activity.0), None]
        }
        Term::Over { from, to, .. }
        | Term::Under { from, to, .. }
        | Term::Inside { from, to, .. }
        | Term::Length { from, to, .. } => {
            [Some(from.activity.0), (to.activity != from.activity).then_some(to.activity.0)]
        }
        Term::Moved { activity, .. } => [Some(activity.0), None],
        Term::Spells { .. } => [None, None],
    }
}

/// Never better when its activity starts later.
pub(super) fn is_regular(term: &Term) -> bool {
    matches!(term, Term::Late { .. } | Term::ShortOfSpare { .. } | Term::At { .. })
}

/// The lags alone already rule every schedule out.
#[derive(Debug)]
pub(crate) struct NoWindow;

impl<'a> Model<'a> {
    /// # Errors
    /// When the lags and start limits alone cannot all hold.
    pub fn new(problem: &'a Problem) -> Result<Self, NoWindow> {
        let n = problem.activities.len();
        let mut out = Vec::with_capacity(problem.lags.len());
        let mut into = Vec::with_capacity(problem.lags.len());
        let mut union = Union((0..n as u32).collect());
        let mut first_of_group = std::collections::HashMap::new();
        let mut waits = followers::waiting(problem);
        for (i, a) in problem.activities.iter().enumerate().filter(|(i, _)| !waits[*i]) {
            union.join(*first_of_group.entry(a.group).or_insert(i as u32), i as u32);
        }
        for l in &problem.lags {
            out.push((l.from.0, Arc { other: l.to.0, least: l.least, reason: l.reason.0 }));
            into.push((l.to.0, Arc { other: l.from.0, least: l.least, reason: l.reason.0 }));
            if !waits[l.to.index()] {
                union.join(l.from.0, l.to.0);
            }
        }
        let mut touch = Vec::new();
        let mut class_number = std::collections::HashMap::new();
        let mut classes: Vec<Vec<u32>> = Vec::new();
        let mut class_of = Vec::with_capacity(problem.holds.len());
        let mut fixed = Vec::with_capacity(problem.holds.len());
        for (i, h) in problem.holds.iter().enumerate() {
            let from = h.from.activity.0;
            let alone = h.to.iter().all(|t| t.activity.0 == from);
            fixed.push(alone.then(|| h.to.iter().map(|t| t.offset).max().unwrap_or(0) - h.from.offset));
            touch.push((from, Touch::Hold(i as u32)));
            let mut seen = vec![from];
            for t in &h.to {
                union.join(from, t.activity.0);
                if !seen.contains(&t.activity.0) {
                    seen.push(t.activity.0);
                    touch.push((t.activity.0, Touch::Hold(i as u32)));
                }
            }
            class_of.push(h.same.map(|s| {
                let k = *class_number.entry(s).or_insert_with(|| {
                    classes.push(Vec::new());
                    classes.len() as u32 - 1
                });
                if let Some(&first) = classes[k as usize].first() {
                    union.join(problem.holds[first as usize].from.activity.0, from);
                }
                classes[k as usize].push(i as u32);
                k
            }));
        }
        for (i, w) in problem.within.iter().enumerate() {
            touch.push((w.from.activity.0, Touch::Within(i as u32)));
            if w.from.activity != w.to.activity {
                touch.push((w.to.activity.0, Touch::Within(i as u32)));
                union.join(w.from.activity.0, w.to.activity.0);
            }
        }
        let mut terms = Vec::new();
        let mut spells = Vec::new();
        for (level, l) in problem.levels.iter().enumerate() {
            for t in &l.terms {
                match t {
                    Term::Spells { calendar, activities, weight } => {
                        spells.push(SpellTerm { level, calendar: calendar.index(), weight: *weight, activities });
                    }
                    _ => terms.push((level, t)),
                }
            }
        }
        let mut terms_of = Vec::new();
        for (i, (_, t)) in terms.iter().enumerate() {
            terms_of.extend(term_activities(t).into_iter().flatten().map(|a| (a, i as u32)));
        }
        let mut spells_of = Vec::new();
        for (i, t) in spells.iter().enumerate() {
            spells_of.extend(t.activities.iter().enumerate().map(|(k, a)| (a.0, (i as u32, k as u32))));
        }
        followers::tie_single(problem, &mut waits, &mut union);
        let mut model = Self {
            problem,
            lo: Vec::new(),
            hi: Vec::new(),
            out: Lists::build(n, &out),
            into: Lists::build(n, &into),
            touch: Lists::build(n, &touch),
            block_of: vec![0; n],
            blocks: Vec::new(),
            followers: Lists::build(0, &[]),
            waits,
            fixed,
            sure_hold: Vec::new(),
            sure_within: Vec::new(),
            class_of,
            classes,
            terms,
            terms_of: Lists::build(n, &terms_of),
            spells,
            spells_of: Lists::build(n, &spells_of),
            rank: Vec::new(),
        };
        model.windows()?;
        model.rank_activities();
        model.sure_hold = problem.holds.iter().map(|h| h.to.iter().any(|&t| model.comes_after(h.from, t))).collect();
        model.sure_within = problem.within.iter().map(|w| model.comes_after(w.from, w.to)).collect();
        model.make_blocks(&mut union);
        Ok(model)
    }

    fn windows(&mut self) -> Result<(), NoWindow> {
        let p = self.problem;
        let last = |a: &crate::schedule::Activity| p.horizon - a.duration;
        self.lo = p.activities.iter().map(|a| a.pinned.unwrap_or(a.release)).collect();
        self.hi = p.activities.iter().map(|a| a.pinned.unwrap_or(a.latest).min(last(a))).collect();
        let n = self.lo.len();
        for forward in [true, false] {
            let mut queue: std::collections::VecDeque<u32> = (0..n as u32).collect();
            let mut queued = vec![true; n];
            let mut visits = vec![0usize; n];
            while let Some(a) = queue.pop_front() {
                let a = a as usize;
                queued[a] = false;
                visits[a] += 1;
                // More visits than activities: a cycle of lags that only ever pushes.
                if visits[a] > n + 1 || self.lo[a] > self.hi[a] {
                    return Err(NoWindow);
                }
                let arcs = if forward { self.out.of(a) } else { self.into.of(a) };
                for arc in arcs {
                    let b = arc.other as usize;
                    let moved = if forward {
                        let t = self.lo[a] + arc.least;
                        t > self.lo[b] && {
                            self.lo[b] = t;
                            true
                        }
                    } else {
                        let t = self.hi[a] - arc.least;
                        t < self.hi[b] && {
                            self.hi[b] = t;
                            true
                        }
                    };
                    if moved && self.lo[b] > self.hi[b] {
                        return Err(NoWindow);
                    }
                    if moved && !queued[b] {
                        queued[b] = true;
                        queue.push_back(b as u32);
                    }
                }
            }
        }
        Ok(())
    }

    /// Do the lags or the windows put `to` after `from` in every schedule?
    fn comes_after(&self, from: Point, to: Point) -> bool {
        let (a, b) = (from.activity.index(), to.activity.index());
        if a == b {
            return from.offset < to.offset;
        }
        if self.hi[a] + from.offset < self.lo[b] + to.offset {
            return true;
        }
        // Some chain of lags is long enough: breadth-first with the longest way so far, a few hundred steps at most.
        let mut far = std::collections::HashMap::from([(a as u32, 0i64)]);
        let mut queue = std::collections::VecDeque::from([a as u32]);
        for _ in 0..500 {
            let Some(x) = queue.pop_front() else { return false };
            let here = far[&x];
            for arc in self.out.of(x as usize) {
                let d = here + i64::from(arc.least);
                if far.get(&arc.other).is_none_or(|&old| d > old) {
                    if arc.other as usize == b && d + i64::from(to.offset) > i64::from(from.offset) {
                        return true;
                    }
                    far.insert(arc.other, d);
                    queue.push_back(arc.other);
                }
            }
        }
        false
    }

    /// Depth-first along non-negative lags, earliest starts first; maximum lags do not count.
    fn rank_activities(&mut self) {
        let n = self.lo.len();
        let mut waiting: Vec<u32> = vec![0; n];
        for a in 0..n {
            for arc in self.out.of(a).iter().filter(|x| x.least >= 0 && x.other as usize != a) {
                waiting[arc.other as usize] += 1;
            }
        }
        let mut ready: std::collections::BinaryHeap<std::cmp::Reverse<(Minute, u32)>> =
            (0..n).filter(|&a| waiting[a] == 0).map(|a| std::cmp::Reverse((self.lo[a], a as u32))).collect();
        self.rank = vec![n as u32; n];
        let mut next = 0;
        while let Some(std::cmp::Reverse((_, a))) = ready.pop() {
            self.rank[a as usize] = next;
            next += 1;
            for arc in self.out.of(a as usize).iter().filter(|x| x.least >= 0 && x.other != a) {
                let w = &mut waiting[arc.other as usize];
                *w -= 1;
                if *w == 0 {
                    ready.push(std::cmp::Reverse((self.lo[arc.other as usize], arc.other)));
                }
            }
        }
    }

    fn make_blocks(&mut self, union: &mut Union) {
        let n = self.lo.len();
        let mut number = vec![u32::MAX; n];
        for a in 0..n as u32 {
            let root = union.root(a) as usize;
            if number[root] == u32::MAX {
                number[root] = self.blocks.len() as u32;
                self.blocks.push(Block::default());
            }
            self.block_of[a as usize] = number[root];
            let block = &mut self.blocks[number[root] as usize];
            block.activities.push(a);
            block.spells.extend(self.spells_of.of(a as usize));
            block.terms.extend(self.terms_of.of(a as usize));
        }
        for (i, h) in self.problem.holds.iter().enumerate() {
            self.blocks[self.block_of[h.from.activity.index()] as usize].holds.push(i as u32);
        }
        for (k, holds) in self.classes.iter().enumerate() {
            let a = self.problem.holds[holds[0] as usize].from.activity.index();
            self.blocks[self.block_of[a] as usize].classes.push(k as u32);
        }
        self.followers = followers::by_block(self.problem, &self.waits, &self.block_of, self.blocks.len());
        for (i, b) in self.blocks.iter_mut().enumerate() {
            let others = self.followers.of(i).iter().filter(|&&a| self.block_of[a as usize] as usize != i);
            b.following = others.flat_map(|&a| self.terms_of.of(a as usize)).copied().collect();
            b.terms.sort_unstable();
            b.terms.dedup();
            b.holds.sort_by_key(|&h| self.rank[self.problem.holds[h as usize].from.activity.index()]);
        }
    }
}
