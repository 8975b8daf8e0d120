//! When to call a plan good enough: nothing better has come for as long again as the last gain took.

use crate::clock::Stopwatch;
use crate::schedule::Stop;
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
