//! How late a crowded resource makes things, whatever the order: a true lower bound on the first level.
//!
//! Lagrangian relaxation of a time-indexed model (Christofides, Alvarez-Valdes and Tamarit, 1987; Möhring, Schulz, Stork and
//! Uetz, 2003): instead of keeping to the capacity, each job pays a price for what it holds, by time, and the prices of the
//! capacity itself are taken off. Any prices give a bound; a subgradient method looks for good ones. Of each block one hold
//! counts as its job, at its shortest length, with its lateness following by the longest way of lags. All of it is reckoned in
//! whole numbers, so that no rounding makes a bound too high.

use super::model::Model;
use super::space::{Blocked, Push, Space};
use super::spells::longest_way;
use crate::schedule::{Hold, Minute, Point, Problem, ResourceId, Term};

/// Prices are whole multiples of one part in so many of a unit of cost.
pub(super) const UNIT: i64 = 1 << 16;
/// Stretches of time with a price of their own.
const BUCKETS: i64 = 240;
/// Prices are kept below this, so that no sum overflows.
const DEAREST: i64 = 1 << 34;

/// What holds of one job take of one pool while it lasts.
pub(super) struct Use {
    pub pool: usize,
    pub hold: usize,
    /// From the start of the job's activity.
    pub offset: Minute,
    pub length: Minute,
    pub amount: i64,
}

/// Starts of a job next to each other, and what all of them have in common.
struct Starts {
    from: Minute,
    to: Minute,
    /// What the block costs at least.
    late: i64,
    /// By use: before this it does not end.
    ends: Vec<Minute>,
}

pub(super) struct Job {
    pub block: usize,
    /// The hold that takes most of the crowded resource; the block is reckoned with from there on.
    pub hold: usize,
    pub uses: Vec<Use>,
    /// Ascending; what they cost only grows.
    starts: Vec<Starts>,
}

/// Resources of which any may be chosen, as one.
pub(super) struct Pool {
    pub members: Vec<ResourceId>,
    /// By bucket: amount times minutes.
    pub room: Vec<i64>,
    pub price: Vec<i64>,
    /// By bucket: the price of one unit from the begin to the bucket's begin.
    paid: Vec<i64>,
}

pub(super) struct Grid {
    from: Minute,
    width: Minute,
    pub buckets: usize,
}

impl Grid {
    fn edge(&self, bucket: usize) -> Minute {
        self.from + self.width * bucket as Minute
    }

    /// The bucket of a moment; what comes after all buckets has a number of its own.
    pub fn bucket(&self, at: Minute) -> usize {
        (((at - self.from).max(0) / self.width) as usize).min(self.buckets)
    }
}

impl Pool {
    fn sum(&mut self, width: Minute) {
        let mut paid = 0;
        for (p, &price) in self.paid.iter_mut().zip(&self.price) {
            *p = paid;
            paid += price * i64::from(width);
        }
        if let Some(last) = self.paid.last_mut() {
            *last = paid;
        }
    }

    /// The price of one unit from the begin of the grid until `at`.
    fn until(&self, grid: &Grid, at: Minute) -> i64 {
        let minutes = (at - grid.from).clamp(0, grid.width * grid.buckets as Minute);
        let k = (minutes / grid.width) as usize;
        match self.price.get(k) {
            Some(price) => self.paid[k] + price * i64::from(minutes - grid.width * k as Minute),
            None => self.paid[grid.buckets],
        }
    }
}

impl Job {
    /// What it costs and pays, beginning at any of these, at every beginning at which that can be least: it is a straight line
    /// but where an end is reached and where begin or end meets an edge.
    fn prices(&self, starts: &Starts, grid: &Grid, pools: &[Pool], look: &mut impl FnMut(Minute, i128)) {
        let late = i128::from(starts.late) * i128::from(UNIT);
        let mut look = |start: Minute| {
            let pay = |(u, end): (&Use, &Minute)| {
                let (from, pool) = (start + u.offset, &pools[u.pool]);
                i128::from(pool.until(grid, (from + u.length).max(*end)) - pool.until(grid, from))
                    * i128::from(u.amount)
            };
            look(start, late + self.uses.iter().zip(&starts.ends).map(pay).sum::<i128>());
        };
        look(starts.from);
        look(starts.to);
        for (u, end) in self.uses.iter().zip(&starts.ends) {
            let inside = |start: &Minute| (starts.from + 1..starts.to).contains(start);
            Some(end - u.offset - u.length).filter(inside).map(&mut look);
            for offset in [u.offset, u.offset + u.length] {
                let k = (starts.from + offset - grid.from).div_euclid(grid.width) + 1;
                Some(grid.from + k * grid.width - offset).filter(inside).map(&mut look);
            }
        }
    }
}

