//! What has happened, laid on the task graph: done tasks stand at their true times with their true lengths, those under way
//! go on, a missed turn has left the job, and what is overdue is to be done as soon as can be.
//!
//! A limit between two facts is nobody's to keep any more; broken, it is told as a deviation. A longest wait that has
//! already run out when it is now becomes "as soon as possible" and a deviation. Every other limit stays.

use super::arrangement::chill_limit;
use super::durations::STEP;
use super::graph::{Batch, chain_turns, limit};
use super::hours::somebody_home;
use super::task::{Kind, Link};
use super::{Axis, TaskGraph};
use crate::kitchen::{Kitchen, Limits};
use crate::schedule::{Force, Minute, Reason};
use petgraph::Direction;
use petgraph::graph::NodeIndex;
use petgraph::visit::EdgeRef;
use std::collections::{BTreeMap, BTreeSet};

/// How far a task has got.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Progress {
    Done,
    /// Under way; its end, if one is given, is when it is expected.
    Running,
    Skipped,
}

/// What happened to one task, in minutes of the axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fact {
    pub start: Minute,
    /// When it was over, or is expected to be.
    pub end: Option<Minute>,
    pub progress: Progress,
}

/// Everything known about what has happened.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Facts {
    /// Minute up to which things have happened.
    pub now: Minute,
    /// By task id.
    pub tasks: BTreeMap<String, Fact>,
    /// By task id: when the plan so far had it.
    pub planned: BTreeMap<String, Minute>,
    /// Longest waits of quality that began with a fact, or lie between turns, are given up as hard limits: where nothing else
    /// is possible.
    pub lenient: bool,
}

/// A limit that is missed, and what it means.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missed {
    pub reason: Reason,
    /// Ids of the tasks it stands between; one for a limit of a task's own.
    pub tasks: Vec<String>,
    /// Minutes over (or short of) the limit, as far as is known now.
    pub by: Minute,
    /// It can still be met late: the task is to be done as soon as possible.
    pub open: bool,
}

/// What laying the facts on the graph brought up.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Laid {
    pub missed: Vec<Missed>,
    /// Ids of tasks that were planned before now and are in no record: due now.
    pub unrecorded: Vec<String>,
    /// Ids of tasks in no record that must have been done, since later ones are.
    pub assumed: Vec<String>,
    /// Ids of turns that are in no record and were passed by, or told as missed.
    pub missed_turns: Vec<String>,
    /// Ids of tasks told as skipped that cannot be: still to be done.
    pub cannot_skip: Vec<String>,
}

/// A minute rounded up to the step.
fn up(m: Minute, step: Minute) -> Minute {
    (m + step - 1).div_euclid(step) * step
}

/// Lays the facts on a batch. Planned tasks start at `step` marks from now on.
pub fn lay(kitchen: &Kitchen, limits: &Limits, axis: &Axis, batch: &mut Batch, facts: &Facts, step: Minute) -> Laid {
    let mut it =
        Layer { kitchen, limits, axis, facts, now: up(facts.now, step), laid: Laid::default(), late: Vec::new() };
    let lengths: Vec<Minute> = batch.graph.node_weights().map(|t| t.minutes).collect();
    it.pin(&mut batch.graph);
    it.follow(&mut batch.graph);
    it.imply(&mut batch.graph);
    it.count_from_the_start(&mut batch.graph, &lengths);
    it.close_turns(batch);
    it.part_long_gaps(batch);
    it.links(batch);
    it.long_chills(&batch.graph);
    it.rest(batch);
    batch.overdue.append(&mut it.late);
    it.laid
}

struct Layer<'a> {
    kitchen: &'a Kitchen,
    limits: &'a Limits,
    axis: &'a Axis,
    facts: &'a Facts,
    /// Nothing new starts before.
    now: Minute,
    laid: Laid,
    /// Tasks in no record, with the minute they were planned for.
    late: Vec<(NodeIndex, Minute)>,
}

/// Gives up a longest wait as a hard limit; what is over it costs.
fn soften(link: &mut Link) {
    let most = link.most.take();
    link.good = link.good.take().or(most);
}

fn settled(graph: &TaskGraph, n: NodeIndex) -> bool {
    graph[n].pinned.is_some()
}

