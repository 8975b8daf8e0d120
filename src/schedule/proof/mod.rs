//! Proof: level by level, is there anything better than the best known? By lazy clause generation.

mod amounts;
mod asking;
mod build;
mod engine;
mod fellow;
mod heap;
mod hours;
mod learn;
mod levels;
mod neighbourhood;
mod objective;
mod queues;
mod reasons;
mod rules;
mod tension;

use super::better::Against;
use super::search::model::Model;
use super::{Minute, Solution, cost};
use asking::Asking;
use build::Built;
use engine::{Atom, Conflict};
use fellow::Fellow;
pub(crate) use fellow::ROUND;
use std::rc::Rc;

/// What a run of the engine came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Status {
    Found,
    /// Nothing satisfies the assumptions.
    Refuted,
    Stopped,
}

/// Larger costs of a level are not reckoned with.
const LARGEST_COST: i64 = 1 << 28;
/// Conflicts until the first restart, the unit of Luby's sequence.
const RESTART: u64 = 250;
/// Learnt nogoods kept.
const MOST_LEARNT: usize = 20_000;

pub(crate) struct Prover<'a> {
    model: Rc<Model<'a>>,
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
    /// The best known is another problem's: this one need not have anything as good.
    from_outside: bool,
    /// By level, as far as one was worked on: what it was limited to.
    limited: Vec<i64>,
    /// A second prover that works beside this one.
    fellow: Option<Fellow>,
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

