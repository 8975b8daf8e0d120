//! From a problem to variables, nogoods and rules.

use super::amounts::Amounts;
use super::engine::{Atom, Engine};
use super::rules::{Apart, Holes, OffGaps, OneAtATime, Rule, Span};
use crate::schedule::search::load::pools;
use crate::schedule::search::model::Model;
use crate::schedule::{Calendar, Minute, Point, ResourceId};
use std::collections::{BTreeMap, BTreeSet};

pub(super) struct Built {
    pub engine: Engine,
    pub rules: Vec<Box<dyn Rule>>,
    /// By hold: the variables of its choices, empty when it has but one.
    pub choices: Vec<Vec<u32>>,
    /// By level: the variable of its cost, as far as levels can be expressed.
    pub levels: Vec<u32>,
    /// Nothing can satisfy it.
    pub dead: bool,
}

/// Allowed values as sorted, disjoint, closed stretches.
type Allowed = Vec<(Minute, Minute)>;

fn allowed_starts(calendar: &Calendar, offset: Minute, length: Minute) -> Allowed {
    let fits = calendar.open.iter().map(|o| (o.from - offset, o.to - length - offset));
    fits.filter(|a| a.0 <= a.1).collect()
}

fn union(a: Allowed, b: Allowed) -> Allowed {
    let mut all: Allowed = a.into_iter().chain(b).collect();
    all.sort_unstable();
    let mut out: Allowed = Vec::new();
    for x in all {
        match out.last_mut() {
            Some(last) if x.0 <= last.1 + 1 => last.1 = last.1.max(x.1),
            _ => out.push(x),
        }
    }
    out
}

fn intersection(a: &Allowed, b: &Allowed) -> Allowed {
    let (mut i, mut j) = (0, 0);
    let mut out = Vec::new();
    while i < a.len() && j < b.len() {
        let (from, to) = (a[i].0.max(b[j].0), a[i].1.min(b[j].1));
        if from <= to {
            out.push((from, to));
        }
        if a[i].1 < b[j].1 { i += 1 } else { j += 1 }
    }
    out
}

fn gaps(calendar: &Calendar) -> Vec<(Minute, Minute)> {
    let mut edge = Minute::MIN / 2;
    let mut out = Vec::new();
    for o in &calendar.open {
        out.push((edge, o.from));
        edge = o.to;
    }
    out.push((edge, Minute::MAX / 2));
    out
}

/// Variable, offset of the begin, length.
type Stretch = (u32, i32, i32);

/// A stretch that is always there and always as long.
fn fixed(span: &Span) -> Option<Stretch> {
    let alone = span.guard.is_none() && span.others.is_empty() && span.to.0 == span.from.0;
    alone.then(|| (span.from.0, span.from.1, span.to.1 - span.from.1))
}

pub(super) struct Builder<'m, 'a> {
    pub(super) model: &'m Model<'a>,
    pub(super) built: Built,
    allowed: Vec<Option<Allowed>>,
}

/// `None` when the problem has what the engine cannot express (stretches that may be empty).
pub(super) fn build(model: &Model) -> Option<Built> {
    let p = model.problem;
    // Amounts are reckoned moment by moment, so a hold may be empty; calendars and changeovers need some length.
    let plain =
        |r: &ResourceId| p.resources[r.index()].calendar.is_none() && p.resources[r.index()].changeover.is_empty();
    let all_sure = p.holds.iter().enumerate().all(|(i, h)| {
        h.amount == 0 || model.fixed[i].is_some_and(|l| l <= 0) || model.sure_hold[i] || {
            h.choose.iter().all(|r| plain(r) && h.amount <= p.resources[r.index()].capacity)
        }
    });
    let within_sure = model
        .problem
        .within
        .iter()
        .enumerate()
        .all(|(i, w)| model.sure_within[i] || (w.from.activity == w.to.activity && w.from.offset >= w.to.offset));
    if !all_sure || !within_sure {
        return None;
    }
    let mut b = Builder {
        model,
        built: Built { engine: Engine::new(), rules: vec![], choices: vec![], levels: vec![], dead: false },
        allowed: vec![None; model.lo.len()],
    };
    for i in 0..model.lo.len() {
        b.built.engine.var(model.lo[i], model.hi[i]);
    }
    for l in &model.problem.lags {
        b.built.engine.add_lag(l.from.0, l.to.0, l.least);
    }
    b.holds();
    b.within();
    b.holes();
    b.levels();
    b.wire();
    Some(b.built)
}

