//! From the levels of a problem to the rules on what they cost.

use super::build::Builder;
use super::engine::Atom;
use super::hours::{Between, Inside};
use super::objective::{MOST_COST, Part, SpellCount, Sum};
use super::queues::{Queues, Work};
use super::tension::{Slopes, Tension};
use crate::schedule::search::model::term_activities;
use crate::schedule::search::spells::{NeverTogether, longest_way};
use crate::schedule::{Point, Term};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

impl Builder<'_, '_> {
    pub(super) fn levels(&mut self) {
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
                    self.built.rules.push(Box::new(Sum::new(of, of_block)));
                    parts.push(Part::Point { x: of, offset: 0, weight: 1 });
                } else {
                    parts.extend(of_block);
                }
            }
            self.built.rules.push(Box::new(Sum::new(total, parts)));
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
                let root = vec![(0, usize::MAX); starts.len()];
                let apart = NeverTogether::new(self.model, &starts, &calendar.open);
                self.built.rules.push(Box::new(SpellCount {
                    total,
                    count,
                    starts,
                    calendar,
                    used,
                    seen,
                    root,
                    apart,
                    counted: Default::default(),
                }));
                Part::Point { x: count, offset: 0, weight }
            }
        })
    }
}
