//! Kitchens and plans to draw, made by rule and not by the planner, so that a frame changes only when drawing does.

use std::sync::Arc;

use chrono::{DateTime, NaiveDateTime, TimeDelta, Utc};
use turnday::kitchen::{Kitchen, Moment, Outcome, Zone};
use turnday::plan::{
    Because, FORMAT, JointStory, Kind, LevelStanding, Plan, PlannedTask, PotLoad, Standing, TubLoad, Use, When,
};

/// A civil time in the kitchen's zone.
pub fn civil(text: &str) -> NaiveDateTime {
    Moment::parse(text).unwrap_or_else(|| panic!("{text}")).0
}

pub fn utc(zone: Zone, text: &str) -> DateTime<Utc> {
    zone.instant(civil(text))
}

fn when(zone: Zone, at: DateTime<Utc>) -> When {
    at.with_timezone(&zone.0).fixed_offset()
}

/// An invented farmhouse with two joints, a box, a bucket and two people.
pub fn pair_kitchen() -> Arc<Kitchen> {
    kitchen(include_str!("pair.json"))
}

fn kitchen(text: &str) -> Arc<Kitchen> {
    Arc::new(serde_json::from_str(text).expect("the fixture is a kitchen"))
}

/// The same kitchen with so many joints, four to a tub, a cold room of racks, and names in several scripts.
pub fn many_kitchen(joints: usize) -> Arc<Kitchen> {
    let mut k = (*pair_kitchen()).clone();
    k.name = "Larkwood Barn".into();
    let names = ["shank", "fillet", "生ハム", "collar", "hand", "crème", "corner", "slipper"];
    let (joint, tub, cold, pot) =
        (k.joints[0].clone(), k.kit.tubs[0].clone(), k.kit.cold[0].clone(), k.kit.pots[0].clone());
    k.joints = (0..joints)
        .map(|i| {
            let mut j = joint.clone();
            j.name = format!("{} {}", names[i % names.len()], i + 1);
            j.weight = turnday::units::Mass::kg(1.6 + (i * 37 % 27) as f64 / 10.0);
            j.outcome = if i % 3 == 1 { Outcome::GammonSteaks } else { Outcome::HamSliced };
            j
        })
        .collect();
    let cm = turnday::units::Length::cm;
    k.kit.tubs = (0..joints.div_ceil(4))
        .map(|i| {
            let mut t = tub.clone();
            t.name = format!("T{}", i + 1);
            // Four joints stand in each: of what does not fit nothing is told.
            t.inner = turnday::kitchen::Shape::Box { length: cm(30.0), width: cm(30.0), height: cm(35.0) };
            t
        })
        .collect();
    k.kit.cold = (0..joints.div_ceil(12))
        .map(|i| {
            let mut c = cold.clone();
            c.name = format!("rack {}", i + 1);
            (c.width, c.height) = (cm(1.5 * c.width.as_cm()), cm(40.0));
            c
        })
        .collect();
    k.kit.pots = (0..2)
        .map(|i| {
            let mut p = pot.clone();
            p.name = format!("pot {}", i + 1);
            p
        })
        .collect();
    Arc::new(k)
}

/// A plan under construction.
struct Sketch {
    zone: Zone,
    tasks: Vec<PlannedTask>,
}

impl Sketch {
    fn task(
        &mut self,
        kind: Kind,
        says: &str,
        joints: &[&str],
        start: DateTime<Utc>,
        minutes: i64,
        hands: i32,
    ) -> &mut PlannedTask {
        let at = |m: i64| when(self.zone, start + TimeDelta::minutes(m));
        let slack = match kind {
            Kind::Turn => 1440,
            Kind::Rest | Kind::Simmer => 600,
            _ => 0,
        };
        self.tasks.push(PlannedTask {
            id: format!("{kind:?} {} {}", joints.join("+"), start.timestamp() / 60),
            kind,
            says: says.to_owned(),
            joints: joints.iter().map(|j| (*j).to_owned()).collect(),
            start: at(0),
            end: at(minutes),
            slow_end: at(if kind == Kind::Simmer { minutes * 135 / 100 } else { minutes }),
            hands_minutes: hands,
            who: (hands > 0).then(|| "Sorrel".to_owned()),
            uses: Vec::new(),
            earliest: at(-slack),
            latest: at(slack),
            because: Vec::new(),
        });
        self.tasks.last_mut().expect("just pushed")
    }
}

