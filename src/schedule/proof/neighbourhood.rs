//! Large neighbourhoods searched by the proof engine: most starts stay, a few are free, and a level must get better. What
//! is learnt in one neighbourhood holds in all (Laborie and Godard, 2007, with nogoods kept).

use super::engine::Atom;
use super::{Prover, Status};
use crate::schedule::search::rng::Rng;
use crate::schedule::{Minute, Solution, check, cost};
use std::rc::Rc;

/// Conflicts spent on one neighbourhood.
const CONFLICTS: u64 = 120;

impl Prover<'_> {
    /// Searches neighbourhoods of the best known until `stop`; a solution that is better as a whole replaces it.
    pub fn neighbourhoods(
        &mut self,
        best: &mut Option<(Solution, Vec<i64>)>,
        nodes: &mut u64,
        rng: &mut Rng,
        stop: &mut dyn FnMut(u64) -> bool,
        better: &mut dyn FnMut(&Solution, &[i64], u64),
    ) {
        let Some((solution, costs)) = best else { return };
        let levels = self.built.levels.len();
        let n = self.model.lo.len();
        if n < 4 || costs.iter().take(levels).any(|&c| c > 1 << 28) {
            return;
        }
        self.remember(solution);
        let mut size = 8.min(n);
        while !stop(*nodes) && !self.impossible && !self.broken {
            // A level that may still get better, the earlier ones more often.
            let open: Vec<usize> = (self.levels_proven..levels).filter(|&l| costs[l] > self.bound[l]).collect();
            let Some(&level) = open.get(rng.below(open.len()).min(rng.below(open.len()))) else { return };
            let free = self.free_set(&solution.starts, size, rng);
            let mut assume: Vec<Atom> =
                (self.levels_proven..level).map(|l| Atom::at_most(self.built.levels[l], costs[l] as i32)).collect();
            assume.push(Atom::at_most(self.built.levels[level], costs[level] as i32 - 1));
            for x in (0..n as u32).filter(|&x| !free[x as usize]) {
                let at = solution.starts[x as usize];
                assume.extend([Atom::at_least(x, at), Atom::at_most(x, at)]);
            }
            let until = self.built.engine.conflicts + CONFLICTS;
            let began = *nodes;
            let mut conflicts_left = CONFLICTS * 4;
            let status = {
                let mut halt = |m: u64| {
                    conflicts_left = conflicts_left.saturating_sub(1);
                    conflicts_left == 0 || m > began + 8 * CONFLICTS || stop(m)
                };
                self.run(&assume, nodes, &mut halt)
            };
            // One at least: assumptions that fail at once cost no decision, and a budget has to end somewhere.
            *nodes += 1 + assume.len() as u64 / 8;
            match status {
                Status::Found => {
                    let s = self.extract();
                    let new = cost(self.model.problem, &s);
                    if !check(self.model.problem, &s).is_empty() || new >= *costs {
                        debug_assert!(false, "a neighbour must be sound and better: {new:?} {costs:?}");
                        self.broken = true;
                        return;
                    }
                    self.built.engine.backtrack(0);
                    self.remember(&s);
                    better(&s, &new, *nodes);
                    (*solution, *costs) = (s, new);
                }
                // Searched through: the next may be larger. Given up: smaller.
                Status::Refuted => size = (size + 1 + size / 8).min(n),
                Status::Stopped if self.built.engine.conflicts >= until => size = (size - size / 6).max(4),
                Status::Stopped => size = (size - size / 6).max(4),
            }
            self.built.engine.backtrack(0);
        }
    }

    /// About `size` activities to set free: a stretch of time, some blocks, or a walk along lags and shared spells.
    fn free_set(&self, starts: &[Minute], size: usize, rng: &mut Rng) -> Vec<bool> {
        let model = Rc::clone(&self.model);
        let n = starts.len();
        let mut free = vec![false; n];
        let mut count = 0;
        let mut take = |a: usize, count: &mut usize| {
            *count += usize::from(!std::mem::replace(&mut free[a], true));
        };
        match rng.below(4) {
            0 => {
                // The nearest in time to one of them.
                let at = starts[rng.below(n)];
                let mut by: Vec<usize> = (0..n).collect();
                by.sort_by_key(|&a| (starts[a] - at).abs());
                by.iter().take(size).for_each(|&a| take(a, &mut count));
            }
            1 => {
                while count < size {
                    let b = &model.blocks[rng.below(model.blocks.len())];
                    b.activities.iter().for_each(|&a| take(a as usize, &mut count));
                    if b.activities.len() > 2 * size {
                        break;
                    }
                }
            }
            2 => {
                // A few places in time, with all that stand close to them.
                for _ in 0..8 * size {
                    let at = starts[rng.below(n)];
                    for (a, s) in starts.iter().enumerate() {
                        if (s - at).abs() <= 240 && count < size {
                            take(a, &mut count);
                        }
                    }
                    if count >= size {
                        break;
                    }
                }
            }
            _ => {
                let mut edge = vec![rng.below(n)];
                let mut k = 0;
                while count < size && k < 4 * n {
                    k += 1;
                    let a = edge[rng.below(edge.len())];
                    take(a, &mut count);
                    let arcs = [model.out.of(a), model.into.of(a)];
                    let arcs = arcs[rng.below(2)];
                    let next = if arcs.is_empty() || rng.chance(20) {
                        rng.below(n)
                    } else {
                        arcs[rng.below(arcs.len())].other as usize
                    };
                    edge.push(next);
                }
            }
        }
        free
    }
}
