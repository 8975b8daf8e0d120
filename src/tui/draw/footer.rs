//! The last line: the commands at hand, a notice, or the search being typed.

use ratatui::layout::Rect;

use super::Canvas;
use crate::app::text::width;
use crate::app::{COMMANDS, Entry, Group, On, Overlay, State, Target};
use crate::tui::theme::Ink;

pub fn draw(canvas: &mut Canvas, state: &State, y: u16, columns: u16) {
    let notice = state.notice.as_deref().unwrap_or_default();
    if state.overlay == Overlay::Search {
        let accent = canvas.bold(Ink::Accent);
        let quiet = canvas.ink(Ink::Quiet);
        let room = columns.saturating_sub(width(notice) as u16 + 12);
        let end = 1 + canvas.text(1, y, 8, "search: ", accent);
        let end = end + canvas.field(end, y, room, &state.search, accent);
        canvas.text(end + 2, y, columns.saturating_sub(end + 3), notice, quiet);
        return;
    }
    let accent = canvas.ink(Ink::Accent);
    let quiet = canvas.ink(Ink::Quiet);
    // While words are typed the letters are no commands.
    let words = match state.overlay {
        Overlay::Move => "←→ a column  ↑↓ a quarter hour  enter plans the rest around it  esc leaves it where it was",
        Overlay::Log => "enter records it  esc closes",
        Overlay::Ask => "enter plans with it  ↑↓ read on  esc closes",
        Overlay::Trouble if state.book.is_some() => "enter puts it on record  ↑↓ read on  esc closes",
        Overlay::Trouble => "↑↓ read on  esc closes",
        _ => "",
    };
    if !words.is_empty() {
        let room = columns.saturating_sub(width(notice).min(usize::from(columns) / 2) as u16 + 4);
        canvas.text(1, y, room, words, quiet);
        let bold = canvas.bold(Ink::Plain);
        canvas.text_right(columns - 1, y, columns / 2, notice, bold);
        return;
    }
    let notice_room = (width(notice) as u16 + 2).min(columns / 2);
    let mut x = 1;
    // Help and the way out first: whatever else has no room, they have.
    let in_form = state.overlay == Overlay::Form;
    let at_hand =
        |e: &&Entry| if in_form { e.on == On::Form } else { e.is_open(state) && e.command != state.view.command() };
    let (program, rest): (Vec<&Entry>, Vec<&Entry>) =
        COMMANDS.iter().filter(|e| !e.short.is_empty() && at_hand(e)).partition(|e| e.group == Group::Program);
    // Then what belongs to this view alone.
    let (own, rest): (Vec<&Entry>, Vec<&Entry>) = rest.into_iter().partition(|e| matches!(e.on, On::One(_)));
    for entry in program.into_iter().chain(own).chain(rest) {
        let key = state.keymap.first(entry.command);
        let wide = (width(&key) + 1 + width(entry.short)) as u16;
        if x + wide + 1 > columns - notice_room {
            break;
        }
        canvas.text(x, y, wide, &key, accent);
        canvas.text(x + width(&key) as u16 + 1, y, wide, entry.short, quiet);
        canvas.places.add(Rect::new(x, y, wide, 1), Target::Command(entry.command));
        x += wide + 2;
    }
    if !notice.is_empty() {
        let bold = canvas.bold(Ink::Plain);
        canvas.text_right(columns - 1, y, notice_room, notice, bold);
    }
}
