//! The trade's surprises met with a replan (common practice, no source): trigger, and what a good replan must show.

use super::replans::{again, attempt, fact};
use super::support::{at, file, planned};
use chrono::{Datelike, TimeDelta};
use turnday::kitchen::{Kitchen, Moment, Outcome};
use turnday::plan::ask::{Answer, ask};
use turnday::plan::history::State;
use turnday::plan::question::Question;
use turnday::plan::replan::Again;
use turnday::plan::{History, Kind, Plan, Refusal};
use turnday::schedule::NodeBudget;
use turnday::units::Mass;

fn pair() -> (Kitchen, Plan) {
    let mut k = file("tests/kitchen/good/small.json");
    for j in &mut k.joints {
        (j.diameter, j.length) = (None, None);
    }
    let p = planned(&k, 1500).unwrap();
    (k, p)
}

fn asked(kitchen: &Kitchen, old: &Plan, history: &History, questions: &[Question]) -> Vec<Answer> {
    let again = Again { kitchen, old, history, seed: 1, steps: 400, ways: 5, what: &[] };
    ask(&again, questions, &NodeBudget(u64::MAX))
}

fn starts<'a>(plan: &'a Plan, of: impl Fn(&str) -> bool + 'a) -> Vec<(&'a str, turnday::plan::When)> {
    plan.tasks.iter().filter(|t| of(&t.id)).map(|t| (t.id.as_str(), t.start)).collect()
}

#[test]
fn j1_weighs_3_4_on_the_evening_it_is_put_in() {
    let (mut k, old) = pair();
    let now = at("2026-12-04 18:10");
    let history = History::as_planned(&old, now);
    assert!(!history.tasks.keys().any(|id| id.starts_with("put in")), "it is not put in before it is weighed");
    k.joints[0].weighed = Some(Mass::kg(3.4));
    let r = again(&k, &old, &history);
    println!("{}", r.difference.to_text());
    let heavy = &r.plan.joints[0];
    // 20.4 days: it misses the 24th, and no longer goes in the box.
    assert!(heavy.ready > heavy.ready_by.unwrap());
    assert_eq!((heavy.tub.as_str(), r.plan.joints[1].tub.as_str()), ("BUCKET", "BOX"));
    assert!(r.difference.happened.iter().any(|h| h == "J1 weighs 3.4 kg, not 2.6."));
    assert!(r.difference.costs.iter().any(|c| c.starts_with("J1 misses its day")), "{:?}", r.difference.costs);
    // The lighter joint's days in the brine are what they were.
    assert_eq!(r.plan.joints[1].cure_days, old.joints[1].cure_days);
    let says: Vec<&str> = r.ways.iter().map(|w| w.says.as_str()).collect();
    assert!(says.iter().any(|s| s.contains("cut J1 in two, 1.7 kg each")), "{says:?}");
    assert!(says.iter().any(|s| s.contains("J2 becomes the ham")), "{says:?}");
    assert!(r.difference.next.is_some() && r.difference.decide_by.is_some_and(|d| d.to_utc() > now));
    assert!((1..=3).contains(&r.difference.others.len()));
    let text = r.difference.to_text();
    assert!(!text.contains("optimi") && text.find("What stays") < text.find("What moves"), "{text}");
}

#[test]
fn halved_at_the_door_both_are_cured_by_the_14th() {
    let (mut k, old) = pair();
    k.joints[0].weighed = Some(Mass::kg(3.4));
    let k = Question::Halve { joint: "J1".to_owned() }.changed(&k).unwrap().unwrap();
    let history = History::as_planned(&old, at("2026-12-04 18:10"));
    let r = again(&k, &old, &history);
    for half in r.plan.joints.iter().filter(|j| j.name.starts_with("J1 ")) {
        assert!((half.cure_days - 10.2).abs() < 1e-3);
        assert!(half.ready <= half.ready_by.unwrap());
    }
    assert!(r.difference.happened.iter().any(|h| h == "J1 is cut in two."), "{:?}", r.difference.happened);
}

