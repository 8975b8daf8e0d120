//! How much a cook has killed: the general method over logged temperatures.
//!
//! Between two readings the temperature is taken as a straight line and `10^((T − Tref)/z)` is integrated exactly; the
//! trapezoid that is often used instead overstates it, which is the unsafe side.
//!
//! Source: Bigelow's general method; times at temperature from `data/lethality.json`.

use super::readings::Reading;
use super::{Answer, Note, Refused, within};
use crate::units::{Elapsed, Temperature};
use serde::{Deserialize, Serialize};
use std::f64::consts::LN_10;
use std::sync::OnceLock;

/// Minutes at the reference temperature that a log is worth.
///
/// Stretches under `counts_from` are left out, cut exactly where the straight line crosses it.
///
/// # Errors
/// Refuses z outside 2 to 20 °C and a reference outside 40 to 130 °C.
pub fn equivalent_minutes(
    readings: &[Reading],
    reference: Temperature,
    z: f64,
    counts_from: Option<Temperature>,
) -> Result<Elapsed, Refused> {
    let z = within("z", z, 2.0, 20.0, "°C")?;
    let reference = within("reference temperature", reference.as_celsius(), 40.0, 130.0, "°C")?;
    Ok(Elapsed::minutes(integrate(readings, counts_from, |t| (reference, z, t))))
}

/// Sums over straight lines; `law(T)` gives (reference, z, T) for the piece that T lies in.
fn integrate(readings: &[Reading], floor: Option<Temperature>, law: impl Fn(f64) -> (f64, f64, f64)) -> f64 {
    let floor = floor.map_or(f64::NEG_INFINITY, Temperature::as_celsius);
    let mut total = 0.0;
    for pair in readings.windows(2) {
        let minutes = pair[1].at.as_minutes() - pair[0].at.as_minutes();
        let (a, b) = (pair[0].temperature.as_celsius(), pair[1].temperature.as_celsius());
        if minutes <= 0.0 || (a < floor && b < floor) {
            continue;
        }
        // The part of the line at or over the floor.
        let (low, high) = (a.min(b).max(floor), a.max(b));
        let minutes = if a == b { minutes } else { minutes * (high - low) / (b - a).abs() };
        let (reference, z, _) = law(0.5 * (low + high));
        let start = 10f64.powf((low - reference) / z);
        let x = LN_10 * (high - low) / z;
        total += minutes * start * if x < 1e-12 { 1.0 } else { x.exp_m1() / x };
    }
    total
}

/// A published table of times at temperature.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Table {
    pub id: String,
    pub name: String,
    pub country: String,
    pub source: String,
    pub as_of: String,
    /// °C and seconds, rising in temperature.
    pub points: Vec<(f64, f64)>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[allow(dead_code)]
    about: String,
    tables: Vec<Table>,
}

/// The tables shipped with the program.
pub fn tables() -> &'static [Table] {
    static TABLES: OnceLock<Vec<Table>> = OnceLock::new();
    TABLES.get_or_init(|| {
        let file: File =
            serde_json::from_str(include_str!("data/lethality.json")).expect("the shipped lethality tables are valid");
        file.tables
    })
}

impl Table {
    /// Seconds needed at a steady temperature: the row at or under it, never between rows. `None` under the first row.
    pub fn seconds(&self, at: Temperature) -> Option<f64> {
        self.points.iter().rev().find(|(t, _)| *t <= at.as_celsius()).map(|(_, s)| *s)
    }
}

/// How far a log goes towards one published table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ByTable {
    pub id: String,
    pub name: String,
    pub country: String,
    /// The log's time over the time the table asks, summed row by row; from 1 on it is inside. `None` when a row that asks
    /// no time at all was reached, which is inside too.
    pub share: Option<f64>,
    pub inside: bool,
}

