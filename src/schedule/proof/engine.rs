//! A small lazy-clause-generation engine: integer bounds, a trail with reasons, nogoods learnt from conflicts.
//!
//! Every variable has two *sides*: side `2x` is its lower bound, side `2x + 1` its negated upper bound, so that every fact
//! is of one form, "side `s` is at least `v`", and bounds only ever rise. After Ohrimenko, Stuckey and Codish (2009) and
//! Schutt, Feydy, Stuckey and Wallace (2011); learning stops at the first unique implication point (Marques-Silva and
//! Sakallah, 1999), watching and activity are those of MiniSat (Een and Sorensson, 2003).

use super::heap::Heap;
use super::reasons::Why;
use std::collections::HashMap;

pub(super) type Side = u32;

/// The fact that a side is at least a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct Atom {
    pub side: Side,
    pub least: i32,
}

impl Atom {
    pub fn at_least(var: u32, v: i32) -> Self {
        Self { side: 2 * var, least: v }
    }
    pub fn at_most(var: u32, v: i32) -> Self {
        Self { side: 2 * var + 1, least: -v }
    }
    pub fn not(self) -> Self {
        Self { side: self.side ^ 1, least: 1 - self.least }
    }
}

#[derive(Debug, Clone, Copy)]
pub(super) struct Entry {
    pub(super) side: Side,
    pub(super) old: i32,
    pub(super) new: i32,
    pub(super) level: u32,
    pub(super) previous: u32,
    pub(super) why: Why,
}

/// Facts that cannot all hold together; they stand in [`Engine::facts`], after a header.
#[derive(Debug, Clone, Copy)]
pub(super) struct Nogood {
    /// Where its header stands.
    pub(super) at: u32,
    pub(super) learnt: bool,
    pub(super) lbd: u32,
    pub(super) activity: f32,
}

/// One of the two facts that a nogood waits for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Watch {
    /// Where the nogood's header stands.
    at: u32,
    /// Another fact of the nogood: while it is false the nogood need not be looked at.
    other: Atom,
}

/// What waits on one side, by the value it waits for: a bound that rises wakes the values it passes and no others.
#[derive(Debug, Default)]
pub(super) struct Waiting {
    /// Ascending, as long as `lists`. Empty on a side of few values, where each has a list.
    values: Vec<i32>,
    lists: Vec<Vec<Watch>>,
    /// The value of the first list, on a side of few values.
    first: Option<i32>,
}

impl Waiting {
    /// A side of more values than this keeps lists only for those that something waits for.
    const FEW: i64 = 1_000;

    fn new(lo: i32, hi: i32) -> Self {
        let few = i64::from(hi) - i64::from(lo) <= Self::FEW;
        Self { first: few.then_some(lo), ..Self::default() }
    }

    fn add(&mut self, least: i32, watch: Watch) {
        let k = match self.first {
            Some(first) => {
                let k = (least - first) as usize;
                if k >= self.lists.len() {
                    self.lists.resize_with(k + 1, Vec::new);
                }
                k
            }
            None => self.values.binary_search(&least).unwrap_or_else(|k| {
                self.values.insert(k, least);
                self.lists.insert(k, Vec::new());
                k
            }),
        };
        self.lists[k].push(watch);
    }

    /// Places of the values passed by a rise.
    fn passed(&self, old: i32, new: i32) -> std::ops::Range<usize> {
        match self.first {
            Some(first) => {
                let place = |v: i32| ((v - first + 1) as usize).min(self.lists.len());
                place(old)..place(new)
            }
            None => self.values.partition_point(|&v| v <= old)..self.values.partition_point(|&v| v <= new),
        }
    }

    fn value(&self, place: usize) -> i32 {
        self.first.map_or_else(|| self.values[place], |first| first + place as i32)
    }

    /// Drops all of it.
    pub(super) fn clear(&mut self) {
        self.values.clear();
        self.lists.clear();
    }
}

/// How long a rule takes: it waits until the quicker ones have nothing to say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Effort {
    Little,
    Some,
    Much,
    Most,
}

/// Facts that cannot all hold stand in [`Engine::conflict`].
#[derive(Debug)]
pub(super) struct Conflict;