fn holds(t: &mut PlannedTask, things: &[&str], minutes: i64) {
    let to = t.start + TimeDelta::minutes(minutes);
    t.uses.extend(things.iter().map(|thing| Use { thing: (*thing).to_owned(), from: t.start, to }));
}

fn because(t: &mut PlannedTask, force: &str, says: &str) {
    t.because.push(Because {
        other: String::new(),
        says: says.to_owned(),
        force: force.to_owned(),
        source: "common practice".to_owned(),
    });
}

/// Name, kilograms, outcome, lift, start of cooking or packing.
type InTub<'a> = (&'a str, f64, Outcome, DateTime<Utc>, DateTime<Utc>);

/// The joints of a tub from boiling the brine to the freezer. Lift and cook times are given by the caller.
struct Batch<'a> {
    tub: &'a str,
    space: &'a str,
    pot: &'a str,
    joints: Vec<InTub<'a>>,
    put_in: DateTime<Utc>,
}

fn batch(sketch: &mut Sketch, b: &Batch, by: Option<DateTime<Utc>>) -> Vec<JointStory> {
    let zone = sketch.zone;
    let names: Vec<&str> = b.joints.iter().map(|j| j.0).collect();
    let all = names.join(", ");
    let m = TimeDelta::minutes;
    let last = b.joints.iter().map(|j| j.3).max().expect("a joint");
    let t = sketch.task(Kind::BrineMake, &format!("Boil brine for {}", b.tub), &[], b.put_in - m(180), 45, 15);
    holds(t, &[b.pot], 45);
    sketch.task(Kind::Cool, &format!("Brine for {} cools to 5 °C", b.tub), &[], b.put_in - m(135), 120, 0);
    let t = sketch.task(Kind::Submerge, &format!("Put {all} in {}", b.tub), &names, b.put_in, 30, 30);
    holds(t, &[b.tub, b.space], (last - b.put_in).num_minutes());
    because(t, "safety", "brine is at 5 °C or under before the meat goes in");
    for turn in 1.. {
        let at = zone.add_days(b.put_in, 3 * turn);
        if at >= last {
            break;
        }
        let inside: Vec<&str> = b.joints.iter().filter(|j| j.3 > at).map(|j| j.0).collect();
        let t = sketch.task(
            Kind::Turn,
            &format!("Turn {} ({}): move the meat, stir, skim, smell", b.tub, inside.join(", ")),
            &inside,
            at,
            10,
            10,
        );
        holds(t, &[b.tub], 10);
        because(t, "quality", "2 to 4 days after the turn before; once 5");
    }
    let mut stories = Vec::new();
    for &(name, kg, outcome, lift, work) in &b.joints {
        let one = [name];
        let t = sketch.task(Kind::Rinse, &format!("Lift {name} out of {} and rinse", b.tub), &one, lift, 15, 15);
        because(t, "safety", "never before its days are up: 6 days a kilogram");
        let t = sketch.task(
            Kind::Rest,
            &format!("{name} rests, uncovered"),
            &one,
            lift + m(15),
            (work - lift).num_minutes() - 15,
            0,
        );
        holds(t, &[b.space], (work - lift).num_minutes() - 15);
        because(t, "safety", "12 hours to 7 days from lifting to cooking or packing");
        let mut at = work;
        let step =
            |sketch: &mut Sketch, at: &mut DateTime<Utc>, kind, says: String, minutes: i64, hands, things: &[&str]| {
                let t = sketch.task(kind, &says, &one, *at, minutes, hands);
                holds(t, things, minutes);
                if kind == Kind::Chill {
                    because(t, "safety", "at 5 °C or under within 10 hours of cooling, good; 12.5 hours at the most");
                }
                *at += m(minutes);
            };
        if outcome.is_ham() {
            let simmer = (50.0 * kg + 30.0) as i64;
            step(
                sketch,
                &mut at,
                Kind::Simmer,
                format!("Simmer {name} in {}; core 75 °C, or 70 °C for 2 min", b.pot),
                50 + simmer,
                20,
                &[b.pot],
            );
            step(sketch, &mut at, Kind::ScoreAndGlaze, format!("Skin, score and glaze {name}"), 30, 30, &[]);
            step(sketch, &mut at, Kind::Bake, format!("Bake {name}"), 50, 5, &["oven"]);
            step(
                sketch,
                &mut at,
                Kind::Chill,
                format!("Chill {name} in iced water, then the fridge"),
                30 + 450,
                15,
                &["iced water"],
            );
            at = zone.instant(civil(&format!("{} 10:00", zone.civil(zone.add_days(work, 1)).date())));
            step(sketch, &mut at, Kind::Slice, format!("Slice {name}"), 35, 35, &[]);
            step(sketch, &mut at, Kind::VacuumPack, format!("Pack {name}"), 25, 25, &["packer"]);
        } else {
            step(sketch, &mut at, Kind::Firm, format!("Firm {name} in the freezer"), 150, 5, &[]);
            step(sketch, &mut at, Kind::Slice, format!("Cut {name} into steaks"), 20, 20, &[]);
            step(sketch, &mut at, Kind::VacuumPack, format!("Pack {name}"), 15, 15, &["packer"]);
            step(sketch, &mut at, Kind::Freeze, format!("Freeze {name}"), 1440, 5, &["freezer"]);
        }
        let days = 6.0 * kg;
        stories.push(JointStory {
            name: name.to_owned(),
            outcome: outcome.words().to_owned(),
            kg,
            tub: b.tub.to_owned(),
            put_in: when(zone, b.put_in),
            cured: when(zone, b.put_in + m((days * 1440.0).ceil() as i64)),
            cure_days: days,
            lift: when(zone, lift),
            ready: when(zone, at),
            ready_by: if outcome.is_ham() { by.map(|b| when(zone, b)) } else { None },
        });
    }
    stories
}

