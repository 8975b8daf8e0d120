//! On which day to collect pork whose arrival the kitchen leaves open, and until when that can wait.

use super::Plan;
use super::strike::{FIRST_LOOK, Striker, Timed};
use crate::process::durations;
use crate::schedule::Minute;

impl Striker<'_> {
    /// Collection day to begin with: as late as the tightest ready-by seems to allow with the wanted spare time.
    pub(super) fn first_guess(&self) -> Minute {
        let k = self.kitchen();
        let spare = (k.batch.spare_hours * 60.0) as Minute;
        let latest = k
            .joints
            .iter()
            .filter(|j| j.arrives.is_none())
            .filter_map(|j| {
                let by = self.axis.of(j.ready_by?);
                let after = if j.outcome.is_ham() { 3 * 1440 } else { 1440 };
                Some(by - spare - durations::cure(j, &k.cure) - k.cure.rest.whole_minutes_up() - after)
            })
            .min();
        latest.map_or(self.starts, |l| self.day_of(l)).max(self.starts)
    }

    /// The civil midnight that begins the day of a minute.
    fn day_of(&self, minute: Minute) -> Minute {
        self.axis.of_civil(self.axis.civil(minute).date().and_time(chrono::NaiveTime::MIN))
    }

    /// Tries the days around the first guess for collecting the pork.
    pub(super) fn choose_day(&self, found: &mut Vec<Timed>, news: &mut dyn FnMut(&Plan)) {
        let (arrangement, guess) = (found[0].arrangement.clone(), found[0].collect);
        for days in [1, -1, 2, -2, 3, -3, -4, -5, -6, -7, 4, -8, -9, -10, -12, -14, -17, -21] {
            let day = self.day_of(guess + days * 1440 + 120);
            if day < self.starts || (self.stopped() && days.abs() > 1) {
                continue;
            }
            if let Ok(t) = self.look(&arrangement, day, FIRST_LOOK) {
                self.keep(found, t, news);
            }
        }
    }

    /// The last minute at which the pork may be collected with no more lateness than the plan has.
    pub(super) fn last_day(&self, best: &Timed) -> Option<Minute> {
        let late = best.answer.cost.first().copied().unwrap_or(0);
        let holds = |collect: Minute| {
            self.look(&best.arrangement, collect, 1).is_ok_and(|t| t.answer.cost.first().is_some_and(|c| *c <= late))
        };
        let (mut good, mut bad) = (best.collect, best.collect + 60 * 1440);
        if holds(bad) {
            return None;
        }
        while bad - good > 1 {
            let middle = good + (bad - good) / 2;
            if holds(middle) { good = middle } else { bad = middle }
        }
        Some(good)
    }
}
