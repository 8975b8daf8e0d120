//! One run: the plan's tasks in the order of time, each as soon as what it waits for is done, somebody is free and its kit is
//! free; never before its planned time. What a cook does when things slip:
//!
//! - the rest of a cook day slides with a simmer that runs over; a cook day that would begin much too late waits for the next;
//! - a forgotten turn is done the next day;
//! - a late delivery slides the put-in, and all that hangs on it, to the next time somebody is free;
//! - joints that go in one pot wait for the slowest in the brine, not on the rack;
//! - a piece of work is not begun when its rest would fall where nobody is there.

use super::draw::{Luck, Stream};
use super::model::{Model, Wait};
use crate::process::Kind;
use crate::schedule::{Interval, Minute};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Never: past every horizon.
pub const NEVER: Minute = Minute::MAX / 4;

/// What fell to one run.
#[derive(Debug, Clone, Default)]
pub struct Fate {
    /// By delivery: days late.
    pub late: Vec<Minute>,
    /// By joint: weight over the expected.
    pub weight: Vec<f64>,
    /// By task: a turn that is forgotten.
    pub missed: Vec<bool>,
    /// By cook: factor on the simmer's own time.
    pub simmer: Vec<f64>,
    /// By chill: minutes.
    pub chill: Vec<Minute>,
}

impl Fate {
    pub fn draw(model: &Model, luck: &Luck, seed: u64, run: u64) -> Self {
        let mut s = Stream::new(seed, run);
        let late = model
            .deliveries
            .iter()
            .map(|_| {
                let mut days = Minute::from(s.happens(luck.late));
                // Always as many numbers drawn, so that one setting does not shift the others.
                let mut still = days > 0;
                for _ in 0..6 {
                    still &= s.happens(luck.later);
                    days += Minute::from(still);
                }
                days
            })
            .collect();
        let weight = model
            .joints
            .iter()
            .map(|j| {
                let f = s.factor(luck.heavier_p90);
                if j.weighed { 1.0 } else { f }
            })
            .collect();
        let missed = model.jobs.iter().map(|j| s.happens(luck.missed) && j.kind == Kind::Turn).collect();
        let simmer = model.cooks.iter().map(|_| s.factor(luck.simmer_p90)).collect();
        let chill = model
            .chills
            .iter()
            .map(|(_, planned, slow)| {
                let p90 = if luck.chill { f64::from(*slow) / f64::from((*planned).max(1)) } else { 1.0 };
                (f64::from(*planned) * s.factor(p90.max(1.0))).round() as Minute
            })
            .collect();
        Self { late, weight, missed, simmer, chill }
    }
}

/// A plan gone through once.
#[derive(Debug, Clone, Default)]
pub struct Gone {
    pub start: Vec<Minute>,
    pub minutes: Vec<Minute>,
    /// By load: when its pork was there.
    pub arrived: Vec<Minute>,
}

impl Gone {
    pub fn end(&self, task: usize) -> Minute {
        self.start[task].saturating_add(self.minutes[task]).min(NEVER)
    }
}

/// Somebody or something taken for a while.
#[derive(Debug, Clone, Copy)]
struct Taken {
    from: Minute,
    to: Minute,
    amount: i32,
    family: u32,
}

struct Walk<'a> {
    m: &'a Model,
    target: &'a [Minute],
    gone: Gone,
    done: Vec<bool>,
    busy: Vec<Vec<Taken>>,
    /// By joint: minutes in the brine it needs in this run.
    need: Vec<Minute>,
}

