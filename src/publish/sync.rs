//! One round of keeping in step.

use super::merge::{edits, merged, same};
use super::state::{Kept, Published, component};
use super::{Fault, Only, Server, Wrote};
use crate::kitchen::Zone;
use crate::sheets::calendar::{Entry, follow};
use crate::sheets::lines::{self, Part};
use chrono::{DateTime, TimeDelta, Utc};
use std::time::Duration;

/// What one round did.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Report {
    pub created: u32,
    pub changed: u32,
    pub cancelled: u32,
    pub deleted: u32,
    pub unchanged: u32,
    /// A person's edits, which stand: the task and what was edited.
    pub edited: Vec<(String, Vec<String>)>,
    /// Entries a person deleted, which stay deleted.
    pub gone: Vec<String>,
    /// Somebody wrote at the same moment; the next round sees to it.
    pub again: u32,
}

/// A cancelled entry is deleted so long after its time.
const KEEP_CANCELLED: TimeDelta = TimeDelta::days(7);
/// Waits before asking again; then the next round has to do.
const BACK_OFF: [u64; 3] = [1, 4, 15];

/// Asks, and asks again after a while when nobody answers.
fn patiently<T>(wait: &mut dyn FnMut(Duration), mut ask: impl FnMut() -> Result<T, Fault>) -> Result<T, Fault> {
    for seconds in BACK_OFF {
        match ask() {
            Err(Fault::Offline(_, after)) => {
                wait(after.unwrap_or(Duration::from_secs(seconds)).min(Duration::from_secs(60)))
            }
            other => return other,
        }
    }
    ask()
}

pub struct Round<'a> {
    pub server: &'a mut dyn Server,
    pub state: &'a mut Published,
    pub zone: Zone,
    pub now: DateTime<Utc>,
    /// How waiting is done; tests do not wait.
    pub wait: &'a mut dyn FnMut(Duration),
}

/// A calendar with one component, and whatever else (time zones) was with it.
fn with(text: Option<&str>, part: Part) -> String {
    let mut calendar = text.and_then(|t| lines::read(t).ok()).unwrap_or_else(|| {
        let mut c = Part::new("VCALENDAR");
        c.push("VERSION", "2.0");
        c.push("PRODID", "-//turnday//plan//EN");
        c
    });
    calendar.parts.retain(|p| p.name == "VTIMEZONE");
    calendar.parts.push(part);
    calendar.write()
}

fn file_name(uid: &str) -> String {
    format!("{}.ics", uid.trim_end_matches("@turnday"))
}

