//! Activities that only wait for others ("all is packed"): against brute force and the checker.

use crate::brute::enumerate;
use crate::generator::{Dice, wild};
use turnday::schedule::*;

/// A small problem with one activity more that waits for some of the others and may be due.
fn ended(seed: u64) -> Problem {
    let (mut p, mut d) = (wild(seed, 3), Dice(seed ^ 0x2545_f491));
    let reason = p.activities[0].reason;
    let end = ActivityId(p.activities.len() as u32);
    let lags: Vec<Lag> = (0..p.activities.len())
        .filter(|_| d.chance(80))
        .collect::<Vec<_>>()
        .into_iter()
        .map(|i| (i, p.activities[i].duration + d.between(-1, 2)))
        .map(|(i, least)| Lag { from: ActivityId(i as u32), to: end, least, reason })
        .collect();
    p.lags.extend(lags);
    let group = p.activities[d.below(end.0 as i32) as usize].group;
    p.activities.push(Activity {
        label: "all done".into(),
        duration: 0,
        group,
        release: d.below(3),
        latest: p.horizon,
        pinned: None,
        reason,
    });
    let point = p.start(end, 0);
    let late = Term::Late { point, due: d.below(p.horizon), weight: 1 };
    let first = d.below(p.levels.len() as i32 + 1) as usize;
    match p.levels.get_mut(first) {
        Some(level) => level.terms.push(late),
        None => p.levels.push(Level { label: "late".into(), unit: "minutes".into(), terms: vec![late] }),
    }
    p.levels.push(Level { label: "end".into(), unit: "minutes".into(), terms: vec![Term::At { point, weight: 1 }] });
    p
}

#[test]
fn what_only_waits_is_placed_as_brute_force_places_it() {
    let (mut possible, mut proven) = (0, 0);
    for seed in 0..4000 {
        let p = ended(seed);
        let Ok(best) = enumerate(&p) else { continue };
        for prove in [false, true] {
            let outcome = solve(&p, &Options { seed, prove, ..Options::default() }, &NodeBudget(20_000), &mut |a| {
                assert_eq!(check(&p, &a.solution), vec![], "seed {seed}");
                assert_eq!(a.cost, check::recount(&p, &a.solution), "seed {seed}");
            });
            match (outcome, &best) {
                (Outcome::Found(a), Some(best)) => {
                    assert!(a.cost >= *best, "seed {seed}");
                    let levels = a.levels_proven();
                    assert_eq!(a.cost[..levels], best[..levels], "seed {seed}: said to be proven");
                    possible += usize::from(prove);
                    proven += usize::from(prove && a.is_proven_best());
                }
                (Outcome::Impossible { .. } | Outcome::Unknown { .. }, None) | (Outcome::Unknown { .. }, Some(_)) => {}
                (o, best) => panic!("seed {seed}: {o:?}, brute force: {best:?}"),
            }
        }
    }
    println!("{possible} possible, {proven} proven best");
    assert!(possible > 300 && proven * 100 >= possible * 85, "{proven} of {possible}");
}

#[test]
fn how_far_it_and_what_it_waits_for_may_move_is_sound() {
    let mut seen = 0;
    for seed in 0..1500 {
        let p = ended(seed);
        let Outcome::Found(a) = solve(&p, &Options::default(), &NodeBudget(50), &mut |_| {}) else { continue };
        let end = p.activities.len() - 1;
        let slack = slack(&p, &a.solution).expect("the answer is sound");
        for (i, s) in slack.iter().enumerate() {
            for start in [s.earliest, s.latest] {
                // Its own choice of resource may change, so only what others hold it by is looked at.
                let mut moved = a.solution.clone();
                moved.starts[i] = start;
                let lag = |l: &&Lag| moved.starts[l.to.index()] - moved.starts[l.from.index()] < l.least;
                assert_eq!(p.lags.iter().filter(lag).count(), 0, "seed {seed}, activity {i}: {s:?}");
            }
        }
        let after = |s: &Solution| {
            let waits = p.lags.iter().filter(|l| l.to.index() == end);
            waits.map(|l| s.starts[l.from.index()] + l.least).max().unwrap_or(0)
        };
        seen += usize::from(slack[end].earliest == after(&a.solution).max(p.activities[end].release));
    }
    assert!(seen > 300, "{seen}");
}
