//! Moving a task to another time, and holding one where it is: wishes, which every planning from then on tries to grant,
//! with the rest planned around them.
//!
//! Wishes last as long as the screen is open; what was planned by them and taken on is on record.

use super::key::{Code, Key};
use super::news::Planning;
use super::state::{Overlay, State};
use super::time::{DAY, Min, when};
use super::update::Effect;

/// A task that is being moved: its number, and where its start would be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moving {
    pub task: usize,
    pub to: Min,
}

/// The finest step, minutes.
const QUARTER: Min = 15;

impl State {
    /// Whether the task in hand is one that can still be moved: to come, and not done.
    pub fn can_be_moved(&self) -> bool {
        let (Some(t), Some(chart)) = (self.selected_task(), self.chart.as_deref()) else { return false };
        let id = &chart.plan.tasks[t].id;
        let begun = self.record.as_ref().is_some_and(|r| r.done.contains(id) || r.tasks.contains_key(id));
        !begun && chart.tasks[t].start >= self.now
    }

    pub(super) fn begin_move(&mut self) {
        if let (Some(task), Some(chart)) = (self.selected_task(), self.chart.as_deref()) {
            self.moving = Some(Moving { task, to: chart.tasks[task].start });
            self.overlay = Overlay::Move;
            self.notice = None;
        }
    }

    /// Lets go of what is being moved: the plan it is in is another one now, or gone.
    pub(super) fn let_go(&mut self) {
        self.moving = None;
        if self.overlay == Overlay::Move {
            self.overlay = Overlay::None;
        }
    }

    /// Without a plan nothing is in hand.
    pub(super) fn lose_plan(&mut self) {
        self.let_go();
        (self.chart, self.selected) = (None, None);
    }

    /// A key while a task is moved; nothing when the key means nothing there.
    pub(super) fn move_key(&mut self, key: Key) -> Option<Vec<Effect>> {
        let column = self.axis.per_col.clamp(QUARTER, DAY);
        match (key.ctrl, key.code) {
            (false, Code::Left | Code::Char('h')) => self.slide(-column),
            (false, Code::Right | Code::Char('l')) => self.slide(column),
            (false, Code::Up | Code::Char('k')) => self.slide(-QUARTER),
            (false, Code::Down | Code::Char('j')) => self.slide(QUARTER),
            (false, Code::Enter) => return Some(self.end_move()),
            (false, Code::Escape) => {
                self.moving = None;
                self.overlay = Overlay::None;
            }
            _ => return None,
        }
        Some(Vec::new())
    }

    /// Slides what is being moved by so many minutes; never into the past.
    pub(super) fn slide(&mut self, by: Min) {
        let now = self.now;
        if let Some(m) = &mut self.moving {
            let to = (m.to.saturating_add(by)).max(now + 1);
            // On the quarter hours, from wherever it began.
            m.to = to.div_euclid(QUARTER) * QUARTER + if to.rem_euclid(QUARTER) > QUARTER / 2 { QUARTER } else { 0 };
            let (from, length) = (m.to, self.axis.per_col);
            self.show_time(from, from + length);
        }
    }

    /// Wishes it there, and plans the rest around it.
    fn end_move(&mut self) -> Vec<Effect> {
        self.overlay = Overlay::None;
        let (Some(m), Some(chart)) = (self.moving.take(), self.chart.clone()) else { return Vec::new() };
        let Some(task) = chart.plan.tasks.get(m.task) else { return Vec::new() };
        if m.to == chart.tasks[m.task].start {
            return Vec::new();
        }
        self.wished.insert(task.id.clone(), m.to);
        self.notice = Some(format!("planning with it on {}", when(self.kitchen.zone, m.to)));
        self.plan_around()
    }

    /// Holds the task in hand where it is, or lets it go.
    pub(super) fn pin(&mut self) {
        let (Some(t), Some(chart)) = (self.selected_task(), self.chart.clone()) else { return };
        let id = chart.plan.tasks[t].id.clone();
        if self.wished.remove(&id).is_some() {
            self.notice = Some("let go: planning may move it again".into());
        } else {
            self.wished.insert(id, chart.tasks[t].start);
            self.notice = Some("pinned: planning tries to leave it here".into());
        }
    }

    fn plan_around(&mut self) -> Vec<Effect> {
        self.progress.revision += 1;
        self.progress.state = Planning::Running;
        self.proposal = None;
        vec![Effect::Plan]
    }

    /// Whether planning starts from the plan there is: with a record, or with wishes.
    pub fn plans_again(&self) -> bool {
        let recorded = self.book.as_ref().map(|b| b.plan.is_some() && !b.wants_a_first_plan());
        self.chart.is_some() && recorded.unwrap_or(!self.wished.is_empty())
    }

    /// What moving means at this moment, in a few words, and whether it is inside the limits as the others stand.
    pub fn moving_words(&self) -> Option<(String, bool)> {
        let (m, chart) = (self.moving?, self.chart.as_deref()?);
        let task = chart.tasks.get(m.task)?;
        let at = |m| when(self.kitchen.zone, m);
        let inside = (task.earliest..=task.latest).contains(&m.to);
        let limit = if inside {
            "inside its limits, the others stay".to_owned()
        } else if m.to < task.earliest {
            format!("before {}: others would have to move", at(task.earliest))
        } else {
            format!("after {}: others would have to move", at(task.latest))
        };
        Some((format!("{}: {limit}", at(m.to)), inside))
    }
}
