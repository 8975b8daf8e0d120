//! Frames as SVG, from the same buffers as the tests: `screenshots/*.svg`, checked for freshness.

use std::fmt::Write;
use std::path::PathBuf;

use ratatui::buffer::Buffer;
use ratatui::style::{Color, Modifier};
use turnday::app::{Code, Inks, Key, Message, State, update};

use crate::fixture;
use crate::frames;
use crate::golden::agree;

/// Size of a cell, px.
const CELL: (f64, f64) = (8.4, 17.0);

/// A frame as SVG on a ground and with a plain ink of the terminal's.
fn svg(buf: &Buffer, ground: &str, plain: &str) -> String {
    let (w, h) = (f64::from(buf.area.width) * CELL.0, f64::from(buf.area.height) * CELL.1);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {w:.1} {h:.1}\" font-family=\"DejaVu Sans Mono, monospace\" font-size=\"14\">\n<rect width=\"100%\" height=\"100%\" fill=\"{ground}\"/>\n"
    );
    for y in 0..buf.area.height {
        let mut x = 0;
        while x < buf.area.width {
            let cell = &buf[(x, y)];
            let look = (cell.fg, cell.bg, cell.modifier);
            let (from, mut text) = (x, String::new());
            while x < buf.area.width && (buf[(x, y)].fg, buf[(x, y)].bg, buf[(x, y)].modifier) == look {
                let symbol = buf[(x, y)].symbol();
                text.push_str(symbol);
                x += turnday::app::text::width(symbol).max(1) as u16;
            }
            let (mut ink, mut back) = (colour(look.0).unwrap_or(plain.into()), colour(look.1));
            if look.2.contains(Modifier::REVERSED) {
                let was = back.unwrap_or(ground.into());
                (ink, back) = (was, Some(ink));
            }
            let (left, top, wide) = (f64::from(from) * CELL.0, f64::from(y) * CELL.1, f64::from(x - from) * CELL.0);
            if let Some(back) = back {
                let _ = writeln!(
                    out,
                    "<rect x=\"{left:.1}\" y=\"{top:.1}\" width=\"{wide:.1}\" height=\"{:.1}\" fill=\"{back}\"/>",
                    CELL.1
                );
            }
            if text.trim().is_empty() {
                continue;
            }
            let bold = if look.2.contains(Modifier::BOLD) { " font-weight=\"bold\"" } else { "" };
            let dim = if look.2.contains(Modifier::DIM) { " opacity=\"0.6\"" } else { "" };
            let _ = writeln!(
                out,
                "<text x=\"{left:.1}\" y=\"{:.1}\" textLength=\"{wide:.1}\" xml:space=\"preserve\" fill=\"{ink}\"{bold}{dim}>{}</text>",
                top + 13.0,
                text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
            );
        }
    }
    out + "</svg>\n"
}

/// xterm's 256 colours: the cube in steps 0, 95, 135, 175, 215, 255, then greys 8 + 10 n.
fn colour(c: Color) -> Option<String> {
    let Color::Indexed(i) = c else { return None };
    let step = |n: u8| [0, 95, 135, 175, 215, 255][usize::from(n % 6)];
    let (r, g, b) = match i {
        232.. => (8 + 10 * (i - 232), 8 + 10 * (i - 232), 8 + 10 * (i - 232)),
        16.. => (step((i - 16) / 36), step((i - 16) / 6), step(i - 16)),
        _ => return None,
    };
    Some(format!("#{r:02x}{g:02x}{b:02x}"))
}

fn keys(mut state: State, keys: &[Key]) -> State {
    for key in keys {
        state = update(state, Message::Key(*key)).0;
    }
    state
}

#[test]
fn pictures_are_fresh() {
    let k = fixture::pair_kitchen();
    let pair = || frames::state(&k, Some(fixture::pair_plan(&k)), 110, 32, "2026-12-07 18:20");
    let type_in = |text: &str| text.chars().map(Key::char).collect::<Vec<_>>();
    let cook = keys(pair(), &[type_in("/simmer"), vec![Key::of(Code::Enter); 2]].concat());
    let m = fixture::many_kitchen(24);
    let many = frames::state(&m, Some(fixture::many_plan(&m)), 160, 50, "2026-12-01 09:00");
    for (name, state, inks) in [
        ("pair-dark", pair(), Inks::Dark),
        ("pair-light", pair(), Inks::Light),
        ("pair-no-colour", pair(), Inks::Mono),
        ("cook-day-dark", cook, Inks::Dark),
        ("two-dozen-dark", many, Inks::Dark),
        ("help-light", keys(pair(), &type_in("?")), Inks::Light),
    ] {
        let (ground, plain) = if inks == Inks::Light { ("#ffffff", "#202020") } else { ("#101010", "#d8d8d8") };
        let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("screenshots").join(format!("{name}.svg"));
        agree(path, &svg(&frames::draw(&state, inks).0, ground, plain));
    }
}
