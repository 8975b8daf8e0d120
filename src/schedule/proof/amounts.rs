//! Amounts of a resource: time-table reasoning with pointwise explanations (Schutt et al., 2011).

use super::engine::{Atom, Conflict, Effort, Engine, MOST_TOUCHED};
use super::rules::{Rule, Span};

/// The amounts of spans that overlap never add up to more than the capacity.
pub(super) struct Amounts {
    pub spans: Vec<(Span, i64)>,
    pub capacity: i64,
    /// Its number among the rules.
    number: usize,
    /// How often bounds had been taken back when it last came to its end: what it keeps is true until that is another.
    ran_at: Option<u64>,
    /// What is there at some moment for certain: `(from, to, span)`, in the order of the spans; and the same by span.
    parts: Vec<(i32, i32, usize)>,
    counted: Vec<Option<(i32, i32)>>,
    /// `(from, to, taken)`.
    segments: Vec<(i32, i32, i64)>,
    /// Where the parts begin and end, with what each changes, in order of time.
    events: Vec<(i32, i64)>,
    facts: Vec<Atom>,
    /// The segments that all spans were last held against, and by span the bounds that it had then.
    before: Vec<(i32, i32, i64)>,
    checked: Vec<Option<Bounds>>,
    /// By span: its bounds when the rule began to run.
    now: Vec<Option<Bounds>>,
    /// The highest of the segments.
    peak: i64,
}

/// Earliest and latest begin, earliest and latest end, and whether it is present.
type Bounds = ((i32, i32), (i32, i32), bool);

/// `None` when it is absent.
fn bounds(span: &Span, e: &Engine) -> Option<Bounds> {
    (!span.is_absent(e)).then(|| (span.begin(e), span.end(e), span.is_present(e)))
}

impl Amounts {
    pub fn new(spans: Vec<(Span, i32)>, capacity: i64) -> Self {
        // Amounts that each fit a resource may add up to more than they are counted in.
        let spans: Vec<(Span, i64)> = spans.into_iter().map(|(span, amount)| (span, amount.into())).collect();
        let (checked, counted) = (vec![None; spans.len()], vec![None; spans.len()]);
        let (parts, segments, events, facts, before, now) = (vec![], vec![], vec![], vec![], vec![], vec![]);
        Self {
            spans,
            capacity,
            number: 0,
            ran_at: None,
            parts,
            counted,
            segments,
            events,
            facts,
            before,
            checked,
            now,
            peak: 0,
        }
    }

    /// What of a span is there for certain.
    fn part(&self, i: usize) -> Option<(i32, i32)> {
        match self.now[i] {
            Some(((_, from), (to, _), true)) if from < to => Some((from, to)),
            _ => None,
        }
    }

    /// Looks the bounds of all spans up, or of those that moved; are the segments others now?
    fn look(&mut self, e: &Engine, touched: Option<&[u32]>) -> bool {
        let Some(touched) = touched else {
            self.now.clear();
            self.now.extend(self.spans.iter().map(|s| bounds(&s.0, e)));
            return (0..self.spans.len()).any(|i| self.part(i) != self.counted[i]);
        };
        let mut other = false;
        for &i in touched {
            let i = i as usize;
            let before = self.part(i);
            self.now[i] = bounds(&self.spans[i].0, e);
            other |= self.part(i) != before;
        }
        other
    }

