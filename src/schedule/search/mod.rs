//! The search: a first plan by insertion, then large neighbourhoods, closing of spells and a polish by small moves.
//!
//! Insertion follows the difference constraints of simple temporal networks (Dechter, Meiri and Pearl, 1991); the
//! neighbourhoods take out and put back whole blocks (Shaw, 1998; Laborie and Godard, 2007).

mod bounds;
mod construct;
mod improve;
mod model;
mod polish;
mod profile;
mod project;
mod rng;
pub(super) mod slack;
mod space;
mod tally;

use super::{Answer, Outcome, Problem, ReasonId, Solution, Stop, cost};
use model::Model;
use rng::Rng;
use space::Space;

/// How to search.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Options {
    /// The same seed and node budget give the same answer.
    pub seed: u64,
    /// A solution, sound or nearly so, to begin from (the plan before a change).
    pub start_from: Option<Solution>,
}

/// Searches until nothing more can be gained or `stop` says so; `better` is told of each better answer as it is found.
///
/// Every call is deterministic for the problem, the options and a node budget. It never says [`Outcome::Impossible`]
/// without proof.
pub fn solve(problem: &Problem, options: &Options, stop: &dyn Stop, better: &mut dyn FnMut(&Answer)) -> Outcome {
    if let Err(errors) = problem.validate() {
        return Outcome::Unusable { errors };
    }
    let model = match Model::new(problem) {
        Ok(model) => model,
        Err(_) => return Outcome::Impossible { because: bounds::why_impossible(problem) },
    };
    if bounds::block_alone_fails(&model).is_some() {
        return Outcome::Impossible { because: bounds::why_impossible(problem) };
    }
    let mut rng = Rng::new(options.seed);
    if options.start_from.is_none()
        && let Some(project) = project::Project::of(&model)
    {
        return solve_project(project, &model, &mut rng, stop, better);
    }
    let mut space = Space::new(&model);
    if !construct::construct(&mut space, options.start_from.as_ref(), &mut rng, stop) {
        return Outcome::Unknown { in_the_way: most_blamed(&space.blame) };
    }
    let bounds = bounds::Bounds::new(&model);
    let mut report = |space: &Space| {
        let solution = Solution { starts: space.starts.clone(), chosen: space.chosen.clone() };
        let cost = cost(problem, &solution);
        let bound = bounds.by_level(&model, &cost);
        let answer = Answer { solution, cost, bound, nodes: space.nodes };
        better(&answer);
        answer
    };
    let mut best = report(&space);
    improve::improve(&mut space, &mut best, &mut rng, stop, &mut report);
    Outcome::Found(best)
}

fn solve_project<'m, 'a>(
    mut project: project::Project<'m, 'a>,
    model: &'m Model<'a>,
    rng: &mut Rng,
    stop: &dyn Stop,
    better: &mut dyn FnMut(&Answer),
) -> Outcome {
    let bounds = bounds::Bounds::new(model);
    let mut best: Option<Answer> = None;
    project.search(rng, &mut |n| stop.should_stop(n), &mut |starts, cost, nodes| {
        let solution = Solution { starts: starts.to_vec(), chosen: vec![0; model.problem.holds.len()] };
        let answer = Answer { solution, cost: cost.to_vec(), bound: bounds.by_level(model, cost), nodes };
        better(&answer);
        let done = answer.is_proven_best();
        best = Some(answer);
        done
    });
    match best {
        Some(answer) => Outcome::Found(answer),
        None => Outcome::Unknown { in_the_way: Vec::new() },
    }
}

/// The reasons met most often, at most five.
fn most_blamed(blame: &[u64]) -> Vec<ReasonId> {
    let mut by: Vec<usize> = (0..blame.len()).filter(|&r| blame[r] > 0).collect();
    by.sort_by_key(|&r| std::cmp::Reverse(blame[r]));
    by.truncate(5);
    by.into_iter().map(|r| ReasonId(r as u32)).collect()
}
