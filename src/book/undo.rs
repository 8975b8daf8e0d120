//! Undo, redo and correction: further events that say which earlier ones count.

use super::{Act, Book, Error, Event, Lock, Recorded, Refused, Result};
use chrono::{DateTime, Utc};

/// What was taken back or brought back.
#[derive(Debug, Clone, PartialEq)]
pub struct Reversed {
    /// The line that says so.
    pub seq: u64,
    /// The event that no longer counts, or counts again.
    pub event: Event,
}

impl Book {
    /// Takes back the last act that counts, or the one on a line.
    ///
    /// # Errors
    /// When there is nothing to take back, or something later stands on it.
    pub fn undo(&mut self, line: Option<u64>, by: &str, now: DateTime<Utc>) -> Result<Reversed> {
        let lock = Lock::take(&self.folder, self.patience)?;
        self.catch_up_locked(&lock, now)?;
        let events = self.events()?;
        let undone = &self.state.undone;
        let event = match line {
            None => events
                .iter()
                .rev()
                .find(|e| e.act.can_be_undone() && !undone.contains(&e.seq))
                .ok_or_else(|| Refused::new("there is nothing to undo"))?,
            Some(n) => {
                let e = at(&events, n)?;
                if undone.contains(&n) {
                    return Err(Refused::new(format!("line {n} is undone already")).into());
                }
                if !e.act.can_be_undone() {
                    return Err(Refused::new(format!("line {n} ({}) cannot be undone", e.act.kind())).into());
                }
                e
            }
        };
        // A plan or a kitchen is there whole on its line: taking back an earlier one would change nothing.
        let stands_on = |e: &&Event| {
            e.seq > event.seq
                && !undone.contains(&e.seq)
                && std::mem::discriminant(&e.act) == std::mem::discriminant(&event.act)
        };
        let whole = matches!(event.act, Act::KitchenChanged { .. } | Act::PlanAccepted { .. });
        if whole && let Some(later) = events.iter().find(stands_on) {
            let says = format!("line {} came after line {} and stands on it; undo that first", later.seq, event.seq);
            return Err(Refused::new(says).into());
        }
        self.is_free(event, &events)?;
        let event = event.clone();
        let seq = self.append(&lock, Act::Undone { seq: event.seq }, by, now)?;
        Ok(Reversed { seq, event })
    }

    /// Whether nothing that was done hangs on a kitchen or a plan: joints that came with it, tasks that no other plan has. Without
    /// it what was done would be nobody's, or another's.
    fn is_free(&self, event: &Event, events: &[Event]) -> std::result::Result<(), Refused> {
        let came = self.state.came_with(event.seq);
        let hangs = |e: &&Event| {
            let counts = e.seq > event.seq && !self.state.undone.contains(&e.seq);
            counts
                && match (&event.act, &e.act) {
                    (Act::KitchenChanged { .. }, act) => self.state.is_about(act, &came),
                    (Act::PlanAccepted { .. }, Act::Task { id, .. }) => self.state.lines.only_in(event.seq, id),
                    _ => false,
                }
        };
        let lines: Vec<String> = events.iter().filter(hangs).map(|e| e.seq.to_string()).collect();
        match lines.as_slice() {
            [] => Ok(()),
            [one] => Err(Refused::new(format!("line {one} hangs on line {}; undo that first", event.seq))),
            [.., last] => {
                let (n, first) = (lines.len(), &lines[0]);
                let says = format!("{n} lines from {first} to {last} hang on line {}; undo those first", event.seq);
                Err(Refused::new(says))
            }
        }
    }

