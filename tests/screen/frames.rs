//! Frames as text: what is drawn, and what each cell is drawn in.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::sync::Arc;

use ratatui::buffer::{Buffer, Cell};
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

/// A frame in words: its text, then under each cell a letter for what it is drawn in, then what the letters stand for in
/// each set of inks. A cell that is plain in all of them is blank, a row of such cells is left out, and rows alike are told
/// once.
pub fn told(state: &State) -> String {
    let drawn = Inks::ALL.map(|inks| draw(state, inks).0);
    let dark = text(&drawn[0]);
    // Where there is no shade for the ground a dot may stand in its place; nothing else may be said otherwise.
    let squeezed = |t: &str| t.replace('·', " ").split_whitespace().collect::<Vec<_>>().join(" ");
    for (buf, inks) in drawn.iter().zip(Inks::ALL) {
        assert_eq!(squeezed(&text(buf)), squeezed(&dark), "{inks:?} says something else");
    }
    let mut letters: BTreeMap<char, [String; 4]> = BTreeMap::new();
    let mut rows: Vec<(u16, u16, String)> = Vec::new();
    for y in 0..state.screen.rows {
        let row: String = (0..state.screen.cols)
            .map(|x| {
                let looks = [0, 1, 2, 3].map(|i| look(&drawn[i][(x, y)]));
                if looks == PLAIN.map(str::to_owned) { ' ' } else { letter(&mut letters, looks) }
            })
            .collect();
        match (row.trim_end(), rows.last_mut()) {
            ("", _) => {}
            (row, Some((_, last, same))) if *last + 1 == y && same == row => *last = y,
            (row, _) => rows.push((y, y, row.to_owned())),
        }
    }
    let mut out = dark + "~~ drawn in\n";
    for (from, to, row) in rows {
        let rows = if from == to { format!("{from}") } else { format!("{from}-{to}") };
        let _ = writeln!(out, "{rows:>5}│{row}");
    }
    for (letter, looks) in letters {
        let [dark, light, contrast, mono] = looks;
        let _ = writeln!(out, "{letter} = dark {dark} · light {light} · contrast {contrast} · no colour {mono}");
    }
    out
}

/// What is plain in dark, light, high contrast and no colour.
const PLAIN: [&str; 4] = ["plain", "plain", "231 on 16", "plain"];

/// What a cell is drawn in. A blank shows its ground only.
fn look(cell: &Cell) -> String {
    let shows = cell.modifier.intersects(Modifier::REVERSED | Modifier::UNDERLINED);
    let blank = cell.symbol().trim().is_empty() && !shows;
    let ink = match cell.fg {
        // Its colour does not show: as if plain, so that a ground is told alike wherever it is blank.
        _ if blank => {
            if cell.bg == Color::Indexed(16) {
                "231".to_owned()
            } else {
                "plain".to_owned()
            }
        }
        Color::Reset => "plain".to_owned(),
        Color::Indexed(i) => i.to_string(),
        other => other.to_string(),
    };
    let mut words = match cell.bg {
        Color::Reset => ink,
        Color::Indexed(i) => format!("{ink} on {i}"),
        other => format!("{ink} on {other}"),
    };
    for (flag, word) in [
        (Modifier::BOLD, " bold"),
        (Modifier::DIM, " dim"),
        (Modifier::REVERSED, " reversed"),
        (Modifier::UNDERLINED, " underlined"),
    ] {
        if cell.modifier.contains(flag) && !blank {
            words += word;
        }
    }
    words
}

/// The letter of a look: one that reminds of its ink in high contrast, where every ink has a colour of its own.
fn letter(letters: &mut BTreeMap<char, [String; 4]>, looks: [String; 4]) -> char {
    let ink = looks[2].split(' ').next().unwrap_or_default();
    let own = match ink {
        "231" => "pPoOwW",
        "252" => "qQkKuU",
        "227" => "aAeEiI",
        "217" => "dDxX",
        "250" => "bBhH",
        _ => "gGmMnN",
    };
    let free = |l: &char| letters.get(l).is_none_or(|had| *had == looks);
    let letter = own.chars().chain("cfjlrstvyzCFJLRSTVYZ0123456789".chars()).find(free).expect("a letter is left");
    letters.insert(letter, looks);
    letter
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
