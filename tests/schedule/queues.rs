//! What waiting for one another costs, against Smith's rule (W. E. Smith, Various optimizers for single-stage production, Naval
//! Research Logistics Quarterly 3, 1956): of work for one pair of hands, the sum of weighted waiting is least with what weighs
//! most for its length first.

use crate::generator::Dice;
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
            let Outcome::Found(answer) = solve(&p, &options, &NodeBudget(60_000), &mut |_| ()) else {
                panic!("{k}: no schedule for {pieces:?}");
            };
            assert_eq!(check(&p, &answer.solution), vec![]);
            let best = least(&pieces);
            assert_eq!((answer.bound[0], answer.cost[0]), (best, best), "{k}: {pieces:?}, late {late}");
        }
    }
}
