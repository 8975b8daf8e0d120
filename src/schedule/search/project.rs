//! Plain projects: one block of fixed work on resources without calendars, judged by how early things end (RCPSP and
//! RCPSP/max). Here the order in which activities get room is everything.
//!
//! Serial schedule generation over a population of activity lists with two-point crossover (Hartmann, 1998) and
//! forward-backward justification (Valls, Ballestin and Quintanilla, 2005); with maximum lags, generation unschedules what
//! an overrun lag ties down (Neumann, Schwindt and Zimmermann, 2003).

use super::model::{Model, is_regular};
use super::rng::Rng;
use crate::schedule::Minute;

const UNSET: Minute = Minute::MIN;
/// Cells of the dense profile (minutes times resources) accepted.
const MOST_CELLS: usize = 4_000_000;

pub(super) struct Project<'m, 'a> {
    model: &'m Model<'a>,
    n: usize,
    resources: usize,
    duration: Vec<Minute>,
    /// By activity: `(resource, amount)`.
    needs: Vec<Vec<(usize, i32)>>,
    capacity: Vec<i32>,
    length: Minute,
    /// All lags are minimum lags, without a circle.
    pub forward_only: bool,
    /// Predecessors and successors by lags of 0 or more.
    before: Vec<Vec<u32>>,
    after: Vec<Vec<u32>>,
    /// Taken by minute and resource.
    taken: Vec<i32>,
    /// The population: cost and list.
    people: Vec<(Vec<i64>, Vec<u32>)>,
    /// Generations since anything was gained.
    pub idle: u64,
    pub nodes: u64,
}

/// Adds to what an activity needs: two holds on one resource are one need, or each of them alone would seem to fit.
fn add(needs: &mut Vec<(usize, i32)>, resource: usize, amount: i32) {
    match needs.iter_mut().find(|n| n.0 == resource) {
        Some((_, sum)) => *sum = sum.saturating_add(amount),
        None => needs.push((resource, amount)),
    }
}

impl<'m, 'a> Project<'m, 'a> {
    /// `None` when the problem is not of this kind.
    pub fn of(model: &'m Model<'a>) -> Option<Self> {
        let p = model.problem;
        let n = p.activities.len();
        let plain = model.blocks.len() == 1
            && n > 1
            && p.within.is_empty()
            && model.spells.is_empty()
            && model.terms.iter().all(|(_, t)| is_regular(t))
            && p.resources.iter().all(|r| r.calendar.is_none() && r.changeover.is_empty());
        if !plain {
            return None;
        }
        let mut needs = vec![Vec::new(); n];
        for (i, h) in p.holds.iter().enumerate() {
            let a = h.from.activity.index();
            let whole = h.from.offset == 0 && model.fixed[i] == Some(p.activities[a].duration);
            if !whole || h.choose.len() != 1 {
                return None;
            }
            if h.amount > 0 {
                add(&mut needs[a], h.choose[0].index(), h.amount);
            }
        }
        let longest = |l: Minute| i64::from(l.max(0));
        let all: i64 = p.activities.iter().map(|a| i64::from(a.duration.max(1))).sum::<i64>()
            + p.lags.iter().map(|l| longest(l.least)).sum::<i64>()
            + p.activities.iter().map(|a| i64::from(a.release)).max().unwrap_or(0);
        let length = i64::from(p.horizon).min(all) as usize;
        if (length + 1) * p.resources.len() > MOST_CELLS {
            return None;
        }
        let mut before = vec![Vec::new(); n];
        let mut after = vec![Vec::new(); n];
        for l in p.lags.iter().filter(|l| l.least >= 0 && l.from != l.to) {
            before[l.to.index()].push(l.from.0);
            after[l.from.index()].push(l.to.0);
        }
        let ordered = model.rank.iter().all(|&r| (r as usize) < n);
        if !ordered {
            return None;
        }
        Some(Self {
            model,
            n,
            resources: p.resources.len(),
            duration: p.activities.iter().map(|a| a.duration).collect(),
            needs,
            capacity: p.resources.iter().map(|r| r.capacity).collect(),
            length: length as Minute,
            forward_only: p.lags.iter().all(|l| l.least >= 0),
            before,
            after,
            taken: vec![0; (length + 1) * p.resources.len()],
            people: Vec::new(),
            idle: 0,
            nodes: 0,
        })
    }

    pub fn is_small(&self) -> bool {
        self.n <= 50
    }

    pub fn cost(&self, starts: &[Minute]) -> Vec<i64> {
        let mut cost = vec![0; self.model.problem.levels.len()];
        for (level, term) in &self.model.terms {
            cost[*level] += term.simple_cost(self.model.problem, starts);
        }
        cost
    }

    fn change(&mut self, a: usize, start: Minute, sign: i32) {
        for t in start..start + self.duration[a] {
            for &(r, amount) in &self.needs[a] {
                self.taken[t as usize * self.resources + r] += sign * amount;
            }
        }
    }

    fn full_at(&self, a: usize, t: Minute) -> bool {
        let row = t as usize * self.resources;
        self.needs[a].iter().any(|&(r, amount)| self.taken[row + r].saturating_add(amount) > self.capacity[r])
    }

