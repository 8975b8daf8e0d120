//! The time axis: which moment a column shows, and where the labels go.
//!
//! Columns are equal stretches of real time; labels are read off the kitchen's wall clock column by column, so both
//! stay true where the clock changes.

use chrono::Datelike;

use super::time::{DAY, HOUR, Min, civil, civil_minutes, clock_words, date_words, instant};
use crate::kitchen::Zone;

/// Minutes a column, from quarter hours to months.
pub const ZOOMS: [i64; 13] = [15, 30, 60, 120, 180, 240, 360, 480, 720, 1440, 2880, 4320, 10_080];

/// The stretch of time in view.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Axis {
    /// The moment at the left edge.
    pub left: Min,
    /// Minutes a column; one of [`ZOOMS`].
    pub per_col: i64,
    pub cols: u16,
}

/// A label and the column it starts in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    pub col: u16,
    pub text: String,
}

impl Axis {
    /// The moment at the left edge of a column.
    pub fn time(&self, col: i64) -> Min {
        self.left.saturating_add(col.saturating_mul(self.per_col))
    }

    /// The column a moment lies in; negative to the left of view, `cols` or more to the right.
    pub fn col(&self, at: Min) -> i64 {
        at.saturating_sub(self.left).div_euclid(self.per_col)
    }

    /// The column a moment lies in, when it is in view.
    pub fn visible(&self, at: Min) -> Option<u16> {
        u16::try_from(self.col(at)).ok().filter(|c| *c < self.cols)
    }

    /// The moment just past the right edge.
    pub fn right(&self) -> Min {
        self.time(i64::from(self.cols))
    }

    /// The columns that a stretch of time touches, cut to the view: first and one past the last.
    pub fn touched(&self, from: Min, to: Min) -> Option<(u16, u16)> {
        let first = self.col(from).max(0);
        let last = self.col(to.max(from.saturating_add(1)) - 1).min(i64::from(self.cols) - 1);
        (first <= last).then(|| (first as u16, last as u16 + 1))
    }

    /// The same zoom with its left edge on a round civil time at or before `left`.
    pub fn moved(self, left: Min, zone: Zone) -> Self {
        let step = self.per_col.min(DAY);
        Self { left: left - civil_minutes(zone, left).rem_euclid(step), ..self }
    }

    /// Zoomed by `steps` (in is negative) with the moment `about` staying where it is.
    pub fn zoomed(self, steps: i32, about: Min, zone: Zone) -> Self {
        let here = ZOOMS.iter().position(|z| *z >= self.per_col).unwrap_or(ZOOMS.len() - 1);
        let next = here.saturating_add_signed(steps as isize).min(ZOOMS.len() - 1);
        let col = self.col(about).clamp(0, i64::from(self.cols));
        let per_col = ZOOMS[next];
        Self { per_col, ..self }.moved(about - col * per_col, zone)
    }

    /// The closest zoom that shows the whole stretch, a little air on both sides.
    pub fn fitted(from: Min, to: Min, cols: u16, zone: Zone) -> Self {
        let wanted = (to - from).max(1);
        let per_col = ZOOMS
            .into_iter()
            .find(|z| z * (i64::from(cols) - 2).max(1) >= wanted + z.min(&DAY))
            .unwrap_or(ZOOMS[ZOOMS.len() - 1]);
        let air = (per_col * i64::from(cols) - wanted) / 2;
        Self { left: from, per_col, cols }.moved(from - air.clamp(0, per_col * 2), zone)
    }

    /// Labels of the lower axis line: the finest round civil times that have room.
    pub fn fine_labels(&self, zone: Zone) -> Vec<Label> {
        let step = self.step();
        let words = |at: Min| {
            let t = civil(zone, at);
            match step {
                Step::Minutes(_) => clock_words(t),
                Step::Days(7) => t.format("Mon %-d").to_string(),
                Step::Days(_) => t.format("%a %-d").to_string(),
                Step::Months(_) => t.format("%b").to_string(),
            }
        };
        self.marks(step, zone).into_iter().map(|(col, at)| Label { col, text: words(at) }).collect()
    }

    /// Labels of the upper axis line: the day, month or year that the lower line counts within. The first is named at
    /// the left edge whatever it started on.
    pub fn coarse_labels(&self, zone: Zone) -> Vec<Label> {
        let step = match self.step() {
            Step::Minutes(_) => Step::Days(1),
            Step::Days(_) => Step::Months(1),
            Step::Months(_) => Step::Months(12),
        };
        let words = |at: Min| {
            let date = civil(zone, at).date();
            match step {
                Step::Days(_) | Step::Minutes(_) => date_words(date),
                Step::Months(1) => date.format("%B %Y").to_string(),
                Step::Months(_) => date.format("%Y").to_string(),
            }
        };
        let mut labels: Vec<Label> =
            self.marks(step, zone).into_iter().map(|(col, at)| Label { col, text: words(at) }).collect();
        let edge = words(self.left);
        if labels.first().is_none_or(|l| usize::from(l.col) > edge.chars().count() + 1) {
            labels.insert(0, Label { col: 0, text: edge });
        }
        labels
    }