#[test]
fn delivered_three_days_late_it_is_said_plainly() {
    let (mut k, old) = pair();
    let history = History::as_planned(&old, at("2026-12-04 12:00"));
    for j in &mut k.joints {
        j.arrives = Moment::parse("2026-12-07 18:00");
    }
    let r = again(&k, &old, &history);
    assert!(r.plan.joints[0].ready > r.plan.joints[0].ready_by.unwrap());
    assert!(r.ways.iter().any(|w| w.says.contains("cut J1 in two")), "{:?}", r.ways);
    // Nothing is offered that would have had to happen already.
    assert!(!r.ways.iter().any(|w| w.says.contains("7 days earlier")), "{:?}", r.ways);
}

#[test]
fn a_trip_made_longer_keeps_the_cook_days() {
    let k = file("tests/kitchen/good/medium.json");
    let old = planned(&k, 1500).unwrap();
    let mut away = k.clone();
    for a in away.people.iter_mut().flat_map(|p| &mut p.away) {
        a.to = Moment::parse("2027-03-16 20:00").unwrap();
    }
    let history = History::as_planned(&old, at("2027-03-10 07:00"));
    let r = again(&away, &old, &history);
    let days = |p: &Plan| {
        let cooks = p.tasks.iter().filter(|t| t.kind == Kind::Simmer);
        let mut d: Vec<_> = cooks.map(|t| t.start.date_naive()).collect();
        d.sort();
        d.dedup();
        d
    };
    assert_eq!(days(&r.plan).len(), days(&old).len(), "{}", r.difference.to_text());
    assert!(r.plan.joints.iter().all(|j| j.ready_by.is_none_or(|by| j.ready <= by)));
    // Nobody turns anything while they are away.
    let (from, to) = (at("2027-03-12 15:00"), at("2027-03-16 20:00"));
    let inside =
        |t: &&turnday::plan::PlannedTask| t.hands_minutes > 0 && t.start.to_utc() >= from && t.start.to_utc() < to;
    assert_eq!(r.plan.tasks.iter().find(inside).map(|t| &t.id), None);
}

#[test]
fn away_longer_than_turns_allow_is_answered_with_the_gap_and_the_turn_before_it_stays() {
    let k = file("tests/kitchen/good/medium.json");
    let old = planned(&k, 1500).unwrap();
    let history = History::as_planned(&old, at("2027-03-09 08:00"));
    let day = |d: &str| Moment::parse(d).unwrap();
    let away = Question::Away { who: None, from: day("2027-03-12"), to: day("2027-03-19") };
    let k = away.changed(&k).unwrap().unwrap();
    // A week without a turn: no plan keeps five days, and what is missed is said with by how much.
    let r = again(&k, &old, &history);
    let gap = r.deviations.iter().find(|d| d.limit.contains("5 days once")).expect("a week is over five days");
    assert!(gap.says.starts_with("Cannot be kept") && gap.force == "quality" && !gap.decide, "{gap:?}");
    // Nobody could do better than seven days and a bit: what is given up is not more than need be.
    assert!(gap.minutes <= 3 * 1440, "{gap:?}");
}

#[test]
fn brine_renewed_leaves_the_plan_as_it_is_and_a_ruling_of_a_day_more_moves_the_lift() {
    let (k, old) = pair();
    let now = old.joints[0].put_in.to_utc() + TimeDelta::days(8);
    let mut history = History::as_planned(&old, now);
    assert!(again(&k, &old, &history).difference.moved.is_empty());
    history.longer.insert("J1".to_owned(), 1440);
    let r = again(&k, &old, &history);
    assert!((r.plan.joints[0].cure_days - old.joints[0].cure_days - 1.0).abs() < 1e-6);
    assert!(r.plan.joints[0].lift >= r.plan.joints[0].cured);
}

