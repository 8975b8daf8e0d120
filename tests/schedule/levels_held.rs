//! What holds each level, against brute force: whatever is named does hold it, and what is found is not beyond what there is.

use crate::brute::enumerate;
use crate::generator::wild;
use turnday::schedule::*;

/// The problem without the rules of a reason, made by hand here.
fn lifted(p: &Problem, reason: ReasonId) -> Problem {
    let mut q = p.clone();
    q.lags.retain(|l| l.reason != reason);
    q.within.retain(|w| w.reason != reason);
    let kept: Vec<bool> = q.holds.iter().map(|h| h.reason != reason).collect();
    let mut left = kept.iter();
    q.holds.retain(|_| *left.next().expect("one for each hold"));
    let mut left = kept.iter();
    q.families.retain(|_| *left.next().expect("one for each hold"));
    for a in q.activities.iter_mut().filter(|a| a.reason == reason) {
        (a.pinned, a.release, a.latest) = (None, 0, p.horizon);
    }
    for r in q.resources.iter_mut().filter(|r| r.reason == reason) {
        (r.calendar, r.capacity) = (None, 1_000_000);
        r.changeover.clear();
    }
    q
}

#[test]
fn what_is_named_holds_its_level() {
    let (mut named, mut wanted, mut found) = (0, 0, 0);
    for seed in 0..3000 {
        let p = wild(seed, 4);
        let Ok(Some(best)) = enumerate(&p) else { continue };
        let Outcome::Found(a) = solve(&p, &Options::default(), &NodeBudget(2_000), &mut |_| {}) else { continue };
        if a.cost != best {
            continue;
        }
        let reasons: Vec<ReasonId> = (0..p.reasons.len() as u32).map(ReasonId).collect();
        let held = levels_held(&p, &a.solution, &reasons, 500, &NodeBudget(u64::MAX));
        assert!(held.all);
        assert_eq!(held.as_it_is, best, "seed {seed}: the best cannot be bettered with all rules in force");
        for reason in reasons {
            let Ok(Some(without)) = enumerate(&lifted(&p, reason)) else { continue };
            // The first level on which the best without the rule differs can only be better.
            let Some(first) = (0..best.len()).find(|&l| without[l] != best[l]) else {
                assert!(held.by.iter().flatten().all(|h| h.reason != reason), "seed {seed}: {reason:?} holds nothing");
                continue;
            };
            assert!(without[first] < best[first]);
            wanted += 1;
            found += usize::from(held.by[first].iter().any(|h| h.reason == reason));
            for (level, by) in held.by.iter().enumerate() {
                let Some(h) = by.iter().find(|h| h.reason == reason) else { continue };
                named += 1;
                assert!(level >= first, "seed {seed}: nothing before level {first} hangs on {reason:?}");
                assert!(h.cost < best[level]);
                assert!(level > first || h.cost >= without[first], "seed {seed}: better than the best there is");
            }
        }
    }
    println!("{named} named; of {wanted} rules that hold a level {found} are named for it");
    assert!(wanted > 300 && found * 10 >= wanted * 9, "{found} of {wanted}");
}

#[test]
fn stopped_it_says_that_not_all_was_looked_at() {
    let p = (0..100).map(|seed| wild(seed, 4)).find(|p| p.reasons.len() > 1 && enumerate(p).is_ok_and(|b| b.is_some()));
    let p = p.expect("one of a hundred has a schedule");
    let Outcome::Found(a) = solve(&p, &Options::default(), &NodeBudget(2_000), &mut |_| {}) else {
        panic!("a tiny problem with a schedule is solved")
    };
    let held = levels_held(&p, &a.solution, &[ReasonId(0)], 100, &NodeBudget(0));
    assert!(!held.all && held.by.iter().all(Vec::is_empty));
    assert_eq!(held.as_it_is, a.cost);
}
