//! The palette: a line to type in, and under it the commands that fit, with their keys.

use ratatui::layout::Rect;
use ratatui::style::Modifier;

use super::{Canvas, overlay};
use crate::app::{Group, State, Target, offers};
use crate::tui::theme::Ink;

/// Rows of commands at most; more are scrolled to.
const MOST: u16 = 16;

pub fn draw(canvas: &mut Canvas, state: &State, area: Rect) {
    let offers = offers(state);
    let (title, most) = match state.palette.only {
        Some(Group::Views) => ("Views · enter opens, esc closes", 14),
        _ => ("Any command · a few letters of its words, enter runs it, esc closes", MOST),
    };
    let height = (most + 3).min(area.height - 1);
    let place = Rect::new(area.x, area.bottom() - 1 - height, area.width, height);
    let inner = overlay::sheet(canvas, place, title);
    let accent = canvas.bold(Ink::Accent);
    let quiet = canvas.ink(Ink::Quiet);
    canvas.text(inner.x, inner.y, 2, "›", accent);
    canvas.field(inner.x + 2, inner.y, inner.width.saturating_sub(2), &state.palette.field, accent);
    let room = usize::from(inner.height.saturating_sub(1)).max(1);
    let cursor = state.palette.cursor.min(offers.len().saturating_sub(1));
    let top = (cursor + 1).saturating_sub(room);
    if offers.is_empty() {
        canvas.text(inner.x + 2, inner.y + 1, inner.width - 2, "no command has these letters in its words", quiet);
    }
    // Keys stand right-aligned before the words, as wide as the widest that is common.
    let keys = 14.min(inner.width / 3);
    for (i, offer) in offers.iter().enumerate().skip(top).take(room) {
        let y = inner.y + 1 + (i - top) as u16;
        let here = i == cursor;
        let plain = if offer.open { canvas.ink(Ink::Plain) } else { quiet };
        let mark = if here { "▸" } else { " " };
        canvas.text(inner.x, y, 1, mark, accent);
        let key = state.keymap.words(offer.entry.command);
        canvas.text_right(inner.x + 2 + keys, y, keys, &key, if offer.open { canvas.ink(Ink::Accent) } else { quiet });
        let x = inner.x + keys + 4;
        let wide = (inner.x + inner.width).saturating_sub(x);
        let style = if here { plain.add_modifier(Modifier::BOLD) } else { plain };
        let end = canvas.text(x, y, wide, offer.entry.words, style);
        for (n, _) in offer.entry.words.char_indices().enumerate().filter(|(n, _)| offer.hits.contains(n)) {
            if let Some(cell) = canvas.buf.cell_mut((x + n as u16, y)).filter(|_| (n as u16) < end) {
                cell.set_style(accent.add_modifier(Modifier::UNDERLINED));
            }
        }
        if wide > 50 {
            let why = match offer.open {
                _ if offer.entry.command == state.view.command() => "here",
                true => offer.entry.group.words(),
                false => "nothing to do just now",
            };
            canvas.text(x + 40, y, wide - 40, why, quiet);
        }
        canvas.places.add(Rect::new(inner.x, y, inner.width, 1), Target::Offer(i));
    }
    if top + room < offers.len() {
        canvas.text_right(inner.right(), inner.bottom() - 1, 6, "more ↓", accent);
    }
}