pub(super) const NONE: u32 = u32::MAX;
pub(super) const UNSET: i32 = i32::MIN;

/// Where more parts of a rule have moved, it looks at all of them.
pub(super) const MOST_TOUCHED: usize = 12;

/// What stands before a nogood that is told.
pub(super) fn header(lbd: u32, atoms: &[Atom]) -> std::iter::Once<Atom> {
    std::iter::once(Atom { side: lbd, least: atoms.len() as i32 })
}

#[derive(Default)]
pub(super) struct Engine {
    pub bound: Vec<i32>,
    pub(super) last: Vec<u32>,
    pub(super) trail: Vec<Entry>,
    pub(super) arena: Vec<Atom>,
    /// By level: length of trail and arena at its begin.
    pub(super) marks: Vec<(usize, usize)>,
    pub(super) head: usize,
    pub(super) lags: Vec<Vec<(Side, i32)>>,
    pub(super) watches: Vec<Waiting>,
    pub(super) nogoods: Vec<Nogood>,
    /// The facts of all nogoods end to end; before each nogood's a header: its number as side, its length as value. So a
    /// visit touches one place in memory.
    pub(super) facts: Vec<Atom>,
    /// By side: rules to wake, each with its part that the side is of, where it wants to be told.
    pub wakes: Vec<Vec<(u32, u32)>>,
    /// By rule: the parts whose bounds have moved since it last ran.
    pub touched: Vec<Vec<u32>>,
    /// How often bounds were taken back: what a rule keeps of them is not true any more then.
    pub taken_back: u64,
    /// Rules that wait to be run, the quick ones before those that take long.
    pub queues: [std::collections::VecDeque<u32>; 4],
    pub queued: Vec<bool>,
    /// By rule: in which queue it waits.
    pub effort: Vec<Effort>,
    pub conflict: Vec<Atom>,
    pub(super) need: Vec<i32>,
    pub(super) needed: Vec<Side>,
    pub(super) pool: Vec<Atom>,
    pub(super) pool_index: HashMap<Atom, u32>,
    pub heap: Heap,
    pub(super) parked: Vec<(u32, u32)>,
    pub(super) bump: f64,
    pub(super) nogood_bump: f32,
    pub(super) learnt: usize,
    pub conflicts: u64,
    /// What was learnt since it was last told, for a second prover of the same problem: nogoods end to end, before each a
    /// header of its levels as side and its length as value. `None` while there is nobody to tell.
    pub untold: Option<Vec<Atom>>,
    /// By variable: where it would cost least as far as a rule can tell; carried over.
    pub hint: Vec<Option<i32>>,
    /// 1 when the first level is an assumption: what follows from it alone is learnt as the assumption itself.
    pub assumed: u32,
}

impl Engine {
    pub fn new() -> Self {
        Self { bump: 1.0, nogood_bump: 1.0, ..Self::default() }
    }

    pub fn var(&mut self, lo: i32, hi: i32) -> u32 {
        self.bound.extend([lo, -hi]);
        self.last.extend([NONE, NONE]);
        self.hint.push(None);
        self.need.extend([UNSET, UNSET]);
        self.lags.extend([Vec::new(), Vec::new()]);
        self.watches.extend([Waiting::new(lo, hi), Waiting::new(-hi, -lo)]);
        self.wakes.extend([Vec::new(), Vec::new()]);
        self.bound.len() as u32 / 2 - 1
    }

    pub fn lo(&self, var: u32) -> i32 {
        self.bound[2 * var as usize]
    }
    pub fn hi(&self, var: u32) -> i32 {
        -self.bound[2 * var as usize + 1]
    }
    pub fn holds(&self, a: Atom) -> bool {
        self.bound[a.side as usize] >= a.least
    }
    pub fn fails(&self, a: Atom) -> bool {
        self.holds(a.not())
    }
    pub fn level(&self) -> u32 {
        self.marks.len() as u32
    }

    /// `to >= from + least`, for good.
    pub fn add_lag(&mut self, from: u32, to: u32, least: i32) {
        self.lags[2 * from as usize].push((2 * to, least));
        self.lags[2 * to as usize + 1].push((2 * from + 1, least));
    }

