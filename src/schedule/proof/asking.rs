//! How much better than the best known to ask for, level by level.
//!
//! The stronger the wish, the more follows from it, so asking for all that the bound leaves open is the quickest question:
//! found, it settles the level; refuted, it lifts the bound. What is not settled in a few conflicts is asked for by half,
//! an eighth, a sixty-fourth, and at last by a single step, which goes on for as long as there is time.

/// By how many halvings what could be gained is cut, bolder questions first; the last leaves a single step.
const HALVINGS: [u32; 5] = [0, 1, 3, 6, 62];
/// Conflicts spent on the boldest question; twice as many on the next, and so on.
const TRY: u64 = 100;

#[derive(Debug, Default)]
pub(super) struct Asking {
    /// Only ever by a single step: where one level is all there is, its proof takes the time (measured on the published
    /// sets).
    by_step: bool,
    /// Place in [`HALVINGS`].
    place: usize,
    /// How often a single step was given up: the bolder questions get twice as long each time.
    rounds: u32,
}

impl Asking {
    pub fn new(by_step: bool) -> Self {
        Self { by_step, ..Self::default() }
    }

    /// What the level is to cost at most: below the best known, never under what is refuted.
    pub fn target(&self, best: i64, bound: i64) -> i64 {
        if self.by_step {
            return best - 1;
        }
        let step = ((best - bound) >> HALVINGS[self.place]).max(1);
        (best - step).max(bound).min(best - 1)
    }

    /// Conflicts after which a question is given up for a milder one; `None` for a single step.
    pub fn effort(&self, best: i64, bound: i64) -> Option<u64> {
        let effort = (TRY * (self.place as u64 + 1)) << self.rounds.min(12);
        (self.target(best, bound) < best - 1).then_some(effort)
    }

    /// In every other round a single step is decided against the best known: that refutes sooner and finds later.
    pub fn against(&self) -> bool {
        !self.by_step && self.rounds.is_multiple_of(2)
    }

    pub fn given_up(&mut self) {
        self.place = (self.place + 1).min(HALVINGS.len() - 1);
    }

    /// The slice is over while a single step was asked for.
    pub fn step_stopped(&mut self) {
        self.place = 0;
        self.rounds += 1;
    }

    pub fn found(&mut self) {
        self.place = self.place.saturating_sub(1);
    }

    /// Not to be had: what is left is not asked for as a whole again at once, or the bound would rise minute by minute.
    pub fn refuted(&mut self) {
        self.place = self.place.max(1);
    }

    pub fn next_level(&mut self) {
        (self.place, self.rounds) = (0, 0);
    }
}
