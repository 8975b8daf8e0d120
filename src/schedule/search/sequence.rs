//! The order in which blocks get room on what is crowded, exactly: how late a plan must be at least, and from when to when
//! each block can begin in one that is no later than the best known.
//!
//! Reckoned with is only what blocks hold from their beginning on at all hours: tub and floor. Each block's own rules stand, and
//! how late it gets follows from its beginning; all else that blocks might get in each other's way over is left out, so every
//! bound holds for the whole problem. Then any schedule can be had by beginning the blocks one after the
//! other, each as early as those before it leave room for (an active schedule of a regular objective; Baker 1974): a dynamic
//! program over sets of blocks begun (Held and Karp 1962), in which one state makes another of the same set needless when it
//! costs no more and holds no more at any moment, and what is still to come is bounded by the prices of the crowded resources
//! (`load.rs`; bounds of relaxed dynamic programs, Fisher 1981).

pub(super) mod states;

use super::completion::Completion;
use super::load::{Load, lateness};
use super::model::Model;
use super::space::{Blocked, Push, Space};
use crate::schedule::{Minute, Point, Problem, ResourceId};
use states::{Filed, Lent, States};
use std::collections::BTreeMap;

/// More blocks than this have too many sets.
pub(super) const MOST_JOBS: usize = 24;
/// States kept at most, what they have lent, and steps between them: together under two hundred megabytes.
const MOST_STATES: usize = 150_000;
const MOST_LENT: usize = 3_000_000;
const MOST_STEPS: usize = 1_000_000;
/// Comparisons that take as long as a step.
const COMPARED: u64 = 32;

/// An amount of a pool from the beginning of a block on.
struct Use {
    pool: u8,
    amount: i32,
    /// Which of the block's ends it lasts to.
    end: usize,
}

/// When something a block holds from its beginning on is over.
struct End {
    to: Vec<Point>,
    /// No sooner than so long after the beginning.
    shortest: Minute,
}

struct Job {
    block: usize,
    anchor: u32,
    uses: Vec<Use>,
    ends: Vec<End>,
}

/// A beginning of a block by itself: how late that makes it at least, and what it holds from there on.
struct Put {
    start: Minute,
    late: i64,
    lent: Vec<Lent>,
}

/// From one state to the next by beginning a block.
struct Step {
    from: u32,
    job: u8,
    start: Minute,
    late: i64,
    to: u32,
}

/// What is known when all is reckoned.
pub(super) struct Sequenced {
    /// No schedule costs less on the first level.
    pub bound: i64,
    /// By activity: where it starts in any schedule that costs less than was asked for.
    pub windows: Vec<(u32, Minute, Minute)>,
}

/// Blocks in the order they begin in, the activity each begins with, and when.
pub(super) type Order = Vec<(usize, u32, Minute)>;

pub(super) struct Sequence<'a> {
    model: &'a Model<'a>,
    space: Space<'a>,
    jobs: Vec<Job>,
    capacity: Vec<i64>,
    /// By job, by start: the number of a beginning, and from when on it is the first there is.
    known: Vec<BTreeMap<Minute, (Minute, u32)>>,
    puts: Vec<Put>,
    /// A beginning was given up: whether there is one is not known, and nothing more is said.
    given_up: bool,
    /// What the blocks without a job cost at least.
    rest: i64,
    states: States,
    steps: Vec<Step>,
}

impl<'a> Sequence<'a> {
    /// `None` where there are too many blocks, or too few to be in each other's way, and where what a block begins with is not
    /// held from the very beginning on, or twice over: such a block is not reckoned with.
    pub fn new(model: &'a Model<'a>, load: &Load) -> Option<Self> {
        let p = model.problem;
        // What keeps hours is left out: it hardly adds to the bound, and makes ten times the states.
        let all_day = |r: &ResourceId| p.resources[r.index()].calendar.is_none();
        let mut jobs = Vec::new();
        for job in &load.jobs {
            let from = p.holds[job.hold].from;
            // Orders are those of beginnings, and prices are paid from there on.
            if from.offset != 0 || job.uses.iter().any(|u| u.offset < 0) {
                return None;
            }
            let (mut uses, mut holds, mut ends) = (Vec::new(), Vec::new(), Vec::new());
            for u in &job.uses {
                if p.holds[u.hold].from != from || !load.pools[u.pool].members.iter().all(all_day) {
                    continue;
                }
                if holds.last() != Some(&u.hold) {
                    holds.push(u.hold);
                    ends.push(End { to: p.holds[u.hold].to.clone(), shortest: u.length });
                }
                let pool = u8::try_from(u.pool).ok().filter(|&pool| pool < u8::MAX)?;
                if uses.iter().any(|x: &Use| x.pool == pool) {
                    return None;
                }
                uses.push(Use { pool, amount: i32::try_from(u.amount).ok()?, end: ends.len() - 1 });
            }
            jobs.push(Job { block: job.block, anchor: from.activity.0, uses, ends });
        }
        let of = |p: &Problem, r: &ResourceId| i64::from(p.resources[r.index()].capacity);
        let fits = (2..=MOST_JOBS).contains(&jobs.len());
        fits.then(|| Self {
            model,
            space: Space::new(model),
            known: vec![BTreeMap::new(); jobs.len()],
            jobs,
            capacity: load.pools.iter().map(|pool| pool.members.iter().map(|r| of(p, r)).sum()).collect(),
            puts: Vec::new(),
            given_up: false,
            rest: load.rest(),
            states: States::default(),
            steps: Vec::new(),
        })
    }

