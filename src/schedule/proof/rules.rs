//! Rules on stretches of time: amounts of a resource (time-table reasoning with pointwise explanations, Schutt et al.,
//! 2011) and calendars.

use super::engine::{Atom, Conflict, Engine};

pub(super) trait Rule {
    /// Draws conclusions from the present bounds.
    fn run(&mut self, e: &mut Engine) -> Result<(), Conflict>;
    /// The variables whose bounds it looks at.
    fn watches(&self) -> Vec<u32>;
    /// Waits until the quicker rules have nothing to say.
    fn is_dear(&self) -> bool {
        false
    }
}

/// A moment `variable + offset`.
pub(super) type Moment = (u32, i32);

/// A stretch of time that may depend on a choice.
#[derive(Debug, Clone)]
pub(super) struct Span {
    pub from: Moment,
    pub to: Vec<Moment>,
    /// Present only when this holds.
    pub guard: Option<Atom>,
}

impl Span {
    pub fn begin(&self, e: &Engine) -> (i32, i32) {
        (e.lo(self.from.0) + self.from.1, e.hi(self.from.0) + self.from.1)
    }
    /// Earliest and latest end.
    pub fn end(&self, e: &Engine) -> (i32, i32) {
        let mut out = (i32::MIN, i32::MIN);
        for &(v, o) in &self.to {
            out.0 = out.0.max(e.lo(v) + o);
            out.1 = out.1.max(e.hi(v) + o);
        }
        out
    }
    /// "It begins at `t` or before."
    fn begun(&self, t: i32) -> Atom {
        Atom::at_most(self.from.0, t - self.from.1)
    }
    /// "It ends after `t`", by a point that now does.
    fn lasts(&self, e: &Engine, t: i32) -> Atom {
        let facts = self.to.iter().map(|&(v, o)| Atom::at_least(v, t + 1 - o));
        let mut first = None;
        for f in facts {
            if e.holds(f) {
                return f;
            }
            first.get_or_insert(f);
        }
        first.unwrap_or(Atom::at_least(self.from.0, t + 1))
    }
    fn begin_from(&self, t: i32) -> Atom {
        Atom::at_least(self.from.0, t - self.from.1)
    }
    fn end_by(&self, e: &mut Engine, t: i32, facts: &[Atom]) -> Result<(), Conflict> {
        for &(v, o) in &self.to {
            e.set(Atom::at_most(v, t - o), facts)?;
        }
        Ok(())
    }
    fn is_present(&self, e: &Engine) -> bool {
        self.guard.is_none_or(|g| e.holds(g))
    }
    fn is_absent(&self, e: &Engine) -> bool {
        self.guard.is_some_and(|g| e.fails(g))
    }
    fn variables(&self) -> Vec<u32> {
        let mut v: Vec<u32> = self.to.iter().map(|t| t.0).collect();
        v.push(self.from.0);
        v.extend(self.guard.map(|g| g.side / 2));
        v
    }
}

/// The amounts of spans that overlap never add up to more than the capacity.
pub(super) struct Amounts {
    pub spans: Vec<(Span, i32)>,
    pub capacity: i32,
    parts: Vec<(i32, i32, usize)>,
    /// `(from, to, taken)`.
    segments: Vec<(i32, i32, i32)>,
    events: Vec<(i32, i32)>,
    facts: Vec<Atom>,
}

impl Amounts {
    pub fn new(spans: Vec<(Span, i32)>, capacity: i32) -> Self {
        Self { spans, capacity, parts: vec![], segments: vec![], events: vec![], facts: vec![] }
    }

    fn profile(&mut self, e: &Engine) {
        self.parts.clear();
        self.events.clear();
        for (i, (s, amount)) in self.spans.iter().enumerate() {
            let (from, to) = (s.begin(e).1, s.end(e).0);
            if from < to && s.is_present(e) {
                self.parts.push((from, to, i));
                self.events.extend([(from, *amount), (to, -amount)]);
            }
        }
        self.events.sort_unstable();
        self.segments.clear();
        let mut taken = 0;
        for k in 0..self.events.len() {
            let (at, change) = self.events[k];
            taken += change;
            if let Some(&(next, _)) = self.events.get(k + 1)
                && next > at
                && taken > 0
            {
                self.segments.push((at, next, taken));
            }
        }
    }

