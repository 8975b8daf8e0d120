//! Promises kept part by part: what belongs together goes back to its promised time together, and jobs stay in the hands they
//! were promised to.

use super::patience::Share;
use super::replan::{LOOK, Replanner, Tried, old_times};
use crate::process::Kind;
use crate::process::graph::Batch;
use crate::schedule::{self, Outcome, search};
use petgraph::graph::NodeIndex;

/// Steps of proof that no plan breaks fewer promises.
const PROOF: u64 = 20_000;

impl Replanner<'_> {
    /// Asks the proof engine whether a plan breaks fewer promises with nothing later or worse, tubs and pots shared as they
    /// are, and takes it if there is one. `true` when it is proven that there is none beyond what is now found.
    pub(super) fn fewest(&self, found: &mut Tried) -> bool {
        let t = &found.timed;
        let mut problem = t.emitted.problem.clone();
        problem.levels.truncate(3);
        let start_from = Some(t.answer.solution.clone());
        let options = search::Options { seed: self.again.seed, start_from, prove: true, ..Default::default() };
        let stop = Share::new(self.stop, self.spent.get(), PROOF);
        let Outcome::Found(answer) = schedule::solve(&problem, &options, &stop, &mut |_| {}) else { return false };
        let proven = answer.is_proven_best();
        if answer.cost[..] < t.answer.cost[..3] {
            let cost = schedule::cost(&t.emitted.problem, &answer.solution);
            found.timed.answer = schedule::Answer { bound: vec![0; cost.len()], cost, ..answer };
            // The proof knows nothing of cook days, visits and what comes after.
            let t = &found.timed;
            let from = Some(t.answer.solution.clone());
            if let Ok(better) = self.time(&t.arrangement, t.form, found.lenient, 4 * LOOK, from)
                && better.timed.answer.cost < t.answer.cost
            {
                *found = better;
            }
            self.same_hands(found);
        }
        proven
    }

    /// Parts of the job that can be kept together: whole loads with all that follows, then tubs, cooks and joints each by
    /// itself, then the turns from some turn on, then single jobs.
    fn parts(batch: &Batch) -> Vec<Vec<NodeIndex>> {
        let graph = &batch.graph;
        let mut parts: Vec<Vec<NodeIndex>> = Vec::new();
        let with = |joints: &[usize], kinds: &dyn Fn(Kind) -> bool| -> Vec<NodeIndex> {
            let meets = |n: &NodeIndex| graph[*n].joints.iter().any(|j| joints.contains(j));
            graph.node_indices().filter(|n| kinds(graph[*n].kind) && meets(n)).collect()
        };
        let brine = |k: Kind| matches!(k, Kind::BrineMake | Kind::Cool);
        let tub = |k: Kind| matches!(k, Kind::Submerge | Kind::Turn);
        let hot = |k: Kind| matches!(k, Kind::Simmer | Kind::ScoreAndGlaze | Kind::Bake | Kind::Chill);
        let loads: Vec<Vec<usize>> =
            graph.node_weights().filter(|t| t.kind == Kind::Submerge).map(|t| t.joints.clone()).collect();
        let cooks: Vec<Vec<usize>> =
            graph.node_weights().filter(|t| t.kind == Kind::Simmer).map(|t| t.joints.clone()).collect();
        for l in &loads {
            parts.push(with(l, &|_| true));
            parts.push(with(l, &|k| !brine(k)));
            parts.push(with(l, &|k| !brine(k) && !hot(k)));
        }
        parts.extend(loads.iter().map(|l| with(l, &tub)));
        parts.extend(cooks.iter().map(|c| with(c, &|k| hot(k) || matches!(k, Kind::Slice | Kind::VacuumPack))));
        parts.extend(cooks.iter().map(|c| with(c, &hot)));
        for j in 0..batch.rest.len() {
            parts.push(with(&[j], &|k| !brine(k) && !tub(k) && !hot(k)));
            parts.push(with(&[j], &|k| matches!(k, Kind::Rinse | Kind::Soak | Kind::Dry | Kind::Rest)));
            parts.push(with(&[j], &|k| matches!(k, Kind::Firm | Kind::Slice | Kind::VacuumPack | Kind::Freeze)));
        }
        for turns in &batch.turns {
            parts.extend((1..turns.len()).map(|k| turns[k..].to_vec()));
            parts.extend((1..turns.len()).map(|k| turns[..k].to_vec()));
        }
        parts.extend(graph.node_indices().map(|n| vec![n]));
        parts
    }

    /// Puts parts of the job back to their promised times, one part after the other, as long as that breaks fewer promises
    /// with nothing later or worse: what a search by single moves does not find, because what belongs together has to go
    /// back together. `true` when that gained something.
    pub(super) fn keep_promises(&self, found: &mut Tried) -> bool {
        let old = old_times(self.again.old, &self.axis, &found.timed.batch, &found.timed.emitted, self.again.kitchen);
        let graph = &found.timed.batch.graph;
        let promised: Vec<bool> = graph
            .node_indices()
            .map(|n| graph[n].pinned.is_none() && self.promises.contains_key(&graph[n].id))
            .collect();
        let mut kept = vec![false; promised.len()];
        let mut gained = false;
        for part in Self::parts(&found.timed.batch) {
            let t = &found.timed;
            let part: Vec<usize> = part.iter().map(|n| n.index()).filter(|n| !kept[*n]).collect();
            let moved = |n: &usize| promised[*n] && t.answer.solution.starts[*n] != old.starts[*n];
            if self.stopped() || t.answer.cost.get(2) == Some(&0) {
                break;
            }
            let mut problem = t.emitted.problem.clone();
            let mut from = t.answer.solution.clone();
            let known = |n: usize| t.batch.graph.node_weight(NodeIndex::new(n)).is_some_and(|x| x.pinned.is_none());
            if !part.iter().any(moved) {
                continue;
            }
            let keep: Vec<usize> = part.iter().copied().filter(|n| promised[*n]).collect();
            let mut possible = true;
            for n in keep.iter().copied().chain((0..kept.len()).filter(|n| kept[*n])) {
                let a = &mut problem.activities[n];
                possible &= a.release <= old.starts[n] && old.starts[n] <= a.latest;
                (a.release, a.latest) = (old.starts[n], old.starts[n]);
            }
            for n in part.iter().copied().filter(|n| known(*n)) {
                from.starts[n] = old.starts[n];
            }
            if !possible {
                continue;
            }
            let options =
                search::Options { seed: self.again.seed, start_from: Some(from), prove: false, ..Default::default() };
            let part_stop = Share::new(self.stop, self.spent.get(), LOOK / 4);
            let outcome = search::solve(&problem, &options, &part_stop, &mut |_| ());
            self.spent.set(self.spent.get() + part_stop.spent().max(LOOK / 8));
            let Outcome::Found(answer) = outcome else { continue };
            let sound = schedule::check(&found.timed.emitted.problem, &answer.solution).is_empty();
            if sound && answer.cost < found.timed.answer.cost {
                gained |= answer.cost[..3] < found.timed.answer.cost[..3];
                found.timed.answer = answer;
                keep.iter().for_each(|n| kept[*n] = true);
            }
        }
        gained
    }

    /// Gives jobs that have not moved back to whom they were promised to, where that does not break anything.
    pub(super) fn same_hands(&self, found: &mut Tried) {
        let t = &mut found.timed;
        let old = old_times(self.again.old, &self.axis, &t.batch, &t.emitted, self.again.kitchen);
        for h in 0..old.chosen.len() {
            let a = t.emitted.problem.holds[h].from.activity.index();
            if old.chosen[h] != t.answer.solution.chosen[h] && old.starts[a] == t.answer.solution.starts[a] {
                let now = std::mem::replace(&mut t.answer.solution.chosen[h], old.chosen[h]);
                if !schedule::check(&t.emitted.problem, &t.answer.solution).is_empty() {
                    t.answer.solution.chosen[h] = now;
                }
            }
        }
    }
}