#[test]
fn a_skewer_still_tight_slides_the_day_and_the_slicing_stays() {
    let (k, old) = pair();
    let simmer = old.tasks.iter().find(|t| t.id == "simmer J1").unwrap();
    let mut history = History::as_planned(&old, simmer.end.to_utc());
    fact(
        &mut history,
        "simmer J1",
        simmer.start.to_utc(),
        Some(simmer.end.to_utc() + TimeDelta::minutes(70)),
        State::Running,
    );
    let r = again(&k, &old, &history);
    let cut = |p: &Plan| starts(p, |id| id == "slice J1" || id == "pack J1").iter().map(|x| x.1).collect::<Vec<_>>();
    assert_eq!(cut(&r.plan), cut(&old));
    assert!(
        r.difference.happened.iter().any(|h| h.contains("1 h 10") || h.contains("70 min")),
        "{:?}",
        r.difference.happened
    );
}

#[test]
fn the_clocks_change_on_the_due_date() {
    // Easter Sunday 28 March 2027, 01:00: clocks go forward in Great Britain.
    let k = file("tests/kitchen/good/medium.json");
    let old = planned(&k, 1500).unwrap();
    let due = k.joints.iter().filter_map(|j| j.ready_by).max().unwrap();
    assert_eq!(due.0.date().to_string(), "2027-03-28");
    for hours in [60, 30, 14] {
        let now = k.zone.instant(due.0) - TimeDelta::hours(hours);
        let r = again(&k, &old, &History::as_planned(&old, now));
        assert!(r.difference.moved.is_empty());
        for t in r.plan.tasks.iter().filter(|t| t.start.date_naive() == due.0.date()) {
            // Before the change the old offset, after it the new one.
            let summer = t.start.naive_utc().to_string().as_str() >= "2027-03-28 01:00:00";
            assert_eq!(t.start.offset().local_minus_utc(), if summer { 3600 } else { 0 });
        }
    }
}

#[test]
fn a_leap_day_and_a_new_year_in_the_middle() {
    for (days, year) in [(75, 2028), (10, 2026)] {
        let (mut k, _) = pair();
        // The leap year's 29 February, and a batch over New Year.
        let base = if year == 2028 { 365 } else { 0 };
        let shift = TimeDelta::days(base + days);
        for j in &mut k.joints {
            for m in [&mut j.arrives, &mut j.ready_by].into_iter().flatten() {
                m.0 += shift;
            }
        }
        k.people.iter_mut().for_each(|p| p.away.clear());
        k.batch.starts.as_mut().unwrap().0 += shift;
        let old = planned(&k, 1000).unwrap();
        let ends = if year == 2028 { "2028-02-29" } else { "2027-01-01" };
        assert!(old.tasks.iter().any(|t| t.end.date_naive().to_string().as_str() >= ends), "it runs past {ends}");
        assert!(old.tasks[0].start.date_naive().to_string().as_str() < ends);
        let now =
            k.zone.instant(chrono::NaiveDate::parse_from_str(ends, "%Y-%m-%d").unwrap().and_hms_opt(12, 0, 0).unwrap());
        let r = again(&k, &old, &History::as_planned(&old, now));
        assert_eq!(r.difference.moved.len(), 0, "{}", r.difference.to_text());
        assert!(r.plan.joints[0].ready.year() >= 2027);
    }
}

#[test]
fn two_tubs_with_one_name_never_panic() {
    let (mut k, old) = pair();
    let name = k.kit.tubs[0].name.clone();
    k.kit.tubs[1].name = name;
    // The reader refuses such a file; a kitchen made otherwise must do no harm.
    let text = serde_json::to_string(&k).unwrap();
    let reading =
        turnday::kitchen::read::read("twins", &text).judge(chrono::NaiveDate::from_ymd_opt(2026, 12, 1).unwrap());
    assert!(reading.to_text(false).contains("BOX"), "{}", reading.to_text(false));
    let _ = attempt(&k, &old, &History::as_planned(&old, at("2026-12-10 12:00")));
}