fn finished(
    kitchen: &Kitchen,
    mut sketch: Sketch,
    joints: Vec<JointStory>,
    loads: Vec<TubLoad>,
    levels: [i64; 2],
) -> Plan {
    sketch.tasks.sort_by_key(|t| t.start);
    let level = |label: &str, unit: &str, value, bound| LevelStanding {
        label: label.into(),
        unit: unit.into(),
        value,
        bound,
        compared: None,
    };
    Plan {
        format: FORMAT,
        kitchen: kitchen.name.clone(),
        zone: kitchen.zone,
        cooks: vec![PotLoad { id: "pot".into(), pot: "pot".into(), chilling: "iced water".into(), joints: Vec::new() }],
        tasks: sketch.tasks,
        loads,
        joints,
        levels: vec![
            level("late", "min", 0, 0),
            level("over the quality limits", "min", 0, 0),
            level("cook days", "", levels[0], levels[0]),
            level("visits", "", levels[1], levels[1] - 2),
            level("ugly hours", "min", 0, 0),
            level("spare wanted", "min", 120, 0),
        ],
        standing: Standing::BestFound,
        in_hand: None,
        compared: None,
        collect: None,
        alarms: Vec::new(),
        notes: vec!["Check your own local rules before selling any of it.".into()],
    }
}

/// The worked small case of the trade notes: put in Fri 4 Dec 2026 19:00, turned every third evening, lifted 19 and
/// 20 Dec, cooked Tue 22 Dec 08:30, packed Wed 23 Dec; wanted Thu 24 Dec 18:00. Common practice, no source.
pub fn pair_plan(k: &Kitchen) -> Plan {
    let z = k.zone;
    let mut sketch = Sketch { zone: z, tasks: Vec::new() };
    let b = Batch {
        tub: "box",
        space: "fridge",
        pot: "pot",
        joints: vec![
            ("shank", 2.6, Outcome::HamSliced, utc(z, "2026-12-20 20:30"), utc(z, "2026-12-22 08:30")),
            ("fillet", 2.1, Outcome::GammonSteaks, utc(z, "2026-12-19 19:15"), utc(z, "2026-12-21 19:00")),
        ],
        put_in: utc(z, "2026-12-04 19:00"),
    };
    let stories = batch(&mut sketch, &b, Some(utc(z, "2026-12-24 18:00")));
    let loads = vec![load("box", "fridge", &["shank", "fillet"])];
    finished(k, sketch, stories, loads, [1, 7])
}

/// One joint of the pair alone.
pub fn one_plan(k: &Kitchen) -> Plan {
    let mut plan = pair_plan(k);
    plan.tasks.retain(|t| t.joints.iter().any(|j| j == "shank") || t.joints.is_empty());
    plan.joints.retain(|j| j.name == "shank");
    plan
}

/// A plan with nothing in it.
pub fn empty_plan(k: &Kitchen) -> Plan {
    let mut plan = pair_plan(k);
    plan.tasks.clear();
    plan.joints.clear();
    plan.loads.clear();
    plan
}

