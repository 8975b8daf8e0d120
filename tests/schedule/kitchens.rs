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