impl Builder<'_, '_> {
    pub(super) fn forbid(&mut self, atoms: Vec<Atom>) {
        self.built.dead |= !self.built.engine.forbid(atoms);
    }

    fn allow(&mut self, activity: usize, set: &Allowed) {
        let now = self.allowed[activity].take();
        self.allowed[activity] = Some(now.map_or_else(|| set.clone(), |a| intersection(&a, set)));
    }

    fn choices(&mut self) {
        let p = self.model.problem;
        let mut by_class: Vec<Option<Vec<u32>>> = vec![None; self.model.classes.len()];
        for (i, h) in p.holds.iter().enumerate() {
            let class = self.model.class_of[i].map(|c| c as usize);
            let picks = match class.and_then(|c| by_class[c].clone()) {
                Some(picks) => picks,
                None if h.choose.len() == 1 => Vec::new(),
                None => {
                    let picks: Vec<u32> = h.choose.iter().map(|_| self.built.engine.var(0, 1)).collect();
                    self.forbid(picks.iter().map(|&v| Atom::at_most(v, 0)).collect());
                    for (k, &x) in picks.iter().enumerate() {
                        for &y in &picks[..k] {
                            self.forbid(vec![Atom::at_least(x, 1), Atom::at_least(y, 1)]);
                        }
                    }
                    picks
                }
            };
            if let Some(c) = class {
                by_class[c] = Some(picks.clone());
            }
            self.built.choices.push(picks);
        }
    }

    /// The stretch of a hold, wherever it is chosen to be; `None` where nothing is held.
    fn span(&self, hold: usize) -> Option<Span> {
        let h = &self.model.problem.holds[hold];
        let moment = |x: Point| (x.activity.0, x.offset);
        let (to, others) = match self.model.fixed[hold] {
            _ if h.amount == 0 => return None,
            Some(length) if length <= 0 => return None,
            Some(length) => ((h.from.activity.0, h.from.offset + length), Vec::new()),
            None => {
                let (&first, others) = h.to.split_first()?;
                (moment(first), others.iter().map(|&t| moment(t)).collect())
            }
        };
        Some(Span { from: moment(h.from), to, others, guard: None })
    }

    fn holds(&mut self) {
        self.choices();
        let p = self.model.problem;
        // By pair of fixed stretches that take too much together.
        let mut apart: BTreeSet<(Stretch, Stretch)> = BTreeSet::new();
        let mut on: Vec<Vec<(Span, i32, u32)>> = vec![Vec::new(); p.resources.len()];
        for (i, h) in p.holds.iter().enumerate() {
            let Some(wherever) = self.span(i) else { continue };
            let mut open: Option<Allowed> = Some(Vec::new());
            for (k, r) in h.choose.iter().enumerate() {
                let guard = self.built.choices[i].get(k).map(|&v| Atom::at_least(v, 1));
                let resource = &p.resources[r.index()];
                if h.amount > resource.capacity {
                    self.forbid(guard.into_iter().collect());
                    continue;
                }
                let span = Span { guard, ..wherever.clone() };
                on[r.index()].push((span.clone(), h.amount, p.families[i]));
                let Some(c) = resource.calendar else {
                    open = None;
                    continue;
                };
                let calendar = &p.calendars[c.index()];
                if let (Some(length), Some(so_far)) = (self.model.fixed[i], open.take()) {
                    open = Some(union(so_far, allowed_starts(calendar, h.from.offset, length)));
                }
                if guard.is_some() || self.model.fixed[i].is_none() {
                    self.built.rules.push(Box::new(OffGaps { span, gaps: gaps(calendar) }));
                }
            }
            if let (Some(set), true) = (open, self.model.fixed[i].is_some()) {
                self.allow(h.from.activity.index(), &set);
            }
        }
        for (r, spans) in on.into_iter().enumerate() {
            let resource = &p.resources[r];
            for (k, x) in spans.iter().enumerate() {
                for y in &spans[..k] {
                    if x.1 + y.1 > resource.capacity
                        && let (Some(x), Some(y)) = (fixed(&x.0), fixed(&y.0))
                        && x.0 != y.0
                    {
                        apart.insert((x.min(y), x.max(y)));
                    }
                    let free = |a: u32, b: u32| {
                        let rows = resource.changeover.iter().filter(|c| c.0 == a && c.1 == b);
                        rows.map(|c| c.2).max().unwrap_or(0)
                    };
                    let (after_one, after_other) = (free(x.2, y.2), free(y.2, x.2));
                    if after_one > 0 || after_other > 0 {
                        let (one, other) = (x.0.clone(), y.0.clone());
                        self.built.rules.push(Box::new(Apart { one, other, after_one, after_other }));
                    }
                }
            }
            let all: i64 = spans.iter().map(|s| i64::from(s.1)).sum();
            if all > i64::from(resource.capacity) {
                let spans = spans.into_iter().map(|s| (s.0, s.1)).collect();
                self.built.rules.push(Box::new(Amounts::new(spans, resource.capacity.into())));
            }
        }
        self.pools();
        let mut partners: BTreeMap<Stretch, Vec<Stretch>> = BTreeMap::new();
        for (x, y) in apart {
            partners.entry(x).or_default().push(y);
            partners.entry(y).or_default().push(x);
        }
        for (me, partners) in partners {
            self.built.rules.push(Box::new(OneAtATime { me, partners }));
        }
    }

