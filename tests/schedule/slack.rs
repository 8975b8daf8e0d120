//! Slack against the checker: the ends are sound, and nothing beyond them is.

use crate::generator::wild;
use turnday::schedule::*;

#[test]
fn slack_ends_where_the_checker_says() {
    let mut seen = 0;
    for seed in 0..1500 {
        let p = wild(seed, 6);
        let Outcome::Found(a) = solve(&p, &Options::default(), &NodeBudget(50), &mut |_| {}) else { continue };
        let slack = slack(&p, &a.solution).expect("the answer is sound");
        for (i, s) in slack.iter().enumerate() {
            seen += 1;
            // Sound with some choice of the activity's own holds.
            let sound = |start: i32| {
                let mut moved = a.solution.clone();
                moved.starts[i] = start;
                let own: Vec<usize> = (0..p.holds.len())
                    .filter(|&h| {
                        p.holds[h].from.activity.0 as usize == i
                            || p.holds[h].to.iter().any(|t| t.activity.0 as usize == i)
                    })
                    .collect();
                (0..1 << own.len()).any(|bits: usize| {
                    for (k, &h) in own.iter().enumerate() {
                        moved.chosen[h] = (bits >> k & 1) as u32;
                    }
                    check(&p, &moved).is_empty()
                })
            };
            assert!(sound(s.earliest), "seed {seed} activity {i} {s:?}");
            assert!(sound(s.latest), "seed {seed} activity {i} {s:?}");
            let wide = |from: i32, to: i32| (from..to).filter(|&t| sound(t)).count();
            let beyond = wide(0, s.earliest) + wide(s.latest + 1, p.horizon + 1);
            // Stretches that shrink to nothing jump over what is taken; the search does not look for that.
            let plain = p.holds.iter().all(|h| h.to.iter().all(|t| t.activity == h.from.activity))
                && p.within.iter().all(|w| w.from.activity == w.to.activity);
            if plain && p.holds.iter().all(|h| h.same.is_none()) {
                assert_eq!(beyond, 0, "seed {seed} activity {i} {s:?}");
            }
        }
    }
    assert!(seen > 1000, "{seen}");
}

#[test]
fn what_holds_an_activity_is_named() {
    for seed in 0..500 {
        let p = wild(seed, 6);
        let Outcome::Found(a) = solve(&p, &Options::default(), &NodeBudget(50), &mut |_| {}) else { continue };
        for i in 0..p.activities.len() {
            for (side, held) in binding(&p, &a.solution, ActivityId(i as u32)) {
                let mut moved = a.solution.clone();
                moved.starts[i] += if side == Side::Earlier { -1 } else { 1 };
                match held {
                    Held::By(r) => {
                        assert!(check(&p, &moved).iter().any(|v| v.reason == Some(r)), "seed {seed}");
                    }
                    Held::ByHorizon => assert!(check(&p, &moved).iter().any(|v| v.reason.is_none())),
                    Held::ByLevel(_) => assert!(cost(&p, &moved) > a.cost, "seed {seed}"),
                }
            }
        }
    }
}
