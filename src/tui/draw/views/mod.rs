//! Every view but the timeline: the frame draws sentence, title and footer, and this the page of the view with its cursor,
//! and a plot beside it where there is room.

mod change;
mod kitchen;

use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

use super::{Canvas, plot};
use crate::app::views::{Laid, Voice, has_plot, laid};
use crate::app::{State, Target, View, heat_picture, salt_picture};
use crate::tui::theme::Ink;

/// Draws the view on the screen into the area between title and footer.
pub fn draw(canvas: &mut Canvas, state: &State, area: Rect) {
    match (state.view, laid(state, state.view)) {
        // Drawn by the frame itself.
        (View::Timeline, _) => {}
        (View::Change, _) => change::draw(canvas, state, area),
        (View::Kitchen, _) => kitchen::draw(canvas, state, area),
        (view, None) => nothing_yet(canvas, state, view, area),
        (view, Some(laid)) => {
            page(canvas, state, &laid, area);
            if has_plot(state, view) {
                let left = laid.page.columns as u16 + 3;
                let beside = Rect { x: area.x + left, width: area.width.saturating_sub(left), ..area };
                plots(canvas, state, view, beside);
            }
        }
    }
}

/// For a view that has nothing to show: what it would show.
fn nothing_yet(canvas: &mut Canvas, state: &State, view: View, area: Rect) {
    let quiet = canvas.ink(Ink::Quiet);
    let why = if state.chart.is_none() { "No plan yet" } else { "Nothing to show yet" };
    canvas.text(area.x, area.y, area.width, &format!("{why}: {}.", view.says()), quiet);
}

fn style(canvas: &Canvas, voice: Voice) -> Style {
    match voice {
        Voice::Plain => canvas.ink(Ink::Plain),
        Voice::Quiet => canvas.ink(Ink::Quiet),
        Voice::Strong => canvas.bold(Ink::Plain),
        Voice::Accent => canvas.bold(Ink::Accent),
        Voice::Trouble => canvas.ink(Ink::Danger),
    }
}

/// The lines of a page from the one that is scrolled to, the cursor's among them.
fn page(canvas: &mut Canvas, state: &State, laid: &Laid, area: Rect) {
    let spot = state.spot();
    let (height, lines) = (usize::from(area.height), &laid.page.lines);
    let row = |stop: usize| laid.stops.get(stop).copied().unwrap_or(lines.len());
    // Stops may be several rows tall: the last row of the cursor's own is in view, and its first even more so.
    let end = row(spot.line + 1).min(row(spot.line) + height).max(row(spot.line) + 1);
    let mut top = if spot.top == 0 { 0 } else { row(spot.top) };
    top = top.max(end.saturating_sub(height)).min(row(spot.line));
    // Nothing is left empty below what could be seen.
    top = top.min(lines.len().saturating_sub(height));
    for (y, line) in (area.y..area.bottom()).zip(lines.iter().skip(top)) {
        let mut x = area.x;
        for span in &line.spans {
            let style = style(canvas, span.voice);
            x += canvas.text(x, y, area.right().saturating_sub(x), &span.text, style);
        }
    }
    let at = |r: usize| area.y + (r.saturating_sub(top)) as u16;
    for (i, stop) in laid.stops.iter().enumerate() {
        let (from, to) = (at((*stop).max(top)), at(row(i + 1).min(top + height)));
        if *stop < top + height && row(i + 1) > top && to > from {
            let place = Rect::new(area.x, from, area.width, to - from);
            canvas.places.add(place, Target::Line { line: i, across: spot.across });
        }
    }
    if !laid.stops.is_empty() && (top..top + height).contains(&row(spot.line)) {
        let style = canvas.bold(Ink::Accent);
        let y = at(row(spot.line));
        canvas.text(area.x - 1, y, 1, "▸", style);
        let width = laid.page.columns as u16;
        canvas.buf.set_style(Rect::new(area.x, y, width.min(area.width), 1), Style::new().add_modifier(Modifier::BOLD));
    }
    let quiet = canvas.ink(Ink::Quiet);
    if top > 0 {
        canvas.text(area.right(), area.y, 1, "▲", quiet);
    }
    if top + height < lines.len() {
        canvas.text(area.right(), area.bottom().saturating_sub(1), 1, "▼", quiet);
    }
}

/// The salt and the heat of the joint in hand, or the heat of the cook day's thickest.
fn plots(canvas: &mut Canvas, state: &State, view: View, area: Rect) {
    let Some(chart) = state.chart.as_deref() else { return };
    let across = state.spot().across;
    let pictures: Vec<_> = match view {
        View::Joint => {
            [salt_picture(state, chart, across), heat_picture(state, chart, across)].into_iter().flatten().collect()
        }
        _ => {
            let cooked = laid(state, view).and_then(|l| l.page.lines.iter().find_map(|l| l.of.clone()));
            let crate::app::views::Handle::Task(id) = (match cooked {
                Some(h) => h,
                None => return,
            }) else {
                return;
            };
            let joints = chart.task(&id).map(|t| chart.plan.tasks[t].joints.clone()).unwrap_or_default();
            let of = |n: &String| chart.plan.joints.iter().position(|j| j.name == *n);
            joints.iter().filter_map(of).filter_map(|j| heat_picture(state, chart, j)).take(2).collect()
        }
    };
    let n = pictures.len() as u16;
    if n == 0 || area.width < plot::LEAST.0 {
        return;
    }
    let each = (area.height / n).min(18);
    for (i, picture) in pictures.iter().enumerate() {
        let y = area.y + i as u16 * each;
        let place = Rect { y, height: each.saturating_sub(1), ..area };
        if place.height >= plot::LEAST.1 {
            plot::draw(canvas, state, picture, place);
        }
    }
}
