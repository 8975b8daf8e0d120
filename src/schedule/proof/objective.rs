//! Rules on what a level costs: sums of terms, and counts of spells.

use super::engine::{Atom, Conflict, Effort, Engine};
use super::hours::{Between, Inside};
use super::reasons::Term;
use super::rules::Rule;
use crate::schedule::Calendar;
use crate::schedule::search::spells::{Apart, NeverTogether, Range, edges, place};

/// A part of a sum, never below 0.
pub(super) enum Part {
    /// `weight * max(0, x + offset)`.
    Point {
        x: u32,
        offset: i32,
        weight: i64,
    },
    /// `weight * max(0, to - from + offset)`.
    Gap {
        from: u32,
        to: u32,
        offset: i32,
        weight: i64,
    },
    Inside(Inside),
    Between(Between),
    Constant(i64),
}

impl Part {
    fn least(&self, e: &Engine) -> i64 {
        match self {
            Part::Point { x, offset, weight } => i64::from((e.lo(*x) + offset).max(0)) * weight,
            Part::Gap { from, to, offset, weight } => i64::from((e.lo(*to) - e.hi(*from) + offset).max(0)) * weight,
            Part::Inside(inside) => inside.least(e),
            Part::Between(between) => between.least(e),
            Part::Constant(c) => *c,
        }
    }

    /// What a single start gives to the sum, and by which fact.
    fn term(&self, e: &Engine) -> Option<Term> {
        match *self {
            Part::Point { x, offset, weight } if e.lo(x) + offset > 0 && weight > 0 => {
                Some(Term { above: (e.lo(x) + offset).into(), weight, fact: Atom::at_least(x, e.lo(x)) })
            }
            _ => None,
        }
    }

    /// Facts by which it costs what it costs at least.
    fn facts(&self, e: &Engine, out: &mut Vec<Atom>) {
        match self {
            Part::Point { .. } => out.extend(self.term(e).map(|t| t.fact)),
            Part::Gap { from, to, offset, .. } if e.lo(*to) - e.hi(*from) + offset > 0 => {
                out.extend([Atom::at_least(*to, e.lo(*to)), Atom::at_most(*from, e.hi(*from))]);
            }
            Part::Inside(inside) => inside.facts(e, out),
            Part::Between(between) => between.facts(e, out),
            _ => {}
        }
    }
}

/// Larger sums than this are not reckoned with (the engine counts in `i32`).
pub(super) const MOST_COST: i64 = 1 << 29;

/// `total >= ` the sum of the parts. At rest while nothing limits the total.
pub(super) struct Sum {
    total: u32,
    parts: Vec<Part>,
    /// By part: what it costs at least. Kept for its room.
    least: Vec<i64>,
}

impl Sum {
    pub fn new(total: u32, parts: Vec<Part>) -> Self {
        Self { total, parts, least: Vec::new() }
    }

