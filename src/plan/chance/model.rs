//! The plan as a right-shift model: every task with what it waits for, who does it and what it holds.
//!
//! What holds a thing over other tasks (a tub from the put-in to the last lift, floor from the rest to the pot) keeps the
//! plan's own order: the plan is chained into a partial-order schedule (Policella, Smith, Cesta and Oddi, 2004). People, sinks,
//! pots, oven and chilling are taken as they come free.

use crate::kitchen::stay::by_salt;
use crate::kitchen::{Kitchen, Limits, Times, quantities};
use crate::plan::judge::Laid;
use crate::process::Kind;
use crate::process::durations as d;
use crate::process::emit::Taken;
use crate::schedule::{Interval, Minute};
use crate::science;
use crate::units::{Elapsed, Mass};
use petgraph::visit::EdgeRef;

/// Links whose longest wait is no more than this are one piece of work: it is not begun unless it can be finished.
const ONE_GO: Minute = 120;

/// A wait for another task.
#[derive(Debug, Clone, Copy)]
pub struct Wait {
    pub on: usize,
    /// Counted from the other's start, not its end.
    pub from_start: bool,
    pub least: Minute,
    /// The wait is this joint's days in the brine.
    pub cure_of: Option<usize>,
}

/// A thing held while a task runs and so long after.
#[derive(Debug, Clone)]
pub struct Held {
    /// Planned one first.
    pub choose: Vec<usize>,
    pub amount: i32,
    /// From the start; `None`: from the end.
    pub from: Option<Minute>,
    pub after: Minute,
    pub family: u32,
}

#[derive(Debug, Clone)]
pub struct Job {
    pub planned: Minute,
    pub minutes: Minute,
    pub hands: Minute,
    /// Indices of people, the planned one first; empty when no hands are needed.
    pub people: Vec<usize>,
    pub holds: Vec<Held>,
    pub waits: Vec<Wait>,
    pub kind: Kind,
    /// Tasks of the same piece of work, each with its planned distance from this one's start; only for the first of them.
    pub members: Vec<(usize, Minute)>,
    /// Stretches, from this one's start, in which somebody must be at home; only for the first of a piece of work.
    pub watched: Vec<(Minute, Minute)>,
    pub load: Option<usize>,
    /// When it was begun, for what has happened, and whether it is over.
    pub happened: Option<(Minute, bool)>,
}

/// A limit that is looked at when all is done: the second starts within `most` of the first's end.
#[derive(Debug, Clone)]
pub struct Limit {
    pub from: usize,
    pub to: usize,
    pub most: Minute,
    pub says: String,
    pub force: &'static str,
    pub source: String,
}

#[derive(Debug, Clone)]
pub struct Thing {
    pub capacity: i32,
    pub changeover: Vec<(u32, u32, Minute)>,
}

#[derive(Debug, Clone)]
pub struct CookDay {
    pub simmer: usize,
    /// Planned minutes to a simmer, and of the simmer itself by the heaviest joint.
    pub heat: Minute,
    pub joints: Vec<usize>,
    pub bakes: Vec<usize>,
    pub chills: Vec<usize>,
}

#[derive(Debug, Clone)]
pub struct JointModel {
    pub need: Minute,
    pub weighed: bool,
    pub ready: usize,
    pub ready_by: Option<Minute>,
    /// Simmer as planned.
    pub simmer: Minute,
    /// By the rule: weight, for what a heavier joint costs.
    pub kg: f64,
    rule: Option<science::cure::Rule>,
    extra: Minute,
    bone_in: bool,
    diameter: f64,
    rule_simmer: bool,
}

impl JointModel {
    /// Minutes in the brine when it weighs so many times the expected.
    pub fn need_at(&self, ratio: f64) -> Minute {
        if (ratio - 1.0).abs() < 1e-9 {
            return self.need;
        }
        match self.rule {
            Some(rule) => {
                let diameter = crate::units::Length::cm(self.diameter * ratio.cbrt());
                rule.time(Mass::kg(self.kg * ratio), self.bone_in, diameter).whole_minutes_up() + self.extra
            }
            None => (f64::from(self.need) * ratio) as Minute,
        }
    }

    pub fn simmer_at(&self, ratio: f64) -> f64 {
        if (ratio - 1.0).abs() < 1e-9 {
            return f64::from(self.simmer);
        }
        if self.rule_simmer {
            science::cook::simmer(Mass::kg(self.kg * ratio)).planned.as_minutes()
        } else {
            f64::from(self.simmer) * ratio
        }
    }
}

/// Joints that come with one delivery.
#[derive(Debug, Clone)]
pub struct Delivery {
    pub at: Minute,
    pub joints: Vec<usize>,
}

