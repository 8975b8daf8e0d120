//! Kitchen-like problems: sound plans soon, and better ones later.

use crate::kitchen::{Room, kitchen};
use turnday::schedule::*;

#[test]
fn kitchens_of_every_size_get_a_sound_plan() {
    for (joints, nodes) in [(2, 20_000), (5, 20_000), (24, 20_000), (120, 3_000)] {
        for room in [Room::Loose, Room::Tight] {
            let p = kitchen(joints, room, 3);
            let mut first = None;
            let clock = std::time::Instant::now();
            let outcome = solve(&p, &Options::default(), &NodeBudget(nodes), &mut |a| {
                first.get_or_insert((clock.elapsed(), a.cost.clone()));
            });
            let Outcome::Found(a) = outcome else { panic!("{joints} joints: {outcome:?}") };
            assert_eq!(check(&p, &a.solution), vec![]);
            println!(
                "{joints} joints {room:?}, {} activities: first {:?}; then {:?} bound {:?}, {} nodes in {:?}",
                p.activities.len(),
                first,
                a.cost,
                a.bound,
                a.nodes,
                clock.elapsed()
            );
        }
    }
}

/// Few joints are proven on every level within so many steps, and no proof contradicts a plan found by another seed.
#[test]
fn few_joints_are_proven_on_every_level() {
    let mut all = 0;
    for (joints, room, seed) in [
        (2, Room::Loose, 1),
        (2, Room::Loose, 4),
        (2, Room::Tight, 4),
        (2, Room::Tight, 6),
        (3, Room::Loose, 1),
        (3, Room::Loose, 6),
        (3, Room::Tight, 4),
        (3, Room::Tight, 6),
        (4, Room::Loose, 1),
    ] {
        let p = kitchen(joints, room, seed);
        let proving = Options { prove: true, ..Options::default() };
        let outcome = solve(&p, &proving, &NodeBudget(150_000), &mut |_| {});
        let Outcome::Found(a) = outcome else { panic!("{joints} {room:?} {seed}: {outcome:?}") };
        assert_eq!(check(&p, &a.solution), vec![]);
        println!(
            "{joints} joints {room:?} {seed}: {:?}, {} levels proven, {} nodes",
            a.cost,
            a.levels_proven(),
            a.nodes
        );
        all += usize::from(a.is_proven_best());
        let searching = Options { seed: 7, ..Options::default() };
        let Outcome::Found(b) = solve(&p, &searching, &NodeBudget(60_000), &mut |_| {}) else {
            panic!("{joints} {seed}")
        };
        for level in 0..a.levels_proven() {
            assert!(a.cost[..=level] <= b.cost[..=level], "{joints} {room:?} {seed}: {:?} {:?}", a.cost, b.cost);
        }
    }
    assert!(all >= 8, "{all} of 9");
}

/// Where nothing can be less late, what comes after lateness is bettered all the same, from the plan that is there: looking for less
/// lateness must not lead away from it for good.
#[test]
fn a_plan_that_has_to_be_late_is_bettered_on_the_levels_after() {
    for (joints, room, seed) in [(4, Room::Tight, 1), (4, Room::Tight, 2), (5, Room::Loose, 1), (5, Room::Tight, 1)] {
        let p = kitchen(joints, room, seed);
        let mut few = p.clone();
        few.levels.truncate(4);
        let proving = Options { prove: true, second: Second::Never, ..Options::default() };
        let Outcome::Found(a) = solve(&few, &proving, &NodeBudget(200_000), &mut |_| {}) else {
            panic!("{joints} {seed}")
        };
        assert!(a.is_proven_best() && a.cost[0] > 0, "{joints} {seed}: late, and no less is possible: {:?}", a.cost);
        let was = cost(&p, &a.solution);
        let from = Options { start_from: Some(a.solution), ..Options::default() };
        let Outcome::Found(b) = solve(&p, &from, &NodeBudget(20_000), &mut |_| {}) else { panic!("{joints} {seed}") };
        assert_eq!(check(&p, &b.solution), vec![]);
        println!("{joints} {room:?} {seed}: {was:?} to {:?}", b.cost);
        assert!(b.cost[..4] == was[..4] && b.cost[4..] < was[4..], "{joints} {seed}: {was:?} to {:?}", b.cost);
    }
}
