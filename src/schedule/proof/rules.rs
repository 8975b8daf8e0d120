//! Rules on stretches of time: calendars, and stretches that cannot be at once.

use super::engine::{Atom, Conflict, Effort, Engine, NONE};

pub(super) trait Rule {
    /// Draws conclusions from the present bounds.
    fn run(&mut self, e: &mut Engine) -> Result<(), Conflict>;
    /// The variables whose bounds it looks at.
    fn watches(&self) -> Vec<u32>;
    fn effort(&self) -> Effort {
        Effort::Little
    }
    /// The variables that wake it, each with the part of the rule it belongs to, for one that wants to be told which of its
    /// parts have moved: under its number among the rules in [`Engine::touched`].
    fn told(&mut self, _number: usize) -> Vec<(u32, u32)> {
        self.watches().into_iter().map(|v| (v, NONE)).collect()
    }
}

/// A moment `variable + offset`.
pub(super) type Moment = (u32, i32);

/// A stretch of time that may depend on a choice.
#[derive(Debug, Clone)]
pub(super) struct Span {
    pub from: Moment,
    /// It ends with the latest of these; nearly always there is but one.
    pub to: Moment,
    pub others: Vec<Moment>,
    /// Present only when this holds.
    pub guard: Option<Atom>,
}

impl Span {
    pub fn begin(&self, e: &Engine) -> (i32, i32) {
        (e.lo(self.from.0) + self.from.1, e.hi(self.from.0) + self.from.1)
    }
    /// Earliest and latest end.
    pub fn end(&self, e: &Engine) -> (i32, i32) {
        let mut out = (e.lo(self.to.0) + self.to.1, e.hi(self.to.0) + self.to.1);
        for &(v, o) in &self.others {
            out.0 = out.0.max(e.lo(v) + o);
            out.1 = out.1.max(e.hi(v) + o);
        }
        out
    }
    /// "It begins at `t` or before."
    pub fn begun(&self, t: i32) -> Atom {
        Atom::at_most(self.from.0, t - self.from.1)
    }
    /// "It ends after `t`", by a point that now does.
    pub fn lasts(&self, e: &Engine, t: i32) -> Atom {
        let after = |&(v, o): &Moment| Atom::at_least(v, t + 1 - o);
        self.ends().map(after).find(|&a| e.holds(a)).unwrap_or(after(&self.to))
    }
    fn ends(&self) -> impl Iterator<Item = &Moment> {
        std::iter::once(&self.to).chain(&self.others)
    }
    pub fn begin_from(&self, t: i32) -> Atom {
        Atom::at_least(self.from.0, t - self.from.1)
    }
    pub fn end_by(&self, e: &mut Engine, t: i32, facts: &[Atom]) -> Result<(), Conflict> {
        for &(v, o) in self.ends() {
            e.set(Atom::at_most(v, t - o), facts)?;
        }
        Ok(())
    }
    pub fn is_present(&self, e: &Engine) -> bool {
        self.guard.is_none_or(|g| e.holds(g))
    }
    pub fn is_absent(&self, e: &Engine) -> bool {
        self.guard.is_some_and(|g| e.fails(g))
    }
    pub fn variables(&self) -> Vec<u32> {
        let mut v: Vec<u32> = self.ends().map(|t| t.0).collect();
        v.push(self.from.0);
        v.extend(self.guard.map(|g| g.side / 2));
        v
    }
}

/// A span of some length lies in none of the gaps.
pub(super) struct OffGaps {
    pub span: Span,
    /// Sorted, half open.
    pub gaps: Vec<(i32, i32)>,
}

impl Rule for OffGaps {
    fn run(&mut self, e: &mut Engine) -> Result<(), Conflict> {
        let s = &self.span;
        if s.is_absent(e) {
            return Ok(());
        }
        if !s.is_present(e) {
            let (from, to) = (s.begin(e).1, s.end(e).0);
            let k = self.gaps.partition_point(|g| g.1 <= from);
            if let (Some(g), Some(guard)) = (self.gaps.get(k), s.guard)
                && g.0 < to
            {
                return e.set(guard.not(), &[s.lasts(e, g.0), s.begun(g.1 - 1)]);
            }
            return Ok(());
        }
        loop {
            let (from, to) = (s.begin(e).0, s.end(e).0);
            let k = self.gaps.partition_point(|g| g.1 <= from);
            let Some(g) = self.gaps.get(k).filter(|g| g.0 < to) else { break };
            let mut facts = vec![s.lasts(e, g.0)];
            facts.extend(s.guard);
            e.set(s.begin_from(g.1), &facts)?;
        }
        loop {
            let (from, to) = (s.begin(e).1, s.end(e).1);
            let k = self.gaps.partition_point(|g| g.0 < to);
            let Some(g) = k.checked_sub(1).map(|k| self.gaps[k]).filter(|g| g.1 > from) else { break };
            let mut facts = vec![s.begun(g.1 - 1)];
            facts.extend(s.guard);
            s.end_by(e, g.0, &facts)?;
        }
        Ok(())
    }

