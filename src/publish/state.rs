//! What was published: the version of each entry that the server has, and what it said.

use crate::sheets::calendar::{Before, Entry};
use crate::sheets::lines::{self, Part};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// One entry as the two sides have it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Kept {
    /// File name in the collection.
    pub name: String,
    /// Version on the server when last seen; empty when it was not told.
    pub version: String,
    /// What the plan wanted there, as a calendar.
    pub ours: String,
    /// What is there, where a person's edits make it differ.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub theirs: Option<String>,
    /// A person deleted it; it is not put back.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub gone: bool,
}

/// Everything published to one collection.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Published {
    pub format: u32,
    pub url: String,
    /// By UID.
    pub entries: BTreeMap<String, Kept>,
}

/// The one VEVENT or VTODO of a calendar with our UID in it.
pub fn component(text: &str, uid: &str) -> Option<Part> {
    let calendar = lines::read(text).ok()?;
    calendar.parts.into_iter().find(|p| p.line("UID").is_some_and(|l| l.value == uid))
}

impl Kept {
    pub fn ours(&self, uid: &str) -> Option<Entry> {
        component(&self.ours, uid).and_then(Entry::from_written)
    }
}

impl Published {
    /// # Errors
    /// A sentence when the file is damaged.
    pub fn read(text: &str) -> Result<Self, String> {
        let read: Self = serde_json::from_str(text).map_err(|e| e.to_string())?;
        if read.format > 1 {
            return Err("it was written by a later version".to_owned());
        }
        Ok(read)
    }

    pub fn write(&self) -> String {
        serde_json::to_string_pretty(self).unwrap_or_default() + "\n"
    }

    /// The plan's entries as last wanted.
    pub fn before(&self) -> Before {
        self.entries.iter().filter_map(|(uid, k)| Some((uid.clone(), k.ours(uid)?))).collect()
    }
}
