//! Moving about: the selection, the window of time, and what is scrolled into view.

use std::sync::Arc;

use super::axis::Axis;
use super::chart::Chart;
use super::search::matches;
use super::state::{Selection, State};
use super::time::Min;
use crate::plan::Kind;

/// Which way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    Back,
    On,
}

impl State {
    /// Selects a line and a task and brings both into view.
    pub(super) fn select(&mut self, chart: &Chart, row: usize, task: Option<usize>) {
        if row < chart.rows.len() {
            self.selected = Some(Selection { row, task: task.filter(|t| *t < chart.tasks.len()) });
            self.show_row(chart, row);
            if let Some(t) = self.selected_task() {
                self.show_time(chart.tasks[t].start, chart.tasks[t].end);
            }
        }
    }

    /// Selects a task on its first line, or on the present line when it is there too.
    pub(super) fn select_task(&mut self, chart: &Chart, task: usize) {
        let here = self.selected.map(|s| s.row).filter(|&r| chart.rows[r].tasks.contains(&task));
        if let Some(row) = here.or_else(|| chart.row_of(task)) {
            self.select(chart, row, Some(task));
        }
    }

    /// The line `steps` further, with the task on it nearest in time to the one in hand.
    pub(super) fn step_row(&mut self, chart: &Chart, steps: isize) {
        let last = chart.rows.len().saturating_sub(1);
        let row = match self.selected {
            Some(s) => s.row.saturating_add_signed(steps).min(last),
            None => 0,
        };
        if row >= chart.rows.len() {
            return;
        }
        let at = self.selected_task().map_or(self.now, |t| chart.tasks[t].start);
        let tasks = &chart.rows[row].tasks;
        let nearest = tasks.iter().copied().min_by_key(|&t| (chart.tasks[t].start - at).abs());
        self.select(chart, row, nearest);
    }

    /// The task before or after on the selected line; without one in hand, the first from now.
    pub(super) fn step_on_row(&mut self, chart: &Chart, way: Way) {
        let Some(s) = self.selected else { return self.step_row(chart, 0) };
        let tasks = &chart.rows[s.row].tasks;
        let place = s.task.and_then(|t| tasks.iter().position(|x| *x == t));
        let next = match (place, way) {
            (Some(0), Way::Back) => None,
            (Some(p), Way::Back) => tasks.get(p - 1),
            (Some(p), Way::On) => tasks.get(p + 1),
            (None, Way::On) => tasks.iter().find(|&&t| chart.tasks[t].start >= self.now).or(tasks.last()),
            (None, Way::Back) => tasks.iter().rev().find(|&&t| chart.tasks[t].start < self.now).or(tasks.first()),
        };
        if let Some(&t) = next {
            self.select(chart, s.row, Some(t));
        }
    }

    /// The task before or after in time, on whatever line, that `wanted` takes.
    pub(super) fn step_in_time(&mut self, chart: &Chart, way: Way, wanted: impl Fn(&Chart, usize) -> bool) {
        let place = self.selected_task().and_then(|t| chart.order.iter().position(|x| *x == t));
        let next = match (place, way) {
            (Some(p), Way::On) => chart.order[p + 1..].iter().find(|&&t| wanted(chart, t)),
            (Some(p), Way::Back) => chart.order[..p].iter().rev().find(|&&t| wanted(chart, t)),
            (None, Way::On) => chart.order[chart.from(self.now)..].iter().find(|&&t| wanted(chart, t)),
            (None, Way::Back) => chart.order[..chart.from(self.now)].iter().rev().find(|&&t| wanted(chart, t)),
        };
        if let Some(&t) = next {
            self.select_task(chart, t);
        }
    }

    /// The next match of the query after the selection, round to the first.
    pub(super) fn step_match(&mut self, chart: &Arc<Chart>, way: Way) {
        let found = matches(self, &self.query);
        if found.is_empty() {
            self.notice = Some(format!("nothing matches \"{}\"", self.query));
            return;
        }
        let next = match (found.iter().position(|m| Some(*m) == self.selected), way) {
            (Some(p), Way::On) => (p + 1) % found.len(),
            (Some(p), Way::Back) => (p + found.len() - 1) % found.len(),
            (None, Way::On) => 0,
            (None, Way::Back) => found.len() - 1,
        };
        self.select(chart, found[next].row, found[next].task);
        self.notice = Some(format!("match {} of {}", next + 1, found.len()));
    }