impl<'a> Prover<'a> {
    /// `None` when the problem has rules the engine cannot express, or is too large to be worth it.
    pub fn new(model: &Rc<Model<'a>>) -> Option<Self> {
        if model.lo.len() > 3_000 || model.problem.holds.iter().map(|h| h.choose.len()).sum::<usize>() > 20_000 {
            return None;
        }
        let built = build::build(model)?;
        let vars = built.engine.bound.len() / 2;
        let levels = model.problem.levels.len();
        let impossible = built.dead;
        Some(Self {
            model: Rc::clone(model),
            built,
            phase: vec![None; vars],
            contrary: levels == 1 && model.problem.lags.iter().all(|l| l.least >= 0),
            restart: 0,
            asking: Asking::new(levels == 1),
            levels_proven: 0,
            bound: vec![0; levels],
            impossible,
            broken: false,
            from_outside: false,
            limited: Vec::new(),
            fellow: None,
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
            // Where it would cost least, for want of which where the best known has it.
            let x = a.side as usize / 2;
            let wish = e.hint[x].or(self.phase[x]);
            let keep = self.contrary != wish.is_some_and(|p| p >= a.least);
            return Some(if keep { a } else { a.not() });
        }
        let n = self.model.lo.len() as u32;
        let open = (0..n).filter(|&x| e.lo(x) < e.hi(x)).min_by_key(|&x| (e.lo(x), e.hi(x)));
        if let Some(x) = open {
            let (lo, hi) = (e.lo(x), e.hi(x));
            return Some(match e.hint[x as usize].or(self.phase[x as usize]) {
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
        // A question goes on when a round with the second prover is over.
        let mut given_up = None;
        while !self.impossible && !self.broken {
            let (mut assume, mut effort) = (Vec::new(), None);
            if let Some((_, costs)) = best {
                let Some(&total) = self.built.levels.get(self.levels_proven) else { return };
                let now = costs[self.levels_proven];
                if now > LARGEST_COST || !self.limit(total, now) {
                    return;
                }
                let bound = self.bound[self.levels_proven];
                assume.push(Atom::at_most(total, self.asking.target(now, bound) as i32));
                effort = self.asking.effort(now, bound);
            }
            let by_step = effort.is_none() && best.is_some();
            let until = effort.map(|e| given_up.take().unwrap_or(self.built.engine.conflicts + e));
            let round = self.fellow.as_ref().map_or(u64::MAX, |f| nodes.saturating_add(f.left));
            let kept = self.contrary;
            self.contrary |= by_step && self.asking.against();
            let status = self.run_within(&assume, nodes, &mut |n| n >= round || stop(n), until.unwrap_or(u64::MAX));
            self.contrary = kept;
            if let Some(fellow) = &mut self.fellow {
                fellow.left = round.saturating_sub(*nodes);
                if fellow.left == 0 && status == Status::Stopped && !stop(*nodes) {
                    let steps = *nodes;
                    if !self.exchange(best, &mut || stop(steps), &mut |s, c| better(s, c, steps)) {
                        given_up = until;
                    }
                    continue;
                }
            }
            match status {
                Status::Stopped if stop(*nodes) => {
                    if by_step {
                        self.asking.step_stopped();
                    }
                    self.note_bound(best.is_some() && !self.from_outside);
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
                            "the engine's answer must be sound and better: {:?} {costs:?} {best:?}",
                            super::check(self.model.problem, &s)
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
                    if self.impossible && self.from_outside {
                        return;
                    }
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
                    self.bound[self.levels_proven] = least.max(self.bound[self.levels_proven]);
                    let total = self.built.levels[self.levels_proven];
                    self.built.engine.backtrack(0);
                    let kept = self.built.engine.set(Atom::at_least(total, least as i32), &[]).is_ok();
                    self.impossible |= self.from_outside && !kept;
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

    /// Does what was limited so far leave room for schedules of this cost? Else a new prover has to be asked.
    pub fn takes(&self, cost: &[i64]) -> bool {
        !self.broken && self.limited.iter().zip(cost).all(|(l, c)| c <= l)
    }

    /// What is known of schedules of this cost, level by level, up to the first of which less or more is known than it costs.
    pub fn known(&self, cost: &[i64]) -> Vec<i64> {
        let mut out = Vec::new();
        for (level, (&bound, &c)) in self.bound.iter().zip(cost).enumerate() {
            // A bound holds for what costs no more on the levels before it than they were limited to.
            let holds = level <= self.limited.len() && self.limited.iter().zip(cost).take(level).all(|(l, c)| c <= l);
            if !holds || self.broken {
                break;
            }
            out.push(bound);
            if bound != c {
                break;
            }
        }
        out
    }

    /// Takes over where activities start in anything that costs no more than `now` on the first level, and that nothing costs
    /// less there than `bound`.
    pub fn narrow(&mut self, now: i64, bound: i64, windows: &[(u32, Minute, Minute)]) {
        let Some(&total) = self.built.levels.first().filter(|_| !self.impossible && !self.broken) else { return };
        if now > LARGEST_COST || (self.levels_proven == 0 && !self.limit(total, now)) {
            return;
        }
        self.built.engine.backtrack(0);
        let e = &mut self.built.engine;
        let sound = windows
            .iter()
            .all(|&(x, lo, hi)| e.set(Atom::at_least(x, lo), &[]).is_ok() && e.set(Atom::at_most(x, hi), &[]).is_ok());
        self.settle(0, bound);
        let sound = sound && self.fixpoint().is_ok();
        debug_assert!(sound, "the best known is inside its own windows");
        self.broken |= !sound;
    }

    /// The same against a cost from outside, with bounds known from elsewhere. `None` when the engine can say nothing.
    pub fn ask_against(
        &mut self,
        cost: &[i64],
        known: &[i64],
        nodes: &mut u64,
        stop: &mut dyn FnMut(u64) -> bool,
    ) -> Option<Against> {
        self.from_outside = true;
        self.levels_proven = 0;
        for (level, &known) in known.iter().enumerate() {
            let Some(&total) = self.built.levels.get(level).filter(|_| !self.impossible) else { break };
            self.bound[level] = self.bound[level].max(known);
            if cost[level] > LARGEST_COST || !self.limit(total, cost[level]) {
                break;
            }
            let bound = self.bound[level];
            self.impossible |=
                bound > cost[level] || self.built.engine.set(Atom::at_least(total, bound as i32), &[]).is_err();
            if bound < cost[level] {
                break;
            }
            self.levels_proven += 1;
        }
        let mut best = Some((Solution { starts: Vec::new(), chosen: Vec::new() }, cost.to_vec()));
        let mut found = false;
        self.prove(&mut best, nodes, stop, &mut |_, _, _| found = true);
        let (solution, cost) = best.filter(|_| !self.broken)?;
        Some(if found {
            Against::Better { solution, cost }
        } else if self.impossible {
            Against::Worse
        } else {
            Against::AtLeast(self.bound.iter().take(self.levels_proven + 1).copied().collect())
        })
    }

    /// Nothing dearer than the best known is of interest: a level's rules wake by this. `false` when the root breaks.
    fn limit(&mut self, total: u32, now: i64) -> bool {
        self.built.engine.backtrack(0);
        self.limited.truncate(self.levels_proven);
        self.limited.push(now);
        let kept = self.built.engine.set(Atom::at_most(total, now as i32), &[]).is_ok() && self.fixpoint().is_ok();
        // The best known itself satisfies it, if it is one of this problem.
        debug_assert!(kept || self.from_outside, "the best known is within its own cost");
        self.broken |= !kept && !self.from_outside;
        self.impossible |= !kept && self.from_outside;
        let bound = &mut self.bound[self.levels_proven];
        *bound = (*bound).max(i64::from(self.built.engine.lo(total)));
        kept
    }

    /// What the root knows about the level being worked on. A contradiction there is the answer, and would not come up again.
    fn note_bound(&mut self, known: bool) {
        self.built.engine.backtrack(0);
        if self.fixpoint().is_err() {
            debug_assert!(!known, "the engine refutes a problem with a known solution");
            self.impossible |= !known;
            self.broken |= known;
        } else if let Some(&total) = self.built.levels.get(self.levels_proven) {
            let lo = i64::from(self.built.engine.lo(total));
            let b = &mut self.bound[self.levels_proven];
            *b = (*b).max(lo);
        }
    }
}
