//! The judge has teeth: a good plan with one thing wrong is refused, by the name of the limit that is broken.

use super::support::{file, planned};
use chrono::TimeDelta;
use std::sync::OnceLock;
use turnday::kitchen::Kitchen;
use turnday::plan::judge::{Broken, judge};
use turnday::plan::{Plan, PlannedTask};

/// Both joints in one box, so that there is something to share and to take apart.
fn kitchen() -> Kitchen {
    let mut k = file("tests/kitchen/good/small.json");
    k.batch.together = vec![vec!["J1".to_owned(), "J2".to_owned()]];
    k
}

fn good() -> Plan {
    static PLAN: OnceLock<Plan> = OnceLock::new();
    PLAN.get_or_init(|| planned(&kitchen(), 1_000).unwrap()).clone()
}

fn task<'a>(p: &'a mut Plan, id: &str) -> &'a mut PlannedTask {
    p.tasks.iter_mut().find(|t| t.id == id).unwrap_or_else(|| panic!("no task {id}"))
}

fn shift(t: &mut PlannedTask, minutes: i64) {
    let by = TimeDelta::minutes(minutes);
    for at in [&mut t.start, &mut t.end, &mut t.slow_end] {
        *at += by;
    }
}

/// Moves tasks by so many minutes, by the beginnings of their names.
fn moved(minutes: i64, ids: &[&str]) -> Plan {
    let mut p = good();
    let mut any = false;
    for t in p.tasks.iter_mut().filter(|t| ids.iter().any(|i| t.id.starts_with(i))) {
        shift(t, minutes);
        any = true;
    }
    assert!(any, "{ids:?}");
    p
}

fn broken(p: &Plan) -> Vec<Broken> {
    judge(&kitchen(), p).broken
}

/// The plan is refused, and one of the limits it breaks is this one.
fn breaks(what: &str, p: &Plan, limit: &str, force: &str) {
    let all = broken(p);
    let hit = all.iter().find(|b| b.limit.contains(limit) || b.says.contains(limit));
    let hit = hit.unwrap_or_else(|| panic!("{what}: nothing about \"{limit}\" in {all:#?}"));
    assert_eq!(hit.force, force, "{what}: {hit:?}");
    assert!(!hit.says.is_empty());
}

#[test]
fn the_plan_that_is_broken_below_is_good() {
    assert_eq!(broken(&good()), []);
}

#[test]
fn turns() {
    let p = good();
    let gap = |a: &str, b: &str| {
        let at = |id: &str| p.tasks.iter().find(|t| t.id == id).unwrap();
        (at(b).start - at(a).end).num_minutes()
    };
    let (before, after) = (gap("turn BOX 2", "turn BOX 3"), gap("turn BOX 3", "turn BOX 4"));
    breaks("a turn late", &moved(7201 - before, &["turn BOX 3"]), "5 days once", "quality");
    breaks("a turn early", &moved(1439 - before, &["turn BOX 3"]), "never less than a day apart", "quality");
    let first = gap("put in BOX", "turn BOX 1");
    breaks("the first turn late", &moved(5761 - first, &["turn BOX 1"]), "within 4 days of putting in", "quality");
    breaks(
        "the first turn early",
        &moved(2879 - first, &["turn BOX 1"]),
        "at least 2 days after putting in",
        "quality",
    );
    assert!(after > 0);
}

#[test]
fn the_brine() {
    let p = good();
    let at = |id: &str| p.tasks.iter().find(|t| t.id == id).unwrap();
    let stay = (at("lift J1").start - at("put in BOX").end).num_minutes();
    // 2.6 kg at six days a kilo: 15.6 days.
    let need = 22_464;
    breaks("lifted a minute early", &moved(need - 1 - stay, &["lift J1"]), "needs 15.6 days in the brine", "safety");
    breaks("lifted a day early", &moved(-1440 - (stay - need), &["lift J1"]), "needs 15.6 days", "safety");
    breaks("36 days", &moved(36 * 1440 - stay, &["lift J1"]), "no joint stays in a brine over 35 days", "safety");
    let cold = (at("put in BOX").start - at("cool 1").start).num_minutes();
    breaks("put in warm", &moved(cold - 121, &["cool 1"]), "5 °C or under before the meat goes in", "safety");
    breaks("old brine", &moved(-6 * 1440, &["brine 1", "cool 1"]), "thrown out after 5 days", "safety");
    let early = (at("put in BOX").start - at("cool 1").start).num_minutes();
    assert!(early > 0);
}