/// Sets a log against a table with the row at or under each temperature and never between rows: nothing is taken from a z.
/// Stretches under the table's first row count for nothing.
pub fn against(table: &Table, readings: &[Reading]) -> ByTable {
    let mut share = 0.0;
    let mut at_once = false;
    for pair in readings.windows(2) {
        let minutes = pair[1].at.as_minutes() - pair[0].at.as_minutes();
        let (a, b) = (pair[0].temperature.as_celsius(), pair[1].temperature.as_celsius());
        let (low, high) = (a.min(b), a.max(b));
        for (i, (from, seconds)) in table.points.iter().enumerate() {
            let to = table.points.get(i + 1).map_or(f64::INFINITY, |p| p.0);
            if high < *from {
                break;
            }
            if *seconds == 0.0 {
                at_once = true;
                break;
            }
            // The part of the straight line that lies in this row.
            let part = if high > low {
                ((high.min(to) - low.max(*from)) / (high - low)).max(0.0)
            } else {
                f64::from(u8::from(low < to))
            };
            share += minutes.max(0.0) * part * 60.0 / seconds;
        }
    }
    ByTable {
        id: table.id.clone(),
        name: table.name.clone(),
        country: table.country.clone(),
        share: (!at_once).then_some(share),
        // A millionth of slack for sums of minutes.
        inside: at_once || share >= 1.0 - 1e-6,
    }
}

/// How the house judges a cook: 2 minutes at 70 °C, z 7.5 above and 6 below it (the stricter of the two UK tables), nothing
/// counted under 60 °C.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cooked {
    /// Minutes at 70 °C that the log is worth.
    pub minutes_at_70: f64,
    /// Over 2 minutes.
    pub inside: bool,
    /// Highest reading, °C.
    pub highest: f64,
}

/// Judges a log of core readings against 70 °C for 2 minutes.
///
/// # Errors
/// Refuses a log of one reading, which has no length.
pub fn cooked(readings: &[Reading]) -> Result<Answer<Cooked>, Refused> {
    if readings.len() < 2 {
        return Err(Refused::new(
            "one reading has no length in time",
            "log the core at least twice, some minutes apart",
        ));
    }
    // The line is cut at 70 °C so that each z holds on its own side.
    let mut cut: Vec<Reading> = Vec::with_capacity(readings.len() * 2);
    for pair in readings.windows(2) {
        cut.push(pair[0]);
        let (a, b) = (pair[0].temperature.as_celsius(), pair[1].temperature.as_celsius());
        if (a - 70.0) * (b - 70.0) < 0.0 {
            let f = (70.0 - a) / (b - a);
            let at = pair[0].at.as_minutes() + f * (pair[1].at.as_minutes() - pair[0].at.as_minutes());
            cut.push(Reading { at: Elapsed::minutes(at), temperature: Temperature::celsius(70.0) });
        }
    }
    cut.extend(readings.last());
    let law = |t: f64| (70.0, if t < 70.0 { 6.0 } else { 7.5 }, t);
    let minutes = integrate(&cut, Some(Temperature::celsius(60.0)), law);
    let highest = readings.iter().map(|r| r.temperature.as_celsius()).fold(f64::NEG_INFINITY, f64::max);
    let mut a = Answer::new(Cooked { minutes_at_70: minutes, inside: minutes >= 2.0, highest })
        .with(Note::assumes(
            "straight lines between readings, the probe at the coldest place; nothing under 60 °C is counted",
        ))
        .with(Note::limit(
            "70 °C for 2 minutes; the stricter table (z 6) below it",
            "UK FSA advice and the ACMSF revision, which disagree at 60 °C: 45 against 93 minutes",
            "2026-11",
        ))
        .with(Note::caution("probe the thickest part of every joint; inside the limit is not a promise"));
    if highest < 60.0 {
        a = a.with(Note::flag("never over 60 °C: trials on ham found the published times wanting near 54 °C (McMinn et al., Meat and Muscle Biology)"));
    }
    let widest = readings.windows(2).map(|p| p[1].at.as_minutes() - p[0].at.as_minutes()).fold(0.0, f64::max);
    if widest > 30.0 {
        a = a.with(Note::flag(format!("{widest:.0} minutes without a reading: what happened between is a guess")));
    }
    Ok(a)
}
