//! Civil time as people write it: moments, times of day, days of the week, and the zone they are meant in.

use chrono::{DateTime, Datelike, LocalResult, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, TimeZone, Utc, Weekday};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::borrow::Cow;
use std::fmt;

/// A civil date and time without a zone: `"2026-12-24 18:00"`; a bare date means its midnight.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment(pub NaiveDateTime);

impl Moment {
    pub const EXPECTED: &'static str = "a date and time such as \"2026-12-24 18:00\"";

    pub fn parse(text: &str) -> Option<Self> {
        let t = text.trim().replace('T', " ");
        for f in ["%Y-%m-%d %H:%M", "%Y-%m-%d %H:%M:%S"] {
            if let Ok(m) = NaiveDateTime::parse_from_str(&t, f) {
                return Some(Self(m));
            }
        }
        NaiveDate::parse_from_str(&t, "%Y-%m-%d").ok().and_then(|d| d.and_hms_opt(0, 0, 0)).map(Self)
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0.format("%Y-%m-%d %H:%M"))
    }
}

/// A time of day: `"08:15"`; `"24:00"` is the midnight that ends the day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Clock {
    /// Minutes after midnight, 0 to 1440.
    pub minutes: u16,
}

impl Clock {
    pub const EXPECTED: &'static str = "a time of day such as \"08:15\", from \"00:00\" to \"24:00\"";

    pub const fn at(hour: u16, minute: u16) -> Self {
        Self { minutes: hour * 60 + minute }
    }

    pub fn parse(text: &str) -> Option<Self> {
        let (h, m) = text.trim().split_once(':')?;
        let ok = |s: &str| (1..=2).contains(&s.len()) && s.bytes().all(|b| b.is_ascii_digit());
        if !ok(h) || m.len() != 2 || !ok(m) {
            return None;
        }
        let (h, m): (u16, u16) = (h.parse().ok()?, m.parse().ok()?);
        (m < 60 && (h < 24 || (h == 24 && m == 0))).then_some(Self { minutes: h * 60 + m })
    }

    /// The civil moment at this time of day on `date`.
    pub fn on(self, date: NaiveDate) -> NaiveDateTime {
        date.and_time(NaiveTime::MIN) + TimeDelta::minutes(i64::from(self.minutes))
    }
}

impl fmt::Display for Clock {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:02}:{:02}", self.minutes / 60, self.minutes % 60)
    }
}

/// A set of days of the week: `"Mon-Fri"`, `"Sat,Sun"`, `"every day"`, `"weekdays"`, `"weekend"`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Days(u8);

impl Days {
    pub const EVERY: Self = Self(0x7f);
    pub const EXPECTED: &'static str =
        "days such as \"Mon-Fri\", \"Sat,Sun\", \"weekdays\", \"weekend\", \"every day\"";
    const NAMES: [&'static str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];

    pub fn contains(self, day: Weekday) -> bool {
        self.0 & (1 << day.num_days_from_monday()) != 0
    }

    pub fn parse(text: &str) -> Option<Self> {
        let low = text.trim().to_lowercase();
        match low.as_str() {
            "every day" | "daily" | "any" => return Some(Self::EVERY),
            "weekdays" => return Some(Self(0x1f)),
            "weekend" => return Some(Self(0x60)),
            _ => {}
        }
        let day = |s: &str| {
            let s = s.trim();
            let full = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];
            (s.len() >= 3).then(|| full.iter().position(|f| f.starts_with(s))).flatten()
        };
        let mut bits = 0u8;
        for piece in low.split(',') {
            match piece.split_once('-') {
                Some((a, b)) => {
                    let (mut i, end) = (day(a)?, day(b)?);
                    bits |= 1 << i;
                    while i != end {
                        i = (i + 1) % 7;
                        bits |= 1 << i;
                    }
                }
                None => bits |= 1 << day(piece)?,
            }
        }
        Some(Self(bits))
    }
}

impl fmt::Display for Days {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            0x7f => f.write_str("every day"),
            0x1f => f.write_str("Mon-Fri"),
            bits => {
                let names: Vec<&str> = (0..7).filter(|i| bits & (1 << i) != 0).map(|i| Self::NAMES[i]).collect();
                f.write_str(&names.join(","))
            }
        }
    }
}

/// An IANA time zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Zone(pub chrono_tz::Tz);

impl Zone {
    pub const EXPECTED: &'static str = "an IANA time zone such as \"Europe/London\" or \"America/Chicago\"";