    pub(super) fn raise(&mut self, atom: Atom, why: Why) -> Result<(), Conflict> {
        let old = self.bound[atom.side as usize];
        if old >= atom.least {
            return Ok(());
        }
        if self.fails(atom) {
            self.conflict.clear();
            let mut facts = std::mem::take(&mut self.conflict);
            self.reason(atom, why, &mut facts);
            facts.push(atom.not());
            self.conflict = facts;
            return Err(Conflict);
        }
        let entry = Entry {
            side: atom.side,
            old,
            new: atom.least,
            level: self.level(),
            previous: self.last[atom.side as usize],
            why,
        };
        self.last[atom.side as usize] = self.trail.len() as u32;
        self.bound[atom.side as usize] = atom.least;
        self.trail.push(entry);
        Ok(())
    }

    pub fn decide(&mut self, atom: Atom) {
        self.marks.push((self.trail.len(), self.arena.len()));
        // A decision is never taken on what is settled.
        let _ = self.raise(atom, Why::Decision);
    }

    pub fn backtrack(&mut self, level: u32) {
        if self.level() <= level {
            return;
        }
        self.taken_back += 1;
        let (trail, arena) = self.marks[level as usize];
        self.marks.truncate(level as usize);
        while self.trail.len() > trail {
            if let Some(e) = self.trail.pop() {
                self.bound[e.side as usize] = e.old;
                self.last[e.side as usize] = e.previous;
            }
        }
        self.arena.truncate(arena);
        self.head = trail;
        while let Some(r) = self.next_rule() {
            self.queued[r as usize] = false;
            self.touched[r as usize].clear();
        }
        while let Some(&(at, k)) = self.parked.last()
            && at > level
        {
            self.parked.pop();
            self.heap.insert(k);
        }
    }

    /// Carries bounds along lags and nogoods until nothing moves; wakes rules on the way.
    pub fn propagate(&mut self) -> Result<(), Conflict> {
        while self.head < self.trail.len() {
            let e = self.trail[self.head];
            self.head += 1;
            let side = e.side as usize;
            for i in 0..self.lags[side].len() {
                let (to, delta) = self.lags[side][i];
                self.raise(Atom { side: to, least: e.new + delta }, Why::Lag(e.side, delta))?;
            }
            for i in 0..self.wakes[side].len() {
                let (rule, part) = self.wakes[side][i];
                if part != NONE {
                    let touched = &mut self.touched[rule as usize];
                    if touched.len() < MOST_TOUCHED {
                        touched.push(part);
                    }
                }
                self.wake(rule);
            }
            self.visit_watches(e)?;
        }
        Ok(())
    }

    pub fn wake(&mut self, rule: u32) {
        if !std::mem::replace(&mut self.queued[rule as usize], true) {
            self.queues[self.effort[rule as usize] as usize].push_back(rule);
        }
    }

    /// The next rule that was woken.
    pub fn next_rule(&mut self) -> Option<u32> {
        self.queues.iter_mut().find_map(std::collections::VecDeque::pop_front)
    }

    fn visit_watches(&mut self, e: Entry) -> Result<(), Conflict> {
        let side = e.side as usize;
        for k in self.watches[side].passed(e.old, e.new) {
            // A nogood has one fact a side, so nothing is added to this list meanwhile.
            let mut list = std::mem::take(&mut self.watches[side].lists[k]);
            let result = self.visit(Atom { side: e.side, least: self.watches[side].value(k) }, &mut list);
            self.watches[side].lists[k] = list;
            result?;
        }
        Ok(())
    }

    /// The other fact a nogood waits for beside `me`, put first, and the next to wait for in place of `me`, if one is left
    /// that does not hold.
    fn first_and_next(&mut self, at: u32, me: Atom) -> (Atom, Option<Atom>) {
        let from = at as usize + 1;
        let length = self.facts[at as usize].least as usize;
        let atoms = &mut self.facts[from..from + length];
        if atoms[0] == me {
            atoms.swap(0, 1);
        }
        let first = atoms[0];
        let bound = &self.bound;
        if bound[(first.side ^ 1) as usize] >= 1 - first.least {
            // False: the nogood is content.
            return (first, None);
        }
        let next = (2..atoms.len()).find(|&j| bound[atoms[j].side as usize] < atoms[j].least);
        next.map_or((first, None), |j| {
            atoms.swap(1, j);
            (first, Some(atoms[1]))
        })
    }

