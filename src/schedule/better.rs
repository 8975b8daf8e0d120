//! Is there anything as good as a cost that comes from elsewhere, and anything better? One problem asked about the best of another:
//! so that what is best of several can be proven without solving each of them.

use super::proof::Prover;
use super::search::bounds::{Bounds, block_alone_fails};
use super::search::model::Model;
use super::{Problem, Solution, Stop};
use std::rc::Rc;

/// What a problem has to set against a cost.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Against {
    /// Nothing in it is as good: every schedule costs more on some level, and no less on the levels before that.
    Worse,
    /// Lower bounds of the first levels. On all but the last of them nothing costs less than the cost asked about; on the
    /// last, nothing costs less than it says. Each holds for schedules that cost no more than asked on the levels before.
    AtLeast(Vec<i64>),
    /// A schedule that costs less.
    Better { solution: Solution, cost: Vec<i64> },
}

/// A problem that is asked about costs from elsewhere, again and again: what is learnt on the way is kept.
pub struct Inquiry<'p> {
    model: Option<(Rc<Model<'p>>, Bounds)>,
    prover: Option<Prover<'p>>,
    levels: usize,
    weight: u64,
    /// What was asked last, and whether nothing is as good.
    asked: Vec<i64>,
    worse: bool,
}

impl<'p> Inquiry<'p> {
    /// Of a problem that [`Problem::validate`] passes; of any other nothing is ever said.
    pub fn new(problem: &'p Problem) -> Self {
        let weight = 4 + problem.activities.len() as u64 / 16;
        let levels = problem.levels.len();
        let mut out = Self { model: None, prover: None, levels, weight, asked: Vec::new(), worse: false };
        if problem.validate().is_err() {
            return out;
        }
        let Some(model) = Model::new(problem).ok().filter(|m| block_alone_fails(m).is_none()) else {
            out.worse = true;
            return out;
        };
        let mut bounds = Bounds::new(&model);
        out.worse = bounds.overfull(&model);
        bounds.look_apart(&model);
        out.model = Some((Rc::new(model), bounds));
        out
    }

    /// Asks for anything that costs less than `cost`, level by level. Counts nodes as [`super::solve`] does; the number spent is
    /// the second of the pair. A schedule that is told as better has passed [`super::check()`].
    pub fn ask(&mut self, cost: &[i64], stop: &dyn Stop) -> (Against, u64) {
        let Some((model, bounds)) = &self.model else {
            return (if self.worse { Against::Worse } else { Against::AtLeast(Vec::new()) }, self.weight);
        };
        let hopeless = self.asked.is_empty() && self.worse;
        // What has nothing as good as one cost has nothing as good as a better one; of a worse one all is open again.
        if *cost > self.asked[..] && !hopeless {
            self.worse = false;
        }
        if self.worse || cost.len() != self.levels {
            return (if self.worse { Against::Worse } else { Against::AtLeast(Vec::new()) }, self.weight);
        }
        self.asked = cost.to_vec();
        // The first level of which more is known than what it should cost decides; until then they come to the same.
        let learnt = self.prover.as_ref().map_or(Vec::new(), |p| p.known(cost));
        let mut known = Vec::new();
        for (level, (&plain, &c)) in bounds.by_level(model, cost).iter().zip(cost).enumerate() {
            let bound = plain.max(learnt.get(level).copied().unwrap_or(0));
            self.worse = bound > c;
            if self.worse {
                return (Against::Worse, self.weight);
            }
            known.push(bound);
            if bound < c {
                break;
            }
        }
        if !self.prover.as_ref().is_some_and(|p| p.takes(cost)) {
            self.prover = Prover::new(model);
        }
        let Some(prover) = &mut self.prover else { return (Against::AtLeast(known), self.weight) };
        let mut steps = 0;
        let weight = self.weight;
        let said = prover.ask_against(cost, &known, &mut steps, &mut |n| stop.should_stop(n * weight));
        let said = said.unwrap_or(Against::AtLeast(known));
        self.worse = said == Against::Worse;
        (said, (steps + 1) * weight)
    }
}
