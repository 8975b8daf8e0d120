//! What every message does to the state.

use std::sync::Arc;

use super::chart::Chart;
use super::command::{Command, Group};
use super::field::Field;
use super::geometry::Screen;
use super::held::{Deed, Held};
use super::key::Key;
use super::navigate::{Way, is_turn};
use super::news::{PlanNews, Planning};
use super::state::{Overlay, State};
use super::time::{DAY, Min, civil_minutes};
use super::view::{About, View};
use crate::plan::ask::Answer;
use crate::plan::question::Question;

/// Everything that can happen.
#[derive(Debug, Clone)]
pub enum Message {
    Key(Key),
    /// Text pasted into the terminal.
    Paste(String),
    Pointer(Target, Gesture),
    Resize(Screen),
    /// What the clock says now.
    Clock(Min),
    News(PlanNews),
    /// What the book says now.
    Held(Box<Held>),
    /// What the question with this number came to.
    Answer(u64, Result<Arc<Answer>, String>),
    Notice(String),
    /// Nothing is there yet.
    Fresh,
}

/// What the pointer is on: a place that the last frame drew.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Target {
    Task {
        row: usize,
        task: usize,
    },
    /// The name of a line.
    Name {
        row: usize,
    },
    /// Somewhere on a line's ground, or on the axis (no line).
    Ground {
        row: Option<usize>,
        at: Min,
    },
    /// A task in the list of what comes next.
    Next {
        task: usize,
    },
    /// A line of the view on the screen, and how far across.
    Line {
        line: usize,
        across: usize,
    },
    /// A field of the form, by its number.
    Blank(usize),
    /// A command of the palette, by its place in the list.
    Offer(usize),
    Command(Command),
    /// What lies over the timeline.
    Overlay,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gesture {
    Press,
    WheelUp,
    WheelDown,
    WheelLeft,
    WheelRight,
    /// Dragged by so many columns and rows since the last time.
    Drag {
        cols: i32,
        rows: i32,
    },
}

/// What a door must do for the state to be true.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    /// Something lasts: do it, and tell the state what is held then.
    Do(Deed),
    /// Plan anew under the state's revision.
    Plan,
    Quit,
    Suspend,
    StopPlanning,
    /// Plan with a question beside everything else; the answer carries the number of questions asked so far.
    Ask(Question),
    StopAsking,
    Redraw,
    Mouse(bool),
}

/// The state after a message, and what is to be done about it.
pub fn update(mut state: State, message: Message) -> (State, Vec<Effect>) {
    let effects = match message {
        Message::Key(key) => state.key(key),
        Message::Paste(text) => {
            state.paste(&text);
            Vec::new()
        }
        Message::Pointer(target, gesture) => state.pointer(target, gesture),
        Message::Resize(screen) => {
            state.resize(screen);
            Vec::new()
        }
        Message::Clock(now) => {
            state.now = now;
            state.follow_next();
            Vec::new()
        }
        Message::News(news) => state.news(news),
        Message::Held(held) => state.take_held(*held),
        Message::Answer(number, answer) => {
            state.answered(number, answer);
            Vec::new()
        }
        Message::Fresh => {
            state.fresh = true;
            state.open_first();
            Vec::new()
        }
        Message::Notice(text) => {
            state.notice = Some(text);
            Vec::new()
        }
    };
    (state, effects)
}

/// The next moment at which the clock alone changes what is drawn: the now line takes a step, a task starts or ends,
/// a day begins.
pub fn next_wake(state: &State) -> Min {
    let now = state.now;
    let step = state.axis.time(state.axis.col(now) + 1);
    let midnight = now + DAY - civil_minutes(state.kitchen.zone, now).rem_euclid(DAY);
    let edge = state.chart.as_deref().and_then(|c| {
        let next = c.order.get(c.from(now + 1)).map(|&t| c.tasks[t].start);
        let ends = upcoming_end(c, now);
        next.into_iter().chain(ends).min()
    });
    [Some(step), Some(midnight), edge].into_iter().flatten().filter(|t| *t > now).min().unwrap_or(now + 1)
}

/// When the first of the tasks under way ends.
fn upcoming_end(chart: &Chart, now: Min) -> Option<Min> {
    chart.order[..chart.from(now + 1)].iter().map(|&t| chart.tasks[t].end).filter(|e| *e > now).min()
}

