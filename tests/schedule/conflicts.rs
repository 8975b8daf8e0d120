//! Impossible, because: the reasons cannot hold together, and leaving out any one of them can.

use crate::brute::enumerate;
use crate::generator::wild;
use crate::kitchen::{Room, kitchen};
use turnday::schedule::*;

/// The problem under the rules of these reasons alone.
fn only(p: &Problem, kept: &[ReasonId]) -> Problem {
    let rest: Vec<ReasonId> = (0..p.reasons.len() as u32).map(ReasonId).filter(|r| !kept.contains(r)).collect();
    without(p, &rest)
}

#[test]
fn conflicts_are_true_and_minimal_by_brute_force() {
    let (mut seen, mut minimal, mut checked) = (0, 0, 0);
    for seed in 0..1500 {
        let p = wild(seed, 4);
        let Outcome::Impossible { .. } =
            solve(&p, &Options { prove: true, ..Options::default() }, &NodeBudget(5_000), &mut |_| {})
        else {
            continue;
        };
        let Some(c) = conflict(&p, &NodeBudget(1_000_000)) else {
            panic!("seed {seed}: impossible without a conflict")
        };
        seen += 1;
        if let Ok(best) = enumerate(&only(&p, &c.reasons)) {
            checked += 1;
            assert_eq!(best, None, "seed {seed}: these reasons can hold together");
        }
        if !c.minimal {
            continue;
        }
        minimal += 1;
        for r in &c.reasons {
            let fewer: Vec<ReasonId> = c.reasons.iter().copied().filter(|x| x != r).collect();
            if let Ok(best) = enumerate(&only(&p, &fewer)) {
                assert!(best.is_some(), "seed {seed}: {r:?} is not needed");
            }
        }
    }
    println!("{seen} conflicts, {minimal} minimal, {checked} checked by enumeration");
    assert!(seen > 150 && minimal * 10 >= seen * 8 && checked * 2 > seen);
}

#[test]
fn an_impossible_kitchen_is_explained() {
    // Due dates as rules: each joint must be packed two days before it can be.
    let mut p = kitchen(12, Room::Loose, 1);
    let reason = |p: &mut Problem, says: String| {
        p.reasons.push(Reason { says, force: Force::Wish, source: "test".into() });
        ReasonId(p.reasons.len() as u32 - 1)
    };
    let Outcome::Found(a) = solve(&p, &Options::default(), &NodeBudget(2_000), &mut |_| {}) else { panic!() };
    for i in 0..p.activities.len() {
        if p.activities[i].label.starts_with("pack") {
            let says = format!("{} in time", p.activities[i].label);
            let why = reason(&mut p, says);
            p.activities[i].reason = why;
            p.activities[i].latest = a.solution.starts[i] + 3 * 1440;
        }
    }
    // One joint a month too early.
    let i = p.activities.iter().position(|a| a.label == "pack 3").unwrap();
    p.activities[i].latest = 10 * 1440;
    let outcome = solve(&p, &Options { prove: true, ..Options::default() }, &NodeBudget(50_000), &mut |_| {});
    let Outcome::Impossible { because } = outcome else { panic!("{outcome:?}") };
    let says: Vec<&str> = because.iter().map(|r| p.reasons[r.index()].says.as_str()).collect();
    println!("{says:?}");
    assert!(says.contains(&"pack 3 in time"));
    assert!(because.len() <= 3, "{says:?}");
    let c = conflict(&p, &NodeBudget(1_000_000)).unwrap();
    assert!(c.minimal);
    let lifted = lifted_by(&p, &c, 20_000);
    assert!(lifted.contains(&p.activities[i].reason), "{lifted:?}");
}

/// Too many joints by a day, none of them impossible alone: only what the cold floor would have to hold shows it.
#[test]
fn a_kitchen_too_crowded_is_explained() {
    let p = kitchen(12, Room::Crowded, 1);
    let c = conflict(&p, &NodeBudget(1_000_000)).expect("a fifth less than the tubs would need");
    assert!(c.minimal, "{c:?}");
    let says: Vec<&str> = c.reasons.iter().map(|r| p.reasons[r.index()].says.as_str()).collect();
    let wishes = says.iter().filter(|s| s.starts_with("pack")).count();
    assert!((4..12).contains(&wishes), "{says:?}");
    let floor = p.resources.iter().position(|r| r.label.starts_with("cold floor")).unwrap();
    assert!(says.contains(&p.resources[floor].label.as_str()), "{says:?}");
    // By our own count: what the named joints hold of the floor until the day is most of what there is of it; the days before a
    // joint can go in and after it must be out are not taken off here.
    let by = p.activities.iter().filter(|a| a.label.starts_with("pack")).map(|a| a.latest).max().unwrap();
    let mut held = 0i64;
    for h in p.holds.iter().filter(|h| h.choose[0].index() == floor) {
        let joint = p.activities[h.from.activity.index()].label.trim_start_matches("put in ").to_owned();
        if says.iter().any(|s| s.starts_with(&format!("pack {joint} "))) {
            let cure = p.lags.iter().filter(|l| l.from == h.from.activity).map(|l| l.least).max().unwrap();
            held += i64::from(cure) * i64::from(h.amount);
        }
    }
    let there = i64::from(p.resources[floor].capacity) * i64::from(by);
    assert!(10 * held > 6 * there, "{held} of {there}");
    let outcome = solve(&p, &Options { prove: true, ..Options::default() }, &NodeBudget(20_000), &mut |_| {});
    assert!(matches!(outcome, Outcome::Impossible { .. }), "{outcome:?}");
}
