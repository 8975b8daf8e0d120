//! The small plot of the detail pane.

use ratatui::layout::Rect;
use ratatui::style::Color;
use ratatui::symbols::Marker;
use ratatui::widgets::Widget;
use ratatui::widgets::canvas::{self, Painter};

use super::Canvas;
use crate::app::text::{width, wrap};
use crate::app::{Curve, Grain, Picture, State};
use crate::tui::theme::Ink;

/// The least columns and rows in which a plot can be read.
pub const LEAST: (u16, u16) = (28, 6);

/// Columns of the values at the left.
const VALUES: u16 = 6;

/// A curve painted in dots, two a column and four a row.
struct Band<'a> {
    picture: &'a Picture,
    curve: &'a Curve,
    color: Color,
    wide: u16,
    high: u16,
}

impl canvas::Shape for Band<'_> {
    fn draw(&self, painter: &mut Painter) {
        let dots = usize::from(self.wide) * 2;
        let rows = usize::from(self.high) * 4;
        let dot = |value: f64| {
            let up = (value / self.picture.top).clamp(0.0, 1.0) * (rows - 1) as f64;
            rows - 1 - up.round() as usize
        };
        let (from, span) = (self.picture.from as f64, (self.picture.to - self.picture.from) as f64);
        let mut before: Option<(usize, usize)> = None;
        for x in 0..dots {
            let Some((low, high)) = self.curve.at(from + span * (x as f64 + 0.5) / dots as f64) else { continue };
            let (bottom, top) = (dot(low), dot(high));
            // Without a gap from the column before.
            let (first, last) = match before {
                Some((_, b)) if b + 1 < top => (b + 1, bottom),
                Some((t, _)) if t > bottom + 1 => (top, t - 1),
                _ => (top, bottom),
            };
            for y in first..=last {
                if self.curve.grain == Grain::Full || (x + y) % 2 == 0 {
                    painter.paint(x, y, self.color);
                }
            }
            before = Some((top, bottom));
        }
    }
}

/// Draws the plot with its title over it and the days or hours under it; what kind of figure it is where there is room.
pub fn draw(canvas: &mut Canvas, state: &State, picture: &Picture, area: Rect) {
    let (quiet, bold) = (canvas.ink(Ink::Quiet), canvas.bold(Ink::Plain));
    canvas.text(area.x, area.y, area.width, &picture.title, bold);
    let said = wrap(&picture.said, usize::from(area.width));
    let room = usize::from(area.height.saturating_sub(7)).min(3);
    let said = if said.len() <= room { said } else { Vec::new() };
    let plot =
        Rect::new(area.x + VALUES, area.y + 1, area.width - VALUES, area.height.saturating_sub(2 + said.len() as u16));
    let mut sheet = Sheet { plot, picture, columns: Vec::new(), words: Vec::new() };
    sheet.curves(canvas);
    sheet.marks(canvas, state.now);
    sheet.names(canvas);
    sheet.levels(canvas);
    sheet.ticks(canvas, state);
    for (line, y) in said.iter().zip(plot.bottom() + 1..) {
        canvas.text(area.x, y, area.width, line, quiet);
    }
}

/// A plot being drawn: curves first, then what still finds a free cell.
struct Sheet<'a> {
    plot: Rect,
    picture: &'a Picture,
    /// Columns kept for the lines of marks.
    columns: Vec<u16>,
    /// Words written, each with a blank at either side.
    words: Vec<Rect>,
}

