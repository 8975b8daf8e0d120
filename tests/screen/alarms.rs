//! What heads the pages to work by: meat that was read outside a limit, and a plan that would lift too soon. The limits (70 °C
//! at the core, 5 °C in the brine, six days a kilo) are the house's: common practice, no source.

use std::sync::Arc;

use turnday::app::record::{Probed, Read, Trouble, Weighed};
use turnday::app::views::{Asked, Facts, Name, alarms, sound, view};
use turnday::app::{Record, Tone, sentence};
use turnday::kitchen::Kitchen;
use turnday::plan::{Kind, Plan};
use turnday::units::Mass;

use crate::fixture::{self, utc};
use crate::frames;
use crate::views::record;

struct Case {
    kitchen: Kitchen,
    plan: Plan,
    record: Record,
    now: &'static str,
}

impl Case {
    /// The pair, written down as it went, at a moment.
    fn at(now: &'static str) -> Self {
        let kitchen = (*fixture::pair_kitchen()).clone();
        let plan = fixture::pair_plan(&kitchen);
        let record = record(&kitchen, &plan);
        Self { kitchen, plan, record, now }
    }

    fn read(&mut self, of: Probed, celsius: f64, at: &str) {
        let when = utc(self.kitchen.zone, at);
        self.record.readings.push(Read { of, celsius, when, by: String::new() });
    }

    /// The put-in on record by the name the planner gives it; the pair's own plan has another.
    fn put_in(&mut self) {
        self.record.finish("put in box", utc(self.kitchen.zone, "2026-12-04 19:10"), "Rowan");
    }

    /// Trouble on record, of which the ruling found a limit missed.
    fn trouble(&mut self, kind: &str, joints: &[&str], celsius: Option<f64>, at: &str) {
        let (when, joints) = (utc(self.kitchen.zone, at), joints.iter().map(|j| (*j).to_owned()).collect());
        let kind = kind.to_owned();
        self.record.troubles.push(Trouble { kind, joints, celsius, deviates: true, when, ..Trouble::default() });
    }

    fn facts(&self) -> Facts<'_> {
        let now = utc(self.kitchen.zone, self.now);
        Facts { kitchen: &self.kitchen, plan: &self.plan, record: Some(&self.record), now, chart: None }
    }

    fn told(&self) -> Vec<String> {
        alarms(&self.facts()).into_iter().map(|(_, says)| says).collect()
    }

    /// What a page says first, and in what tone.
    fn first(&self, name: Name) -> (String, Tone) {
        let facts = self.facts();
        let mut page = view(name, &facts, &Asked::default()).unwrap().page(120);
        sound(&mut page, name, &facts, &Asked::default());
        (page.sentence.text, page.sentence.tone)
    }
}

#[test]
fn a_pot_called_done_too_cold_heads_every_page_to_work_by() {
    let mut c = Case::at("2026-12-22 13:30");
    assert!(c.told().is_empty(), "the pot is still on: {:?}", c.told());
    let simmer = c.plan.tasks.iter().find(|t| t.kind == Kind::Simmer).unwrap();
    let (id, joint) = (simmer.id.clone(), simmer.joints[0].clone());
    c.record.finish(&id, utc(c.kitchen.zone, "2026-12-22 12:30"), "Rowan");
    c.read(Probed::Core(joint.clone()), 62.0, "2026-12-22 12:00");
    let told = c.told();
    assert!(told.len() == 1 && told[0].starts_with(&format!("{joint}: 62.0 °C")), "{told:?}");
    assert!(told[0].contains("70 °C") && told[0].contains("throw it out"), "{told:?}");
    for name in [Name::Day, Name::Turns, Name::Tubs, Name::Cook, Name::Freezer, Name::Week, Name::Rota] {
        let (text, tone) = c.first(name);
        assert!(text.starts_with(&told[0]) && tone == Tone::Trouble, "{}: {text}", name.word());
        assert!(text.len() > told[0].len() + 5, "{}: what it says itself comes after", name.word());
    }
    assert!(!c.first(Name::Shopping).0.contains("62.0"), "a list for the shop is nothing to work by");
    // The timeline too, whatever else it has to say.
    let mut state = frames::state(&Arc::new(c.kitchen.clone()), Some(c.plan.clone()), 80, 24, c.now);
    state.record = Some(c.record.clone());
    let said = sentence(&state);
    assert!(said.text.starts_with(&told[0]) && said.tone == Tone::Trouble, "{}", said.text);
    // A late turn says nothing of a core, nor does a chill, nor a ruling by which nothing was outside.
    for kind in ["missed-turn", "not-cold", "warm"] {
        c.trouble(kind, &[&joint], None, "2026-12-22 13:00");
    }
    c.trouble("core-not-up", &[&joint], Some(71.0), "2026-12-22 13:00");
    c.record.troubles.last_mut().unwrap().deviates = false;
    assert_eq!(c.told(), told);
    // On record what became of it: nothing presses any more.
    c.trouble("core-not-up", &[&joint], Some(62.0), "2026-12-22 13:00");
    assert!(c.told().is_empty(), "{:?}", c.told());
}

