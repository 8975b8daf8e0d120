//! The trade's worked plans for two scenarios (job description of the trade, common practice, no source): the planner must
//! match or beat them level by level, on the same judge's reckoning.

use super::support::{file, planned};
use chrono::NaiveDateTime;
use std::collections::HashMap;
use turnday::kitchen::{Kitchen, Limits};
use turnday::plan::Plan;
use turnday::plan::axis::axis_for;
use turnday::plan::judge::judge;
use turnday::process::arrangement::{Arrangement, Cook, Load};
use turnday::process::emit::{Form, Promises, Taken, emit};
use turnday::process::{graph, hours};
use turnday::schedule::{Solution, check, cost};

/// The reference's sharing and times on the kitchen's own graph, somebody free for each task, judged and reckoned.
fn reference(kitchen: &Kitchen, arrangement: &Arrangement, times: &[(String, String)]) -> Vec<i64> {
    let limits = Limits::with(&kitchen.limits);
    let (axis, starts) = axis_for(kitchen, super::support::at("2026-11-01 08:00"), &limits);
    let batch = graph::build(kitchen, &limits, &axis, arrangement, starts, starts).unwrap();
    let emitted = emit(kitchen, &limits, &axis, &batch, &Promises::new(), Form::JUDGED, 0).unwrap();
    let minute = |t: &str| axis.of_civil(NaiveDateTime::parse_from_str(t, "%Y-%m-%d %H:%M").unwrap());
    let at: HashMap<&str, i32> = times.iter().map(|(id, t)| (id.as_str(), minute(t))).collect();
    let mut starts: Vec<i32> = batch
        .graph
        .node_weights()
        .map(|t| *at.get(t.id.as_str()).unwrap_or_else(|| panic!("no reference time for {}", t.id)))
        .collect();
    starts.extend(emitted.problem.activities[starts.len()..].iter().map(|a| a.release));
    let free: Vec<_> = kitchen.people.iter().map(|p| hours::at_work(p, &axis)).collect();
    let mut busy = vec![0; free.len()];
    let mut order: Vec<usize> = (0..emitted.problem.holds.len()).collect();
    let begins = |h: usize| starts[emitted.problem.holds[h].from.activity.index()];
    order.sort_by_key(|h| begins(*h));
    let mut chosen = vec![0; order.len()];
    for h in order {
        let Some(Taken::Person(_)) = emitted.taken[h].first() else { continue };
        let (from, to) = (begins(h), begins(h) + emitted.problem.holds[h].to[0].offset);
        let able = (0..free.len()).find(|p| busy[*p] <= from && free[*p].iter().any(|i| i.from <= from && to <= i.to));
        let label = &emitted.problem.activities[emitted.problem.holds[h].from.activity.index()].label;
        let p = able.unwrap_or_else(|| panic!("nobody is free for {label} at {}", axis.civil(from)));
        busy[p] = to;
        chosen[h] = p as u32;
    }
    let solution = Solution { starts, chosen };
    let broken = check(&emitted.problem, &solution);
    assert!(broken.is_empty(), "{broken:#?}");
    cost(&emitted.problem, &solution)
}

fn levels(kitchen: &Kitchen, plan: &Plan) -> Vec<i64> {
    let verdict = judge(kitchen, plan);
    assert!(verdict.broken.is_empty(), "{:#?}", verdict.broken);
    verdict.levels.into_iter().map(|l| l.1).collect()
}

fn owned(times: &[(&str, &str)]) -> Vec<(String, String)> {
    times.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect()
}

#[test]
fn two_for_a_feast_matches_or_beats_the_reference() {
    let kitchen = file("tests/kitchen/good/small.json");
    let ours = planned(&kitchen, 20_000).unwrap();
    let times = [
        ("brine 1", "2026-12-03 18:00"),
        ("cool 1", "2026-12-03 19:15"),
        ("put in BOX", "2026-12-04 18:30"),
        ("turn BOX 1", "2026-12-07 19:00"),
        ("turn BOX 2", "2026-12-10 19:00"),
        ("turn BOX 3", "2026-12-13 19:00"),
        ("turn BOX 4", "2026-12-16 19:00"),
        ("turn BOX 5", "2026-12-19 19:00"),
        ("lift J2", "2026-12-19 19:10"),
        ("dry J2", "2026-12-19 19:25"),
        ("rest J2", "2026-12-19 19:30"),
        ("lift J1", "2026-12-20 20:30"),
        ("dry J1", "2026-12-20 20:45"),
        ("rest J1", "2026-12-20 20:50"),
        ("firm J2", "2026-12-21 16:30"),
        ("slice J2", "2026-12-21 19:00"),
        ("pack J2", "2026-12-21 19:25"),
        ("freeze J2", "2026-12-21 19:40"),
        ("simmer J1", "2026-12-22 08:30"),
        ("glaze J1", "2026-12-22 12:15"),
        ("bake J1", "2026-12-22 12:30"),
        ("chill J1", "2026-12-22 13:50"),
        ("slice J1", "2026-12-23 10:00"),
        ("pack J1", "2026-12-23 10:35"),
    ];
    let sharing = Arrangement {
        loads: vec![Load { tub: 0, joints: vec![0, 1], turns: 5, nth: None }],
        cooks: vec![Cook { pot: 0, chilling: 0, joints: vec![0] }],
        place: vec![Some(0), None],
        boils: vec![vec![0]],
    };
    let (a, b) = (levels(&kitchen, &ours), reference(&kitchen, &sharing, &owned(&times)));
    eprintln!("small: ours {a:?}, reference {b:?}");
    assert!(a <= b, "ours {a:?} is worse than the reference {b:?}");
}

