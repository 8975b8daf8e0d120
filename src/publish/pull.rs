//! What a person did on the phone: moved an entry, or ticked it.

use super::Fault;
use super::Server;
use super::merge::instant;
use super::state::{Published, component};
use crate::kitchen::Zone;
use crate::sheets::lines::Part;
use chrono::{DateTime, Utc};

/// One thing a person did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wish {
    /// Moved to another start.
    Moved { task: String, from: DateTime<Utc>, to: DateTime<Utc> },
    /// Ticked as done, at a moment where the phone noted one.
    Done { task: String, when: Option<DateTime<Utc>> },
}

impl Wish {
    pub fn task(&self) -> &str {
        match self {
            Self::Moved { task, .. } | Self::Done { task, .. } => task,
        }
    }
}

/// Whether a person ticked it: a to-do that is completed, or an event whose title begins with a tick or "done".
fn ticked(part: &Part) -> bool {
    let completed =
        part.line("COMPLETED").is_some() || part.line("STATUS").is_some_and(|l| l.value.trim() == "COMPLETED");
    let title = part.text("SUMMARY").unwrap_or_default().trim().to_lowercase();
    completed || ["✓", "✔", "☑", "done ", "done:", "x "].iter().any(|t| title.starts_with(t))
}

/// What differs on the server in a way that is an act: reads only what changed since it was last seen.
///
/// # Errors
/// As the server answers.
pub fn wishes(server: &mut dyn Server, state: &mut Published, zone: Zone) -> Result<Vec<Wish>, Fault> {
    let there = match server.list() {
        Err(Fault::Missing) => return Ok(Vec::new()),
        other => other?,
    };
    let mut out = Vec::new();
    for (uid, kept) in &mut state.entries {
        let Some(version) = there.get(&kept.name) else { continue };
        let text =
            if *version == kept.version { kept.theirs.clone() } else { server.get(&kept.name)?.map(|(text, _)| text) };
        let (Some(theirs), Some(ours)) = (text.and_then(|t| component(&t, uid)), component(&kept.ours, uid)) else {
            continue;
        };
        let Some(task) = ours.text("X-TURNDAY-TASK") else { continue };
        let start = |p: &Part| p.line("DTSTART").and_then(|l| instant(l, zone));
        if ticked(&theirs) {
            out.push(Wish::Done { task, when: theirs.line("COMPLETED").and_then(|l| instant(l, zone)) });
        } else if let (Some(from), Some(to)) = (start(&ours), start(&theirs))
            && from != to
        {
            out.push(Wish::Moved { task, from, to });
        }
    }
    Ok(out)
}
