//! What crowded resources say of the first level: how late a plan must be at least, and orders worth trying.

use super::completion::Completion;
use super::load::Load;
use super::model::Model;
use super::rng::Rng;
use super::sequence::{MOST_JOBS, Sequence};
use super::space::Space;
use super::{Best, Prover, Stop, bounds::Bounds, construct};

/// Steps of prices before the order of what is crowded is looked for: more of them cost more than they save.
const PRICES: usize = 25;
/// States of each number of blocks begun that are gone on with for a good plan.
const WIDTH: usize = 100;
/// Sequences that are tried with all else.
const TRIES: usize = 10;

/// How often it is asked for less where all is too much.
const HALVINGS: usize = 3;
/// An exact bound that came to no end is asked for again once the rest has cost so many times as much.
const SELDOM: u64 = 1;

pub(super) struct Crowd<'a> {
    model: &'a Model<'a>,
    /// Of the two most crowded resources.
    loads: Vec<Load>,
    /// With few blocks.
    exact: Option<Exact<'a>>,
}

/// The order of what is crowded, reckoned exactly again and again as better plans are known.
struct Exact<'a> {
    sequence: Sequence<'a>,
    /// By which of the resources.
    load: usize,
    /// What the best known cost when it was last reckoned, and the bound if it came to its end.
    known: i64,
    bound: Option<i64>,
    nodes: u64,
}

impl<'a> Crowd<'a> {
    pub fn new(model: &'a Model<'a>, bounds: &Bounds) -> Self {
        Self { model, loads: bounds.loads(model), exact: None }
    }

    /// Learns how late a plan must be at least, and tries the orders that this suggests. The nodes spent.
    pub fn learn(
        &mut self,
        best: &mut Best,
        prover: Option<&mut Prover>,
        rng: &mut Rng,
        stop: &dyn Stop,
        spent: u64,
    ) -> u64 {
        let Some(known) = first_cost(best).filter(|&c| c > best.bounds.by_level(self.model, &[c])[0]) else { return 0 };
        let mut nodes = self.try_orders(best, rng, stop, spent).unwrap_or(0);
        nodes += self.reckon(best, prover, stop, spent + nodes);
        if self.exact.as_ref().is_none_or(|e| e.bound.is_none()) {
            let known = first_cost(best).unwrap_or(known);
            nodes += self.by_prices(best, known, rng, stop, spent + nodes);
            nodes += self.reckon_less(best, stop, spent + nodes);
        }
        best.renew_bound();
        nodes
    }

    /// Reckons anew where a better plan is known by now and that promises something. The nodes spent.
    pub fn learn_again(&mut self, best: &mut Best, prover: &mut Prover, stop: &dyn Stop, spent: u64) -> u64 {
        let (Some(exact), Some(known)) = (&self.exact, first_cost(best)) else { return 0 };
        let due = known < exact.known
            && match exact.bound {
                // The last windows are for all the levels after the first.
                Some(_) if best.proven > 0 => true,
                Some(bound) => 2 * (known - bound) <= exact.known - bound,
                None => best.proven == 0 && spent >= SELDOM * exact.nodes,
            };
        let nodes = if due { self.reckon(best, Some(prover), stop, spent) } else { 0 };
        if nodes > 0 {
            best.renew_bound();
        }
        nodes
    }

    /// Where the whole is too much, whether anything costs less than something between the bound and the best known.
    fn reckon_less(&mut self, best: &mut Best, stop: &dyn Stop, spent: u64) -> u64 {
        let (Some(exact), Some(known)) = (&mut self.exact, first_cost(best)) else { return 0 };
        let Some(rest) = Completion::new(&self.loads[exact.load]) else { return 0 };
        let (mut least, mut too_much, mut nodes) = (best.bounds.by_level(self.model, &[known])[0], known, 0);
        for _ in 0..HALVINGS {
            let (middle, before) = (least + (too_much - least) / 2, nodes);
            if middle <= least {
                break;
            }
            let found = exact.sequence.run(middle, &rest, &mut |steps| {
                nodes = before + steps as u64 / 2;
                stop.should_stop(spent + nodes)
            });
            match found {
                // Nothing costs less than was asked for, or that is the least there is.
                Some(found) if found.bound < middle => {
                    least = found.bound;
                    break;
                }
                Some(_) => least = middle,
                None => too_much = middle,
            }
        }
        best.bounds.crowded = best.bounds.crowded.max(least);
        exact.nodes += nodes;
        nodes
    }

