//! What this nudger has said and what it has on the screen: its own small file beside the journal.
//!
//! The book keeps that a nudge was sent, once a key, for the record. This keeps what the next look has to know: the last
//! thing said of each task, by this nudger, and which popup is whose. It is written before a popup is sent and after.

use super::due::{Key, Record, Told};
use crate::book::files::write_whole;
use crate::book::{State, TaskRecord};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct Kept {
    told: BTreeMap<String, (String, DateTime<Utc>)>,
    /// The popup's number on the server; 0 while it is not known.
    shown: BTreeMap<String, u32>,
    summary: u32,
    seen: Option<DateTime<Utc>>,
}

/// The nudger's memory.
#[derive(Debug)]
pub struct Store {
    path: PathBuf,
    kept: Kept,
    saved: Kept,
}

/// The file's name for a person's nudger, or for everybody's.
pub fn file_name(who: Option<&str>) -> String {
    who.map_or_else(|| "nudger.json".to_owned(), |w| format!("nudger-{}.json", crate::book::place::slug(w)))
}

impl Store {
    /// Reads what was kept. A file that cannot be read is begun anew: the worst is that something is said again.
    pub fn open(path: &Path) -> Self {
        let kept: Kept =
            std::fs::read(path).ok().and_then(|bytes| serde_json::from_slice(&bytes).ok()).unwrap_or_default();
        Self { path: path.to_owned(), saved: kept.clone(), kept }
    }

    /// Writes it, if anything is new.
    ///
    /// # Errors
    /// What the system says.
    pub fn save(&mut self) -> std::io::Result<()> {
        if self.kept != self.saved {
            write_whole(&self.path, (serde_json::to_string_pretty(&self.kept)? + "\n").as_bytes())?;
            self.saved = self.kept.clone();
        }
        Ok(())
    }

    /// What the book and this memory come to for [`super::due`].
    pub fn record(&self, state: &State) -> Record {
        let begun = |t: &TaskRecord| t.is_settled() || t.started.is_some();
        let told = self.kept.told.iter();
        Record {
            settled: state.tasks.iter().filter(|t| begun(t.1)).map(|t| t.0.clone()).collect(),
            snoozed: state.snoozed.clone(),
            told: told.filter_map(|(t, (k, w))| Some((t.clone(), Told { key: Key::parse(k)?, when: *w }))).collect(),
            shown: self.kept.shown.keys().cloned().collect(),
        }
    }

    pub fn seen(&self) -> Option<DateTime<Utc>> {
        self.kept.seen
    }

    /// Notes a look. Alone it is worth a write only now and then.
    pub fn looked(&mut self, now: DateTime<Utc>) {
        self.kept.seen = Some(now);
        let mut without = self.kept.clone();
        without.seen = self.saved.seen;
        let recent = self.saved.seen.is_some_and(|s| (now - s).abs() < chrono::TimeDelta::minutes(5));
        if without == self.saved && recent {
            self.kept.seen = self.saved.seen;
        }
    }

    pub fn told(&mut self, task: &str, key: Key, when: DateTime<Utc>) {
        self.kept.told.insert(task.to_owned(), (key.to_string(), when));
    }

    /// The popup's number, 0 when it is not known, nothing when there is none.
    pub fn shown(&self, task: &str) -> Option<u32> {
        self.kept.shown.get(task).copied()
    }

    pub fn set_shown(&mut self, task: &str, id: Option<u32>) {
        match id {
            Some(id) => drop(self.kept.shown.insert(task.to_owned(), id)),
            None => drop(self.kept.shown.remove(task)),
        }
    }

    /// The task whose popup has this number.
    pub fn task_of(&self, id: u32) -> Option<&str> {
        self.kept.shown.iter().find(|s| *s.1 == id && id != 0).map(|s| s.0.as_str())
    }

    pub fn summary(&mut self) -> &mut u32 {
        &mut self.kept.summary
    }

    /// The server went away and its popups with it.
    pub fn forget_popups(&mut self) {
        self.kept.shown.values_mut().for_each(|id| *id = 0);
        self.kept.summary = 0;
    }
}
