//! The time axis, now, and the ruler on which the selected task may slide.

use ratatui::layout::Rect;
use ratatui::style::Style;

use super::Canvas;
use crate::app::text::width;
use crate::app::{Chart, Geometry, Label, State, time};
use crate::tui::theme::Ink;

pub fn draw(canvas: &mut Canvas, state: &State, chart: &Chart, g: &Geometry) {
    let (x, y, zone) = (g.label, g.axis.y, state.kitchen.zone);
    let bold = canvas.bold(Ink::Plain);
    let now = state.axis.visible(state.now);
    // The word stands left of its column, or right of it at the edge.
    let taken = now.map(|col| if col >= 3 { (col - 3, "now▾") } else { (col, "▾now") });
    labels(canvas, g, y, &state.axis.coarse_labels(zone), bold, None);
    let quiet = canvas.ink(Ink::Quiet);
    labels(canvas, g, y + 1, &state.axis.fine_labels(zone), quiet, taken.map(|t| t.0));
    let scale = format!("{}/column", time::how_long(state.axis.per_col));
    canvas.text(0, y, g.label.saturating_sub(1), &scale, quiet);
    if let Some((col, word)) = taken {
        let accent = canvas.bold(Ink::Accent);
        canvas.text(x + col, y + 1, 4, word, accent);
    }
    canvas.places.add_time(Rect::new(x, y, g.cols(), 3), None, state.axis);
    ruler(canvas, state, chart, g);
}

/// Each label at its column, left out where the one before still stands, or where now is told.
fn labels(canvas: &mut Canvas, g: &Geometry, y: u16, labels: &[Label], style: Style, now: Option<u16>) {
    let mut free = 0;
    for (i, label) in labels.iter().enumerate() {
        let next = labels.get(i + 1).map_or(g.cols(), |l| l.col);
        let room = g.cols() - label.col;
        let wide = width(&label.text) as u16;
        // A label that would run into the next one or over the edge is left out rather than cut.
        let under_now = now.is_some_and(|n| label.col < n + 5 && label.col + wide + 1 > n);
        if !under_now && label.col >= free && wide <= room && (label.col + wide < next || i + 1 == labels.len()) {
            canvas.text(g.label + label.col, y, room, &label.text, style);
            free = label.col + wide + 1;
        }
    }
}

/// Where a task is being moved to, with its limits as the others stand, on the ruler and as a line down the chart.
fn moving(canvas: &mut Canvas, state: &State, chart: &Chart, g: &Geometry, inside: bool) {
    let Some((m, task)) = state.moving.and_then(|m| Some((m, chart.tasks.get(m.task)?))) else { return };
    let style = if inside { canvas.bold(Ink::Accent) } else { canvas.ink(Ink::Danger) };
    let quiet = canvas.ink(Ink::Quiet);
    let (x, y, axis) = (g.label, g.ruler, &state.axis);
    if let Some((from, to)) = axis.touched(task.earliest, task.latest + 1) {
        canvas.text(x + from, y, to - from, &"─".repeat(usize::from(to - from)), quiet);
    }
    let Some(col) = axis.visible(m.to) else { return };
    for row in [g.joints, g.strips].into_iter().flat_map(|r| r.y..r.end()) {
        canvas.text(x + col, row, 1, "┊", style);
    }
    canvas.text(x + col, y, 1, "┿", style);
    let at = state.moving.map_or_else(String::new, |m| time::when(state.kitchen.zone, m.to));
    let words = if inside { at } else { format!("! {at}") };
    let wide = width(&words) as u16;
    if col + 2 + wide <= g.cols() {
        canvas.text(x + col + 2, y, wide, &words, style);
    } else {
        canvas.text_right(x + col.saturating_sub(1), y, col.saturating_sub(1), &words, style);
    }
}

/// The selected task's earliest, present and latest start, as a line to slide on.
fn ruler(canvas: &mut Canvas, state: &State, chart: &Chart, g: &Geometry) {
    let Some(t) = state.moving.map(|m| m.task).or(state.selected_task()) else { return };
    let (task, axis, zone) = (&chart.tasks[t], &state.axis, state.kitchen.zone);
    let style = canvas.ink(Ink::Accent);
    let word = if state.moving.is_some() { "move to" } else { "can start" };
    canvas.text(0, g.ruler, g.label - 1, word, style);
    if let Some((_, inside)) = state.moving_words() {
        moving(canvas, state, chart, g, inside);
        return;
    }
    let Some((from, to)) = axis.touched(task.earliest, task.latest + 1) else { return };
    let (x, y) = (g.label, g.ruler);
    if task.earliest == task.latest {
        let word = "no slack";
        canvas.text(x + from, y, 1, "╿", style);
        if usize::from(g.cols() - to) > width(word) {
            canvas.text(x + to + 1, y, g.cols() - to - 1, word, style);
        }
        return;
    }
    canvas.text(x + from, y, to - from, &"─".repeat(usize::from(to - from)), style);
    if axis.visible(task.earliest) == Some(from) {
        canvas.text(x + from, y, 1, "├", style);
        let words = time::when(zone, task.earliest);
        let wide = width(&words) as u16;
        if from > wide + 1 {
            canvas.text(x + from - wide - 1, y, wide, &words, style);
        }
    }
    if axis.visible(task.latest) == Some(to - 1) {
        canvas.text(x + to - 1, y, 1, "┤", style);
        let words = time::when(zone, task.latest);
        if u16::try_from(width(&words)).is_ok_and(|w| w + 1 < g.cols() - to) {
            canvas.text(x + to + 1, y, g.cols() - to - 1, &words, style);
        }
    }
    if let Some(col) = axis.visible(task.start) {
        canvas.text(x + col, y, 1, "┿", style);
    }
}
