//! The sequence against every combination of starts, and against every order.

use super::*;
use crate::schedule::search::bounds::Bounds;
use crate::schedule::search::rng::Rng;
use crate::schedule::{
    Activity, ActivityId, Calendar, CalendarId, Force, Hold, Interval, Lag, Level, Reason, ReasonId, Resource, Term,
    check, cost,
};

const LAST: Minute = 11;

/// Joints that go into two tubs, one of them too small for some, on a floor that takes about two, by hands that keep hours
/// and are never short. Lengths are in whole units and some minutes.
fn tubs(seed: u64, joints: u32, unit: usize, last: Minute) -> Problem {
    let horizon = last + 40 * unit as Minute;
    let mut rng = Rng::new(seed);
    let mut below = |n: usize| rng.below(n) as Minute;
    let reason = ReasonId(0);
    let resource = |label: &str, capacity: i32, calendar: Option<CalendarId>| Resource {
        label: label.into(),
        capacity,
        calendar,
        changeover: vec![],
        reason,
    };
    let mut p = Problem { horizon, ..Problem::default() };
    p.reasons.push(Reason { says: "any".into(), force: Force::Means, source: "invented".into() });
    let shut = 3 + below(4);
    let open = vec![Interval { from: 0, to: shut }, Interval { from: shut + 2, to: horizon }];
    p.calendars.push(Calendar { label: "hours".into(), open });
    p.resources = vec![
        resource("large", 1, None),
        resource("small", 1, None),
        resource("floor", 7 + below(5), None),
        resource("hands", 4, Some(CalendarId(0))),
    ];
    let mut late = Vec::new();
    for group in 0..joints {
        let (release, stays) = (below(3 * unit), unit as Minute + below(4 * unit) + 1);
        for (label, duration) in [("put", 1), ("lift", 0)] {
            let latest = if duration == 1 { last } else { horizon };
            p.activities.push(Activity { label: label.into(), duration, group, release, latest, pinned: None, reason });
        }
        let (put, lift) = (ActivityId(2 * group), ActivityId(2 * group + 1));
        p.lags.push(Lag { from: put, to: lift, least: stays, reason });
        p.lags.push(Lag { from: lift, to: put, least: -stays, reason });
        let (from, to) = (p.start(put, 0), p.end(lift, 0));
        let tubs = if below(2) == 0 { vec![ResourceId(0)] } else { vec![ResourceId(0), ResourceId(1)] };
        let holds = [(tubs, 1, to), (vec![ResourceId(2)], 2 + below(4), to), (vec![ResourceId(3)], 1, p.end(put, 0))];
        for (choose, amount, to) in holds {
            p.holds.push(Hold { from, to: vec![to], choose, amount, same: None, reason });
            p.families.push(0);
        }
        late.push(Term::Late { point: to, due: stays + below(4 * unit), weight: 1 + i64::from(below(2)) });
    }
    p.levels = vec![Level { label: "late".into(), unit: "minutes".into(), terms: late }];
    p
}

/// Every sound way of putting them in: when, and at what cost.
fn all_ways(p: &Problem) -> Vec<(Vec<Minute>, i64)> {
    let mut ways = Vec::new();
    let stays: Vec<Minute> = p.lags.iter().step_by(2).map(|l| l.least).collect();
    for n in 0..(LAST + 1).pow(4) {
        let puts: Vec<Minute> = (0..4).map(|j| n / (LAST + 1).pow(j) % (LAST + 1)).collect();
        let starts = puts.iter().zip(&stays).flat_map(|(&put, stays)| [put, put + stays]).collect();
        let mut s = crate::schedule::Solution { starts, chosen: vec![0; p.holds.len()] };
        for tubs in 0..16usize {
            let picks = |j: usize| (tubs >> j & 1) as u32;
            if (0..4).any(|j| picks(j) as usize >= p.holds[3 * j].choose.len()) {
                continue;
            }
            (0..4).for_each(|j| s.chosen[3 * j] = picks(j));
            if check(p, &s).is_empty() {
                ways.push((puts, cost(p, &s)[0]));
                break;
            }
        }
    }
    ways
}

