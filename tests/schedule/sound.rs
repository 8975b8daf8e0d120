//! Every answer to every problem passes the second judge, and costs what is said.

use crate::generator::wild;
use proptest::prelude::*;
use turnday::schedule::*;

fn solve_small(problem: &Problem, seed: u64, nodes: u64) -> Outcome {
    let mut last: Option<Vec<i64>> = None;
    let outcome = solve(problem, &Options { seed, ..Options::default() }, &NodeBudget(nodes), &mut |answer| {
        assert_eq!(check(problem, &answer.solution), vec![], "a streamed answer is sound");
        if let Some(before) = &last {
            assert!(answer.cost < *before, "each streamed answer is better than the one before");
        }
        last = Some(answer.cost.clone());
    });
    if let Outcome::Found(answer) = &outcome {
        assert_eq!(check(problem, &answer.solution), vec![]);
        assert_eq!(answer.cost, check::recount(problem, &answer.solution));
        assert_eq!(answer.cost, cost(problem, &answer.solution));
        assert!(answer.bound.iter().zip(&answer.cost).all(|(b, c)| b <= c), "{:?} {:?}", answer.bound, answer.cost);
        assert_eq!(last.as_ref(), Some(&answer.cost), "the answer given is the last one streamed");
    }
    outcome
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 20_000, ..ProptestConfig::default() })]

    #[test]
    fn every_answer_is_sound(seed: u64) {
        solve_small(&wild(seed, 7), seed, 300);
    }

    #[test]
    fn the_same_seed_gives_the_same_answer(seed in 0u64..1_000_000) {
        let p = wild(seed, 6);
        prop_assert_eq!(solve_small(&p, 5, 200), solve_small(&p, 5, 200));
    }
}

/// Two holds of one activity on one resource, each of which fits alone: found by the random problems above.
#[test]
fn two_holds_on_one_resource_count_together() {
    for seed in [6_497_789_734_804_703_231, 5_858_330_369_659_047_045] {
        solve_small(&wild(seed, 7), seed, 300);
    }
}

/// A stretch that is taken out, shrinks to nothing and moves again is taken out once: found by the random problems above.
#[test]
fn a_stretch_that_became_empty_is_taken_out_once() {
    solve_small(&wild(927_995, 6), 5, 200);
}
