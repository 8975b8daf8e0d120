//! What a book holds, as the screen takes it over; what a person asks of whatever lasts; and words for the record.

use std::sync::Arc;

use super::acts::{self, Meant, Unclear};
use super::chart::Chart;
use super::field::Field;
use super::form::Paper;
use super::from_book;
use super::key::{Code, Key};
use super::news::Planning;
use super::record::Record;
use super::state::{Overlay, State};
use super::time::instant;
use super::update::Effect;
use super::view::{About, View};
use crate::book::{self, Act, Event, TaskAct};
use crate::kitchen::spoken;
use crate::plan::Plan;

/// A book read up to its last line.
#[derive(Debug, Clone)]
pub struct Held {
    pub book: Arc<book::State>,
    /// The plan that counts; one that this version cannot read is as good as none.
    pub plan: Option<Plan>,
    pub record: Record,
}

/// What a door does to what lasts.
#[derive(Debug, Clone, PartialEq)]
pub enum Deed {
    /// The kitchen was changed to this text; `says` is what is different.
    Kitchen {
        text: String,
        says: String,
    },
    /// A book is begun of this kitchen, with a plan where there is one already.
    Begin {
        text: String,
        plan: Option<Arc<Plan>>,
    },
    /// Acts with who did them, empty when nobody was named.
    Record(Vec<(Act, String)>),
    /// A task is ticked off, or the tick is taken back.
    Tick {
        id: String,
    },
    /// The nudger says nothing of a task for a while, or speaks of it again.
    Later {
        id: String,
    },
    Undo,
    Redo,
    /// A plan is taken on.
    Accept {
        plan: Arc<Plan>,
        says: String,
        moved: u32,
    },
    /// A plan that was proposed is turned down.
    KeepOld {
        says: String,
    },
}

impl Held {
    pub fn new(state: &book::State, events: &[Event]) -> Self {
        let record = from_book::record(state, events);
        Self { book: Arc::new(state.clone()), plan: acts::plan_of(state).ok().flatten(), record }
    }
}

impl State {
    /// Takes over what a book says now.
    pub(super) fn take_held(&mut self, held: Held) -> Vec<Effect> {
        let before = self.book.replace(held.book.clone());
        // An edit that could not be written is not on record: the screen does not go on with it.
        let as_kept = *self.kitchen == held.book.kitchen;
        if before.as_ref().is_some_and(|b| b.seq == held.book.seq) && as_kept {
            return Vec::new();
        }
        if self.paper.text != held.book.kitchen_text {
            // The book has the undoing of it.
            self.paper = Paper::new(held.book.kitchen_text.clone());
        }
        if !as_kept {
            self.kitchen = Arc::new(held.book.kitchen.clone());
        }
        self.record = Some(held.record);
        self.fresh = false;
        self.progress.revision += 1;
        self.progress.state = Planning::Running;
        self.proposal = None;
        // A joint that left takes its part of the plan along.
        let same = |b: &book::State| (b.plan_seq, b.past.len()) == (held.book.plan_seq, held.book.past.len());
        if !before.as_ref().is_some_and(|b| same(b)) {
            match held.plan {
                Some(plan) => self.adopt(Chart::new(&self.kitchen, plan, self.now)),
                None => self.lose_plan(),
            }
        }
        self.follow_next();
        vec![Effect::Plan]
    }

    /// A first plan is taken on record as soon as looking for it is over.
    pub(super) fn first_plan(&self) -> Vec<Effect> {
        let none_yet = self.book.as_ref().is_some_and(|b| b.wants_a_first_plan());
        match &self.chart {
            Some(chart) if none_yet && self.chart_of == self.progress.revision => {
                let plan = Arc::new(chart.plan.clone());
                vec![Effect::Do(Deed::Accept { plan, says: "the first plan".into(), moved: 0 })]
            }
            _ => Vec::new(),
        }
    }

    /// Begins a book of the kitchen file with the plan on the screen.
    pub(super) fn keep_book(&mut self) -> Vec<Effect> {
        let Some(chart) = &self.chart else { return Vec::new() };
        vec![Effect::Do(Deed::Begin { text: self.paper.text.clone(), plan: Some(Arc::new(chart.plan.clone())) })]
    }

