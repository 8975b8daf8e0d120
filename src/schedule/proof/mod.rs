//! Proof: level by level, is there anything better than the best known? By lazy clause generation.

mod asking;
mod build;
mod engine;
mod heap;
mod learn;
mod neighbourhood;
mod objective;
mod rules;

use super::search::model::Model;
use super::{Minute, Solution, cost};
use asking::Asking;
use build::Built;
use engine::{Atom, Conflict};

/// What a run of the engine came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Status {
    Found,
    /// Nothing satisfies the assumptions.
    Refuted,
    Stopped,
}

/// Conflicts until the first restart, the unit of Luby's sequence.
const RESTART: u64 = 250;
/// Learnt nogoods kept.
const MOST_LEARNT: usize = 20_000;

pub(crate) struct Prover<'m, 'a> {
    model: &'m Model<'a>,
    built: Built,
    /// By variable: the value it had in the best solution.
    phase: Vec<Option<i32>>,
    /// Decide against the best solution rather than for it. Where another part of the search finds, and lags have no
    /// longest, this refutes sooner; elsewhere the engine itself has to find (measured on the published sets).
    contrary: bool,
    restart: u64,
    asking: Asking,
    /// How many levels are proven best, from the first.
    pub levels_proven: usize,
    /// By level: a true lower bound given the levels before it.
    pub bound: Vec<i64>,
    pub impossible: bool,
    /// An answer of the engine failed the check: nothing more is claimed.
    broken: bool,
}

/// 1, 1, 2, 1, 1, 2, 4, ... (Luby, Sinclair and Zuckerman, 1993).
fn luby(mut i: u64) -> u64 {
    loop {
        let mut k = 1;
        while (1u64 << k) - 1 < i + 1 {
            k += 1;
        }
        if (1u64 << k) - 1 == i + 1 {
            return 1 << (k - 1);
        }
        i = i + 1 - (1u64 << (k - 1));
    }
}

impl<'m, 'a> Prover<'m, 'a> {
    /// `None` when the problem has rules the engine cannot express, or is too large to be worth it.
    pub fn new(model: &'m Model<'a>) -> Option<Self> {
        if model.lo.len() > 3_000 || model.problem.holds.iter().map(|h| h.choose.len()).sum::<usize>() > 20_000 {
            return None;
        }
        let built = build::build(model)?;
        let vars = built.engine.bound.len() / 2;
        let levels = model.problem.levels.len();
        let impossible = built.dead;
        Some(Self {
            model,
            built,
            phase: vec![None; vars],
            contrary: levels == 1 && model.problem.lags.iter().all(|l| l.least >= 0),
            restart: 0,
            asking: Asking::new(levels == 1),
            levels_proven: 0,
            bound: vec![0; levels],
            impossible,
            broken: false,
        })
    }

    fn fixpoint(&mut self) -> Result<(), Conflict> {
        loop {
            self.built.engine.propagate()?;
            let Some(r) = self.built.engine.next_rule() else { return Ok(()) };
            self.built.engine.queued[r as usize] = false;
            self.built.rules[r as usize].run(&mut self.built.engine)?;
        }
    }

    /// Searches under assumptions until found, refuted or stopped. `nodes` counts conflicts and decisions.
    fn run(&mut self, assumptions: &[Atom], nodes: &mut u64, stop: &mut dyn FnMut(u64) -> bool) -> Status {
        self.run_within(assumptions, nodes, stop, u64::MAX)
    }

    /// The same, given up after so many conflicts of the engine in all.
    fn run_within(
        &mut self,
        assumptions: &[Atom],
        nodes: &mut u64,
        stop: &mut dyn FnMut(u64) -> bool,
        given_up: u64,
    ) -> Status {
        self.built.engine.backtrack(0);
        self.built.engine.assumed = 0;
        let mut until = self.built.engine.conflicts + RESTART * luby(self.restart);
        loop {
            if self.fixpoint().is_err() {
                if !self.built.engine.learn() {
                    self.impossible = true;
                    return Status::Refuted;
                }
                *nodes += 1;
                if stop(*nodes) || self.built.engine.conflicts >= given_up {
                    return Status::Stopped;
                }
                continue;
            }
            let level = self.built.engine.level() as usize;
            if self.built.engine.conflicts >= until && level > assumptions.len() {
                self.restart += 1;
                until = self.built.engine.conflicts + RESTART * luby(self.restart);
                self.built.engine.backtrack(0);
                self.built.engine.reduce(MOST_LEARNT);
                continue;
            }
            if let Some(&a) = assumptions.get(level) {
                if self.built.engine.fails(a) {
                    return Status::Refuted;
                }
                if level == 0 {
                    let alone = assumptions.len() == 1 && !self.built.engine.holds(a);
                    self.built.engine.assumed = u32::from(alone);
                }
                self.built.engine.decide(a);
                continue;
            }
            let Some(a) = self.choose() else { return Status::Found };
            *nodes += 1;
            if nodes.is_multiple_of(16) && stop(*nodes) {
                return Status::Stopped;
            }
            self.built.engine.decide(a);
        }
    }

    fn choose(&mut self) -> Option<Atom> {
        let e = &mut self.built.engine;
        if let Some(a) = e.most_active() {
            // Facts in the pool are of the form "at least v".
            let keep = self.contrary != self.phase[a.side as usize / 2].is_some_and(|p| p >= a.least);
            return Some(if keep { a } else { a.not() });
        }
        let n = self.model.lo.len() as u32;
        let open = (0..n).filter(|&x| e.lo(x) < e.hi(x)).min_by_key(|&x| (e.lo(x), e.hi(x)));
        if let Some(x) = open {
            let (lo, hi) = (e.lo(x), e.hi(x));
            return Some(match self.phase[x as usize] {
                Some(p) if lo < p && p <= hi => Atom::at_least(x, p),
                _ => Atom::at_most(x, lo),
            });
        }
        let pick = self.built.choices.iter().flatten().find(|&&v| e.lo(v) < e.hi(v)).copied()?;
        Some(Atom::at_least(pick, i32::from(self.phase[pick as usize] != Some(0))))
            .map(|a| if a.least == 1 { a } else { Atom::at_most(pick, 0) })
    }

