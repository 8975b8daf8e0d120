//! The solver on kitchen-like problems from the seeded generator of its tests: the first plan, a plan of so many nodes,
//! proof, and the reasons of an impossible one.
//!
//! `cargo bench --bench schedule`

#[path = "../schedule/generator.rs"]
mod generator;
#[path = "../schedule/kitchen.rs"]
mod kitchen;

use divan::Bencher;
use kitchen::{Room, kitchen};
use turnday::schedule::*;

fn main() {
    divan::main();
}

/// Stops as soon as there is any answer.
#[divan::bench(args = [2, 5, 12, 24, 40, 120])]
fn first_plan(b: Bencher, joints: i32) {
    let p = kitchen(joints, Room::Loose, 1);
    b.bench(|| {
        let found = Cancelled::default();
        let flag = found.clone();
        solve(&p, &Options::default(), &found, &mut |_| flag.cancel())
    });
}

#[divan::bench(args = [2, 5, 12, 24], sample_count = 10)]
fn plan_of_10_000_nodes(b: Bencher, joints: i32) {
    let p = kitchen(joints, Room::Tight, 1);
    b.bench(|| solve(&p, &Options::default(), &NodeBudget(10_000), &mut |_| {}));
}

#[divan::bench(sample_count = 3)]
fn proof_of_two_joints(b: Bencher) {
    let p = kitchen(2, Room::Tight, 1);
    let options = Options { prove: true, ..Options::default() };
    b.bench(|| {
        let outcome = solve(&p, &options, &NodeBudget(20_000_000), &mut |_| {});
        assert!(matches!(&outcome, Outcome::Found(a) if a.is_proven_best()));
        outcome
    });
}

#[divan::bench(args = [2, 12, 40], sample_count = 10)]
fn slack_of_a_plan(b: Bencher, joints: i32) {
    let p = kitchen(joints, Room::Loose, 1);
    let Outcome::Found(a) = solve(&p, &Options::default(), &NodeBudget(1_000), &mut |_| {}) else { return };
    b.bench(|| slack(&p, &a.solution));
}

#[divan::bench(args = [2, 12, 40], sample_count = 10)]
fn why_impossible(b: Bencher, joints: i32) {
    let mut p = kitchen(joints, Room::Loose, 1);
    p.reasons.push(Reason { says: "packed by day ten".into(), force: Force::Wish, source: "bench".into() });
    let wish = ReasonId(p.reasons.len() as u32 - 1);
    if let Some(a) = p.activities.iter_mut().rfind(|a| a.label.starts_with("pack")) {
        (a.latest, a.reason) = (10 * 1440, wish);
    }
    b.bench(|| conflict(&p, &NodeBudget(1_000_000)));
}
