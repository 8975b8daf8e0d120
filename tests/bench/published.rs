//! The solver on published instances, timed by the wall clock, beside an independent solver in the same run.
//!
//! `cargo bench --bench published -- --sets j30,ubo100 --seconds 5 --every 4 [--alone] [--python PYTHON --workers 2]`
//!
//! The sets are read from `$TURNDAY_RCPSP` (or `../shared/bench/rcpsp`); `--python` names an interpreter with OR-Tools,
//! which then solves the same exported problems with `tests/reference/cpsat.py`.

#[path = "../schedule/published.rs"]
mod published;

use published::{best, folder, instances, read};
use std::cell::Cell;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};
use turnday::schedule::*;

#[derive(Default)]
struct Tally {
    all: usize,
    found: usize,
    proven: usize,
    unsat: usize,
    at_best: usize,
    gap: f64,
    seconds: f64,
}

impl Tally {
    fn add(&mut self, made: Option<i64>, proven: bool, unsat: bool, upper: Option<i64>, seconds: f64) {
        self.all += 1;
        self.seconds += seconds;
        self.unsat += usize::from(unsat);
        let Some(made) = made else { return };
        self.found += 1;
        self.proven += usize::from(proven);
        if let Some(upper) = upper {
            self.at_best += usize::from(made <= upper);
            self.gap += 100.0 * (made - upper) as f64 / upper as f64;
        }
    }

    fn say(&self, set: &str, who: &str) {
        println!(
            "{set:8} {who:10} {} found, {} at the best known, {} optimal and {} impossible proven, of {}; mean gap {:.3} %, {:.1} s",
            self.found,
            self.at_best,
            self.proven,
            self.unsat,
            self.all,
            self.gap / self.found.max(1) as f64,
            self.seconds,
        );
    }
}

/// A wall clock that also keeps the moment of the last gain.
struct Clock {
    began: Instant,
    limit: Duration,
    nodes: Cell<u64>,
}

impl Stop for Clock {
    fn should_stop(&self, nodes: u64) -> bool {
        self.nodes.set(nodes);
        self.began.elapsed() >= self.limit
    }
}

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let value = |name: &str| args.iter().position(|a| a == name).and_then(|k| args.get(k + 1)).cloned();
    let Some(sets) = value("--sets") else {
        println!("published: give --sets j30,j60,j120,mj30,ubo20,ubo50,ubo100,ubo200");
        return;
    };
    let seconds: f64 = value("--seconds").and_then(|v| v.parse().ok()).unwrap_or(5.0);
    let every: usize = value("--every").and_then(|v| v.parse().ok()).unwrap_or(1);
    let workers = value("--workers").unwrap_or_else(|| "2".to_owned());
    let python = value("--python");
    // One thread instead of two.
    let second = if args.iter().any(|a| a == "--alone") { Second::Never } else { Second::WhenLong };
    let loud = args.iter().any(|a| a == "--each");
    let Some(folder) = folder() else { return };
    let known = best(&folder);
    for set in sets.split(',') {
        let (mut ours, mut theirs) = (Tally::default(), Tally::default());
        for file in instances(&folder, set, every.max(1)) {
            let name = file.file_stem().unwrap().to_str().unwrap().to_owned();
            let upper = known[&(set.to_owned(), name.clone())].upper;
            let p = read(&file);
            let clock = Clock { began: Instant::now(), limit: Duration::from_secs_f64(seconds), nodes: Cell::new(0) };
            let outcome = solve(&p, &Options { prove: true, second, ..Options::default() }, &clock, &mut |_| {});
            let took = clock.began.elapsed().as_secs_f64();
            let (made, proven, unsat, bound) = match &outcome {
                Outcome::Found(a) => {
                    assert_eq!(check(&p, &a.solution), vec![], "{name}");
                    (Some(a.cost[0]), a.is_proven_best(), false, a.bound[0])
                }
                Outcome::Impossible { .. } => (None, false, true, 0),
                _ => (None, false, false, 0),
            };
            ours.add(made, proven, unsat, upper, took);
            if loud {
                println!(
                    "{name:12} ours {made:?} bound {bound} best {upper:?} unsat {unsat} nodes {} {took:.2} s",
                    clock.nodes.get()
                );
            }
            if let Some(python) = &python {
                let (made, proven, unsat, took) = reference(python, &p, seconds, &workers);
                theirs.add(made, proven, unsat, upper, took);
                if loud {
                    println!("{name:12} theirs {made:?} proven {proven} unsat {unsat} {took:.2} s");
                }
            }
        }
        ours.say(set, "turnday");
        if python.is_some() {
            theirs.say(set, &format!("CP-SAT {workers}"));
        }
    }
}

fn reference(python: &str, p: &Problem, seconds: f64, workers: &str) -> (Option<i64>, bool, bool, f64) {
    let file = std::env::temp_dir().join(format!("turnday-published-{}.json", std::process::id()));
    std::fs::write(&file, export::to_json(p).unwrap()).unwrap();
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/cpsat.py");
    let out = Command::new(python).arg(script).arg(&file).arg(seconds.to_string()).arg(workers).output().unwrap();
    let _ = std::fs::remove_file(&file);
    let v: serde_json::Value = serde_json::from_slice(&out.stdout)
        .unwrap_or_else(|e| panic!("the reference said nothing ({e}): {}", String::from_utf8_lossy(&out.stderr)));
    let level = v["levels"].get(0);
    let took = level.and_then(|l| l["seconds"].as_f64()).unwrap_or(0.0);
    (level.and_then(|l| l["cost"].as_i64()), v["status"] == "optimal", v["status"] == "infeasible", took)
}
