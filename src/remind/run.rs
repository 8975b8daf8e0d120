//! The nudger: looks, says what is due, takes back what no longer holds, passes on what is answered.

use super::due::{Due, Key, due, gone};
use super::popup::{Answer, Door, Popup};
use super::settings::Settings;
use super::store::Store;
use super::wake::{Timer, Wake};
use crate::app::acts::plan_of;
use crate::book::{Act, Book, TaskAct};
use crate::kitchen::Zone;
use crate::plan::Plan;
use chrono::{DateTime, TimeDelta, Utc};
use std::sync::mpsc::Receiver;

/// Waits between two tries to reach a person, when neither desktop nor terminal is there.
const TRY_AGAIN: [i64; 4] = [1, 2, 5, 15];

pub struct Nudger<'a> {
    pub book: Book,
    pub store: Store,
    pub settings: Settings,
    pub desktop: Box<dyn Door + 'a>,
    /// The way that is left when the desktop is not; shows and says whether anybody can have seen it.
    pub terminal: Box<dyn FnMut(&Popup) -> bool + 'a>,
    /// Says a sentence about itself, to the terminal or the log.
    pub say: Box<dyn FnMut(&str) + 'a>,
    pub clock: Box<dyn Fn() -> DateTime<Utc> + 'a>,
    /// The zone the machine is in.
    pub here: Box<dyn Fn() -> Option<Zone> + 'a>,
    plan: Option<(u64, Plan)>,
    /// The plan that could not be read, of which it has said so.
    unread: Option<u64>,
    /// It has said that the desktop cannot be reached.
    complained: bool,
    tries: usize,
}

impl<'a> Nudger<'a> {
    pub fn new(book: Book, store: Store, settings: Settings, desktop: Box<dyn Door + 'a>) -> Self {
        Self {
            book,
            store,
            settings,
            desktop,
            terminal: Box::new(|_| false),
            say: Box::new(|_| ()),
            clock: Box::new(crate::clock::now),
            here: Box::new(|| None),
            plan: None,
            unread: None,
            complained: false,
            tries: 0,
        }
    }

    /// Runs until it is told to stop.
    pub fn run(&mut self, wakes: &Receiver<Wake>, timer: &mut dyn Timer) {
        loop {
            let next = self.look();
            let mut wake = timer.wait(wakes, next);
            // What has come meanwhile is taken in before the next look.
            loop {
                match wake {
                    Wake::Stop => return,
                    Wake::Answer(a) => self.answer(&a),
                    Wake::Time | Wake::Book => {}
                }
                match wakes.try_recv() {
                    Ok(more) => wake = more,
                    Err(_) => break,
                }
            }
        }
    }

    /// One look; when to look again.
    pub fn look(&mut self) -> Option<DateTime<Utc>> {
        let now = (self.clock)();
        if let Err(e) = self.book.catch_up() {
            (self.say)(&format!("the book cannot be read: {e}"));
            return Some(now + TimeDelta::minutes(1));
        }
        let state = self.book.state();
        if self.plan.as_ref().is_none_or(|p| p.0 != state.plan_seq) {
            self.plan = None;
            if self.unread == Some(state.plan_seq) {
                return None;
            }
            self.unread = None;
            match plan_of(state) {
                Ok(plan) => self.plan = plan.map(|p| (state.plan_seq, p)),
                Err(e) => {
                    self.unread = Some(state.plan_seq);
                    (self.say)(&format!("the plan in the book cannot be read: {e}"));
                    return None;
                }
            }
        }
        let Some((_, plan)) = self.plan.as_ref() else {
            // The only plan was undone: nothing that still stands on the screen is to be done.
            let withdraw = gone(&self.store.record(state), |_| false);
            self.bring(&Due { withdraw, ..Due::default() }, now);
            self.save();
            return None;
        };
        let settings = Settings { here: self.settings.here.or_else(|| (self.here)()), ..self.settings.clone() };
        let d = due(plan, &self.store.record(state), self.store.seen(), now, &settings);
        let reached = self.bring(&d, now);
        self.store.looked(now);
        self.save();
        if reached {
            self.tries = 0;
            return d.next;
        }
        let wait = TRY_AGAIN[self.tries.min(TRY_AGAIN.len() - 1)];
        self.tries += 1;
        let again = now + TimeDelta::minutes(wait);
        Some(d.next.map_or(again, |n| n.min(again)))
    }

