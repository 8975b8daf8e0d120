//! Every view on the screen, at three sizes, with data of every sort, in four sets of inks: one file a view and size.
//!
//! `TURNDAY_BLESS=1 cargo test --test screen` writes them anew; look at the difference before committing it.

use std::sync::Arc;

use chrono::{DateTime, TimeDelta, Utc};
use turnday::app::record::{Entry, Holds, Probed, Read, Weighed};
use turnday::app::text::width;
use turnday::app::{Inks, Record, State, View};

use crate::frames::{self, told};
use crate::golden::{agree, golden};
use crate::{fixture, views};

/// What there is to look at.
pub const DATA: [&str; 6] = ["no plan", "an empty plan", "one joint", "a pair under way", "two dozen joints", "broken"];

/// A view with data of a sort.
pub fn shown(view: View, data: &str, cols: u16, rows: u16) -> State {
    let k = fixture::pair_kitchen();
    let state = |plan, now| frames::state(&k, plan, cols, rows, now);
    let mut state = match data {
        "no plan" => state(None, "2026-12-07 18:20"),
        "an empty plan" => state(Some(fixture::empty_plan(&k)), "2026-12-07 18:20"),
        "one joint" => state(Some(fixture::one_plan(&k)), "2026-12-07 18:20"),
        "a pair under way" => views::on_screen(view, cols, rows),
        "two dozen joints" => {
            let k = fixture::many_kitchen(24);
            frames::state(&k, Some(fixture::many_plan(&k)), cols, rows, "2026-12-01 09:00")
        }
        _ => broken(cols, rows),
    };
    if view == View::Change && data == "a pair under way" {
        state.proposal = Some(Arc::new(fixture::proposal(&state)));
    }
    state.view = view;
    state
}

/// A kitchen that does not say how cold its fridge is, a plan with a fault in everything, and a record of things that
/// are not, at moments and with figures that cannot be.
fn broken(cols: u16, rows: u16) -> State {
    let mut k = (*fixture::pair_kitchen()).clone();
    k.kit.cold[0].temperature = None;
    let plan = fixture::broken_plan(&k);
    let now = fixture::utc(k.zone, "2026-12-22 11:05");
    let record = broken_record(now);
    let mut state = frames::state(&Arc::new(k), Some(plan), cols, rows, "2026-12-22 11:05");
    state.record = Some(record);
    state
}

fn broken_record(now: DateTime<Utc>) -> Record {
    let mut r = Record::default();
    r.finish("no such task", now + TimeDelta::days(900), "");
    r.pinned.insert("nor this".into());
    let read = |of, celsius| Read { of, celsius, when: now + TimeDelta::days(30), by: String::new() };
    r.readings = vec![
        read(Probed::Core("nobody's".into()), -400.0),
        read(Probed::Core("shank".into()), 1e9),
        read(Probed::Space("nowhere".into()), f64::NAN),
    ];
    r.weights = vec![Weighed { joint: "shank".into(), grams: -1.0, when: now, by: "Rowan".into() }];
    r.entries = vec![Entry {
        seq: 7,
        at: now,
        when: Some(now - TimeDelta::days(4000)),
        by: String::new(),
        kind: String::new(),
        says: String::new(),
        holds: Holds::Undone(99),
    }];
    r
}

#[test]
fn looks_as_agreed() {
    for view in View::ALL {
        for (cols, rows) in [(80, 24), (120, 40), (200, 60)] {
            let of = |data: &&str| format!("== {data}\n{}", told(&shown(view, data, cols, rows)));
            let all: String = DATA.iter().map(of).collect();
            agree(golden(&format!("every/{view:?}-{cols}x{rows}.txt").to_lowercase()), &all);
        }
        let small = shown(view, "a pair under way", 40, 12);
        agree(golden(&format!("every/{view:?}-40x12.txt").to_lowercase()), &told(&small));
    }
}

/// High contrast brings its own ground; a cell without it would be white on whatever the terminal has.
#[test]
fn high_contrast_has_its_ground_everywhere() {
    for view in View::ALL {
        for data in DATA {
            let (buf, _) = frames::draw(&shown(view, data, 120, 40), Inks::Contrast);
            for at in buf.area.positions() {
                // The second half of a wide letter is never drawn.
                let hidden = at.x > 0 && width(buf[(at.x - 1, at.y)].symbol()) > 1;
                assert!(hidden || buf[at].bg != ratatui::style::Color::Reset, "{view:?} of {data} at {at}");
            }
        }
    }
}
