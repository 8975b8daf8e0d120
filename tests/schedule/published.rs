//! Published project-scheduling instances: PSPLIB J30, J60, J120 (Kolisch and Sprecher, EJOR 96, 1997) and the RCPSP/max
//! sets J30 and UBO (Kolisch, Schwindt and Sprecher, 1999; Franck, Neumann and Schwindt, 2001), in the plain format of
//! their README.
//!
//! They are not part of this repository: they are read from `$TURNDAY_RCPSP`, else from `../shared/bench/rcpsp` beside it.
#![allow(dead_code)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use turnday::schedule::*;

/// Where the instances are; says so loudly when they are nowhere.
pub fn folder() -> Option<PathBuf> {
    let beside = Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared/bench/rcpsp");
    let path = std::env::var_os("TURNDAY_RCPSP").map_or(beside, PathBuf::from);
    if path.join("best.csv").is_file() {
        return Some(path);
    }
    eprintln!("LEFT OUT: no published instances at {} (set TURNDAY_RCPSP): nothing was compared.", path.display());
    None
}

pub struct Best {
    pub lower: i64,
    pub upper: Option<i64>,
    pub status: String,
}

/// `best.csv`, by set and instance.
pub fn best(folder: &Path) -> BTreeMap<(String, String), Best> {
    let text = std::fs::read_to_string(folder.join("best.csv")).unwrap();
    let rows = text.lines().skip(1).map(|line| {
        let f: Vec<&str> = line.split(',').collect();
        let best = Best { lower: f[2].parse().unwrap_or(0), upper: f[3].parse().ok(), status: f[4].to_owned() };
        ((f[0].to_owned(), f[1].to_owned()), best)
    });
    rows.collect()
}

/// An instance as a problem whose one level is the makespan.
pub fn read(path: &Path) -> Problem {
    let text = std::fs::read_to_string(path).unwrap();
    let mut lines = text.lines().map(|l| l.split_whitespace().map(|x| x.parse::<i32>().unwrap()).collect::<Vec<_>>());
    let head = lines.next().unwrap();
    let (n, lags) = (head[0] as usize, head[2] as usize);
    let reason = ReasonId(0);
    let mut p = Problem {
        reasons: vec![Reason {
            says: "published instance".into(),
            force: Force::Means,
            source: path.display().to_string(),
        }],
        ..Problem::default()
    };
    for (r, &capacity) in lines.next().unwrap().iter().enumerate() {
        let label = format!("resource {r}");
        p.resources.push(Resource { label, capacity, calendar: None, changeover: vec![], reason });
    }
    let mut horizon = 0;
    for i in 0..n {
        let row = lines.next().unwrap();
        horizon += row[0];
        p.activities.push(Activity {
            label: i.to_string(),
            duration: row[0],
            group: 0,
            release: 0,
            latest: 0,
            pinned: None,
            reason,
        });
        for (r, &amount) in row[1..].iter().enumerate().filter(|x| *x.1 > 0) {
            let a = ActivityId(i as u32);
            let (from, to) = (p.start(a, 0), vec![p.end(a, 0)]);
            let choose = vec![ResourceId(r as u32)];
            p.holds.push(Hold { from, to, choose, amount, same: None, reason });
            p.families.push(0);
        }
    }
    for _ in 0..lags {
        let row = lines.next().unwrap();
        let (from, to) = (ActivityId(row[0] as u32), ActivityId(row[1] as u32));
        // Lags can keep things apart for longer than all work takes together.
        horizon += row[2].max(0);
        p.lags.push(Lag { from, to, least: row[2], reason });
    }
    p.horizon = horizon;
    p.activities.iter_mut().for_each(|a| a.latest = horizon);
    p.activities[0].latest = 0;
    let point = p.end(ActivityId(n as u32 - 1), 0);
    p.levels =
        vec![Level { label: "makespan".into(), unit: "periods".into(), terms: vec![Term::At { point, weight: 1 }] }];
    p
}