    /// What is chosen from some resources is on some of them, whichever: their amounts add up before anything is chosen.
    fn pools(&mut self) {
        let p = self.model.problem;
        for set in pools(p).into_iter().filter(|s| s.len() > 1) {
            let capacity: i64 = set.iter().map(|r| i64::from(p.resources[r.index()].capacity)).sum();
            let mut spans = Vec::new();
            for (i, h) in p.holds.iter().enumerate() {
                if h.choose.iter().all(|r| set.contains(r)) {
                    spans.extend(self.span(i).map(|span| (span, h.amount)));
                }
            }
            if spans.iter().map(|s| i64::from(s.1)).sum::<i64>() > capacity {
                self.built.rules.push(Box::new(Amounts::new(spans, capacity)));
            }
        }
    }

    fn within(&mut self) {
        let p = self.model.problem;
        for w in &p.within {
            let calendar = &p.calendars[w.calendar.index()];
            let (a, b) = (w.from.activity, w.to.activity);
            if a == b {
                if w.from.offset < w.to.offset {
                    let set = allowed_starts(calendar, w.from.offset, w.to.offset - w.from.offset);
                    self.allow(a.index(), &set);
                }
            } else {
                let span = Span { from: (a.0, w.from.offset), to: (b.0, w.to.offset), others: vec![], guard: None };
                self.built.rules.push(Box::new(OffGaps { span, gaps: gaps(calendar) }));
            }
        }
    }

    fn holes(&mut self) {
        for (i, set) in std::mem::take(&mut self.allowed).into_iter().enumerate() {
            let Some(set) = set else { continue };
            let mut holes = Vec::new();
            let mut edge = Minute::MIN / 2;
            for (from, to) in set {
                if edge < from {
                    holes.push((edge, from));
                }
                edge = to + 1;
            }
            holes.push((edge, Minute::MAX / 2));
            self.built.rules.push(Box::new(Holes { var: i as u32, holes }));
        }
    }

    /// Every rule wakes when a bound it looks at moves, and once at the begin.
    fn wire(&mut self) {
        for (r, rule) in self.built.rules.iter_mut().enumerate() {
            let mut vars = rule.told(r);
            vars.sort_unstable();
            vars.dedup();
            for (v, part) in vars {
                for side in [2 * v, 2 * v + 1] {
                    self.built.engine.wakes[side as usize].push((r as u32, part));
                }
            }
            self.built.engine.queued.push(false);
            self.built.engine.touched.push(Vec::new());
            self.built.engine.effort.push(rule.effort());
        }
        for r in 0..self.built.rules.len() as u32 {
            self.built.engine.wake(r);
        }
    }
}