#[test]
fn pork_that_waits() {
    // The plan stays, the pork came four days sooner.
    let mut k = kitchen();
    let p = good();
    for j in &mut k.joints {
        j.arrives = Some(turnday::kitchen::Moment(j.arrives.unwrap().0 - TimeDelta::days(4)));
    }
    let all = judge(&k, &p).broken;
    let waits = all.iter().find(|b| b.limit.contains("no longer than 72 h")).unwrap_or_else(|| panic!("{all:#?}"));
    assert!(waits.force == "safety" && waits.tasks == ["put in BOX"], "{waits:?}");
    // And the other way: put in before it is there.
    let mut k = kitchen();
    k.joints[0].arrives = Some(turnday::kitchen::Moment(k.joints[0].arrives.unwrap().0 + TimeDelta::days(3)));
    let all = judge(&k, &p).broken;
    assert!(all.iter().any(|b| b.limit.contains("J1 arrives then")), "{all:#?}");
}

#[test]
fn the_rest() {
    let chain = ["simmer J1", "glaze J1", "bake J1", "chill J1", "slice J1", "pack J1"];
    let p = good();
    let at = |id: &str| p.tasks.iter().find(|t| t.id == id).unwrap();
    let rest = (at("simmer J1").start - at("rest J1").start).num_minutes();
    breaks("seven days and a minute", &moved(7 * 1440 + 1 - rest, &chain), "within 7 days", "safety");
    breaks("cooked after eleven hours", &moved(660 - rest, &chain), "rests at least 12 h", "quality");
}

#[test]
fn the_cook_day() {
    let p = good();
    let at = |id: &str| p.tasks.iter().find(|t| t.id == id).unwrap();
    let hot = (at("bake J1").start - at("simmer J1").end).num_minutes();
    let late = moved(121 - hot, &["glaze J1", "bake J1", "chill J1"]);
    breaks("two hours and a minute to the oven", &late, "into the oven within 2 h", "safety");
    let warm = (at("chill J1").start - at("bake J1").end).num_minutes();
    breaks("91 minutes to the chill", &moved(91 - warm, &["chill J1"]), "within 90 min of the oven", "safety");
    breaks("two hours to the chill", &moved(120 - warm, &["chill J1"]), "within 90 min of the oven", "safety");
    breaks("no steaming off", &moved(-warm, &["chill J1"]), "steams off for 30 min", "quality");
    let firm = (at("slice J1").start - at("chill J1").end).num_minutes();
    breaks("sliced soft", &moved(479 - firm, &["slice J1", "pack J1"]), "firms at least 8 h", "quality");
    breaks("sliced late", &moved(2881 - firm, &["slice J1", "pack J1"]), "within 48 h", "quality");
    // The whole cook day at night: nobody is awake.
    let night = (at("simmer J1").start.date_naive().and_hms_opt(23, 30, 0).unwrap()
        - at("simmer J1").start.naive_local())
    .num_minutes();
    let chain = ["simmer J1", "glaze J1", "bake J1", "chill J1", "slice J1", "pack J1"];
    breaks("at night", &moved(night, &chain), "somebody at home and awake", "safety");
}

#[test]
fn hands() {
    // Everything is given to the other one in turn; where the other is out of the house the judge says so.
    let k = kitchen();
    let mut refused = 0;
    for i in 0..good().tasks.len() {
        let mut p = good();
        let Some(who) = p.tasks[i].who.clone() else { continue };
        let other = if who == "R" { "S" } else { "R" };
        p.tasks[i].who = Some(other.to_owned());
        let there = super::plain::faults(&k, &p).is_empty();
        let all = judge(&k, &p).broken;
        assert_eq!(all.is_empty(), there, "{} by {other}: {all:#?}", p.tasks[i].id);
        if let Some(b) = all.first() {
            refused += 1;
            assert!(b.limit.contains("does one thing at a time, when free to") && b.force == "means", "{b:?}");
        }
    }
    assert!(refused > 0, "in this plan both can do everything, and nothing is tested");

    let mut p = good();
    let at = task(&mut p, "slice J1").start;
    let who = task(&mut p, "slice J1").who.clone();
    let pack = task(&mut p, "pack J1");
    let by = (at - pack.start).num_minutes() + 5;
    pack.who = who;
    shift(pack, by);
    breaks("two things at once", &p, "does one thing at a time", "means");

    let mut p = good();
    task(&mut p, "turn BOX 2").who = Some("Nobody".to_owned());
    breaks("an unknown person", &p, "does not say who does it", "means");
    task(&mut p, "turn BOX 2").who = None;
    breaks("no person", &p, "does not say who does it", "means");
}