impl State {
    fn key(&mut self, key: Key) -> Vec<Effect> {
        let typed = match self.overlay {
            Overlay::Search => self.search_key(key),
            Overlay::Palette => self.palette_key(key),
            Overlay::Log => self.log_key(key),
            Overlay::Ask => self.ask_key(key),
            Overlay::Trouble => self.trouble_key(key),
            Overlay::Move => self.move_key(key).or_else(|| (!self.is_way_out(key)).then(Vec::new)),
            // Whatever the form does not know is dropped, but for the ways out.
            Overlay::Form => self.form_key(key).or_else(|| (!self.is_way_out(key)).then(Vec::new)),
            _ => None,
        };
        if let Some(effects) = typed {
            return effects;
        }
        match self.keymap.clone().command(self.view, key) {
            Some(entry) if entry.is_open(self) => self.command(entry.command),
            Some(entry) => {
                self.notice = Some(format!("nothing to do for \"{}\" just now", entry.words));
                Vec::new()
            }
            None => Vec::new(),
        }
    }

    pub(super) fn command(&mut self, command: Command) -> Vec<Effect> {
        self.notice = None;
        if let Overlay::Help { top } = self.overlay {
            let top = match command {
                Command::Up => Some(top.saturating_sub(1)),
                Command::Down => Some(top + 1),
                Command::PageUp => Some(top.saturating_sub(10)),
                Command::PageDown => Some(top + 10),
                _ => None,
            };
            if let Some(top) = top {
                self.overlay = Overlay::Help { top: top.min(super::COMMANDS.len() * 2 + 30) };
                return Vec::new();
            }
        }
        match command {
            Command::Quit => return vec![Effect::Quit],
            Command::Suspend => return vec![Effect::Suspend],
            Command::Redraw => return vec![Effect::Redraw],
            Command::StopPlanning => {
                self.progress.state = Planning::Stopping;
                return vec![Effect::StopPlanning];
            }
            Command::Mouse => {
                self.mouse = !self.mouse;
                self.notice = Some(if self.mouse { "mouse on" } else { "mouse off: the terminal selects text" }.into());
                return vec![Effect::Mouse(self.mouse)];
            }
            Command::Inks => {
                self.inks = self.inks.next();
                self.notice = Some(self.inks.words().into());
            }
            Command::Help => {
                self.overlay = self.toggled(matches!(self.overlay, Overlay::Help { .. }), Overlay::Help { top: 0 })
            }
            Command::Palette => self.open_palette(None),
            Command::Views => self.open_palette(Some(Group::Views)),
            Command::Standing => self.overlay = self.toggled(self.overlay == Overlay::Standing, Overlay::Standing),
            Command::Search => {
                self.show(View::Timeline);
                self.query.clear();
                self.search = Field::default();
                self.overlay = Overlay::Search;
            }
            Command::Back => {
                if self.overlay != Overlay::None {
                    // What lies on top closes first.
                } else if self.view != View::Timeline {
                    self.view = View::Timeline;
                } else {
                    self.selected = None;
                    self.touched = true;
                }
                self.overlay = Overlay::None;
            }
            Command::Open => self.open(),
            Command::Edit | Command::Add | Command::Copy | Command::Remove => return self.change_kitchen(command),
            Command::Undo | Command::Redo => {
                let again = command == Command::Redo;
                return match &self.book {
                    Some(_) => vec![Effect::Do(if again { Deed::Redo } else { Deed::Undo })],
                    None => self.undo_edit(again),
                };
            }
            Command::MoveTask => self.begin_move(),
            Command::Pin => self.pin(),
            Command::Tick => return self.tick(),
            Command::Later => return self.about_task(|id| Deed::Later { id }),
            Command::WriteDown => self.open_log(),
            Command::WhatIf => self.open_ask(),
            Command::Trouble => self.open_trouble(),
            Command::KeepBook => return self.keep_book(),
            Command::Accept => return self.settle_change(true),
            Command::KeepOld => return self.settle_change(false),
            Command::Begin => self.open_first(),
            Command::Demo => return self.show_demo(),
            Command::FieldBefore | Command::FieldAfter | Command::SaveForm | Command::LeaveForm => {
                // Given by a click; the key does the same.
                let key = self.keymap.keys(command).first().copied();
                return key.and_then(|k| self.form_key(k)).unwrap_or_default();
            }
            _ => match View::of(command) {
                Some(view) => {
                    self.overlay = Overlay::None;
                    self.show(view);
                }
                None if self.view == View::Timeline => self.travel(command),
                None => self.walk(command),
            },
        }
        Vec::new()
    }

