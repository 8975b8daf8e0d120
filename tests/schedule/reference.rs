//! An independent model in OR-Tools CP-SAT (PyPI `ortools`) reads the same exported problem: equal best wherever both
//! prove, and no contradiction anywhere.
//!
//! Needs `python3` (or `$TURNDAY_PYTHON`) with `ortools`; without it the test says so loudly and compares nothing.

use crate::generator::wild;
use crate::kitchen::{Room, kitchen};
use std::process::Command;
use turnday::schedule::*;

fn python() -> Option<String> {
    let python = std::env::var("TURNDAY_PYTHON").unwrap_or_else(|_| "python3".into());
    let ready = Command::new(&python).args(["-c", "import ortools.sat.python.cp_model"]).output();
    if ready.is_ok_and(|o| o.status.success()) {
        return Some(python);
    }
    eprintln!("LEFT OUT: no python with `ortools`: nothing was compared with the reference library (CP-SAT).");
    None
}

pub struct Reference {
    pub status: String,
    pub levels: Vec<(i64, i64)>,
    pub solution: Option<Solution>,
}

/// So many seconds for each level.
fn reference(python: &str, problem: &Problem, seconds: &str) -> Reference {
    told(python, problem, &[seconds, "1"])
}

fn told(python: &str, problem: &Problem, args: &[&str]) -> Reference {
    let file = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(file.path(), export::to_json(problem).unwrap()).unwrap();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/cpsat.py");
    let out = Command::new(python).arg(script).arg(file.path()).args(args).output().unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let read: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    let levels = read["levels"].as_array().unwrap();
    let solution = read.get("starts").map(|s| Solution {
        starts: serde_json::from_value(s.clone()).unwrap(),
        chosen: serde_json::from_value(read["chosen"].clone()).unwrap(),
    });
    Reference {
        status: read["status"].as_str().unwrap().to_owned(),
        levels: levels.iter().map(|l| (l["cost"].as_i64().unwrap(), l["bound"].as_i64().unwrap())).collect(),
        solution,
    }
}

/// Neither side's proof contradicts the other's plan.
fn compare(name: &str, p: &Problem, ours: &Outcome, theirs: &Reference) {
    if let Some(s) = &theirs.solution {
        assert_eq!(check(p, s), vec![], "{name}: the checker accepts the reference plan");
        if theirs.status == "optimal" {
            let stated: Vec<i64> = theirs.levels.iter().map(|l| l.0).collect();
            assert_eq!(check::recount(p, s), stated, "{name}: both reckon the cost alike");
        }
    }
    match ours {
        Outcome::Found(a) => {
            assert_ne!(theirs.status, "infeasible", "{name}");
            for (level, &(cost, bound)) in theirs.levels.iter().enumerate() {
                assert!(bound <= a.cost[level], "{name} level {level}: {} below the proven {bound}", a.cost[level]);
                assert!(a.bound[level] <= cost, "{name} level {level}: bound {} above {cost}", a.bound[level]);
                if a.cost[level] != cost {
                    break;
                }
            }
        }
        Outcome::Impossible { .. } => assert!(theirs.solution.is_none(), "{name}: impossible, yet there is a plan"),
        _ => {}
    }
}

#[test]
fn small_problems_agree_with_the_reference() {
    let Some(python) = python() else { return };
    let (mut equal, mut best) = (0, 0);
    for seed in 0..25 {
        let p = wild(1_000 + seed, 9);
        let ours = solve(&p, &Options::default(), &NodeBudget(20_000), &mut |_| {});
        let theirs = reference(&python, &p, "20");
        compare(&format!("seed {seed}"), &p, &ours, &theirs);
        if let (Outcome::Found(a), "optimal") = (&ours, theirs.status.as_str()) {
            best += 1;
            equal += usize::from(a.cost.iter().zip(&theirs.levels).all(|(c, l)| *c == l.0));
        }
    }
    println!("the reference proved {best} problems best; the same cost was found for {equal}");
    assert!(best >= 10 && equal * 10 >= best * 8, "{equal} of {best}");
}

