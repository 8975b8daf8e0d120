//! What the pointer does, where the last frame drew something.

use super::chart::Chart;
use super::command::{Command, entry};
use super::key::{Code, Key};
use super::state::{Overlay, State};
use super::update::{Effect, Gesture, Target};
use super::view::{Spot, View};

impl State {
    pub(super) fn pointer(&mut self, target: Target, gesture: Gesture) -> Vec<Effect> {
        if self.overlay != Overlay::None && !matches!(target, Target::Command(_)) {
            return match (self.overlay, gesture) {
                (Overlay::Palette, Gesture::Press) if matches!(target, Target::Offer(_)) => {
                    if let Target::Offer(i) = target {
                        self.palette.cursor = i;
                    }
                    self.palette_key(Key::of(Code::Enter)).unwrap_or_default()
                }
                (Overlay::Help { .. }, Gesture::WheelUp) => self.command(Command::Up),
                (Overlay::Help { .. }, Gesture::WheelDown) => self.command(Command::Down),
                (Overlay::Form, Gesture::Press) => {
                    if let Target::Blank(i) = target {
                        self.form_press(i);
                    }
                    Vec::new()
                }
                (Overlay::Form, Gesture::WheelUp) => self.command(Command::FieldBefore),
                (Overlay::Form, Gesture::WheelDown) => self.form_wheel(),
                (Overlay::Move, Gesture::Drag { cols, .. }) => {
                    self.slide(i64::from(cols) * self.axis.per_col);
                    Vec::new()
                }
                (Overlay::Ask, Gesture::WheelUp) => self.ask_key(Key::of(Code::Up)).unwrap_or_default(),
                (Overlay::Ask, Gesture::WheelDown) => self.ask_key(Key::of(Code::Down)).unwrap_or_default(),
                (Overlay::Trouble, Gesture::WheelUp) => self.trouble_key(Key::of(Code::Up)).unwrap_or_default(),
                (Overlay::Trouble, Gesture::WheelDown) => self.trouble_key(Key::of(Code::Down)).unwrap_or_default(),
                (Overlay::Palette, Gesture::WheelUp) => self.palette_key(Key::of(Code::Up)).unwrap_or_default(),
                (Overlay::Palette, Gesture::WheelDown) => self.palette_key(Key::of(Code::Down)).unwrap_or_default(),
                (_, Gesture::Press) if target != Target::Overlay => self.command(Command::Back),
                _ => Vec::new(),
            };
        }
        let chart = self.chart.clone();
        match (gesture, target) {
            (Gesture::Press, Target::Line { line, across }) => {
                self.notice = None;
                let again = (self.spot().line, self.spot().across) == (line, across);
                self.set_spot(Spot { line, across, ..self.spot() });
                // A second click on the same place opens it.
                if again && self.view != View::Timeline {
                    return self.run(entry(if self.view == View::Kitchen { Command::Edit } else { Command::Open }));
                }
            }
            (Gesture::WheelUp, _) if self.view != View::Timeline => self.scroll_view(-3),
            (Gesture::WheelDown, _) if self.view != View::Timeline => self.scroll_view(3),
            (Gesture::WheelLeft, _) if self.view != View::Timeline => self.walk(Command::LeftInView),
            (Gesture::WheelRight, _) if self.view != View::Timeline => self.walk(Command::RightInView),
            (Gesture::Press, Target::Command(command)) => {
                return self.run(entry(command));
            }
            (Gesture::Press, _) => {
                self.notice = None;
                self.touched = true;
                if let Some(chart) = chart {
                    self.press(&chart, target);
                }
            }
            (Gesture::WheelLeft, _) => self.pan(-i64::from(self.axis.cols / 8).max(1)),
            (Gesture::WheelRight, _) => self.pan(i64::from(self.axis.cols / 8).max(1)),
            (Gesture::WheelUp | Gesture::WheelDown, target) => {
                let up = gesture == Gesture::WheelUp;
                self.touched = true;
                match target {
                    Target::Name { row } => {
                        if let Some(chart) = chart {
                            self.scroll(&chart, row >= chart.joints, if up { -1 } else { 1 });
                        }
                    }
                    Target::Ground { at, .. } => self.zoom(if up { -1 } else { 1 }, at),
                    Target::Task { task, .. } => {
                        if let Some(chart) = chart {
                            self.zoom(if up { -1 } else { 1 }, chart.tasks[task].start);
                        }
                    }
                    _ => {}
                }
            }
            // What is in hand is moved; anything else pulls time along.
            (Gesture::Drag { cols, .. }, Target::Task { task, .. })
                if self.selected_task() == Some(task) && self.can_be_moved() =>
            {
                self.begin_move();
                self.slide(i64::from(cols) * self.axis.per_col);
            }
            (Gesture::Drag { cols, .. }, Target::Ground { .. } | Target::Task { .. }) => {
                self.touched = true;
                self.pan(-i64::from(cols));
            }
            (Gesture::Drag { .. }, _) => {}
        }
        Vec::new()
    }

    fn press(&mut self, chart: &Chart, target: Target) {
        match target {
            Target::Task { row, task } if row < chart.rows.len() => self.select(chart, row, Some(task)),
            Target::Name { row } | Target::Ground { row: Some(row), .. } => self.select(chart, row, None),
            Target::Next { task } if task < chart.tasks.len() => self.select_task(chart, task),
            _ => {}
        }
    }
}
