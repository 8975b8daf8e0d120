//! Sheets: a line to type in, and under it what it means, what could be said, or the answer.

use ratatui::layout::Rect;

use super::{Canvas, overlay};
use crate::app::acts::{EXAMPLES, tell};
use crate::app::text::wrap;
use crate::app::{Field, State, Voice};
use crate::tui::theme::Ink;

/// Writing down what was done.
pub fn log(canvas: &mut Canvas, state: &State, area: Rect) {
    let mut lines = Vec::new();
    match state.log_meant() {
        None => {
            let how = "In a few words, with when and by whom if it was not just now or not you:";
            lines.push((how.to_owned(), Voice::Quiet));
            lines.push((EXAMPLES.join(" · "), Voice::Quiet));
        }
        Some(Ok(meant)) => {
            for m in meant {
                let by = m.by.as_ref().map(|b| format!(", by {b}")).unwrap_or_default();
                lines.push((format!("= {}{by}", tell(&m.act, &[])), Voice::Plain));
                lines.extend(m.note.map(|n| (n, Voice::Quiet)));
                lines.extend(m.doubt.map(|d| (format!("! {}", d.0), Voice::Warning)));
            }
        }
        Some(Err(unclear)) => {
            lines.push((unclear.says, Voice::Quiet));
            let choices: Vec<&str> =
                unclear.choices.iter().map(|c| c.strip_prefix("turnday log ").unwrap_or(c)).collect();
            lines.push((choices.join(" · "), Voice::Quiet));
        }
    }
    sheet(canvas, area, "Write down what was done", (&state.log, 0), &lines, 8);
}

/// Asking what if.
pub fn ask(canvas: &mut Canvas, state: &State, area: Rect) {
    let title = "What if · nothing is changed by asking";
    sheet(canvas, area, title, (&state.asking.field, state.asking.top), &state.ask_lines(), 26);
}

/// Telling of trouble.
pub fn trouble(canvas: &mut Canvas, state: &State, area: Rect) {
    let title = "Trouble · the house's table answers";
    sheet(canvas, area, title, (&state.telling.field, state.telling.top), &state.trouble_lines(), 30);
}

/// The line being typed with what is said under it, wrapped, from a first line on; at most `most` rows with its rules.
fn sheet(
    canvas: &mut Canvas,
    area: Rect,
    title: &str,
    (field, top): (&Field, usize),
    said: &[(String, Voice)],
    most: u16,
) {
    let height = most.min(area.height - 1);
    let place = Rect::new(area.x, area.bottom() - 1 - height, area.width, height);
    let inner = overlay::sheet(canvas, place, title);
    let accent = canvas.bold(Ink::Accent);
    canvas.text(inner.x, inner.y, 2, "›", accent);
    canvas.field(inner.x + 2, inner.y, inner.width.saturating_sub(2), field, accent);
    let room = usize::from(inner.height.saturating_sub(1));
    let columns = usize::from(inner.width.saturating_sub(1)).max(1);
    let lines: Vec<(String, Voice)> = said.iter().flat_map(|(text, voice)| hung(text, columns, *voice)).collect();
    let top = top.min(lines.len().saturating_sub(room));
    for ((line, voice), y) in lines.iter().skip(top).zip(inner.y + 1..inner.bottom()) {
        let style = match voice {
            Voice::Plain => canvas.ink(Ink::Plain),
            Voice::Strong => canvas.bold(Ink::Plain),
            Voice::Quiet => canvas.ink(Ink::Quiet),
            Voice::Warning => canvas.ink(Ink::Danger),
        };
        canvas.text(inner.x, y, inner.width, line, style);
    }
    if top > 0 {
        canvas.text_right(inner.right(), inner.y, 6, "more ↑", accent);
    }
    if top + room < lines.len() {
        canvas.text_right(inner.right(), inner.bottom() - 1, 6, "more ↓", accent);
    }
}

/// Wrapped, what follows the first row hanging by its indent.
fn hung(text: &str, columns: usize, voice: Voice) -> Vec<(String, Voice)> {
    let indent = text.len() - text.trim_start_matches(' ').len();
    if text.is_empty() {
        return vec![(String::new(), voice)];
    }
    let pad = " ".repeat(indent);
    let rows = wrap(text.trim_start(), columns.saturating_sub(indent).max(1));
    rows.into_iter().map(|row| (format!("{pad}{row}"), voice)).collect()
}