    /// Pans as little as it takes to see a stretch; its start when it is longer than the view.
    pub(super) fn show_time(&mut self, from: Min, to: Min) {
        let cols = i64::from(self.axis.cols);
        if cols == 0 {
            return;
        }
        let air = (cols / 8).min(6);
        let (first, last) = (self.axis.col(from), self.axis.col(to.max(from + 1) - 1));
        let by = if first < air {
            first - air
        } else if last >= cols - air {
            (last - (cols - 1 - air)).min(first - air)
        } else {
            0
        };
        if by != 0 {
            self.pan(by);
        }
    }

    /// Moves the window by columns, staying within sight of the plan or of now.
    pub(super) fn pan(&mut self, cols: i64) {
        self.look_from(self.axis.time(cols));
    }

    /// Puts the left edge at a moment, within sight of the plan or of now.
    pub(super) fn look_from(&mut self, left: Min) {
        let (first, last) = match &self.chart {
            Some(c) => (c.first.min(self.now), c.last.max(self.now)),
            None => (self.now, self.now),
        };
        let view = self.axis.per_col * i64::from(self.axis.cols);
        let left = left.clamp(first - view + self.axis.per_col, (last - self.axis.per_col).max(first));
        self.axis = self.axis.moved(left, self.kitchen.zone);
    }

    /// Puts a moment a third from the left.
    pub(super) fn look_at(&mut self, at: Min) {
        self.look_from(at - self.axis.per_col * i64::from(self.axis.cols) / 3);
    }

    pub(super) fn zoom(&mut self, steps: i32, about: Min) {
        self.axis = self.axis.zoomed(steps, about, self.kitchen.zone);
        self.look_from(self.axis.left);
    }

    /// The moment that stays where it is when zooming by key: the task in hand when in view, else the middle.
    pub(super) fn zoom_point(&self) -> Min {
        let task = self.chart.as_ref().zip(self.selected_task()).map(|(c, t)| c.tasks[t].start);
        task.filter(|t| self.axis.visible(*t).is_some()).unwrap_or(self.axis.time(i64::from(self.axis.cols) / 2))
    }

    /// The whole plan, and now when it is near.
    pub(super) fn fit(&mut self) {
        if self.chart.as_ref().is_some_and(|c| c.first == c.last) {
            self.axis.per_col = 360;
            self.look_at(self.now);
        } else if let Some(c) = &self.chart {
            let length = (c.last - c.first).max(1);
            let near = self.now < c.last && c.first - self.now < length / 2;
            let from = if near { c.first.min(self.now) } else { c.first };
            self.axis = Axis::fitted(from, c.last, self.axis.cols, self.kitchen.zone);
        }
    }

    /// Scrolls the joints or the strips so that a line is in view.
    pub(super) fn show_row(&mut self, chart: &Chart, row: usize) {
        let Some(g) = self.geometry() else { return };
        let scroll = |top: usize, row: usize, height: u16, count: usize| {
            let height = usize::from(height).max(1);
            let top = top.clamp((row + 1).saturating_sub(height), row);
            top.min(count.saturating_sub(height))
        };
        if row < chart.joints {
            self.top_joint = scroll(self.top_joint, row, g.joints.height, chart.joints);
        } else {
            self.top_strip = scroll(self.top_strip, row - chart.joints, g.strips.height, chart.strips());
        }
    }

    /// Scrolls the joints or the strips by lines without moving the selection.
    pub(super) fn scroll(&mut self, chart: &Chart, strips: bool, by: isize) {
        let Some(g) = self.geometry() else { return };
        let most = |count: usize, height: u16| count.saturating_sub(usize::from(height));
        if strips {
            let most = most(chart.strips(), g.strips.height);
            self.top_strip = self.top_strip.saturating_add_signed(by).min(most);
        } else {
            let most = most(chart.joints, g.joints.height);
            self.top_joint = self.top_joint.saturating_add_signed(by).min(most);
        }
    }
}

pub(super) fn is_turn(chart: &Chart, task: usize) -> bool {
    chart.tasks[task].kind == Kind::Turn
}
