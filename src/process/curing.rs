//! The way of all joints to their rest: brine made and cooled, put in, turned, lifted, soaked, dried.

use super::arrangement::air_of;
use super::durations as d;
use super::fit;
use super::graph::{Batch, Builder, chain_turns, follows, hold};
use super::task::{Holding, Kind, Link, Thing, Until, Watch, told, trade};
use crate::schedule::{Force, Minute, Reason};
use petgraph::graph::NodeIndex;

impl Builder<'_> {
    /// One boil of brine for one or more loads; returns the cooling task.
    pub fn boil(&mut self, k: usize, loads: &[usize]) -> NodeIndex {
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
    pub fn load(&mut self, l: usize, id: &str, cooled: NodeIndex, out: &mut Batch) {
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
    pub fn rested(&mut self, rest: NodeIndex, next: NodeIndex) {
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
