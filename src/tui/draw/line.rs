//! One line of the chart as cells: what is drawn over what is decided here, by rank.

use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

use super::Canvas;
use crate::app::text::width;
use crate::app::{Axis, Spans, Target, share, time};
use crate::kitchen::Zone;
use crate::tui::theme::Ink;

/// A cell of a line.
#[derive(Debug, Clone, Copy)]
struct Cell {
    glyph: char,
    ink: Ink,
    /// Higher is on top.
    rank: u8,
    task: Option<usize>,
}

const EMPTY: Cell = Cell { glyph: ' ', ink: Ink::Quiet, rank: 0, task: None };

/// The cells of a line, one a column.
pub struct Line {
    cells: Vec<Cell>,
    axis: Axis,
}

impl Line {
    pub fn new(axis: Axis) -> Self {
        Self { cells: vec![EMPTY; usize::from(axis.cols)], axis }
    }

    /// Puts a glyph, unless something of higher rank is there.
    pub fn put(&mut self, col: u16, glyph: char, ink: Ink, rank: u8, task: Option<usize>) {
        if let Some(cell) = self.cells.get_mut(usize::from(col)).filter(|c| c.rank <= rank) {
            *cell = Cell { glyph, ink, rank, task };
        }
    }

    /// Fills the columns that a stretch of time touches; `glyph` is asked for each column's middle moment.
    pub fn fill(
        &mut self,
        from: i64,
        to: i64,
        ink: Ink,
        rank: u8,
        task: Option<usize>,
        glyph: impl Fn(i64) -> char,
    ) -> Option<(u16, u16)> {
        let (first, last) = self.axis.touched(from, to)?;
        for col in first..last {
            let middle = (self.axis.time(i64::from(col)) + self.axis.per_col / 2).clamp(from, to.max(from));
            self.put(col, glyph(middle), ink, rank, task);
        }
        Some((first, last))
    }

    /// Writes a word into a bar, in the first place with room for it between what is marked there.
    pub fn word(&mut self, bar: Option<(u16, u16)>, word: &str, rank: u8) {
        let Some((first, last)) = bar else { return };
        let wide = width(word);
        // Only one-column characters can share a row of cells with glyphs; other names are left to the panel.
        if word.is_empty() || wide != word.chars().count() {
            return;
        }
        let cells = &mut self.cells[usize::from(first)..usize::from(last)];
        let Some(from) = cells.windows(wide + 4).position(|w| w.iter().all(|c| c.rank <= rank)) else { return };
        let span = &mut cells[from + 1..from + wide + 3];
        for (cell, glyph) in span.iter_mut().zip(std::iter::once(' ').chain(word.chars()).chain(std::iter::once(' '))) {
            *cell = Cell { glyph, ink: Ink::Plain, ..*cell };
        }
    }

    /// Draws the line with its ground and the line of now, and notes where its tasks are.
    pub fn flush(self, canvas: &mut Canvas, x: u16, y: u16, row: usize, look: &Look) {
        canvas.places.add_time(Rect::new(x, y, self.axis.cols, 1), Some(row), self.axis);
        let now = self.axis.visible(look.now);
        let mut run: Option<(usize, u16)> = None;
        for (col, cell) in self.cells.iter().enumerate() {
            let open = look.is_open(&self.axis, col as i64);
            let mut style = canvas.theme.ink(cell.ink).patch(canvas.theme.ground(open));
            let mut glyph = cell.glyph;
            if cell.rank == 0 && !open && !canvas.theme.has_ground() && look.dots {
                glyph = '·';
            }
            if cell.rank <= 1 && now == Some(col as u16) {
                glyph = '│';
                style = style.patch(canvas.theme.ink(Ink::Accent));
            }
            if cell.task.is_some() && cell.task == look.selected {
                style = Style::new().patch(canvas.theme.ink(Ink::Accent)).add_modifier(Modifier::REVERSED);
            }
            let col = col as u16;
            if let Some(target) = canvas.buf.cell_mut((x + col, y)) {
                target.set_char(glyph).set_style(style);
            }
            match (run, cell.task) {
                (Some((task, _)), Some(t)) if task == t => {}
                (open_run, next) => {
                    if let Some((task, from)) = open_run {
                        canvas.places.add(Rect::new(x + from, y, col - from, 1), Target::Task { row, task });
                    }
                    run = next.map(|t| (t, col));
                }
            }
        }
        if let Some((task, from)) = run {
            canvas.places.add(Rect::new(x + from, y, self.axis.cols - from, 1), Target::Task { row, task });
        }
    }
}

/// What a line is drawn on and with.
pub struct Look<'a> {
    /// Hours with the lighter ground.
    pub open: &'a Spans,
    pub zone: Zone,
    pub now: i64,
    pub selected: Option<usize>,
    /// Mark hours without anybody with a dot where there is no shade for it.
    pub dots: bool,
}

impl Look<'_> {
    /// Whether a column has the lighter ground: somebody can work in a good part of it. Where a column is six hours or
    /// more the whole day counts, or the nights would make stripes of every week; fewer than six hours in it
    /// are as good as none.
    fn is_open(&self, axis: &Axis, col: i64) -> bool {
        let (from, middle) = (axis.time(col), axis.time(col) + axis.per_col / 2);
        if axis.per_col < 360 {
            return share(self.open, from, from + axis.per_col) >= 0.25;
        }
        let day = middle - time::civil_minutes(self.zone, middle).rem_euclid(time::DAY);
        share(self.open, day, day + time::DAY) >= 0.25
    }
}