#[test]
fn meat_that_lies_too_warm_heads_the_pages_until_it_is_seen_to() {
    let mut c = Case::at("2026-12-12 20:00");
    c.read(Probed::Brine("box".into()), 9.0, "2026-12-12 19:00");
    let told = c.told();
    assert!(told.len() == 1 && told[0].contains("box was 9 °C") && told[0].contains("5 °C"), "{told:?}");
    let warm = |c: &Case| c.told().iter().any(|t| t.contains("9 °C"));
    c.read(Probed::Brine("box".into()), 4.8, "2026-12-12 19:30");
    assert!(!warm(&c), "cold again when last read");
    c.read(Probed::Brine("box".into()), 9.0, "2026-12-12 19:40");
    assert!(warm(&c));
    c.trouble("missed-turn", &["shank", "fillet"], None, "2026-12-12 19:45");
    assert!(warm(&c), "a late turn says nothing of warmth");
    c.trouble("warm", &["shank", "fillet"], None, "2026-12-12 19:45");
    c.trouble("warm", &["shank", "fillet"], Some(7.0), "2026-12-12 19:45");
    assert!(warm(&c), "told without a reading, or milder than it was read");
    c.trouble("warm", &["shank"], Some(9.0), "2026-12-12 19:45");
    assert!(warm(&c), "the other joint lay in it as well");
    c.trouble("power-cut", &["fillet"], Some(9.0), "2026-12-12 19:50");
    assert!(!warm(&c), "ruled on");
    // The air of the cold space is another reading.
    let space = c.plan.loads.iter().find(|l| l.tub == "box").unwrap().space.clone();
    c.read(Probed::Space(space), 9.0, "2026-12-12 19:55");
    assert!(warm(&c), "read since");
    c.trouble("warm", &["shank", "fillet"], Some(6.0), "2026-12-12 19:56");
    assert!(!warm(&c), "its brine was probed");
    // Before any meat is in it, a tub may be as warm as it is.
    let mut c = Case::at("2026-12-12 20:00");
    c.read(Probed::Brine("box".into()), 12.0, "2026-12-01 09:00");
    assert!(c.told().is_empty(), "{:?}", c.told());
}

#[test]
fn a_plan_that_would_lift_a_heavier_joint_too_soon_says_so_on_the_week() {
    let mut c = Case::at("2026-12-12 20:00");
    c.put_in();
    assert!(c.told().is_empty(), "{:?}", c.told());
    let joint = c.kitchen.joints.iter_mut().find(|j| j.name == "shank").unwrap();
    joint.weighed = Some(Mass::kg(3.4));
    let told = c.told();
    assert!(
        told.len() == 1 && told[0].contains("before its days are up") && told[0].contains("plan again"),
        "{told:?}"
    );
    assert!(c.first(Name::Week).0.starts_with(&told[0]));
}

#[test]
fn a_joint_that_outgrew_its_tub_on_the_scale_is_told_before_it_is_put_in() {
    let mut c = Case::at("2026-12-01 08:00");
    let put_in = c.record.clone();
    c.record = Record::default();
    // The box is 30 cm long; nine kilos of meat are longer by any reckoning of their size.
    let weigh = |c: &mut Case, kg: f64| {
        let when = utc(c.kitchen.zone, "2026-12-01 07:00");
        c.record.weights = vec![Weighed { joint: "shank".into(), grams: kg * 1000.0, when, by: String::new() }];
        c.kitchen.joints.iter_mut().find(|j| j.name == "shank").unwrap().weighed = Some(Mass::kg(kg));
    };
    let told = |c: &Case| c.told().into_iter().find(|t| t.contains("no longer takes"));
    weigh(&mut c, 2.6);
    assert_eq!(told(&c), None, "as heavy as its label says");
    weigh(&mut c, 9.0);
    let says = told(&c).expect("it is told");
    assert!(says.contains("shank") && says.contains("short of") && says.contains("Plan again"), "{says}");
    for name in [Name::Day, Name::Turns, Name::Week] {
        assert!(c.first(name).0.starts_with(&format!("First of 2: {says}")), "{}: {}", name.word(), c.first(name).0);
    }
    // With the meat in it the days are what matters, and the trouble of the tub is told otherwise.
    c.record.tasks = put_in.tasks;
    c.put_in();
    assert_eq!(told(&c), None);
}
