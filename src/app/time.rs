//! Moments as whole minutes of UTC since 1970, and the words for them in the kitchen's own zone.
//!
//! Day name and date always, 24-hour clock. Converting at the edge keeps every sum exact across a clock change.

use chrono::{DateTime, Datelike, NaiveDate, NaiveDateTime, Timelike, Utc};

use crate::kitchen::Zone;
use crate::plan::When;

/// A moment: whole minutes of UTC since 1970.
pub type Min = i64;

/// Minutes in an hour and in a day of 24 hours.
pub const HOUR: i64 = 60;
pub const DAY: i64 = 24 * HOUR;

/// The whole minute a moment of the plan lies in.
pub fn minute(at: When) -> Min {
    at.timestamp().div_euclid(60)
}

/// The whole minute an instant lies in.
pub fn minute_utc(at: DateTime<Utc>) -> Min {
    at.timestamp().div_euclid(60)
}

/// The instant of a minute; the epoch when it lies outside the calendar.
pub fn instant(at: Min) -> DateTime<Utc> {
    at.checked_mul(60).and_then(|s| DateTime::from_timestamp(s, 0)).unwrap_or_default()
}

/// Civil time in the kitchen's zone.
pub fn civil(zone: Zone, at: Min) -> NaiveDateTime {
    zone.civil(instant(at))
}

/// Civil minutes since the civil 1970-01-01 00:00: what the wall clock counts.
pub fn civil_minutes(zone: Zone, at: Min) -> i64 {
    civil(zone, at).and_utc().timestamp().div_euclid(60)
}

/// `Mon 7 Dec`.
pub fn date_words(date: NaiveDate) -> String {
    date.format("%a %-d %b").to_string()
}

/// `19:00`.
pub fn clock_words(at: NaiveDateTime) -> String {
    format!("{:02}:{:02}", at.hour(), at.minute())
}

/// `Mon 7 Dec 19:00`.
pub fn when(zone: Zone, at: Min) -> String {
    let t = civil(zone, at);
    format!("{} {}", date_words(t.date()), clock_words(t))
}

/// `today 19:00`, `tomorrow 07:30`, or the day by name and date.
pub fn when_from(zone: Zone, at: Min, now: Min) -> String {
    let (t, n) = (civil(zone, at), civil(zone, now));
    match t.date().num_days_from_ce() - n.date().num_days_from_ce() {
        0 => format!("today {}", clock_words(t)),
        1 => format!("tomorrow {}", clock_words(t)),
        _ => when(zone, at),
    }
}

/// `Mon 7 Dec 19:00 to 19:10`; the second day is named when it is another one.
pub fn span(zone: Zone, from: Min, to: Min) -> String {
    if to <= from {
        return when(zone, from);
    }
    let (a, b) = (civil(zone, from), civil(zone, to));
    if a.date() == b.date() {
        format!("{} to {}", when(zone, from), clock_words(b))
    } else {
        format!("{} to {}", when(zone, from), when(zone, to))
    }
}

/// A stretch of time in days and hours, without its sign, as the screen has it: `40 min`, `2 h 40 min`, `30 h`, `3 d 4 h`. Past two
/// days the minutes are left out. What the plan says in its own words has days with a tenth; see [`crate::plan::length`].
pub fn how_long(minutes: i64) -> String {
    let m = minutes.abs();
    match m {
        0..=59 => format!("{m} min"),
        _ if m < 2 * DAY && m % HOUR == 0 => format!("{} h", m / HOUR),
        _ if m < DAY => format!("{} h {} min", m / HOUR, m % HOUR),
        _ if m < 2 * DAY => format!("{} h", m / HOUR),
        _ if m % DAY < HOUR => format!("{} d", m / DAY),
        _ => format!("{} d {} h", m / DAY, m % DAY / HOUR),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LONDON: Zone = Zone(chrono_tz::Europe::London);

    fn at(text: &str) -> Min {
        minute(DateTime::parse_from_rfc3339(text).unwrap())
    }

    // Clock changes for Europe/London from the IANA time zone database: 2027-03-28 01:00 UTC forward, 2026-10-25 01:00
    // UTC back.
    #[test]
    fn words_follow_the_wall_clock_over_both_changes() {
        let before = at("2027-03-28T00:59:00Z");
        assert_eq!(when(LONDON, before), "Sun 28 Mar 00:59");
        assert_eq!(when(LONDON, before + 1), "Sun 28 Mar 02:00");
        let back = at("2026-10-25T00:59:00Z");
        assert_eq!(when(LONDON, back), "Sun 25 Oct 01:59");
        assert_eq!(when(LONDON, back + 1), "Sun 25 Oct 01:00");
    }

    #[test]
    fn near_days_are_named_by_the_civil_date() {
        let now = at("2026-12-07T18:00:00Z");
        assert_eq!(when_from(LONDON, at("2026-12-07T19:00:00Z"), now), "today 19:00");
        assert_eq!(when_from(LONDON, at("2026-12-08T00:10:00Z"), now), "tomorrow 00:10");
        assert_eq!(when_from(LONDON, at("2026-12-09T07:00:00Z"), now), "Wed 9 Dec 07:00");
    }

    #[test]
    fn lengths() {
        let shown: Vec<String> = [10, 160, 1800, 1860, 2 * DAY, 2 * DAY + 200, -30].map(how_long).into();
        assert_eq!(shown, ["10 min", "2 h 40 min", "30 h", "31 h", "2 d", "2 d 3 h", "30 min"]);
    }

    #[test]
    fn a_moment_outside_the_calendar_is_no_panic() {
        for m in [i64::MIN, i64::MAX, 1 << 60] {
            assert!(!when(LONDON, m).is_empty());
        }
    }
}