#[test]
fn a_kitchen_of_one_is_proven_alike() {
    let Some(python) = python() else { return };
    let p = kitchen(1, Room::Tight, 1);
    let options = Options { prove: true, ..Options::default() };
    let ours = solve(&p, &options, &NodeBudget(3_000_000), &mut |_| {});
    let theirs = reference(&python, &p, "60");
    compare("kitchen of one", &p, &ours, &theirs);
    let Outcome::Found(a) = ours else { panic!("{ours:?}") };
    assert!(a.is_proven_best(), "{:?} {:?}", a.cost, a.bound);
    println!("ours {:?}, the reference {:?}, {}", a.cost, theirs.levels, theirs.status);
    assert_eq!(theirs.status, "optimal");
}

/// What the reference proves of the levels of small kitchens is what is proven here, and no plan of its is better.
#[test]
fn small_kitchens_are_proven_alike() {
    let Some(python) = python() else { return };
    let mut alike = 0;
    for (joints, room, seed) in [(2, Room::Loose, 4), (2, Room::Tight, 6), (3, Room::Loose, 6)] {
        let p = kitchen(joints, room, seed);
        let options = Options { prove: true, ..Options::default() };
        let ours = solve(&p, &options, &NodeBudget(150_000), &mut |_| {});
        let theirs = told(&python, &p, &["8", "2", "--total"]);
        compare(&format!("{joints} joints, {room:?}, seed {seed}"), &p, &ours, &theirs);
        let Outcome::Found(a) = ours else { panic!("{ours:?}") };
        let same = |(level, l): (usize, &(i64, i64))| l.0 == l.1 && l.0 == a.cost[level] && a.bound[level] == l.0;
        let levels = theirs.levels.iter().enumerate().take_while(|&x| same(x)).count();
        println!("{joints} joints {room:?} {seed}: {:?}; the reference proves the first {levels} alike", a.cost);
        alike += levels;
        let solution = theirs.solution.expect("the reference has a plan of so few joints in eight seconds");
        let costs = cost(&p, &solution);
        assert!(costs[..a.levels_proven()] >= a.cost[..a.levels_proven()], "{costs:?} under the proven {:?}", a.cost);
    }
    // Lateness, over the cure and cook days of each.
    assert!(alike >= 8, "{alike}");
}

#[test]
fn crowded_kitchens_are_judged_alike() {
    let Some(python) = python() else { return };
    for joints in [4, 8] {
        // No plan by our count of what the tubs and the floor would have to hold: the reference finds none either.
        let p = kitchen(joints, Room::Crowded, 1);
        let ours = solve(&p, &Options { prove: true, ..Options::default() }, &NodeBudget(20_000), &mut |_| {});
        assert!(matches!(ours, Outcome::Impossible { .. }), "{joints} joints: {ours:?}");
        let theirs = reference(&python, &p, "20");
        assert!(theirs.solution.is_none(), "{joints} joints: the reference has a plan");
        println!("{joints} joints too many: the reference says {}", theirs.status);
    }
    // What crowded tubs make late at least, before any proof: never above what the reference reaches.
    let p = kitchen(3, Room::Tight, 1);
    let ours = solve(&p, &Options { prove: true, ..Options::default() }, &NodeBudget(2_000), &mut |_| {});
    let Outcome::Found(a) = ours else { panic!("{ours:?}") };
    assert!(2 * a.bound[0] > a.cost[0], "{:?} {:?}", a.bound, a.cost);
    // All levels together, each with a model of its own: so the first one comes soon.
    let theirs = told(&python, &p, &["20", "1", "--total"]);
    let solution = theirs.solution.expect("the reference has a plan of three joints in twenty seconds");
    assert!(a.bound[0] <= cost(&p, &solution)[0], "{:?}", a.bound);
}
