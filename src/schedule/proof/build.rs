//! From a problem to variables, nogoods and rules.

use super::amounts::Amounts;
use super::engine::{Atom, Engine};
use super::hours::{Between, Inside};
use super::objective::{MOST_COST, Part, SpellCount, Sum};
use super::queues::{Queues, Work};
use super::rules::{Apart, Holes, OffGaps, OneAtATime, Rule, Span};
use super::tension::{Slopes, Tension};
use crate::schedule::search::load::pools;
use crate::schedule::search::model::{Model, term_activities};
use crate::schedule::search::spells::{NeverTogether, longest_way};
use crate::schedule::{Calendar, Minute, Point, ResourceId, Term};
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

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
    let alone = span.guard.is_none() && span.to.len() == 1 && span.to[0].0 == span.from.0;
    alone.then(|| (span.from.0, span.from.1, span.to[0].1 - span.from.1))
}

struct Builder<'m, 'a> {
    model: &'m Model<'a>,
    built: Built,
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
    fn forbid(&mut self, atoms: Vec<Atom>) {
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

    fn holds(&mut self) {
        self.choices();
        let p = self.model.problem;
        // By pair of fixed stretches that take too much together.
        let mut apart: BTreeSet<(Stretch, Stretch)> = BTreeSet::new();
        let mut on: Vec<Vec<(Span, i32, u32)>> = vec![Vec::new(); p.resources.len()];
        for (i, h) in p.holds.iter().enumerate() {
            if h.amount == 0 || self.model.fixed[i].is_some_and(|l| l <= 0) {
                continue;
            }
            let moment = |x: Point| (x.activity.0, x.offset);
            let mut to: Vec<(u32, i32)> = h.to.iter().map(|&t| moment(t)).collect();
            if let Some(length) = self.model.fixed[i] {
                to = vec![(h.from.activity.0, h.from.offset + length)];
            }
            let mut open: Option<Allowed> = Some(Vec::new());
            for (k, r) in h.choose.iter().enumerate() {
                let guard = self.built.choices[i].get(k).map(|&v| Atom::at_least(v, 1));
                let resource = &p.resources[r.index()];
                if h.amount > resource.capacity {
                    self.forbid(guard.into_iter().collect());
                    continue;
                }
                let span = Span { from: moment(h.from), to: to.clone(), guard };
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
                self.built.rules.push(Box::new(Amounts::new(spans, resource.capacity)));
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
                if h.amount == 0
                    || self.model.fixed[i].is_some_and(|l| l <= 0)
                    || !h.choose.iter().all(|r| set.contains(r))
                {
                    continue;
                }
                let moment = |x: Point| (x.activity.0, x.offset);
                let to = match self.model.fixed[i] {
                    Some(length) => vec![(h.from.activity.0, h.from.offset + length)],
                    None => h.to.iter().map(|&t| moment(t)).collect(),
                };
                spans.push((Span { from: moment(h.from), to, guard: None }, h.amount));
            }
            if spans.iter().map(|s| i64::from(s.1)).sum::<i64>() > capacity {
                self.built.rules.push(Box::new(Amounts::new(spans, capacity as i32)));
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
                let span = Span { from: (a.0, w.from.offset), to: vec![(b.0, w.to.offset)], guard: None };
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

    fn levels(&mut self) {
        let p = self.model.problem;
        for level in &p.levels {
            let total = self.built.engine.var(0, MOST_COST as i32);
            // What a block costs has a variable of its own: facts about it are short, and hold wherever the rest stands.
            let mut by_block: BTreeMap<Option<u32>, Vec<Part>> = BTreeMap::new();
            for term in &level.terms {
                let Some(part) = self.part(term, total) else { return };
                let block = term_activities(term)[0].map(|a| self.model.block_of[a as usize]);
                by_block.entry(block).or_default().push(part);
            }
            let mut parts = Vec::new();
            let mut blocks = Vec::new();
            let slopes: Rc<RefCell<Slopes>> = Rc::default();
            let several = by_block.len() > 1;
            for (block, of_block) in by_block {
                let Some(block) = block.filter(|_| of_block.len() > 1) else {
                    parts.extend(of_block);
                    continue;
                };
                let of = if several { self.built.engine.var(0, MOST_COST as i32) } else { total };
                self.tension((total, of), &of_block, block, &slopes);
                blocks.push(of);
                if several {
                    self.built.rules.push(Box::new(Sum { total: of, parts: of_block }));
                    parts.push(Part::Point { x: of, offset: 0, weight: 1 });
                } else {
                    parts.extend(of_block);
                }
            }
            self.built.rules.push(Box::new(Sum { total, parts }));
            let lines = self.lines();
            if !slopes.borrow().is_empty() && !lines.is_empty() {
                self.built.rules.push(Box::new(Queues { total, blocks, slopes, lines }));
            }
            self.built.levels.push(total);
        }
    }

    /// By resource that takes one at a time: what is done on it.
    fn lines(&self) -> Vec<Vec<Work>> {
        let p = self.model.problem;
        let mut lines = Vec::new();
        for (r, _) in p.resources.iter().enumerate().filter(|(_, r)| r.capacity == 1) {
            let mut line: Vec<Work> = Vec::new();
            for (i, h) in p.holds.iter().enumerate().filter(|(_, h)| h.amount > 0) {
                let Some(k) = h.choose.iter().position(|c| c.index() == r) else { continue };
                let Some(length) = self.model.fixed[i].filter(|&l| l > 0) else { continue };
                let (x, offset) = (h.from.activity.0, h.from.offset);
                let guard = self.built.choices[i].get(k).map(|&v| Atom::at_least(v, 1));
                if line.iter().all(|w| w.x != x) {
                    line.push(Work { x, offset, length, guard });
                }
            }
            if line.len() > 1 {
                lines.push(line);
            }
        }
        lines
    }

    /// What the stretches of a block cost together.
    fn tension(&mut self, of: (u32, u32), parts: &[Part], block: u32, slopes: &Rc<RefCell<Slopes>>) {
        let inside = |a: u32| self.model.block_of[a as usize] == block;
        let lags: Vec<(u32, u32, i32)> = (self.model.problem.lags.iter())
            .filter(|l| inside(l.from.0) && inside(l.to.0))
            .map(|l| (l.from.0, l.to.0, l.least))
            .collect();
        if let Some(rule) = Tension::new(of, parts, &lags, &self.built.engine, slopes) {
            self.built.rules.push(Box::new(rule));
        }
    }

    /// What a term adds to the cost of its level, `total`.
    fn part(&mut self, term: &Term, total: u32) -> Option<Part> {
        let point =
            |p: Point, offset: i32, weight: i64| Part::Point { x: p.activity.0, offset: p.offset + offset, weight };
        let gap = |from: Point, to: Point, more: i32, weight: i64| {
            let offset = to.offset - from.offset + more;
            if from.activity == to.activity {
                Part::Constant(i64::from(offset.max(0)) * weight)
            } else {
                Part::Gap { from: from.activity.0, to: to.activity.0, offset, weight }
            }
        };
        Some(match *term {
            Term::Late { point: x, due, weight } => point(x, -due, weight),
            Term::ShortOfSpare { point: x, due, want, weight } => point(x, want - due, weight),
            Term::At { point: x, weight } => point(x, 0, weight),
            Term::Over { from, to, good, weight } => gap(from, to, -good, weight),
            // Short of good: the mirror image.
            Term::Under { from, to, good, weight } => gap(to, from, good, weight),
            Term::Length { from, to, weight } => gap(from, to, 0, weight),
            Term::Moved { activity, promised, weight } => {
                let moved = self.built.engine.var(0, 1);
                let x = activity.0;
                self.forbid(vec![Atom::at_most(moved, 0), Atom::at_least(x, promised + 1)]);
                self.forbid(vec![Atom::at_most(moved, 0), Atom::at_most(x, promised - 1)]);
                Part::Point { x: moved, offset: 0, weight }
            }
            Term::Inside { calendar, from, to, weight } => {
                let calendar = self.model.problem.calendars[calendar.index()].clone();
                let (x, y) = (from.activity.0, to.activity.0);
                let apart = if x == y { Some(0) } else { longest_way(self.model, x, y) };
                let length = apart.map_or(0, |d| (d + to.offset - from.offset).max(0));
                let inside = Inside { x, offset: from.offset, length, calendar, weight };
                if x == y {
                    Part::Inside(inside)
                } else {
                    Part::Between(Between { from: (x, from.offset), to: (y, to.offset), shortest: inside })
                }
            }
            Term::Spells { calendar, ref activities, weight } => {
                let calendar = self.model.problem.calendars[calendar.index()].clone();
                // A start named twice in a gap counts twice; not worth a rule.
                let mut starts: Vec<u32> = activities.iter().map(|a| a.0).collect();
                starts.sort_unstable();
                if starts.windows(2).any(|w| w[0] == w[1]) {
                    return None;
                }
                let used = calendar.open.iter().map(|_| self.built.engine.var(0, 1)).collect();
                let count = self.built.engine.var(0, starts.len() as i32);
                let seen = vec![((0, -1), (0, 0)); starts.len()];
                let apart = NeverTogether::new(self.model, &starts, &calendar.open);
                self.built.rules.push(Box::new(SpellCount {
                    total,
                    count,
                    starts,
                    calendar,
                    used,
                    seen,
                    apart,
                    counted: Default::default(),
                }));
                Part::Point { x: count, offset: 0, weight }
            }
        })
    }

    /// Every rule wakes when a bound it looks at moves, and once at the begin.
    fn wire(&mut self) {
        for (r, rule) in self.built.rules.iter().enumerate() {
            let mut vars = rule.watches();
            vars.sort_unstable();
            vars.dedup();
            for v in vars {
                self.built.engine.wakes[2 * v as usize].push(r as u32);
                self.built.engine.wakes[2 * v as usize + 1].push(r as u32);
            }
            self.built.engine.queued.push(false);
            self.built.engine.effort.push(rule.effort());
        }
        for r in 0..self.built.rules.len() as u32 {
            self.built.engine.wake(r);
        }
    }
}