    /// The round step of civil time that leaves its labels room.
    fn step(&self) -> Step {
        const STEPS: [(Step, i64, i64); 14] = [
            (Step::Minutes(15), 15, 5),
            (Step::Minutes(30), 30, 5),
            (Step::Minutes(60), 60, 5),
            (Step::Minutes(120), 120, 5),
            (Step::Minutes(180), 180, 5),
            (Step::Minutes(360), 360, 5),
            (Step::Minutes(720), 720, 5),
            (Step::Days(1), DAY, 6),
            (Step::Days(2), 2 * DAY, 6),
            (Step::Days(7), 7 * DAY, 6),
            (Step::Days(14), 14 * DAY, 6),
            (Step::Months(1), 28 * DAY, 3),
            (Step::Months(3), 89 * DAY, 3),
            (Step::Months(12), 365 * DAY, 3),
        ];
        STEPS
            .into_iter()
            .find(|(_, length, width)| length / self.per_col >= width + 2)
            .map_or(Step::Months(12), |(step, ..)| step)
    }

    /// The columns in which a round civil time falls, each with that moment.
    fn marks(&self, step: Step, zone: Zone) -> Vec<(u16, Min)> {
        let mut out = Vec::new();
        let mut last_month = None;
        for col in 0..self.cols {
            let at = self.time(i64::from(col));
            let local = civil_minutes(zone, at);
            // How far past this column's start the next round civil time lies.
            let ahead = match step {
                Step::Minutes(n) => (-local).rem_euclid(n),
                // Civil day 4 since 1970 was a Monday.
                Step::Days(n) => (4 * DAY - local).rem_euclid(n * DAY),
                Step::Months(n) => {
                    let end = instant(at.saturating_add(self.per_col - 1));
                    let date = zone.civil(end).date();
                    let month = i64::from(date.year()) * 12 + i64::from(date.month0());
                    let first = last_month.is_none_or(|m| m != month)
                        && month.rem_euclid(n) == 0
                        && i64::from(date.day0()) * DAY < self.per_col + HOUR;
                    last_month = Some(month);
                    if first { self.per_col - 1 } else { self.per_col }
                }
            };
            if ahead < self.per_col {
                out.push((col, at.saturating_add(ahead)));
            }
        }
        out
    }
}

/// A round step of civil time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Step {
    Minutes(i64),
    /// Whole days, counted from a Monday.
    Days(i64),
    Months(i64),
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::time::minute;
    use chrono::DateTime;

    const LONDON: Zone = Zone(chrono_tz::Europe::London);

    fn at(text: &str) -> Min {
        minute(DateTime::parse_from_rfc3339(text).unwrap())
    }

    fn texts(labels: &[Label]) -> Vec<&str> {
        labels.iter().map(|l| l.text.as_str()).collect()
    }

    // Europe/London went back at 2026-10-25 01:00 UTC and goes forward at 2027-03-28 01:00 UTC (IANA database).
    #[test]
    fn hours_are_labelled_as_the_wall_clock_shows_them() {
        let forward = Axis { left: at("2027-03-27T23:00:00Z"), per_col: 15, cols: 32 };
        assert_eq!(texts(&forward.fine_labels(LONDON)), ["00:00", "02:00", "04:00", "06:00"]);
        assert_eq!(forward.fine_labels(LONDON)[1].col, 8, "02:00 summer time is two real hours after 23:00");
        let back = Axis { left: at("2026-10-24T23:00:00Z"), per_col: 15, cols: 32 };
        assert_eq!(texts(&back.coarse_labels(LONDON)), ["Sun 25 Oct"]);
        assert_eq!(texts(&back.fine_labels(LONDON)), ["00:00", "02:00", "04:00", "06:00"]);
        assert_eq!(back.fine_labels(LONDON)[1].col, 12, "the repeated hour takes up its own four columns");
    }

    #[test]
    fn a_moment_keeps_its_column_through_a_zoom() {
        let axis = Axis { left: at("2026-12-01T00:00:00Z"), per_col: 360, cols: 100 };
        let about = at("2026-12-10T09:07:00Z");
        for steps in [-5, -2, -1, 0, 1, 3] {
            let zoomed = axis.zoomed(steps, about, LONDON);
            assert!((zoomed.col(about) - axis.col(about)).abs() <= 1, "{steps}: {zoomed:?}");
        }
        assert_eq!(axis.zoomed(99, about, LONDON).per_col, 10_080);
        assert_eq!(axis.zoomed(-99, about, LONDON).per_col, 15);
    }

    #[test]
    fn a_fit_shows_both_ends() {
        for cols in [45, 46, 66, 104, 180] {
            for days in [1, 3, 20, 33, 90, 300] {
                let (from, to) = (at("2026-12-04T19:00:00Z"), at("2026-12-04T19:00:00Z") + days * DAY);
                let axis = Axis::fitted(from, to, cols, LONDON);
                assert!(axis.visible(from).is_some() && axis.visible(to).is_some(), "{cols} {days} {axis:?}");
            }
        }
    }

    #[test]
    fn months_and_years_are_named_once_each() {
        let axis = Axis { left: at("2026-10-20T00:00:00+01:00"), per_col: 2880, cols: 60 };
        assert_eq!(texts(&axis.coarse_labels(LONDON)), ["2026", "2027"]);
        assert_eq!(texts(&axis.fine_labels(LONDON)), ["Nov", "Dec", "Jan", "Feb"]);
        let closer = Axis { per_col: 720, ..axis };
        assert_eq!(texts(&closer.coarse_labels(LONDON)), ["October 2026", "November 2026"]);
        assert_eq!(texts(&closer.fine_labels(LONDON)), ["Mon 26", "Mon 2", "Mon 9", "Mon 16"]);
    }
}
