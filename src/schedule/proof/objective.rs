//! Rules on what a level costs: sums of terms, and counts of spells.

use super::engine::{Atom, Conflict, Engine};
use super::rules::Rule;
use crate::schedule::Calendar;

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
    /// `weight` times the minutes of `[x + offset, x + offset + length)` inside the calendar.
    Inside {
        x: u32,
        offset: i32,
        length: i32,
        calendar: Calendar,
        weight: i64,
    },
    Constant(i64),
}

impl Part {
    fn least(&self, e: &Engine) -> i64 {
        match self {
            Part::Point { x, offset, weight } => i64::from((e.lo(*x) + offset).max(0)) * weight,
            Part::Gap { from, to, offset, weight } => i64::from((e.lo(*to) - e.hi(*from) + offset).max(0)) * weight,
            Part::Inside { x, .. } => {
                let (lo, hi) = (e.lo(*x), e.hi(*x));
                self.first_within(lo, hi, 0).map_or_else(|| self.smallest(lo, hi), |_| 0)
            }
            Part::Constant(c) => *c,
        }
    }

    fn inside(&self, at: i32) -> i64 {
        match self {
            Part::Inside { offset, length, calendar, weight, .. } => {
                i64::from(calendar.minutes_inside(at + offset, at + offset + length)) * weight
            }
            _ => 0,
        }
    }

    /// Values at which the minutes inside may be least: where the stretch meets the edge of an interval.
    fn corners(&self, lo: i32, hi: i32) -> Vec<i32> {
        let mut out = vec![lo, hi];
        if let Part::Inside { offset, length, calendar, .. } = self {
            let first = calendar.open.partition_point(|o| o.to < lo + offset);
            for o in &calendar.open[first..] {
                if o.from - length - offset > hi {
                    break;
                }
                for edge in [o.to, o.from] {
                    out.extend([edge - offset, edge - offset - length]);
                }
            }
        }
        out.retain(|&v| lo <= v && v <= hi);
        out.sort_unstable();
        out
    }

    fn smallest(&self, lo: i32, hi: i32) -> i64 {
        self.corners(lo, hi).into_iter().map(|v| self.inside(v)).min().unwrap_or(0)
    }

    /// The first value in `[lo, hi]` that costs at most `most`.
    fn first_within(&self, lo: i32, hi: i32, most: i64) -> Option<i32> {
        if self.inside(lo) <= most {
            return Some(lo);
        }
        let corners = self.corners(lo, hi);
        let k = corners.iter().position(|&v| self.inside(v) <= most)?;
        // Between two corners the cost is a straight line: halve the stretch.
        let (mut bad, mut good) = (corners[k.saturating_sub(1)], corners[k]);
        while good - bad > 1 {
            let middle = bad + (good - bad) / 2;
            if self.inside(middle) <= most { good = middle } else { bad = middle }
        }
        Some(good)
    }

    fn last_within(&self, lo: i32, hi: i32, most: i64) -> Option<i32> {
        if self.inside(hi) <= most {
            return Some(hi);
        }
        let corners = self.corners(lo, hi);
        let k = corners.iter().rposition(|&v| self.inside(v) <= most)?;
        let (mut good, mut bad) = (corners[k], corners[(k + 1).min(corners.len() - 1)]);
        while bad - good > 1 {
            let middle = good + (bad - good) / 2;
            if self.inside(middle) <= most { good = middle } else { bad = middle }
        }
        Some(good)
    }

    /// Facts by which it costs what it costs at least.
    fn facts(&self, e: &Engine, out: &mut Vec<Atom>) {
        match self {
            Part::Point { x, offset, .. } if e.lo(*x) + offset > 0 => out.push(Atom::at_least(*x, e.lo(*x))),
            Part::Gap { from, to, offset, .. } if e.lo(*to) - e.hi(*from) + offset > 0 => {
                out.extend([Atom::at_least(*to, e.lo(*to)), Atom::at_most(*from, e.hi(*from))]);
            }
            Part::Inside { x, .. } if self.least(e) > 0 => {
                out.extend([Atom::at_least(*x, e.lo(*x)), Atom::at_most(*x, e.hi(*x))]);
            }
            _ => {}
        }
    }
}

/// `total >= ` the sum of the parts.
pub(super) struct Sum {
    pub total: u32,
    pub parts: Vec<Part>,
}

