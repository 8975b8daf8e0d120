//! A cooling log, or a predicted curve, against each standard's windows.
//!
//! The standards are `data/cooling.json`. Cured (nitrite) and uncured are kept apart. A reading that is missing is never
//! taken as good: a log that begins below a window's upper end, or has a hole in it, says so.

use super::readings::Reading;
use super::{Answer, Note, Refused};
use crate::units::{Elapsed, Temperature};
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// Which hams a standard is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum For {
    Any,
    /// At least about 100 mg/kg nitrite ingoing and 2.5 % salt in the water.
    Cured,
    Uncured,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum From {
    Stage,
    First,
}

/// From `upper` to `lower` within `hours`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Window {
    /// °C
    pub upper: f64,
    /// °C
    pub lower: f64,
    pub hours: f64,
    pub from: From,
}

/// A published or house standard for cooling, one line of `data/cooling.json`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Standard {
    pub id: String,
    pub name: String,
    pub country: String,
    #[serde(rename = "for")]
    pub covers: For,
    /// Good practice rather than a limit.
    pub advice: bool,
    pub source: String,
    /// Date on which it was last looked at.
    pub as_of: String,
    /// All of them are to be kept to.
    pub windows: Vec<Window>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[allow(dead_code)]
    about: String,
    standards: Vec<Standard>,
}

/// The standards shipped with the program.
pub fn standards() -> &'static [Standard] {
    static STANDARDS: OnceLock<Vec<Standard>> = OnceLock::new();
    STANDARDS.get_or_init(|| {
        let file: File =
            serde_json::from_str(include_str!("data/cooling.json")).expect("the shipped cooling standards are valid");
        file.standards
    })
}

/// Where a log stands in one window. Times are minutes since the first reading.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(tag = "standing", rename_all = "kebab-case")]
pub enum Standing {
    /// Reached its lower end in time.
    Inside { took: Elapsed },
    /// Past its time at this moment.
    Outside { since: Elapsed },
    /// Not there yet, and still this much time.
    Open { left: Elapsed, until: Elapsed },
    /// Not down to its upper end yet.
    NotBegun,
    /// The log begins below its upper end: when it began is not known, so neither is what is left.
    NotKnown,
}

/// How a log of readings stands to a standard.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Judged {
    pub standard: Standard,
    /// One for each window.
    pub windows: Vec<Standing>,
    /// Worst of them.
    pub overall: Standing,
}

/// A log that begins at or over this, °C, is taken to begin with the cooling: hot holding (UK law, 63 °C).
pub const HOT: f64 = 63.0;

/// Whether a time from hot to 5 °C at the core keeps to a standard, for those that ask nothing else; `None` for the others,
/// which a time alone does not tell.
pub fn by_time(standard: &Standard, hot_to_cold: Elapsed) -> Option<bool> {
    match standard.windows.as_slice() {
        [w] if w.upper >= 100.0 && w.lower <= 5.0 => Some(hot_to_cold.as_hours() <= w.hours + 1e-9),
        _ => None,
    }
}

/// The first moment at or under a temperature, on straight lines between readings; the first reading if it is there already.
fn falls_to(readings: &[Reading], to: f64) -> Option<f64> {
    if readings.first()?.temperature.as_celsius() <= to {
        return Some(readings[0].at.as_minutes());
    }
    readings.windows(2).find(|p| p[1].temperature.as_celsius() <= to).map(|p| {
        let (a, b) = (p[0].temperature.as_celsius(), p[1].temperature.as_celsius());
        p[0].at.as_minutes() + (a - to) / (a - b) * (p[1].at.as_minutes() - p[0].at.as_minutes())
    })
}

