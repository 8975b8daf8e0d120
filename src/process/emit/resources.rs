//! What there is: people by their hours, and the kit by how much of each thing can be held at once.

use super::super::hours::at_work;
use super::super::task::{Thing, told};
use super::super::{cold, fit};
use super::Emitter;
use crate::schedule::{Force, Resource, ResourceId};

impl Emitter<'_> {
    pub(super) fn people(&mut self) {
        for p in &self.kitchen.people {
            let cal = self.calendar(&p.name, at_work(p, self.axis));
            let reason = self.reason(told(format!("{} does one thing at a time, when free to", p.name), Force::Means));
            self.people.push(ResourceId(self.problem.resources.len() as u32));
            self.problem.resources.push(Resource {
                label: p.name.clone(),
                capacity: 1,
                calendar: Some(cal),
                changeover: Vec::new(),
                reason,
            });
        }
    }

    pub(super) fn thing(&mut self, t: Thing) -> ResourceId {
        if let Some(id) = self.things.get(&t) {
            return *id;
        }
        let kit = &self.kitchen.kit;
        let clean = self.limits.minutes("raw_to_cooked_clean");
        let mut changeover = Vec::new();
        let (label, capacity) = match t {
            Thing::Tub(i) => (kit.tubs[i].name.clone(), 1),
            Thing::Pot(i) => (kit.pots[i].name.clone(), 1),
            Thing::Sink => ("sink".to_owned(), kit.sinks.min(1000) as i32),
            Thing::Ring => ("rings".to_owned(), kit.hob.rings.min(1000) as i32),
            Thing::BigRing => ("big rings".to_owned(), kit.hob.big_rings.min(1000) as i32),
            Thing::Oven => ("oven".to_owned(), kit.oven.as_ref().map_or(0, |o| o.hams.min(1000)) as i32),
            Thing::Chilling(i) => (kit.chilling[i].name.clone(), kit.chilling[i].hams.min(1000) as i32),
            Thing::ChillingLoad(i) => {
                (format!("{} by weight", kit.chilling[i].name), units(kit.chilling[i].load.map_or(0.0, |l| l.as_g())))
            }
            Thing::Bench => {
                changeover = vec![(1, 2, clean), (2, 1, clean)];
                ("board and packer".to_owned(), 1)
            }
            Thing::CookedBench => ("board and packer for cooked".to_owned(), 1),
            Thing::Freezer => {
                ("freezer, in 24 h".to_owned(), units(kit.freezer.as_ref().map_or(0.0, |f| f.per_day.as_g())))
            }
            Thing::Floor(i) => {
                (format!("floor of {}", kit.cold[i].name), units(kit.cold[i].width.as_cm() * kit.cold[i].depth.as_cm()))
            }
            Thing::Litres(i) => {
                (format!("litres of {}", kit.cold[i].name), units(fit::space_litres(&kit.cold[i]) * 10.0))
            }
            Thing::Air(i) => {
                (format!("air of {}", kit.cold[i].fridge.as_ref().unwrap_or(&kit.cold[i].name)), cold::HOT)
            }
        };
        let says = match t {
            Thing::Tub(_) => format!("{label} holds one load at a time"),
            Thing::Air(_) => "hot hams and curing tubs do not share a fridge".to_owned(),
            Thing::Freezer => format!("the freezer takes {:.1} kg in 24 h", f64::from(capacity) / 1000.0),
            Thing::Bench => format!("one board and packer, {clean} min to clean between raw and cooked"),
            _ => format!("{label}: room for so much at once"),
        };
        let force = if matches!(t, Thing::Air(_)) { Force::Safety } else { Force::Means };
        let reason = self.reason(told(says, force));
        let id = ResourceId(self.problem.resources.len() as u32);
        self.problem.resources.push(Resource { label, capacity, calendar: None, changeover, reason });
        self.things.insert(t, id);
        id
    }
}

/// An amount of a resource in whole units, rounded down: of a load the gram, of a floor the cm², of a space the tenth of a litre.
fn units(x: f64) -> i32 {
    x.clamp(0.0, 1e9) as i32
}
