//! The trade's surprises, with the answers it expects of a good plan (common practice, no source).

use super::plain;
use super::support::{at, file, planned};
use turnday::kitchen::{Kitchen, Moment};
use turnday::plan::ways::ways_out;
use turnday::plan::{Plan, Refusal};
use turnday::schedule::NodeBudget;
use turnday::units::Mass;

fn pair() -> Kitchen {
    let mut k = file("tests/kitchen/good/small.json");
    for j in &mut k.joints {
        (j.diameter, j.length) = (None, None);
    }
    k
}

/// The judge has no fault to find.
fn sound(kitchen: &Kitchen, plan: &Plan) {
    let verdict = turnday::plan::judge::judge(kitchen, plan);
    assert!(verdict.broken.is_empty(), "{:#?}", verdict.broken);
}

#[test]
fn a_joint_that_weighs_3_4_instead_of_2_6_is_late_and_lies_in_the_bucket() {
    let mut k = pair();
    k.joints[0].weighed = Some(Mass::kg(3.4));
    let plan = planned(&k, 4000).unwrap();
    sound(&k, &plan);
    let heavy = &plan.joints[0];
    assert!(heavy.ready > heavy.ready_by.unwrap(), "3.4 kg takes 20.4 days and cannot be ready on the 24th");
    // It no longer goes in the box: 1.7 cm of headroom where 2.5 are wanted.
    assert_eq!(plan.joints[0].tub, "BUCKET");
    assert_eq!(plan.joints[1].tub, "BOX");
    let load = plan.loads.iter().find(|l| l.tub == "BUCKET").unwrap();
    assert!((load.brine_litres - 5.8).abs() < 0.1, "{}", load.brine_litres);

    let ways = ways_out(&k, &["J1".to_owned()], at("2026-12-04 18:30"), 5, &NodeBudget(u64::MAX));
    let says: Vec<&str> = ways.iter().map(|w| w.says.as_str()).collect();
    assert!(says.iter().any(|s| s.contains("cut J1 in two, 1.7 kg each")), "{says:?}");
    assert!(says.iter().any(|s| s.contains("J2 becomes the ham")), "{says:?}");
}

#[test]
fn a_delivery_three_days_late_is_said_plainly_or_planned_round() {
    let mut k = pair();
    for j in &mut k.joints {
        j.arrives = Moment::parse("2026-12-07 18:00");
    }
    let plan = planned(&k, 4000).unwrap();
    sound(&k, &plan);
    // Cured Wed 23 Dec 08:24 at the earliest, twelve hours of rest: the ham cannot be sliced by the 24th at 18:00.
    let ham = &plan.joints[0];
    assert!(ham.ready > ham.ready_by.unwrap());
    let ways = ways_out(&k, &["J1".to_owned()], at("2026-12-04 18:30"), 5, &NodeBudget(u64::MAX));
    assert!(ways.iter().any(|w| w.says.contains("cut J1 in two")), "{ways:?}");
}

#[test]
fn the_lighter_joint_keeps_its_dates_when_the_other_turns_out_heavier() {
    let (mut a, b) = (pair(), pair());
    a.joints[0].weighed = Some(Mass::kg(3.4));
    let (a, b) = (planned(&a, 4000).unwrap(), planned(&b, 4000).unwrap());
    assert_eq!(a.joints[1].cure_days, b.joints[1].cure_days);
}

#[test]
fn a_baker_who_comes_at_four_works_from_four() {
    let mut k = pair();
    let json = serde_json::json!({
        "name": "Baker", "lives_here": false, "works": [{ "days": "every day", "from": "04:00", "to": "06:00" }]
    });
    k.people = vec![serde_json::from_value(json).unwrap()];
    let axis = turnday::process::Axis::new(k.zone, chrono::NaiveDate::from_ymd_opt(2026, 12, 4).unwrap(), 4);
    let minutes = |k: &Kitchen| -> i32 {
        let work = turnday::process::hours::at_work(&k.people[0], &axis);
        work.iter().map(|i| i.to - i.from).sum()
    };
    // Four mornings of two hours.
    assert_eq!(minutes(&k), 4 * 120);
    let when = |text: &str| at(text).with_timezone(&k.zone.0).fixed_offset();
    assert!(plain::somebody_home(&k, when("2026-12-05 04:00"), when("2026-12-05 06:00")));
    // Unless they say that they sleep, or live here and say nothing.
    k.people[0].sleep = Some(turnday::kitchen::Sleep::default());
    assert_eq!(minutes(&k), 0);
    (k.people[0].sleep, k.people[0].lives_here) = (None, true);
    assert_eq!(minutes(&k), 0);
}

#[test]
fn nobody_at_home_long_enough_for_a_cook_day_is_refused_with_that_reason() {
    let mut k = pair();
    for p in &mut k.people {
        p.busy = vec![turnday::kitchen::Hours {
            days: turnday::kitchen::Days::EVERY,
            from: turnday::kitchen::Clock::at(9, 0),
            to: turnday::kitchen::Clock::at(18, 0),
            since: None,
            until: None,
            why: "away at work".to_owned(),
        }];
    }
    match planned(&k, 4000) {
        Err(Refusal::Impossible { because, .. }) => {
            let says: Vec<&str> = because.iter().map(|r| r.says.as_str()).collect();
            assert!(says.iter().any(|s| s.contains("at home")), "{says:?}");
        }
        other => panic!("{other:?}"),
    }
}

/// Only one of the two tubs can stand in the cold, so that one way of sharing fails by the tubs; but what rules out a plan is the
/// same in all of them.
#[test]
fn everybody_away_longer_than_turns_allow_is_impossible_wherever_the_tubs_stand() {
    let mut k = file("demo-data/feast-pair.json");
    for p in &mut k.people {
        p.away.push(turnday::kitchen::Away {
            from: Moment::parse("2026-12-21 12:00").unwrap(),
            to: Moment::parse("2026-12-27 12:00").unwrap(),
            why: "a visit".to_owned(),
        });
    }
    match planned(&k, 4000) {
        Err(Refusal::Impossible { because, .. }) => {
            let says: Vec<&str> = because.iter().map(|r| r.says.as_str()).collect();
            assert!(says.iter().any(|s| s.contains("gap between turns")), "{says:?}");
            assert!(says.iter().all(|s| !s.contains("one load at a time")), "{says:?}");
        }
        other => panic!("{other:?}"),
    }
    // Two days away can be had.
    k.people
        .iter_mut()
        .filter_map(|p| p.away.last_mut())
        .for_each(|a| a.to = Moment::parse("2026-12-23 12:00").unwrap());
    sound(&k, &planned(&k, 4000).unwrap());
}

#[test]
fn pork_collected_in_time_is_told_with_the_last_possible_moment() {
    let mut k = pair();
    for j in &mut k.joints {
        j.arrives = None;
    }
    k.batch.starts = Moment::parse("2026-11-25 08:00");
    let plan = planned(&k, 6000).unwrap();
    sound(&k, &plan);
    let collect = plan.collect.unwrap();
    let last = collect.last_possible.unwrap();
    assert!(collect.planned <= last);
    // The trade's reckoning puts the last moment on Sun 6 Dec with a day's rest and a cook day at 09:00 on the 23rd; with
    // the least rest it is a little later, and never after the rule's own days allow: 24 Dec 18:00 less 15.6 days.
    assert!(last.to_utc() <= at("2026-12-09 03:36") && last.to_utc() >= at("2026-12-06 00:00"), "{last}");
}