    fn reckon(&self, e: &mut Engine, least: &[i64]) -> Result<(), Conflict> {
        let sum: i64 = least.iter().sum();
        let mut facts = Vec::new();
        let most = e.hi(self.total);
        if sum > i64::from(most) {
            // Too much by some: what is not needed for that is left out, the small parts first.
            let mut spare = sum - i64::from(most) - 1;
            let mut order: Vec<usize> = (0..self.parts.len()).collect();
            order.sort_by_key(|&i| least[i]);
            for i in order {
                if least[i] <= spare {
                    spare -= least[i];
                    continue;
                }
                let from = facts.len();
                self.parts[i].facts(e, &mut facts);
                // What is left over makes one more of them weaker.
                if let (Part::Point { weight, .. }, Some(fact)) = (&self.parts[i], facts.get_mut(from)) {
                    let give = spare / weight;
                    fact.least -= give as i32;
                    spare -= give * weight;
                }
            }
            return e.set(Atom::at_least(self.total, most + 1), &facts);
        }
        if sum > i64::from(e.lo(self.total)) {
            let mut terms = Vec::new();
            for part in &self.parts {
                match part.term(e) {
                    Some(term) => terms.push(term),
                    None => part.facts(e, &mut facts),
                }
            }
            let reached = i32::try_from(sum).unwrap_or(i32::MAX / 2);
            e.set_by_sum(Atom::at_least(self.total, reached), sum, &facts, &terms)?;
        }
        let room = i64::from(most) - sum;
        for (i, part) in self.parts.iter().enumerate() {
            let allowed = least[i] + room;
            let others = |e: &Engine| {
                let mut facts = vec![Atom::at_most(self.total, most)];
                for (k, p) in self.parts.iter().enumerate() {
                    if k != i {
                        p.facts(e, &mut facts);
                    }
                }
                facts
            };
            let steps = |weight: i64| i32::try_from(allowed / weight).unwrap_or(i32::MAX / 4);
            match part {
                Part::Point { x, offset, weight } if *weight > 0 => {
                    let limit = steps(*weight) - offset;
                    if limit < e.hi(*x) {
                        let facts = others(e);
                        e.set(Atom::at_most(*x, limit), &facts)?;
                    }
                }
                Part::Gap { from, to, offset, weight } if *weight > 0 => {
                    let limit = steps(*weight) - offset;
                    if e.hi(*from).saturating_add(limit) < e.hi(*to) {
                        let mut facts = others(e);
                        facts.push(Atom::at_most(*from, e.hi(*from)));
                        e.set(Atom::at_most(*to, e.hi(*from) + limit), &facts)?;
                    }
                    if e.lo(*to).saturating_sub(limit) > e.lo(*from) {
                        let mut facts = others(e);
                        facts.push(Atom::at_least(*to, e.lo(*to)));
                        e.set(Atom::at_least(*from, e.lo(*to) - limit), &facts)?;
                    }
                }
                Part::Inside(inside) => inside.keep_within(e, allowed, &others)?,
                Part::Between(between) => between.keep_within(e, allowed, &others)?,
                _ => {}
            }
        }
        Ok(())
    }
}

impl Rule for Sum {
    fn run(&mut self, e: &mut Engine) -> Result<(), Conflict> {
        if e.hi(self.total) >= MOST_COST as i32 {
            return Ok(());
        }
        let mut least = std::mem::take(&mut self.least);
        least.clear();
        least.extend(self.parts.iter().map(|p| p.least(e)));
        let result = self.reckon(e, &least);
        self.least = least;
        result
    }

    fn watches(&self) -> Vec<u32> {
        let mut v = vec![self.total];
        for p in &self.parts {
            match p {
                Part::Point { x, .. } | Part::Inside(Inside { x, .. }) => v.push(*x),
                Part::Between(between) => v.extend([between.from.0, between.to.0]),
                Part::Gap { from, to, .. } => v.extend([*from, *to]),
                Part::Constant(_) => {}
            }
        }
        v
    }
}

/// `count >= ` the number of spells in which the activities start. At rest while nothing limits what its level costs.
pub(super) struct SpellCount {
    /// What the level costs.
    pub total: u32,
    pub count: u32,
    pub starts: Vec<u32>,
    pub calendar: Calendar,
    /// By interval: 1 when something starts in it.
    pub used: Vec<u32>,
    /// By start: its bounds when they were last looked up, and the places they fall in.
    pub seen: Vec<((i32, i32), Range)>,
    /// By start: the places it fell in when nothing was decided.
    pub root: Vec<Range>,
    pub apart: NeverTogether,
    pub counted: Counted,
}

/// What was counted last.
#[derive(Default)]
pub(super) struct Counted {
    ranges: Vec<Option<Range>>,
    /// How many spells were allowed.
    allowed: i32,
    /// Starts no two of which share a spell.
    apart: Apart,
    /// As many others of them, from the other end of time, once they were asked for.
    other: Option<Vec<usize>>,
    /// As many, and those in gaps.
    count: i32,
}

impl SpellCount {
    fn place(&self, at: i32) -> usize {
        place(&self.calendar.open, at)
    }

