//! Keeps one collection on a CalDAV server (RFC 4791) in step with the plan.
//!
//! It writes, cancels and deletes only what it made itself. Every write says which version it is meant for (`If-Match`), so
//! a person's edit is never run over; edits are kept, merged line by line, and told of. A server that cannot be reached is
//! no error: the next time catches up, because each time looks at everything anew.

pub mod http;
pub mod merge;
pub mod password;
pub mod pull;
pub mod state;
pub mod sync;

use std::collections::BTreeMap;
use std::fmt;
use std::time::Duration;

/// Why a request came to nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fault {
    /// Not there just now: no network, no answer, or the server says to come again (after so long).
    Offline(String, Option<Duration>),
    /// The server is there and will not.
    Refused(String),
    /// There is no such collection.
    Missing,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Offline(says, _) | Self::Refused(says) => f.write_str(says),
            Self::Missing => f.write_str("there is no such collection"),
        }
    }
}

impl std::error::Error for Fault {}

/// The version a write is meant for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Only<'a> {
    /// If there is nothing yet.
    New,
    /// If it is still this version.
    Version(&'a str),
}

/// How a write ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wrote {
    /// Done, with the new version where the server told it.
    Done(Option<String>),
    /// Somebody was there first.
    Changed,
}

/// What is asked of a server; one collection.
pub trait Server {
    /// Name and version of everything in the collection.
    ///
    /// # Errors
    /// `Missing` when there is no such collection.
    fn list(&mut self) -> Result<BTreeMap<String, String>, Fault>;
    /// An entry's text and version; nothing when it is gone.
    ///
    /// # Errors
    /// As the server answers.
    fn get(&mut self, name: &str) -> Result<Option<(String, String)>, Fault>;
    /// # Errors
    /// As the server answers.
    fn put(&mut self, name: &str, text: &str, only: Only) -> Result<Wrote, Fault>;
    /// # Errors
    /// As the server answers.
    fn delete(&mut self, name: &str, version: &str) -> Result<Wrote, Fault>;
    /// Makes the collection.
    ///
    /// # Errors
    /// As the server answers.
    fn make(&mut self, title: &str) -> Result<(), Fault>;
}
