//! Reading kitchens and planning them with a fixed budget.

use chrono::{DateTime, TimeZone, Utc};
use std::path::Path;
use turnday::kitchen::Kitchen;
use turnday::plan::{Plan, Refusal, Request, strike};
use turnday::schedule::NodeBudget;

pub fn file(path: &str) -> Kitchen {
    let text = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap();
    let reading = turnday::kitchen::read::read(path, &text);
    let shown = reading.to_text(false);
    reading.kitchen.unwrap_or_else(|| panic!("{shown}"))
}

pub fn at(text: &str) -> DateTime<Utc> {
    Utc.from_utc_datetime(&chrono::NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M").unwrap())
}

pub fn planned(kitchen: &Kitchen, steps: u64) -> Result<Plan, Refusal> {
    planned_with(kitchen, steps, 1)
}

pub fn planned_with(kitchen: &Kitchen, steps: u64, seed: u64) -> Result<Plan, Refusal> {
    let request = Request { kitchen, now: at("2026-11-01 08:00"), seed, promises: Default::default() };
    strike(&request, &NodeBudget(steps), &mut |_| ())
}