impl Layer<'_> {
    /// Pins what is in the record.
    fn pin(&mut self, graph: &mut TaskGraph) {
        for n in graph.node_indices() {
            let Some(fact) = self.facts.tasks.get(&graph[n].id).copied() else { continue };
            let t = &mut graph[n];
            match fact.progress {
                Progress::Done => {
                    // A start is all that some records give; the task then took as long as such a one takes.
                    let end = fact.end.unwrap_or((fact.start + t.minutes).min(self.facts.now.max(fact.start)));
                    t.pinned = Some(fact.start);
                    t.minutes = (end - fact.start).max(0);
                    t.slow = t.minutes;
                }
                Progress::Running => {
                    let planned = fact.start + t.minutes;
                    let over = t.slow - t.minutes;
                    let told = fact.end.filter(|e| *e > fact.start);
                    t.pinned = Some(fact.start);
                    // In the planner's steps also where a judge reckons in minutes, so that both reckon alike.
                    t.minutes = told.unwrap_or(planned).max(up(self.facts.now, STEP)) - fact.start;
                    // What could run over still can, as long as nobody has said when it will be done.
                    t.slow = t.minutes + if told.is_some() || self.now > planned + over { 0 } else { over.max(0) };
                }
                Progress::Skipped => match t.kind {
                    Kind::Turn => {
                        t.gone = true;
                        t.pinned = Some(fact.start);
                        (t.minutes, t.slow) = (0, 0);
                        self.laid.missed_turns.push(t.id.clone());
                    }
                    // The job cannot go on without these: whoever skipped one still has it to do.
                    // Brine that nobody cooled is not cold because somebody says to leave the cooling out.
                    Kind::BrineMake
                    | Kind::Cool
                    | Kind::Submerge
                    | Kind::Rinse
                    | Kind::Simmer
                    | Kind::Bake
                    | Kind::Chill => {
                        self.laid.cannot_skip.push(t.id.clone());
                    }
                    _ => {
                        t.pinned = Some(fact.start);
                        (t.minutes, t.slow, t.hands) = (0, 0, 0);
                        t.holds.clear();
                    }
                },
            }
        }
    }

    /// What goes by itself once the task before it is done: brine cools, a rinsed joint is dried, a dry one rests.
    fn follow(&mut self, graph: &mut TaskGraph) {
        for n in graph.node_indices() {
            if settled(graph, n) || !matches!(graph[n].kind, Kind::Cool | Kind::Dry | Kind::Rest) {
                continue;
            }
            let before = graph.edges_directed(n, Direction::Incoming).map(|e| e.source()).next();
            let end = before.and_then(|b| Some(graph[b].pinned? + graph[b].minutes));
            // A rest begins the minute the joint is dry, whenever that is.
            let rests = graph[n].kind == Kind::Rest;
            let Some(end) = end.filter(|e| rests || *e <= self.facts.now) else { continue };
            graph[n].pinned = Some(end);
            if !rests {
                self.laid.assumed.push(graph[n].id.clone());
            }
        }
    }

    /// The longest rest and the longest soak count from their start, however long they have lasted.
    fn count_from_the_start(&self, graph: &mut TaskGraph, lengths: &[Minute]) {
        for n in graph.node_indices().filter(|n| matches!(graph[*n].kind, Kind::Rest | Kind::Soak)).collect::<Vec<_>>()
        {
            let more = graph[n].minutes - lengths[n.index()];
            let out: Vec<_> = graph.edges(n).map(|e| e.id()).collect();
            for e in out.into_iter().filter(|_| more != 0) {
                let link = &mut graph[e];
                for limit in [&mut link.most, &mut link.good].into_iter().flatten() {
                    limit.0 -= more;
                }
            }
        }
    }

    /// A chill that took, or takes, longer than the limit.
    fn long_chills(&mut self, graph: &TaskGraph) {
        let (most, reason) = limit(self.limits, chill_limit(self.kitchen));
        for n in graph.node_indices().filter(|n| graph[*n].kind == Kind::Chill && settled(graph, *n)) {
            if graph[n].minutes > most {
                let going_on = graph[n].pinned.is_some_and(|s| s + graph[n].minutes > self.facts.now);
                self.miss(&reason, &[&graph[n].id], graph[n].minutes - most, going_on);
            }
        }
    }

    /// What must have happened because something after it has.
    fn imply(&mut self, graph: &mut TaskGraph) {
        let mut before: BTreeMap<NodeIndex, Minute> = BTreeMap::new();
        let happened = |g: &TaskGraph, n: NodeIndex| settled(g, n) && !g[n].gone;
        let mut todo: Vec<NodeIndex> = graph.node_indices().filter(|n| happened(graph, *n)).collect();
        while let Some(n) = todo.pop() {
            let start = graph[n].pinned.or_else(|| before.get(&n).copied()).unwrap_or(self.facts.now);
            let earlier: Vec<NodeIndex> = graph
                .edges_directed(n, Direction::Incoming)
                .filter(|e| e.weight().least.is_some())
                .map(|e| e.source())
                .collect();
            for m in earlier {
                if !settled(graph, m) && before.get(&m).is_none_or(|b| *b > start) {
                    before.insert(m, start);
                    todo.push(m);
                }
            }
        }
        for (n, latest) in before {
            let t = &mut graph[n];
            if t.kind == Kind::Turn {
                // Nobody saw it done: it is read as missed, never as fine.
                t.gone = true;
                t.pinned = Some(latest);
                (t.minutes, t.slow) = (0, 0);
                self.laid.missed_turns.push(t.id.clone());
                continue;
            }
            let planned = self.facts.planned.get(&t.id).copied().unwrap_or(latest - t.minutes);
            let start = planned.min(latest);
            t.pinned = Some(start.max(0));
            t.minutes = t.minutes.min(latest - start).max(0);
            t.slow = t.minutes;
            self.laid.assumed.push(t.id.clone());
        }
        // A record is not asked to keep what lies before it.
        for n in graph.node_indices() {
            let (now, planned) = (self.facts.now, self.facts.planned.get(&graph[n].id));
            if !settled(graph, n) && planned.is_some_and(|p| *p + graph[n].minutes.min(30) < now) {
                self.laid.unrecorded.push(graph[n].id.clone());
                self.late.extend(planned.map(|p| (n, *p)));
            }
        }
    }

    /// Ties the turns that are left to each other.
    fn close_turns(&mut self, batch: &mut Batch) {
        for turns in &mut batch.turns {
            if !turns.iter().any(|t| batch.graph[*t].gone) {
                continue;
            }
            let graph = &mut batch.graph;
            let chain: BTreeSet<NodeIndex> = turns.iter().copied().collect();
            let put = graph
                .edges_directed(turns[0], Direction::Incoming)
                .map(|e| e.source())
                .find(|n| graph[*n].kind == Kind::Submerge);
            let Some(put) = put else { continue };
            let lifts: Vec<(NodeIndex, Link)> = turns
                .last()
                .map(|last| graph.edges(*last).filter(|e| !chain.contains(&e.target())))
                .into_iter()
                .flatten()
                .map(|e| (e.target(), e.weight().clone()))
                .collect();
            graph.retain_edges(|g, e| {
                g.edge_endpoints(e).is_none_or(|(a, b)| !chain.contains(&a) && !chain.contains(&b))
            });
            let left: Vec<NodeIndex> = turns.iter().copied().filter(|t| !graph[*t].gone).collect();
            chain_turns(graph, self.limits, put, &left);
            let last = *left.last().unwrap_or(&put);
            for (lift, link) in lifts {
                graph.add_edge(last, lift, link);
            }
            *turns = left;
        }
    }

    /// One long gap and a plain one are the most that two running may come to. Where one has gone by that was longer than any may be,
    /// that is told of it alone: turning all the sooner after it makes nothing good.
    fn part_long_gaps(&self, batch: &mut Batch) {
        let long = self.limits.minutes("turn_gap_once");
        let graph = &mut batch.graph;
        for three in batch.turns.iter().flat_map(|turns| turns.windows(3)) {
            let end = graph[three[0]].pinned.map(|start| start + graph[three[0]].minutes);
            let next = graph[three[1]].pinned.unwrap_or(self.now);
            if end.is_some_and(|end| next - end > long)
                && let Some(two) = graph.find_edge(three[0], three[2])
            {
                graph[two] = Link::NONE;
            }
        }
    }

    fn miss(&mut self, reason: &Reason, tasks: &[&str], by: Minute, open: bool) {
        let tasks = tasks.iter().map(|t| (*t).to_owned()).collect();
        self.laid.missed.push(Missed { reason: reason.clone(), tasks, by, open });
    }

    /// Limits between facts, and between a fact and what is to come.
    fn links(&mut self, batch: &mut Batch) {
        let graph = &mut batch.graph;
        let edges: Vec<_> = graph.edge_indices().collect();
        for e in edges {
            let Some((a, b)) = graph.edge_endpoints(e) else { continue };
            let end = |g: &TaskGraph| g[a].pinned.map(|s| s + g[a].minutes);
            match (end(graph), graph[b].pinned) {
                (Some(end), Some(start)) => {
                    let link = std::mem::replace(&mut graph[e], Link::NONE);
                    if graph[a].gone || graph[b].gone {
                        continue;
                    }
                    let ids = [graph[a].id.clone(), graph[b].id.clone()];
                    let ids: Vec<&str> = ids.iter().map(String::as_str).collect();
                    if let Some((most, r)) = link.most.filter(|(m, _)| start - end > *m) {
                        self.miss(&r, &ids, start - end - most, false);
                    }
                    // A record to the minute of people's memory: work that follows at once may seem to overlap a little.
                    if let Some((least, r)) = link.least.filter(|(m, _)| *m > 0 && start - end < *m) {
                        self.miss(&r, &ids, least - (start - end), false);
                    }
                }
                (None, Some(_)) => graph[e] = Link::NONE,
                (Some(end), None) => {
                    let (least, most) = (graph[e].least.clone(), graph[e].most.clone());
                    let soonest = self.now.max(least.map_or(Minute::MIN, |l| end + l.0));
                    let Some((most, reason)) = most else { continue };
                    let ids = [graph[a].id.clone(), graph[b].id.clone()];
                    let ids: Vec<&str> = ids.iter().map(String::as_str).collect();
                    if end + most < soonest {
                        graph[e].most = None;
                        batch.overdue.push((b, end + most));
                        self.miss(&reason, &ids, soonest - end - most, true);
                    } else if self.facts.lenient && reason.force == Force::Quality {
                        soften(&mut graph[e]);
                    }
                }
                (None, None) => {
                    // Turns hang on each other: one that cannot be kept is best shared out among those around it.
                    let turns = graph[a].kind == Kind::Turn || graph[b].kind == Kind::Turn;
                    if self.facts.lenient
                        && turns
                        && graph[e].most.as_ref().is_some_and(|m| m.1.force == Force::Quality)
                    {
                        soften(&mut graph[e]);
                    }
                }
            }
        }
        // Limits that a task carries itself, and those that span more than two.
        for n in graph.node_indices() {
            if settled(graph, n) {
                continue;
            }
            if let Some(latest) = graph[n].latest.filter(|l| *l < self.now) {
                graph[n].latest = None;
                batch.overdue.push((n, latest));
                let (_, reason) = limit(self.limits, "collect_to_brine_limit");
                let id = graph[n].id.clone();
                self.miss(&reason, &[&id], self.now - latest, true);
            }
            graph[n].release = graph[n].release.max(self.now);
        }
    }

    /// People and things that facts take: from now on only, and never against what is so.
    fn rest(&mut self, batch: &mut Batch) {
        let home = somebody_home(self.kitchen, self.axis);
        let now = self.now;
        for n in batch.graph.node_indices() {
            let t = &mut batch.graph[n];
            let Some(start) = t.pinned else { continue };
            let mut lost = false;
            t.watches.retain_mut(|w| {
                w.after = w.after.max(now - start);
                let there = home.iter().any(|i| i.from <= now && now < i.to);
                lost |= !there && t.minutes > now - start;
                there
            });
            if lost {
                let says = "a pot or oven that is on has somebody at home and awake".to_owned();
                let reason = Reason { says, force: Force::Safety, source: "common practice".to_owned() };
                let id = t.id.clone();
                self.miss(&reason, &[&id], 0, true);
            }
        }
    }
}
