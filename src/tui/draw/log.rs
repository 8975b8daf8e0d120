//! Writing down what was done: a line to type in, and under it what it means, or what could be said.

use ratatui::layout::Rect;

use super::{Canvas, overlay};
use crate::app::State;
use crate::app::acts::{EXAMPLES, tell};
use crate::app::text::wrap;
use crate::tui::theme::Ink;

pub fn draw(canvas: &mut Canvas, state: &State, area: Rect) {
    let height = 8.min(area.height - 1);
    let place = Rect::new(area.x, area.bottom() - 1 - height, area.width, height);
    let inner = overlay::sheet(canvas, place, "Write down what was done · enter records it, esc closes");
    let accent = canvas.bold(Ink::Accent);
    canvas.text(inner.x, inner.y, 2, "›", accent);
    canvas.field(inner.x + 2, inner.y, inner.width.saturating_sub(2), &state.log, accent);
    let (plain, quiet, danger) = (canvas.ink(Ink::Plain), canvas.ink(Ink::Quiet), canvas.ink(Ink::Danger));
    let mut lines = Vec::new();
    match state.log_meant() {
        None => {
            lines.push(("In a few words, with when and by whom if it was not just now or not you:".to_owned(), quiet));
            lines.push((EXAMPLES.join(" · "), quiet));
        }
        Some(Ok(meant)) => {
            for m in meant {
                let by = m.by.as_ref().map(|b| format!(", by {b}")).unwrap_or_default();
                lines.push((format!("= {}{by}", tell(&m.act, &[])), plain));
                lines.extend(m.note.map(|n| (n, quiet)));
                lines.extend(m.doubt.map(|d| (format!("! {}", d.0), danger)));
            }
        }
        Some(Err(unclear)) => {
            lines.push((unclear.says, quiet));
            let choices: Vec<&str> =
                unclear.choices.iter().map(|c| c.strip_prefix("turnday log ").unwrap_or(c)).collect();
            lines.push((choices.join(" · "), quiet));
        }
    }
    let wrapped = lines.iter().flat_map(|(t, s)| wrap(t, usize::from(inner.width)).into_iter().map(move |l| (l, *s)));
    for ((line, style), y) in wrapped.zip(inner.y + 1..inner.bottom()) {
        canvas.text(inner.x, y, inner.width, &line, style);
    }
}
