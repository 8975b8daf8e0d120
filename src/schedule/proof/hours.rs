//! What a stretch costs by the minutes of it that fall inside a calendar: ugly hours, hours after the chill.

use super::engine::{Atom, Conflict, Engine};
use crate::schedule::Calendar;

/// `weight` times the minutes of `[x + offset, x + offset + length)` inside the calendar.
pub(super) struct Inside {
    pub x: u32,
    pub offset: i32,
    pub length: i32,
    pub calendar: Calendar,
    pub weight: i64,
}

impl Inside {
    fn inside(&self, at: i32) -> i64 {
        let from = at + self.offset;
        i64::from(self.calendar.minutes_inside(from, from + self.length)) * self.weight
    }

    /// Values at which the minutes inside may be least: where the stretch meets the edge of an interval.
    fn corners(&self, lo: i32, hi: i32) -> Vec<i32> {
        let mut out = vec![lo, hi];
        let Self { offset, length, calendar, .. } = self;
        let first = calendar.open.partition_point(|o| o.to < lo + offset);
        for o in &calendar.open[first..] {
            if o.from - length - offset > hi {
                break;
            }
            for edge in [o.to, o.from] {
                out.extend([edge - offset, edge - offset - length]);
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

    pub fn least(&self, e: &Engine) -> i64 {
        let (lo, hi) = (e.lo(self.x), e.hi(self.x));
        self.first_within(lo, hi, 0).map_or_else(|| self.smallest(lo, hi), |_| 0)
    }

    /// Facts by which it costs what it costs at least.
    pub fn facts(&self, e: &Engine, out: &mut Vec<Atom>) {
        if self.least(e) > 0 {
            out.extend([Atom::at_least(self.x, e.lo(self.x)), Atom::at_most(self.x, e.hi(self.x))]);
        }
    }

    /// It may cost so much at the most, because of what `others` says.
    pub fn keep_within(
        &self,
        e: &mut Engine,
        allowed: i64,
        others: &dyn Fn(&Engine) -> Vec<Atom>,
    ) -> Result<(), Conflict> {
        if self.weight <= 0 {
            return Ok(());
        }
        let (x, lo, hi) = (self.x, e.lo(self.x), e.hi(self.x));
        if self.inside(lo) > allowed
            && let Some(first) = self.first_within(lo, hi, allowed)
        {
            let mut facts = others(e);
            facts.push(Atom::at_least(x, lo));
            e.set(Atom::at_least(x, first), &facts)?;
        }
        if self.inside(hi) > allowed
            && let Some(last) = self.last_within(lo, hi, allowed)
        {
            let mut facts = others(e);
            facts.push(Atom::at_most(x, hi));
            e.set(Atom::at_most(x, last), &facts)?;
        }
        Ok(())
    }
}

/// `weight` times the minutes inside the calendar from one point to another.
pub(super) struct Between {
    /// Variable and offset.
    pub from: (u32, i32),
    pub to: (u32, i32),
    /// The same for the shortest stretch that the lags leave, which is part of every one: it bounds the cost while the
    /// windows of the two points still overlap.
    pub shortest: Inside,
}

impl Between {
    fn minutes(&self, from: i32, to: i32) -> i64 {
        let (from, to) = (from + self.from.1, to + self.to.1);
        let inside = if from < to { self.shortest.calendar.minutes_inside(from, to) } else { 0 };
        i64::from(inside) * self.shortest.weight
    }

    /// Between the latest begin and the earliest end.
    fn core(&self, e: &Engine) -> i64 {
        self.minutes(e.hi(self.from.0), e.lo(self.to.0))
    }

    pub fn least(&self, e: &Engine) -> i64 {
        self.core(e).max(self.shortest.least(e))
    }

    pub fn facts(&self, e: &Engine, out: &mut Vec<Atom>) {
        let core = self.core(e);
        if core > 0 && core >= self.shortest.least(e) {
            out.extend([Atom::at_most(self.from.0, e.hi(self.from.0)), Atom::at_least(self.to.0, e.lo(self.to.0))]);
        } else {
            self.shortest.facts(e, out);
        }
    }

    pub fn keep_within(
        &self,
        e: &mut Engine,
        allowed: i64,
        others: &dyn Fn(&Engine) -> Vec<Atom>,
    ) -> Result<(), Conflict> {
        self.shortest.keep_within(e, allowed, others)?;
        let (from, to) = (self.from.0, self.to.0);
        if self.shortest.weight <= 0 || self.core(e) > allowed {
            return Ok(());
        }
        let begin = e.hi(from);
        if self.minutes(begin, e.hi(to)) > allowed {
            let last = last_good(e.lo(to), e.hi(to), |t| self.minutes(begin, t) <= allowed);
            let mut facts = others(e);
            facts.push(Atom::at_most(from, begin));
            e.set(Atom::at_most(to, last), &facts)?;
        }
        let end = e.lo(to);
        if self.minutes(e.lo(from), end) > allowed {
            let first = -last_good(-e.hi(from), -e.lo(from), |f| self.minutes(-f, end) <= allowed);
            let mut facts = others(e);
            facts.push(Atom::at_least(to, end));
            e.set(Atom::at_least(from, first), &facts)?;
        }
        Ok(())
    }
}

/// The last value in `[good, bad)` that does; the first does, and from some value on none.
fn last_good(mut good: i32, mut bad: i32, does: impl Fn(i32) -> bool) -> i32 {
    while bad - good > 1 {
        let middle = good + (bad - good) / 2;
        if does(middle) { good = middle } else { bad = middle }
    }
    good
}