    fn edges(&self, place: usize) -> (i32, i32) {
        edges(&self.calendar.open, place)
    }

    fn window(&self, x: u32, first: usize, last: usize) -> [Atom; 2] {
        [Atom::at_least(x, self.edges(first).0), Atom::at_most(x, self.edges(last).1)]
    }

    /// First and last place of a start, moved out of intervals that are closed.
    fn range(&mut self, e: &mut Engine, k: usize) -> Result<Range, Conflict> {
        let x = self.starts[k];
        loop {
            let (lo, hi) = (e.lo(x), e.hi(x));
            if self.seen[k].0 != (lo, hi) {
                self.seen[k] = ((lo, hi), (self.place(lo), self.place(hi)));
            }
            let (first, last) = self.seen[k].1;
            let closed = |p: usize| !p.is_multiple_of(2) && e.hi(self.used[p / 2]) <= 0;
            if closed(first) {
                let (from, to) = self.edges(first);
                let closed = Atom::at_most(self.used[first / 2], 0);
                e.set(Atom::at_least(x, to + 1), &[closed, Atom::at_least(x, from)])?;
            } else if closed(last) {
                let (from, to) = self.edges(last);
                let closed = Atom::at_most(self.used[last / 2], 0);
                e.set(Atom::at_most(x, from - 1), &[closed, Atom::at_most(x, to)])?;
            } else {
                return Ok((first, last));
            }
        }
    }

    /// Facts by which no two of a set share an interval: none for those that the lags hold apart, and where one never reaches
    /// another anyhow, none on how far it reaches.
    fn facts(&self, set: &[usize], ranges: &[Option<Range>], out: &mut Vec<Atom>) {
        let mut by_time: Vec<(usize, usize, usize)> =
            set.iter().filter_map(|&k| ranges[k].map(|r| (r.0, r.1, k))).collect();
        by_time.sort_unstable();
        for i in 0..by_time.len() {
            let (first, last, k) = by_time[i];
            // The furthest that one before it reaches, of those that only their windows hold apart from it.
            let before = by_time[..i].iter().filter(|b| !self.apart.always(b.2, k)).map(|b| b.1).max();
            if let Some(reach) = before {
                debug_assert!(reach < first);
                out.push(Atom::at_least(self.starts[k], self.edges(reach).1 + 1));
            }
            // How far it may reach so that those after it need no other facts for it.
            let after = by_time[i + 1..].iter().filter(|a| !self.apart.always(a.2, k));
            let room =
                after.map(|a| if self.root[a.2].0 > last { a.0.min(self.root[a.2].0) - 1 } else { a.0 - 1 }).min();
            if let Some(room) = room {
                let reach = if self.root[k].1 <= room { last.max(self.root[k].1) } else { room };
                by_time[i].1 = reach;
                out.push(Atom::at_most(self.starts[k], self.edges(reach).1));
            }
        }
    }
}

impl SpellCount {
    /// How many spells are needed, and where that is as many as are allowed, that no other interval may be used. `facts` are
    /// those of the starts in gaps.
    fn tell(&self, e: &mut Engine, counted: &mut Counted, mut facts: Vec<Atom>) -> Result<(), Conflict> {
        let Counted { ranges, apart: Apart { set, .. }, count, other, allowed } = counted;
        if *count > e.lo(self.count) {
            self.facts(set, ranges, &mut facts);
            e.set(Atom::at_least(self.count, *count), &facts)?;
        }
        if count != allowed {
            return Ok(());
        }
        self.close_others(e, set, ranges, facts)?;
        // A set of those that begin last before others touches other intervals: what either spares is closed.
        let other = other.get_or_insert_with(|| {
            let places = 2 * self.used.len();
            let mirrored: Vec<Option<Range>> =
                ranges.iter().map(|r| r.map(|(first, last)| (places - last, places - first))).collect();
            self.apart.largest(&mirrored, set.len()).set
        });
        if other.len() == set.len() { self.close_others(e, other, ranges, Vec::new()) } else { Ok(()) }
    }

