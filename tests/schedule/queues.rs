//! What waiting for one another costs, against Smith's rule (W. E. Smith, Various optimizers for single-stage production, Naval
//! Research Logistics Quarterly 3, 1956): of work for one pair of hands, the sum of weighted waiting is least with what weighs
//! most for its length first.

use crate::generator::Dice;
use crate::second::second;
use turnday::schedule::*;

/// Lengths and weights; each piece is tied to a moment of its own joint, and costs its weight for each minute away from it.
fn problem(pieces: &[(i32, i64)], late: bool) -> Problem {
    let reason = ReasonId(0);
    let says = Reason { says: "one pair of hands".into(), force: Force::Means, source: "test".into() };
    let mut p = Problem { horizon: 3_000, reasons: vec![says], ..Problem::default() };
    let label = "hands".to_owned();
    p.resources.push(Resource { label, capacity: 1, calendar: None, changeover: vec![], reason });
    let mut terms = Vec::new();
    for (i, &(length, weight)) in pieces.iter().enumerate() {
        let group = i as u32;
        let mut put = |label: String, duration, pinned: Option<i32>| {
            p.activities.push(Activity {
                label,
                duration,
                group,
                release: 0,
                latest: 3_000 - duration,
                pinned,
                reason,
            });
            ActivityId(p.activities.len() as u32 - 1)
        };
        let moment = put(format!("moment {i}"), 0, Some(1_500));
        let piece = put(format!("piece {i}"), length, None);
        let (begin, end) = (p.start(piece, 0), p.end(piece, 0));
        p.holds.push(Hold { from: begin, to: vec![end], choose: vec![ResourceId(0)], amount: 1, same: None, reason });
        p.families.push(0);
        let at = p.start(moment, 0);
        // Two terms, so that each joint has a cost of its own: half the weight each.
        if late {
            p.lags.push(Lag { from: piece, to: moment, least: length, reason });
            terms.extend([1, weight - 1].map(|weight| Term::Over { from: end, to: at, good: 0, weight }));
        } else {
            p.lags.push(Lag { from: moment, to: piece, least: 0, reason });
            terms.extend([1, weight - 1].map(|weight| Term::Over { from: at, to: begin, good: 0, weight }));
        }
    }
    p.levels = vec![Level { label: "waiting".into(), unit: "minutes".into(), terms }];
    p
}

/// Smith's rule.
fn least(pieces: &[(i32, i64)]) -> i64 {
    let mut order = pieces.to_vec();
    order.sort_by(|a, b| (b.1 * i64::from(a.0)).cmp(&(a.1 * i64::from(b.0))));
    let (mut now, mut cost) = (0, 0);
    for (length, weight) in order {
        cost += now * weight;
        now += i64::from(length);
    }
    cost
}

/// Ten pieces are 3.6 million orders; the bound settles them without going through any of them.
#[test]
fn waiting_costs_what_smiths_rule_says() {
    let mut dice = Dice(7);
    for k in 0..30 {
        let n = dice.between(2, 10);
        let pieces: Vec<(i32, i64)> =
            (0..n).map(|_| (5 * dice.between(1, 12), i64::from(dice.between(2, 6)))).collect();
        for late in [false, true] {
            let p = problem(&pieces, late);
            let options = Options { prove: true, ..Options::default() };
            let Outcome::Found(answer) = solve(&p, &options, &NodeBudget(100_000), &mut |_| ()) else {
                panic!("{k}: no schedule for {pieces:?}");
            };
            assert_eq!(check(&p, &answer.solution), vec![]);
            let best = least(&pieces);
            assert_eq!((answer.bound[0], answer.cost[0]), (best, best), "{k}: {pieces:?}, late {late}");
        }
    }
}

/// A few pieces in blocks tied by lags, one pair of hands for most of them, and stretches that are good at some length within
/// a block and across blocks.
fn crossed(seed: u64) -> Problem {
    let mut d = Dice(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15));
    let reason = ReasonId(0);
    let says = Reason { says: "one pair of hands".into(), force: Force::Means, source: "test".into() };
    let mut p = Problem { horizon: 12, reasons: vec![says], ..Problem::default() };
    let label = "hands".to_owned();
    p.resources.push(Resource { label, capacity: 1, calendar: None, changeover: vec![], reason });
    let n = d.between(3, 5);
    for i in 0..n {
        let duration = d.between(1, 2);
        let (group, release) = ((i / 2) as u32, d.below(3));
        let latest = release + d.between(2, 7);
        let label = format!("piece {i}");
        p.activities.push(Activity { label, duration, group, release, latest, pinned: None, reason });
        let piece = ActivityId(i as u32);
        if d.chance(80) {
            let (from, to) = (p.start(piece, 0), p.end(piece, 0));
            p.holds.push(Hold { from, to: vec![to], choose: vec![ResourceId(0)], amount: 1, same: None, reason });
            p.families.push(0);
        }
        if i % 2 == 1 && d.chance(70) {
            let from = ActivityId(i as u32 - 1);
            p.lags.push(Lag { from, to: piece, least: d.between(0, 2), reason });
            p.lags.push(Lag { from: piece, to: from, least: -d.between(2, 6), reason });
        }
    }
    let terms = (0..d.between(3, 6)).map(|_| {
        let from = ActivityId(d.below(n) as u32);
        let to = ActivityId((from.0 as i32 + d.between(1, n - 1)).rem_euclid(n) as u32);
        let (from, to) = (p.start(from, 0), p.start(to, 0));
        let (good, weight) = (d.between(-2, 6), i64::from(d.between(1, 3)));
        if d.chance(50) { Term::Over { from, to, good, weight } } else { Term::Under { from, to, good, weight } }
    });
    let terms = terms.collect();
    p.levels = vec![Level { label: "unevenness".into(), unit: "minutes".into(), terms }];
    p
}

#[test]
fn stretches_across_blocks_agree_with_brute_force() {
    let (mut proven, mut costly) = (0, 0);
    for seed in 0..3000 {
        let p = crossed(seed);
        let Ok(Some(best)) = crate::brute::enumerate(&p) else { continue };
        let options = Options { prove: true, second: second(seed), ..Options::default() };
        let Outcome::Found(answer) = solve(&p, &options, &NodeBudget(20_000), &mut |_| ()) else {
            panic!("seed {seed}: no schedule");
        };
        assert!(answer.bound[0] <= best[0] && answer.cost >= best, "seed {seed}: {:?}, best {best:?}", answer.bound);
        let (said, _) = Inquiry::new(&p).ask(&[best[0] + 1], &NodeBudget(20_000));
        assert!(matches!(&said, Against::Better { cost, .. } if *cost == best), "seed {seed}: {said:?}, best {best:?}");
        proven += usize::from(answer.is_proven_best());
        costly += usize::from(best[0] > 0);
    }
    println!("{proven} proven, {costly} that cost something");
    assert!(proven > 1000 && costly > 800, "{proven} {costly}");
}