    /// Brings the events up to the bounds of now: a few that moved are put in their places, for many all are sorted.
    fn count(&mut self) {
        const MANY: usize = 8;
        let moved = (0..self.spans.len()).filter(|&i| self.part(i) != self.counted[i]).count();
        if moved > MANY {
            self.events.clear();
        }
        for i in 0..self.spans.len() {
            let (old, new, amount) = (self.counted[i], self.part(i), self.spans[i].1);
            self.counted[i] = new;
            if moved > MANY {
                self.events.extend(new.iter().flat_map(|&(from, to)| [(from, amount), (to, -amount)]));
            } else if old != new {
                for event in old.iter().flat_map(|&(from, to)| [(from, amount), (to, -amount)]) {
                    if let Ok(k) = self.events.binary_search(&event) {
                        self.events.remove(k);
                    }
                }
                for event in new.iter().flat_map(|&(from, to)| [(from, amount), (to, -amount)]) {
                    let k = self.events.binary_search(&event).unwrap_or_else(|k| k);
                    self.events.insert(k, event);
                }
            }
        }
        if moved > MANY {
            self.events.sort_unstable();
        }
        self.parts.clear();
        self.parts.extend(self.counted.iter().enumerate().filter_map(|(i, c)| c.map(|(from, to)| (from, to, i))));
    }

