//! Bounds of crowded resources, against Held and Karp's dynamic programme (1962) and against every list.

use crate::generator::Dice;
use crate::second::second;
use turnday::schedule::*;

struct Job {
    length: i32,
    due: i32,
    /// Minutes from the machine to the moment that is due.
    tail: i32,
}

fn jobs(dice: &mut Dice, many: usize, machines: i32) -> Vec<Job> {
    let lengths: Vec<i32> = (0..many).map(|_| dice.between(20, 400)).collect();
    let all: i32 = lengths.iter().sum::<i32>() / machines;
    (lengths.into_iter())
        .map(|length| Job { length, due: length + dice.between(0, all * 2 / 3), tail: dice.between(0, 60) })
        .collect()
}

fn problem(jobs: &[Job], machines: i32) -> Problem {
    let reason = |says: &str| Reason { says: says.into(), force: Force::Means, source: "invented".into() };
    let horizon = jobs.iter().map(|j| j.length + j.tail).sum::<i32>() + 10;
    let mut p = Problem { horizon, reasons: vec![reason("a machine"), reason("a tail")], ..Problem::default() };
    p.resources = vec![Resource {
        label: "machine".into(),
        capacity: machines,
        calendar: None,
        changeover: vec![],
        reason: ReasonId(0),
    }];
    let mut late = Vec::new();
    for (j, job) in jobs.iter().enumerate() {
        let mut add = |label: String, duration: i32| {
            p.activities.push(Activity {
                label,
                duration,
                group: j as u32,
                release: 0,
                latest: horizon,
                pinned: None,
                reason: ReasonId(0),
            });
            ActivityId(p.activities.len() as u32 - 1)
        };
        let (work, end) = (add(format!("work {j}"), job.length), add(format!("end {j}"), 0));
        p.lags.push(Lag { from: work, to: end, least: job.length + job.tail, reason: ReasonId(1) });
        let (from, to) = (p.start(work, 0), vec![p.end(work, 0)]);
        p.holds.push(Hold { from, to, choose: vec![ResourceId(0)], amount: 1, same: None, reason: ReasonId(0) });
        p.families.push(0);
        late.push(Term::Late { point: p.start(end, 0), due: job.due, weight: 1 });
    }
    p.levels = vec![Level { label: "lateness".into(), unit: "minutes".into(), terms: late }];
    p
}

/// Least total tardiness on one machine: by subset, whichever job comes last.
fn held_and_karp(jobs: &[Job]) -> i64 {
    let mut best = vec![i64::MAX; 1 << jobs.len()];
    best[0] = 0;
    for set in 1usize..1 << jobs.len() {
        let end: i32 = (0..jobs.len()).filter(|j| set >> j & 1 == 1).map(|j| jobs[j].length).sum();
        for j in (0..jobs.len()).filter(|j| set >> j & 1 == 1) {
            let late = i64::from((end + jobs[j].tail - jobs[j].due).max(0));
            best[set] = best[set].min(best[set & !(1 << j)] + late);
        }
    }
    best[best.len() - 1]
}

/// Least total tardiness on several machines: each list, the next job to the machine that is free first.
fn by_lists(jobs: &[Job], free: &mut Vec<i32>, used: &mut Vec<bool>) -> i64 {
    let mut best = None;
    for j in 0..jobs.len() {
        if used[j] {
            continue;
        }
        used[j] = true;
        let k = (0..free.len()).min_by_key(|&k| free[k]).unwrap();
        free[k] += jobs[j].length;
        let late = i64::from((free[k] + jobs[j].tail - jobs[j].due).max(0)) + by_lists(jobs, free, used);
        free[k] -= jobs[j].length;
        used[j] = false;
        best = Some(best.map_or(late, |b: i64| b.min(late)));
    }
    best.unwrap_or(0)
}

fn answer(p: &Problem, nodes: u64) -> Answer {
    let options = Options { prove: true, second: second(nodes / 2_000), ..Options::default() };
    match solve(p, &options, &NodeBudget(nodes), &mut |_| {}) {
        Outcome::Found(a) => a,
        other => panic!("there is always a plan: {other:?}"),
    }
}

#[test]
fn a_bound_is_never_above_the_least_tardiness() {
    let mut proven = 0;
    for seed in 0..150 {
        let mut dice = Dice(0x70AD + seed);
        let machines = 1 + (seed % 3) as i32;
        let jobs = jobs(&mut dice, if machines == 1 { 9 } else { 6 }, machines);
        let least = if machines == 1 {
            held_and_karp(&jobs)
        } else {
            by_lists(&jobs, &mut vec![0; machines as usize], &mut vec![false; jobs.len()])
        };
        // Stopped at several moments, so that a bound is seen before the proof engine has settled everything.
        for nodes in [1, 2_000, 6_000, 60_000] {
            let a = answer(&problem(&jobs, machines), nodes);
            assert!(a.bound[0] <= least, "seed {seed}, {nodes} nodes: bound {} above {least}", a.bound[0]);
            assert!(a.cost[0] >= least, "seed {seed}: {} below {least}", a.cost[0]);
            proven += usize::from(nodes == 60_000 && a.is_proven_best());
        }
    }
    assert!(proven >= 100, "{proven} of 150 proven");
}

/// So many that the proof engine by itself does not come to the end: the order is reckoned exactly (`search/sequence.rs`).
#[test]
fn thirteen_jobs_on_one_machine_are_proven_least_tardy() {
    let mut reckoned = 0;
    for seed in 0..12 {
        let jobs = jobs(&mut Dice(0x13AD + seed), 13, 1);
        let (p, least) = (problem(&jobs, 1), held_and_karp(&jobs));
        for nodes in [45_000, 70_000, 200_000] {
            let a = answer(&p, nodes);
            assert!(
                a.bound[0] <= least && least <= a.cost[0],
                "seed {seed}, {nodes}: {:?} {:?} {least}",
                a.bound,
                a.cost
            );
            reckoned += usize::from(a.is_proven_best());
        }
        assert!(answer(&p, 200_000).is_proven_best(), "seed {seed}");
    }
    assert!(reckoned >= 24, "{reckoned}");
}

#[test]
fn many_jobs_on_few_machines_have_a_bound_that_says_something() {
    for seed in 0..4 {
        let jobs = jobs(&mut Dice(0xC40D + seed), 40, 4);
        let a = answer(&problem(&jobs, 4), 60_000);
        assert!(10 * a.bound[0] >= 8 * a.cost[0], "seed {seed}: bound {} of {}", a.bound[0], a.cost[0]);
    }
}