    /// Tries some good sequences with all else. The nodes spent; `None` where sequences are of no use.
    fn try_orders(&mut self, best: &mut Best, rng: &mut Rng, stop: &dyn Stop, spent: u64) -> Option<u64> {
        let known = first_cost(best)?;
        let few: Vec<usize> = (0..self.loads.len()).filter(|&i| self.loads[i].jobs() <= MOST_JOBS).collect();
        for &i in &few {
            self.loads[i].improve(PRICES, known);
            self.loads[i].take_best();
        }
        let by = few.into_iter().max_by_key(|&i| (self.loads[i].best(), std::cmp::Reverse(i)))?;
        let mut sequence = Sequence::new(self.model, &self.loads[by])?;
        let rest = Completion::new(&self.loads[by])?;
        let nodes = (PRICES * self.loads.iter().map(Load::jobs).sum::<usize>()).div_ceil(8) as u64;
        let mut space = Space::new(self.model);
        let mut halt = |steps: usize| stop.should_stop(spent + nodes + steps as u64 / 2);
        for order in sequence.some(known.saturating_add(1), &rest, WIDTH, &mut halt).iter().take(TRIES) {
            if stop.should_stop(spent + nodes + space.nodes) {
                break;
            }
            if construct::begun(&mut space, order, rng) {
                best.offer(&space.starts, &space.chosen, spent + nodes + space.nodes);
            }
        }
        let nodes = nodes + space.nodes;
        self.exact = Some(Exact { sequence, load: by, known, bound: None, nodes: 0 });
        Some(nodes)
    }

    /// The exact bound, and where blocks can begin when nothing may cost more than the best known. The nodes spent.
    fn reckon(&mut self, best: &mut Best, prover: Option<&mut Prover>, stop: &dyn Stop, spent: u64) -> u64 {
        let (Some(exact), Some(known)) = (&mut self.exact, first_cost(best)) else { return 0 };
        let Some(rest) = Completion::new(&self.loads[exact.load]) else { return 0 };
        let mut nodes = 0;
        let found = exact.sequence.run(known.saturating_add(1), &rest, &mut |steps| {
            nodes = steps as u64 / 2;
            stop.should_stop(spent + nodes)
        });
        exact.known = known;
        exact.nodes += nodes;
        debug_assert!(found.as_ref().is_none_or(|f| f.bound <= known), "the best known is a sequence too");
        if let Some(found) = found.filter(|f| f.bound <= known) {
            exact.bound = Some(found.bound);
            best.bounds.crowded = best.bounds.crowded.max(found.bound);
            if let Some(prover) = prover {
                prover.narrow(known, found.bound, &found.windows);
            }
        }
        nodes
    }

    /// A bound by prices alone, and the orders they lead to.
    fn by_prices(&mut self, best: &mut Best, known: i64, rng: &mut Rng, stop: &dyn Stop, spent: u64) -> u64 {
        const ROUNDS: usize = 40;
        const STEPS: usize = 10;
        let mut space = Space::new(self.model);
        let mut steps = 0;
        for load in &mut self.loads {
            for _ in 0..ROUNDS {
                if load.is_done(known) || stop.should_stop(spent + steps + space.nodes) {
                    break;
                }
                best.bounds.crowded = best.bounds.crowded.max(load.improve(STEPS, known));
                steps += (STEPS * load.jobs()).div_ceil(8) as u64;
                if construct::in_order(&mut space, &load.order(), rng) {
                    best.offer(&space.starts, &space.chosen, spent + steps + space.nodes);
                }
            }
            load.take_best();
        }
        steps + space.nodes
    }
}

/// What the best known costs on the first level.
fn first_cost(best: &Best) -> Option<i64> {
    best.answer.as_ref().and_then(|a| a.cost.first().copied())
}
