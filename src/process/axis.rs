//! The bridge between civil time and the solver's whole minutes.

use crate::kitchen::{Moment, Zone};
use crate::schedule::{Interval, Minute};
use chrono::{DateTime, FixedOffset, NaiveDate, NaiveDateTime, TimeDelta, Utc};

/// Minutes counted from an epoch in UTC, read and written in the kitchen's zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Axis {
    /// Minute 0: a civil midnight of the kitchen.
    pub epoch: DateTime<Utc>,
    /// The kitchen's zone.
    pub zone: Zone,
    /// Minutes from the epoch to the end of what is planned.
    pub horizon: Minute,
}

impl Axis {
    /// An axis whose epoch is the civil midnight that begins `first`, `days` long.
    pub fn new(zone: Zone, first: NaiveDate, days: u32) -> Self {
        let epoch = zone.instant(first.and_time(chrono::NaiveTime::MIN));
        Self { epoch, zone, horizon: (days.min(4000) * 1440) as Minute }
    }

    /// Minute of an instant, rounded down; far-off instants stop at the ends of `i32`'s safe half.
    pub fn minute(&self, instant: DateTime<Utc>) -> Minute {
        let m = (instant - self.epoch).num_seconds().div_euclid(60);
        m.clamp(-1_000_000_000, 1_000_000_000) as Minute
    }

    /// Minute of a civil time in the kitchen's zone.
    pub fn of_civil(&self, civil: NaiveDateTime) -> Minute {
        self.minute(self.zone.instant(civil))
    }

    /// Minute of a moment as it stands in the kitchen file.
    pub fn of(&self, moment: Moment) -> Minute {
        self.of_civil(moment.0)
    }

    /// The instant at which a minute begins.
    pub fn instant(&self, minute: Minute) -> DateTime<Utc> {
        self.epoch + TimeDelta::minutes(i64::from(minute))
    }

    /// The moment with the kitchen's own offset.
    pub fn when(&self, minute: Minute) -> DateTime<FixedOffset> {
        self.instant(minute).with_timezone(&self.zone.0).fixed_offset()
    }

    /// The civil time at which a minute begins.
    pub fn civil(&self, minute: Minute) -> NaiveDateTime {
        self.zone.civil(self.instant(minute))
    }

    /// The civil dates the axis covers, with the day before the first (a night may run into it).
    pub fn dates(&self) -> impl Iterator<Item = NaiveDate> + use<> {
        let first = self.civil(0).date() - TimeDelta::days(1);
        let last = self.civil(self.horizon).date();
        first.iter_days().take_while(move |d| *d <= last)
    }

    /// The stretch between two civil moments, cut to the axis; `None` when nothing is left.
    pub fn stretch(&self, from: NaiveDateTime, to: NaiveDateTime) -> Option<Interval> {
        let i = Interval { from: self.of_civil(from).max(0), to: self.of_civil(to).min(self.horizon) };
        (i.from < i.to).then_some(i)
    }
}