    /// The instant of a civil moment in this zone. In the hour a clock change repeats, the first of the two;
    /// in the hour it skips, the instant the same stretch after the last real minute (01:30 skipped by an hour is 02:30).
    pub fn instant(self, civil: NaiveDateTime) -> DateTime<Utc> {
        match self.0.from_local_datetime(&civil) {
            LocalResult::Single(t) | LocalResult::Ambiguous(t, _) => t.with_timezone(&Utc),
            LocalResult::None => {
                // Interpret the skipped time with the offset in force before the gap.
                let before = (1..=48).find_map(|k| {
                    let earlier = civil - TimeDelta::minutes(30 * k);
                    self.0
                        .from_local_datetime(&earlier)
                        .earliest()
                        .map(|t| t.with_timezone(&Utc) + TimeDelta::minutes(30 * k))
                });
                before.unwrap_or_else(|| Utc.from_utc_datetime(&civil))
            }
        }
    }

    /// The civil time of an instant in this zone.
    pub fn civil(self, instant: DateTime<Utc>) -> NaiveDateTime {
        instant.with_timezone(&self.0).naive_local()
    }

    /// The same time of day `days` later: three days after 08:00 is 08:00, also across a clock change.
    pub fn add_days(self, instant: DateTime<Utc>, days: i64) -> DateTime<Utc> {
        self.instant(self.civil(instant) + TimeDelta::days(days))
    }
}

macro_rules! text_form {
    ($name:ident, $parse:expr, $pattern:literal) => {
        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
                s.collect_str(self)
            }
        }
        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
                let text = Cow::<'de, str>::deserialize(d)?;
                let parse: fn(&str) -> Option<$name> = $parse;
                parse(&text).ok_or_else(|| de::Error::custom(format!("cannot read \"{text}\": expected {}", $name::EXPECTED)))
            }
        }
        impl JsonSchema for $name {
            fn schema_name() -> Cow<'static, str> {
                stringify!($name).into()
            }
            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                json_schema!({ "type": "string", "pattern": $pattern, "description": $name::EXPECTED })
            }
        }
    };
}

impl fmt::Display for Zone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.0.name())
    }
}

text_form!(Moment, Moment::parse, r"^\d{4}-\d{2}-\d{2}([ T]\d{2}:\d{2}(:\d{2})?)?$");
text_form!(Clock, Clock::parse, r"^\d{1,2}:\d{2}$");
text_form!(Days, Days::parse, r"^[A-Za-z][A-Za-z ,-]*$");
text_form!(Zone, |t| t.parse().ok().map(Zone), r"^[A-Za-z_]+(/[A-Za-z0-9_+-]+)*$");

/// The first and last civil dates that planning handles; anything outside is a typing slip.
pub fn plausible(date: NaiveDate) -> bool {
    (2000..2100).contains(&date.year())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn m(t: &str) -> NaiveDateTime {
        Moment::parse(t).unwrap().0
    }

    // Clock changes for Europe/London from the IANA time zone database: 2026-10-25 02:00 BST and 2027-03-28 01:00 GMT.
    #[test]
    fn three_days_after_eight_is_eight_across_both_changes() {
        let london = Zone(chrono_tz::Europe::London);
        for day in ["2026-10-24", "2027-03-26"] {
            let start = london.instant(m(&format!("{day} 08:00")));
            let later = london.add_days(start, 3);
            assert_eq!(london.civil(later).time(), m("2026-01-01 08:00").time());
        }
        let spring = london.instant(m("2027-03-26 08:00"));
        assert_eq!((london.add_days(spring, 3) - spring).num_hours(), 71);
    }

    #[test]
    fn a_repeated_hour_takes_the_first_and_a_skipped_hour_moves_on() {
        let london = Zone(chrono_tz::Europe::London);
        assert_eq!(london.instant(m("2026-10-25 01:30")).to_rfc3339(), "2026-10-25T00:30:00+00:00");
        assert_eq!(london.civil(london.instant(m("2027-03-28 01:30"))), m("2027-03-28 02:30"));
    }

    #[test]
    fn days_and_clocks() {
        assert_eq!(Days::parse("Mon-Fri"), Days::parse("weekdays"));
        assert!(Days::parse("Sat,Sun").unwrap().contains(Weekday::Sun));
        assert!(
            Days::parse("Fri-Mon").unwrap().contains(Weekday::Sun)
                && !Days::parse("Fri-Mon").unwrap().contains(Weekday::Tue)
        );
        assert_eq!(Days::parse("Blursday"), None);
        assert_eq!(Clock::parse("24:00"), Some(Clock { minutes: 1440 }));
        for bad in ["24:01", "8", "08:60", "8:5", "-1:00", "+8:00"] {
            assert_eq!(Clock::parse(bad), None, "{bad}");
        }
    }
}
