//! How long the planner takes on the demo kitchens: to a first sound plan, and to a good one.
//!
//! `cargo bench --bench planning`; the figures kept in docs/benchmarks.md name their machine and date.

use chrono::{TimeZone, Utc};
use turnday::kitchen::Kitchen;
use turnday::plan::{Plan, Request, strike};
use turnday::schedule::NodeBudget;

fn main() {
    for (name, text) in KITCHENS {
        let kitchen = read(text);
        for steps in [1, 400, 4000] {
            let plan = planned(&kitchen, steps);
            let levels: Vec<String> = plan.levels.iter().map(|l| format!("{} {}", l.label, l.value)).collect();
            println!("{name}, {steps} steps: {}", levels.join(", "));
        }
    }
    divan::main();
}

const KITCHENS: [(&str, &str); 3] = [
    ("pair", include_str!("../../demo-data/feast-pair.json")),
    ("five", include_str!("../../demo-data/five-and-a-weekend-away.json")),
    ("two dozen", include_str!("../../demo-data/farm-shop.json")),
];

fn read(text: &str) -> Kitchen {
    turnday::kitchen::read::read("bench", text).kitchen.expect("the demo kitchens are good")
}

fn planned(kitchen: &Kitchen, steps: u64) -> Plan {
    let now = Utc.with_ymd_and_hms(2026, 11, 1, 8, 0, 0).unwrap();
    let request = Request { kitchen, now, seed: 1, promises: Default::default() };
    strike(&request, &NodeBudget(steps), &mut |_| ()).expect("the demo kitchens have a plan")
}

/// A first sound plan, judged and told.
#[divan::bench(args = [0, 1, 2])]
fn first(bencher: divan::Bencher, which: usize) {
    let kitchen = read(KITCHENS[which].1);
    bencher.bench(|| planned(&kitchen, 1));
}

/// A good plan: four hundred steps for two joints, four thousand for more.
#[divan::bench(args = [0, 1], sample_count = 10)]
fn good(bencher: divan::Bencher, which: usize) {
    let kitchen = read(KITCHENS[which].1);
    bencher.bench(|| planned(&kitchen, [400, 4000][which]));
}

/// Reading and judging a kitchen file.
#[divan::bench(args = [0, 1, 2])]
fn reading(bencher: divan::Bencher, which: usize) {
    bencher.bench(|| {
        turnday::kitchen::read::read("bench", KITCHENS[which].1)
            .judge(chrono::NaiveDate::from_ymd_opt(2026, 11, 1).unwrap())
    });
}

/// A plan gone through two thousand times.
#[divan::bench(args = [0, 1, 2], sample_count = 10)]
fn chance_of_2000_runs(bencher: divan::Bencher, which: usize) {
    use turnday::plan::chance::{Luck, Runs, chance};
    let kitchen = read(KITCHENS[which].1);
    let plan = planned(&kitchen, 400);
    let luck = Luck::of(&turnday::kitchen::Limits::with(&kitchen.limits));
    bencher.bench(|| chance(&kitchen, &plan, &Runs { runs: 2000, seed: 1, luck, buffers: false }).is_ok());
}