    /// First start from `at` on with room; `None` past the horizon.
    fn room_from(&self, a: usize, mut at: Minute) -> Option<Minute> {
        if self.needs[a].is_empty() || self.duration[a] == 0 {
            return (at + self.duration[a] <= self.length).then_some(at);
        }
        let mut k = 0;
        while k < self.duration[a] {
            if at + self.duration[a] > self.length {
                return None;
            }
            // From the back: a full minute there clears everything before it.
            let t = at + self.duration[a] - 1 - k;
            if self.full_at(a, t) {
                at = t + 1;
                k = 0;
            } else {
                k += 1;
            }
        }
        Some(at)
    }

    /// Last start up to `at` with room.
    fn room_until(&self, a: usize, mut at: Minute) -> Option<Minute> {
        if self.needs[a].is_empty() || self.duration[a] == 0 {
            return (at >= 0).then_some(at);
        }
        let mut k = 0;
        while k < self.duration[a] {
            if at < 0 {
                return None;
            }
            let t = at + k;
            if self.full_at(a, t) {
                at = t - self.duration[a];
                k = 0;
            } else {
                k += 1;
            }
        }
        Some(at)
    }

    /// Serial generation along a list that respects the order of lags. `None` when something finds no room in its window.
    pub fn generate(&mut self, list: &[u32]) -> Option<Vec<Minute>> {
        self.nodes += 1;
        self.taken.fill(0);
        let mut starts = vec![UNSET; self.n];
        for &a in list {
            let i = a as usize;
            let mut at = self.model.lo[i];
            for arc in self.model.into.of(i) {
                if starts[arc.other as usize] != UNSET {
                    at = at.max(starts[arc.other as usize] + arc.least);
                }
            }
            let at = self.room_from(i, at)?;
            if at > self.model.hi[i] {
                return None;
            }
            starts[i] = at;
            self.change(i, at, 1);
        }
        Some(starts)
    }

    /// Serial generation with maximum lags: what an overrun lag ties down is taken out and put off.
    pub fn generate_max(&mut self, list: &[u32]) -> Option<Vec<Minute>> {
        self.nodes += 1;
        self.taken.fill(0);
        let mut starts = vec![UNSET; self.n];
        let mut earliest = self.model.lo.clone();
        let mut patience = 10 * self.n;
        let mut raised = Vec::new();
        let mut k = 0;
        while k < list.len() {
            let a = list[k];
            let i = a as usize;
            k += 1;
            if starts[i] != UNSET {
                continue;
            }
            let mut at = earliest[i];
            for arc in self.model.into.of(i) {
                if starts[arc.other as usize] != UNSET {
                    at = at.max(starts[arc.other as usize] + arc.least);
                }
            }
            let at = self.room_from(i, at)?;
            if at > self.model.hi[i] {
                return None;
            }
            raised.clear();
            for arc in self.model.out.of(i) {
                let b = arc.other as usize;
                if b != i && starts[b] != UNSET && starts[b] < at + arc.least {
                    // `b` would have to start later to keep its maximum lag.
                    earliest[b] = at + arc.least;
                    if earliest[b] > self.model.hi[b] {
                        return None;
                    }
                    raised.push(arc.other);
                }
            }
            if !raised.is_empty() {
                patience = patience.checked_sub(1)?;
                if earliest[i] < at {
                    earliest[i] = at;
                    raised.push(a);
                }
                // Those taken out may tie others down in turn.
                self.pull_up(&mut raised, &mut earliest, &mut starts)?;
                self.nodes += u64::from(patience.is_multiple_of(8));
                k = 0;
                continue;
            }
            starts[i] = at;
            self.change(i, at, 1);
        }
        Some(starts)
    }

    /// Carries raised earliest starts along the lags and takes out what now starts too early. A circle of lags without
    /// a schedule ends at the first start past its window.
    fn pull_up(&mut self, raised: &mut Vec<u32>, earliest: &mut [Minute], starts: &mut [Minute]) -> Option<()> {
        while let Some(a) = raised.pop() {
            let i = a as usize;
            if starts[i] != UNSET && starts[i] < earliest[i] {
                self.change(i, starts[i], -1);
                starts[i] = UNSET;
            }
            for arc in self.model.out.of(i) {
                let b = arc.other as usize;
                if earliest[i] + arc.least > earliest[b] {
                    earliest[b] = earliest[i] + arc.least;
                    if earliest[b] > self.model.hi[b] {
                        return None;
                    }
                    raised.push(arc.other);
                }
            }
        }
        Some(())
    }

