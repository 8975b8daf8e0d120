//! Builds the dependency graph of a batch: every task of the job with its minimum and maximum lags, each with its reason. The tasks
//! themselves are in `curing.rs` and `lines.rs`.

use super::arrangement::{Arrangement, load_fits};
use super::durations as d;
use super::fit;
use super::task::{Holding, Kind, Link, Task, TaskGraph, Thing, Until, told, trade};
use super::{Axis, cold};
use crate::kitchen::{Kitchen, Limits};
use crate::schedule::{Force, Minute, Reason};
use petgraph::graph::NodeIndex;

/// The graph with the places where a person's wishes hang on it.
#[derive(Debug, Clone)]
pub struct Batch {
    pub graph: TaskGraph,
    /// By joint: where it is put in.
    pub submerge: Vec<NodeIndex>,
    /// By joint: where it is lifted.
    pub rinse: Vec<NodeIndex>,
    /// By joint: its rest after the brine.
    pub rest: Vec<NodeIndex>,
    /// By joint: the task whose end makes it ready.
    pub ready: Vec<NodeIndex>,
    /// By load: its turns in order.
    pub turns: Vec<Vec<NodeIndex>>,
    /// By joint: minutes in the brine it needs.
    pub need: Vec<Minute>,
    /// By load: what the tub takes.
    pub fits: Vec<fit::TubFit>,
    /// By cook: simmer and chill tasks.
    pub cooks: Vec<(NodeIndex, Vec<NodeIndex>)>,
    /// By load: its name for people.
    pub load_ids: Vec<String>,
    /// By cook: its name for people.
    pub cook_ids: Vec<String>,
    /// Tasks that are overdue, each with the minute it was due: to be done as soon as can be.
    pub overdue: Vec<(NodeIndex, Minute)>,
}

/// What is settled already and no longer asks whether it fits: meat lies in the tub, hams are in the pot.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Known {
    /// By load: it has been put in.
    pub in_brine: Vec<bool>,
    /// By cook: it has been put on.
    pub on: Vec<bool>,
    /// By joint: minutes in the brine asked for over the rule (after a missed turn, a brine renewed).
    pub longer: Vec<Minute>,
}

/// Why a graph could not be built.
pub type Refused = super::fit::Misfit;

pub(super) struct Builder<'a> {
    pub kitchen: &'a Kitchen,
    pub limits: &'a Limits,
    pub axis: &'a Axis,
    pub arrangement: &'a Arrangement,
    pub graph: TaskGraph,
    /// Minute before which nothing is planned.
    pub starts: Minute,
    /// Minute from which pork without an arrival of its own is in the kitchen.
    pub collect: Minute,
    pub known: &'a Known,
}

/// A house limit in minutes, with its reason.
pub(super) fn limit(limits: &Limits, id: &str) -> (Minute, Reason) {
    let l = limits.get(id);
    let force = match l.kind {
        crate::kitchen::limits::Kind::Safety => Force::Safety,
        crate::kitchen::limits::Kind::Quality => Force::Quality,
        crate::kitchen::limits::Kind::Wish => Force::Wish,
    };
    (limits.minutes(id), Reason { says: l.says.clone(), force, source: l.source.clone() })
}

/// Ties turns to the putting in and to each other.
pub(super) fn chain_turns(graph: &mut TaskGraph, limits: &Limits, put: NodeIndex, turns: &[NodeIndex]) {
    let limit = |id: &str| limit(limits, id);
    for (k, t) in turns.iter().copied().enumerate() {
        let link = if k == 0 {
            Link::hard(Some(limit("first_turn_min")), Some(limit("first_turn_max")))
        } else {
            Link::hard(Some(limit("turn_gap_least")), Some(limit("turn_gap_once")))
                .best_under(limit("turn_gap_max"))
                .best_over(limit("turn_gap_min"))
        };
        graph.add_edge(if k == 0 { put } else { turns[k - 1] }, t, link);
        if k >= 2 {
            // Five days once: two gaps running never come to more than one long and one plain.
            let (long, why) = limit("turn_gap_once");
            let (plain, _) = limit("turn_gap_max");
            let two = long + plain + graph[turns[k - 1]].minutes;
            graph.add_edge(turns[k - 2], t, Link::hard(None, Some((two, why))));
        }
    }
}

impl Builder<'_> {
    pub fn limit(&self, id: &str) -> (Minute, Reason) {
        limit(self.limits, id)
    }

    pub fn task(&self, id: String, kind: Kind, joints: &[usize], minutes: Minute, hands: Minute) -> Task {
        Task {
            id,
            kind,
            joints: joints.to_vec(),
            with: String::new(),
            minutes,
            slow: minutes,
            hands,
            holds: Vec::new(),
            watches: Vec::new(),
            release: self.starts,
            latest: None,
            release_reason: told("nothing is planned before the batch starts", Force::Wish),
            group: 0,
            pinned: None,
            gone: false,
        }
    }

    pub fn link(&mut self, from: NodeIndex, to: NodeIndex, least: (Minute, Reason), most: Option<(Minute, Reason)>) {
        self.graph.add_edge(from, to, Link::hard(Some(least), most));
    }

    pub fn names(&self, joints: &[usize]) -> String {
        joints.iter().map(|i| self.kitchen.joints[*i].name.as_str()).collect::<Vec<_>>().join("+")
    }
}