    fn watches(&self) -> Vec<u32> {
        self.span.variables()
    }
}

/// A variable takes no value of these half-open stretches.
pub(super) struct Holes {
    pub var: u32,
    pub holes: Vec<(i32, i32)>,
}

impl Rule for Holes {
    fn run(&mut self, e: &mut Engine) -> Result<(), Conflict> {
        let x = self.var;
        let k = self.holes.partition_point(|h| h.1 <= e.lo(x));
        if let Some(h) = self.holes.get(k).filter(|h| h.0 <= e.lo(x)) {
            e.set(Atom::at_least(x, h.1), &[Atom::at_least(x, h.0)])?;
        }
        let k = self.holes.partition_point(|h| h.1 <= e.hi(x));
        if let Some(h) = self.holes.get(k).filter(|h| h.0 <= e.hi(x)) {
            e.set(Atom::at_most(x, h.0 - 1), &[Atom::at_most(x, h.1 - 1)])?;
        }
        Ok(())
    }

    fn watches(&self) -> Vec<u32> {
        vec![self.var]
    }
}

/// When both are present, one ends (and its changeover is over) before the other begins.
pub(super) struct Apart {
    pub one: Span,
    pub other: Span,
    pub after_one: i32,
    pub after_other: i32,
}

impl Apart {
    /// `first` cannot come before `second`: then it must come after.
    fn order(e: &mut Engine, first: &Span, second: &Span, gap: i32, back: i32) -> Result<(), Conflict> {
        let (end, begin) = (first.end(e).0, second.begin(e).1);
        if end + gap <= begin {
            return Ok(());
        }
        // `second` comes first: `first` begins once it is over.
        let mut facts = vec![first.lasts(e, end - 1), second.begun(end + gap - 1)];
        facts.extend(first.guard);
        facts.extend(second.guard);
        let done = second.end(e).0;
        facts.push(second.lasts(e, done - 1));
        e.set(first.begin_from(done + back), &facts)
    }
}

impl Rule for Apart {
    fn run(&mut self, e: &mut Engine) -> Result<(), Conflict> {
        if !self.one.is_present(e) || !self.other.is_present(e) {
            return Ok(());
        }
        Self::order(e, &self.one, &self.other, self.after_one, self.after_other)?;
        Self::order(e, &self.other, &self.one, self.after_other, self.after_one)
    }

    fn watches(&self) -> Vec<u32> {
        let mut v = self.one.variables();
        v.extend(self.other.variables());
        v
    }
}

/// Of two stretches of fixed length that cannot be at once, one ends before the other begins: what cannot come first comes
/// last (detectable precedences; Vilím, 2002).
pub(super) struct OneAtATime {
    /// Variable, offset of the begin, length.
    pub me: (u32, i32, i32),
    pub partners: Vec<(u32, i32, i32)>,
}

impl OneAtATime {
    /// `second` ends before `first` begins, because `first` cannot end before `second` begins.
    fn order(e: &mut Engine, first: (u32, i32, i32), second: (u32, i32, i32)) -> Result<(), Conflict> {
        let latest = e.hi(second.0) + second.1;
        let begins = Atom::at_most(second.0, latest - second.1);
        let ends = Atom::at_least(first.0, latest + 1 - first.2 - first.1);
        let lo = e.lo(second.0);
        let after = lo + second.1 + second.2 - first.1;
        e.set(Atom::at_least(first.0, after), &[begins, ends, Atom::at_least(second.0, lo)])?;
        let earliest = e.lo(first.0) + first.1 + first.2;
        let (begins, ends) = (Atom::at_most(second.0, earliest - 1 - second.1), Atom::at_least(first.0, e.lo(first.0)));
        let hi = e.hi(first.0);
        let before = hi + first.1 - second.2 - second.1;
        e.set(Atom::at_most(second.0, before), &[begins, ends, Atom::at_most(first.0, hi)])
    }
}

impl Rule for OneAtATime {
    fn run(&mut self, e: &mut Engine) -> Result<(), Conflict> {
        let me = self.me;
        for k in 0..self.partners.len() {
            let other = self.partners[k];
            if e.lo(me.0) + me.1 + me.2 > e.hi(other.0) + other.1 {
                Self::order(e, me, other)?;
            }
            if e.lo(other.0) + other.1 + other.2 > e.hi(me.0) + me.1 {
                Self::order(e, other, me)?;
            }
        }
        Ok(())
    }

    /// Its own only: each partner has such a rule too.
    fn watches(&self) -> Vec<u32> {
        vec![self.me.0]
    }
}
