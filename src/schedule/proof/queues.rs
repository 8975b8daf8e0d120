//! What waiting for one another costs.
//!
//! Of several pieces of work that one person is to do from five on, only one can begin at five. What each joint pays for a
//! later begin is the flow through its window in the circulation that bounds its cost (`tension`): no less than so much a
//! minute, wherever its other pieces stand. The least that all of them pay together is a single-machine problem with weights
//! and release dates; doing at each moment what pays most for its length, interruptions allowed, bounds it by mean busy times
//! (Goemans, Queyranne, Schulz, Skutella and Wang, 2002). The same, seen from the end, for work that should be late.

use super::engine::{Atom, Conflict, Effort, Engine};
use super::objective::MOST_COST;
use super::reasons::Term;
use super::rules::Rule;
use super::tension::{BlockSlopes, Slopes};
use std::cell::RefCell;
use std::collections::BinaryHeap;
use std::rc::Rc;

/// A piece of work on something that takes one at a time.
pub(super) struct Work {
    pub x: u32,
    pub offset: i32,
    pub length: i32,
    /// It is done there only when this holds.
    pub guard: Option<Atom>,
}

impl Work {
    /// Where it begins, from where the side stands; seen from the end (`late` is 1), it begins where it ends.
    fn begin(&self, late: u32) -> i64 {
        i64::from(if late == 0 { self.offset } else { -self.offset - self.length })
    }
}

/// `total >= ` what the blocks cost together, waiting included. At rest while nothing limits the level.
pub(super) struct Queues {
    /// What the level costs.
    pub total: u32,
    /// What each block of it costs.
    pub blocks: Vec<u32>,
    pub slopes: Rc<RefCell<Slopes>>,
    /// By resource that takes one at a time.
    pub lines: Vec<Vec<Work>>,
}

/// Gains are reckoned in parts of a unit of cost, rounded down.
const PARTS: i64 = 1024;

#[derive(Clone, Copy)]
struct Job {
    release: i64,
    length: i64,
    weight: i64,
    /// Its number among the works of its line.
    work: usize,
    left: i64,
    /// Twice its length times its mean busy time, from its release.
    busy: i128,
}

/// Of what waits, what pays most for its length comes first.
#[derive(PartialEq, Eq)]
struct Next {
    weight: i64,
    length: i64,
    job: usize,
}

/// What one pays for its length, beside another.
fn pays(one: &Next, other: &Next) -> i128 {
    i128::from(one.weight) * i128::from(other.length)
}

impl Ord for Next {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        pays(self, other).cmp(&pays(other, self)).then(other.job.cmp(&self.job))
    }
}

impl PartialOrd for Next {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

/// What waiting costs the jobs at least, in parts, and the works that wait or are waited for, each with a release from which
/// it would come to the same: while only what comes before it is done, it may as well be there already.
fn waiting(jobs: &mut [Job], works: &mut Vec<(usize, i64)>) -> i64 {
    jobs.sort_by_key(|j| (j.release, j.work));
    let mut heap: BinaryHeap<Next> = BinaryHeap::new();
    // What is done since when, without a rest.
    let mut done: Vec<(i64, usize)> = Vec::new();
    let (mut next, mut now, mut began, mut gain) = (0, i64::MIN, 0, 0);
    loop {
        if heap.is_empty() {
            if next - began > 1 {
                works.extend((began..next).map(|j| (jobs[j].work, sooner(jobs, &done, j))));
            }
            done.clear();
            let Some(first) = jobs.get(next) else { break };
            (now, began) = (first.release, next);
        }
        while let Some(j) = jobs.get(next).filter(|j| j.release <= now) {
            heap.push(Next { weight: j.weight, length: j.length, job: next });
            next += 1;
        }
        let Some(top) = heap.peek() else { break };
        let until = jobs.get(next).map_or(i64::MAX, |j| j.release);
        done.push((now, top.job));
        let job = &mut jobs[top.job];
        let end = until.min(now + job.left);
        let (a, b) = (i128::from(now - job.release), i128::from(end - job.release));
        job.busy += b * b - a * a;
        job.left -= end - now;
        now = end;
        if job.left == 0 {
            let length = i128::from(job.length);
            let waited = (job.busy - length * length) * i128::from(job.weight) * i128::from(PARTS / 2) / length;
            // More than any cost reckoned with says no more.
            gain += waited.min(i128::from(MOST_COST * PARTS)) as i64;
            heap.pop();
        }
    }
    gain
}

/// From when on only what comes before a job is done until its release.
fn sooner(jobs: &[Job], done: &[(i64, usize)], job: usize) -> i64 {
    let next = |j: usize| Next { weight: jobs[j].weight, length: jobs[j].length, job: j };
    let before = done[..done.partition_point(|d| d.0 < jobs[job].release)].iter().rev();
    before.take_while(|d| next(d.1) > next(job)).last().map_or(jobs[job].release, |d| d.0)
}

/// What is to be done on a line, seen from its begin or from its end, of those who pay for waiting.
struct Waiters<'q> {
    line: &'q [Work],
    late: u32,
    jobs: Vec<Job>,
}

impl Queues {
    /// Where two or more pay for waiting.
    fn waiters(&self, e: &Engine) -> Vec<Waiters<'_>> {
        let slopes = self.slopes.borrow();
        let mut out = Vec::new();
        for line in &self.lines {
            for late in [0, 1] {
                let job = |(work, w): (usize, &Work)| {
                    let side = 2 * w.x + late;
                    let weight = slopes.of(side);
                    (weight > 0 && w.guard.is_none_or(|g| e.holds(g))).then(|| {
                        let release = i64::from(e.bound[side as usize]) + w.begin(late);
                        let length = i64::from(w.length);
                        Job { release, length, weight, work, left: length, busy: 0 }
                    })
                };
                let jobs: Vec<Job> = line.iter().enumerate().filter_map(job).collect();
                if jobs.len() > 1 {
                    out.push(Waiters { line, late, jobs });
                }
            }
        }
        out
    }
}