/// A holding of one thing from the task's start to its end and `after` minutes.
pub(super) fn hold(thing: Thing, amount: i32, after: Minute) -> Holding {
    Holding { things: vec![thing], amount, from_end: false, until: Until::End(after), family: 0, same: None }
}

pub(super) fn follows() -> (Minute, Reason) {
    (0, trade("one follows the other", Force::Means))
}

/// Builds the graph for an arrangement. Nothing starts before `starts`; pork whose arrival is open is there from `collect`.
///
/// # Errors
/// The misfit that binds, when a load or a cook of the arrangement does not fit.
pub fn build(
    kitchen: &Kitchen,
    limits: &Limits,
    axis: &Axis,
    arrangement: &Arrangement,
    starts: Minute,
    collect: Minute,
) -> Result<Batch, Refused> {
    build_on(kitchen, limits, axis, arrangement, starts, collect, &Known::default())
}

/// The same where some of it is settled already.
///
/// # Errors
/// The misfit that binds, among what is not settled.
pub fn build_on(
    kitchen: &Kitchen,
    limits: &Limits,
    axis: &Axis,
    arrangement: &Arrangement,
    starts: Minute,
    collect: Minute,
    known: &Known,
) -> Result<Batch, Refused> {
    let mut b = Builder { kitchen, limits, axis, arrangement, graph: TaskGraph::new(), starts, collect, known };
    let n = kitchen.joints.len();
    let none = NodeIndex::end();
    let mut out = Batch {
        graph: TaskGraph::new(),
        submerge: vec![none; n],
        rinse: vec![none; n],
        rest: vec![none; n],
        ready: vec![none; n],
        turns: Vec::new(),
        need: (kitchen.joints.iter().enumerate())
            .map(|(j, joint)| d::cure(joint, &kitchen.cure) + known.longer.get(j).copied().unwrap_or(0))
            .collect(),
        fits: Vec::new(),
        cooks: Vec::new(),
        load_ids: load_ids(kitchen, arrangement),
        cook_ids: Vec::new(),
        overdue: Vec::new(),
    };
    let mut cooled = vec![none; arrangement.loads.len()];
    for (k, boil) in arrangement.boils.iter().enumerate().filter(|(_, b)| !b.is_empty()) {
        let cool = b.boil(k, boil);
        boil.iter().for_each(|l| cooled[*l] = cool);
    }
    for (l, load) in arrangement.loads.iter().enumerate() {
        out.fits.push(match load_fits(kitchen, load.tub, &load.joints, limits) {
            Err(_) if known.in_brine.get(l) == Some(&true) => fit::as_it_lies(kitchen, load.tub, &load.joints, limits),
            tried => tried.map_err(|m| {
                let says = format!("{} in {}: {}", b.names(&load.joints), out.load_ids[l], m.says);
                fit::Misfit { says, ..m }
            })?,
        });
        b.load(l, &out.load_ids[l].clone(), cooled[l], &mut out);
    }
    for (j, joint) in kitchen.joints.iter().enumerate() {
        if !joint.outcome.is_ham() {
            out.ready[j] = b.gammon(j, out.rest[j]);
        }
    }
    for c in 0..arrangement.cooks.len() {
        b.cook(c, &mut out)?;
    }
    cold::hold_rest_and_ham(&mut b, &out);
    out.graph = b.graph;
    group_up(&mut out.graph);
    Ok(out)
}

/// Names of loads: the tub, with a number from its second load on.
pub fn load_ids(kitchen: &Kitchen, arrangement: &Arrangement) -> Vec<String> {
    let mut seen = vec![0u32; kitchen.kit.tubs.len()];
    arrangement
        .loads
        .iter()
        .map(|l| {
            seen[l.tub] += 1;
            let name = &kitchen.kit.tubs[l.tub].name;
            match l.nth.unwrap_or(seen[l.tub]) {
                0 | 1 => name.clone(),
                n => format!("{name} (load {n})"),
            }
        })
        .collect()
}

/// Numbers the connected parts of the graph.
fn group_up(graph: &mut TaskGraph) {
    let mut parts = petgraph::unionfind::UnionFind::<usize>::new(graph.node_count());
    for e in graph.edge_indices() {
        if let Some((a, b)) = graph.edge_endpoints(e) {
            parts.union(a.index(), b.index());
        }
    }
    let labels = parts.into_labeling();
    let mut names: Vec<usize> = labels.clone();
    names.sort_unstable();
    names.dedup();
    for n in graph.node_indices() {
        let g = names.binary_search(&labels[n.index()]).unwrap_or(0);
        graph[n].group = g as u32;
    }
}