    /// Brings back what was last taken back, as long as nothing else was recorded since; or the act on a line.
    ///
    /// # Errors
    /// When there is nothing to bring back.
    pub fn redo(&mut self, line: Option<u64>, by: &str, now: DateTime<Utc>) -> Result<Reversed> {
        let lock = Lock::take(&self.folder, self.patience)?;
        self.catch_up_locked(&lock, now)?;
        let events = self.events()?;
        let undone = &self.state.undone;
        let target = match line {
            Some(n) => at(&events, n).map(|_| n)?,
            None => {
                let mut found = None;
                for e in events.iter().rev() {
                    match &e.act {
                        Act::Undone { seq } if undone.contains(seq) => found = Some(*seq),
                        Act::Undone { .. } | Act::Redone { .. } | Act::Nudged { .. } | Act::Snoozed { .. } => continue,
                        // Something done after the undoing: going back over it would be a surprise.
                        _ if !undone.contains(&e.seq) => {}
                        _ => continue,
                    }
                    break;
                }
                found.ok_or_else(|| Refused::new("there is nothing to redo"))?
            }
        };
        if !undone.contains(&target) {
            return Err(Refused::new(format!("line {target} is not undone")).into());
        }
        let event = at(&events, target)?.clone();
        // What else was recorded since may not leave room for it.
        let reasonless =
            matches!(event.act, Act::KitchenChanged { .. } | Act::PlanAccepted { .. } | Act::Corrected { .. });
        if !reasonless && let super::Fit::Already(seq) = self.state.fits(&event.act, now)? {
            return Err(Refused::new(format!("the same stands on line {seq} already")).into());
        }
        let seq = self.append(&lock, Act::Redone { seq: target }, by, now)?;
        Ok(Reversed { seq, event })
    }

    /// Puts another act in the place of the one on a line: a weight typed wrong, another moment.
    ///
    /// # Errors
    /// When the line cannot be corrected, or the new act does not fit what the record says without the old one.
    pub fn correct(&mut self, line: u64, act: Act, by: &str, now: DateTime<Utc>) -> Result<Recorded> {
        let lock = Lock::take(&self.folder, self.patience)?;
        self.catch_up_locked(&lock, now)?;
        let mut events = self.events()?;
        let mut target = at(&events, line)?;
        // Correcting a correction corrects what it corrected.
        while let Act::Corrected { seq, .. } = target.act
            && seq < target.seq
        {
            target = at(&events, seq)?;
        }
        let (target, old) = (target.seq, target.act.clone());
        let cannot = |says: String| Err(Error::Refused(Refused::new(says)));
        if self.state.undone.contains(&target) {
            return cannot(format!("line {target} is undone; log it anew instead"));
        }
        if !old.can_be_corrected() {
            return cannot(format!("line {target} ({}) cannot be corrected; undo it and do it anew", old.kind()));
        }
        if std::mem::discriminant(&old) != std::mem::discriminant(&act) {
            return cannot(format!("line {target} is of another kind ({}); undo it and log this anew", old.kind()));
        }
        // Judged by what the record would say if the old act were not there.
        let undo = Event { seq: self.state.seq + 1, at: now, by: String::new(), act: Act::Undone { seq: target } };
        events.push(undo);
        let without = super::State::fold(&events)?;
        if let super::Fit::Already(seq) = without.fits(&act, now)? {
            return cannot(format!("the same stands on line {seq} already; undo line {target} instead"));
        }
        let counts = match self.state.corrected.get(&target) {
            Some(c) => match &at(&events, *c)?.act {
                Act::Corrected { act, .. } => (**act).clone(),
                other => other.clone(),
            },
            None => old,
        };
        if counts == act {
            return Ok(Recorded { seq: target, already: true });
        }
        let seq = self.append(&lock, Act::Corrected { seq: target, act: Box::new(act) }, by, now)?;
        Ok(Recorded { seq, already: false })
    }
}

fn at(events: &[Event], line: u64) -> std::result::Result<&Event, Refused> {
    let index = line.checked_sub(1).and_then(|i| usize::try_from(i).ok());
    index.and_then(|i| events.get(i)).ok_or_else(|| Refused::new(format!("there is no line {line} in the journal")))
}
