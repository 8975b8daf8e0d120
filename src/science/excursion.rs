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
    /// Fresh brine if it has clouded, and cook promptly.
    RenewIfCloudy,
    /// Fresh brine, and finish early into cooking.
    Renew,
    /// Home: fresh brine, smell along the bone, cook at once when ready. A business bins it.
    RenewHomeOnly,
    Bin,
}

/// Where the house's table changes its mind: temperatures in °C, lengths in hours. Conservative judgement, no source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Table {
    /// Up to this nothing has happened.
    pub fine: f64,
    /// Up to this it is mild.
    pub mild: f64,
    /// Up to this it is warm; over it, hot.
    pub warm: f64,
    /// Over this there is no short time that passes.
    pub hot: f64,
    /// Mild, shorter than this: note it.
    pub mild_short: f64,
    /// Mild, longer than this: bin.
    pub mild_long: f64,
    /// Warm or hot, shorter than this: the milder ruling.
    pub warm_short: f64,
    /// Warm, longer than this: bin.
    pub warm_long: f64,
}

impl Default for Table {
    fn default() -> Self {
        Self {
            fine: 5.0,
            mild: 8.0,
            warm: 12.0,
            hot: 20.0,
            mild_short: 12.0,
            mild_long: 48.0,
            warm_short: 4.0,
            warm_long: 24.0,
        }
    }
}

/// What to do, by a house's table, about a brine that reached a temperature for a time. A time that is not known is given as
/// `None` and taken as the worst. `guarded`: nitrite and at least 3 % salt in the starting brine.
///
/// # Errors
/// Refuses temperatures outside −5 to 60 °C, and lengths under nothing.
pub fn act_by(
    table: &Table,
    reached: Temperature,
    lasted: Option<Elapsed>,
    guarded: bool,
    business: bool,
) -> Result<Answer<Action>, Refused> {
    let t = within("brine temperature", reached.as_celsius(), -5.0, 40.0, "°C")?;
    if let Some(l) = lasted {
        within("time it was warm", l.as_hours(), 0.0, 10_000.0, "h")?;
    }
    let h = lasted.map_or(f64::INFINITY, Elapsed::as_hours);
    let action = if t <= table.fine {
        Action::Fine
    } else if t <= table.mild {
        match guarded {
            _ if h < table.mild_short => Action::Note,
            _ if h > table.mild_long => Action::Bin,
            true => Action::RenewIfCloudy,
            false => Action::Renew,
        }
    } else if t <= table.warm {
        match guarded {
            true if h < table.warm_short => Action::Note,
            false if h < table.warm_short => Action::Renew,
            true if h <= table.warm_long => Action::RenewHomeOnly,
            _ => Action::Bin,
        }
    } else if guarded && h <= table.warm_short && t <= table.hot {
        // Over the last mark the house's table speaks only of longer times; a shorter one is read as the row above at its worst.
        Action::RenewHomeOnly
    } else {
        Action::Bin
    };
    let action = if business && action == Action::RenewHomeOnly { Action::Bin } else { action };
    let mut a = Answer::new(action)
        .with(Note::limit("the house table of warm brines", "conservative judgement, no source", "2026-11"))
        .with(Note::caution("if in doubt, throw it out; nothing here says the meat is safe"));
    if lasted.is_none() && t > table.fine {
        a = a.with(Note::flag("how long is not known: taken as the worst since the last good reading"));
    }
    Ok(a)
}
