//! Cold space beyond the tubs: joints resting after the brine, cooked hams waiting to be sliced, hot hams in the air.

use super::arrangement::{cooked_spaces, curing_spaces};
use super::fit;
use super::graph::{Batch, Builder, hold};
use super::task::{Holding, Kind, Thing, Until};
use petgraph::Direction;
use petgraph::graph::NodeIndex;

/// How much of a fridge's air a hot ham takes; a tub takes 1, so the two never share it.
pub const HOT: i32 = 1000;

/// Lets each resting joint hold floor on the raw side until it is cooked or packed, and each cold ham hold floor on the
/// cooked side, if the kitchen has one, until it is sliced or packed.
pub(super) fn hold_rest_and_ham(b: &mut Builder, out: &Batch) {
    let raw = curing_spaces(b.kitchen, b.limits);
    let cooked = cooked_spaces(b.kitchen, b.limits);
    let floor = |j: usize| {
        let s = fit::size_of(&b.kitchen.joints[j]);
        (s.diameter * s.length).ceil() as i32
    };
    let next_of = |n: NodeIndex, kinds: &[Kind]| -> Vec<NodeIndex> {
        let mut next: Vec<NodeIndex> =
            b.graph.neighbors_directed(n, Direction::Outgoing).filter(|m| kinds.contains(&b.graph[*m].kind)).collect();
        next.sort();
        next.dedup();
        next
    };
    let mut add: Vec<(NodeIndex, Holding)> = Vec::new();
    if !raw.is_empty() {
        for (j, rest) in out.rest.iter().enumerate() {
            let next = next_of(*rest, &[Kind::Simmer, Kind::Firm, Kind::VacuumPack]);
            let things = raw.iter().copied().map(Thing::Floor).collect();
            add.push((*rest, Holding { things, until: Until::Starts(next), ..hold(Thing::Ring, floor(j), 0) }));
        }
    }
    if !cooked.is_empty() {
        for (_, chills) in &out.cooks {
            for chill in chills {
                let next = next_of(*chill, &[Kind::Slice, Kind::VacuumPack]);
                if next.is_empty() {
                    continue;
                }
                let amount = b.graph[*chill].joints.iter().map(|j| floor(*j)).sum();
                let things = cooked.iter().copied().map(Thing::Floor).collect();
                let held = hold(Thing::Ring, amount, 0);
                add.push((*chill, Holding { things, from_end: true, until: Until::Starts(next), ..held }));
            }
        }
    }
    for (n, h) in add {
        b.graph[n].holds.push(h);
    }
}