    fn extract(&self) -> Solution {
        let e = &self.built.engine;
        let starts: Vec<Minute> = (0..self.model.lo.len() as u32).map(|x| e.lo(x)).collect();
        let chosen =
            self.built.choices.iter().map(|picks| picks.iter().position(|&v| e.lo(v) == 1).unwrap_or(0) as u32);
        Solution { starts, chosen: chosen.collect() }
    }

    fn remember(&mut self, s: &Solution) {
        for (p, &v) in self.phase.iter_mut().zip(&s.starts) {
            *p = Some(v);
        }
        for (picks, &k) in self.built.choices.iter().zip(&s.chosen) {
            for (i, &v) in picks.iter().enumerate() {
                self.phase[v as usize] = Some(i32::from(i as u32 == k));
            }
        }
    }

    /// Goes on proving from the best known solution until every level is settled or `stop` says so. Better solutions go to
    /// `better`; `best` is the best known before and after.
    pub fn prove(
        &mut self,
        best: &mut Option<(Solution, Vec<i64>)>,
        nodes: &mut u64,
        stop: &mut dyn FnMut(u64) -> bool,
        better: &mut dyn FnMut(&Solution, &[i64], u64),
    ) {
        if let Some((s, _)) = best {
            let s = s.clone();
            self.remember(&s);
        }
        while !self.impossible && !self.broken {
            let (mut assume, mut effort) = (Vec::new(), None);
            if let Some((_, costs)) = best {
                let Some(&total) = self.built.levels.get(self.levels_proven) else { return };
                let now = costs[self.levels_proven];
                if now > 1 << 28 || !self.limit(total, now) {
                    return;
                }
                let bound = self.bound[self.levels_proven];
                assume.push(Atom::at_most(total, self.asking.target(now, bound) as i32));
                effort = self.asking.effort(now, bound);
            }
            let by_step = effort.is_none() && best.is_some();
            let given_up = effort.map_or(u64::MAX, |e| self.built.engine.conflicts + e);
            let kept = self.contrary;
            self.contrary |= by_step && self.asking.against();
            let status = self.run_within(&assume, nodes, stop, given_up);
            self.contrary = kept;
            match status {
                Status::Stopped if stop(*nodes) => {
                    if by_step {
                        self.asking.step_stopped();
                    }
                    self.note_bound();
                    return;
                }
                Status::Stopped => self.asking.given_up(),
                Status::Found => {
                    let s = self.extract();
                    let costs = cost(self.model.problem, &s);
                    let sound = super::check(self.model.problem, &s).is_empty();
                    if !sound || best.as_ref().is_some_and(|b| costs >= b.1) {
                        debug_assert!(
                            false,
                            "the engine's answer must be sound and better: {sound} {costs:?} {best:?}"
                        );
                        self.broken = true;
                        return;
                    }
                    self.asking.found();
                    self.built.engine.backtrack(0);
                    self.remember(&s);
                    better(&s, &costs, *nodes);
                    *best = Some((s, costs));
                }
                Status::Refuted => {
                    let Some((_, costs)) = best else {
                        self.impossible = true;
                        return;
                    };
                    if self.impossible {
                        // A contradiction at the root while a sound solution is known: claim nothing.
                        debug_assert!(false, "the engine refutes a problem with a known solution");
                        self.impossible = false;
                        self.broken = true;
                        return;
                    }
                    // Refuted: nothing costs as little. That may be far below the best known, or just below it.
                    let now = costs[self.levels_proven];
                    let least = self.asking.target(now, self.bound[self.levels_proven]) + 1;
                    self.asking.refuted();
                    self.bound[self.levels_proven] = least;
                    let total = self.built.levels[self.levels_proven];
                    self.built.engine.backtrack(0);
                    let kept = self.built.engine.set(Atom::at_least(total, least as i32), &[]).is_ok();
                    if least < now {
                        if kept {
                            continue;
                        }
                        return;
                    }
                    self.levels_proven += 1;
                    self.asking.next_level();
                    if !kept || self.levels_proven == self.model.problem.levels.len() {
                        return;
                    }
                }
            }
        }
    }

    /// Nothing dearer than the best known is of interest: a level's rules wake by this. `false` when the root breaks.
    fn limit(&mut self, total: u32, now: i64) -> bool {
        self.built.engine.backtrack(0);
        let kept = self.built.engine.set(Atom::at_most(total, now as i32), &[]).is_ok() && self.fixpoint().is_ok();
        // The best known itself satisfies it.
        debug_assert!(kept, "the best known is within its own cost");
        self.broken |= !kept;
        let bound = &mut self.bound[self.levels_proven];
        *bound = (*bound).max(i64::from(self.built.engine.lo(total)));
        kept
    }

    /// What the root knows about the level being worked on.
    fn note_bound(&mut self) {
        self.built.engine.backtrack(0);
        if self.fixpoint().is_ok()
            && let Some(&total) = self.built.levels.get(self.levels_proven)
        {
            let lo = i64::from(self.built.engine.lo(total));
            let b = &mut self.bound[self.levels_proven];
            *b = (*b).max(lo);
        }
    }
}