    /// Looks at what waited for `me`, which is now true.
    fn visit(&mut self, me: Atom, list: &mut Vec<Watch>) -> Result<(), Conflict> {
        let (mut kept, mut i) = (0, 0);
        let mut result = Ok(());
        while i < list.len() {
            let w = list[i];
            i += 1;
            list[kept] = w;
            kept += 1;
            if self.fails(w.other) {
                continue;
            }
            let (first, next) = self.first_and_next(w.at, me);
            list[kept - 1].other = first;
            if first != w.other && self.fails(first) {
                continue;
            }
            if let Some(a) = next {
                self.watches[a.side as usize].add(a.least, Watch { at: w.at, other: first });
                kept -= 1;
                continue;
            }
            if self.raise(first.not(), Why::Nogood(w.at)).is_err() {
                result = Err(Conflict);
                break;
            }
        }
        list.copy_within(i.., kept);
        list.truncate(kept + list.len() - i);
        result
    }

    /// Adds facts that cannot all hold, at the root. `false` when that settles everything: nothing can hold any more.
    pub fn forbid(&mut self, mut atoms: Vec<Atom>) -> bool {
        // Of two facts on one side the higher says it all.
        atoms.sort_unstable_by_key(|a| (a.side, std::cmp::Reverse(a.least)));
        atoms.dedup_by_key(|a| a.side);
        self.add(atoms, false, 0)
    }

    /// The same of facts on a side each.
    fn add(&mut self, mut atoms: Vec<Atom>, learnt: bool, lbd: u32) -> bool {
        atoms.retain(|a| !self.holds(*a));
        if atoms.iter().any(|a| self.fails(*a)) {
            return true;
        }
        match atoms.len() {
            0 => false,
            1 => self.set(atoms[0].not(), &[]).is_ok(),
            _ => {
                self.store(&atoms, learnt, lbd);
                true
            }
        }
    }

    /// The facts of the nogood whose header stands at `at`.
    pub(super) fn nogood(&self, at: u32) -> &[Atom] {
        let from = at as usize + 1;
        &self.facts[from..from + self.facts[at as usize].least as usize]
    }

    /// Keeps a nogood of two facts or more; where its header stands.
    pub(super) fn store(&mut self, atoms: &[Atom], learnt: bool, lbd: u32) -> u32 {
        debug_assert!((1..atoms.len()).all(|k| atoms[..k].iter().all(|a| a.side != atoms[k].side)), "one fact a side");
        let at = self.facts.len() as u32;
        self.facts.push(Atom { side: self.nogoods.len() as u32, least: atoms.len() as i32 });
        self.facts.extend_from_slice(atoms);
        self.learnt += usize::from(learnt);
        self.nogoods.push(Nogood { at, learnt, lbd, activity: self.nogood_bump });
        self.watch(at);
        at
    }

    /// What is learnt and still kept, as in [`Engine::untold`].
    pub fn all_learnt(&self) -> Vec<Atom> {
        let learnt = self.nogoods.iter().filter(|n| n.learnt);
        learnt.flat_map(|n| header(n.lbd, self.nogood(n.at)).chain(self.nogood(n.at).iter().copied())).collect()
    }

    /// Takes nogoods that another prover of the same problem learnt, at the root. `false` when nothing can hold any more.
    pub fn take_learnt(&mut self, mut told: &[Atom]) -> bool {
        while let Some((head, rest)) = told.split_first() {
            let (nogood, rest) = rest.split_at(head.least as usize);
            told = rest;
            if !self.add(nogood.to_vec(), true, head.side) {
                return false;
            }
        }
        true
    }

    pub(super) fn watch(&mut self, at: u32) {
        let (one, two) = (self.facts[at as usize + 1], self.facts[at as usize + 2]);
        self.watches[one.side as usize].add(one.least, Watch { at, other: two });
        self.watches[two.side as usize].add(two.least, Watch { at, other: one });
    }
}