    fn profile(&mut self) {
        self.count();
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
        self.peak = self.segments.iter().map(|s| s.2).max().unwrap_or(0);
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

    /// Holds a span against the segments, unless that was done with the same bounds and what it could meet is the same
    /// outside `(from, to)`.
    fn see(&mut self, e: &mut Engine, i: usize, (from, to): (i32, i32)) -> Result<(), Conflict> {
        // Where the highest moment leaves room, there is nothing to say. What has moved since the rule began wakes it again.
        let Some((begin, end, present)) = self.now[i].filter(|_| self.peak + self.spans[i].1 > self.capacity) else {
            self.checked[i] = None;
            return Ok(());
        };
        // Nothing new either where neither it nor what it could meet has changed.
        let meets = from < end.0 && begin.0 < to || from < end.1 && begin.1 < to;
        let settled = present && begin.0 == begin.1 && end.0 == end.1;
        if !settled && self.checked[i] == Some((begin, end, present)) && !meets {
            return Ok(());
        }
        self.checked[i] = None;
        if settled {
            return Ok(());
        }
        if let Err(conflict) = self.push(e, i) {
            self.checked.fill(None);
            return Err(conflict);
        }
        // Not chosen any more: what was found so is looked at again when it can be chosen again.
        self.checked[i] = bounds(&self.spans[i].0, e);
        Ok(())
    }

    fn push(&mut self, e: &mut Engine, i: usize) -> Result<(), Conflict> {
        let amount = self.spans[i].1;
        let room = self.capacity - amount;
        // Taken out while it is pushed, so that nothing need be copied; `cover` never looks at the one that is pushed.
        let span =
            std::mem::replace(&mut self.spans[i].0, Span { from: (0, 0), to: (0, 0), others: Vec::new(), guard: None });
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
        let mut touched = std::mem::take(&mut e.touched[self.number]);
        let still = self.ran_at == Some(e.taken_back) && touched.len() < MOST_TOUCHED;
        touched.sort_unstable();
        touched.dedup();
        // Until it has come to its end.
        self.ran_at = None;
        let other = self.look(e, still.then_some(&touched));
        if other {
            self.profile();
        }
        if self.peak > self.capacity
            && let Some(&(t, _, _)) = self.segments.iter().find(|s| s.2 > self.capacity)
        {
            self.cover(e, usize::MAX, t, self.capacity);
            return e.fail(&self.facts);
        }
        if self.segments.is_empty() {
            self.checked.fill(None);
            self.before.clear();
        } else if other || !still {
            let changed @ (from, to) = self.changed();
            let mut moved = touched.iter().copied().peekable();
            for i in 0..self.spans.len() {
                let moved = moved.next_if_eq(&(i as u32)).is_some() || !still;
                let meets = self.now[i].is_some_and(|(begin, end, _)| from < end.1 && begin.0 < to);
                if moved || meets {
                    self.see(e, i, changed)?;
                }
            }
            self.before.clone_from(&self.segments);
        } else {
            touched.iter().try_for_each(|&i| self.see(e, i as usize, (0, 0)))?;
        }
        self.ran_at = Some(e.taken_back);
        // Its room is used again.
        touched.clear();
        if e.touched[self.number].is_empty() {
            e.touched[self.number] = touched;
        }
        Ok(())
    }

    fn watches(&self) -> Vec<u32> {
        self.spans.iter().flat_map(|s| s.0.variables()).collect()
    }

    fn told(&mut self, number: usize) -> Vec<(u32, u32)> {
        self.number = number;
        let of_span = |(i, s): (usize, &(Span, i64))| s.0.variables().into_iter().map(move |v| (v, i as u32));
        self.spans.iter().enumerate().flat_map(of_span).collect()
    }

    fn effort(&self) -> Effort {
        Effort::Some
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Runs the rule until it has nothing more to say.
    fn settle(rule: &mut Amounts, e: &mut Engine) -> Result<(), Conflict> {
        loop {
            e.propagate()?;
            if e.next_rule().is_none() {
                return Ok(());
            }
            e.queued[0] = false;
            rule.run(e)?;
        }
    }

    /// What it keeps from one run to the next, over decisions and over bounds taken back, hides nothing: a rule that is made
    /// anew finds no more, and has the same there for certain.
    #[test]
    fn what_is_kept_between_runs_hides_nothing() {
        let (mut conflicts, mut raised, mut compared) = (0, 0, 0);
        for seed in 0..3_000u64 {
            let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
            let mut dice = |n: i32| {
                state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                ((state >> 33) % n as u64) as i32
            };
            let mut e = Engine::new();
            let spans: Vec<(Span, i32)> = (0..3 + dice(18))
                .map(|_| {
                    let (x, length) = (e.var(0, 18), 1 + dice(6));
                    let guard = (dice(2) > 0).then(|| Atom::at_least(e.var(0, 1), 1));
                    (Span { from: (x, 0), to: (x, length), others: vec![], guard }, 1 + dice(2))
                })
                .collect();
            let mut rule = Amounts::new(spans.clone(), 2);
            for (v, part) in rule.told(0) {
                e.wakes[2 * v as usize].push((0, part));
                e.wakes[2 * v as usize + 1].push((0, part));
            }
            e.queued.push(false);
            e.touched.push(Vec::new());
            e.effort.push(rule.effort());
            e.wake(0);
            let mut decided = 0;
            for _ in 0..80 {
                if settle(&mut rule, &mut e).is_err() {
                    conflicts += 1;
                    let back = dice(e.level().max(1) as i32) as u32;
                    if e.level() == 0 {
                        break;
                    }
                    e.backtrack(back);
                    // As after a conflict is learnt from: something new holds there.
                    e.wake(0);
                    continue;
                }
                raised += usize::from(e.trail.len() > decided);
                let bounds = e.bound.clone();
                let mut anew = Amounts::new(spans.clone(), 2);
                assert!(anew.run(&mut e).is_ok(), "seed {seed}: a conflict that was not seen");
                assert_eq!(bounds, e.bound, "seed {seed}");
                if rule.ran_at == Some(e.taken_back) {
                    assert_eq!(rule.segments, anew.segments, "seed {seed}: what is there for certain");
                    compared += 1;
                }
                let open: Vec<u32> = (0..bounds.len() as u32 / 2).filter(|&x| e.lo(x) < e.hi(x)).collect();
                if open.is_empty() || dice(8) == 0 {
                    if e.level() == 0 {
                        break;
                    }
                    e.backtrack(dice(e.level() as i32) as u32);
                    continue;
                }
                let x = open[dice(open.len() as i32) as usize];
                let middle = e.lo(x) + (e.hi(x) - e.lo(x)) / 2;
                e.decide(if dice(2) > 0 { Atom::at_most(x, middle) } else { Atom::at_least(x, middle + 1) });
                decided = e.trail.len();
            }
        }
        assert!(conflicts > 300 && raised > 1_000 && compared > 1_000, "{conflicts} conflicts, {raised} conclusions");
    }
}