    /// The first beginning of a block by itself at or after `asked`.
    fn put(&mut self, j: usize, asked: Minute, prices: &Completion) -> Option<u32> {
        if let Some((_, &(from, put))) = self.known[j].range(asked..).next()
            && from <= asked
        {
            return Some(put);
        }
        let job = &self.jobs[j];
        self.space.load_edge(job.block, Push::Later);
        self.space.set(job.anchor, asked.max(self.model.lo[job.anchor as usize]));
        match self.space.relaxed(job.block, Push::Later) {
            Ok(()) => {}
            Err(Blocked(Some(_))) => return None,
            Err(Blocked(None)) => {
                self.given_up = true;
                return None;
            }
        }
        let start = self.space.s[job.anchor as usize];
        if let Some((from, put)) = self.known[j].get_mut(&start) {
            *from = asked.min(*from);
            return Some(*put);
        }
        let end = |e: &End| {
            let to = e.to.iter().map(|t| self.space.at(*t)).max().unwrap_or(start);
            to.max(start + e.shortest)
        };
        let ends: Vec<Minute> = job.ends.iter().map(end).collect();
        let lent = job.uses.iter().map(|u| prices.lent(u.pool, ends[u.end], u.amount)).collect();
        let number = self.puts.len() as u32;
        self.puts.push(Put { start, late: lateness(self.model, job.block, &self.space.s), lent });
        self.known[j].insert(start, (asked, number));
        Some(number)
    }

    /// The first moment from `at` on with so much of a pool to spare; `None` when there never is.
    fn room(&self, u: &Use, lent: &[Lent], at: Minute) -> Option<Minute> {
        let mine = lent.iter().filter(|l| l.pool == u.pool && l.until > at);
        let mut spare = self.capacity[u.pool as usize] - mine.clone().map(|l| i64::from(l.amount)).sum::<i64>();
        let mut from = at;
        for l in mine {
            if spare >= i64::from(u.amount) {
                break;
            }
            (spare, from) = (spare + i64::from(l.amount), l.until);
        }
        (spare >= i64::from(u.amount)).then_some(from)
    }

    /// Begins a block after all that a state has begun, as early as there is room: the number of its beginning.
    fn begin(&mut self, state: u32, j: usize, prices: &Completion) -> Option<u32> {
        let (lent, job) = (self.states.lent(state), &self.jobs[j]);
        let mut at = self.states[state].last;
        for u in &job.uses {
            at = self.room(u, lent, at)?;
        }
        self.put(j, at, prices)
    }

    /// What schedules that cost less than `below` have in common; `None` when it was given up.
    pub fn run(&mut self, below: i64, rest: &Completion, stop: &mut dyn FnMut(usize) -> bool) -> Option<Sequenced> {
        let ends = self.layers(below, rest, usize::MAX, stop)?;
        let told = self.told(below, &ends, rest);
        (!self.given_up).then_some(told)
    }

    /// Some sequences that cost less than `below`, the least first: of every number of blocks begun only so many states are
    /// gone on with.
    pub fn some(
        &mut self,
        below: i64,
        rest: &Completion,
        width: usize,
        stop: &mut dyn FnMut(usize) -> bool,
    ) -> Vec<Order> {
        self.layers(below, rest, width, stop).map(|ends| self.orders(ends)).unwrap_or_default()
    }

