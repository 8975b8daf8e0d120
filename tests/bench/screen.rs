//! From a key to a drawn frame: 60 joints, 3,000 tasks, 200 columns by 60 rows.

#[path = "../screen/fixture.rs"]
#[allow(dead_code)]
mod fixture;

use std::sync::Arc;

use chrono::TimeDelta;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use turnday::app::{Chart, Code, Inks, Key, Message, Screen, State, time, update};
use turnday::kitchen::Kitchen;
use turnday::plan::Plan;
use turnday::tui::{Depth, Theme, draw};

fn main() {
    divan::main();
}

/// A plan of 60 joints with its turns and visits repeated until there are 3,000 tasks.
fn crowded() -> (Arc<Kitchen>, Plan) {
    let kitchen = fixture::many_kitchen(60);
    let mut plan = fixture::many_plan(&kitchen);
    let made = plan.tasks.clone();
    for round in 1.. {
        let shift = TimeDelta::minutes(37 * round);
        for t in &made {
            if plan.tasks.len() == 3000 {
                plan.tasks.sort_by_key(|t| t.start);
                return (kitchen, plan);
            }
            let mut t = t.clone();
            t.id = format!("{} again {round}", t.id);
            for at in [&mut t.start, &mut t.end, &mut t.slow_end, &mut t.earliest, &mut t.latest] {
                *at += shift;
            }
            plan.tasks.push(t);
        }
    }
    unreachable!("rounds do not end")
}

fn opened() -> State {
    let (kitchen, plan) = crowded();
    let now = time::minute_utc(fixture::utc(kitchen.zone, "2026-12-01 09:00"));
    let state = State::new(kitchen, now);
    let mut state = update(state, Message::Resize(Screen { cols: 200, rows: 60 })).0;
    let chart = Chart::new(&state.kitchen, plan, state.now);
    state.adopt(chart);
    state
}

const THEME: Theme = Theme { inks: Inks::Dark, depth: Depth::Many };

/// A key, the change it makes, and the frame that shows it, compared with the frame before as the terminal would.
#[divan::bench(args = ["task after", "line below", "zoom in and out", "look later and earlier"], sample_count = 400)]
fn key_to_frame(bencher: divan::Bencher, keys: &str) {
    let keys = match keys {
        "task after" => [Key::of(Code::Tab), Key::of(Code::Tab)],
        "line below" => [Key::of(Code::Down), Key::of(Code::Down)],
        "zoom in and out" => [Key::char('+'), Key::char('-')],
        _ => [Key::char('L'), Key::char('H')],
    };
    let mut terminal = Terminal::new(TestBackend::new(200, 60)).expect("a terminal in memory");
    let mut state = Some(opened());
    let mut turn = 0;
    bencher.bench_local(|| {
        turn ^= 1;
        let (after, _) = update(state.take().expect("put back below"), Message::Key(keys[turn]));
        terminal.draw(|f| drop(draw::frame(&after, THEME, f.buffer_mut()))).expect("drawn in memory");
        state = Some(after);
    });
}

/// A letter of a search over all 3,000 tasks.
#[divan::bench]
fn search(bencher: divan::Bencher) {
    let state = opened();
    bencher.bench_local(|| turnday::app::matches(divan::black_box(&state), "turn t7 dec").len());
}

/// A new plan laid out.
#[divan::bench]
fn lay_out(bencher: divan::Bencher) {
    let (kitchen, plan) = crowded();
    bencher.with_inputs(|| plan.clone()).bench_local_values(|plan| Chart::new(&kitchen, plan, 0));
}