/// The pair's plan with a fault in everything: names that nobody knows, times that run backwards or fill no time,
/// sizes that no joint has. A file that somebody edited, or that was made for another kitchen, may say such things.
pub fn broken_plan(k: &Kitchen) -> Plan {
    let mut plan = pair_plan(k);
    for (i, t) in plan.tasks.iter_mut().enumerate() {
        match i % 8 {
            0 => t.joints = vec!["nobody's".into()],
            1 => (t.start, t.end) = (t.end, t.start),
            2 => t.uses.iter_mut().for_each(|u| u.thing = "nowhere".into()),
            3 => t.says.clear(),
            4 => (t.who, t.hands_minutes) = (Some("Nobody".into()), -5),
            5 => (t.earliest, t.latest) = (t.latest + TimeDelta::days(400), t.earliest),
            6 => t.slow_end = t.start - TimeDelta::days(1),
            _ => t.uses.iter_mut().for_each(|u| (u.from, u.to) = (u.to, u.from)),
        }
    }
    plan.tasks.rotate_left(3);
    let [first, second] = plan.joints.as_mut_slice() else { unreachable!("the pair") };
    (first.kg, first.lift, first.cure_days) = (1e300, first.put_in - TimeDelta::days(2), -3.0);
    (second.kg, second.tub, second.ready_by) = (-1.0, "nowhere".into(), Some(second.put_in));
    plan.loads[0].joints.push("nobody's".into());
    (plan.loads[0].fill_cm, plan.loads[0].brine_litres) = (-4.0, 1e300);
    plan.levels.clear();
    plan.notes.clear();
    plan
}

fn load(tub: &str, space: &str, joints: &[&str]) -> TubLoad {
    TubLoad {
        id: tub.into(),
        tub: tub.into(),
        space: space.into(),
        joints: joints.iter().map(|j| (*j).to_owned()).collect(),
        turns: 5,
        boil: 0,
        fill_cm: 17.0,
        brine_litres: 5.8,
    }
}

/// A plan for [`many_kitchen`]: tubs started a day apart, cooked four at a time; it only has to look like one.
pub fn many_plan(k: &Kitchen) -> Plan {
    let z = k.zone;
    let mut sketch = Sketch { zone: z, tasks: Vec::new() };
    let (mut stories, mut loads) = (Vec::new(), Vec::new());
    let start = utc(z, "2026-11-16 09:00");
    for (i, joints) in k.joints.chunks(4).enumerate() {
        let put_in = z.add_days(start, i as i64 % 5);
        let tub = &k.kit.tubs[i].name;
        let space = &k.kit.cold[i / 3].name;
        let list = joints
            .iter()
            .map(|j| {
                let kg = j.weight.as_kg();
                let lift = z.add_days(put_in, (6.0 * kg).ceil() as i64 + 1);
                let work = z.add_days(lift, 2 + i as i64 % 3);
                (j.name.as_str(), kg, j.outcome, lift, work)
            })
            .collect();
        let b = Batch { tub, space, pot: &k.kit.pots[i % 2].name, joints: list, put_in };
        stories.extend(batch(&mut sketch, &b, Some(utc(z, "2026-12-23 12:00"))));
        loads.push(load(tub, space, &joints.iter().map(|j| j.name.as_str()).collect::<Vec<_>>()));
    }
    finished(k, sketch, stories, loads, [9, 41])
}

/// A proposal in which one job moves by a day.
pub fn proposal(state: &turnday::app::State) -> turnday::plan::replan::Replan {
    use turnday::plan::difference::{Difference, Line, Moved};
    let plan = state.chart.as_ref().expect("a plan").plan.clone();
    let t = plan.tasks.iter().find(|t| t.kind == Kind::Turn).expect("a turn").clone();
    let moved = Moved {
        task: t.id.clone(),
        says: t.says.clone(),
        from: t.start,
        to: t.start + TimeDelta::days(1),
        cause: "nobody is home before".into(),
        near: true,
    };
    let dropped = Line { task: "freeze".into(), says: "Freeze fillet".into(), at: t.start };
    let difference = Difference {
        happened: vec!["shank weighs 3.4 kg, not 2.6".into()],
        jobs: 20,
        stay: 18,
        moved: vec![moved],
        fewest: false,
        added: Vec::new(),
        dropped: vec![dropped],
        handed_over: Vec::new(),
        costs: vec!["one more visit".into()],
        next: None,
        decide_by: None,
        others: Vec::new(),
    };
    turnday::plan::replan::Replan {
        plan,
        difference,
        ways: Vec::new(),
        tier: turnday::plan::replan::Tier::Shifted,
        deviations: Vec::new(),
        open_ends: Vec::new(),
    }
}
