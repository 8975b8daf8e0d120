//! From a plan that is laid out on its kitchen to the right-shift model of it.

use super::{CookDay, Delivery, Held, Job, JointModel, Limit, Model, Thing, Wait};
use crate::kitchen::stay::by_salt;
use crate::kitchen::{Kitchen, Limits, Times, quantities};
use crate::plan::judge::Laid;
use crate::process::arrangement::chill_limit;
use crate::process::durations as d;
use crate::process::emit::Taken;
use crate::process::{Kind, TaskGraph};
use crate::schedule::{Interval, Minute, Problem};
use petgraph::graph::NodeIndex;
use petgraph::visit::EdgeRef;

/// Links whose longest wait is no more than this are one piece of work: it is not begun unless it can be finished.
const ONE_GO: Minute = 120;

/// A hold of a thing in the plan: from when to when, how much of it, and which hold of the problem it is.
type Stretch = (Minute, Minute, i32, usize);

impl Model {
    /// The model of a plan; `now` is the minute up to which things have happened, if anything has.
    pub fn new(kitchen: &Kitchen, limits: &Limits, laid: &Laid, now: Option<Minute>) -> Self {
        let mut laying = Laying { kitchen, limits, laid, jobs: jobs(laid, now) };
        let (broken_by, heads) = laying.waits_and_limits();
        laying.pieces_of_work(&heads);
        let first_of = laying.first_of();
        let stretches = laying.hands_and_holds();
        for (resource, stretches) in stretches.into_iter().enumerate() {
            laying.chain(resource, stretches);
        }
        laying.waits_of_later_parts(&first_of);
        let home = laying.watches(&first_of);
        let loads = laying.loads();
        laying.whole(broken_by, home, loads)
    }
}

/// A model in the making.
struct Laying<'a> {
    kitchen: &'a Kitchen,
    limits: &'a Limits,
    laid: &'a Laid,
    jobs: Vec<Job>,
}

/// Every task with its planned start and lengths, and nothing yet that it waits for or holds.
fn jobs(laid: &Laid, now: Option<Minute>) -> Vec<Job> {
    let graph = &laid.batch.graph;
    let job = |node: NodeIndex| {
        let t = &graph[node];
        let activity = &laid.emitted.problem.activities[node.index()];
        Job {
            planned: laid.solution.starts[node.index()],
            minutes: activity.duration,
            hands: t.hands,
            people: Vec::new(),
            holds: Vec::new(),
            waits: Vec::new(),
            kind: t.kind,
            members: Vec::new(),
            watched: Vec::new(),
            load: None,
            happened: now.zip(activity.pinned).map(|(now, at)| (at, at + activity.duration <= now)),
        }
    };
    graph.node_indices().map(job).collect()
}

