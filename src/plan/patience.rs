//! When to stop: nothing better has come for as long again as the last gain took, or one call of many has had its share.

use crate::clock::Stopwatch;
use crate::schedule::{NodeBudget, Stop};
use std::cell::Cell;
use std::time::Duration;

/// Stops when the search has gone on for twice as long as its last gain took and at least `least`, or after `most`.
#[derive(Debug)]
pub struct Patience {
    watch: Stopwatch,
    gained: Cell<Duration>,
    least: Duration,
    most: Duration,
}

impl Patience {
    pub fn new(least: Duration, most: Duration) -> Self {
        Self { watch: Stopwatch::start(), gained: Cell::new(Duration::ZERO), least, most }
    }

    /// To be told of each better plan.
    pub fn gained(&self) {
        self.gained.set(self.watch.elapsed());
    }
}

impl Stop for Patience {
    fn should_stop(&self, _: u64) -> bool {
        let now = self.watch.elapsed();
        now >= self.most || (now >= self.least && now >= self.gained.get() * 2)
    }
}

/// Counts the nodes of all calls together against the caller's stop, and this call's own against a budget.
pub(super) struct Share<'a> {
    outer: &'a dyn Stop,
    before: u64,
    own: NodeBudget,
    /// Most steps this call has been asked about: what it has spent, found something or not.
    spent: Cell<u64>,
}

impl<'a> Share<'a> {
    /// A call that may spend `own` nodes, after others spent `before`.
    pub fn new(outer: &'a dyn Stop, before: u64, own: u64) -> Self {
        Self { outer, before, own: NodeBudget(own), spent: Cell::new(0) }
    }

    /// Nodes spent; a call is never for nothing.
    pub fn spent(&self) -> u64 {
        self.spent.get().max(1)
    }
}

impl Stop for Share<'_> {
    fn should_stop(&self, nodes: u64) -> bool {
        self.spent.set(self.spent.get().max(nodes));
        self.own.should_stop(nodes) || self.outer.should_stop(self.before + nodes)
    }
}