/// A pool, the jobs that crowd it, and prices that are made better step by step.
pub(crate) struct Load {
    pub(super) grid: Grid,
    pub(super) pools: Vec<Pool>,
    pub(super) jobs: Vec<Job>,
    /// What blocks without a job cost at least.
    rest: i64,
    best: i64,
    /// The prices that gave it, by pool.
    best_prices: Vec<Vec<i64>>,
    /// By job: its start at the prices last looked at.
    at: Vec<Minute>,
    step: f64,
    idle: u32,
}

/// Whatever is chosen is one of the members.
pub(super) fn within(choose: &[ResourceId], members: &[ResourceId]) -> bool {
    choose.iter().all(|r| members.contains(r))
}

impl Load {
    /// The two most crowded pools of a problem whose first level is lateness; empty where nothing is crowded.
    pub fn of(model: &Model, lo: &[Minute], hi: &[Minute]) -> Vec<Self> {
        let p = model.problem;
        let Some(level) = p.levels.first() else { return vec![] };
        let lateness = level.terms.iter().all(|t| matches!(t, Term::Late { weight, .. } if *weight >= 0));
        if !lateness || model.blocks.len() < 2 {
            return vec![];
        }
        let sets = pools(p);
        let mut crowded: Vec<(i64, usize)> = Vec::new();
        for (k, set) in sets.iter().enumerate() {
            let capacity: i64 = set.iter().map(|r| i64::from(p.resources[r.index()].capacity)).sum();
            let energy: i64 = (p.holds.iter().enumerate())
                .filter(|(_, h)| within(&h.choose, set))
                .map(|(i, h)| i64::from(h.amount) * i64::from(shortest(model, i, h)))
                .sum();
            crowded.push((-(energy / capacity.max(1)), k));
        }
        crowded.sort_unstable();
        crowded.iter().take(2).filter_map(|&(_, k)| Self::new(model, lo, hi, &sets, k)).collect()
    }

    fn new(model: &Model, lo: &[Minute], hi: &[Minute], sets: &[Vec<ResourceId>], main: usize) -> Option<Self> {
        let p = model.problem;
        let mut anchored = Vec::new();
        let (mut rest, mut energy) = (0, 0);
        for (b, block) in model.blocks.iter().enumerate() {
            let mine = block.holds.iter().map(|&h| h as usize).filter(|&h| within(&p.holds[h].choose, &sets[main]));
            let anchor = mine
                .map(|h| (i64::from(p.holds[h].amount) * i64::from(shortest(model, h, &p.holds[h])), h))
                .max_by_key(|x| (x.0, std::cmp::Reverse(x.1)));
            match anchor.filter(|x| x.0 > 0) {
                Some((work, h)) => {
                    energy += work;
                    anchored.push((b, h));
                }
                None => rest += lateness(model, b, lo),
            }
        }
        let capacity: i64 = sets[main].iter().map(|r| i64::from(p.resources[r.index()].capacity)).sum();
        let first = anchored.iter().map(|x| lo[p.holds[x.1].from.activity.index()]);
        let from = first.clone().min()?;
        let open = first.max()?.saturating_add((energy / capacity.max(1)).min(1 << 28) as Minute);
        let width = ((i64::from(open - from) / BUCKETS) as Minute).max(1);
        let grid = Grid { from, width, buckets: BUCKETS as usize };
        let mut space = Space::new(model);
        let mut used = vec![false; sets.len()];
        let mut jobs = Vec::new();
        for (b, main) in anchored {
            let anchor = p.holds[main].from.activity;
            let (mut uses, mut tos) = (Vec::new(), Vec::new());
            for &h in model.blocks[b].holds.iter().filter(|&&h| p.holds[h as usize].from.activity == anchor) {
                let hold = &p.holds[h as usize];
                let length = shortest(model, h as usize, hold);
                let amount = i64::from(hold.amount);
                for (pool, set) in sets.iter().enumerate() {
                    if length > 0 && amount > 0 && within(&hold.choose, set) {
                        used[pool] = true;
                        uses.push(Use { pool, hold: h as usize, offset: hold.from.offset, length, amount });
                        tos.push(&hold.to);
                    }
                }
            }
            let foremost = uses.iter().map(|u| u.offset).min().unwrap_or(0).min(0);
            let mut starts: Vec<Starts> = Vec::new();
            let (mut at, last) = (lo[anchor.index()], hi[anchor.index()]);
            while at <= last {
                space.load_edge(b, Push::Later);
                space.set(anchor.0, at);
                match space.relaxed(b, Push::Later) {
                    Ok(()) => {}
                    // From here on there is no start at all.
                    Err(Blocked(Some(_))) => break,
                    // Given up: starts that were not looked at might be cheaper, so nothing is said.
                    Err(Blocked(None)) => return None,
                }
                let end = |to: &&Vec<Point>| to.iter().map(|t| space.at(*t)).max().unwrap_or(Minute::MIN);
                let first = space.s[anchor.index()].max(at);
                let to = first.saturating_add(width - 1).min(last);
                starts.push(Starts {
                    from: first,
                    to,
                    late: lateness(model, b, &space.s),
                    ends: tos.iter().map(end).collect(),
                });
                // Beyond the grid nothing has a price, and later is never better.
                if first.saturating_add(foremost) > grid.edge(grid.buckets) {
                    break;
                }
                at = to + 1;
            }
            if starts.is_empty() {
                return None;
            }
            jobs.push(Job { block: b, hold: main, uses, starts });
        }
        let pools = (sets.iter().zip(&used))
            .map(|(set, &used)| {
                let buckets = if used { grid.buckets } else { 0 };
                let room = (0..buckets).map(|b| room(model, set, grid.edge(b), grid.edge(b + 1))).collect();
                Pool { members: set.clone(), room, price: vec![0; buckets], paid: vec![0; buckets + 1] }
            })
            .collect();
        let at = vec![0; jobs.len()];
        Some(Self { grid, pools, jobs, rest, best: 0, best_prices: Vec::new(), at, step: 1.0, idle: 0 })
    }