#[derive(Debug, Clone)]
pub struct Model {
    pub jobs: Vec<Job>,
    /// By joint: its put-in and its lift.
    pub stays: Vec<(usize, usize)>,
    pub ids: Vec<String>,
    pub limits: Vec<Limit>,
    pub things: Vec<Thing>,
    /// By person: when they can work.
    pub work: Vec<Vec<Interval>>,
    pub home: Vec<Interval>,
    pub joints: Vec<JointModel>,
    pub cooks: Vec<CookDay>,
    pub deliveries: Vec<Delivery>,
    /// By load: the put-in and its joints.
    pub loads: Vec<(usize, Vec<usize>)>,
    /// By chill task: planned and slow minutes of its own.
    pub chills: Vec<(usize, Minute, Minute)>,
    /// By task: order of preference when two could start.
    pub order: Vec<usize>,
    pub horizon: Minute,
    pub turn_late: [(Minute, Minute); 2],
    pub slip: Minute,
    pub chill_limit: (Minute, String, String),
    pub collect_limit: (Minute, String, String),
}

impl Model {
    pub fn new(kitchen: &Kitchen, limits: &Limits, laid: &Laid, now: Option<Minute>) -> Self {
        let graph = &laid.batch.graph;
        let problem = &laid.emitted.problem;
        let starts = &laid.solution.starts;
        let n = graph.node_count();
        let firm = limits.minutes("firm_min");
        let (mut jobs, mut ids) = (Vec::with_capacity(n), Vec::with_capacity(n));
        for node in graph.node_indices() {
            let t = &graph[node];
            let activity = &problem.activities[node.index()];
            let happened = now.zip(activity.pinned).map(|(now, at)| (at, at + activity.duration <= now));
            jobs.push(Job {
                planned: starts[node.index()],
                minutes: activity.duration,
                hands: t.hands,
                people: Vec::new(),
                holds: Vec::new(),
                waits: Vec::new(),
                kind: t.kind,
                members: Vec::new(),
                watched: Vec::new(),
                load: None,
                happened,
            });
            ids.push(t.id.clone());
        }
        let mut out_limits = Vec::new();
        let mut head: Vec<usize> = (0..n).collect();
        for e in graph.edge_references() {
            let (a, b) = (e.source().index(), e.target().index());
            let (from, to) = (&graph[e.source()], &graph[e.target()]);
            if let Some((least, _)) = &e.weight().least {
                let cure = (from.kind == Kind::Submerge && to.kind == Kind::Rinse).then(|| to.joints[0]);
                // Lags out of a chill are counted to its slow end in the plan; here the chill takes what it takes.
                let least = match (from.kind, to.kind) {
                    (Kind::Chill, Kind::Slice) => firm,
                    (Kind::Chill, _) => 0,
                    _ => *least,
                };
                jobs[b].waits.push(Wait { on: a, from_start: false, least, cure_of: cure });
            }
            if let Some((most, why)) = &e.weight().most {
                // A lift that comes later is a turn more, not a limit broken.
                if to.kind != Kind::Rinse || from.kind != Kind::Turn {
                    out_limits.push(Limit {
                        from: a,
                        to: b,
                        most: *most,
                        says: why.says.clone(),
                        force: why.force.word(),
                        source: why.source.clone(),
                    });
                }
                if *most <= ONE_GO && a != b {
                    let (h, old) = (head[a].min(head[b]), head[a].max(head[b]));
                    head.iter_mut().filter(|x| **x == old).for_each(|x| *x = h);
                }
            }
        }
        // The first of a piece of work is the one that starts first in the plan.
        for h in 0..n {
            let inside: Vec<usize> = (0..n).filter(|i| head[*i] == h).collect();
            let Some(first) = inside.iter().copied().min_by_key(|i| (jobs[*i].planned, *i)) else { continue };
            jobs[first].members =
                inside.iter().filter(|i| **i != first).map(|i| (*i, jobs[*i].planned - jobs[first].planned)).collect();
        }
        let block: Vec<usize> = {
            let mut of: Vec<usize> = (0..n).collect();
            for (i, j) in jobs.iter().enumerate() {
                j.members.iter().for_each(|(m, _)| of[*m] = i);
            }
            of
        };
        let people = kitchen.people.len();
        let mut chained: Vec<Vec<(Minute, Minute, i32, usize)>> = vec![Vec::new(); problem.resources.len()];
        let over_tasks: Vec<bool> = {
            // A thing that is held over other tasks anywhere is chained everywhere.
            let mut over = vec![false; problem.resources.len()];
            for h in &problem.holds {
                if h.to.iter().any(|t| t.activity != h.from.activity) {
                    h.choose.iter().for_each(|r| over[r.index()] = true);
                }
            }
            over
        };
        for (k, h) in problem.holds.iter().enumerate() {
            let i = h.from.activity.index();
            if i >= n || h.amount == 0 {
                continue;
            }
            let at = laid.solution.chosen[k] as usize;
            if matches!(laid.emitted.taken[k].first(), Some(Taken::Person(_))) {
                let mut who: Vec<usize> = h.choose.iter().map(|r| r.index()).collect();
                let first = who.remove(at.min(who.len() - 1));
                who.insert(0, first);
                jobs[i].people = who;
                continue;
            }
            let chosen = h.choose[at.min(h.choose.len() - 1)].index();
            if over_tasks[chosen] {
                let from = starts[i] + h.from.offset;
                let to = h.to.iter().map(|p| starts[p.activity.index()] + p.offset).max().unwrap_or(from);
                chained[chosen].push((from, to, h.amount, k));
                continue;
            }
            let task = &graph[petgraph::graph::NodeIndex::new(i)];
            let slow = task.slow.max(task.minutes);
            let end = h.to.iter().map(|p| p.offset).max().unwrap_or(0);
            let from_end = h.from.offset >= task.minutes && h.from.offset > 0;
            let mut choose: Vec<usize> = h.choose.iter().map(|r| r.index()).filter(|r| *r != chosen).collect();
            choose.insert(0, chosen);
            jobs[i].holds.push(Held {
                choose,
                amount: h.amount,
                from: (!from_end).then_some(h.from.offset),
                after: (end - slow).max(0),
                family: problem.families[k],
            });
        }
        for (r, mut all) in chained.into_iter().enumerate() {
            all.retain(|x| x.0 < x.1);
            all.sort_unstable();
            // Units of the thing, each with the hold that had it last.
            let mut free: Vec<(i32, Option<(Minute, usize)>)> = vec![(problem.resources[r].capacity, None)];
            for (from, to, amount, k) in all {
                let mut wanted = amount;
                free.sort_by_key(|f| f.1.map_or(Minute::MIN, |x| x.0));
                let mut rest = Vec::new();
                for (have, last) in free.drain(..) {
                    let take = if last.is_none_or(|l| l.0 <= from) { have.min(wanted) } else { 0 };
                    wanted -= take;
                    if have > take {
                        rest.push((have - take, last));
                    }
                    if let (true, Some((_, before))) = (take > 0, last) {
                        let waiter = problem.holds[k].from.activity.index();
                        for p in &problem.holds[before].to {
                            let (on, minutes) = (p.activity.index(), problem.activities[p.activity.index()].duration);
                            if on < n && on != waiter {
                                let from_start = p.offset < minutes;
                                let least = if from_start { p.offset } else { p.offset - minutes };
                                let least = least - problem.holds[k].from.offset;
                                jobs[waiter].waits.push(Wait { on, from_start, least, cure_of: None });
                            }
                        }
                    }
                }
                free = rest;
                free.push((amount, Some((to, k))));
            }
        }
        // A piece of work is not begun before what its later parts wait for.
        for i in 0..n {
            for (m, off) in jobs[i].members.clone() {
                let more: Vec<Wait> = jobs[m]
                    .waits
                    .iter()
                    .filter(|w| block[w.on] != i)
                    .map(|w| Wait { least: w.least - off, ..*w })
                    .collect();
                jobs[i].waits.extend(more);
            }
        }
        let mut home = Vec::new();
        for w in &problem.within {
            home.clone_from(&problem.calendars[w.calendar.index()].open);
            let (a, b) = (w.from.activity.index(), w.to.activity.index());
            if a < n && b < n {
                let h = block[a];
                let from = jobs[a].planned - jobs[h].planned + w.from.offset;
                let to = jobs[b].planned - jobs[h].planned + w.to.offset;
                jobs[h].watched.push((from, to));
            }
        }
        let find = |kind: Kind, j: usize| {
            graph.node_indices().find(|x| graph[*x].kind == kind && graph[*x].joints.contains(&j)).map(|x| x.index())
        };
        let cooks = laid
            .batch
            .cooks
            .iter()
            .map(|(s, chills)| {
                let t = &graph[*s];
                let longest = t.joints.iter().map(|j| simmer_of(kitchen, limits, *j)).max().unwrap_or(0);
                CookDay {
                    simmer: s.index(),
                    heat: t.minutes - longest,
                    joints: t.joints.clone(),
                    bakes: t.joints.iter().filter_map(|j| find(Kind::Bake, *j)).collect(),
                    chills: chills.iter().map(|c| c.index()).collect(),
                }
            })
            .collect();
        let chills = laid
            .batch
            .cooks
            .iter()
            .flat_map(|(s, chills)| {
                let over = graph[*s].slow - graph[*s].minutes;
                chills
                    .iter()
                    .map(move |c| (c.index(), graph[*c].minutes, (graph[*c].slow - over).max(graph[*c].minutes)))
            })
            .collect();
        let mut deliveries: Vec<Delivery> = Vec::new();
        for (j, joint) in kitchen.joints.iter().enumerate() {
            let at = joint.arrives.map_or(starts[laid.batch.submerge[j].index()], |a| laid.axis.of(a));
            match deliveries.iter_mut().find(|x| x.at == at) {
                Some(x) => x.joints.push(j),
                None => deliveries.push(Delivery { at, joints: vec![j] }),
            }
        }
        let loads: Vec<(usize, Vec<usize>)> = laid
            .arrangement
            .loads
            .iter()
            .map(|l| (laid.batch.submerge[l.joints[0]].index(), l.joints.clone()))
            .collect();
        for (l, turns) in laid.batch.turns.iter().enumerate() {
            turns.iter().for_each(|t| jobs[t.index()].load = Some(l));
        }
        for (l, (put, _)) in loads.iter().enumerate() {
            jobs[*put].load = Some(l);
        }
        let mut by_start: Vec<usize> = (0..n).collect();
        by_start.sort_by_key(|i| (jobs[*i].planned, *i));
        let mut order = vec![0; n];
        by_start.iter().enumerate().for_each(|(rank, i)| order[*i] = rank);
        let hours = |id: &str| (limits.value(id) * 60.0) as Minute;
        let named = |id: &str| {
            let l = limits.get(id);
            (limits.minutes(id), l.says.clone(), l.source.clone())
        };
        Self {
            limits: out_limits,
            things: problem
                .resources
                .iter()
                .map(|r| Thing { capacity: r.capacity, changeover: r.changeover.clone() })
                .collect(),
            work: (0..people)
                .map(|p| {
                    let c = problem.resources[p].calendar;
                    c.map_or_else(Vec::new, |c| problem.calendars[c.index()].open.clone())
                })
                .collect(),
            home,
            joints: kitchen.joints.iter().enumerate().map(|(j, _)| joint_model(kitchen, limits, laid, j)).collect(),
            stays: (0..kitchen.joints.len())
                .map(|j| (laid.batch.submerge[j].index(), laid.batch.rinse[j].index()))
                .collect(),
            cooks,
            deliveries,
            loads,
            chills,
            order,
            horizon: laid.axis.horizon,
            turn_late: [
                (hours("turn_very_late_hours"), hours("turn_very_late_extra_hours")),
                (hours("turn_late_hours"), hours("turn_late_extra_hours")),
            ],
            slip: limits.minutes("chance_cook_slip_minutes"),
            chill_limit: named(crate::process::arrangement::chill_limit(kitchen)),
            collect_limit: named("collect_to_brine_limit"),
            jobs,
            ids,
        }
    }

