//! The pushing itself: from one rule to the next until nothing moves.

use super::model::Touch;
use super::space::{Blocked, NONE, Push, Space};
use crate::schedule::Minute;

impl Space<'_> {
    /// Pushes starts until lags, calendars, capacities taken by others and the mask all hold.
    pub(super) fn fixpoint(&mut self, block: usize, push: Push) -> Result<(), Blocked> {
        let model = self.model;
        let mut steps = 20_000 + 2_000 * model.blocks[block].activities.len();
        while let Some(a) = self.queue.pop_front() {
            self.queued[a as usize] = false;
            steps -= 1;
            if steps == 0 {
                return Err(Blocked(None));
            }
            let i = a as usize;
            let (lo, hi) = (model.lo[i], model.hi[i]);
            // Loaded starts may lie outside the window on the side we push away from.
            match push {
                Push::Later if self.s[i] < lo => self.s[i] = lo,
                Push::Earlier if self.s[i] > hi => self.s[i] = hi,
                _ => {}
            }
            if self.s[i] < lo || self.s[i] > hi {
                return Err(Blocked(Some(model.problem.activities[i].reason.0)));
            }
            if self.masked {
                self.push_off_mask(a, push)?;
            }
            for t in model.touch.of(i) {
                match *t {
                    // Where it stays it has room already.
                    Touch::Hold(h) if self.partly && !self.waiting[h as usize] => {}
                    Touch::Hold(h) if self.only_sure && !model.sure_hold[h as usize] => {}
                    Touch::Within(w) if self.only_sure && !model.sure_within[w as usize] => {}
                    Touch::Hold(h) => self.push_hold(h, push)?,
                    Touch::Within(w) => self.push_within(w, push)?,
                }
            }
            match push {
                Push::Later => {
                    for arc in model.out.of(i) {
                        self.push_to(arc.other, self.s[i] + arc.least, push, arc.reason)?;
                    }
                }
                // What only waits holds nobody back.
                Push::Earlier if model.waits[i] => {}
                Push::Earlier => {
                    for arc in model.into.of(i) {
                        self.push_to(arc.other, self.s[i] - arc.least, push, arc.reason)?;
                    }
                }
            }
        }
        Ok(())
    }

    fn push_to(&mut self, activity: u32, start: Minute, push: Push, reason: u32) -> Result<(), Blocked> {
        let i = activity as usize;
        let past = match push {
            Push::Later => {
                if start <= self.s[i] {
                    return Ok(());
                }
                start > self.model.hi[i]
            }
            Push::Earlier => {
                if start >= self.s[i] {
                    return Ok(());
                }
                start < self.model.lo[i]
            }
        };
        if past || self.only.is_some_and(|only| only != activity) {
            return Err(Blocked(Some(reason)));
        }
        self.s[i] = start;
        self.wake(activity);
        self.holds_moved(activity);
        Ok(())
    }

    fn push_off_mask(&mut self, activity: u32, push: Push) -> Result<(), Blocked> {
        let model = self.model;
        for &(t, _) in model.spells_of.of(activity as usize) {
            let open = &model.problem.calendars[model.spells[t as usize].calendar].open;
            let closed = &self.closed[t as usize];
            let now = self.s[activity as usize];
            let reason = model.problem.activities[activity as usize].reason.0;
            let target = match push {
                Push::Later => {
                    let mut i = open.partition_point(|o| o.to <= now);
                    while i < open.len() && closed[i] {
                        i += 1;
                    }
                    open.get(i).map(|o| o.from.max(now))
                }
                Push::Earlier => {
                    let mut i = open.partition_point(|o| o.from <= now);
                    while i > 0 && closed[i - 1] {
                        i -= 1;
                    }
                    i.checked_sub(1).map(|i| (open[i].to - 1).min(now))
                }
            };
            match target {
                Some(t) => self.push_to(activity, t, push, reason)?,
                None => return Err(Blocked(Some(reason))),
            }
        }
        Ok(())
    }

    fn push_within(&mut self, within: u32, push: Push) -> Result<(), Blocked> {
        let w = &self.model.problem.within[within as usize];
        let (from, to) = (self.at(w.from), self.at(w.to));
        if from >= to {
            return Ok(());
        }
        let open = &self.model.problem.calendars[w.calendar.index()].open;
        let reason = w.reason.0;
        match push {
            Push::Later => {
                let i = open.partition_point(|o| o.to < to);
                let Some(o) = open.get(i) else { return Err(Blocked(Some(reason))) };
                self.push_to(w.from.activity.0, o.from.max(from) - w.from.offset, push, reason)
            }
            Push::Earlier => {
                let i = open.partition_point(|o| o.from <= from);
                let Some(o) = i.checked_sub(1).map(|i| open[i]) else { return Err(Blocked(Some(reason))) };
                self.push_to(w.to.activity.0, o.to.min(to) - w.to.offset, push, reason)
            }
        }
    }

    /// Pushes a hold's activity on to where one of its choices may have room.
    pub(super) fn push_hold(&mut self, hold: u32, push: Push) -> Result<(), Blocked> {
        let model = self.model;
        let h = &model.problem.holds[hold as usize];
        let fixed = model.class_of[hold as usize].map_or(NONE, |c| self.class_pick[c as usize]);
        let choices = if fixed == NONE { 0..h.choose.len() as u32 } else { fixed..fixed + 1 };
        let mut best: Option<Minute> = None;
        let mut now = 0;
        for k in choices {
            match self.limit(hold, k, push) {
                Some((present, then)) => {
                    now = present;
                    if then == present {
                        return Ok(());
                    }
                    best = Some(match (best, push) {
                        (None, _) => then,
                        (Some(b), Push::Later) => b.min(then),
                        (Some(b), Push::Earlier) => b.max(then),
                    });
                }
                None => continue,
            }
        }
        let reason = model.problem.resources[h.choose[if fixed == NONE { 0 } else { fixed as usize }].index()].reason.0;
        let Some(then) = best else { return Err(Blocked(Some(reason))) };
        match (push, model.fixed[hold as usize]) {
            (Push::Later, _) => self.push_to(h.from.activity.0, then - h.from.offset, push, reason),
            (Push::Earlier, Some(_)) => {
                let a = h.from.activity.0;
                self.push_to(a, self.s[a as usize] + (then - now), push, reason)
            }
            (Push::Earlier, None) => {
                for t in &h.to {
                    self.push_to(t.activity.0, then - t.offset, push, reason)?;
                }
                Ok(())
            }
        }
    }

    /// `(present, allowed)`: the begin of the hold now and the next one its choice `k` may allow (pushing later), or its
    /// end (pushing earlier). `None` when there is none at all.
    pub(super) fn limit(&self, hold: u32, k: u32, push: Push) -> Option<(Minute, Minute)> {
        let model = self.model;
        let Some((r, mut s)) = self.stretch(hold, k) else { return Some((0, 0)) };
        let now = if push == Push::Later { s.from } else { s.to };
        let fixed = model.fixed[hold as usize];
        let profile = &self.profiles[r as usize];
        let calendar = model.problem.resources[r as usize].calendar.map(|c| &model.problem.calendars[c.index()].open);
        loop {
            let before = s;
            match push {
                Push::Later => {
                    if let Some(open) = calendar {
                        let o = open.get(open.partition_point(|o| o.to < s.to))?;
                        s.from = s.from.max(o.from);
                    }
                    if s.from == before.from {
                        s.from = profile.begin_after(s)?;
                    }
                    if s.from == before.from {
                        return Some((now, s.from));
                    }
                    match fixed {
                        Some(length) => s.to = s.from + length,
                        None if s.from >= s.to => return Some((now, s.from)),
                        None => {}
                    }
                }
                Push::Earlier => {
                    if let Some(open) = calendar {
                        let i = open.partition_point(|o| o.from <= s.from).checked_sub(1)?;
                        s.to = s.to.min(open[i].to);
                    }
                    if s.to == before.to {
                        s.to = profile.end_before(s)?;
                    }
                    if s.to == before.to {
                        return Some((now, s.to));
                    }
                    match fixed {
                        Some(length) => s.from = s.to - length,
                        None if s.from >= s.to => return Some((now, s.to)),
                        None => {}
                    }
                }
            }
        }
    }
}