impl Sheet<'_> {
    fn curves(&self, canvas: &mut Canvas) {
        let Rect { width: wide, height: high, .. } = self.plot;
        let ink = |g: Grain| if g == Grain::Full { Ink::Accent } else { Ink::Plain };
        for curve in &self.picture.curves {
            let color = canvas.ink(ink(curve.grain)).fg.unwrap_or(Color::Reset);
            // Without it the terminal's own ground would show through where the theme has one.
            let ground = canvas.theme.base().bg.unwrap_or(Color::Reset);
            canvas::Canvas::default()
                .background_color(ground)
                .marker(Marker::Braille)
                .x_bounds([0.0, 1.0])
                .y_bounds([0.0, 1.0])
                .paint(|ctx| ctx.draw(&Band { picture: self.picture, curve, color, wide, high }))
                .render(self.plot, canvas.buf);
        }
    }

    /// The column of a moment.
    fn column(&self, at: i64) -> Option<u16> {
        let (from, to) = (self.picture.from, self.picture.to);
        let inside = (from..=to).contains(&at);
        let col = (at - from) as f64 / (to - from).max(1) as f64 * f64::from(self.plot.width);
        inside.then(|| self.plot.x + (col as u16).min(self.plot.width - 1))
    }

    fn free(&self, canvas: &Canvas, x: u16, y: u16) -> bool {
        canvas.buf.cell((x, y)).is_some_and(|c| c.symbol() == " ")
    }

    /// Whether a word has room, with a blank at either side, off the lines of marks.
    fn fits(&self, canvas: &Canvas, x: u16, y: u16, wide: u16) -> bool {
        x >= self.plot.x
            && x + wide <= self.plot.right()
            && (x..x + wide).all(|x| self.free(canvas, x, y) && !self.columns.contains(&x))
            && (x + wide == self.plot.right() || self.free(canvas, x + wide, y))
            && (x == self.plot.x || self.free(canvas, x - 1, y))
    }

    /// A line for each moment that matters, its name beside it at the top or the bottom, wherever there is room.
    fn marks(&mut self, canvas: &mut Canvas, now: i64) {
        let shown: Vec<(u16, i64, &str)> =
            self.picture.marks.iter().filter_map(|m| Some((self.column(m.0)?, m.0, m.1))).collect();
        self.columns = shown.iter().map(|s| s.0).collect();
        let style = |canvas: &Canvas, at: i64, name: &str| {
            if name == "now" && at == now { canvas.bold(Ink::Accent) } else { canvas.ink(Ink::Quiet) }
        };
        let (top, bottom) = (self.plot.y, self.plot.bottom() - 1);
        let rows: Vec<u16> = (0..self.plot.height.div_ceil(2)).flat_map(|i| [top + i, bottom - i]).collect();
        for &(col, at, name) in &shown {
            let wide = width(name) as u16;
            let left = col.checked_sub(wide);
            let place = rows
                .iter()
                .flat_map(|&y| [Some((col + 1, y)), left.map(|x| (x, y))])
                .flatten()
                .find(|&(x, y)| self.fits(canvas, x, y, wide));
            if let Some((x, y)) = place {
                let style = style(canvas, at, name);
                canvas.text(x, y, wide, name, style);
                self.words.push(Rect::new(x - 1, y, wide + 2, 1));
            }
        }
        for &(col, at, name) in shown.iter().rev() {
            let (glyph, style) = (if name == "now" { "│" } else { "┊" }, style(canvas, at, name));
            for y in top..=bottom {
                if self.free(canvas, col, y) || (name == "now" && canvas.buf[(col, y)].symbol() == "┊") {
                    canvas.text(col, y, 1, glyph, style);
                }
            }
        }
    }

    /// What each curve is, beside it: as far to the right as there is room.
    fn names(&self, canvas: &mut Canvas) {
        if self.picture.curves.len() < 2 {
            return;
        }
        for curve in &self.picture.curves {
            let wide = width(curve.name) as u16;
            let span = (self.picture.to - self.picture.from) as f64;
            let place = (self.plot.x..self.plot.right().saturating_sub(wide)).rev().find_map(|x| {
                // Beside the middle of the word: the full curve's rather over it, the dotted one's under.
                let middle = f64::from(x - self.plot.x) + f64::from(wide) / 2.0;
                let at = self.picture.from as f64 + span * middle / f64::from(self.plot.width);
                let (low, high) = curve.at(at)?;
                let (over, under) = (i32::from(self.row(high)), i32::from(self.row(low)));
                let rows = match curve.grain {
                    Grain::Full => [over - 1, over - 2, under + 1],
                    Grain::Dotted => [under + 1, under + 2, over - 1],
                };
                let rows = rows.into_iter().filter_map(|y| u16::try_from(y).ok());
                let inside = |y: &u16| (self.plot.y..self.plot.bottom()).contains(y);
                rows.filter(inside).find(|y| self.fits(canvas, x, *y, wide)).map(|y| (x, y))
            });
            if let Some((x, y)) = place {
                let ink = if curve.grain == Grain::Full { Ink::Accent } else { Ink::Plain };
                let style = canvas.ink(ink);
                canvas.text(x, y, wide, curve.name, style);
            }
        }
    }

    /// The row of a value.
    fn row(&self, value: f64) -> u16 {
        let dots = f64::from(self.plot.height * 4 - 1);
        let up = ((value / self.picture.top).clamp(0.0, 1.0) * dots).round() as u16;
        self.plot.y + (self.plot.height * 4 - 1 - up) / 4
    }

    fn levels(&self, canvas: &mut Canvas) {
        let quiet = canvas.ink(Ink::Quiet);
        let mut taken = Vec::new();
        for &(value, name, line) in &self.picture.levels {
            let y = self.row(value);
            if taken.contains(&y) {
                continue;
            }
            taken.push(y);
            canvas.text_right(self.plot.x - 1, y, VALUES - 1, name, quiet);
            for x in self.plot.x..self.plot.right() {
                let word = self.words.iter().any(|w| w.contains((x, y).into()));
                if line && !word && self.free(canvas, x, y) {
                    canvas.text(x, y, 1, "╌", quiet);
                }
            }
        }
    }

    fn ticks(&self, canvas: &mut Canvas, state: &State) {
        let (quiet, y) = (canvas.ink(Ink::Quiet), self.plot.bottom());
        let mut free = self.plot.x.saturating_sub(VALUES);
        for (at, text) in self.picture.ticks(state.kitchen.zone, self.plot.width) {
            let Some(col) = self.column(at) else { continue };
            let wide = width(&text) as u16;
            // Under its moment with its middle; whole or not at all.
            let x = col.saturating_sub(wide / 2);
            if x >= free && x + wide <= self.plot.right() {
                canvas.text(x, y, wide, &text, quiet);
                free = x + wide + 1;
            }
        }
    }
}