#[test]
fn typed_26_for_2_6_and_pounds_for_kilograms_are_refused_with_the_measure_that_binds() {
    let (k, old) = pair();
    let history = History::as_planned(&old, at("2026-12-04 12:00"));
    let mut heavy = k.clone();
    heavy.joints[0].weighed = Some(Mass::kg(26.0));
    match attempt(&heavy, &old, &history) {
        Err(Refusal::NoRoom { says }) => assert!(says[0].starts_with("J1") && says[0].contains("cm"), "{says:?}"),
        other => panic!("{other:?}"),
    }
    let weighs = |kg: f64| Question::Weighs { joint: "J1".to_owned(), weight: Mass::kg(kg) };
    let all = asked(&k, &old, &history, &[weighs(26.0), weighs(0.0), weighs(f64::NAN), weighs(5.7)]);
    assert_eq!(all[0].yes, Some(false));
    assert!(all[1].says[0].contains("no weight") && all[2].says[0].contains("no weight"));
    assert_ne!(all[3].yes, Some(true), "2.6 kg typed as 5.7 lb");
}

#[test]
fn a_turn_logged_for_yesterday_or_twice() {
    let (k, old) = pair();
    let turn = old.tasks.iter().filter(|t| t.id.starts_with("turn ")).nth(1).unwrap();
    let now = turn.start.to_utc() + TimeDelta::hours(1);
    let mut history = History::as_planned(&old, now);
    let yesterday = turn.start.to_utc() - TimeDelta::days(1);
    // Twice is once: the record keeps one fact for a task.
    for _ in 0..2 {
        fact(&mut history, &turn.id, yesterday, Some(yesterday + TimeDelta::minutes(10)), State::Done);
    }
    let r = again(&k, &old, &history);
    assert_eq!(r.plan.tasks.iter().filter(|t| t.id == turn.id).count(), 1);
    assert!(r.difference.moved.len() <= 1, "{}", r.difference.to_text());
}

#[test]
fn questions_in_one_batch_are_answered_with_dates_and_bind_to_nothing() {
    let (k, old) = pair();
    let history = History::as_planned(&old, at("2026-12-04 12:00"));
    let joint = |n: &str| n.to_owned();
    let day = |d: &str| Moment::parse(d).unwrap();
    let questions = [
        Question::Away { who: Some("R".to_owned()), from: day("2026-12-15"), to: day("2026-12-18") },
        Question::Away { who: None, from: day("2026-12-05 12:00"), to: day("2026-12-23 12:00") },
        Question::AnotherTub { like: Some("BOX".to_owned()) },
        Question::LatestCollection,
        Question::Weighs { joint: joint("J1"), weight: Mass::kg(3.4) },
        Question::Halve { joint: joint("J1") },
        Question::Swap { one: joint("J1"), other: joint("J2") },
        Question::OneMore { weight: Mass::kg(1.2), outcome: Outcome::GammonJoint, ready_by: None },
        Question::Home {
            date: day("2026-12-19"),
            from: turnday::kitchen::Clock::at(7, 0),
            to: turnday::kitchen::Clock::at(12, 0),
        },
        Question::Binds,
        Question::Weighs { joint: joint("nobody"), weight: Mass::kg(2.0) },
    ];
    let all = asked(&k, &old, &history, &questions);
    for a in &all {
        println!("{}", a.to_text());
        assert!(!a.says.is_empty(), "{}", a.asked);
    }
    assert_eq!(all[0].yes, Some(true));
    // Eighteen days without anybody: no turns, no plan.
    assert_eq!(all[1].yes, Some(false));
    assert!(all[2].yes.is_some());
    // The trade reckons Sun 6 Dec 18:36 with a day's rest and no slack; a little later with the least rest.
    let latest = all[3].at.unwrap().to_utc();
    assert!(latest > at("2026-12-04 18:00") && latest <= at("2026-12-09 03:36"), "{latest}");
    assert_eq!(all[4].yes, Some(false));
    assert!(all[4].says.iter().any(|s| s.contains("20.4 days")), "{:?}", all[4].says);
    assert!(all[4].ways.iter().any(|w| w.says.contains("cut J1 in two")));
    assert_eq!(all[5].yes, Some(true));
    assert_eq!((all[7].yes, all[7].at), (Some(true), None));
    assert!(all[10].says[0].contains("no joint is called"));
    assert!(serde_json::to_string(&all).unwrap().contains("\"ask\":\"away\""));
}

