//! From a timed arrangement to the plan people read.

use super::words::sentence;
use super::{Because, FORMAT, InHand, JointStory, LevelStanding, Plan, PlannedTask, PotLoad, Standing, TubLoad, Use};
use crate::kitchen::{Kitchen, Limits};
use crate::plan::strike::Timed;
use crate::process::emit::Taken;
use crate::process::{Axis, Kind, Link, Thing, Until};
use crate::schedule::{self, Minute, Reason};
use petgraph::Direction;
use petgraph::graph::NodeIndex;
use petgraph::visit::EdgeRef;

/// The plan as data. Slack costs a look at every task, so plans on the way to the final one go without.
pub fn tell(kitchen: &Kitchen, limits: &Limits, axis: &Axis, t: &Timed, with_slack: bool) -> Plan {
    let starts = &t.answer.solution.starts;
    let graph = &t.batch.graph;
    let end = |n: NodeIndex| starts[n.index()] + graph[n].minutes;
    let names = |js: &[usize]| js.iter().map(|j| kitchen.joints[*j].name.clone()).collect::<Vec<_>>();

    let slack = if with_slack { schedule::slack(&t.emitted.problem, &t.answer.solution) } else { None };
    let free = |n: NodeIndex| {
        slack.as_ref().map_or((starts[n.index()], starts[n.index()]), |s| {
            let s = &s[n.index()];
            (s.earliest, s.latest)
        })
    };

    let mut tasks: Vec<PlannedTask> = graph
        .node_indices()
        .filter(|n| !graph[*n].gone)
        .map(|n| {
            let start = starts[n.index()];
            let mut task = graph[n].clone();
            if task.kind == Kind::Turn {
                // Who has been lifted is no longer turned.
                task.joints.retain(|j| starts[t.batch.rinse[*j].index()] > start);
            }
            let left: Vec<usize> = match task.kind {
                Kind::Rinse => {
                    let load = t.arrangement.loads.iter().find(|l| task.joints.iter().all(|j| l.joints.contains(j)));
                    // Of two lifts at one moment the one later in the list empties the tub.
                    let later = |j: &usize| {
                        let at = starts[t.batch.rinse[*j].index()];
                        at > start || (at == start && t.batch.rinse[*j] > n)
                    };
                    load.map_or_else(Vec::new, |l| l.joints.iter().copied().filter(later).collect())
                }
                _ => Vec::new(),
            };
            let task = &task;
            let (who, uses) = taken(t, n, kitchen, axis);
            PlannedTask {
                id: task.id.clone(),
                kind: task.kind,
                says: sentence(kitchen, task, &left),
                joints: names(&task.joints),
                start: axis.when(start),
                end: axis.when(lasting_end(t, n)),
                slow_end: axis.when(start + task.slow.max(lasting_end(t, n) - start)),
                hands_minutes: task.hands,
                who,
                uses,
                earliest: axis.when(free(n).0),
                latest: axis.when(free(n).1),
                because: because(t, n),
            }
        })
        .collect();
    tasks.sort_by(|a, b| (a.start, &a.id).cmp(&(b.start, &b.id)));

    let loads = t
        .arrangement
        .loads
        .iter()
        .enumerate()
        .map(|(l, load)| TubLoad {
            id: t.batch.load_ids[l].clone(),
            tub: kitchen.kit.tubs[load.tub].name.clone(),
            space: t.arrangement.place[load.tub].map_or_else(String::new, |s| kitchen.kit.cold[s].name.clone()),
            joints: names(&load.joints),
            turns: load.turns,
            boil: t.arrangement.boils.iter().position(|b| b.contains(&l)).unwrap_or(0) as u32,
            fill_cm: t.batch.fits[l].fill,
            brine_litres: t.batch.fits[l].brine,
        })
        .collect();
    let cooks = t
        .arrangement
        .cooks
        .iter()
        .zip(&t.batch.cook_ids)
        .map(|(c, id)| PotLoad {
            id: id.clone(),
            pot: kitchen.kit.pots[c.pot].name.clone(),
            chilling: kitchen.kit.chilling[c.chilling].name.clone(),
            joints: names(&c.joints),
        })
        .collect();
    let joints = kitchen
        .joints
        .iter()
        .enumerate()
        .map(|(j, joint)| {
            let put_in = end(t.batch.submerge[j]);
            let load = t.arrangement.loads.iter().position(|l| l.joints.contains(&j));
            JointStory {
                name: joint.name.clone(),
                outcome: joint.outcome.words().to_owned(),
                kg: joint.planned_weight().as_kg(),
                tub: load.map_or_else(String::new, |l| t.batch.load_ids[l].clone()),
                put_in: axis.when(put_in),
                cured: axis.when(put_in + t.batch.need[j]),
                cure_days: f64::from(t.batch.need[j]) / 1440.0,
                lift: axis.when(starts[t.batch.rinse[j].index()]),
                ready: axis.when(end(t.batch.ready[j])),
                ready_by: joint.ready_by.map(|m| axis.when(axis.of(m))),
            }
        })
        .collect();
    let levels = t
        .emitted
        .problem
        .levels
        .iter()
        .zip(&t.answer.cost)
        .map(|(l, value)| LevelStanding {
            label: l.label.clone(),
            unit: l.unit.clone(),
            value: *value,
            bound: 0,
            compared: None,
        })
        .collect();
    let mut notes = super::notes::notes(kitchen, limits, t);
    if with_slack {
        notes.extend(super::notes::both_times(kitchen, limits, t));
    }
    Plan {
        format: FORMAT,
        kitchen: kitchen.name.clone(),
        zone: kitchen.zone,
        tasks,
        loads,
        cooks,
        joints,
        levels,
        standing: Standing::BestFound,
        in_hand: Some(InHand { minutes: limits.minutes("turn_in_hand"), without: None })
            .filter(|h| t.form.in_hand && h.minutes > 0),
        compared: None,
        collect: None,
        alarms: Vec::new(),
        notes,
    }
}

