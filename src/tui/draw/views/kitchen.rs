//! The kitchen: every section with what is in it, to be changed by form.

use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

use crate::app::form::{Count, SECTIONS, lines};
use crate::app::{State, Target};
use crate::tui::draw::Canvas;
use crate::tui::theme::Ink;

pub fn draw(canvas: &mut Canvas, state: &State, area: Rect) {
    let (spot, lines) = (state.spot(), lines(state));
    let (bold, quiet, accent) = (canvas.bold(Ink::Plain), canvas.ink(Ink::Quiet), canvas.bold(Ink::Accent));
    let name = if area.width >= 100 { 26 } else { area.width * 2 / 5 };
    for (i, line) in lines.iter().enumerate().skip(spot.top).take(usize::from(area.height)) {
        let y = area.y + (i - spot.top) as u16;
        let here = i == spot.line;
        let section = &SECTIONS[line.section];
        let heading = line.place.is_none() || section.count == Count::One;
        let style = match (here, heading) {
            (true, _) => accent,
            (false, true) => bold,
            (false, false) => Style::new(),
        };
        canvas.text(area.x, y, 1, if here { "▸" } else { " " }, accent);
        let indent = if heading { 1 } else { 3 };
        let end = canvas.text(area.x + indent, y, name.saturating_sub(indent + 1), &line.name, style);
        let x = area.x + name;
        let says = if line.place.is_none() && here && section.count == Count::Many {
            format!("{} adds a {}", state.keymap.first(crate::app::Command::Add), section.one)
        } else {
            line.says.clone()
        };
        // A heading with nothing beside it may be as long as the line.
        if says.is_empty() && usize::from(end) < crate::app::text::width(&line.name) {
            canvas.text(area.x + indent, y, area.width - indent, &line.name, style);
        }
        let words = if here { canvas.ink(Ink::Plain).add_modifier(Modifier::BOLD) } else { quiet };
        canvas.text(x, y, area.width.saturating_sub(name), &says, words);
        canvas.places.add(Rect::new(area.x, y, area.width, 1), Target::Line { line: i, across: 0 });
    }
}