/// Goes through the plan once. `target` are the times before which no task starts: the plan's, or others to be tried.
pub fn go(m: &Model, target: &[Minute], fate: &Fate) -> Gone {
    let n = m.jobs.len();
    let mut w = Walk {
        m,
        target,
        gone: Gone {
            start: vec![NEVER; n],
            minutes: m.jobs.iter().map(|j| j.minutes).collect(),
            arrived: vec![0; m.loads.len()],
        },
        done: vec![false; n],
        busy: vec![Vec::new(); m.things.len()],
        need: (0..m.joints.len()).map(|j| m.joints[j].need_at(weight(m, fate, j))).collect(),
    };
    for (c, cook) in m.cooks.iter().enumerate() {
        if m.jobs[cook.simmer].happened.is_some_and(|h| h.1) {
            continue;
        }
        let own = cook.joints.iter().map(|j| m.joints[*j].simmer_at(weight(m, fate, *j))).fold(0.0, f64::max);
        w.gone.minutes[cook.simmer] = cook.heat + (own * fate.simmer[c]).round() as Minute;
    }
    for (k, (chill, _, _)) in m.chills.iter().enumerate() {
        if m.jobs[*chill].happened.is_none_or(|h| !h.1) {
            w.gone.minutes[*chill] = fate.chill[k];
        }
    }
    let mut first: Vec<Minute> = target.to_vec();
    for (l, (put, joints)) in m.loads.iter().enumerate() {
        let there = |j: usize| {
            let d = m.deliveries.iter().position(|d| d.joints.contains(&j));
            d.map_or(0, |d| m.deliveries[d].at + fate.late[d] * 1440)
        };
        let at = joints.iter().map(|j| there(*j)).max().unwrap_or(0);
        let at = m.jobs[*put].happened.map_or(at, |h| at.min(h.0));
        w.gone.arrived[l] = at;
        first[*put] = first[*put].max(at);
    }
    for (i, f) in first.iter_mut().enumerate() {
        if let Some((at, _)) = m.jobs[i].happened {
            *f = at;
        } else if fate.missed[i] {
            *f += 1440;
        }
    }
    w.run(&first);
    w.gone
}

/// A joint that is in the brine has been on the scale.
fn weight(m: &Model, fate: &Fate, j: usize) -> f64 {
    if m.jobs[m.stays[j].0].happened.is_some() { 1.0 } else { fate.weight[j] }
}