/// Against every combination of starts, judged by the checker, which knows nothing of sequences.
#[test]
fn the_least_sequence_is_the_least_of_all_and_the_windows_hold_every_way_below() {
    let mut crowded = 0;
    for seed in 0..40 {
        let p = tubs(seed, 4, 1, LAST);
        let ways = all_ways(&p);
        let Some(least) = ways.iter().map(|w| w.1).min() else { continue };
        let Ok(model) = Model::new(&p) else { panic!("lags hold together") };
        for mut load in Bounds::new(&model).loads(&model) {
            let Some(mut sequence) = Sequence::new(&model, &load).filter(|s| s.jobs.len() == 4) else { continue };
            // Prices change between one reckoning and the next.
            for (more, below) in [(0, least + 4), (15, least + 1), (5, least + 9), (3, least)] {
                load.improve(more, least + 9);
                load.take_best();
                let rest = Completion::new(&load).expect("small numbers");
                let found = sequence.run(below, &rest, &mut |_| false).expect("a few states");
                assert_eq!(found.bound, least, "seed {seed}, below {below}");
                for (puts, _) in ways.iter().filter(|w| w.1 < below) {
                    for &(activity, lo, hi) in &found.windows {
                        let put = puts[activity as usize / 2];
                        assert!((lo..=hi).contains(&put), "seed {seed}, below {below}: {puts:?} {activity} {lo} {hi}");
                    }
                }
                crowded += usize::from(found.windows.iter().any(|w| w.2 < LAST));
            }
        }
    }
    assert!(crowded > 60, "windows say something: {crowded}");
}

/// The least lateness of all orders, by putting each joint in as early as those before it leave room for.
fn least_of_all_orders(p: &Problem, begun: &mut Vec<(usize, Minute)>) -> i64 {
    let stays = |j: usize| p.lags[2 * j].least;
    let small = |j: usize| p.holds[3 * j].choose.len() == 1;
    let mut best = None;
    for j in 0..p.lags.len() / 2 {
        if begun.iter().any(|b| b.0 == j) {
            continue;
        }
        let fits = |at: Minute| {
            let there = begun.iter().filter(|b| b.1 + stays(b.0) > at).map(|b| b.0);
            let floor: i32 = there.clone().map(|k| p.holds[3 * k + 1].amount).sum();
            let large = there.clone().filter(|&k| small(k)).count();
            p.calendars[0].interval_at(at).is_some()
                && floor + p.holds[3 * j + 1].amount <= p.resources[2].capacity
                && there.count() < 2
                && (large == 0 || !small(j))
        };
        let from = begun.last().map_or(0, |b| b.1).max(p.activities[2 * j].release);
        let at = (from..p.horizon).find(|&t| fits(t)).expect("there is room at last");
        begun.push((j, at));
        let Term::Late { due, weight, .. } = p.levels[0].terms[j] else { panic!("lateness only") };
        let late = weight * i64::from((at + stays(j) - due).max(0));
        let cost = late + if begun.len() * 2 == p.lags.len() { 0 } else { least_of_all_orders(p, begun) };
        begun.pop();
        best = Some(best.map_or(cost, |b: i64| b.min(cost)));
    }
    best.unwrap_or(0)
}

/// Of more joints, where one state makes many others needless.
#[test]
fn the_least_sequence_is_the_least_of_all_orders() {
    let mut needless = 0;
    for seed in 0..24 {
        let p = tubs(seed, 7, 9, 400);
        let least = least_of_all_orders(&p, &mut Vec::new());
        let Ok(model) = Model::new(&p) else { panic!("lags hold together") };
        for mut load in Bounds::new(&model).loads(&model) {
            let Some(mut sequence) = Sequence::new(&model, &load).filter(|s| s.jobs.len() == 7) else { continue };
            for (more, below) in [(15, least + 60), (5, least + 1), (40, least + 90), (3, least), (20, least + 10)] {
                load.improve(more, least + 90);
                load.take_best();
                let rest = Completion::new(&load).expect("small numbers");
                let found = sequence.run(below, &rest, &mut |_| false).expect("a few states");
                assert_eq!(found.bound, least, "seed {seed}, below {below}");
                needless += sequence.steps.len() - (sequence.states.len() - 1);
            }
            // The same at no prices at all: what was paid before is forgotten.
            let free = Bounds::new(&model).loads(&model);
            let rest = Completion::new(&free[0]).expect("small numbers");
            let found = sequence.run(least + 40, &rest, &mut |_| false).expect("a few states");
            assert_eq!(found.bound, least, "seed {seed}, at no prices");
        }
    }
    assert!(needless > 1_000, "{needless}");
}

/// Orders are of beginnings: what is held only later, or twice from there on, is left to the prices.
#[test]
fn what_is_not_held_from_the_beginning_on_is_not_reckoned_with() {
    let refused = |change: &dyn Fn(&mut Problem)| {
        let mut p = tubs(1, 4, 9, 400);
        change(&mut p);
        let Ok(model) = Model::new(&p) else { panic!("lags hold together") };
        let loads = Bounds::new(&model).loads(&model);
        assert!(!loads.is_empty());
        loads.iter().all(|load| Sequence::new(&model, load).is_none())
    };
    assert!(!refused(&|_| {}));
    assert!(refused(&|p| p.holds.iter_mut().for_each(|h| h.from.offset = 1)));
    assert!(refused(&|p| p.holds[2].from.offset = -1));
    assert!(refused(&|p| {
        let twice = p.holds[1].clone();
        p.holds.push(twice);
        p.families.push(0);
    }));
}