    /// The bound of the present prices, and by pool and bucket what the jobs would take at them.
    fn value(&mut self) -> (i64, Vec<Vec<i64>>) {
        let grid = &self.grid;
        let mut taken: Vec<Vec<i64>> = self.pools.iter().map(|p| vec![0; p.price.len()]).collect();
        let mut sum: i128 = i128::from(self.rest) * i128::from(UNIT);
        for (job, at) in self.jobs.iter().zip(&mut self.at) {
            let mut best: Option<(i128, Minute, &Starts)> = None;
            for starts in &job.starts {
                let late = i128::from(starts.late) * i128::from(UNIT);
                if best.is_some_and(|b| b.0 <= late) {
                    break;
                }
                job.prices(starts, grid, &self.pools, &mut |start, price| {
                    if best.is_none_or(|b| price < b.0) {
                        best = Some((price, start, starts));
                    }
                });
            }
            let Some(best) = best else { continue };
            *at = best.1;
            sum += best.0;
            for (u, end) in job.uses.iter().zip(&best.2.ends) {
                let (from, to) = (best.1 + u.offset, (best.1 + u.offset + u.length).max(*end));
                let (first, last) = ((from - grid.from) / grid.width, (to - 1 - grid.from) / grid.width);
                for b in first.max(0)..=last.min(grid.buckets as Minute - 1) {
                    let edge = grid.edge(b as usize);
                    let minutes = to.min(edge + grid.width) - from.max(edge);
                    taken[u.pool][b as usize] += i64::from(minutes) * u.amount;
                }
            }
        }
        for pool in &self.pools {
            sum -= pool.price.iter().zip(&pool.room).map(|(p, r)| i128::from(*p) * i128::from(*r)).sum::<i128>();
        }
        let up = sum.div_euclid(i128::from(UNIT)) + i128::from(sum.rem_euclid(i128::from(UNIT)) > 0);
        (i64::try_from(up).unwrap_or(i64::MAX), taken)
    }

    /// Makes the prices better for so many steps; the best bound so far. `known` is what some plan costs.
    pub fn improve(&mut self, steps: usize, known: i64) -> i64 {
        for _ in 0..steps {
            for pool in &mut self.pools {
                pool.sum(self.grid.width);
            }
            let (value, taken) = self.value();
            if value > self.best {
                (self.best, self.idle) = (value, 0);
                self.best_prices = self.pools.iter().map(|p| p.price.clone()).collect();
            } else {
                self.idle += 1;
                if self.idle >= 12 {
                    (self.step, self.idle) = (self.step * 0.7, 0);
                }
            }
            if self.is_done(known) {
                break;
            }
            // Each pool in its own measure, or what is counted in large numbers would drown the rest.
            let scale: Vec<f64> = self.pools.iter().map(Pool::measure).collect();
            let mut square = 0.0;
            for (k, pool) in self.pools.iter().enumerate() {
                for (t, (room, price)) in taken[k].iter().zip(pool.room.iter().zip(&pool.price)) {
                    let g = (t - room) as f64 / scale[k];
                    if g > 0.0 || *price > 0 {
                        square += g * g;
                    }
                }
            }
            if square <= 0.0 {
                break;
            }
            let step = self.step * (known - value).max(1) as f64 * UNIT as f64 / square;
            for (k, pool) in self.pools.iter_mut().enumerate() {
                for (b, price) in pool.price.iter_mut().enumerate() {
                    let g = (taken[k][b] - pool.room[b]) as f64 / scale[k];
                    *price = ((*price as f64 + step * g / scale[k]).round() as i64).clamp(0, DEAREST);
                }
            }
        }
        self.best
    }

