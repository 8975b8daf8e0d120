//! What is taken of one resource over time, and the next stretch that is free.

use crate::schedule::{Minute, Resource};

/// How long to keep free between two families.
fn changeover(table: &[(u32, u32, Minute)], before: u32, after: u32) -> Minute {
    table.iter().filter(|c| c.0 == before && c.1 == after).map(|c| c.2).max().unwrap_or(0)
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Busy {
    from: Minute,
    to: Minute,
    family: u32,
}

/// A stretch of `amount`, of one family.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Stretch {
    pub from: Minute,
    pub to: Minute,
    pub amount: i32,
    pub family: u32,
}

/// The amount taken, as a step function; for resources with changeovers also who holds it.
#[derive(Debug, Clone)]
pub(crate) struct Profile<'a> {
    capacity: i32,
    table: &'a [(u32, u32, Minute)],
    /// `(time, taken from then on)`; the first entry stands for the beginning of time and the last is always 0.
    steps: Vec<(Minute, i32)>,
    busy: Vec<Busy>,
}

impl<'a> Profile<'a> {
    pub fn new(resource: &'a Resource) -> Self {
        Self {
            capacity: resource.capacity,
            table: &resource.changeover,
            steps: vec![(Minute::MIN, 0)],
            busy: Vec::new(),
        }
    }

    fn step_at(&self, at: Minute) -> usize {
        self.steps.partition_point(|s| s.0 <= at) - 1
    }

    /// The index of the step that begins at `at`, made when there is none.
    fn split(&mut self, at: Minute) -> usize {
        let i = self.step_at(at);
        if self.steps[i].0 == at {
            return i;
        }
        self.steps.insert(i + 1, (at, self.steps[i].1));
        i + 1
    }

    fn change(&mut self, from: Minute, to: Minute, amount: i32) {
        let first = self.split(from);
        let last = self.split(to);
        for s in &mut self.steps[first..last] {
            s.1 += amount;
        }
        // Steps that no longer change anything go, so that the profile stays as short as what is in it.
        if self.steps[last].1 == self.steps[last - 1].1 {
            self.steps.remove(last);
        }
        if self.steps[first].1 == self.steps[first - 1].1 {
            self.steps.remove(first);
        }
    }

    pub fn add(&mut self, s: Stretch) {
        self.change(s.from, s.to, s.amount);
        if !self.table.is_empty() {
            let b = Busy { from: s.from, to: s.to, family: s.family };
            let i = self.busy.partition_point(|x| *x < b);
            self.busy.insert(i, b);
        }
    }

    pub fn remove(&mut self, s: Stretch) {
        self.change(s.from, s.to, -s.amount);
        if !self.table.is_empty() {
            let b = Busy { from: s.from, to: s.to, family: s.family };
            if let Ok(i) = self.busy.binary_search(&b) {
                self.busy.remove(i);
            }
        }
    }

    pub fn has_changeovers(&self) -> bool {
        !self.table.is_empty()
    }

    pub fn fits(&self, s: Stretch) -> bool {
        let mut i = self.step_at(s.from);
        let room = self.capacity - s.amount;
        while i < self.steps.len() && self.steps[i].0 < s.to {
            if self.steps[i].1 > room {
                return false;
            }
            i += 1;
        }
        self.table.is_empty() || !self.busy.iter().any(|b| self.clash(b, s))
    }

    fn clash(&self, b: &Busy, s: Stretch) -> bool {
        s.from < b.to + changeover(self.table, b.family, s.family)
            && b.from < s.to + changeover(self.table, s.family, b.family)
    }

    /// `s.from` when the stretch fits; else a moment before which no stretch that ends at `s.to` or later may begin.
    /// `None` when it can never fit (the amount is over the capacity).
    pub fn begin_after(&self, s: Stretch) -> Option<Minute> {
        let room = self.capacity - s.amount;
        if room < 0 {
            return None;
        }
        let first = self.step_at(s.from);
        // From the back: behind the last overfull step that the stretch touches.
        let mut i = self.steps.partition_point(|x| x.0 < s.to) - 1;
        let mut from = s.from;
        loop {
            if self.steps[i].1 > room {
                from = self.steps[i + 1].0;
                break;
            }
            if i <= first {
                break;
            }
            i -= 1;
        }
        for b in &self.busy {
            if self.clash(b, s) {
                from = from.max(b.to + changeover(self.table, b.family, s.family));
            }
        }
        Some(from)
    }

    /// `s.to` when the stretch fits; else a moment after which no stretch that begins at `s.from` or earlier may end.
    pub fn end_before(&self, s: Stretch) -> Option<Minute> {
        let room = self.capacity - s.amount;
        if room < 0 {
            return None;
        }
        let mut i = self.step_at(s.from);
        let mut to = s.to;
        while i < self.steps.len() && self.steps[i].0 < s.to {
            if self.steps[i].1 > room {
                to = self.steps[i].0;
                break;
            }
            i += 1;
        }
        for b in &self.busy {
            if self.clash(b, s) {
                to = to.min(b.from - changeover(self.table, s.family, b.family));
            }
        }
        Some(to)
    }
}