    /// Goes to what the cursor of a view is on.
    fn open(&mut self) {
        match self.about() {
            About::Task(_) => self.show(View::Timeline),
            About::Joint(_) => self.show(View::Joint),
            About::Thing(_) => self.show(View::Tubs),
            About::Entry(_) => self.show(View::Record),
            About::Nothing => {}
        }
    }

    fn is_way_out(&self, key: Key) -> bool {
        let entry = self.keymap.command(self.view, key);
        key.ctrl && entry.is_some_and(|e| matches!(e.command, Command::Quit | Command::Suspend | Command::Redraw))
    }

    fn toggled(&self, open: bool, to: Overlay) -> Overlay {
        if open { Overlay::None } else { to }
    }

    /// The commands that move the selection or the window.
    fn travel(&mut self, command: Command) {
        self.touched = true;
        let half = i64::from(self.axis.cols / 2).max(1);
        match command {
            Command::Now => return self.look_at(self.now),
            Command::ZoomIn => return self.zoom(-1, self.zoom_point()),
            Command::ZoomOut => return self.zoom(1, self.zoom_point()),
            Command::PanLeft => return self.pan(-half),
            Command::PanRight => return self.pan(half),
            _ => {}
        }
        let Some(chart) = self.chart.clone() else { return };
        let page = self.geometry().map_or(1, |g| g.joints.height.max(1)) as isize;
        match command {
            Command::Up => self.step_row(&chart, -1),
            Command::Down => self.step_row(&chart, 1),
            Command::PageUp => self.step_row(&chart, -page),
            Command::PageDown => self.step_row(&chart, page),
            Command::PreviousTask => self.step_on_row(&chart, Way::Back),
            Command::NextTask => self.step_on_row(&chart, Way::On),
            Command::PreviousInTime => self.step_in_time(&chart, Way::Back, |_, _| true),
            Command::NextInTime => self.step_in_time(&chart, Way::On, |_, _| true),
            Command::PreviousTurn => self.step_in_time(&chart, Way::Back, is_turn),
            Command::NextTurn => self.step_in_time(&chart, Way::On, is_turn),
            Command::First => {
                if let Some(&t) = chart.order.first() {
                    self.select_task(&chart, t);
                }
            }
            Command::Last => {
                if let Some(&t) = chart.order.last() {
                    self.select_task(&chart, t);
                }
            }
            Command::Fit => self.fit(),
            Command::ReadTask => self.read_task(&chart),
            Command::NextMatch => self.step_match(&chart, Way::On),
            Command::PreviousMatch => self.step_match(&chart, Way::Back),
            _ => {}
        }
    }

    /// Zooms until the selected task is wide enough to read, or to the quarter hour.
    fn read_task(&mut self, chart: &Chart) {
        let Some(t) = self.selected_task() else { return };
        let task = &chart.tasks[t];
        let wanted = i64::from(self.axis.cols / 4).max(1);
        let length = (task.end - task.start).max(1);
        let per_col = super::ZOOMS.into_iter().rev().find(|z| length / z >= wanted).unwrap_or(super::ZOOMS[0]);
        self.axis.per_col = per_col;
        self.look_at(task.start);
    }

    fn resize(&mut self, screen: Screen) {
        self.screen = screen;
        let Some(g) = self.geometry() else { return };
        // The moment at the left edge stays.
        self.axis.cols = g.cols();
        if !self.touched {
            self.fit();
        }
        self.settle();
    }

    /// Brings scroll positions and the selection back within what is there.
    pub(super) fn settle(&mut self) {
        if let Some(chart) = self.chart.clone() {
            self.scroll(&chart, false, 0);
            self.scroll(&chart, true, 0);
            if let Some(s) = self.selected {
                self.show_row(&chart, s.row.min(chart.rows.len().saturating_sub(1)));
            }
        }
    }
}