/// What waiting costs, the facts on the windows of the works it is about, and their guards. Works that begin by the
/// variables of `without` (sorted) are left out.
fn gain(waiters: &[Waiters], without: &[u32]) -> (i64, Vec<Atom>, Vec<Atom>) {
    let (mut gain, mut windows, mut guards) = (0, Vec::<Atom>::new(), Vec::new());
    let (mut jobs, mut works) = (Vec::new(), Vec::new());
    for Waiters { line, late, jobs: all } in waiters {
        jobs.clear();
        jobs.extend(all.iter().filter(|j| {
            let x = line[j.work].x;
            without.binary_search(&x).is_err() && windows.iter().all(|a| a.side != 2 * x + late)
        }));
        if jobs.len() < 2 {
            continue;
        }
        works.clear();
        let more = waiting(&mut jobs, &mut works);
        if more > 0 {
            gain += more;
            windows.extend(works.iter().map(|&(k, release)| Atom {
                side: 2 * line[k].x + late,
                least: (release - line[k].begin(*late)) as i32,
            }));
            guards.extend(works.iter().filter_map(|w| line[w.0].guard));
        }
    }
    ((gain + PARTS - 1) / PARTS, windows, guards)
}

/// What blocks cost together at least, waiting included, and why.
struct Together {
    cost: i64,
    /// Guards and windows of the works that wait.
    facts: Vec<Atom>,
    terms: Vec<Term>,
    /// The blocks that wait: they count by their circulations, the others by whatever is known of them.
    waiting: Vec<u32>,
}

impl Together {
    /// The same without a block that waits for nobody.
    fn without(&self, block: u32, its_cost: i64) -> Self {
        let terms = self.terms.iter().filter(|t| t.fact.side != 2 * block).copied().collect();
        Self { cost: self.cost - its_cost, facts: self.facts.clone(), terms, waiting: self.waiting.clone() }
    }
}

impl Queues {
    /// All blocks, or all but one.
    fn together(&self, e: &Engine, waiters: &[Waiters], without: Option<u32>) -> Together {
        let slopes = self.slopes.borrow();
        let left_out = without.and_then(|x| slopes.block(x)).map_or(&[][..], |b| &b.variables);
        let (gain, windows, mut facts) = gain(waiters, left_out);
        facts.extend(&windows);
        let mut out = Together { cost: gain, facts, terms: Vec::new(), waiting: Vec::new() };
        let waits = |b: &&BlockSlopes| windows.iter().any(|a| b.variables.binary_search(&(a.side / 2)).is_ok());
        for &x in self.blocks.iter().filter(|&&x| Some(x) != without) {
            let Some(block) = slopes.block(x).filter(waits) else {
                out.cost += i64::from(e.lo(x));
                out.terms.push(Term { above: e.lo(x).into(), weight: 1, fact: Atom::at_least(x, e.lo(x)) });
                continue;
            };
            out.cost += block.cost(e);
            out.waiting.push(x);
            for (side, root, flow) in block.windows() {
                let now = e.bound[side as usize];
                let fact = Atom { side, least: now };
                if flow > 0 && windows.iter().all(|a| a.side != side) {
                    out.terms.push(Term { above: i64::from(now) - i64::from(root), weight: flow, fact });
                }
            }
        }
        out
    }

    /// No block costs more than the others leave it of the most that all may cost, with what those wait for one another.
    fn keep_within(&self, e: &mut Engine, waiters: &[Waiters], most: i32, all: &Together) -> Result<(), Conflict> {
        let room = i64::from(most) - all.cost;
        for &x in &self.blocks {
            let (least, may) = (i64::from(e.lo(x)), i64::from(e.hi(x)));
            if may - least <= room {
                continue;
            }
            let waits = all.waiting.contains(&x);
            let mut others = if waits { self.together(e, waiters, Some(x)) } else { all.without(x, least) };
            let limit = i64::from(most) - others.cost;
            if limit < may {
                others.facts.push(Atom::at_most(self.total, most));
                e.set_by_sum(Atom::at_most(x, limit as i32), -limit, &others.facts, &others.terms)?;
            }
        }
        Ok(())
    }
}

impl Rule for Queues {
    fn run(&mut self, e: &mut Engine) -> Result<(), Conflict> {
        let most = e.hi(self.total);
        if most >= MOST_COST as i32 {
            return Ok(());
        }
        let waiters = self.waiters(e);
        if waiters.is_empty() {
            return Ok(());
        }
        let all = self.together(e, &waiters, None);
        if all.waiting.is_empty() {
            return Ok(());
        }
        if all.cost > i64::from(e.lo(self.total)) {
            let reached = all.cost.min(i64::from(most) + 1) as i32;
            e.set_by_sum(Atom::at_least(self.total, reached), all.cost, &all.facts, &all.terms)?;
        }
        self.keep_within(e, &waiters, most, &all)
    }

    fn watches(&self) -> Vec<u32> {
        let mut v: Vec<u32> = self.lines.iter().flatten().map(|w| w.x).collect();
        v.extend(self.lines.iter().flatten().filter_map(|w| w.guard).map(|g| g.side / 2));
        v.extend(&self.blocks);
        v.push(self.total);
        v
    }

    fn effort(&self) -> Effort {
        Effort::Most
    }
}