impl Walk<'_> {
    fn run(&mut self, first: &[Minute]) {
        let n = self.m.jobs.len();
        // What has happened waits for nothing any more.
        let waits = |i: usize| if self.m.jobs[i].happened.is_some() { 0 } else { self.m.jobs[i].waits.len() };
        let mut open: Vec<usize> = (0..n).map(waits).collect();
        let mut followers: Vec<Vec<usize>> = vec![Vec::new(); n];
        for (i, j) in self.m.jobs.iter().enumerate() {
            j.waits.iter().for_each(|w| followers[w.on].push(i));
        }
        let mut heap: BinaryHeap<Reverse<(Minute, usize, usize)>> = BinaryHeap::new();
        let mut left = n;
        for i in 0..n {
            if open[i] == 0 {
                heap.push(Reverse((first[i], self.m.order[i], i)));
            }
        }
        while left > 0 {
            let Some(Reverse((at, rank, i))) = heap.pop() else {
                // Waits that go round in a circle, which a sound plan has none of: the next in order goes.
                let Some(i) = (0..n).filter(|i| !self.done[*i] && open[*i] > 0).min_by_key(|i| self.m.order[*i]) else {
                    break;
                };
                open[i] = 0;
                heap.push(Reverse((first[i], self.m.order[i], i)));
                continue;
            };
            if self.done[i] {
                continue;
            }
            if let Some((begun, _)) = self.m.jobs[i].happened {
                let who = self.m.jobs[i].people.first().copied();
                self.commit(i, begun, who);
                left -= 1;
                self.release(i, first, &followers, &mut open, &mut heap);
                continue;
            }
            let earliest = self.m.jobs[i].waits.iter().map(|w| self.after(w)).fold(at, Minute::max);
            let earliest = earliest.max(self.pot_mates(i));
            let Some((start, who)) = self.fit(i, earliest) else {
                // Never: what waits for it never comes either.
                self.done[i] = true;
                left -= 1;
                for f in &followers[i] {
                    open[*f] = open[*f].saturating_sub(1);
                    if open[*f] == 0 && !self.done[*f] {
                        heap.push(Reverse((NEVER, self.m.order[*f], *f)));
                    }
                }
                continue;
            };
            if start > at {
                heap.push(Reverse((start, rank, i)));
                continue;
            }
            self.commit(i, start, who);
            left -= 1;
            self.release(i, first, &followers, &mut open, &mut heap);
        }
    }

    /// What waited for a task may be next.
    fn release(
        &self,
        i: usize,
        first: &[Minute],
        followers: &[Vec<usize>],
        open: &mut [usize],
        heap: &mut BinaryHeap<Reverse<(Minute, usize, usize)>>,
    ) {
        for f in &followers[i] {
            if open[*f] > 0 {
                open[*f] -= 1;
                if open[*f] == 0 && !self.done[*f] {
                    heap.push(Reverse((first[*f], self.m.order[*f], *f)));
                }
            }
        }
    }

    /// When a joint that shares its pot is to be lifted: put off by as much as the slowest of them is behind its plan.
    fn pot_mates(&self, i: usize) -> Minute {
        let m = self.m;
        if m.jobs[i].kind != Kind::Rinse {
            return 0;
        }
        let Some(j) = m.stays.iter().position(|s| s.1 == i) else { return 0 };
        let Some(cook) = m.cooks.iter().find(|c| c.joints.contains(&j)) else { return 0 };
        let behind = cook.joints.iter().map(|k| {
            let (put, lift) = m.stays[*k];
            let cured = self.gone.end(put).saturating_add(self.need[*k]);
            if self.gone.start[put] < NEVER { cured - self.target[lift] } else { 0 }
        });
        self.target[i] + behind.max().unwrap_or(0).max(0)
    }

    fn after(&self, w: &Wait) -> Minute {
        if self.gone.start[w.on] >= NEVER {
            return if self.done[w.on] { NEVER } else { 0 };
        }
        let least = w.cure_of.map_or(w.least, |j| self.need[j]);
        if w.from_start { self.gone.start[w.on] + least } else { self.gone.end(w.on) + least }
    }

    /// The first start from `t` on, and who does it; `None` within the horizon.
    fn fit(&self, i: usize, t: Minute) -> Option<(Minute, Option<usize>)> {
        let cook = self.m.jobs[i].kind == Kind::Simmer;
        let mut t = t;
        for _ in 0..40 {
            let (start, who) = self.fit_at(i, t)?;
            let late = start - self.target[i];
            if !cook || late.rem_euclid(1440) <= self.m.slip || late < 0 {
                return Some((start, who));
            }
            // Too late to begin a cook day: the next day at the hour it was planned for.
            t = self.target[i] + (late.div_euclid(1440) + 1) * 1440;
        }
        None
    }

    fn fit_at(&self, i: usize, mut t: Minute) -> Option<(Minute, Option<usize>)> {
        let j = &self.m.jobs[i];
        for _ in 0..2_000 {
            if t >= self.m.horizon {
                return None;
            }
            let mut next = t;
            for (from, to) in &j.watched {
                next = next.max(window(&self.m.home, t + from, to - from)? - from);
            }
            for (member, off) in &j.members {
                let k = &self.m.jobs[*member];
                if k.hands > 0 {
                    let open = k.people.iter().filter_map(|p| window(&self.m.work[*p], t + off, k.hands)).min()?;
                    next = next.max(open - off);
                }
            }
            let mut who = None;
            if j.hands > 0 {
                let free = |p: &usize| self.free(*p, t, j.hands).map(|at| (at, *p));
                let (at, p) = j.people.iter().filter_map(free).min_by_key(|x| x.0)?;
                who = Some(p);
                next = next.max(at);
            }
            for h in &j.holds {
                let (from, to) = self.span(i, h, t);
                let best = h.choose.iter().filter_map(|r| self.room(*r, from, to, h.amount, h.family)).min()?;
                next = next.max(t + best - from);
            }
            if next == t {
                return Some((t, who));
            }
            t = next;
        }
        None
    }

    fn span(&self, i: usize, h: &super::model::Held, t: Minute) -> (Minute, Minute) {
        let end = t + self.gone.minutes[i];
        (h.from.map_or(end, |f| t + f), end + h.after)
    }

    /// First start from `t` at which a person can work for `hands` minutes and does nothing else.
    fn free(&self, person: usize, mut t: Minute, hands: Minute) -> Option<Minute> {
        loop {
            t = window(&self.m.work[person], t, hands)?;
            let clash = self.busy[person].iter().filter(|b| b.from < t + hands && b.to > t).map(|b| b.to).max();
            match clash {
                None => return Some(t),
                Some(end) => t = end,
            }
        }
    }

    /// First start from `from` on at which a thing has room for the whole stretch.
    fn room(&self, thing: usize, from: Minute, to: Minute, amount: i32, family: u32) -> Option<Minute> {
        let r = &self.m.things[thing];
        if amount > r.capacity {
            return None;
        }
        let (mut t, length) = (from, to - from);
        let gap = |a: u32, b: u32| r.changeover.iter().find(|c| (c.0, c.1) == (a, b)).map_or(0, |c| c.2);
        'again: loop {
            let over = |b: &&Taken| b.from - gap(family, b.family) < t + length && b.to + gap(b.family, family) > t;
            let near: Vec<&Taken> = self.busy[thing].iter().filter(over).collect();
            if near.is_empty() {
                return Some(t);
            }
            let at = |m: Minute| -> i32 {
                let on = |b: &&&Taken| b.from - gap(family, b.family) <= m && b.to + gap(b.family, family) > m;
                near.iter().filter(on).map(|b| b.amount).sum()
            };
            let points = near.iter().map(|b| b.from - gap(family, b.family)).filter(|m| *m > t).chain([t]);
            for m in points {
                if at(m) + amount > r.capacity {
                    let until = near.iter().map(|b| b.to + gap(b.family, family)).filter(|e| *e > t).min()?;
                    t = until;
                    continue 'again;
                }
            }
            return Some(t);
        }
    }

    fn commit(&mut self, i: usize, start: Minute, who: Option<usize>) {
        let m = self.m;
        let j = &m.jobs[i];
        self.gone.start[i] = start;
        self.done[i] = true;
        if let Some(p) = who {
            self.busy[p].push(Taken { from: start, to: start + j.hands, amount: 1, family: 0 });
        }
        for h in &j.holds {
            let (from, to) = self.span(i, h, start);
            let best = h
                .choose
                .iter()
                .copied()
                .find(|r| self.room(*r, from, to, h.amount, h.family) == Some(from))
                .unwrap_or(h.choose[0]);
            self.busy[best].push(Taken { from, to, amount: h.amount, family: h.family });
        }
        if let (Kind::Turn, Some(l)) = (j.kind, j.load) {
            self.turned(i, l, start);
        }
    }

    /// A turn that comes late costs its joints time in the brine.
    fn turned(&mut self, i: usize, load: usize, start: Minute) {
        let m = self.m;
        let before = m.jobs[i].waits.iter().filter(|w| w.cure_of.is_none() && !w.from_start);
        let last = before.map(|w| self.gone.end(w.on)).filter(|e| *e < start).max();
        let Some(last) = last else { return };
        if let Some((_, extra)) = m.turn_late.iter().find(|(late, _)| start - last >= *late) {
            m.loads[load].1.iter().for_each(|j| self.need[*j] += extra);
        }
    }
}

/// First start from `t` on of a stretch that lies inside one open interval.
fn window(open: &[Interval], t: Minute, length: Minute) -> Option<Minute> {
    let at = open.partition_point(|o| o.to <= t);
    open[at..].iter().find(|o| t.max(o.from) + length <= o.to).map(|o| t.max(o.from))
}
