//! The screen in a real terminal, on a made plan: `TURNDAY_LIVE=pair cargo test --test screen live -- --nocapture`.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use crate::fixture;
use turnday::tui::{Session, run};

#[test]
fn live() {
    let Ok(which) = std::env::var("TURNDAY_LIVE") else { return };
    let (kitchen, plan) = match which.as_str() {
        "many" => {
            let k = fixture::many_kitchen(24);
            let p = fixture::many_plan(&k);
            (k, p)
        }
        _ => {
            let k = fixture::pair_kitchen();
            let p = fixture::pair_plan(&k);
            (k, p)
        }
    };
    let session = Session {
        kitchen,
        first: Some(plan),
        news: None,
        revision: 0,
        stop: Arc::new(AtomicBool::new(false)),
        now: || fixture::utc(turnday::kitchen::Zone(chrono_tz::Europe::London), "2026-12-07 18:20"),
    };
    run(session).expect("the screen runs");
}
