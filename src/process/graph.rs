//! Builds the dependency graph of a batch: every task of the job with its minimum and maximum lags, each with its reason.

use super::arrangement::{Arrangement, air_of, load_fits};
use super::durations as d;
use super::fit;
use super::task::{Holding, Kind, Link, Task, TaskGraph, Thing, Until, Watch, told, trade};
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
            tried => tried?,
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

impl Builder<'_> {
    /// One boil of brine for one or more loads; returns the cooling task.
    fn boil(&mut self, k: usize, loads: &[usize]) -> NodeIndex {
        let joints: Vec<usize> = loads.iter().flat_map(|l| self.arrangement.loads[*l].joints.clone()).collect();
        let tubs: Vec<&str> =
            loads.iter().map(|l| self.kitchen.kit.tubs[self.arrangement.loads[*l].tub].name.as_str()).collect();
        let with = tubs.join(", ");
        let suffix = (k + 1).to_string();
        let (minutes, hands) = d::brine_make();
        let mut make = self.task(format!("brine {suffix}"), Kind::BrineMake, &joints, minutes, hands);
        make.with.clone_from(&with);
        // The pot is free again when the brine has left it: at once with ice, after the night without.
        let pots: Vec<Thing> = (0..self.kitchen.kit.pots.len()).map(Thing::Pot).collect();
        let (cool_minutes, cool_slow) = d::brine_cool(self.kitchen.cure.brine_cooling);
        let in_pot = match self.kitchen.cure.brine_cooling {
            crate::kitchen::BrineCooling::Ice => 0,
            crate::kitchen::BrineCooling::Overnight => cool_slow,
        };
        if !pots.is_empty() {
            make.holds.push(Holding { things: pots, ..hold(Thing::Ring, 1, in_pot) });
        }
        make.holds.push(hold(Thing::Ring, 1, 0));
        let make = self.graph.add_node(make);
        self.graph[make].watches.push(Watch {
            after: 0,
            until: (make, minutes),
            says: "somebody is at home while the brine boils".to_owned(),
        });
        let mut cool = self.task(format!("cool {suffix}"), Kind::Cool, &joints, cool_minutes, 5);
        cool.slow = cool_slow;
        cool.with = with;
        let cool = self.graph.add_node(cool);
        self.link(make, cool, follows(), Some((15, trade("boiled brine is set to cool at once", Force::Quality))));
        cool
    }

    /// A load from putting in to the last lift, with its turns and each joint's rinse, dry, soak and rest.
    fn load(&mut self, l: usize, id: &str, cooled: NodeIndex, out: &mut Batch) {
        let load = self.arrangement.loads[l].clone();
        let minutes = d::submerge(load.joints.len());
        let mut put = self.task(format!("put in {id}"), Kind::Submerge, &load.joints, minutes, minutes);
        put.with = id.to_owned();
        for j in &load.joints {
            if let Some(a) = self.kitchen.joints[*j].arrives {
                let at = self.axis.of(a);
                if at >= put.release {
                    put.release = at;
                    put.release_reason = told(format!("{} arrives then", self.kitchen.joints[*j].name), Force::Means);
                }
                let (wait, _) = self.limit("collect_to_brine_limit");
                put.latest = Some(put.latest.map_or(at + wait, |x: Minute| x.min(at + wait)));
            } else if self.collect > put.release {
                put.release = self.collect;
                put.release_reason = told(format!("{} is collected then", self.kitchen.joints[*j].name), Force::Means);
            }
        }
        let put = self.graph.add_node(put);
        let (slack, cold) = {
            let cool = &self.graph[cooled];
            (cool.slow - cool.minutes, self.limits.get("brine_into_tub_celsius").clone())
        };
        let cold_enough = Reason { says: cold.says, force: Force::Safety, source: cold.source };
        let keeps = self.limit("brine_keeps_limit");
        let good = self.limit("brine_keeps_weak");
        self.graph.add_edge(cooled, put, Link::hard(Some((slack, cold_enough)), Some(keeps)).best_under(good));

        let mut turns: Vec<NodeIndex> = Vec::new();
        let hands = d::turn();
        for k in 1..=load.turns.clamp(1, 100) {
            let mut t = self.task(format!("turn {id} {k}"), Kind::Turn, &load.joints, hands, hands);
            t.with = id.to_owned();
            t.holds.push(hold(Thing::Sink, 1, 0));
            let t = self.graph.add_node(t);
            turns.push(t);
        }
        chain_turns(&mut self.graph, self.limits, put, &turns);
        let last = *turns.last().unwrap_or(&put);
        let slowest = load.joints.iter().copied().max_by_key(|j| out.need[*j]);
        let mut lifts = Vec::new();
        for j in load.joints.iter().copied() {
            let name = self.kitchen.joints[j].name.clone();
            let need = out.need[j];
            let minutes = d::rinse();
            let mut rinse = self.task(format!("lift {name}"), Kind::Rinse, &[j], minutes, minutes);
            rinse.with = id.to_owned();
            rinse.holds.push(hold(Thing::Sink, 1, 0));
            let rinse = self.graph.add_node(rinse);
            let says = format!("{name} needs {:.1} days in the brine", f64::from(need) / 1440.0);
            let longest = self.limit("brine_longest");
            let (good, good_says) = self.good_stay(j, need);
            self.graph.add_edge(
                put,
                rinse,
                Link::hard(Some((need, trade(says, Force::Safety))), Some(longest)).best_under((good, good_says)),
            );
            let (gap, why) = self.limit("last_turn_to_lift");
            let least = (slowest == Some(j)).then(follows);
            self.graph.add_edge(last, rinse, Link::hard(least, Some((gap, why))));
            lifts.push((rinse, 0));
            out.submerge[j] = put;
            out.rinse[j] = rinse;
            out.rest[j] = self.after_the_brine(j, rinse);
        }
        let tub = &self.kitchen.kit.tubs[load.tub];
        let mut holds = vec![
            hold(Thing::Sink, 1, 0),
            Holding { until: Until::Ends(lifts.clone()), ..hold(Thing::Tub(load.tub), 1, 0) },
        ];
        if let Some(space) = self.arrangement.place[load.tub] {
            let (w, dep) = fit::tub_floor(tub);
            for (thing, amount) in [
                (Thing::Floor(space), (w * dep).ceil() as i32),
                (Thing::Litres(space), (fit::tub_litres(tub) * 10.0).ceil() as i32),
                (Thing::Air(air_of(self.kitchen, space)), 1),
            ] {
                holds.push(Holding { until: Until::Ends(lifts.clone()), ..hold(thing, amount, 0) });
            }
        }
        self.graph[put].holds = holds;
        out.turns.push(turns);
    }

    /// Longest good stay of a joint in the brine.
    fn good_stay(&self, j: usize, need: Minute) -> (Minute, Reason) {
        let joint = &self.kitchen.joints[j];
        match &joint.at_once {
            Some(why) => {
                let good = d::cure_at_once_good(need, &self.kitchen.cure, self.limits);
                (good, told(format!("{} is lifted as soon as it is cured: {why}", joint.name), Force::Quality))
            }
            None => {
                let good = d::cure_longest_good(need, &self.kitchen.cure, self.limits);
                let days = f64::from(good) / 1440.0;
                (good, trade(format!("{} is best lifted within {days:.0} days", joint.name), Force::Quality))
            }
        }
    }

    /// Rinse, soak if the brine was strong, dry, rest; returns the rest.
    fn after_the_brine(&mut self, j: usize, rinse: NodeIndex) -> NodeIndex {
        let name = self.kitchen.joints[j].name.clone();
        let at_once = || Some((30, trade("a lifted joint is not left standing about", Force::Quality)));
        let mut before = rinse;
        let soak = d::soak(&self.kitchen.cure);
        if soak > 0 {
            let t = self.task(format!("soak {name}"), Kind::Soak, &[j], soak, 5);
            let t = self.graph.add_node(t);
            self.link(before, t, follows(), at_once());
            before = t;
        }
        let dry = self.task(format!("dry {name}"), Kind::Dry, &[j], d::dry(), d::dry());
        let dry = self.graph.add_node(dry);
        let most = if soak > 0 {
            let (limit, why) = self.limit("soak_limit");
            Some(((limit - soak).max(0), why))
        } else {
            at_once()
        };
        self.link(before, dry, follows(), most);
        let (least, _) = self.limit("rest_min");
        let rest = self.task(format!("rest {name}"), Kind::Rest, &[j], least, 0);
        let rest = self.graph.add_node(rest);
        self.link(dry, rest, follows(), Some((0, trade("the rest begins when the joint is dry", Force::Means))));
        rest
    }

    /// The limits from the rest to whatever the joint goes to next.
    pub(super) fn rested(&mut self, rest: NodeIndex, next: NodeIndex) {
        let minutes = self.graph[rest].minutes;
        let (limit, why) = self.limit("rest_limit");
        let (mut good, mut good_why) = self.limit("rest_good");
        let hurried = self.graph[rest].joints.iter().map(|j| &self.kitchen.joints[*j]).find_map(|j| j.at_once.clone());
        if let Some(why) = hurried {
            good = good.min(minutes + 1440);
            good_why = told(format!("it is cooked or packed at once: {why}"), Force::Quality);
        }
        let least = self.limit("rest_min").1;
        self.graph.add_edge(
            rest,
            next,
            Link::hard(Some((0, least)), Some((limit - minutes, why))).best_under((good - minutes, good_why)),
        );
    }
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
