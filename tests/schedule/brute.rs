//! Enumeration of every schedule of tiny problems, with nothing but the checker to judge them.

use crate::generator::wild;
use crate::second::second;
use turnday::schedule::*;

/// The best cost of all sound schedules, by trying every combination of starts and choices; `None` when there is none.
/// `Err` when the problem is too large to enumerate.
pub fn enumerate(problem: &Problem) -> Result<Option<Vec<i64>>, ()> {
    let n = problem.activities.len();
    let domains: Vec<(i32, i32)> = problem
        .activities
        .iter()
        .map(|a| match a.pinned {
            Some(p) => (p, p),
            None => (a.release, a.latest.min(problem.horizon - a.duration)),
        })
        .collect();
    let mut size = 1f64;
    for (lo, hi) in &domains {
        size *= f64::from((hi - lo + 1).max(0));
    }
    let mut seen = std::collections::BTreeSet::new();
    for h in &problem.holds {
        if h.same.is_none_or(|s| seen.insert(s)) {
            size *= h.choose.len() as f64;
        }
    }
    if size > 60_000.0 {
        return Err(());
    }
    let mut starts = vec![0; n];
    let mut best = None;
    walk(problem, &domains, 0, &mut starts, &mut best);
    Ok(best)
}

fn walk(problem: &Problem, domains: &[(i32, i32)], i: usize, starts: &mut Vec<i32>, best: &mut Option<Vec<i64>>) {
    if i == starts.len() {
        // The lags are cheap to look at first; the checker looks at them again.
        let holds = |l: &Lag| starts[l.to.0 as usize] - starts[l.from.0 as usize] >= l.least;
        if problem.lags.iter().all(holds) {
            let mut s = Solution { starts: starts.clone(), chosen: vec![0; problem.holds.len()] };
            choose(problem, 0, &mut s, best);
        }
        return;
    }
    for t in domains[i].0..=domains[i].1 {
        starts[i] = t;
        walk(problem, domains, i + 1, starts, best);
    }
}

fn choose(problem: &Problem, h: usize, s: &mut Solution, best: &mut Option<Vec<i64>>) {
    if h == problem.holds.len() {
        let cost = check::recount(problem, s);
        if best.as_ref().is_none_or(|b| cost < *b) && check(problem, s).is_empty() {
            *best = Some(cost);
        }
        return;
    }
    let hold = &problem.holds[h];
    let tied = hold.same.and_then(|same| (0..h).find(|&o| problem.holds[o].same == Some(same)));
    match tied {
        Some(o) => {
            s.chosen[h] = s.chosen[o];
            choose(problem, h + 1, s, best);
        }
        None => {
            for k in 0..hold.choose.len() {
                s.chosen[h] = k as u32;
                choose(problem, h + 1, s, best);
            }
        }
    }
}

#[test]
fn never_better_than_brute_force_and_never_wrongly_impossible() {
    let (mut compared, mut equal, mut missed, mut impossible, mut said, mut proven) = (0, 0, 0, 0, 0, 0);
    for seed in 0..6000 {
        let p = wild(seed, 4);
        let Ok(best) = enumerate(&p) else { continue };
        compared += 1;
        let outcome = solve(&p, &Options { seed, ..Options::default() }, &NodeBudget(2000), &mut |_| {});
        match (outcome, best) {
            (Outcome::Found(a), Some(best)) => {
                assert!(a.cost >= best, "seed {seed}: {:?} is better than the best there is, {best:?}", a.cost);
                // A bound holds for plans that cost on the levels before it what this one costs.
                let same = a.cost.iter().zip(&best).take_while(|(c, b)| c == b).count();
                for (level, (bound, best)) in a.bound.iter().zip(&best).enumerate().take(same + 1) {
                    assert!(bound <= best, "seed {seed}: level {level} bound {bound}, best {best}");
                }
                if a.is_proven_best() {
                    assert_eq!(a.cost, best, "seed {seed}: proven");
                    proven += 1;
                }
                equal += usize::from(a.cost == best);
            }
            (Outcome::Found(_), None) => panic!("seed {seed}: found what does not exist"),
            (Outcome::Impossible { .. }, Some(_)) => panic!("seed {seed}: impossible, but there is a schedule"),
            (Outcome::Impossible { .. }, None) => {
                impossible += 1;
                said += 1;
            }
            (Outcome::Unknown { .. }, Some(_)) => missed += 1,
            (Outcome::Unknown { .. }, None) => impossible += 1,
            (Outcome::Unusable { errors }, _) => panic!("seed {seed}: {errors:?}"),
        }
    }
    let possible = compared - impossible;
    println!(
        "{compared} problems: {possible} possible, best found for {equal} ({proven} proven), none found for {missed}; \
         {impossible} impossible, said so for {said}"
    );
    assert!(possible > 500 && equal * 100 >= possible * 90, "{equal} of {possible}");
    assert!(missed * 100 <= possible * 2, "{missed} of {possible}");
}

#[test]
fn proof_agrees_with_brute_force_on_every_level() {
    let (mut compared, mut proven, mut impossible, mut said) = (0, 0, 0, 0);
    for seed in 0..6000 {
        let p = wild(seed, 4);
        let Ok(best) = enumerate(&p) else { continue };
        compared += 1;
        let options = Options { seed, prove: true, second: second(seed), ..Options::default() };
        let outcome = solve(&p, &options, &NodeBudget(20_000), &mut |a| {
            assert_eq!(check(&p, &a.solution), vec![], "seed {seed}");
        });
        match (outcome, best) {
            (Outcome::Found(a), Some(best)) => {
                assert!(a.cost >= best, "seed {seed}");
                let levels = a.levels_proven();
                assert_eq!(a.cost[..levels], best[..levels], "seed {seed}: said to be proven");
                proven += usize::from(a.is_proven_best());
            }
            (Outcome::Impossible { .. }, None) => {
                impossible += 1;
                said += 1;
            }
            (Outcome::Unknown { .. }, None) => impossible += 1,
            (Outcome::Unknown { .. }, Some(_)) => {}
            (o, best) => panic!("seed {seed}: {o:?}, brute force: {best:?}"),
        }
    }
    println!(
        "{compared} compared, {proven} of {} proven best, {said} of {impossible} said impossible",
        compared - impossible
    );
    assert!(proven * 100 >= (compared - impossible) * 85, "{proven}");
    assert!(said * 100 >= impossible * 95, "{said} of {impossible}");
}
