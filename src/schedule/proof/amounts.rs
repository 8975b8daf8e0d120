//! Amounts of a resource: time-table reasoning with pointwise explanations (Schutt et al., 2011).

use super::engine::{Atom, Conflict, Effort, Engine};
use super::rules::{Rule, Span};

/// The amounts of spans that overlap never add up to more than the capacity.
pub(super) struct Amounts {
    pub spans: Vec<(Span, i64)>,
    pub capacity: i64,
    parts: Vec<(i32, i32, usize)>,
    /// `(from, to, taken)`.
    segments: Vec<(i32, i32, i64)>,
    events: Vec<(i32, i64)>,
    facts: Vec<Atom>,
    /// The segments that all spans were last held against, and by span the bounds that it had then.
    before: Vec<(i32, i32, i64)>,
    checked: Vec<Option<Bounds>>,
}

/// Earliest and latest begin, earliest and latest end, and whether it is present.
type Bounds = ((i32, i32), (i32, i32), bool);

impl Amounts {
    pub fn new(spans: Vec<(Span, i32)>, capacity: i64) -> Self {
        // Amounts that each fit a resource may add up to more than they are counted in.
        let spans: Vec<(Span, i64)> = spans.into_iter().map(|(span, amount)| (span, amount.into())).collect();
        let checked = vec![None; spans.len()];
        let (parts, segments, events, facts, before) = (vec![], vec![], vec![], vec![], vec![]);
        Self { spans, capacity, parts, segments, events, facts, before, checked }
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

    /// Where the segments differ from those all spans were last held against.
    fn changed(&self) -> (i32, i32) {
        let (old, new) = (&self.before, &self.segments);
        let same = old.iter().zip(new).take_while(|(a, b)| a == b).count();
        let (old, new) = (&old[same..], &new[same..]);
        let last = old.iter().rev().zip(new.iter().rev()).take_while(|(a, b)| a == b).count();
        let (old, new) = (&old[..old.len() - last], &new[..new.len() - last]);
        let ends = [old.first(), new.first(), old.last(), new.last()];
        let from = ends[..2].iter().flatten().map(|s| s.0).min();
        let to = ends[2..].iter().flatten().map(|s| s.1).max();
        from.zip(to).unwrap_or((0, 0))
    }

    /// Facts by which others than `me` take more than `room` at `t`.
    fn cover(&mut self, e: &Engine, me: usize, t: i32, room: i64) {
        self.facts.clear();
        let mut there: Vec<(i64, usize)> =
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

    fn push_span(&mut self, e: &mut Engine, i: usize, span: &Span, amount: i64, room: i64) -> Result<(), Conflict> {
        let present = span.is_present(e);
        let own = if present { (span.begin(e).1, span.end(e).0) } else { (0, 0) };
        let full = |s: &(i32, i32, i64)| {
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
            self.checked.fill(None);
            return Ok(());
        }
        let peak = self.segments.iter().map(|s| s.2).max().unwrap_or(0);
        let (from, to) = self.changed();
        for i in 0..self.spans.len() {
            let (span, amount) = &self.spans[i];
            // Where the highest moment leaves room, there is nothing to say.
            if peak + amount <= self.capacity || span.is_absent(e) {
                self.checked[i] = None;
                continue;
            }
            let (begin, end, present) = (span.begin(e), span.end(e), span.is_present(e));
            // Nothing new either where neither it nor what it could meet has changed.
            let meets = from < end.0 && begin.0 < to || from < end.1 && begin.1 < to;
            let settled = present && begin.0 == begin.1 && end.0 == end.1;
            if !settled && self.checked[i] == Some((begin, end, present)) && !meets {
                continue;
            }
            self.checked[i] = None;
            if settled {
                continue;
            }
            if let Err(conflict) = self.push(e, i) {
                self.checked.fill(None);
                return Err(conflict);
            }
            let span = &self.spans[i].0;
            let now = (span.begin(e), span.end(e), span.is_present(e));
            // Not chosen any more: what was found so is looked at again when it can be chosen again.
            self.checked[i] = (!span.is_absent(e)).then_some(now);
        }
        self.before.clone_from(&self.segments);
        Ok(())
    }

    fn watches(&self) -> Vec<u32> {
        self.spans.iter().flat_map(|s| s.0.variables()).collect()
    }

    fn effort(&self) -> Effort {
        Effort::Some
    }
}
