//! What a solution costs on each objective level, added up plainly from the terms.
//!
//! The search keeps running totals of its own (`search/tally.rs`); [`super::check`] has a third reckoning. The tests hold
//! the three against each other.

use super::{Calendar, Minute, Point, Problem, Solution, Term};

impl Calendar {
    /// Index of the open interval that holds the minute `at`.
    pub fn interval_at(&self, at: Minute) -> Option<usize> {
        let i = self.open.partition_point(|o| o.to <= at);
        (i < self.open.len() && self.open[i].from <= at).then_some(i)
    }

    /// Minutes of `[from, to)` inside the open intervals.
    pub fn minutes_inside(&self, from: Minute, to: Minute) -> Minute {
        let first = self.open.partition_point(|o| o.to <= from);
        self.open[first..].iter().take_while(|o| o.from < to).map(|o| o.to.min(to) - o.from.max(from)).sum()
    }
}

/// The moment of a point, given the starts.
pub(super) fn moment(starts: &[Minute], point: Point) -> Minute {
    starts[point.activity.index()] + point.offset
}

impl Term {
    /// The cost of every term but [`Term::Spells`], which needs counting.
    pub(super) fn simple_cost(&self, problem: &Problem, starts: &[Minute]) -> i64 {
        let at = |p: Point| moment(starts, p);
        let over = |minutes: Minute, weight: i64| i64::from(minutes.max(0)) * weight;
        match self {
            Term::Late { point, due, weight } => over(at(*point) - due, *weight),
            Term::ShortOfSpare { point, due, want, weight } => over(want - (due - at(*point)), *weight),
            Term::Over { from, to, good, weight } => over(at(*to) - at(*from) - good, *weight),
            Term::Under { from, to, good, weight } => over(good - (at(*to) - at(*from)), *weight),
            Term::Moved { activity, promised, weight } => {
                if starts[activity.index()] == *promised {
                    0
                } else {
                    *weight
                }
            }
            Term::Spells { .. } => 0,
            Term::Inside { calendar, from, to, weight } => {
                over(problem.calendars[calendar.index()].minutes_inside(at(*from), at(*to)), *weight)
            }
            Term::Length { from, to, weight } => over(at(*to) - at(*from), *weight),
            Term::At { point, weight } => over(at(*point), *weight),
        }
    }
}

/// Cost by level, in the problem's order. The problem must be valid and the solution must have a start for each activity.
pub fn cost(problem: &Problem, solution: &Solution) -> Vec<i64> {
    let starts = &solution.starts;
    let term_cost = |term: &Term| match term {
        Term::Spells { calendar, activities, weight } => {
            let calendar = &problem.calendars[calendar.index()];
            let mut spells: Vec<usize> =
                activities.iter().filter_map(|a| calendar.interval_at(starts[a.index()])).collect();
            let alone = (activities.len() - spells.len()) as i64;
            spells.sort_unstable();
            spells.dedup();
            (alone + spells.len() as i64) * weight
        }
        other => other.simple_cost(problem, starts),
    };
    problem.levels.iter().map(|level| level.terms.iter().map(term_cost).sum()).collect()
}