#[test]
fn five_and_a_weekend_away_matches_or_beats_the_reference() {
    let kitchen = file("tests/kitchen/good/medium.json");
    let ours = planned(&kitchen, 60_000).unwrap();
    let mut times: Vec<(String, String)> = Vec::new();
    let mut set = |id: &str, at: &str| times.push((id.to_owned(), at.to_owned()));
    set("brine 1", "2027-02-19 17:00");
    set("cool 1", "2027-02-19 18:15");
    set("put in T2", "2027-02-20 09:35");
    set("put in T3", "2027-02-20 10:00");
    set("put in T1", "2027-02-20 10:30");
    let days = ["02-23 18", "02-26 18", "03-01 18", "03-04 12", "03-07 12"];
    for (k, d) in days.iter().enumerate() {
        for (i, tub) in ["T1", "T2", "T3"].iter().enumerate() {
            set(&format!("turn {tub} {}", k + 1), &format!("2027-{d}:{}0", i));
        }
    }
    for (id, at) in [
        ("lift C", "2027-03-09 10:00"),
        ("dry C", "2027-03-09 10:15"),
        ("rest C", "2027-03-09 10:20"),
        ("lift D", "2027-03-09 10:20"),
        ("dry D", "2027-03-09 10:35"),
        ("rest D", "2027-03-09 10:40"),
        ("turn T1 6", "2027-03-09 10:40"),
        ("turn T2 6", "2027-03-09 10:50"),
        ("firm D", "2027-03-11 10:00"),
        ("pack C", "2027-03-11 10:10"),
        ("freeze C", "2027-03-11 10:15"),
        ("slice D", "2027-03-11 12:30"),
        ("pack D", "2027-03-11 12:55"),
        ("freeze D", "2027-03-11 13:10"),
        ("turn T1 7", "2027-03-11 18:00"),
        ("turn T2 7", "2027-03-11 18:10"),
        ("lift A", "2027-03-15 17:00"),
        ("dry A", "2027-03-15 17:15"),
        ("rest A", "2027-03-15 17:20"),
        ("lift B", "2027-03-15 17:20"),
        ("dry B", "2027-03-15 17:35"),
        ("rest B", "2027-03-15 17:40"),
        ("turn T2 8", "2027-03-15 17:40"),
        ("turn T2 9", "2027-03-18 12:00"),
        ("lift E", "2027-03-20 09:00"),
        ("dry E", "2027-03-20 09:15"),
        ("rest E", "2027-03-20 09:20"),
        ("simmer A+B", "2027-03-21 08:30"),
        ("glaze A+B", "2027-03-21 13:20"),
        ("bake A+B", "2027-03-21 13:45"),
        ("chill A+B", "2027-03-21 15:10"),
        ("pack A", "2027-03-22 17:00"),
        ("pack B", "2027-03-22 17:05"),
        ("simmer E", "2027-03-26 09:00"),
        ("glaze E", "2027-03-26 14:20"),
        ("bake E", "2027-03-26 14:35"),
        ("chill E", "2027-03-26 15:55"),
        ("slice E", "2027-03-27 12:00"),
        ("pack E", "2027-03-27 12:45"),
    ] {
        set(id, at);
    }
    // The reference turns T1 seven times and shares a pot for A and B.
    let sharing = Arrangement {
        loads: vec![
            Load { tub: 0, joints: vec![0, 1], turns: 7, nth: None },
            Load { tub: 1, joints: vec![4], turns: 9, nth: None },
            Load { tub: 2, joints: vec![2, 3], turns: 5, nth: None },
        ],
        cooks: vec![Cook { pot: 1, chilling: 0, joints: vec![0, 1] }, Cook { pot: 1, chilling: 0, joints: vec![4] }],
        place: vec![Some(1), Some(0), Some(0)],
        boils: vec![vec![0, 1, 2]],
    };
    let (a, b) = (levels(&kitchen, &ours), reference(&kitchen, &sharing, &times));
    eprintln!("medium: ours {a:?}, reference {b:?}");
    assert!(a <= b, "ours {a:?} is worse than the reference {b:?}");
}