    /// Pushes everything late inside the present length, then early again; never longer than before.
    fn justify(&mut self, starts: &mut Vec<Minute>) {
        let end = (0..self.n).map(|i| starts[i] + self.duration[i]).max().unwrap_or(0);
        let mut order: Vec<u32> = (0..self.n as u32).collect();
        order.sort_by_key(|&a| {
            let i = a as usize;
            (std::cmp::Reverse(starts[i] + self.duration[i]), std::cmp::Reverse(self.model.rank[i]))
        });
        self.nodes += 1;
        self.taken.fill(0);
        let mut late = vec![UNSET; self.n];
        for &a in &order {
            let i = a as usize;
            let mut at = end - self.duration[i];
            for arc in self.model.out.of(i) {
                if late[arc.other as usize] == UNSET {
                    return;
                }
                at = at.min(late[arc.other as usize] - arc.least);
            }
            let Some(at) = self.room_until(i, at) else { return };
            late[i] = at;
            self.change(i, at, 1);
        }
        order.sort_by_key(|&a| (late[a as usize], self.model.rank[a as usize]));
        if let Some(early) = self.generate(&order) {
            *starts = early;
        }
    }

    fn by_start(&self, starts: &[Minute]) -> Vec<u32> {
        let mut order: Vec<u32> = (0..self.n as u32).collect();
        order.sort_by_key(|&a| (starts[a as usize], self.model.rank[a as usize]));
        order
    }

    /// A random list that respects lags of 0 or more, biased to `key` (smaller first).
    fn random_list(&self, key: impl Fn(u32) -> i64, rng: &mut Rng) -> Vec<u32> {
        let mut waiting: Vec<usize> = self.before.iter().map(Vec::len).collect();
        let mut ready: Vec<u32> = (0..self.n as u32).filter(|&a| waiting[a as usize] == 0).collect();
        let mut list = Vec::with_capacity(self.n);
        while !ready.is_empty() {
            let tries = 1 + rng.below(3);
            let pick = (0..tries).map(|_| rng.below(ready.len())).min_by_key(|&k| key(ready[k])).unwrap_or(0);
            let a = ready.swap_remove(pick);
            list.push(a);
            for &b in &self.after[a as usize] {
                waiting[b as usize] -= 1;
                if waiting[b as usize] == 0 {
                    ready.push(b);
                }
            }
        }
        list
    }

    fn decode(&mut self, list: &[u32]) -> Option<Vec<Minute>> {
        if self.forward_only {
            let mut starts = self.generate(list)?;
            self.justify(&mut starts);
            Some(starts)
        } else {
            self.generate_max(list)
        }
    }

    /// One more schedule: a new member of the population, or a child of two. `None` when it came to nothing.
    pub fn step(&mut self, rng: &mut Rng) -> Option<(Vec<Minute>, Vec<i64>)> {
        const POPULATION: usize = 30;
        let list = if self.people.len() < POPULATION {
            let tail = self.tails();
            // The first by the longest way to the end, without chance.
            let mut first = Rng::new(1);
            let rng = if self.people.is_empty() && self.nodes == 0 { &mut first } else { rng };
            self.random_list(|a| i64::from(-tail[a as usize]), rng)
        } else {
            let (i, j) = (rng.below(POPULATION), rng.below(POPULATION));
            self.cross(&self.people[i].1, &self.people[j].1, rng)
        };
        self.idle += 1;
        let starts = self.decode(&list)?;
        let cost = self.cost(&starts);
        let list = self.by_start(&starts);
        if self.people.len() < POPULATION {
            self.people.push((cost.clone(), list));
        } else if !self.people.iter().any(|p| p.1 == list) {
            // The worst gives way; a plan already there is not let in twice.
            let worst = (0..POPULATION).max_by_key(|&k| &self.people[k].0).unwrap_or(0);
            if cost <= self.people[worst].0 {
                self.people[worst] = (cost.clone(), list);
            }
        }
        if self.idle % 3000 == 2999 {
            // A fresh population, the best kept.
            self.people.sort();
            self.people.truncate(1);
        }
        Some((starts, cost))
    }

    /// Longest way from each activity to the end, by the lags.
    fn tails(&self) -> Vec<Minute> {
        let mut order: Vec<u32> = (0..self.n as u32).collect();
        order.sort_by_key(|&a| std::cmp::Reverse(self.model.rank[a as usize]));
        let mut tail = self.duration.clone();
        for a in order {
            for arc in self.model.out.of(a as usize).iter().filter(|x| x.least >= 0) {
                tail[a as usize] = tail[a as usize].max(arc.least + tail[arc.other as usize]);
            }
        }
        tail
    }

    /// Two-point crossover of lists, with now and then two neighbours swapped.
    fn cross(&self, mother: &[u32], father: &[u32], rng: &mut Rng) -> Vec<u32> {
        let n = mother.len();
        let (mut i, mut j) = (rng.below(n), rng.below(n));
        if i > j {
            std::mem::swap(&mut i, &mut j);
        }
        let mut used = vec![false; n];
        let mut list = Vec::with_capacity(n);
        let mut take = |list: &mut Vec<u32>, from: &[u32], until: usize| {
            for &a in from {
                if list.len() >= until {
                    break;
                }
                if !std::mem::replace(&mut used[a as usize], true) {
                    list.push(a);
                }
            }
        };
        take(&mut list, mother, i);
        take(&mut list, father, j);
        take(&mut list, mother, n);
        for k in 1..n {
            if rng.chance(4) && !self.before[list[k] as usize].contains(&list[k - 1]) {
                list.swap(k, k - 1);
            }
        }
        list
    }
}
