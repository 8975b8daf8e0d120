//! The states of a sequence, and which of them make others needless.

use crate::schedule::Minute;
use std::ops::{Index, Range};

/// Parts that a pool's capacity is measured in.
const PARTS: i64 = 1 << 20;

/// What a pool has lent, and until when.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::schedule::search) struct Lent {
    pub pool: u8,
    pub until: Minute,
    pub amount: i32,
    /// What it pays until then from the first price on.
    pub paid: i64,
}

#[derive(Clone)]
pub(super) struct State {
    /// The blocks begun.
    pub set: u32,
    pub cost: i64,
    /// The last beginning.
    pub last: Minute,
    /// Where it says what is not back by the last beginning, by pool and moment.
    lent: Range<usize>,
    /// What is still to come costs at least.
    pub bound: i64,
    /// The state that makes this one needless.
    better: Option<u32>,
    /// The last block begun, and after which state.
    pub by: (u8, u32),
}

/// What is looked at first of a state among others of its set.
#[derive(Clone, Copy)]
pub(super) struct Filed {
    pub state: u32,
    cost: i64,
    last: Minute,
    /// When all is back.
    free: Minute,
    /// What is lent, in parts of each pool's capacity, and the same times the moment until when.
    amount: i64,
    moment: i64,
}

impl Filed {
    /// Can the first make the second needless? It must cost no more, have begun no later, and owe no more from then on.
    fn may_dominate(&self, b: &Self) -> bool {
        let owed = |f: &Self| f.moment - f.amount * i64::from(b.last);
        self.cost <= b.cost && self.last <= b.last && self.free <= b.free && owed(self) <= owed(b)
    }
}

#[derive(Default)]
pub(super) struct States {
    all: Vec<State>,
    /// What all of them have lent; at the end that of the state being looked at.
    lent: Vec<Lent>,
    /// Others of its set that states were compared with.
    pub compared: u64,
}

impl Index<u32> for States {
    type Output = State;

    fn index(&self, state: u32) -> &State {
        &self.all[state as usize]
    }
}

impl States {
    pub fn len(&self) -> usize {
        self.all.len()
    }

    pub fn lent_in_all(&self) -> usize {
        self.lent.len()
    }

    /// Only the state in which nothing has begun.
    pub fn begin(&mut self, cost: i64) {
        let last = Minute::MIN / 2;
        self.all.clear();
        self.lent.clear();
        self.compared = 0;
        self.all.push(State { set: 0, cost, last, lent: 0..0, bound: 0, better: None, by: (0, 0) });
    }

    pub fn lent(&self, state: u32) -> &[Lent] {
        &self.lent[self[state].lent.clone()]
    }

    /// What a state not filed yet has lent.
    pub fn newest(&self, state: &State) -> &[Lent] {
        &self.lent[state.lent.clone()]
    }

    /// The state after one more block has begun, not filed yet.
    pub fn after(&mut self, from: u32, job: u8, (start, late): (Minute, i64), lent: &[Lent]) -> State {
        let State { set, cost, lent: before, .. } = self[from].clone();
        let first = self.lent.len();
        for i in before {
            let l = self.lent[i];
            self.lent.extend((l.until > start).then_some(l));
        }
        for l in lent {
            let at = first + self.lent[first..].partition_point(|x| x < l);
            self.lent.insert(at, *l);
        }
        let lent = first..self.lent.len();
        State { set: set | 1 << job, cost: cost + late, last: start, lent, bound: 0, better: None, by: (job, from) }
    }

    /// Keeps a state among the others of its set, unless one of them makes it needless; the one that stands for it.
    pub fn file(&mut self, others: &mut Vec<Filed>, new: State, capacity: &[i64]) -> u32 {
        let state = self.all.len() as u32;
        let mut filed = Filed { state, cost: new.cost, last: new.last, free: new.last, amount: 0, moment: 0 };
        for l in &self.lent[new.lent.clone()] {
            let part = i64::from(l.amount) * PARTS / capacity[usize::from(l.pool)].max(1);
            filed.free = filed.free.max(l.until);
            filed.amount += part;
            filed.moment += part * i64::from(l.until);
        }
        self.compared += others.len() as u64;
        let Self { all, lent, .. } = self;
        let of = |state: u32, all: &[State]| &lent[all[state as usize].lent.clone()];
        let mine = &lent[new.lent.clone()];
        let better = |o: &&Filed| o.may_dominate(&filed) && holds_no_more(of(o.state, all), mine, new.last);
        if let Some(o) = others.iter().find(better) {
            return o.state;
        }
        others.retain(|o| {
            let needless = filed.may_dominate(o) && holds_no_more(mine, of(o.state, all), o.last);
            if needless {
                all[o.state as usize].better = Some(state);
            }
            !needless
        });
        others.push(filed);
        all.push(new);
        state
    }

    /// Forgets what no filed state has lent.
    pub fn forget(&mut self) {
        self.lent.truncate(self.all.last().map_or(0, |s| s.lent.end));
    }

    /// A state that was made needless stands for the one that did so, which may have been so in its turn.
    pub fn stands(&self, mut state: u32) -> u32 {
        while let Some(better) = self[state].better {
            state = better;
        }
        state
    }
}

/// Does the first state, which costs no more and began no later, hold no more at any moment from `last` on, the second's
/// last beginning?
fn holds_no_more(a: &[Lent], b: &[Lent], last: Minute) -> bool {
    // Both from the last moment back, pool by pool: `a` must never be ahead.
    let mut of_b = b.iter().rev().peekable();
    let (mut pool, mut ahead) = (u8::MAX, 0i64);
    for x in a.iter().rev().filter(|x| x.until > last) {
        if x.pool != pool {
            (pool, ahead) = (x.pool, 0);
            while of_b.peek().is_some_and(|y| y.pool > pool) {
                of_b.next();
            }
        }
        while let Some(y) = of_b.peek().filter(|y| y.pool == pool && y.until >= x.until) {
            ahead -= i64::from(y.amount);
            of_b.next();
        }
        ahead += i64::from(x.amount);
        if ahead > 0 {
            return false;
        }
    }
    true
}
