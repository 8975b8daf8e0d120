//! The sums from the shell, one command a file: each as plain text and as JSON, with what must be said beside it.

use crate::plan::{TubLoad, capital};
use crate::process::bridge;
pub mod brine;
pub mod cook;
pub mod cool;
pub mod cure_check;
pub mod keep;
pub mod nitrite;
pub mod yields;

use super::{Ended, files};
use crate::science::readings::Log;
use crate::science::{Note, Refused};
use anyhow::Result;
use serde::Serialize;

/// Prints a value as JSON, or its text.
fn show<T: Serialize>(json: bool, value: &T, text: &str) -> Result<Ended> {
    if json {
        files::print(&(serde_json::to_string_pretty(value)? + "\n"))?;
    } else {
        files::print(text)?;
    }
    Ok(Ended::Done)
}

/// Prints why there is no answer, and what would help.
fn refused(json: bool, r: &Refused) -> Result<Ended> {
    if json {
        files::print(&(serde_json::to_string_pretty(&serde_json::json!({ "refused": r }))? + "\n"))?;
    } else {
        eprintln!("{}.", capital(&r.why));
        eprintln!("  {}.", capital(&r.hint));
    }
    Ok(Ended::Refused)
}

/// A refusal with the load it is about.
fn of_load(load: &TubLoad, r: Refused) -> Refused {
    Refused { why: format!("{} in {}: {}", load.joints.join(" and "), load.id, r.why), ..r }
}

/// Readings as typed; what cannot be read is unusable input, not a refusal.
fn log(texts: &[String]) -> Result<Option<Log>> {
    if texts.is_empty() {
        return Ok(None);
    }
    Log::parse(texts).map(Some).map_err(|r| anyhow::anyhow!("{r}"))
}

/// Notes under their answer, each once: what to mind first, then cautions, then what was assumed and where figures are from.
fn notes<'a>(all: impl IntoIterator<Item = &'a Note>) -> String {
    let mut seen: Vec<&Note> = Vec::new();
    for n in all {
        if !seen.contains(&n) {
            seen.push(n);
        }
    }
    let rank = |n: &Note| match n {
        Note::Flag { .. } => 0,
        Note::Caution { .. } => 1,
        Note::Assumes { .. } => 2,
        Note::Limit { .. } => 3,
    };
    seen.sort_by_key(|n| rank(n));
    let mut out = String::new();
    for n in seen {
        let label = match n {
            Note::Flag { .. } => "Mind",
            Note::Caution { .. } => "Caution",
            Note::Assumes { .. } => "Assumed",
            Note::Limit { .. } => "Figure",
        };
        let says = match n {
            Note::Limit { says, source, as_of } => format!("{says} ({source}; looked at {as_of})"),
            other => other.says().to_owned(),
        };
        out += &folded(&format!("{label}: {}.", capital(&says)));
    }
    out
}

/// Folds a line at 100 columns, later lines set in.
fn folded(text: &str) -> String {
    let mut out = String::new();
    let mut width = 0;
    for word in text.split_whitespace() {
        let w = word.chars().count();
        if width > 0 && width + 1 + w > 100 {
            out += "\n  ";
            width = 2;
        } else if width > 0 {
            out.push(' ');
            width += 1;
        }
        out += word;
        width += w;
    }
    out.push('\n');
    out
}

/// "7 h 10", "45 min".
fn length(t: crate::units::Elapsed) -> String {
    super::text::length(t.as_minutes().round() as i64)
}
