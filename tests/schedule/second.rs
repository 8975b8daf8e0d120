//! Two provers side by side come to what one comes to alone, and to the same each time.

use crate::generator::wild;
use crate::kitchen::{Room, kitchen};
use turnday::schedule::*;

/// In every other test a second prover is there from the begin.
pub fn second(seed: u64) -> Second {
    if seed.is_multiple_of(2) { Second::AtOnce } else { Second::WhenLong }
}

fn solved(p: &Problem, second: Second, nodes: u64) -> (Vec<Answer>, Outcome) {
    let mut better = Vec::new();
    let options = Options { prove: true, second, ..Options::default() };
    let outcome = solve(p, &options, &NodeBudget(nodes), &mut |a| better.push(a.clone()));
    (better, outcome)
}

#[test]
fn two_come_to_the_same_each_time() {
    for (joints, room, nodes) in [(3, Room::Loose, 40_000), (4, Room::Tight, 25_000), (5, Room::Loose, 30_000)] {
        let p = kitchen(joints, room, 2);
        let (first, second) = (solved(&p, Second::AtOnce, nodes), solved(&p, Second::AtOnce, nodes));
        assert_eq!(first, second, "{joints} joints, {room:?}");
    }
}

#[test]
fn two_prove_what_one_proves() {
    let mut proven = 0;
    for (joints, room, seed) in
        [(2, Room::Loose, 1), (2, Room::Tight, 2), (3, Room::Loose, 3), (3, Room::Tight, 1), (4, Room::Tight, 2)]
    {
        let p = kitchen(joints, room, seed);
        let (_, alone) = solved(&p, Second::Never, 200_000);
        let Outcome::Found(alone) = alone else { panic!("{joints} {room:?} {seed}: {alone:?}") };
        for nodes in [10_000, 30_000, 200_000] {
            let (_, two) = solved(&p, Second::AtOnce, nodes);
            let Outcome::Found(two) = two else { panic!("{joints} {room:?} {seed}: {two:?}") };
            assert_eq!(check(&p, &two.solution), vec![]);
            // No bound of either is above what the other has found.
            for (a, b) in [(&alone, &two), (&two, &alone)] {
                let known = a.levels_proven();
                assert_eq!(a.cost[..known], a.bound[..known]);
                assert!(a.bound <= b.cost, "{joints} {room:?} {seed}: {:?} above {:?}", a.bound, b.cost);
                assert!(a.cost[..known] <= b.cost[..known], "{joints} {room:?} {seed}: {:?} {:?}", a.cost, b.cost);
            }
            proven += usize::from(two.is_proven_best() && alone.cost == two.cost);
        }
    }
    assert!(proven >= 8, "{proven} of 15");
}

/// What is impossible stays so, and the reasons are the same.
#[test]
fn two_say_the_same_of_what_is_impossible() {
    let mut impossible = 0;
    for seed in 0..400 {
        let p = wild(seed, 4);
        let ((_, one), (_, two)) = (solved(&p, Second::Never, 5_000), solved(&p, Second::AtOnce, 5_000));
        match (&one, &two) {
            (Outcome::Found(a), Outcome::Found(b)) => assert!(a.bound <= b.cost && b.bound <= a.cost, "seed {seed}"),
            (Outcome::Impossible { .. }, Outcome::Impossible { .. }) => {
                assert_eq!(one, two, "seed {seed}");
                impossible += 1;
            }
            _ => assert!(
                !matches!(
                    (&one, &two),
                    (Outcome::Impossible { .. }, Outcome::Found(_)) | (Outcome::Found(_), Outcome::Impossible { .. })
                ),
                "seed {seed}: {one:?} and {two:?}"
            ),
        }
    }
    assert!(impossible > 20, "{impossible}");
}
