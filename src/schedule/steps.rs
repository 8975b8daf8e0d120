//! Times that people use: a schedule moved onto whole steps where that costs nothing.

use super::{Minute, Problem, Solution, check, cost};

/// The same schedule with every start that is not pinned on a whole step, when one is as good; `None` when it is on whole steps
/// already, or none is.
///
/// Where all lengths and limits are whole steps, starts rounded by one threshold for all keep every difference that a limit asks
/// for, and a cost that grows evenly between whole steps is, over all thresholds, on average what it was. So one of them is as
/// good, but for what is counted by places.
pub fn on_whole_steps(problem: &Problem, solution: &Solution, step: Minute) -> Option<(Solution, Vec<i64>)> {
    let pinned = |i: usize| problem.activities[i].pinned.is_some();
    let starts = &solution.starts;
    if step < 2 || starts.iter().enumerate().all(|(i, s)| s % step == 0 || pinned(i)) {
        return None;
    }
    let rounded = |more: Minute| {
        let of = |(i, &s): (usize, &Minute)| if pinned(i) { s } else { (s + more).div_euclid(step) * step };
        Solution { starts: starts.iter().enumerate().map(of).collect(), chosen: solution.chosen.clone() }
    };
    (0..step)
        .map(rounded)
        .map(|s| (cost(problem, &s), s))
        .filter(|(_, s)| check(problem, s).is_empty())
        .min_by(|a, b| a.0.cmp(&b.0))
        .filter(|(c, _)| *c <= cost(problem, solution))
        .map(|(c, s)| (s, c))
}
