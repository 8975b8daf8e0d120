//! The only place that asks what time it is. Everything else is told.

use chrono::{DateTime, Utc};

/// The present moment, in UTC, to the second the system clock gives.
#[allow(clippy::disallowed_methods)]
pub fn now() -> DateTime<Utc> {
    Utc::now()
}

/// Time since it was made, by the machine's monotonic clock: how long a search may still go on.
#[derive(Debug, Clone, Copy)]
pub struct Stopwatch(std::time::Instant);

impl Stopwatch {
    pub fn start() -> Self {
        Self(std::time::Instant::now())
    }

    pub fn elapsed(&self) -> std::time::Duration {
        self.0.elapsed()
    }
}
