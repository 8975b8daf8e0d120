//! What a problem says of a cost from elsewhere, against brute force; and schedules moved onto whole steps.

use crate::brute::enumerate;
use crate::generator::wild;
use crate::kitchen::{Room, kitchen};
use turnday::schedule::*;

/// Costs to ask about around the best: as good, a little better and worse on each level, and far off.
fn around(best: &[i64]) -> Vec<Vec<i64>> {
    let mut out = vec![vec![40; best.len()], best.to_vec()];
    for level in 0..best.len() {
        for by in [1, -1, 7] {
            let mut c = best.to_vec();
            c[level] += by;
            // What comes after a level that differs may be anything.
            c[level + 1..].iter_mut().for_each(|x| *x = (*x * 3 + 5) % 11);
            out.push(c);
        }
    }
    out
}

/// Brute force knows the best of all; what is said of any cost must agree with it, whatever was asked before.
#[test]
fn what_is_said_of_a_cost_agrees_with_brute_force() {
    let (mut worse, mut settled, mut better, mut open) = (0, 0, 0, 0);
    for seed in 0..2500 {
        let p = wild(seed, 4);
        let Ok(best) = enumerate(&p) else { continue };
        let mut inquiry = Inquiry::new(&p);
        let levels = p.levels.len();
        let asked = around(&best.clone().unwrap_or(vec![3; levels]));
        for cost in asked.iter().filter(|c| c.iter().all(|x| *x >= 0)) {
            // With little time at first: what is learnt is taken along.
            for nodes in [40, 20_000] {
                let (said, _) = inquiry.ask(cost, &NodeBudget(nodes));
                match (&said, &best) {
                    (Against::Better { solution, cost: found }, Some(best)) => {
                        assert!(found < cost && found >= best, "seed {seed}: {found:?} for {cost:?}");
                        assert_eq!(check(&p, solution), vec![], "seed {seed}");
                        assert_eq!(*found, turnday::schedule::cost(&p, solution), "seed {seed}");
                        better += 1;
                    }
                    (Against::Better { .. }, None) => panic!("seed {seed}: a schedule where there is none"),
                    (Against::Worse, Some(best)) => {
                        assert!(best > cost, "seed {seed}: {cost:?} is as good as {best:?}");
                        worse += 1;
                    }
                    (Against::AtLeast(bounds), Some(best)) => {
                        for (level, bound) in bounds.iter().enumerate() {
                            if best[..level].iter().zip(cost).all(|(b, c)| b <= c) {
                                assert!(best[level] >= *bound, "seed {seed}: {bounds:?} for {cost:?}, best {best:?}");
                            }
                        }
                        if bounds == cost {
                            assert!(best >= cost, "seed {seed}");
                            settled += 1;
                        } else {
                            open += 1;
                        }
                    }
                    (_, None) => {}
                }
            }
        }
    }
    println!("{worse} worse, {settled} as good at most, {better} better, {open} open");
    assert!(worse > 500 && settled > 500 && better > 500, "all of these must come up");
}

/// The same problem with every length, lag and offset a whole number of steps, none shorter than it was.
fn in_whole_steps(mut p: Problem, step: i32) -> Problem {
    let up = |x: i32| (x + step - 1).div_euclid(step) * step;
    p.activities.iter_mut().for_each(|a| a.duration = up(a.duration));
    p.lags.iter_mut().for_each(|l| l.least = up(l.least));
    for h in &mut p.holds {
        h.from.offset = up(h.from.offset);
        h.to.iter_mut().for_each(|t| t.offset = up(t.offset));
    }
    for w in &mut p.within {
        (w.from.offset, w.to.offset) = (up(w.from.offset), up(w.to.offset));
    }
    p
}

/// What is moved is sound and no dearer. Where all is given in steps there often is such a schedule; where it is given to the
/// minute hardly ever.
#[test]
fn a_schedule_comes_onto_whole_steps_at_no_cost() {
    let (mut moved, mut kept) = (0, 0);
    for seed in 0..60 {
        let mut p = kitchen(2, Room::Loose, seed);
        if seed % 2 == 0 {
            p = in_whole_steps(p, 15);
            p.levels.truncate(4);
        }
        let options = Options { seed, prove: true, ..Options::default() };
        let Outcome::Found(answer) = solve(&p, &options, &NodeBudget(3_000), &mut |_| ()) else { continue };
        for step in [5, 15] {
            match on_whole_steps(&p, &answer.solution, step) {
                Some((s, c)) => {
                    assert_eq!(check(&p, &s), vec![], "seed {seed}");
                    assert!(c <= answer.cost && c == cost(&p, &s), "seed {seed}");
                    assert!((0..s.starts.len()).all(|i| s.starts[i] % step == 0 || p.activities[i].pinned.is_some()));
                    moved += 1;
                }
                None => kept += 1,
            }
        }
    }
    println!("{moved} moved, {kept} left");
    assert!(moved > 10 && kept > 10);
}
