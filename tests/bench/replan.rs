//! How long a replan takes after a weighing, and after the loss of a day.
//!
//! `cargo bench --bench replan`; the figures kept in docs/benchmarks.md name their machine and date.

use chrono::{DateTime, TimeDelta, TimeZone, Utc};
use turnday::kitchen::Kitchen;
use turnday::plan::lost_day::{lose, morning_of, survival, without_day};
use turnday::plan::replan::{Again, replan};
use turnday::plan::{History, Plan, Request, strike};
use turnday::schedule::NodeBudget;
use turnday::units::Mass;

fn main() {
    for (which, (name, _)) in KITCHENS.iter().enumerate() {
        let (k, old, history) = weighed(which);
        for steps in [1, usual(&k)] {
            let r = replan(&again(&k, &old, &history, steps), &NodeBudget(u64::MAX)).expect("it can be planned");
            let d = &r.difference;
            println!("{name}, {steps} steps: {} of {} moved, {:?}", d.moved.len(), d.jobs, r.tier);
        }
    }
    for (name, text) in &KITCHENS {
        let k = read(text);
        let old = planned(&k);
        let s = survival(&k, &old, &History::none(now()), 1, 600);
        println!("{name}: {} of {} days can be lost, {} of them at all", s.survived(), s.days.len(), s.can_be());
    }
    divan::main();
}

const KITCHENS: [(&str, &str); 3] = [
    ("pair", include_str!("../../demo-data/feast-pair.json")),
    ("five", include_str!("../../demo-data/five-and-a-weekend-away.json")),
    ("two dozen", include_str!("../../demo-data/farm-shop.json")),
];

fn now() -> DateTime<Utc> {
    Utc.with_ymd_and_hms(2026, 11, 1, 8, 0, 0).unwrap()
}

fn read(text: &str) -> Kitchen {
    turnday::kitchen::read::read("bench", text).kitchen.expect("the demo kitchens are good")
}

fn planned(kitchen: &Kitchen) -> Plan {
    let request = Request { kitchen, now: now(), seed: 1, promises: Default::default() };
    strike(&request, &NodeBudget(800), &mut |_| ()).expect("the demo kitchens have a plan")
}

/// The steps of `turnday replan`.
fn usual(kitchen: &Kitchen) -> u64 {
    200 * kitchen.joints.len() as u64
}

/// A demo kitchen on the third day, when the heaviest joint turns out 5 % heavier than expected.
fn weighed(which: usize) -> (Kitchen, Plan, History) {
    let mut k = read(KITCHENS[which].1);
    let old = planned(&k);
    let first = old.joints.iter().map(|j| j.put_in).min().expect("a kitchen has joints").to_utc();
    let heaviest = (0..k.joints.len())
        .max_by(|a, b| k.joints[*a].planned_weight().as_kg().total_cmp(&k.joints[*b].planned_weight().as_kg()));
    let j = &mut k.joints[heaviest.expect("a kitchen has joints")];
    j.weighed = Some(Mass::kg(j.planned_weight().as_kg() * 1.05));
    let history = History::as_planned(&old, first + TimeDelta::days(3));
    (k, old, history)
}

fn again<'a>(kitchen: &'a Kitchen, old: &'a Plan, history: &'a History, steps: u64) -> Again<'a> {
    Again { kitchen, old, history, seed: 1, steps, ways: 0, what: &[] }
}

/// After a weighing: a first answer.
#[divan::bench(args = [0, 1, 2], sample_count = 10)]
fn first_answer(bencher: divan::Bencher, which: usize) {
    let (k, old, history) = weighed(which);
    bencher.bench(|| replan(&again(&k, &old, &history, 1), &NodeBudget(u64::MAX)).is_ok());
}

/// After a weighing: the answer of `turnday replan`, with what changes and why.
#[divan::bench(args = [0, 1, 2], sample_count = 10)]
fn after_a_weighing(bencher: divan::Bencher, which: usize) {
    let (k, old, history) = weighed(which);
    bencher.bench(|| replan(&again(&k, &old, &history, usual(&k)), &NodeBudget(u64::MAX)).is_ok());
}

/// One day lost, moved on: the plan alone, not its telling.
#[divan::bench(args = [0, 1, 2])]
fn a_lost_day(bencher: divan::Bencher, which: usize) {
    let k = read(KITCHENS[which].1);
    let old = planned(&k);
    let turn = old.tasks.iter().filter(|t| t.id.starts_with("turn ")).nth(1).expect("meat is turned");
    let date = turn.start.date_naive();
    let lost = without_day(&k, date);
    let history = morning_of(&k, &old, &History::none(now()), date);
    bencher.bench(|| lose(&again(&lost, &old, &history, 1)).is_ok());
}
