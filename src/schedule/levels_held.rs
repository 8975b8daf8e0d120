//! Which rules hold each objective level where it is: left out one at a time, with a search from the solution itself.

use super::conflict::lift;
use super::cost::cost;
use super::{Options, Problem, ReasonId, Solution, Stop, solve};

/// A rule that holds an objective level where it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Holding {
    pub reason: ReasonId,
    /// What the level came to in a schedule found without the rule, no earlier level being worse than it is.
    pub cost: i64,
}

/// What holds the objective levels of a solution.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LevelsHeld {
    /// By level: the least that was found with all rules in force, no earlier level being worse.
    pub as_it_is: Vec<i64>,
    /// By level: the rules without which it came to less than that, the greatest gain first.
    pub by: Vec<Vec<Holding>>,
    /// Every one of the reasons was looked at before `stop`.
    pub all: bool,
}

/// Leaves out each of `reasons` alone and looks, within so many nodes from the solution, for schedules that are better on a
/// level and no worse on the levels before it. What was found is then searched from with all rules in force, so that luck
/// is not taken for the rule's doing.
///
/// A rule that is not named may hold a level too: a search has not to find what there is.
pub fn levels_held(
    problem: &Problem,
    solution: &Solution,
    reasons: &[ReasonId],
    nodes: u64,
    stop: &dyn Stop,
) -> LevelsHeld {
    let now = cost(problem, solution);
    let mut spent = 0;
    let mut least = |problem: &Problem, from: &Solution| {
        let stop = Share { until: nodes, spent, whole: stop };
        spent = spent.saturating_add(nodes);
        least_by_level(problem, from, &now, &stop)
    };
    let costs = |least: &[Least]| -> Vec<i64> { least.iter().map(|l| l.cost).collect() };
    let as_it_is = costs(&least(problem, solution));
    let mut held = LevelsHeld { by: vec![Vec::new(); now.len()], as_it_is, all: true };
    for &reason in reasons {
        if stop.should_stop(0) {
            held.all = false;
            break;
        }
        let without = lift(problem, |r| r == reason);
        let is_left: Vec<bool> = problem.holds.iter().map(|h| h.reason != reason).collect();
        let left = |all: &[u32]| all.iter().zip(&is_left).filter(|(_, left)| **left).map(|(&c, _)| c).collect();
        let from = Solution { starts: solution.starts.clone(), chosen: left(&solution.chosen) };
        for (level, found) in least(&without, &from).into_iter().enumerate() {
            let Some(better) = found.solution.filter(|_| found.cost < held.as_it_is[level]) else { continue };
            let mut chosen = better.chosen.iter();
            let all = |(&old, &left): (&u32, &bool)| if left { chosen.next().copied().unwrap_or(old) } else { old };
            let chosen = solution.chosen.iter().zip(&is_left).map(all).collect();
            for (l, again) in least(problem, &Solution { starts: better.starts, chosen }).iter().enumerate() {
                held.as_it_is[l] = held.as_it_is[l].min(again.cost);
            }
            held.by[level].push(Holding { reason, cost: found.cost });
        }
    }
    for (by, as_it_is) in held.by.iter_mut().zip(&held.as_it_is) {
        by.retain(|h| h.cost < *as_it_is);
        by.sort_by_key(|h| h.cost);
    }
    held
}

/// The least a level came to.
#[derive(Clone)]
struct Least {
    cost: i64,
    /// Where it is less than it was at first.
    solution: Option<Solution>,
}

/// One search's part of the whole.
struct Share<'s> {
    until: u64,
    /// By the searches before it.
    spent: u64,
    whole: &'s dyn Stop,
}

impl Stop for Share<'_> {
    fn should_stop(&self, nodes: u64) -> bool {
        nodes >= self.until || self.whole.should_stop(self.spent.saturating_add(nodes))
    }
}

/// By level: the least of all schedules that a search from `from` passes through with no earlier level over `now`.
fn least_by_level(problem: &Problem, from: &Solution, now: &[i64], stop: &dyn Stop) -> Vec<Least> {
    let mut least: Vec<Least> = now.iter().map(|&cost| Least { cost, solution: None }).collect();
    let options = Options { start_from: Some(from.clone()), ..Options::default() };
    solve(problem, &options, stop, &mut |answer| {
        for (level, &cost) in answer.cost.iter().enumerate() {
            if cost < least[level].cost {
                least[level] = Least { cost, solution: Some(answer.solution.clone()) };
            }
            if cost > now[level] {
                break;
            }
        }
    });
    least
}