    /// Facts by which others than `me` take more than `room` at `t`.
    fn cover(&mut self, e: &Engine, me: usize, t: i32, room: i32) {
        self.facts.clear();
        let mut there: Vec<(i32, usize)> =
            self.parts.iter().filter(|p| p.2 != me && p.0 <= t && t < p.1).map(|p| (-self.spans[p.2].1, p.2)).collect();
        there.sort_unstable();
        let mut sum = 0;
        for (minus, i) in there {
            if sum > room {
                break;
            }
            sum -= minus;
            let s = &self.spans[i].0;
            self.facts.extend([s.begun(t), s.lasts(e, t)]);
            self.facts.extend(s.guard);
        }
    }

    fn push(&mut self, e: &mut Engine, i: usize) -> Result<(), Conflict> {
        let amount = self.spans[i].1;
        let room = self.capacity - amount;
        // Taken out while it is pushed, so that nothing need be copied; `cover` never looks at the one that is pushed.
        let span = std::mem::replace(&mut self.spans[i].0, Span { from: (0, 0), to: Vec::new(), guard: None });
        let result = self.push_span(e, i, &span, amount, room);
        self.spans[i].0 = span;
        result
    }

    fn push_span(&mut self, e: &mut Engine, i: usize, span: &Span, amount: i32, room: i32) -> Result<(), Conflict> {
        let present = span.is_present(e);
        let own = if present { (span.begin(e).1, span.end(e).0) } else { (0, 0) };
        let full = |s: &(i32, i32, i32)| {
            let mine = own.0 <= s.0 && s.1 <= own.1;
            s.2 - if mine { amount } else { 0 } > room
        };
        let mut k = self.segments.partition_point(|s| s.1 <= span.begin(e).0);
        while k < self.segments.len() {
            let seg = self.segments[k];
            let (begin, end) = (span.begin(e), span.end(e));
            if seg.0 >= end.0 || begin.0 >= end.0 {
                break;
            }
            if seg.1 <= begin.0 || !full(&seg) {
                k += 1;
                continue;
            }
            if !present {
                if begin.1 < end.0 && begin.1 < seg.1 && seg.0 < end.0 {
                    let t = seg.0.max(begin.1);
                    self.cover(e, i, t, room);
                    self.facts.extend([span.begun(t), span.lasts(e, t)]);
                    if let Some(g) = span.guard {
                        return e.set(g.not(), &self.facts);
                    }
                }
                k += 1;
                continue;
            }
            let t = seg.1.min(end.0) - 1;
            self.cover(e, i, t, room);
            self.facts.push(span.lasts(e, t));
            self.facts.extend(span.guard);
            e.set(span.begin_from(t + 1), &self.facts)?;
        }
        if !present {
            return Ok(());
        }
        let mut k = self.segments.partition_point(|s| s.0 < span.end(e).1);
        while k > 0 {
            let seg = self.segments[k - 1];
            let (begin, end) = (span.begin(e), span.end(e));
            if seg.1 <= begin.1 {
                break;
            }
            if seg.0 >= end.1 || !full(&seg) {
                k -= 1;
                continue;
            }
            let t = seg.0.max(begin.1);
            self.cover(e, i, t, room);
            self.facts.push(span.begun(t));
            self.facts.extend(span.guard);
            let facts = std::mem::take(&mut self.facts);
            let result = span.end_by(e, t, &facts);
            self.facts = facts;
            result?;
            if span.end(e).1 >= end.1 && span.begin(e).1 >= begin.1 {
                k -= 1;
            }
        }
        Ok(())
    }
}

impl Rule for Amounts {
    fn run(&mut self, e: &mut Engine) -> Result<(), Conflict> {
        self.profile(e);
        if let Some(&(t, _, _)) = self.segments.iter().find(|s| s.2 > self.capacity) {
            self.cover(e, usize::MAX, t, self.capacity);
            return e.fail(&self.facts);
        }
        if self.segments.is_empty() {
            return Ok(());
        }
        let peak = self.segments.iter().map(|s| s.2).max().unwrap_or(0);
        for i in 0..self.spans.len() {
            let (span, amount) = &self.spans[i];
            // Where the highest moment leaves room, and where nothing can move any more, there is nothing to say.
            let settled = span.is_present(e) && {
                let (begin, end) = (span.begin(e), span.end(e));
                begin.0 == begin.1 && end.0 == end.1
            };
            if peak + amount > self.capacity && !settled && !span.is_absent(e) {
                self.push(e, i)?;
            }
        }
        Ok(())
    }

    fn watches(&self) -> Vec<u32> {
        self.spans.iter().flat_map(|s| s.0.variables()).collect()
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
