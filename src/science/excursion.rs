//! When the brine got warm: what a careful house does.
//!
//! Source: conservative house rules, judgement; no source. Never a promise that meat is safe.

use super::{Answer, Note, Refused, within};
use crate::units::{Elapsed, Temperature};
use serde::Serialize;

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Action {
    /// At or under 5 °C.
    Fine,
    /// Write it down, chill it, look and smell.
    Note,
    /// Fresh brine, and finish early into cooking.
    Renew,
    /// Home: fresh brine, smell along the bone, cook at once when ready. A business bins it.
    RenewHomeOnly,
    Bin,
}

impl Action {
    pub const fn words(self) -> &'static str {
        match self {
            Self::Fine => "inside the limit",
            Self::Note => "write it down, chill it, look and smell at each visit",
            Self::Renew => "fresh cold brine, and cook as soon as it is ready",
            Self::RenewHomeOnly => {
                "fresh cold brine, smell along the bone, cook at once when ready; a business bins it"
            }
            Self::Bin => "bin it",
        }
    }
}

/// What to do about a brine that reached a temperature for a time. A time that is not known is given as `None` and taken
/// as the worst. `guarded`: nitrite and at least 3 % salt in the starting brine.
///
/// # Errors
/// Refuses temperatures outside −5 to 60 °C.
pub fn act(
    reached: Temperature,
    lasted: Option<Elapsed>,
    guarded: bool,
    business: bool,
) -> Result<Answer<Action>, Refused> {
    let t = within("brine temperature", reached.as_celsius(), -5.0, 60.0, "°C")?;
    let hours = lasted.map_or(f64::INFINITY, Elapsed::as_hours);
    let action = match (t, hours, guarded) {
        (t, _, _) if t <= 5.0 => Action::Fine,
        (t, h, _) if t <= 8.0 && h < 12.0 => Action::Note,
        (t, h, _) if t <= 8.0 && h <= 48.0 => Action::Renew,
        (t, _, _) if t <= 8.0 => Action::Bin,
        (t, h, true) if t <= 12.0 && h < 4.0 => Action::Note,
        (t, h, false) if t <= 12.0 && h < 4.0 => Action::Renew,
        (t, h, true) if t <= 12.0 && h <= 24.0 => Action::RenewHomeOnly,
        (t, _, _) if t <= 12.0 => Action::Bin,
        // Over 12 °C the house table speaks only of more than 4 h; a shorter time is read as the row above at its worst.
        (_, h, true) if h <= 4.0 => Action::RenewHomeOnly,
        _ => Action::Bin,
    };
    let action = if business && action == Action::RenewHomeOnly { Action::Bin } else { action };
    let mut a = Answer::new(action)
        .with(Note::limit("the house table of warm brines", "conservative judgement, no source", "2026-11"))
        .with(Note::caution("if in doubt, throw it out; nothing here says the meat is safe"));
    if lasted.is_none() && t > 5.0 {
        a = a.with(Note::flag("how long is not known: taken as the worst since the last good reading"));
    }
    Ok(a)
}