    /// Everything a task waits for, and what that waits for.
    pub fn before(&self, task: usize) -> Vec<usize> {
        let (mut out, mut at) = (Vec::new(), vec![task]);
        while let Some(i) = at.pop() {
            for w in &self.jobs[i].waits {
                if !out.contains(&w.on) {
                    out.push(w.on);
                    at.push(w.on);
                }
            }
        }
        out
    }

    /// The first task of the piece of work that a task belongs to.
    pub fn head_of(&self, task: usize) -> usize {
        (0..self.jobs.len()).find(|i| self.jobs[*i].members.iter().any(|m| m.0 == task)).unwrap_or(task)
    }
}

fn simmer_of(kitchen: &Kitchen, limits: &Limits, j: usize) -> Minute {
    // The pot's heat-up only matters to the physical sum, which starts from it.
    d::simmer(&kitchen.joints[j], &kitchen.cure, 60, limits).0
}

fn joint_model(kitchen: &Kitchen, limits: &Limits, laid: &Laid, j: usize) -> JointModel {
    let joint = &kitchen.joints[j];
    let cure = &kitchen.cure;
    JointModel {
        need: laid.batch.need[j],
        weighed: joint.weighed.is_some(),
        ready: laid.batch.ready[j].index(),
        ready_by: joint.ready_by.map(|m| laid.axis.of(m)),
        simmer: simmer_of(kitchen, limits, j),
        kg: joint.planned_weight().as_kg(),
        rule: (!by_salt(joint, cure)).then(|| quantities::rule(cure)),
        extra: Elapsed::minutes(joint.extra().as_minutes()).whole_minutes_up(),
        bone_in: joint.bone_in,
        diameter: quantities::size(joint).diameter.as_cm(),
        rule_simmer: cure.times == Times::Rule,
    }
}