/// Every tub is taken, and pork does not keep until one is free: it has to be collected when there is room.
#[test]
fn one_more_joint_waits_for_a_tub_at_the_butchers() {
    let (mut k, old) = pair();
    k.kit.tubs.retain(|t| old.loads.iter().any(|l| l.tub == t.name));
    let history = History::as_planned(&old, at("2026-12-04 12:00"));
    let more =
        |by: Option<Moment>| Question::OneMore { weight: Mass::kg(1.2), outcome: Outcome::GammonJoint, ready_by: by };
    let soon = old.joints.iter().map(|j| j.lift).min().unwrap() + TimeDelta::days(1);
    let all = asked(&k, &old, &history, &[more(None), more(Some(Moment(soon.naive_local())))]);
    assert_eq!(all[0].yes, Some(true), "{}", all[0].to_text());
    assert!(all[0].says[0].starts_with("Not if it comes Fri 4 Dec 18:00"), "{:?}", all[0].says);
    let collected = all[0].at.unwrap();
    assert!(old.joints.iter().any(|j| j.lift == collected), "{collected}");
    // A cure of a week is not over a day after that.
    assert_eq!((all[1].yes, all[1].at), (Some(false), None), "{}", all[1].to_text());
}

/// As many more as one by one have room: the plan with all of them keeps every limit, one more than that has none now.
#[test]
fn as_many_more_as_have_room_one_by_one() {
    let (k, old) = pair();
    let history = History::as_planned(&old, at("2026-12-04 12:00"));
    let many = Question::HowMany { weight: Mass::kg(1.2), outcome: Outcome::GammonJoint };
    let more = Question::OneMore { weight: Mass::kg(1.2), outcome: Outcome::GammonJoint, ready_by: None };
    let answer = &asked(&k, &old, &history, std::slice::from_ref(&many))[0];
    let with = answer.kitchen.clone().expect("there is room for one: the test before asks for it");
    let found = with.joints.len() - k.joints.len();
    assert!(found >= 1 && answer.says[0].starts_with(&format!("{found} more of 1.2 kg")), "{}", answer.to_text());
    let r = again(&with, &old, &history);
    assert_eq!(r.plan.joints.len(), with.joints.len());
    assert!(found == 8 || r.plan.joints.iter().all(|j| j.ready_by.is_none_or(|by| j.ready <= by)));
    // Where all tubs are taken there is room for none now, and it says why and what to ask.
    let mut full = k.clone();
    full.kit.tubs.retain(|t| old.loads.iter().any(|l| l.tub == t.name));
    let all = asked(&full, &old, &history, &[many, more]);
    assert_eq!((all[0].yes, all[0].kitchen.is_none()), (Some(false), true), "{}", all[0].to_text());
    assert!(all[0].says.len() > 2 && all[0].says.last().unwrap().contains("more 1.2 joint"), "{:?}", all[0].says);
    assert!(all[1].at.is_some());
}

/// What went wrong before is told with every answer, and is no reason to say no to something that changes nothing about it.
#[test]
fn a_limit_missed_already_counts_against_no_what_if() {
    let (k, old) = pair();
    let lift = old.tasks.iter().find(|t| t.id == "lift J2").unwrap();
    let early = old.joints.iter().find(|j| j.name == "J2").unwrap().cured.to_utc() - TimeDelta::days(2);
    assert!(early < lift.start.to_utc());
    let mut history = History::as_planned(&old, early);
    fact(&mut history, "lift J2", early - TimeDelta::minutes(15), Some(early), State::Done);
    let missed = again(&k, &old, &history).deviations.into_iter().find(|d| d.decide).expect("lifted too soon").says;
    let day = old.tasks.last().unwrap().end.to_utc().date_naive() + TimeDelta::days(30);
    let beyond = |hour: &str| at(&format!("{day} {hour}")).naive_utc();
    let away = Question::Away { who: None, from: Moment(beyond("08:00")), to: Moment(beyond("12:00")) };
    let answer = &asked(&k, &old, &history, &[away])[0];
    assert!(answer.says.contains(&format!("As it is, too: {missed}")), "{}", answer.to_text());
    assert_eq!(answer.yes, Some(true), "{}", answer.to_text());
}