/// When a task ends: a rest lasts until the joint goes on, everything else its planned minutes.
fn lasting_end(t: &Timed, n: NodeIndex) -> Minute {
    let (graph, starts) = (&t.batch.graph, &t.answer.solution.starts);
    let planned = starts[n.index()] + graph[n].minutes;
    if graph[n].kind != Kind::Rest {
        return planned;
    }
    graph
        .neighbors_directed(n, Direction::Outgoing)
        .map(|m| starts[m.index()])
        .min()
        .map_or(planned, |m| m.max(planned))
}

/// Whose hands, and what kit and space, with times.
fn taken(t: &Timed, n: NodeIndex, kitchen: &Kitchen, axis: &Axis) -> (Option<String>, Vec<Use>) {
    let problem = &t.emitted.problem;
    let starts = &t.answer.solution.starts;
    let at = |p: crate::schedule::Point| starts[p.activity.index()] + p.offset;
    let (mut who, mut uses) = (None, Vec::new());
    if let Some(start) = t.batch.graph[n].pinned {
        return (None, taken_by_fact(t, n, start, kitchen, axis));
    }
    for (h, hold) in problem.holds.iter().enumerate() {
        if hold.from.activity.index() != n.index() {
            continue;
        }
        let thing = match t.emitted.taken[h][t.answer.solution.chosen[h] as usize] {
            Taken::Person(p) => {
                who = Some(kitchen.people[p].name.clone());
                continue;
            }
            Taken::Thing(Thing::Air(_) | Thing::Litres(_) | Thing::ChillingLoad(_)) => continue,
            Taken::Thing(thing) => super::judge::thing_name(kitchen, thing),
        };
        let to = hold.to.iter().map(|p| at(*p)).max().unwrap_or(at(hold.from));
        uses.push(Use { thing, from: axis.when(at(hold.from)), to: axis.when(to) });
    }
    (who, uses)
}

/// What a task that has happened took, as far as it is plain: a choice of several is not.
fn taken_by_fact(t: &Timed, n: NodeIndex, start: Minute, kitchen: &Kitchen, axis: &Axis) -> Vec<Use> {
    let (graph, starts) = (&t.batch.graph, &t.answer.solution.starts);
    let end = start + graph[n].minutes;
    let plain = graph[n].holds.iter().filter(|h| h.things.len() == 1);
    plain
        .filter(|h| !matches!(h.things[0], Thing::Air(_) | Thing::Litres(_) | Thing::ChillingLoad(_)))
        .map(|h| {
            let to = match &h.until {
                Until::End(after) => Some(end + after),
                Until::Ends(others) => others.iter().map(|(o, m)| starts[o.index()] + graph[*o].minutes + m).max(),
                Until::Starts(others) => others.iter().map(|o| starts[o.index()]).max(),
            };
            let from = if h.from_end { end } else { start };
            let thing = super::judge::thing_name(kitchen, h.things[0]);
            Use { thing, from: axis.when(from), to: axis.when(to.unwrap_or(end).max(from)) }
        })
        .collect()
}

fn because(t: &Timed, n: NodeIndex) -> Vec<Because> {
    let graph = &t.batch.graph;
    let one = |other: NodeIndex, r: &Reason| Because {
        other: graph[other].id.clone(),
        says: r.says.clone(),
        force: r.force.word().to_owned(),
        source: r.source.clone(),
    };
    let mut out = Vec::new();
    for direction in [Direction::Incoming, Direction::Outgoing] {
        for e in graph.edges_directed(n, direction) {
            let other = if direction == Direction::Incoming { e.source() } else { e.target() };
            let Link { least, most, good, good_least } = e.weight();
            for (_, r) in [least, most, good, good_least].into_iter().flatten() {
                out.push(one(other, r));
            }
        }
    }
    out.dedup();
    out
}
