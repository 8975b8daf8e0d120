//! The search: a first plan by insertion, then large neighbourhoods, closing of spells and a polish by small moves.
//!
//! Insertion follows the difference constraints of simple temporal networks (Dechter, Meiri and Pearl, 1991); the
//! neighbourhoods take out and put back whole blocks (Shaw, 1998; Laborie and Godard, 2007).

pub(super) mod bounds;
mod completion;
mod construct;
mod crowd;
mod energy;
mod followers;
mod improve;
mod independent;
pub(super) mod load;
pub(super) mod model;
mod polish;
mod profile;
mod project;
mod push;
pub(super) mod rng;
mod sequence;
pub(super) mod slack;
mod space;
pub(super) mod spells;
mod tally;

use super::conflict::conflict_of_impossible;
use super::proof::{Prover, ROUND};
use super::{Answer, Minute, Outcome, Problem, ReasonId, Solution, Stop, cost};
use crowd::Crowd;
use model::Model;
use project::Project;
use rng::Rng;
use space::Space;
use std::rc::Rc;
use std::thread::Scope;

/// Up to so many activities proof is worth more than its half of the time.
const SMALL: usize = 200;
/// Nodes of proof after which a second prover helps.
const ALONE: u64 = 20_000;
/// Slices of proof in a row, while each brings something.
const TURNS: usize = 6;

/// How to search.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Options {
    /// The same seed and node budget give the same answer.
    pub seed: u64,
    /// A solution, sound or nearly so, to begin from (the plan before a change).
    pub start_from: Option<Solution>,
    /// Spend about half the time on proof: bounds by level, "proven best", and "impossible" beyond the obvious.
    pub prove: bool,
    pub second: Second,
}

/// When a second prover, in a thread of its own, helps with the proof. The answer is the same on any number of processors.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Second {
    /// Where proof takes long.
    #[default]
    WhenLong,
    /// One thread has to do.
    Never,
    /// From the begin, and telling each other what is learnt after every few steps: for tests of it.
    AtOnce,
}

/// Stops at a number of nodes of one part of the search, or when the whole is to stop.
struct Slice<'s> {
    whole: &'s dyn Stop,
    /// Nodes spent by the other parts.
    others: u64,
    until: u64,
}

impl Stop for Slice<'_> {
    fn should_stop(&self, nodes: u64) -> bool {
        nodes >= self.until || self.whole.should_stop(nodes + self.others)
    }
}

/// The best so far and whom to tell.
struct Best<'s, 'm, 'a> {
    model: &'m Model<'a>,
    bounds: bounds::Bounds,
    answer: Option<Answer>,
    better: &'s mut dyn FnMut(&Answer),
    /// Levels proven by the prover, and its bound on the next.
    proven: usize,
    next_bound: i64,
}

impl Best<'_, '_, '_> {
    fn bound(&self, cost: &[i64]) -> Vec<i64> {
        let mut bound = self.bounds.by_level(self.model, cost);
        for level in 0..cost.len() {
            if level < self.proven {
                bound[level] = cost[level];
            } else if level == self.proven {
                bound[level] = bound[level].max(self.next_bound).min(cost[level]);
            }
        }
        bound
    }

    /// Takes a solution if it is better; `true` when it is proven best.
    fn offer(&mut self, starts: &[Minute], chosen: &[u32], nodes: u64) -> bool {
        let solution = Solution { starts: starts.to_vec(), chosen: chosen.to_vec() };
        let cost = cost(self.model.problem, &solution);
        debug_assert!(cost.first().is_none_or(|&c| c >= self.bounds.crowded), "a bound holds for every schedule");
        if self.answer.as_ref().is_none_or(|a| cost < a.cost) {
            let bound = self.bound(&cost);
            let answer = Answer { solution, cost, bound, nodes };
            (self.better)(&answer);
            self.answer = Some(answer);
        }
        self.is_proven()
    }

    /// What is known of the bounds by now goes with the answer.
    fn renew_bound(&mut self) {
        if let Some(cost) = self.answer.as_ref().map(|a| a.cost.clone()) {
            let bound = self.bound(&cost);
            if let Some(a) = &mut self.answer {
                a.bound = bound;
            }
        }
    }

    /// The best so far as the prover has it.
    fn known(&self) -> Option<(Solution, Vec<i64>)> {
        self.answer.as_ref().map(|a| (a.solution.clone(), a.cost.clone()))
    }

    /// What is known: the best cost, the levels proven, the bound of the next.
    fn standing(&self) -> (Vec<i64>, usize, i64) {
        (self.answer.as_ref().map(|a| a.cost.clone()).unwrap_or_default(), self.proven, self.next_bound)
    }

    /// Could there be something better on the first level?
    fn is_first_open(&self) -> bool {
        self.answer.as_ref().is_some_and(|a| a.bound.first() < a.cost.first())
    }

    fn is_proven(&self) -> bool {
        self.answer.as_ref().is_some_and(Answer::is_proven_best)
    }
}