    /// Brings what is due to the person; whether all of it got there.
    fn bring(&mut self, d: &Due, now: DateTime<Utc>) -> bool {
        for w in &d.withdraw {
            match self.store.shown(&w.task) {
                Some(0) => {
                    // Its number was lost; a popup of the same tag takes its place and goes by itself.
                    let popup = Popup { brief: true, ..popup(&w.task, 0, "Taken back", &[], false, false) };
                    let _ = self.desktop.show(&popup);
                }
                Some(id) => self.desktop.close(id),
                None => {}
            }
            self.store.set_shown(&w.task, None);
            if let Some(key) = w.key {
                self.store.told(&w.task, key, now);
            }
        }
        let mut all = true;
        for n in &d.nudges {
            let before = self.store.shown(&n.task);
            self.store.set_shown(&n.task, Some(before.unwrap_or(0)));
            self.save();
            let p = popup(&n.task, before.unwrap_or(0), &n.title, &n.body, n.urgent, true);
            match self.show(&p) {
                Some(id) => {
                    self.store.set_shown(&n.task, id);
                    self.note(&[(n.task.clone(), n.key)], now);
                }
                None => {
                    self.store.set_shown(&n.task, before);
                    all = false;
                }
            }
        }
        if let Some(s) = &d.summary {
            let p = popup("summary", *self.store.summary(), &s.title, &s.body, s.urgent, false);
            match self.show(&p) {
                Some(id) => {
                    *self.store.summary() = id.unwrap_or(0);
                    self.note(&s.says, now);
                }
                None => all = false,
            }
        }
        all
    }

    /// By the desktop, else by the terminal: the popup's number if it has one, nothing when nobody was reached.
    fn show(&mut self, p: &Popup) -> Option<Option<u32>> {
        match self.desktop.show(p) {
            Ok(id) => {
                self.complained = false;
                Some(Some(id))
            }
            Err(why) => {
                let seen = (self.terminal)(p);
                if !std::mem::replace(&mut self.complained, true) {
                    let then = if seen { "nudges come here" } else { "it is tried again until there are" };
                    (self.say)(&format!("no desktop notifications ({why}); {then}"));
                }
                seen.then_some(None)
            }
        }
    }

    /// Writes down what was said, here and in the book.
    fn note(&mut self, says: &[(String, Key)], now: DateTime<Utc>) {
        for (task, key) in says {
            self.store.told(task, *key, now);
        }
        self.save();
        for (task, key) in says {
            let act = Act::Nudged { task: task.clone(), key: key.to_string(), when: now };
            if let Err(e) = self.book.record(act, &self.by(), now) {
                (self.say)(&format!("the book does not take the nudge: {e}"));
            }
        }
    }

    fn by(&self) -> String {
        self.settings.who.clone().unwrap_or_else(|| "nudger".to_owned())
    }

    fn save(&mut self) {
        if let Err(e) = self.store.save() {
            (self.say)(&format!("what was said cannot be written down: {e}"));
        }
    }

    /// What was clicked, as an act of the book.
    pub fn answer(&mut self, answer: &Answer) {
        let (Answer::Done { id } | Answer::Snooze { id } | Answer::Closed { id }) = answer else {
            self.store.forget_popups();
            return;
        };
        let Some(task) = self.store.task_of(*id).map(str::to_owned) else { return };
        let now = (self.clock)();
        let act = match answer {
            Answer::Done { .. } => Act::Task { id: task.clone(), what: TaskAct::Finished, when: now },
            Answer::Snooze { .. } => {
                let kind = self.plan.as_ref().and_then(|p| p.1.tasks.iter().find(|t| t.id == task)).map(|t| t.kind);
                let Some(kind) = kind else { return };
                Act::Snoozed { task: task.clone(), until: now + self.settings.snooze(kind) }
            }
            _ => {
                // Put away, and not answered: a later rung shows anew.
                self.store.set_shown(&task, None);
                self.save();
                return;
            }
        };
        if let Err(e) = self.book.record(act, &self.by(), now) {
            (self.say)(&format!("{task}: {e}"));
            return;
        }
        // Not every server takes a popup away when a button is pressed.
        self.desktop.close(*id);
        self.store.set_shown(&task, None);
        self.save();
    }
}

fn popup(task: &str, replaces: u32, title: &str, body: &[String], urgent: bool, asks: bool) -> Popup {
    let tag = format!("turnday {task}");
    Popup { tag, replaces, title: title.to_owned(), body: body.to_vec(), urgent, asks, brief: false }
}
