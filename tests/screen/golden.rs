//! Frames against the ones looked at and agreed, each with its text and what every cell is drawn in, in four sets of inks:
//! the timeline where there is little room, what lies over it, and trouble. Every view at larger sizes is in `every.rs`.
//!
//! `TURNDAY_BLESS=1 cargo test --test screen` writes them anew; look at the difference before committing it.

use std::fs;
use std::path::PathBuf;

use turnday::app::{Key, Message, State, update};

use crate::fixture;
use crate::frames::{self, told};

/// The agreed text of a file in this folder's `golden`, or the present one when it is being blessed.
pub fn agree(path: PathBuf, now: &str) {
    if std::env::var_os("TURNDAY_BLESS").is_some() {
        fs::create_dir_all(path.parent().expect("a folder")).expect("the folder can be made");
        fs::write(&path, now).expect("the file can be written");
        return;
    }
    let agreed = fs::read_to_string(&path).unwrap_or_default();
    if agreed != now {
        let line = agreed
            .lines()
            .zip(now.lines())
            .position(|(a, b)| a != b)
            .unwrap_or(agreed.lines().count().min(now.lines().count()));
        panic!(
            "{} differs from line {}:\n  agreed: {}\n  now:    {}\nTURNDAY_BLESS=1 writes it anew",
            path.display(),
            line + 1,
            agreed.lines().nth(line).unwrap_or("(nothing)"),
            now.lines().nth(line).unwrap_or("(nothing)")
        );
    }
}

pub fn golden(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/screen/golden").join(name)
}

fn where_there_is_little_room(name: &str, at: impl Fn(u16, u16) -> State) {
    for (cols, rows) in [(40, 12), (60, 16)] {
        agree(golden(&format!("{name}-{cols}x{rows}.txt")), &told(&at(cols, rows)));
    }
}

#[test]
fn empty() {
    let k = fixture::pair_kitchen();
    where_there_is_little_room("empty", |c, r| {
        frames::state(&k, Some(fixture::empty_plan(&k)), c, r, "2026-12-07 18:20")
    });
}

#[test]
fn one() {
    let k = fixture::pair_kitchen();
    where_there_is_little_room("one", |c, r| frames::state(&k, Some(fixture::one_plan(&k)), c, r, "2026-12-07 18:20"));
}

#[test]
fn many() {
    let k = fixture::many_kitchen(24);
    where_there_is_little_room("many", |c, r| {
        frames::state(&k, Some(fixture::many_plan(&k)), c, r, "2026-12-01 09:00")
    });
}

/// What lies over the timeline, and the cook day close up, at one size.
#[test]
fn overlays_and_close_up() {
    let k = fixture::pair_kitchen();
    let keys = |text: &str| {
        let mut state = frames::state(&k, Some(fixture::pair_plan(&k)), 80, 24, "2026-12-07 18:20");
        for c in text.chars() {
            let key = if c == '\n' { Key::of(turnday::app::Code::Enter) } else { Key::char(c) };
            state = update(state, Message::Key(key)).0;
        }
        told(&state)
    };
    // The cook day again where the plot stands under the details.
    let mut wide = frames::state(&k, Some(fixture::pair_plan(&k)), 120, 40, "2026-12-07 18:20");
    for key in "/chill".chars().map(Key::char).chain([Key::of(turnday::app::Code::Enter)]) {
        wide = update(wide, Message::Key(key)).0;
    }
    agree(golden("chill-120x40.txt"), &told(&wide));
    agree(golden("help-80x24.txt"), &keys("?"));
    agree(golden("palette-80x24.txt"), &keys(":tu"));
    agree(golden("views-80x24.txt"), &keys("v"));
    agree(golden("standing-80x24.txt"), &keys("p"));
    agree(golden("search-80x24.txt"), &keys("/turn"));
    agree(golden("cook-day-80x24.txt"), &keys("/simmer\n\n"));
}

/// A change that waits, words for the record, and the first run.
#[test]
fn change_log_and_first_run() {
    let k = fixture::pair_kitchen();
    let now = "2026-12-07 18:20";
    for (cols, rows) in [(40, 12), (80, 24), (120, 40)] {
        let state = frames::state(&k, Some(fixture::pair_plan(&k)), cols, rows, now);
        let mut state = frames::with_book(state, include_str!("pair.json")).0;
        state.proposal = Some(std::sync::Arc::new(fixture::proposal(&state)));
        let keys = |text: &str| crate::forms::keys(state.clone(), text).0;
        agree(golden(&format!("change-{cols}x{rows}.txt")), &told(&keys("C")));
        agree(golden(&format!("log-{cols}x{rows}.txt")), &told(&keys("rweighed shank 26")));
        agree(golden(&format!("what-if-{cols}x{rows}.txt")), &told(&keys("iaway 12-14 Dec")));
        agree(golden(&format!("trouble-kinds-{cols}x{rows}.txt")), &told(&keys("!")));
        agree(golden(&format!("trouble-{cols}x{rows}.txt")), &told(&keys("!warm 8.5 C 7 h")));
        let fresh = frames::state(&k, None, cols, rows, now);
        let mut fresh = update(fresh, Message::Fresh).0;
        fresh.progress.state = turnday::app::Planning::Idle;
        agree(golden(&format!("first-{cols}x{rows}.txt")), &told(&fresh));
    }
}

/// No plan yet, none possible, and a promise missed: trouble is said in words.
#[test]
fn trouble() {
    let k = fixture::pair_kitchen();
    let none = frames::state(&k, None, 80, 24, "2026-12-07 18:20");
    agree(golden("planning-80x24.txt"), &told(&none));
    let mut impossible = none;
    impossible.progress.state = turnday::app::Planning::Impossible(vec![
        "shank: 18.3 cm long, the bucket is 25 cm wide and the box 30 cm long, but neither leaves 2.5 cm above the brine.".into(),
        "fillet: nothing in the kitchen holds it.".into(),
    ]);
    agree(golden("impossible-80x24.txt"), &told(&impossible));
    let mut plan = fixture::pair_plan(&k);
    plan.joints[0].ready_by = Some(plan.joints[0].ready - chrono::TimeDelta::hours(20));
    let late = frames::state(&k, Some(plan), 80, 24, "2026-12-07 18:20");
    let text = told(&late);
    assert!(text.contains("Late: shank"), "{text}");
    agree(golden("late-80x24.txt"), &text);
}

/// Every way a task can stand has a shape of its own.
#[test]
fn marks() {
    let k = fixture::pair_kitchen();
    let mut state = frames::state(&k, Some(fixture::pair_plan(&k)), 120, 40, "2026-12-12 12:00");
    let turns: Vec<String> = state
        .chart
        .as_ref()
        .unwrap()
        .plan
        .tasks
        .iter()
        .filter(|t| t.id.starts_with("Turn"))
        .map(|t| t.id.clone())
        .collect();
    state.record = Some(turnday::app::Record {
        done: [turns[0].clone()].into(),
        moved: [turns[2].clone()].into(),
        pinned: [turns[3].clone()].into(),
        ..Default::default()
    });
    let text = told(&state);
    let line = text.lines().find(|l| l.trim_start_matches(['▸', ' ']).starts_with("shank")).unwrap_or_default();
    for mark in ['●', '!', '»', '▼', '○'] {
        assert!(line.contains(mark), "{mark} is not in {line}");
    }
    agree(golden("marks-120x40.txt"), &text);
}