impl Round<'_> {
    /// Brings the collection to what the plan wants. What was done before a fault is in the state all the same.
    ///
    /// # Errors
    /// The fault that ended the round.
    pub fn run(&mut self, title: &str, fresh: Vec<Entry>) -> Result<Report, Fault> {
        let mut report = Report::default();
        let there = match patiently(self.wait, || self.server.list()) {
            Err(Fault::Missing) => {
                patiently(self.wait, || self.server.make(title))?;
                Default::default()
            }
            other => other?,
        };
        for entry in follow(fresh, &self.state.before()) {
            let task = entry.part.text("X-TURNDAY-TASK").unwrap_or_default();
            let name = self.state.entries.get(&entry.uid).map_or_else(|| file_name(&entry.uid), |k| k.name.clone());
            self.one(&entry, &task, there.get(&name).map(String::as_str), &mut report)?;
        }
        Ok(report)
    }

    fn one(&mut self, entry: &Entry, task: &str, there: Option<&str>, report: &mut Report) -> Result<(), Fault> {
        let uid = &entry.uid;
        let wanted = entry.written();
        let Some(kept) = self.state.entries.get(uid).cloned() else {
            return self.first(entry, task, there, report);
        };
        let before = component(&kept.ours, uid).unwrap_or_else(|| wanted.clone());
        let Some(version) = there else {
            // Gone from the server: by our own delete, or by a person's, which stands.
            if entry.cancelled || self.is_past(&wanted) {
                self.state.entries.remove(uid);
            } else {
                report.gone.push(task.to_owned());
                let k = Kept { gone: true, ours: entry.alone(), theirs: None, version: String::new(), ..kept };
                self.state.entries.insert(uid.clone(), k);
            }
            return Ok(());
        };
        let (text, version) = if version == kept.version && !version.is_empty() {
            (kept.theirs.clone().unwrap_or_else(|| kept.ours.clone()), version.to_owned())
        } else {
            match patiently(self.wait, || self.server.get(&kept.name))? {
                Some((text, tag)) => (text, if tag.is_empty() { version.to_owned() } else { tag }),
                None => {
                    report.again += 1;
                    return Ok(());
                }
            }
        };
        let Some(theirs) = component(&text, uid) else {
            // It is no longer our entry: not ours to touch.
            report.edited.push((task.to_owned(), vec!["everything".to_owned()]));
            return Ok(());
        };
        // Our own write of which we never heard back is no edit.
        let theirs_is_ours = same(&theirs, &wanted, self.zone);
        let next = if theirs_is_ours { theirs.clone() } else { merged(&before, &theirs, &wanted, self.zone) };
        // Some servers count the versions too: the next is higher than either's.
        let mut ours = entry.clone();
        ours.sequence = ours.sequence.max(Entry::from_written(next.clone()).map_or(0, |e| e.sequence));
        let differences = if theirs_is_ours { Vec::new() } else { edits(&wanted, &next, self.zone) };
        if !differences.is_empty() {
            report.edited.push((task.to_owned(), differences.clone()));
        }
        if entry.cancelled && differences.is_empty() && self.is_past(&wanted) {
            match patiently(self.wait, || self.server.delete(&kept.name, &version))? {
                Wrote::Done(_) => {
                    report.deleted += 1;
                    self.state.entries.remove(uid);
                }
                Wrote::Changed => report.again += 1,
            }
            return Ok(());
        }
        let (version, text) = if same(&next, &theirs, self.zone) {
            report.unchanged += 1;
            (version, text)
        } else {
            let text = if differences.is_empty() { ours.alone() } else { with(Some(&text), next) };
            match patiently(self.wait, || self.server.put(&kept.name, &text, Only::Version(&version)))? {
                Wrote::Changed => {
                    report.again += 1;
                    return Ok(());
                }
                Wrote::Done(tag) => {
                    *(if entry.cancelled { &mut report.cancelled } else { &mut report.changed }) += 1;
                    (tag.unwrap_or_default(), text)
                }
            }
        };
        let theirs = if differences.is_empty() { None } else { Some(text) };
        let k = Kept { name: kept.name, version, ours: ours.alone(), theirs, gone: false };
        self.state.entries.insert(uid.clone(), k);
        Ok(())
    }

    /// An entry that is not in the state: new, or written just before a crash.
    fn first(&mut self, entry: &Entry, task: &str, there: Option<&str>, report: &mut Report) -> Result<(), Fault> {
        let (uid, name) = (&entry.uid, file_name(&entry.uid));
        let wrote = match there {
            Some(_) => Wrote::Changed,
            None => patiently(self.wait, || self.server.put(&name, &entry.alone(), Only::New))?,
        };
        let kept = match wrote {
            Wrote::Done(tag) => {
                report.created += 1;
                Kept { name, version: tag.unwrap_or_default(), ours: entry.alone(), theirs: None, gone: false }
            }
            Wrote::Changed => {
                let Some((text, version)) = patiently(self.wait, || self.server.get(&name))? else {
                    report.again += 1;
                    return Ok(());
                };
                let Some(theirs) = component(&text, uid).filter(|p| p.line("X-TURNDAY-TASK").is_some()) else {
                    report.edited.push((task.to_owned(), vec!["something else stands in its place".to_owned()]));
                    return Ok(());
                };
                report.unchanged += 1;
                // What differs from the plan is taken for a person's edit; its sequence is followed on from.
                let same = same(&theirs, &entry.written(), self.zone);
                let mut ours = entry.clone();
                ours.sequence = Entry::from_written(theirs.clone()).map_or(0, |e| e.sequence);
                if !same {
                    report.edited.push((task.to_owned(), edits(&entry.written(), &theirs, self.zone)));
                }
                Kept { name, version, ours: ours.alone(), theirs: Some(text).filter(|_| !same), gone: false }
            }
        };
        self.state.entries.insert(uid.clone(), kept);
        Ok(())
    }

    fn is_past(&self, part: &Part) -> bool {
        let end = part.line("DTEND").or_else(|| part.line("DUE")).and_then(|l| super::merge::instant(l, self.zone));
        end.is_some_and(|end| end + KEEP_CANCELLED < self.now)
    }

    /// Takes away everything it made, but for what a person has edited.
    ///
    /// # Errors
    /// The fault that ended it.
    pub fn take_down(&mut self) -> Result<Report, Fault> {
        let mut report = Report::default();
        let there = match patiently(self.wait, || self.server.list()) {
            Err(Fault::Missing) => Default::default(),
            other => other?,
        };
        for (uid, kept) in self.state.entries.clone() {
            let task = component(&kept.ours, &uid).and_then(|p| p.text("X-TURNDAY-TASK")).unwrap_or_default();
            match there.get(&kept.name) {
                None => {}
                Some(v) if *v == kept.version && kept.theirs.is_none() => {
                    match patiently(self.wait, || self.server.delete(&kept.name, v))? {
                        Wrote::Done(_) => report.deleted += 1,
                        Wrote::Changed => {
                            report.again += 1;
                            continue;
                        }
                    }
                }
                Some(_) => {
                    report.edited.push((task, vec!["kept where it is".to_owned()]));
                    continue;
                }
            }
            self.state.entries.remove(&uid);
        }
        Ok(report)
    }
}