fn judge_one(standard: &Standard, readings: &[Reading]) -> Judged {
    let last = readings.last().map_or(0.0, |r| r.at.as_minutes());
    let first = standard.windows.first().map(|w| w.upper);
    let windows: Vec<Standing> = standard
        .windows
        .iter()
        .map(|w| {
            let upper = if w.from == From::First { first.unwrap_or(w.upper) } else { w.upper };
            let Some(start) = falls_to(readings, upper) else { return Standing::NotBegun };
            let known = readings.first().is_some_and(|r| r.temperature.as_celsius() >= upper.min(HOT));
            // 1 ms of slack for sums of minutes.
            let end = start + w.hours * 60.0 + 1e-6;
            let reached = falls_to(readings, w.lower);
            if !known {
                // It began before the log, so a window that the log alone overruns is outside whatever came before.
                let over = reached.unwrap_or(last) > end;
                return if over { Standing::Outside { since: Elapsed::minutes(end) } } else { Standing::NotKnown };
            }
            match reached {
                Some(t) if t <= end => Standing::Inside { took: Elapsed::minutes(t - start) },
                None if last <= end => {
                    Standing::Open { left: Elapsed::minutes((end - last).max(0.0)), until: Elapsed::minutes(end) }
                }
                _ => Standing::Outside { since: Elapsed::minutes(end) },
            }
        })
        .collect();
    // Worst first; not known is never hidden by one that is; of windows still open the one with least left.
    let rank = |s: &Standing| match s {
        Standing::Outside { .. } => f64::INFINITY,
        Standing::Open { left, .. } => 2.0 + 1.0 / (1.0 + left.as_minutes()),
        Standing::NotKnown => 4.0,
        Standing::NotBegun => 1.0,
        Standing::Inside { .. } => 0.0,
    };
    let worst = windows.iter().copied().max_by(|a, b| rank(a).total_cmp(&rank(b)));
    let overall = worst.unwrap_or(Standing::NotKnown);
    Judged { standard: standard.clone(), windows, overall }
}

/// Judges readings (in order of time) by every standard that covers them.
///
/// # Errors
/// Refuses an empty log.
pub fn judge(readings: &[Reading], cured: bool) -> Result<Answer<Vec<Judged>>, Refused> {
    let Some(begin) = readings.first() else {
        return Err(Refused::new("no readings", "log the core at least once an hour"));
    };
    let covers = |f: For| match f {
        For::Any => true,
        For::Cured => cured,
        For::Uncured => !cured,
    };
    let judged: Vec<Judged> = standards().iter().filter(|s| covers(s.covers)).map(|s| judge_one(s, readings)).collect();
    let mut a = Answer::new(judged)
        .with(Note::assumes("straight lines between readings, the probe at the core of the thickest joint"))
        .with(Note::caution(super::chill::CAUTION));
    let hot = begin.temperature.as_celsius();
    if hot < HOT {
        a = a.with(Note::flag(format!(
            "the log begins at {hot:.1} °C: what happened before is not known, so neither is any window that starts above it; unless it was out of the oven only just before, act as if its time has run out"
        )));
    }
    let widest = readings.windows(2).map(|p| p[1].at.as_minutes() - p[0].at.as_minutes()).fold(0.0, f64::max);
    if widest > 120.0 {
        a = a.with(Note::flag(format!("{:.1} h without a reading: what happened between is a guess", widest / 60.0)));
    }
    if readings.windows(2).any(|p| p[1].temperature.as_celsius() > p[0].temperature.as_celsius() + 1.0) {
        a = a.with(Note::flag(
            "it warmed again between readings: the first time through each temperature is the one judged",
        ));
    }
    Ok(a)
}

/// A curve as readings five minutes apart.
pub fn sampled(curve: impl Fn(Elapsed) -> Temperature, until: Elapsed) -> Vec<Reading> {
    let steps = (until.as_minutes() / 5.0).ceil().clamp(1.0, 1500.0) as u32;
    (0..=steps)
        .map(|i| {
            let at = Elapsed::minutes(f64::from(i) * 5.0);
            Reading { at, temperature: curve(at) }
        })
        .collect()
}