    /// Takes the proposed plan on, or keeps the one there is.
    pub(super) fn settle_change(&mut self, accept: bool) -> Vec<Effect> {
        let Some(proposal) = self.proposal.take() else { return Vec::new() };
        let d = &proposal.difference;
        let what = if d.happened.is_empty() { "replanned".to_owned() } else { d.happened.join("; ") };
        let moved = u32::try_from(d.moved.len()).unwrap_or(u32::MAX);
        self.view = View::Timeline;
        if self.book.is_none() {
            // Without a record the plan is what is on the screen.
            if accept {
                self.adopt(Chart::new(&self.kitchen, proposal.plan.clone(), self.now));
            } else {
                self.wished.clear();
            }
            self.chart_of = self.progress.revision;
            return Vec::new();
        }
        if !accept {
            self.wished.clear();
        }
        if accept {
            vec![Effect::Do(Deed::Accept { plan: Arc::new(proposal.plan.clone()), says: what, moved })]
        } else {
            vec![Effect::Do(Deed::KeepOld { says: what })]
        }
    }

    /// Does something about the task in hand: ticks it off or takes the tick back, or has it said again later.
    pub(super) fn about_task(&mut self, deed: impl Fn(String) -> Deed) -> Vec<Effect> {
        match (self.about(), self.chart.as_deref()) {
            (About::Task(t), Some(chart)) if t < chart.plan.tasks.len() => {
                vec![Effect::Do(deed(chart.plan.tasks[t].id.clone()))]
            }
            _ => Vec::new(),
        }
    }

    /// Ticks the selected task off, or takes the tick back. What the record speaks against is asked twice.
    pub(super) fn tick(&mut self) -> Vec<Effect> {
        let sure = self.tick_sure.take();
        let effects = self.about_task(|id| Deed::Tick { id });
        let (Some(Effect::Do(Deed::Tick { id })), Some(book)) = (effects.first(), self.book.as_deref()) else {
            return effects;
        };
        let settled = book.tasks.get(id).is_some_and(|t| t.finished.is_some() || t.skipped.is_some());
        let act = Act::Task { id: id.clone(), what: TaskAct::Finished, when: instant(self.now) };
        let doubt = acts::doubt(&act, book, self.kitchen.zone).filter(|d| d.1 && !settled);
        match doubt {
            Some((says, _)) if sure.as_ref() != Some(id) => {
                self.notice = Some(format!("Again, if so: {says}"));
                self.tick_sure = Some(id.clone());
                Vec::new()
            }
            _ => effects,
        }
    }

    /// Opens the line in which a person writes down what was done.
    pub(super) fn open_log(&mut self) {
        let name = match (self.about(), self.chart.as_deref()) {
            (About::Joint(j), Some(chart)) => chart.plan.joints.get(j).map(|j| j.name.clone()),
            _ => None,
        };
        self.log = Field::new(name.map_or_else(String::new, |n| format!("weighed {n} ")));
        self.log_sure = false;
        self.overlay = Overlay::Log;
    }

    /// What the words being typed mean; nothing when nothing is typed.
    pub fn log_meant(&self) -> Option<Result<Vec<Meant>, Unclear>> {
        let book = self.book.as_deref()?;
        let here = spoken::Here { now: instant(self.now), zone: self.kitchen.zone, lean: spoken::Lean::Back };
        let typed = self.log.text().trim();
        (!typed.is_empty()).then(|| acts::understand(typed, book, here, None))
    }

    /// A key while words for the record are typed; nothing when the key means nothing there.
    pub(super) fn log_key(&mut self, key: Key) -> Option<Vec<Effect>> {
        match (key.ctrl, key.code) {
            (false, Code::Escape) => self.overlay = Overlay::None,
            (false, Code::Enter) => match self.log_meant() {
                Some(Ok(meant)) => {
                    let doubt = meant.iter().filter_map(|m| m.doubt.as_ref()).find(|d| d.1);
                    if let (Some((says, _)), false) = (doubt, self.log_sure) {
                        self.notice = Some(format!("{says}; enter again if it is so"));
                        self.log_sure = true;
                        return Some(Vec::new());
                    }
                    self.overlay = Overlay::None;
                    let acts = meant.into_iter().map(|m| (m.act, m.by.unwrap_or_default())).collect();
                    return Some(vec![Effect::Do(Deed::Record(acts))]);
                }
                Some(Err(unclear)) => self.notice = Some(unclear.says),
                None => self.overlay = Overlay::None,
            },
            _ if self.log.key(key) => self.log_sure = false,
            _ => return None,
        }
        Some(Vec::new())
    }
}
