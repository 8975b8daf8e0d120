//! Drawing: from the state to a buffer, and a list of what was drawn where. Nothing here changes the state.

mod axis;
mod footer;
mod form;
mod line;
mod lines;
mod overlay;
mod palette;
mod panel;
mod plot;
mod sheet;
mod views;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

use super::places::Places;
use super::theme::{Ink, Theme};
use crate::app::text::{fit, wrap};
use crate::app::{
    Command, Field, Overlay, SMALLEST, Screen, State, TITLE, Target, Tone, View, body, sentence, standing_line,
};

/// What the parts of a frame share.
struct Canvas<'a> {
    buf: &'a mut Buffer,
    theme: Theme,
    places: Places,
}

impl Canvas<'_> {
    /// Writes text from a column on, at most `columns` wide; gives back how many columns it took.
    fn text(&mut self, x: u16, y: u16, columns: u16, text: &str, style: Style) -> u16 {
        let area = *self.buf.area();
        if y >= area.bottom() || x >= area.right() {
            return 0;
        }
        let columns = columns.min(area.right() - x);
        let (end, _) = self.buf.set_stringn(x, y, fit(text, usize::from(columns)), usize::from(columns), style);
        end - x
    }

    /// The same, ending at `right` (one past the last column).
    fn text_right(&mut self, right: u16, y: u16, columns: u16, text: &str, style: Style) {
        let text = fit(text, usize::from(columns));
        let width = crate::app::text::width(&text) as u16;
        self.text(right.saturating_sub(width), y, width, &text, style);
    }

    /// A line of text being typed, with its cursor; the part around the cursor when it is longer than the room.
    fn field(&mut self, x: u16, y: u16, columns: u16, field: &Field, style: Style) -> u16 {
        let (before, after) = field.halves();
        let room = usize::from(columns).saturating_sub(1);
        let mut skipped = before;
        while crate::app::text::width(skipped) > room {
            let mut chars = skipped.chars();
            chars.next();
            skipped = chars.as_str();
        }
        let end = self.text(x, y, columns, skipped, style);
        let left = columns.saturating_sub(end);
        let under = after.chars().next().map_or(" ".to_owned(), String::from);
        let wide = self.text(x + end, y, left, &under, style.add_modifier(Modifier::REVERSED));
        let rest = after.get(under.len().min(after.len())..).unwrap_or_default();
        end + wide + self.text(x + end + wide, y, left.saturating_sub(wide), rest, style)
    }

    fn ink(&self, ink: Ink) -> Style {
        self.theme.ink(ink)
    }

    fn bold(&self, ink: Ink) -> Style {
        self.theme.ink(ink).add_modifier(Modifier::BOLD)
    }
}

/// Draws the whole screen and tells what is where.
pub fn frame(state: &State, theme: Theme, buf: &mut Buffer) -> Places {
    let area = *buf.area();
    buf.reset();
    buf.set_style(area, theme.base());
    let mut canvas = Canvas { buf, theme, places: Places::default() };
    let Some(g) = state.geometry() else {
        too_small(&mut canvas, area);
        return canvas.places;
    };
    // The state may not have heard of the present size yet; the next frame will be right.
    if area.width < g.screen.cols || area.height < g.screen.rows {
        too_small(&mut canvas, area);
        return canvas.places;
    }

    let said = sentence(state);
    let style = match said.tone {
        Tone::Plain => canvas.bold(Ink::Plain),
        Tone::Trouble => canvas.ink(Ink::Danger),
    };
    write_sentence(&mut canvas, g.sentence.y, g.sentence.height, g.screen.cols, &said.text, style);

    match state.chart.as_deref() {
        _ if state.view != View::Timeline => view(&mut canvas, state, g.screen),
        Some(chart) => {
            axis::draw(&mut canvas, state, chart, &g);
            lines::draw(&mut canvas, state, chart, &g);
            panel::draw(&mut canvas, state, chart, &g);
        }
        None => panel::reasons(&mut canvas, state, &g),
    }
    if state.view == View::Timeline && !(state.fresh && state.chart.is_none()) {
        standing(&mut canvas, state, g.standing, g.screen.cols);
    }
    footer::draw(&mut canvas, state, g.footer, g.screen.cols);
    match state.overlay {
        Overlay::Help { top } => overlay::help(&mut canvas, state, area, top),
        Overlay::Standing => overlay::standing(&mut canvas, state, area),
        Overlay::Log => sheet::log(&mut canvas, state, area),
        Overlay::Ask => sheet::ask(&mut canvas, state, area),
        Overlay::Trouble => sheet::trouble(&mut canvas, state, area),
        Overlay::Form => form::draw(&mut canvas, state, area),
        Overlay::Palette => palette::draw(&mut canvas, state, area),
        Overlay::Move => {
            // The ruler again, over the lines of the chart.
            if let Some(chart) = state.chart.as_deref() {
                axis::draw(&mut canvas, state, chart, &g);
            }
        }
        Overlay::None | Overlay::Search => {}
    }
    canvas.places
}

/// Every view but the timeline: its title, and under it the view.
fn view(canvas: &mut Canvas, state: &State, screen: Screen) {
    let Some(body) = body(screen) else { return };
    let (bold, quiet) = (canvas.bold(Ink::Accent), canvas.ink(Ink::Quiet));
    let end = 1 + canvas.text(1, TITLE, screen.cols - 2, state.view.title(), bold);
    canvas.places.add(Rect::new(1, TITLE, end, 1), Target::Command(Command::Views));
    canvas.text(end + 2, TITLE, screen.cols.saturating_sub(end + 3), state.view.says(), quiet);
    views::draw(canvas, state, Rect::new(1, body.y, screen.cols - 2, body.height));
}

/// The sentence over one or two rows; what does not fit ends in an ellipsis.
fn write_sentence(canvas: &mut Canvas, y: u16, height: u16, columns: u16, text: &str, style: Style) {
    let mut lines = wrap(text, usize::from(columns));
    let height = usize::from(height);
    if lines.len() > height {
        let rest = lines.split_off(height - 1).join(" ");
        lines.push(rest);
    }
    for (i, line) in lines.iter().enumerate() {
        canvas.text(0, y + i as u16, columns, line, style);
    }
}

/// How good the plan is, on the one rule line of the screen.
fn standing(canvas: &mut Canvas, state: &State, y: u16, columns: u16) {
    let style = canvas.ink(Ink::Quiet);
    canvas.text(0, y, columns, &"─".repeat(usize::from(columns)), style);
    let line = standing_line(state);
    if !line.is_empty() {
        let end = canvas.text(2, y, columns - 4, &format!(" {line} "), style);
        canvas.places.add(Rect::new(2, y, end, 1), Target::Command(Command::Standing));
    }
}

fn too_small(canvas: &mut Canvas, area: Rect) {
    let said = format!(
        "turnday needs {} columns and {} rows; here are {} and {}. Make the window larger, or q to quit.",
        SMALLEST.cols, SMALLEST.rows, area.width, area.height
    );
    for (i, line) in wrap(&said, usize::from(area.width)).iter().take(usize::from(area.height)).enumerate() {
        canvas.text(area.x, area.y + i as u16, area.width, line, Style::new());
    }
}
