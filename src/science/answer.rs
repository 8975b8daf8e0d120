//! What every sum gives back: a value, and what must be said with it.

use crate::units::Elapsed;
use serde::Serialize;
use std::fmt;

/// Something that belongs to an answer and travels with it to the screen, the paper and the JSON.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Note {
    /// What was taken for granted to reach the value.
    Assumes { says: String },
    /// A figure the value was judged against or reckoned from, where it comes from and when that was last looked at.
    Limit { says: String, source: String, as_of: String },
    /// The value lies at or past the edge of what the formula is good for, or something about it needs attention.
    Flag { says: String },
    /// The plain caution that belongs to it.
    Caution { says: String },
}

impl Note {
    pub fn assumes(says: impl Into<String>) -> Self {
        Self::Assumes { says: says.into() }
    }
    pub fn limit(says: impl Into<String>, source: impl Into<String>, as_of: impl Into<String>) -> Self {
        Self::Limit { says: says.into(), source: source.into(), as_of: as_of.into() }
    }
    pub fn flag(says: impl Into<String>) -> Self {
        Self::Flag { says: says.into() }
    }
    pub fn caution(says: impl Into<String>) -> Self {
        Self::Caution { says: says.into() }
    }
    /// The words, without the source.
    pub fn says(&self) -> &str {
        match self {
            Self::Assumes { says } | Self::Limit { says, .. } | Self::Flag { says } | Self::Caution { says } => says,
        }
    }
    pub const fn is_flag(&self) -> bool {
        matches!(self, Self::Flag { .. })
    }
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Assumes { says } => write!(f, "assumes: {says}"),
            Self::Limit { says, source, as_of } => write!(f, "limit: {says} ({source}; as of {as_of})"),
            Self::Flag { says } => write!(f, "note well: {says}"),
            Self::Caution { says } => write!(f, "caution: {says}"),
        }
    }
}

/// A value and its notes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer<T> {
    pub value: T,
    /// What has to be said with it.
    pub notes: Vec<Note>,
}

impl<T> Answer<T> {
    pub fn new(value: T) -> Self {
        Self { value, notes: Vec::new() }
    }

    /// Adds one note.
    #[must_use]
    pub fn with(mut self, note: Note) -> Self {
        self.notes.push(note);
        self
    }

    /// Adds several notes.
    #[must_use]
    pub fn with_all(mut self, notes: impl IntoIterator<Item = Note>) -> Self {
        self.notes.extend(notes);
        self
    }

    /// Another value with the same notes.
    pub fn map<U>(self, f: impl FnOnce(T) -> U) -> Answer<U> {
        Answer { value: f(self.value), notes: self.notes }
    }

    /// What the flags among the notes say.
    pub fn flags(&self) -> impl Iterator<Item = &str> {
        self.notes.iter().filter(|n| n.is_flag()).map(Note::says)
    }
}

/// Why no value is given, and what would help.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Refused {
    pub why: String,
    pub hint: String,
}

impl Refused {
    pub fn new(why: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { why: why.into(), hint: hint.into() }
    }
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.why, self.hint)
    }
}

impl std::error::Error for Refused {}

/// Refuses a number that is not finite or lies outside `[low, high]`, naming it.
pub fn within(name: &str, value: f64, low: f64, high: f64, unit: &str) -> Result<f64, Refused> {
    if value.is_finite() && (low..=high).contains(&value) {
        Ok(value)
    } else {
        // A tenth of a degree is as far as a probe goes; nobody reads more than four decimals of anything.
        let step = if unit == "°C" { 10.0 } else { 1e4 };
        let shown = (value * step).round() / step;
        Err(Refused::new(
            format!("{name} is {shown} {unit}, outside {low} to {high} {unit}"),
            format!("check the {name} and its unit"),
        ))
    }
}

/// A duration as planned, and the slow end that safety limits are held against.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Spread {
    /// Minutes.
    pub planned: Elapsed,
    /// Minutes; never less than `planned`.
    pub slow: Elapsed,
}
