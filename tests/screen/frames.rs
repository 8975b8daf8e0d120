//! Frames as text: what is drawn, and in which inks.

use std::fmt::Write;
use std::sync::Arc;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Color, Modifier};
use turnday::app::{Chart, Inks, Message, Planning, Screen, State, time, update};
use turnday::kitchen::Kitchen;
use turnday::plan::Plan;
use turnday::tui::{Depth, Places, Theme, draw};

use crate::fixture;

/// A state with a plan, at a size, at a time in the kitchen's zone.
pub fn state(kitchen: &Arc<Kitchen>, plan: Option<Plan>, cols: u16, rows: u16, now: &str) -> State {
    let now = time::minute_utc(fixture::utc(kitchen.zone, now));
    let mut state = State::new(kitchen.clone(), now);
    state = update(state, Message::Resize(Screen { cols, rows })).0;
    match plan {
        Some(plan) => {
            state.progress.state = Planning::Finished;
            let chart = Chart::new(&state.kitchen, plan, state.now);
            state.adopt(chart);
        }
        None => state.progress.state = Planning::Running,
    }
    state
}

pub fn draw(state: &State, inks: Inks) -> (Buffer, Places) {
    let mut buf = Buffer::empty(Rect::new(0, 0, state.screen.cols, state.screen.rows));
    let places = draw::frame(state, Theme { inks, depth: Depth::Many }, &mut buf);
    (buf, places)
}

/// The frame's text, a line a row, without blanks at the ends.
pub fn text(buf: &Buffer) -> String {
    let mut out = String::new();
    for y in 0..buf.area.height {
        let mut line = String::new();
        let mut skip = 0;
        for x in 0..buf.area.width {
            if skip > 0 {
                skip -= 1;
                continue;
            }
            let symbol = buf[(x, y)].symbol();
            skip = turnday::app::text::width(symbol).saturating_sub(1);
            line.push_str(symbol);
        }
        out.push_str(line.trim_end());
        out.push('\n');
    }
    out
}

/// The frame's styles, a line a row: runs of columns with what they are drawn in; plain runs are left out.
pub fn styles(buf: &Buffer) -> String {
    let mut out = String::new();
    for y in 0..buf.area.height {
        let mut runs: Vec<(u16, u16, String)> = Vec::new();
        for x in 0..buf.area.width {
            let cell = &buf[(x, y)];
            let style = style_words(cell.fg, cell.bg, cell.modifier);
            match runs.last_mut() {
                Some((_, last, s)) if *s == style && *last + 1 == x => *last = x,
                _ => runs.push((x, x, style)),
            }
        }
        let runs: Vec<String> =
            runs.into_iter().filter(|r| !r.2.is_empty()).map(|(a, b, s)| format!("{a}-{b} {s}")).collect();
        if !runs.is_empty() {
            let _ = writeln!(out, "{y}: {}", runs.join("; "));
        }
    }
    out
}

fn style_words(fg: Color, bg: Color, modifier: Modifier) -> String {
    let mut words = Vec::new();
    if fg != Color::Reset {
        words.push(format!("ink {fg}"));
    }
    if bg != Color::Reset {
        words.push(format!("ground {bg}"));
    }
    for (flag, word) in [
        (Modifier::BOLD, "bold"),
        (Modifier::DIM, "dim"),
        (Modifier::REVERSED, "reversed"),
        (Modifier::UNDERLINED, "underlined"),
    ] {
        if modifier.contains(flag) {
            words.push(word.to_owned());
        }
    }
    words.join(" ")
}

/// The same state with a book open that has its plan on record, and the folder it is in.
pub fn with_book(state: State, text: &str) -> (State, turnday::book::Book, tempfile::TempDir) {
    let folder = tempfile::tempdir().expect("a folder");
    let now = time::instant(state.now);
    let mut book = turnday::book::Book::create(&folder.path().join("book"), text, "", now).expect("a book");
    let plan = &state.chart.as_ref().expect("a plan").plan;
    let act = turnday::app::acts::accepted(plan, "the first plan", 0).expect("a plan is data");
    book.record(act, "", now).expect("it is recorded");
    let state = hold(state, &book);
    (state, book, folder)
}

/// Takes over what a book says now.
pub fn hold(state: State, book: &turnday::book::Book) -> State {
    let held = turnday::app::Held::new(book.state(), &book.events().expect("events"));
    update(state, Message::Held(Box::new(held))).0
}
