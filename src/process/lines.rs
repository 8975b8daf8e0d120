//! The two lines a lifted joint goes down: gammon (firm, cut, pack, freeze) and ham (simmer, score and glaze, bake, chill, slice, pack).

use super::arrangement::{chill_by, chill_limit, chilling_air};
use super::durations as d;
use super::graph::{Batch, Builder, Refused, follows, hold};
use super::task::{Holding, Kind, Link, Thing, Watch, trade};
use super::{cold, fit};
use crate::kitchen::Outcome;
use crate::schedule::{Force, Minute};
use petgraph::graph::NodeIndex;

impl Builder<'_> {
    /// Gammon: firm and cut steaks, or tie a joint; then pack and freeze. Returns the task that makes it ready.
    pub fn gammon(&mut self, j: usize, rest: NodeIndex) -> NodeIndex {
        let joint = &self.kitchen.joints[j];
        let name = joint.name.clone();
        let mut before = rest;
        if joint.outcome == Outcome::GammonSteaks {
            let firm = self.task(format!("firm {name}"), Kind::Firm, &[j], d::firm(), 5);
            let firm = self.graph.add_node(firm);
            self.rested(rest, firm);
            let minutes = d::slice(joint, &self.kitchen.kit);
            let mut cut = self.task(format!("slice {name}"), Kind::Slice, &[j], minutes, minutes);
            cut.holds.push(Holding { family: 1, ..hold(Thing::Bench, 1, 0) });
            let cut = self.graph.add_node(cut);
            self.link(
                firm,
                cut,
                follows(),
                Some((60, trade("firmed meat is cut before it softens or freezes through", Force::Quality))),
            );
            before = cut;
        }
        self.pack_and_freeze(j, before, rest)
    }

    /// Vacuum-pack and freeze; returns the task that makes the joint ready.
    pub(super) fn pack_and_freeze(&mut self, j: usize, before: NodeIndex, rest: NodeIndex) -> NodeIndex {
        let joint = &self.kitchen.joints[j];
        let (name, ham, frozen) = (joint.name.clone(), joint.outcome.is_ham(), joint.is_frozen());
        let minutes = d::pack(d::packs(joint, &self.kitchen.cure), &self.kitchen.kit.packer);
        let grams = (d::packed_kg(joint) * 1000.0).ceil() as i32;
        let mut pack = self.task(format!("pack {name}"), Kind::VacuumPack, &[j], minutes, minutes);
        let (bench, family) = if ham { (self.cooked_bench(), 2) } else { (Thing::Bench, 1) };
        pack.holds.push(Holding { family, ..hold(bench, 1, 0) });
        let pack = self.graph.add_node(pack);
        let kind = self.graph[before].kind;
        match kind {
            Kind::Slice => {
                self.link(
                    before,
                    pack,
                    follows(),
                    Some((60, trade("cut meat is packed within the hour", Force::Quality))),
                );
            }
            Kind::Rest => self.rested(rest, pack),
            // A ham packed whole: the caller has tied it to its chill.
            _ => {}
        }
        if !frozen {
            return pack;
        }
        let mut freeze = self.task(format!("freeze {name}"), Kind::Freeze, &[j], d::freeze(), d::freeze());
        if self.kitchen.kit.freezer.is_some() {
            let (through, _) = self.limit("frozen_through");
            freeze.holds.push(hold(Thing::Freezer, grams, through - d::freeze()));
        }
        let freeze = self.graph.add_node(freeze);
        let within = self.limit("pack_to_freeze");
        self.link(pack, freeze, follows(), Some(within));
        if ham { pack } else { freeze }
    }

    /// A pot of hams: simmer, score and glaze, bake, chill, then each ham sliced or packed whole.
    pub fn cook(&mut self, c: usize, out: &mut Batch) -> Result<(), Refused> {
        let cook = self.arrangement.cooks[c].clone();
        let on = self.known.on.get(c) == Some(&true);
        if !on {
            super::arrangement::cook_fits(self.kitchen, &cook, self.limits)?;
        }
        let pot = &self.kitchen.kit.pots[cook.pot];
        let id = self.names(&cook.joints);
        let heat = d::heat_up(pot.heat_up, cook.joints.len());
        let times =
            cook.joints.iter().map(|j| d::simmer(&self.kitchen.joints[*j], &self.kitchen.cure, heat, self.limits));
        let (planned, slow) = times.max().unwrap_or((0, 0));
        let over = slow - planned;
        let (stand, stand_why) = self.limit("simmer_to_bake_min");
        let mut simmer = self.task(format!("simmer {id}"), Kind::Simmer, &cook.joints, heat + planned, 10);
        simmer.slow = heat + slow;
        simmer.with.clone_from(&pot.name);
        simmer.holds.push(hold(Thing::Pot(cook.pot), 1, over + stand));
        simmer.holds.push(hold(Thing::Ring, 1, over));
        if fit::pot_is_big(pot) {
            simmer.holds.push(hold(Thing::BigRing, 1, over));
        }
        let simmer = self.graph.add_node(simmer);
        for j in &cook.joints {
            self.rested(out.rest[*j], simmer);
        }
        let oven = self.kitchen.kit.oven.clone().unwrap_or_default();
        let mut chills = Vec::new();
        for (k, some) in cook.joints.chunks(oven.hams.max(1) as usize).enumerate() {
            let names = self.names(some);
            let minutes = d::score_and_glaze(some.len());
            let mut glaze = self.task(format!("glaze {names}"), Kind::ScoreAndGlaze, some, minutes, minutes);
            glaze.holds.push(Holding { family: 2, ..hold(self.cooked_bench(), 1, 0) });
            let glaze = self.graph.add_node(glaze);
            let hot = self.limit("simmer_to_bake_limit");
            self.link(simmer, glaze, (stand, stand_why.clone()), Some(hot.clone()));
            let mut bake = self.task(format!("bake {names}"), Kind::Bake, some, d::bake(some.len()), 5);
            bake.slow = bake.minutes + over;
            bake.with = "oven".to_owned();
            bake.holds.push(hold(Thing::Oven, some.len() as i32, over));
            let bake = self.graph.add_node(bake);
            self.link(glaze, bake, follows(), Some((15, trade("a glazed ham goes straight in", Force::Quality))));
            self.graph.add_edge(simmer, bake, Link::hard(None, Some(hot)));
            self.graph[simmer].watches.push(Watch {
                after: 0,
                until: (bake, d::bake(some.len()) + over),
                says: self.limits.get("pot_alone").says.clone() + ", also if the simmer runs over",
            });
            let (chill_planned, chill_slow) = match chill_by(self.kitchen, cook.chilling, some, self.limits) {
                // Hams that are hot have to be chilled, whatever the table says of them: up to the limit, and probed.
                Err(_) if on => {
                    let limit = self.limits.minutes(chill_limit(self.kitchen));
                    (limit, limit)
                }
                tried => tried?,
            };
            let means = &self.kitchen.kit.chilling[cook.chilling];
            let mut chill = self.task(format!("chill {names}"), Kind::Chill, some, chill_planned, 5);
            chill.slow = chill_slow + over;
            chill.with.clone_from(&means.name);
            let rest_of = chill_slow - chill_planned + over;
            chill.holds.push(hold(Thing::Chilling(cook.chilling), some.len() as i32, rest_of));
            if means.load.is_some() {
                let grams: f64 = some.iter().map(|j| self.kitchen.joints[*j].planned_weight().as_g()).sum();
                chill.holds.push(hold(Thing::ChillingLoad(cook.chilling), grams.ceil() as i32, rest_of));
            }
            if let Some(air) = chilling_air(self.kitchen, cook.chilling) {
                chill.holds.push(hold(Thing::Air(air), cold::HOT, rest_of));
            }
            let chill = self.graph.add_node(chill);
            for after in [0, over] {
                self.graph[chill].watches.push(Watch {
                    after,
                    until: (chill, after + 5),
                    says: "somebody is there to put the hams in the chill, also if the simmer runs over".to_owned(),
                });
            }
            let steam = self.limit("bake_to_chill_min");
            let within = self.limit("bake_to_chill_limit");
            self.link(bake, chill, steam, Some(within));
            chills.push(chill);
            for j in some.iter().copied() {
                out.ready[j] = self.after_the_chill(j, chill, chill_planned, chill_slow + over);
            }
            debug_assert!(k < 2);
        }
        out.cooks.push((simmer, chills));
        out.cook_ids.push(id);
        Ok(())
    }

    /// Firm and slice, or pack whole; returns the task that makes the ham ready.
    fn after_the_chill(&mut self, j: usize, chill: NodeIndex, planned: Minute, slow: Minute) -> NodeIndex {
        let joint = self.kitchen.joints[j].clone();
        let (_, cold) = self.limit(chill_limit(self.kitchen));
        let within = self.limit("slice_within");
        // Link limits count from the planned end of the chill; through-cold is judged at the slow end.
        let through = slow - planned;
        if joint.outcome == Outcome::HamWhole {
            let pack = self.pack_and_freeze(j, chill, chill);
            let pack_task = self.pack_of(j);
            self.link(chill, pack_task, (through, cold), Some(within));
            return pack;
        }
        let minutes = d::slice(&joint, &self.kitchen.kit);
        let mut slice = self.task(format!("slice {}", joint.name), Kind::Slice, &[j], minutes, minutes);
        slice.holds.push(Holding { family: 2, ..hold(self.cooked_bench(), 1, 0) });
        let slice = self.graph.add_node(slice);
        let (firm, firm_why) = self.limit("firm_min");
        let least = if firm >= through { (firm, firm_why) } else { (through, cold) };
        self.link(chill, slice, least, Some(within));
        self.pack_and_freeze(j, slice, slice)
    }

    /// Where cooked meat is worked on: a bench of its own in a kitchen with a machine each, else the one there is.
    fn cooked_bench(&self) -> Thing {
        if self.kitchen.kit.packer.separate_for_cooked { Thing::CookedBench } else { Thing::Bench }
    }

    fn pack_of(&self, j: usize) -> NodeIndex {
        self.graph
            .node_indices()
            .rfind(|n| self.graph[*n].kind == Kind::VacuumPack && self.graph[*n].joints == [j])
            .expect("the pack task was just added")
    }
}
