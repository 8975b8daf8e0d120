//! Every view but the timeline: the frame draws sentence, title and footer, and each view its own area.
//!
//! A view is a file here with `pub fn draw(canvas: &mut Canvas, state: &State, area: Rect)`, called from [`draw`] below;
//! see `src/app/view.rs` for how one is added.

use ratatui::layout::Rect;

use super::Canvas;
use crate::app::{State, View};
use crate::tui::theme::Ink;

/// Draws the view on the screen into the area between title and footer.
pub fn draw(canvas: &mut Canvas, state: &State, area: Rect) {
    match state.view {
        // Drawn by the frame itself.
        View::Timeline => {}
        view => nothing_yet(canvas, view, area),
    }
}

/// For a view that has nothing to show: what it would show.
fn nothing_yet(canvas: &mut Canvas, view: View, area: Rect) {
    let quiet = canvas.ink(Ink::Quiet);
    canvas.text(area.x, area.y, area.width, &format!("Nothing to show yet: {}.", view.says()), quiet);
}