    /// The blocks in the order of their starts at the present prices: a good order to give them room in (list scheduling by
    /// the starts of a relaxation; Möhring, Schulz, Stork and Uetz, 2003).
    pub fn order(&self) -> Vec<usize> {
        let mut by: Vec<(Minute, usize)> = self.at.iter().zip(&self.jobs).map(|(&at, j)| (at, j.block)).collect();
        by.sort_unstable();
        by.into_iter().map(|x| x.1).collect()
    }

    /// The best bound so far.
    pub fn best(&self) -> i64 {
        self.best
    }

    /// Goes back to the prices that gave the best bound, if one has.
    pub fn take_best(&mut self) {
        for (pool, best) in self.pools.iter_mut().zip(&self.best_prices) {
            pool.price.clone_from(best);
        }
        self.pools.iter_mut().for_each(|p| p.sum(self.grid.width));
    }

    /// What blocks without a job cost at least.
    pub fn rest(&self) -> i64 {
        self.rest
    }

    /// Of all beginnings of a job: the last of those that are alike, and what the cheapest of them costs and pays.
    pub fn each_price(&self, job: usize, look: &mut impl FnMut(Minute, i128)) {
        let job = &self.jobs[job];
        for starts in &job.starts {
            job.prices(starts, &self.grid, &self.pools, &mut |_, price| look(starts.to, price));
        }
    }

    /// What one unit of a pool pays from the first price on until then.
    pub fn paid(&self, pool: usize, until: Minute) -> i64 {
        let pool = &self.pools[pool];
        if pool.price.is_empty() { 0 } else { pool.until(&self.grid, until) }
    }

    /// How many jobs a step of prices looks at.
    pub fn jobs(&self) -> usize {
        self.jobs.len()
    }

    /// Nothing more is to be gained.
    pub fn is_done(&self, known: i64) -> bool {
        self.best >= known || self.step < 1e-4
    }
}

impl Pool {
    /// What a full bucket holds, to measure its overload by.
    fn measure(&self) -> f64 {
        self.room.iter().copied().max().unwrap_or(1).max(1) as f64 / self.members.len().max(1) as f64
    }
}

/// What a block costs at least on the first level when nothing of it starts sooner than this.
pub(super) fn lateness(model: &Model, block: usize, starts: &[Minute]) -> i64 {
    let terms = model.blocks[block].terms.iter().map(|&t| model.terms[t as usize]);
    terms.filter(|t| t.0 == 0).map(|t| t.1.simple_cost(model.problem, starts)).sum()
}

/// The sets of resources that some hold chooses from.
pub(crate) fn pools(problem: &Problem) -> Vec<Vec<ResourceId>> {
    let some = problem.holds.iter().filter(|h| h.amount > 0);
    let mut sets: Vec<Vec<ResourceId>> = some.map(|h| h.choose.clone()).collect();
    sets.iter_mut().for_each(|s| s.sort_unstable());
    sets.sort_unstable();
    sets.dedup();
    sets
}

/// The least length of a hold.
pub(super) fn shortest(model: &Model, h: usize, hold: &Hold) -> Minute {
    if let Some(length) = model.fixed[h] {
        return length.max(0);
    }
    let way = |t: &Point| longest_way(model, hold.from.activity.0, t.activity.0);
    let lengths = hold.to.iter().filter_map(|t| Some(way(t)? + t.offset - hold.from.offset));
    lengths.max().unwrap_or(0).max(0)
}

/// What the resources give between two moments: amount times minutes.
fn room(model: &Model, set: &[ResourceId], from: Minute, to: Minute) -> i64 {
    let p = model.problem;
    let of = |r: &ResourceId| {
        let resource = &p.resources[r.index()];
        let minutes = resource.calendar.map_or(to - from, |c| p.calendars[c.index()].minutes_inside(from, to));
        i64::from(resource.capacity) * i64::from(minutes)
    };
    set.iter().map(of).sum()
}