    /// The states in which all blocks have begun.
    fn layers(
        &mut self,
        below: i64,
        rest: &Completion,
        width: usize,
        stop: &mut dyn FnMut(usize) -> bool,
    ) -> Option<Vec<u32>> {
        // Prices may be others than when a beginning was first looked at.
        for l in self.puts.iter_mut().flat_map(|put| &mut put.lent) {
            *l = rest.lent(l.pool, l.until, l.amount);
        }
        self.steps.clear();
        self.states.begin(self.rest);
        let mut layer = vec![0u32];
        for _ in 0..self.jobs.len() {
            layer = self.next_layer(&layer, below, rest, stop)?;
            // The likely first: they make others needless.
            layer.sort_unstable_by_key(|&i| (self.states[i].cost + self.states[i].bound, i));
            layer.truncate(width);
        }
        Some(layer)
    }

    /// The sequences that end in these states, the least first.
    fn orders(&self, mut ends: Vec<u32>) -> Vec<Order> {
        ends.sort_unstable_by_key(|&e| (self.states[e].cost, e));
        let order = |end: u32| {
            let (mut order, mut at) = (Order::new(), end);
            while at > 0 {
                let s = &self.states[at];
                let job = &self.jobs[s.by.0 as usize];
                order.push((job.block, job.anchor, s.last));
                at = s.by.1;
            }
            order.reverse();
            order
        };
        ends.into_iter().map(order).collect()
    }

    fn next_layer(
        &mut self,
        layer: &[u32],
        below: i64,
        rest: &Completion,
        stop: &mut dyn FnMut(usize) -> bool,
    ) -> Option<Vec<u32>> {
        let mut by_set: BTreeMap<u32, Vec<Filed>> = BTreeMap::new();
        for &from in layer {
            let work = self.steps.len() + (self.states.compared / COMPARED) as usize;
            let much = self.states.len() > MOST_STATES || self.states.lent_in_all() > MOST_LENT;
            if much || self.steps.len() > MOST_STEPS || stop(work) {
                return None;
            }
            let (set, cost) = (self.states[from].set, self.states[from].cost);
            for j in (0..self.jobs.len()).filter(|j| set >> j & 1 == 0) {
                let Some(put) = self.begin(from, j, rest) else { continue };
                let late = self.puts[put as usize].late;
                if cost + late >= below {
                    continue;
                }
                let Put { start, late, lent } = &self.puts[put as usize];
                let mut new = self.states.after(from, j as u8, (*start, *late), lent);
                new.bound = rest.least(new.set, new.last, self.states.newest(&new));
                if new.cost.saturating_add(new.bound) < below {
                    let others = by_set.entry(new.set).or_default();
                    let to = self.states.file(others, new, &self.capacity);
                    self.steps.push(Step { from, job: j as u8, start: *start, late: *late, to });
                }
                self.states.forget();
            }
        }
        Some(by_set.into_values().flatten().map(|f| f.state).collect())
    }

    /// Back from the ends: what each state still costs, and so which steps a schedule of less than `below` can take.
    fn told(&mut self, below: i64, ends: &[u32], prices: &Completion) -> Sequenced {
        const NEVER: i64 = i64::MAX / 4;
        let mut still = vec![NEVER; self.states.len()];
        ends.iter().for_each(|&e| still[e as usize] = 0);
        for s in self.steps.iter().rev() {
            let after = still[self.states.stands(s.to) as usize] + s.late;
            still[s.from as usize] = still[s.from as usize].min(after);
        }
        let bound = (self.rest + still[0]).min(below);
        // By job: its first beginning, and what it may cost at most.
        let mut seen: Vec<Option<(Minute, i64)>> = vec![None; self.jobs.len()];
        for s in &self.steps {
            let without = self.states[s.from].cost + still[self.states.stands(s.to) as usize];
            let may = below - 1 - without;
            if may >= s.late {
                let seen = seen[s.job as usize].get_or_insert((s.start, may));
                *seen = (seen.0.min(s.start), seen.1.max(may));
            }
        }
        let windows = seen.into_iter().enumerate().filter_map(|(j, s)| {
            let (first, may) = s?;
            Some((self.jobs[j].anchor, first, self.last_begin(j, first, may, prices)))
        });
        Sequenced { windows: windows.collect(), bound }
    }

    /// The last beginning at which a block costs no more than it may.
    fn last_begin(&mut self, j: usize, first: Minute, may: i64, prices: &Completion) -> Minute {
        let (mut good, mut bad) = (first, self.model.hi[self.jobs[j].anchor as usize].saturating_add(1));
        while bad - good > 1 {
            let middle = good + (bad - good) / 2;
            match self.put(j, middle, prices).map(|put| &self.puts[put as usize]) {
                Some(put) if put.late <= may => good = put.start,
                _ => bad = middle,
            }
        }
        good
    }
}

#[cfg(test)]
mod tests;
