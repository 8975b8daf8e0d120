//! Probe readings as a person writes them: `10:30=41.5`, `10:30=107F`, `2026-12-23 00:40=30`.

use super::Refused;
use crate::units::{Elapsed, Temperature};
use chrono::NaiveDate;
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
            format!("{} °C is no temperature of a joint", t.tenths()),
            "check the reading and its unit (F for Fahrenheit)",
        ));
    }
    Ok((h * 60 + m, t))
}

/// The date before a reading's time of day, if it has one, and the rest.
fn dated(text: &str) -> Result<(Option<NaiveDate>, &str), Refused> {
    let Some((date, rest)) = text.trim().split_once([' ', 'T']) else { return Ok((None, text)) };
    if !date.contains('-') || date.contains('=') {
        return Ok((None, text));
    }
    match date.parse() {
        Ok(d) => Ok((Some(d), rest)),
        Err(_) => {
            let shown: String = text.chars().take(40).collect();
            Err(Refused::new(format!("cannot read the date of \"{shown}\""), "write it as \"2026-12-23 00:40=30\""))
        }
    }
}

/// The longest step to a time of day on the next day that is taken for granted, minutes: past that it is more likely that
/// the readings are in the wrong order.
const OVERNIGHT: u32 = 12 * 60;

impl Log {
    /// Reads readings in the order they were taken, with or without a date. Without one, a time of day before the one
    /// before it is on the next day if that is at most twelve hours on.
    ///
    /// # Errors
    /// Refuses an empty list, a reading it cannot read, readings that go backward, one time given twice, a date on a later
    /// reading when the first has none, and logs that run over three days.
    pub fn parse<S: AsRef<str>>(texts: &[S]) -> Result<Self, Refused> {
        if texts.len() > MOST {
            return Err(Refused::new(format!("{} readings are too many", texts.len()), format!("give at most {MOST}")));
        }
        let (mut first, mut day) = (None, None::<NaiveDate>);
        let mut readings: Vec<Reading> = Vec::with_capacity(texts.len());
        let mut last = 0u32;
        for (n, text) in texts.iter().enumerate() {
            let text = text.as_ref();
            let (date, rest) = dated(text)?;
            let (clock, temperature) = parse_reading(rest)?;
            let start = *first.get_or_insert(clock);
            if n == 0 {
                day = date;
            }
            let mut minutes = u32::from(clock) + last / 1440 * 1440;
            let short = |t: &str| t.trim().chars().take(40).collect::<String>();
            let backward = |before: &str| {
                Refused::new(
                    format!("the reading {} comes after {} but its time is before it", short(text), short(before)),
                    "put them in the order they were taken; on another day, write the date with each: \"2026-12-23 00:40=30\"",
                )
            };
            let before = n.checked_sub(1).map(|b| texts[b].as_ref());
            match (date, day, before) {
                (Some(d), Some(day), Some(before)) => {
                    let days = u32::try_from((d - day).num_days()).map_err(|_| backward(before))?;
                    minutes = days.saturating_mul(1440).saturating_add(u32::from(clock));
                    if minutes < last {
                        return Err(backward(before));
                    }
                }
                (Some(_), None, Some(_)) => {
                    return Err(Refused::new(
                        format!("{} has a date and the first reading has none", short(text)),
                        "write the date with the first reading too",
                    ));
                }
                (None, _, Some(before)) if minutes < last => {
                    minutes += 1440;
                    if minutes - last > OVERNIGHT {
                        return Err(backward(before));
                    }
                }
                _ => {}
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