/// The part of the search that finds.
enum Finder<'m, 'a> {
    Blocks(Box<Space<'a>>),
    Project(Box<Project<'m, 'a>>),
}

impl Finder<'_, '_> {
    fn nodes(&self) -> u64 {
        match self {
            Finder::Blocks(s) => s.nodes,
            Finder::Project(p) => p.nodes,
        }
    }

    /// The part of a later slice that finding gets. With maximum lags a list of activities rarely comes to a schedule, and
    /// the proof engine finds more; in a small project the best is found soon and its proof is what takes time (measured on
    /// the published sets).
    fn share(&self, slice: u64, proven: usize) -> u64 {
        match self {
            // Where proof has begun to settle levels, it finds what is better on the way (of a quarter, a sixteenth and next to
            // nothing the sixteenth took least on twelve kitchens of twelve joints).
            Finder::Blocks(s) if s.starts.len() <= SMALL => slice / if proven > 0 { 16 } else { 2 },
            Finder::Project(p) if !p.forward_only => slice / 4,
            Finder::Project(p) if p.is_small() => slice / 16,
            _ => slice,
        }
    }

    /// Works until its slice ends; what it finds goes to `best`.
    fn run(&mut self, rng: &mut Rng, slice: &Slice, from: Option<&Solution>, best: &mut Best) {
        match self {
            Finder::Project(project) => {
                while !slice.should_stop(project.nodes) {
                    if let Some((starts, _)) = project.step(rng) {
                        let chosen = vec![0; best.model.problem.holds.len()];
                        let before = best.answer.as_ref().map(|a| a.nodes);
                        if best.offer(&starts, &chosen, project.nodes + slice.others) {
                            return;
                        }
                        if best.answer.as_ref().map(|a| a.nodes) != before {
                            project.idle = 0;
                        }
                    } else {
                        project.nodes += 1;
                    }
                }
            }
            Finder::Blocks(space) => {
                if let Some(a) = &best.answer {
                    space.adopt(&a.solution);
                } else if !construct::construct(space, from, rng, slice) {
                    return;
                }
                if best.offer(&space.starts, &space.chosen, space.nodes + slice.others) {
                    return;
                }
                let bound = best.answer.as_ref().map(|a| a.bound.clone()).unwrap_or_default();
                improve::improve(space, rng, slice, &bound, &mut |s| {
                    best.offer(&s.starts, &s.chosen, s.nodes + slice.others)
                });
            }
        }
    }
}

/// Does insertion alone find a schedule within so many nodes? `others` have been spent before.
pub(super) fn first_plan(model: &Model, stop: &dyn Stop, others: u64, until: u64) -> bool {
    construct::construct(&mut Space::new(model), None, &mut Rng::new(0), &Slice { whole: stop, others, until })
}

/// Searches until nothing more can be gained or `stop` says so; `better` is told of each better answer as it is found.
///
/// Every call is deterministic for the problem, the options and a node budget. It never says [`Outcome::Impossible`]
/// without proof.
pub fn solve(problem: &Problem, options: &Options, stop: &dyn Stop, better: &mut dyn FnMut(&Answer)) -> Outcome {
    std::thread::scope(|scope| solve_in(scope, problem, options, stop, better))
}

fn solve_in<'s, 'p>(
    scope: &'s Scope<'s, 'p>,
    problem: &'p Problem,
    options: &Options,
    stop: &dyn Stop,
    better: &mut dyn FnMut(&Answer),
) -> Outcome {
    if let Err(errors) = problem.validate() {
        return Outcome::Unusable { errors };
    }
    let because = |stop: &dyn Stop| conflict_of_impossible(problem, stop).reasons;
    let Ok(model) = Model::new(problem) else { return Outcome::Impossible { because: because(stop) } };
    let model = Rc::new(model);
    if bounds::block_alone_fails(&model).is_some() {
        return Outcome::Impossible { because: because(stop) };
    }
    let mut rng = Rng::new(options.seed);
    let mut finder = match Project::of(&model) {
        Some(project) if options.start_from.is_none() => Finder::Project(Box::new(project)),
        _ => Finder::Blocks(Box::new(Space::new(&model))),
    };
    let bounds = bounds::Bounds::new(&model);
    if options.prove && options.start_from.is_none() && bounds.overfull(&model) {
        return Outcome::Impossible { because: because(stop) };
    }
    let mut best = Best { model: &model, bounds, answer: None, better, proven: 0, next_bound: 0 };
    let mut prover = None;
    // From the cold, with few joints, a short look is enough for proof to begin on; a plan that is handed in has been searched
    // from before, and many joints, or a plain project, are left to the search for longer (measured).
    let small = matches!(&finder, Finder::Blocks(s) if s.starts.len() <= SMALL);
    let (few, each) = if small && options.start_from.is_none() { (200, 2) } else { (1_000, 10) };
    let mut slice = if options.prove { few + each * problem.activities.len() as u64 } else { u64::MAX };
    let (mut proof_nodes, mut first, mut crowd) = (0u64, true, None);
    let (mut alone, round) = match options.second {
        Second::WhenLong => (ALONE, ROUND),
        Second::AtOnce => (0, 16),
        Second::Never => (u64::MAX, ROUND),
    };
    loop {
        let until = finder.nodes().saturating_add(if first { slice } else { finder.share(slice, best.proven) });
        let whole = Slice { whole: stop, others: proof_nodes, until };
        finder.run(&mut rng, &whole, options.start_from.as_ref(), &mut best);
        if best.is_proven() || stop.should_stop(finder.nodes() + proof_nodes) {
            break;
        }
        if std::mem::take(&mut first) && options.prove {
            prover = Prover::new(&model);
            best.bounds.look_apart(&model);
            best.renew_bound();
            // Where the first level is open, a short look of the proof settles it if nothing is crowded, and a second one if the
            // first has got on; what crowds takes longer.
            for _ in 0..if model.lo.len() <= SMALL { FIRST_TRIES } else { 1 } {
                let Some(prover) = prover.as_mut().filter(|_| best.is_first_open()) else { break };
                let before = best.standing();
                let turn = Turn { found: finder.nodes(), slice: FIRST_TRY, neighbours: false };
                prove(prover, &mut best, stop, turn, &mut proof_nodes, &mut rng);
                if prover.impossible {
                    return Outcome::Impossible { because: because(stop) };
                }
                if best.standing() == before {
                    break;
                }
            }
            if best.is_first_open() {
                let mut look = Crowd::new(&model, &best.bounds);
                proof_nodes += look.learn(&mut best, prover.as_mut(), &mut rng, stop, finder.nodes() + proof_nodes);
                crowd = Some(look);
            }
            if best.is_proven() || stop.should_stop(finder.nodes() + proof_nodes) {
                break;
            }
        }
        let Some(prover) = &mut prover else {
            if options.prove && best.answer.is_some() {
                slice = u64::MAX;
                continue;
            }
            break;
        };
        // Where the best of a small project is known, only its proof takes time.
        let neighbours = !matches!(&finder, Finder::Project(p) if p.is_small() && p.forward_only);
        if proof_nodes >= alone {
            alone = u64::MAX;
            prover.find_fellow(scope, best.known().as_ref(), round);
        }
        if let Some(crowd) = &mut crowd {
            proof_nodes += crowd.learn_again(&mut best, prover, stop, finder.nodes() + proof_nodes);
        }
        // While proof gets on, it goes on.
        for again in 0..if model.lo.len() <= SMALL { TURNS } else { 1 } {
            let before = best.standing();
            let turn = Turn { found: finder.nodes(), slice, neighbours: neighbours && again == 0 };
            prove(prover, &mut best, stop, turn, &mut proof_nodes, &mut rng);
            if prover.impossible {
                return Outcome::Impossible { because: because(stop) };
            }
            if best.standing() == before || best.is_proven() || stop.should_stop(finder.nodes() + proof_nodes) {
                break;
            }
        }
        if best.is_proven() || stop.should_stop(finder.nodes() + proof_nodes) {
            break;
        }
        slice = slice.saturating_mul(2);
    }
    match best.answer {
        Some(answer) => Outcome::Found(answer),
        None => Outcome::Unknown {
            in_the_way: match &finder {
                Finder::Blocks(space) => most_blamed(&space.blame),
                Finder::Project(_) => Vec::new(),
            },
        },
    }
}

/// Steps of a first look of the proof.
const FIRST_TRY: u64 = 20_000;
/// Such looks in a row, while each brings something.
const FIRST_TRIES: usize = 2;

/// What a slice of proof may spend.
struct Turn {
    /// Nodes spent by finding.
    found: u64,
    slice: u64,
    /// Look for something better in neighbourhoods of the best, too.
    neighbours: bool,
}

/// One slice of proof.
fn prove(prover: &mut Prover, best: &mut Best, stop: &dyn Stop, turn: Turn, nodes: &mut u64, rng: &mut Rng) {
    let Turn { found, slice, neighbours } = turn;
    // A step of proof takes as long as several of search, the longer the larger the problem.
    let weight = 4 + best.model.lo.len() as u64 / 16;
    let mut known = best.known();
    let mut new = Vec::new();
    let mut steps = *nodes / weight;
    let until = steps + slice.div_ceil(weight);
    let mut halt = |n: u64| n >= until || stop.should_stop(n * weight + found);
    prover.prove(&mut known, &mut steps, &mut halt, &mut |s, _, n| new.push((s.clone(), n * weight)));
    // Neighbourhoods by the engine pay on small problems only (measured).
    let small = best.model.lo.len() <= 80 && neighbours;
    let until = if small { steps + slice.div_ceil(weight) } else { 0 };
    let mut halt = |n: u64| n >= until || stop.should_stop(n * weight + found);
    prover.neighbourhoods(&mut known, &mut steps, rng, &mut halt, &mut |s, _, n| new.push((s.clone(), n * weight)));
    *nodes = steps * weight;
    best.proven = prover.levels_proven;
    best.next_bound = prover.bound.get(prover.levels_proven).copied().unwrap_or(0);
    for (s, n) in new {
        best.offer(&s.starts, &s.chosen, n + found);
    }
    best.renew_bound();
}

/// The reasons met most often, at most five.
fn most_blamed(blame: &[u64]) -> Vec<ReasonId> {
    let mut by: Vec<usize> = (0..blame.len()).filter(|&r| blame[r] > 0).collect();
    by.sort_by_key(|&r| std::cmp::Reverse(blame[r]));
    by.truncate(5);
    by.into_iter().map(|r| ReasonId(r as u32)).collect()
}
