//! When a person wants to be told: lead times by kind of task, quiet hours, how long a snooze is.

use crate::kitchen::{Clock, Zone};
use crate::plan::Kind;
use chrono::{DateTime, TimeDelta, Timelike, Utc};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A moment in a task's life at which it can be spoken of. They are taken in this order, and a later one says all that an
/// earlier one said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Lead {
    /// The evening before the day it is on.
    EveningBefore,
    HourBefore,
    AtTheMoment,
    /// It should have begun a while ago; and the last moment the plan leaves it; and each day after.
    Overdue,
}

/// Quiet hours by the clock of the place where the person is; over midnight when `to` is not later than `from`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Quiet {
    pub from: Clock,
    pub to: Clock,
}

/// What a person may set, in a file of JSON; everything has a default.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Settings {
    /// When "the evening before" is, in the kitchen's zone.
    pub evening: Clock,
    /// No nudge in these hours, but for hot food. `null` for none.
    pub quiet: Option<Quiet>,
    /// Minutes a snooze lasts; hot food waits ten at most.
    pub snooze_minutes: u32,
    /// Minutes after the planned start from which a task that has not begun is overdue; ten for hot food.
    pub overdue_minutes: u32,
    /// Kinds of task that are spoken of at other moments than usual.
    pub leads: BTreeMap<Kind, Vec<Lead>>,
    /// Only this person's tasks.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub who: Option<String>,
    /// The zone the person is in when it is not the kitchen's.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub here: Option<Zone>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            evening: Clock::at(19, 0),
            quiet: Some(Quiet { from: Clock::at(22, 30), to: Clock::at(6, 30) }),
            snooze_minutes: 30,
            overdue_minutes: 45,
            leads: BTreeMap::new(),
            who: None,
            here: None,
        }
    }
}

/// Hot meat on its way from the pot to the cold: it cannot wait for the morning.
pub const fn hot(kind: Kind) -> bool {
    matches!(kind, Kind::ScoreAndGlaze | Kind::Bake | Kind::Chill)
}

impl Settings {
    /// Reads a settings file's text; comments are welcome.
    ///
    /// # Errors
    /// A sentence with the place of the fault.
    pub fn read(text: &str) -> Result<Self, String> {
        let value = jsonc_parser::parse_to_serde_value::<serde_json::Value>(text, &Default::default())
            .map_err(|e| e.to_string())?;
        if value.is_null() {
            return Ok(Self::default());
        }
        let settings: Self = serde_path_to_error::deserialize(value).map_err(|e| e.to_string())?;
        if settings.snooze_minutes == 0 {
            return Err("snooze_minutes: a snooze of no minutes is none".to_owned());
        }
        Ok(settings)
    }

    /// The moments at which a kind of task is spoken of.
    pub fn leads(&self, kind: Kind) -> Vec<Lead> {
        if let Some(own) = self.leads.get(&kind) {
            let mut own = own.clone();
            own.sort_unstable();
            own.dedup();
            return own;
        }
        match kind {
            // What is got ready for: the pork bought, the fridge cleared, the day kept free.
            Kind::BrineMake | Kind::Submerge | Kind::Rinse | Kind::Simmer => {
                vec![Lead::EveningBefore, Lead::HourBefore, Lead::AtTheMoment, Lead::Overdue]
            }
            Kind::Firm | Kind::Slice => vec![Lead::HourBefore, Lead::AtTheMoment, Lead::Overdue],
            Kind::Rest => Vec::new(),
            _ => vec![Lead::AtTheMoment, Lead::Overdue],
        }
    }

    /// How long after its start a task is overdue.
    pub fn grace(&self, kind: Kind) -> TimeDelta {
        let minutes = if hot(kind) { self.overdue_minutes.min(10) } else { self.overdue_minutes };
        TimeDelta::minutes(i64::from(minutes))
    }

    /// How long a snooze of a task lasts.
    pub fn snooze(&self, kind: Kind) -> TimeDelta {
        let minutes = if hot(kind) { self.snooze_minutes.min(10) } else { self.snooze_minutes };
        TimeDelta::minutes(i64::from(minutes))
    }

    /// The quiet stretch around a moment.
    pub fn quiet_around(&self, at: DateTime<Utc>, zone: Zone) -> Option<(DateTime<Utc>, DateTime<Utc>)> {
        let q = self.quiet.filter(|q| q.from != q.to)?;
        let zone = self.here.unwrap_or(zone);
        let civil = zone.civil(at);
        let minute = (civil.hour() * 60 + civil.minute()) as u16;
        let (today, over) = (civil.date(), q.to.minutes <= q.from.minutes);
        let day = TimeDelta::days(1);
        let (from, to) = match (over, minute >= q.from.minutes, minute < q.to.minutes) {
            (false, true, true) => (q.from.on(today), q.to.on(today)),
            (true, true, _) => (q.from.on(today), q.to.on(today + day)),
            (true, _, true) => (q.from.on(today - day), q.to.on(today)),
            _ => return None,
        };
        let (from, to) = (zone.instant(from), zone.instant(to));
        // In an hour that a clock change repeats or skips the two may lie on one side of the moment.
        (from <= at && at < to).then_some((from, to))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_settings_file_is_read_and_faults_are_named() {
        assert_eq!(Settings::read("").unwrap(), Settings::default());
        assert_eq!(Settings::read("{}").unwrap(), Settings::default());
        let s = Settings::read(
            r#"{ // mine
            "evening": "20:15", "quiet": null, "leads": { "turn": ["overdue", "hour-before"] }, "who": "Bram" }"#,
        )
        .unwrap();
        assert_eq!((s.evening, s.quiet, s.who.as_deref()), (Clock::at(20, 15), None, Some("Bram")));
        assert_eq!(s.leads(Kind::Turn), [Lead::HourBefore, Lead::Overdue]);
        for (bad, word) in [
            ("{\"evening\": \"8pm\"}", "evening"),
            ("{\"leeds\": {}}", "leeds"),
            ("{\"leads\": {\"turn\": [\"sometime\"]}}", "sometime"),
            ("{\"snooze_minutes\": 0}", "snooze_minutes"),
            ("{", "line 1"),
        ] {
            let e = Settings::read(bad).unwrap_err();
            assert!(e.contains(word), "{bad}: {e}");
        }
    }

    #[test]
    fn quiet_hours_span_midnight_and_clock_changes() {
        let s = Settings::default();
        let london = Zone(chrono_tz::Europe::London);
        let at = |t: &str| t.parse::<DateTime<Utc>>().unwrap();
        assert_eq!(s.quiet_around(at("2026-12-16T22:29:59Z"), london), None);
        let night = Some((at("2026-12-16T22:30:00Z"), at("2026-12-17T06:30:00Z")));
        assert_eq!(s.quiet_around(at("2026-12-16T22:30:00Z"), london), night);
        assert_eq!(s.quiet_around(at("2026-12-17T06:29:59Z"), london), night);
        assert_eq!(s.quiet_around(at("2026-12-17T06:30:00Z"), london), None);
        // The night of a clock change is an hour shorter (IANA: Europe/London, 28 March 2027, 01:00).
        let (from, to) = s.quiet_around(at("2027-03-28T02:00:00Z"), london).unwrap();
        assert_eq!((to - from).num_minutes(), 7 * 60);
        // By the clock of where the person is.
        let away = Settings { here: Some(Zone(chrono_tz::Pacific::Auckland)), ..s };
        assert!(away.quiet_around(at("2026-12-16T12:00:00Z"), london).is_some());
        assert!(away.quiet_around(at("2026-12-16T23:00:00Z"), london).is_none());
    }
}