/// The files of a set in order, every `step`th.
pub fn instances(folder: &Path, set: &str, step: usize) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder.join(set)).unwrap().map(|e| e.unwrap().path()).collect();
    files.retain(|f| f.extension().is_some_and(|e| e == "txt"));
    files.sort();
    files.into_iter().step_by(step).collect()
}

struct Tally {
    unsat: usize,
    found: usize,
    at_best: usize,
    proven: usize,
    all: usize,
    gap: f64,
}

fn run(set: &str, step: usize, nodes: u64, prove: bool) -> Option<Tally> {
    let folder = folder()?;
    if !folder.join(set).is_dir() {
        eprintln!("LEFT OUT: published set {set} is not in {}: nothing was compared.", folder.display());
        return None;
    }
    let known = best(&folder);
    let mut t = Tally { unsat: 0, found: 0, at_best: 0, proven: 0, all: 0, gap: 0.0 };
    for file in instances(&folder, set, step) {
        let name = file.file_stem().unwrap().to_str().unwrap().to_owned();
        let best = &known[&(set.to_owned(), name.clone())];
        let p = read(&file);
        t.all += 1;
        match solve(&p, &Options { prove, ..Options::default() }, &NodeBudget(nodes), &mut |_| {}) {
            Outcome::Found(a) => {
                t.found += 1;
                assert_eq!(check(&p, &a.solution), vec![], "{name}");
                assert_ne!(best.status, "unsat", "{name}: a schedule where none exists");
                assert!(a.cost[0] >= best.lower, "{name}: {} below the known bound {}", a.cost[0], best.lower);
                if let Some(upper) = best.upper {
                    assert!(a.bound[0] <= upper, "{name}: bound {} above the known {upper}", a.bound[0]);
                    t.at_best += usize::from(a.cost[0] <= upper);
                    t.gap += (a.cost[0] - upper) as f64 / upper as f64;
                }
                if a.is_proven_best() {
                    t.proven += 1;
                    assert!(best.status != "opt" || best.upper == Some(a.cost[0]), "{name}: proven {}", a.cost[0]);
                }
            }
            Outcome::Impossible { .. } => {
                assert_eq!(best.status, "unsat", "{name}");
                t.unsat += 1;
            }
            Outcome::Unknown { .. } => {}
            Outcome::Unusable { errors } => panic!("{name}: {errors:?}"),
        }
    }
    println!(
        "{set}: {} of {} found, {} at the best known, {} proven, mean gap {:.3} %",
        t.found,
        t.all,
        t.at_best,
        t.proven,
        100.0 * t.gap / t.all as f64
    );
    Some(t)
}

#[test]
fn j30_mostly_reaches_the_published_optimum() {
    let Some(t) = run("j30", 3, 8_000, false) else { return };
    assert_eq!(t.found, t.all);
    assert!(t.at_best * 100 >= t.all * 85, "{} of {}", t.at_best, t.all);
}

#[test]
fn j60_and_j120_come_near() {
    for (set, least) in [("j60", 3.0), ("j120", 7.0)] {
        let Some(t) = run(set, 2, 2_000, false) else { return };
        assert_eq!(t.found, t.all);
        assert!(100.0 * t.gap / t.all as f64 <= least, "{set}: {}", t.gap);
    }
}

#[test]
fn maximum_lags_never_contradict_what_is_known() {
    for set in ["mj30", "ubo20", "ubo50"] {
        let Some(t) = run(set, 2, 2_000, false) else { return };
        assert!(t.found * 2 >= t.all, "{set}: {} of {}", t.found, t.all);
    }
}

#[test]
fn most_of_j30_and_of_its_maximum_lag_kin_is_proven() {
    for set in ["j30", "mj30"] {
        let Some(t) = run(set, 6, 60_000, true) else { return };
        println!("{set}: {} proven best and {} impossible of {}", t.proven, t.unsat, t.all);
        assert!((t.proven + t.unsat) * 100 >= t.all * 80, "{set}: {} and {} of {}", t.proven, t.unsat, t.all);
    }
}
