//! A small lazy-clause-generation engine: integer bounds, a trail with reasons, nogoods learnt from conflicts.
//!
//! Every variable has two *sides*: side `2x` is its lower bound, side `2x + 1` its negated upper bound, so that every fact
//! is of one form, "side `s` is at least `v`", and bounds only ever rise. After Ohrimenko, Stuckey and Codish (2009) and
//! Schutt, Feydy, Stuckey and Wallace (2011); learning stops at the first unique implication point (Marques-Silva and
//! Sakallah, 1999), watching and activity are those of MiniSat (Een and Sorensson, 2003).

use super::heap::Heap;
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
pub(super) enum Why {
    Decision,
    /// `side + delta` gave it.
    Lag(Side, i32),
    Nogood(u32),
    /// A slice of the arena.
    Facts(u32, u32),
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

#[derive(Debug)]
pub(super) struct Nogood {
    pub(super) atoms: Vec<Atom>,
    pub(super) learnt: bool,
    pub(super) lbd: u32,
    pub(super) activity: f32,
}

#[derive(Debug, Clone, Copy)]
pub(super) struct Watch {
    pub(super) least: i32,
    pub(super) nogood: u32,
}

/// Facts that cannot all hold stand in [`Engine::conflict`].
#[derive(Debug)]
pub(super) struct Conflict;

pub(super) const NONE: u32 = u32::MAX;
pub(super) const UNSET: i32 = i32::MIN;

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
    pub(super) watches: Vec<Vec<Watch>>,
    pub(super) nogoods: Vec<Nogood>,
    pub(super) free: Vec<u32>,
    /// By side: rules to wake.
    pub wakes: Vec<Vec<u32>>,
    pub queue: std::collections::VecDeque<u32>,
    pub queued: Vec<bool>,
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
}

impl Engine {
    pub fn new() -> Self {
        Self { bump: 1.0, nogood_bump: 1.0, ..Self::default() }
    }

    pub fn var(&mut self, lo: i32, hi: i32) -> u32 {
        self.bound.extend([lo, -hi]);
        self.last.extend([NONE, NONE]);
        self.need.extend([UNSET, UNSET]);
        self.lags.extend([Vec::new(), Vec::new()]);
        self.watches.extend([Vec::new(), Vec::new()]);
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

    /// Raises a bound for a reason given as facts.
    pub fn set(&mut self, atom: Atom, facts: &[Atom]) -> Result<(), Conflict> {
        if self.holds(atom) {
            return Ok(());
        }
        let first = self.arena.len() as u32;
        self.arena.extend_from_slice(facts);
        self.raise(atom, Why::Facts(first, facts.len() as u32))
    }

    /// States facts that cannot all hold.
    pub fn fail(&mut self, facts: &[Atom]) -> Result<(), Conflict> {
        self.conflict.clear();
        self.conflict.extend_from_slice(facts);
        Err(Conflict)
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

    /// The facts from which an atom followed.
    pub(super) fn reason(&self, atom: Atom, why: Why, out: &mut Vec<Atom>) {
        match why {
            Why::Decision => {}
            Why::Lag(side, delta) => out.push(Atom { side, least: atom.least - delta }),
            Why::Nogood(n) => out.extend_from_slice(&self.nogoods[n as usize].atoms[1..]),
            Why::Facts(first, length) => {
                out.extend_from_slice(&self.arena[first as usize..(first + length) as usize]);
            }
        }
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
        while let Some(r) = self.queue.pop_front() {
            self.queued[r as usize] = false;
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
                let r = self.wakes[side][i];
                self.wake(r);
            }
            self.visit_watches(e)?;
        }
        Ok(())
    }

    pub fn wake(&mut self, rule: u32) {
        if !std::mem::replace(&mut self.queued[rule as usize], true) {
            self.queue.push_back(rule);
        }
    }

    fn visit_watches(&mut self, e: Entry) -> Result<(), Conflict> {
        let side = e.side as usize;
        let mut list = std::mem::take(&mut self.watches[side]);
        let mut kept = 0;
        let mut result = Ok(());
        let mut i = 0;
        while i < list.len() {
            let w = list[i];
            i += 1;
            list[kept] = w;
            kept += 1;
            if w.least <= e.old || w.least > e.new {
                continue;
            }
            let n = w.nogood as usize;
            let me = Atom { side: e.side, least: w.least };
            if self.nogoods[n].atoms[0] == me {
                self.nogoods[n].atoms.swap(0, 1);
            }
            let first = self.nogoods[n].atoms[0];
            if self.fails(first) {
                continue;
            }
            let next = (2..self.nogoods[n].atoms.len()).find(|&k| !self.holds(self.nogoods[n].atoms[k]));
            if let Some(k) = next {
                self.nogoods[n].atoms.swap(1, k);
                let a = self.nogoods[n].atoms[1];
                let watch = Watch { least: a.least, nogood: w.nogood };
                if a.side as usize == side {
                    list.push(watch);
                } else {
                    self.watches[a.side as usize].push(watch);
                }
                kept -= 1;
                continue;
            }
            if self.raise(first.not(), Why::Nogood(w.nogood)).is_err() {
                result = Err(Conflict);
                break;
            }
        }
        while i < list.len() {
            list[kept] = list[i];
            kept += 1;
            i += 1;
        }
        list.truncate(kept);
        debug_assert!(self.watches[side].is_empty());
        self.watches[side] = list;
        result
    }

    /// Adds facts that cannot all hold, at the root. `false` when that settles everything: nothing can hold any more.
    pub fn forbid(&mut self, mut atoms: Vec<Atom>) -> bool {
        atoms.retain(|a| !self.holds(*a));
        // Of two facts on one side the higher says it all.
        atoms.sort_unstable_by_key(|a| (a.side, std::cmp::Reverse(a.least)));
        atoms.dedup_by_key(|a| a.side);
        if atoms.iter().any(|a| self.fails(*a)) {
            return true;
        }
        match atoms.len() {
            0 => false,
            1 => self.set(atoms[0].not(), &[]).is_ok(),
            _ => {
                self.store(atoms, false, 0);
                true
            }
        }
    }

    pub(super) fn store(&mut self, atoms: Vec<Atom>, learnt: bool, lbd: u32) -> u32 {
        let n = self.free.pop().unwrap_or(self.nogoods.len() as u32);
        for a in &atoms[..2] {
            self.watches[a.side as usize].push(Watch { least: a.least, nogood: n });
        }
        self.learnt += usize::from(learnt);
        let new = Nogood { atoms, learnt, lbd, activity: self.nogood_bump };
        if n as usize == self.nogoods.len() {
            self.nogoods.push(new);
        } else {
            self.nogoods[n as usize] = new;
        }
        n
    }
}