    /// As many spells as are allowed go to a set no two of which share one: no other interval may be used.
    fn close_others(
        &self,
        e: &mut Engine,
        set: &[usize],
        ranges: &[Option<Range>],
        mut facts: Vec<Atom>,
    ) -> Result<(), Conflict> {
        let mut open = vec![false; self.used.len()];
        for (first, last) in set.iter().filter_map(|&k| ranges[k]) {
            // Odd places are intervals.
            (first..=last).filter(|p| p % 2 == 1).for_each(|p| open[p / 2] = true);
        }
        let closing = |i: &usize| !open[*i] && e.hi(self.used[*i]) > 0;
        let closing: Vec<usize> = (0..open.len()).filter(closing).collect();
        if closing.is_empty() {
            return Ok(());
        }
        facts.clear();
        facts.push(Atom::at_most(self.count, e.hi(self.count)));
        self.facts(set, ranges, &mut facts);
        for x in self.starts.iter().zip(ranges).filter(|(_, r)| r.is_none()).map(|(x, _)| *x) {
            let p = self.place(e.lo(x));
            facts.extend(self.window(x, p, p));
        }
        let shared = facts.len();
        for i in closing {
            facts.truncate(shared);
            let (from, to) = self.edges(2 * i + 1);
            for &k in set {
                let Some((first, _)) = ranges[k] else { continue };
                let x = self.starts[k];
                facts.push(if first > 2 * i + 1 { Atom::at_least(x, to + 1) } else { Atom::at_most(x, from - 1) });
            }
            e.set(Atom::at_most(self.used[i], 0), &facts)?;
        }
        Ok(())
    }
}

impl Rule for SpellCount {
    fn run(&mut self, e: &mut Engine) -> Result<(), Conflict> {
        if e.hi(self.total) >= MOST_COST as i32 {
            return Ok(());
        }
        let most = e.hi(self.count);
        let mut ranges: Vec<Option<Range>> = Vec::with_capacity(self.starts.len());
        let mut facts = Vec::new();
        // Starts in a gap are a spell each.
        let mut alone = 0;
        for k in 0..self.starts.len() {
            let x = self.starts[k];
            let (first, last) = self.range(e, k)?;
            if first == last && first.is_multiple_of(2) {
                alone += 1;
                facts.extend(self.window(x, first, last));
                ranges.push(None);
                continue;
            }
            if first == last {
                let window = self.window(x, first, last);
                e.set(Atom::at_least(self.used[first / 2], 1), &window)?;
            }
            ranges.push(Some((first, last)));
        }
        if e.level() <= e.assumed {
            self.root.iter_mut().zip(&self.seen).for_each(|(root, seen)| *root = seen.1);
        }
        // The same set where no start moved to another place; nothing new then, unless all others are to be closed.
        let of_now = self.counted.ranges == ranges && self.counted.allowed == most;
        if of_now && self.counted.count < most && self.counted.count <= e.lo(self.count) {
            return Ok(());
        }
        if !of_now {
            if self.apart.stands(&self.counted.apart, &ranges) {
                self.counted.other.take_if(|other| !self.apart.are_apart(other, &ranges));
            } else {
                // One more than is allowed is enough for a refusal.
                self.counted.apart = self.apart.largest(&ranges, (most + 1 - alone).max(0) as usize);
                self.counted.other = None;
            }
            self.counted.count = alone + self.counted.apart.set.len() as i32;
            self.counted.allowed = most;
            self.counted.ranges = ranges;
        }
        let mut counted = std::mem::take(&mut self.counted);
        let result = self.tell(e, &mut counted, facts);
        self.counted = counted;
        result
    }

    fn watches(&self) -> Vec<u32> {
        let mut v = self.starts.clone();
        v.extend(&self.used);
        v.extend([self.count, self.total]);
        v
    }

    fn effort(&self) -> Effort {
        Effort::Much
    }
}