impl<'a> Laying<'a> {
    fn graph(&self) -> &'a TaskGraph {
        &self.laid.batch.graph
    }

    fn problem(&self) -> &'a Problem {
        &self.laid.emitted.problem
    }

    /// What each task waits for by the graph's links. Gives the limits to look at when all is done, and by task one task of the
    /// same piece of work, the same for all of them.
    fn waits_and_limits(&mut self) -> (Vec<Limit>, Vec<usize>) {
        let graph = self.graph();
        let firm = self.limits.minutes("firm_min");
        let mut limits = Vec::new();
        let mut heads: Vec<usize> = (0..self.jobs.len()).collect();
        for e in graph.edge_references() {
            let (a, b) = (e.source().index(), e.target().index());
            let (from, to) = (&graph[e.source()], &graph[e.target()]);
            if let Some((least, _)) = &e.weight().least {
                let cure_of = (from.kind == Kind::Submerge && to.kind == Kind::Rinse).then(|| to.joints[0]);
                // Lags out of a chill are counted to its slow end in the plan; here the chill takes what it takes.
                let least = match (from.kind, to.kind) {
                    (Kind::Chill, Kind::Slice) => firm,
                    (Kind::Chill, _) => 0,
                    _ => *least,
                };
                self.jobs[b].waits.push(Wait { on: a, from_start: false, least, cure_of });
            }
            if let Some((most, why)) = &e.weight().most {
                // A lift that comes later is a turn more, not a limit broken.
                if to.kind != Kind::Rinse || from.kind != Kind::Turn {
                    limits.push(Limit {
                        from: a,
                        to: b,
                        most: *most,
                        says: why.says.clone(),
                        force: why.force.word(),
                        source: why.source.clone(),
                    });
                }
                if *most <= ONE_GO && a != b {
                    let (h, old) = (heads[a].min(heads[b]), heads[a].max(heads[b]));
                    heads.iter_mut().filter(|x| **x == old).for_each(|x| *x = h);
                }
            }
        }
        (limits, heads)
    }

    /// Gives each piece of work to the one of its tasks that starts first in the plan.
    fn pieces_of_work(&mut self, heads: &[usize]) {
        let jobs = &mut self.jobs;
        for h in 0..jobs.len() {
            let inside: Vec<usize> = (0..jobs.len()).filter(|i| heads[*i] == h).collect();
            let Some(first) = inside.iter().copied().min_by_key(|i| (jobs[*i].planned, *i)) else { continue };
            jobs[first].members =
                inside.iter().filter(|i| **i != first).map(|i| (*i, jobs[*i].planned - jobs[first].planned)).collect();
        }
    }

    /// By task: the first of its piece of work.
    fn first_of(&self) -> Vec<usize> {
        let mut of: Vec<usize> = (0..self.jobs.len()).collect();
        for (i, j) in self.jobs.iter().enumerate() {
            j.members.iter().for_each(|(m, _)| of[*m] = i);
        }
        of
    }

    /// Who does each task and what it holds while it runs. Gives, by resource, the stretches in which things are held over other
    /// tasks.
    fn hands_and_holds(&mut self) -> Vec<Vec<Stretch>> {
        let (graph, problem, starts) = (self.graph(), self.problem(), &self.laid.solution.starts);
        let over_tasks = held_over_tasks(problem);
        let mut stretches: Vec<Vec<Stretch>> = vec![Vec::new(); problem.resources.len()];
        for (k, h) in problem.holds.iter().enumerate() {
            let i = h.from.activity.index();
            if i >= self.jobs.len() || h.amount == 0 {
                continue;
            }
            let at = self.laid.solution.chosen[k] as usize;
            if matches!(self.laid.emitted.taken[k].first(), Some(Taken::Person(_))) {
                let mut who: Vec<usize> = h.choose.iter().map(|r| r.index()).collect();
                let first = who.remove(at.min(who.len() - 1));
                who.insert(0, first);
                self.jobs[i].people = who;
                continue;
            }
            let chosen = h.choose[at.min(h.choose.len() - 1)].index();
            if over_tasks[chosen] {
                let from = starts[i] + h.from.offset;
                let to = h.to.iter().map(|p| starts[p.activity.index()] + p.offset).max().unwrap_or(from);
                stretches[chosen].push((from, to, h.amount, k));
                continue;
            }
            let task = &graph[NodeIndex::new(i)];
            let slow = task.slow.max(task.minutes);
            let end = h.to.iter().map(|p| p.offset).max().unwrap_or(0);
            let from_end = h.from.offset >= task.minutes && h.from.offset > 0;
            let mut choose: Vec<usize> = h.choose.iter().map(|r| r.index()).filter(|r| *r != chosen).collect();
            choose.insert(0, chosen);
            self.jobs[i].holds.push(Held {
                choose,
                amount: h.amount,
                from: (!from_end).then_some(h.from.offset),
                after: (end - slow).max(0),
                family: problem.families[k],
            });
        }
        stretches
    }

    /// Chains the tasks that hold a thing over others, in the plan's own order: each unit of it goes from one that is done with it to
    /// the next.
    fn chain(&mut self, resource: usize, mut stretches: Vec<Stretch>) {
        let problem = self.problem();
        stretches.retain(|x| x.0 < x.1);
        stretches.sort_unstable();
        // Units of the thing, each with the hold that had it last.
        let mut free: Vec<(i32, Option<(Minute, usize)>)> = vec![(problem.resources[resource].capacity, None)];
        for (from, to, amount, k) in stretches {
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
                    self.waits_for_hold(k, before);
                }
            }
            free = rest;
            free.push((amount, Some((to, k))));
        }
    }

    /// The task of one hold waits until another hold has let go.
    fn waits_for_hold(&mut self, hold: usize, before: usize) {
        let problem = self.problem();
        let from = problem.holds[hold].from;
        let waiter = from.activity.index();
        for p in &problem.holds[before].to {
            let (on, minutes) = (p.activity.index(), problem.activities[p.activity.index()].duration);
            if on < self.jobs.len() && on != waiter {
                let from_start = p.offset < minutes;
                let least = if from_start { p.offset } else { p.offset - minutes };
                let least = least - from.offset;
                self.jobs[waiter].waits.push(Wait { on, from_start, least, cure_of: None });
            }
        }
    }

    /// A piece of work is not begun before what its later parts wait for.
    fn waits_of_later_parts(&mut self, first_of: &[usize]) {
        let jobs = &mut self.jobs;
        for i in 0..jobs.len() {
            for (m, off) in jobs[i].members.clone() {
                let more: Vec<Wait> = jobs[m]
                    .waits
                    .iter()
                    .filter(|w| first_of[w.on] != i)
                    .map(|w| Wait { least: w.least - off, ..*w })
                    .collect();
                jobs[i].waits.extend(more);
            }
        }
    }

    /// The stretches in which somebody must be at home. Gives when somebody is.
    fn watches(&mut self, first_of: &[usize]) -> Vec<Interval> {
        let problem = self.problem();
        let n = self.jobs.len();
        let mut home = Vec::new();
        for w in &problem.within {
            home.clone_from(&problem.calendars[w.calendar.index()].open);
            let (a, b) = (w.from.activity.index(), w.to.activity.index());
            if a < n && b < n {
                let h = first_of[a];
                let from = self.jobs[a].planned - self.jobs[h].planned + w.from.offset;
                let to = self.jobs[b].planned - self.jobs[h].planned + w.to.offset;
                self.jobs[h].watched.push((from, to));
            }
        }
        home
    }

    /// By load its put-in and its joints; the put-ins and turns are told which load they are of.
    fn loads(&mut self) -> Vec<(usize, Vec<usize>)> {
        let batch = &self.laid.batch;
        let loads = self.laid.arrangement.loads.iter();
        let loads: Vec<(usize, Vec<usize>)> =
            loads.map(|l| (batch.submerge[l.joints[0]].index(), l.joints.clone())).collect();
        for (l, turns) in batch.turns.iter().enumerate() {
            turns.iter().for_each(|t| self.jobs[t.index()].load = Some(l));
        }
        for (l, (put, _)) in loads.iter().enumerate() {
            self.jobs[*put].load = Some(l);
        }
        loads
    }

    fn cooks(&self) -> Vec<CookDay> {
        let graph = self.graph();
        let bake = |j: &usize| {
            let is_it = |x: &NodeIndex| graph[*x].kind == Kind::Bake && graph[*x].joints.contains(j);
            graph.node_indices().find(is_it).map(|x| x.index())
        };
        let cook = |(simmer, chills): &(NodeIndex, Vec<NodeIndex>)| {
            let t = &graph[*simmer];
            let longest = t.joints.iter().map(|j| simmer_of(self.kitchen, self.limits, *j)).max().unwrap_or(0);
            CookDay {
                simmer: simmer.index(),
                heat: t.minutes - longest,
                joints: t.joints.clone(),
                bakes: t.joints.iter().filter_map(bake).collect(),
                chills: chills.iter().map(|c| c.index()).collect(),
            }
        };
        self.laid.batch.cooks.iter().map(cook).collect()
    }

    /// By chill task: planned and slow minutes of its own, without what the simmer may run over.
    fn chills(&self) -> Vec<(usize, Minute, Minute)> {
        let graph = self.graph();
        let mut out = Vec::new();
        for (simmer, chills) in &self.laid.batch.cooks {
            let over = graph[*simmer].slow - graph[*simmer].minutes;
            for c in chills {
                out.push((c.index(), graph[*c].minutes, (graph[*c].slow - over).max(graph[*c].minutes)));
            }
        }
        out
    }

    fn deliveries(&self) -> Vec<Delivery> {
        let mut out: Vec<Delivery> = Vec::new();
        for (j, joint) in self.kitchen.joints.iter().enumerate() {
            let put_in = self.jobs[self.laid.batch.submerge[j].index()].planned;
            let at = joint.arrives.map_or(put_in, |a| self.laid.axis.of(a));
            match out.iter_mut().find(|x| x.at == at) {
                Some(x) => x.joints.push(j),
                None => out.push(Delivery { at, joints: vec![j] }),
            }
        }
        out
    }

    /// By task: its place when tasks are taken in the order of the plan.
    fn order(&self) -> Vec<usize> {
        let mut by_start: Vec<usize> = (0..self.jobs.len()).collect();
        by_start.sort_by_key(|i| (self.jobs[*i].planned, *i));
        let mut order = vec![0; self.jobs.len()];
        by_start.iter().enumerate().for_each(|(rank, i)| order[*i] = rank);
        order
    }

    fn whole(self, broken_by: Vec<Limit>, home: Vec<Interval>, loads: Vec<(usize, Vec<usize>)>) -> Model {
        let Self { kitchen, limits, laid, .. } = self;
        let problem = self.problem();
        let hours = |id: &str| (limits.value(id) * 60.0) as Minute;
        let named = |id: &str| {
            let l = limits.get(id);
            (limits.minutes(id), l.says.clone(), l.source.clone())
        };
        let open = |person: usize| {
            let calendar = problem.resources[person].calendar;
            calendar.map_or_else(Vec::new, |c| problem.calendars[c.index()].open.clone())
        };
        let joints = 0..kitchen.joints.len();
        Model {
            limits: broken_by,
            things: problem
                .resources
                .iter()
                .map(|r| Thing { capacity: r.capacity, changeover: r.changeover.clone() })
                .collect(),
            work: (0..kitchen.people.len()).map(open).collect(),
            home,
            stays: joints.clone().map(|j| (laid.batch.submerge[j].index(), laid.batch.rinse[j].index())).collect(),
            joints: joints.map(|j| joint_model(kitchen, limits, laid, j)).collect(),
            cooks: self.cooks(),
            deliveries: self.deliveries(),
            loads,
            chills: self.chills(),
            order: self.order(),
            horizon: laid.axis.horizon,
            turn_late: [
                (hours("turn_very_late_hours"), hours("turn_very_late_extra_hours")),
                (hours("turn_late_hours"), hours("turn_late_extra_hours")),
            ],
            slip: limits.minutes("chance_cook_slip_minutes"),
            chill_limit: named(chill_limit(kitchen)),
            collect_limit: named("collect_to_brine_limit"),
            ids: self.graph().node_weights().map(|t| t.id.clone()).collect(),
            jobs: self.jobs,
        }
    }
}

/// By resource: whether it is held over other tasks anywhere; it is then chained everywhere.
fn held_over_tasks(problem: &Problem) -> Vec<bool> {
    let mut over = vec![false; problem.resources.len()];
    for h in &problem.holds {
        if h.to.iter().any(|t| t.activity != h.from.activity) {
            h.choose.iter().for_each(|r| over[r.index()] = true);
        }
    }
    over
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
        // All that is asked for over the days that go by the weight: what the kitchen gives it, and what was ruled.
        extra: laid.batch.need[j] - d::cure(joint, cure) + joint.extra().whole_minutes_up(),
        bone_in: joint.bone_in,
        diameter: quantities::size(joint).diameter.as_cm(),
        rule_simmer: cure.times == Times::Rule,
    }
}