#[test]
fn the_form() {
    let mut p = good();
    let t = task(&mut p, "bake J1");
    t.end -= TimeDelta::minutes(10);
    breaks("a bake cut short", &p, "is given 40 min; it takes 50", "means");

    let mut p = good();
    p.tasks.retain(|t| t.id != "turn BOX 2");
    breaks("a turn left out", &p, "leaves out \"turn BOX 2\"", "means");

    let mut p = good();
    let mut more = p.tasks[0].clone();
    p.tasks.push(more.clone());
    breaks("a task twice", &p, "stands in the plan twice", "means");
    more.id = "polish the taps".to_owned();
    let mut p = good();
    p.tasks.push(more);
    breaks("a strange task", &p, "a task the job does not: \"polish the taps\"", "means");

    let mut p = good();
    let t = task(&mut p, "slice J1");
    t.start += TimeDelta::seconds(30);
    breaks("half a minute", &p, "whole minute", "means");

    let mut p = good();
    p.loads[0].joints[1] = "J9".to_owned();
    breaks("an unknown joint", &p, "the kitchen does not have", "means");
    let mut p = good();
    p.loads[0].tub = "TROUGH".to_owned();
    breaks("an unknown tub", &p, "the kitchen does not have", "means");
    let mut p = good();
    p.cooks[0].pot = "Cauldron".to_owned();
    breaks("an unknown pot", &p, "the kitchen does not have", "means");
    let mut p = good();
    p.loads[0].joints.pop();
    breaks("a joint in no tub", &p, "J2 is put in 0 times", "means");
    let mut p = good();
    p.cooks.clear();
    breaks("a ham that is not cooked", &p, "J1 is cooked 0 times", "means");
    let mut p = good();
    p.cooks[0].joints.push("J2".to_owned());
    breaks("steaks that are cooked", &p, "J2 is cooked 1 times", "means");

    let mut p = good();
    p.format = 2;
    breaks("another format", &p, "format is 2", "means");
    let mut p = good();
    p.tasks.clear();
    breaks("nothing at all", &p, "no tasks", "means");
    let mut p = good();
    shift(task(&mut p, "pack J1"), 20_000 * 1440);
    breaks("55 years", &p, "days", "means");
}

#[test]
fn another_kitchen() {
    // The same plan judged in a kitchen that is smaller, warmer or stricter.
    let p = good();
    let said = |k: &Kitchen, what: &str| {
        let all = judge(k, &p).broken;
        assert!(all.iter().any(|b| b.says.contains(what) || b.limit.contains(what)), "{what}: {all:#?}");
    };
    let mut k = kitchen();
    k.kit.cold[0].temperature = None;
    said(&k, "not known to be cold enough");
    k.kit.cold[0].temperature = Some(turnday::units::Temperature::celsius(5.5));
    said(&k, "not known to be cold enough");
    let mut k = kitchen();
    k.kit.cold[0].height = turnday::units::Length::cm(20.0);
    said(&k, "too high");
    let mut k = kitchen();
    k.kit.pots[0].diameter = turnday::units::Length::cm(12.0);
    said(&k, "short of");
    let mut k = kitchen();
    k.joints[0].weighed = Some(turnday::units::Mass::kg(3.4));
    k.joints[0].diameter = None;
    k.batch.together.clear();
    said(&k, "within 15 % of their mean weight");
    k.batch.together = vec![vec!["J1".to_owned(), "J2".to_owned()]];
    said(&k, "short of");
    let mut k = kitchen();
    k.people.iter_mut().for_each(|p| p.does = Some(vec![turnday::kitchen::Skill::Turn]));
    said(&k, "nobody in the kitchen does this kind of work");
    let mut k = kitchen();
    k.cure.days_per_kg = 9.0;
    said(&k, "days in the brine");
    let mut k = kitchen();
    k.batch.apart = vec![vec!["J1".to_owned(), "J2".to_owned()]];
    said(&k, "kept apart");
}

#[test]
fn two_loads_in_one_tub() {
    // Kept apart, J1 and J2 take a tub each; a plan that puts both into one is refused.
    let mut k = kitchen();
    k.batch.together.clear();
    k.batch.apart = vec![vec!["J1".to_owned(), "J2".to_owned()]];
    let plan = planned(&k, 300).unwrap();
    assert_eq!(judge(&k, &plan).broken, []);
    assert_ne!(plan.loads[0].tub, plan.loads[1].tub);
    let (first, second) = (&plan.loads[0].tub, plan.loads[1].tub.clone());
    let mut p = plan.clone();
    for t in &mut p.tasks {
        for kind in ["put in", "turn"] {
            t.id = t.id.replace(&format!("{kind} {second}"), &format!("{kind} {first} (load 2)"));
        }
        t.uses.iter_mut().filter(|u| u.thing == second).for_each(|u| u.thing.clone_from(first));
    }
    p.loads[1].tub.clone_from(first);
    p.loads[1].id = format!("{first} (load 2)");
    let all = judge(&k, &p).broken;
    let hit = all.iter().find(|b| b.limit == format!("{first} holds one load at a time"));
    assert!(hit.is_some_and(|b| b.force == "means"), "{all:#?}");
}

#[test]
fn every_task_moved_far_is_noticed() {
    // Whatever single task is moved by three weeks either way breaks something, except the few that nothing follows.
    let mut unseen = Vec::new();
    for i in 0..good().tasks.len() {
        for days in [-21, 21] {
            let mut p = good();
            shift(&mut p.tasks[i], days * 1440);
            if broken(&p).is_empty() {
                unseen.push(p.tasks[i].id.clone());
            }
        }
    }
    assert_eq!(unseen, Vec::<String>::new());
}