impl Rule for Sum {
    fn run(&mut self, e: &mut Engine) -> Result<(), Conflict> {
        let least: Vec<i64> = self.parts.iter().map(|p| p.least(e)).collect();
        let sum: i64 = least.iter().sum();
        let mut facts = Vec::new();
        if sum > i64::from(e.lo(self.total)) {
            self.parts.iter().for_each(|p| p.facts(e, &mut facts));
            let sum = i32::try_from(sum).unwrap_or(i32::MAX / 2);
            e.set(Atom::at_least(self.total, sum), &facts)?;
        }
        let most = e.hi(self.total);
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
                Part::Inside { x, weight, .. } if *weight > 0 => {
                    let (lo, hi) = (e.lo(*x), e.hi(*x));
                    if part.inside(lo) > allowed
                        && let Some(first) = part.first_within(lo, hi, allowed)
                    {
                        let mut facts = others(e);
                        facts.push(Atom::at_least(*x, lo));
                        e.set(Atom::at_least(*x, first), &facts)?;
                    }
                    if part.inside(hi) > allowed
                        && let Some(last) = part.last_within(lo, hi, allowed)
                    {
                        let mut facts = others(e);
                        facts.push(Atom::at_most(*x, hi));
                        e.set(Atom::at_most(*x, last), &facts)?;
                    }
                }
                _ => {}
            }
        }
        Ok(())
    }

    fn watches(&self) -> Vec<u32> {
        let mut v = vec![self.total];
        for p in &self.parts {
            match p {
                Part::Point { x, .. } | Part::Inside { x, .. } => v.push(*x),
                Part::Gap { from, to, .. } => v.extend([*from, *to]),
                Part::Constant(_) => {}
            }
        }
        v
    }
}

/// `count >= ` the number of spells in which the activities start.
pub(super) struct SpellCount {
    pub count: u32,
    pub starts: Vec<u32>,
    pub calendar: Calendar,
    /// By interval: 1 when something starts in it.
    pub used: Vec<u32>,
}

impl SpellCount {
    /// Odd inside an interval, even in the gap before it.
    fn place(&self, at: i32) -> usize {
        let open = &self.calendar.open;
        let i = open.partition_point(|o| o.to <= at);
        if i < open.len() && open[i].from <= at { 2 * i + 1 } else { 2 * i }
    }

    /// First and last minute of a place.
    fn edges(&self, place: usize) -> (i32, i32) {
        let (open, i) = (&self.calendar.open, place / 2);
        if place % 2 == 1 {
            (open[i].from, open[i].to - 1)
        } else {
            let from = if i == 0 { i32::MIN / 2 } else { open[i - 1].to };
            let to = open.get(i).map_or(i32::MAX / 2, |o| o.from - 1);
            (from, to)
        }
    }

    fn window(&self, x: u32, first: usize, last: usize) -> [Atom; 2] {
        [Atom::at_least(x, self.edges(first).0), Atom::at_most(x, self.edges(last).1)]
    }
}

impl Rule for SpellCount {
    fn run(&mut self, e: &mut Engine) -> Result<(), Conflict> {
        let mut ranges: Vec<(usize, usize, u32)> = Vec::with_capacity(self.starts.len());
        let mut facts = Vec::new();
        let mut count = 0;
        for &x in &self.starts {
            // Out of closed intervals.
            loop {
                let p = self.place(e.lo(x));
                if p.is_multiple_of(2) || e.hi(self.used[p / 2]) > 0 {
                    break;
                }
                let (from, to) = self.edges(p);
                let closed = Atom::at_most(self.used[p / 2], 0);
                e.set(Atom::at_least(x, to + 1), &[closed, Atom::at_least(x, from)])?;
            }
            loop {
                let p = self.place(e.hi(x));
                if p.is_multiple_of(2) || e.hi(self.used[p / 2]) > 0 {
                    break;
                }
                let (from, to) = self.edges(p);
                let closed = Atom::at_most(self.used[p / 2], 0);
                e.set(Atom::at_most(x, from - 1), &[closed, Atom::at_most(x, to)])?;
            }
            let (first, last) = (self.place(e.lo(x)), self.place(e.hi(x)));
            if first == last && first.is_multiple_of(2) {
                count += 1;
                facts.extend(self.window(x, first, last));
                continue;
            }
            if first == last {
                let window = self.window(x, first, last);
                e.set(Atom::at_least(self.used[first / 2], 1), &window)?;
            }
            ranges.push((last, first, x));
        }
        ranges.sort_unstable();
        let mut stabbed = None;
        for (last, first, x) in ranges {
            if stabbed.is_none_or(|s| first > s) {
                count += 1;
                stabbed = Some(last);
                facts.extend(self.window(x, first, last));
            }
        }
        e.set(Atom::at_least(self.count, count), &facts)
    }

    fn watches(&self) -> Vec<u32> {
        let mut v = self.starts.clone();
        v.extend(&self.used);
        v
    }
}
