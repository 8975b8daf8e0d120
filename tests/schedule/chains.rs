//! What the stretches of a chain cost together, against linear programming: `tests/reference/reference.json`, made by
//! `tests/reference/make.py` with scipy (HiGHS).

use serde_json::Value;
use turnday::schedule::*;

/// Rows of numbers as text.
fn rows(v: &Value) -> Vec<Vec<i32>> {
    let text = v.as_str().unwrap();
    text.split(", ").map(|r| r.split(' ').map(|x| x.parse().unwrap()).collect()).collect()
}

/// Starts tied by lags; one level, what the stretches between them cost.
fn problem(chain: &Value) -> Problem {
    let says = |says: &str| Reason { says: says.into(), force: Force::Quality, source: "test".into() };
    let mut p = Problem { horizon: 200_000, reasons: vec![says("a chain")], ..Problem::default() };
    let (reason, group, pinned, duration) = (ReasonId(0), 0, None, 0);
    for (i, w) in rows(&chain["windows"]).iter().enumerate() {
        let label = format!("piece {i}");
        p.activities.push(Activity { label, duration, group, release: w[0], latest: w[1], pinned, reason });
    }
    let id = |i: i32| ActivityId(i as u32);
    p.lags = rows(&chain["lags"]).iter().map(|l| Lag { from: id(l[0]), to: id(l[1]), least: l[2], reason }).collect();
    let mut terms = Vec::new();
    for t in rows(&chain["terms"]) {
        let (from, to) = (p.start(id(t[0]), 0), p.start(id(t[1]), 0));
        terms.push(Term::Over { from, to, good: t[2], weight: t[3].into() });
        terms.push(Term::Under { from, to, good: t[2], weight: t[4].into() });
    }
    p.levels = vec![Level { label: "unevenness".into(), unit: "minutes".into(), terms }];
    p
}

/// Windows are days wide, so a bound that looks at one stretch by itself leaves thousands of minutes open.
#[test]
fn a_chain_costs_what_linear_programming_says() {
    let reference: Value = serde_json::from_str(include_str!("../reference/reference.json")).unwrap();
    let chains = reference["chains"].as_array().unwrap();
    assert!(chains.len() >= 40);
    let mut costly = 0;
    for (k, chain) in chains.iter().enumerate() {
        let p = problem(chain);
        let least = chain["least"].as_i64().unwrap();
        costly += usize::from(least > 0);
        let options = Options { prove: true, ..Options::default() };
        let Outcome::Found(answer) = solve(&p, &options, &NodeBudget(30_000), &mut |_| ()) else {
            panic!("chain {k}: no schedule");
        };
        assert_eq!(check(&p, &answer.solution), vec![], "chain {k}");
        assert_eq!((answer.bound[0], answer.cost[0]), (least, least), "chain {k}");
        // And nothing cheaper is to be had.
        let (said, _) = Inquiry::new(&p).ask(&[least - 1], &NodeBudget(30_000));
        assert!(least == 0 || said == Against::Worse || said == Against::AtLeast(vec![least]), "chain {k}: {said:?}");
    }
    assert!(costly >= 30, "{costly}");
}
