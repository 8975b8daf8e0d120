//! When a search should give up its turn: node budgets in tests, the wall clock in the program, a flag on the screen.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

/// Asked often while searching; `true` ends the search with what it has.
pub trait Stop {
    /// `nodes` is the number of search steps (insertions tried) so far.
    fn should_stop(&self, nodes: u64) -> bool;
}

/// Stops after so many nodes: the same answer on every machine.
#[derive(Debug, Clone, Copy)]
pub struct NodeBudget(pub u64);

impl Stop for NodeBudget {
    fn should_stop(&self, nodes: u64) -> bool {
        nodes >= self.0
    }
}

/// Stops at a moment of the machine's monotonic clock. The answer then depends on the machine's speed.
#[derive(Debug, Clone, Copy)]
pub struct WallClock {
    deadline: Instant,
}

impl WallClock {
    pub fn until(deadline: Instant) -> Self {
        Self { deadline }
    }

    /// A deadline so far from now.
    pub fn after(length: std::time::Duration) -> Self {
        let now = Instant::now();
        // A length beyond what the clock can hold means a day, which is long enough for anybody.
        Self { deadline: now.checked_add(length).unwrap_or(now + std::time::Duration::from_secs(86_400)) }
    }
}

impl Stop for WallClock {
    fn should_stop(&self, _: u64) -> bool {
        Instant::now() >= self.deadline
    }
}

/// Stops once the flag is set, from any thread.
#[derive(Debug, Clone, Default)]
pub struct Cancelled(pub Arc<AtomicBool>);

impl Cancelled {
    pub fn cancel(&self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

impl Stop for Cancelled {
    fn should_stop(&self, _: u64) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

/// Stops when any of its parts would.
pub struct AnyOf<'a>(pub Vec<&'a dyn Stop>);

impl Stop for AnyOf<'_> {
    fn should_stop(&self, nodes: u64) -> bool {
        self.0.iter().any(|s| s.should_stop(nodes))
    }
}
