//! Probe readings as a person writes them: `10:30=41.5`, `10:30=107F`.

use super::Refused;
use crate::units::{Elapsed, Temperature};
use serde::Serialize;

/// One reading.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Reading {
    /// Minutes since the first reading of its log.
    pub at: Elapsed,
    /// °C
    pub temperature: Temperature,
}

/// Readings in order of time, at least one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Log {
    /// Time of day of the first reading, minutes after midnight.
    pub first: u16,
    pub readings: Vec<Reading>,
}

/// The most readings taken from one log.
pub const MOST: usize = 2000;

/// Reads one `HH:MM=temperature`. Minutes after midnight and the temperature.
///
/// # Errors
/// Says what was given and what would have been understood.
pub fn parse_reading(text: &str) -> Result<(u16, Temperature), Refused> {
    let bad = || {
        let shown: String = text.chars().take(40).collect();
        Refused::new(format!("cannot read the reading \"{shown}\""), "write it as 10:30=41.5 (°C) or 10:30=107F")
    };
    let (clock, degrees) = text.trim().split_once('=').ok_or_else(bad)?;
    let (h, m) = clock.trim().split_once(':').ok_or_else(bad)?;
    let digits = |s: &str, least: usize| (least..=2).contains(&s.len()) && s.bytes().all(|b| b.is_ascii_digit());
    if !digits(h, 1) || !digits(m, 2) {
        return Err(bad());
    }
    let (h, m): (u16, u16) = (h.parse().map_err(|_| bad())?, m.parse().map_err(|_| bad())?);
    if h > 23 || m > 59 {
        return Err(bad());
    }
    let t = Temperature::parse(degrees.trim()).map_err(|_| bad())?;
    if !(-40.0..=250.0).contains(&t.as_celsius()) {
        return Err(Refused::new(
            format!("{} °C is no temperature of a joint", t.as_celsius()),
            "check the reading and its unit (F for Fahrenheit)",
        ));
    }
    Ok((h * 60 + m, t))
}

impl Log {
    /// Reads readings in the order they were taken. A time of day before the one before it is on the next day.
    ///
    /// # Errors
    /// Refuses an empty list, a reading it cannot read, one time given twice, and logs that run over three days.
    pub fn parse<S: AsRef<str>>(texts: &[S]) -> Result<Self, Refused> {
        if texts.len() > MOST {
            return Err(Refused::new(format!("{} readings are too many", texts.len()), format!("give at most {MOST}")));
        }
        let mut first = None;
        let mut readings: Vec<Reading> = Vec::with_capacity(texts.len());
        let mut last = 0u32;
        for text in texts {
            let (clock, temperature) = parse_reading(text.as_ref())?;
            let start = *first.get_or_insert(clock);
            let mut minutes = u32::from(clock) + last / 1440 * 1440;
            if minutes < last {
                minutes += 1440;
            }
            if !readings.is_empty() && minutes == last {
                return Err(Refused::new(
                    format!("two readings at {:02}:{:02}", clock / 60, clock % 60),
                    "keep one of them",
                ));
            }
            last = minutes;
            let at = f64::from(minutes - u32::from(start));
            if at > 3.0 * 1440.0 {
                return Err(Refused::new(
                    "the readings run over more than three days",
                    "are they in the order they were taken?",
                ));
            }
            readings.push(Reading { at: Elapsed::minutes(at), temperature });
        }
        let first = first.ok_or_else(|| Refused::new("no readings", "give at least one, such as 10:30=41.5"))?;
        Ok(Self { first, readings })
    }

    /// The time of day that lies `after` the first reading, `HH:MM`, with the days gone by as `+1 d`.
    pub fn clock(&self, after: Elapsed) -> String {
        let total = i64::from(self.first) + after.as_minutes().clamp(-1e7, 1e7).round() as i64;
        let (day, minute) = (total.div_euclid(1440), total.rem_euclid(1440));
        let suffix = if day > 0 { format!(" +{day} d") } else { String::new() };
        format!("{:02}:{:02}{suffix}", minute / 60, minute % 60)
    }
}
