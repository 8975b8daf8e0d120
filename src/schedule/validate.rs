//! Refuses problems the solver could not reckon with: indices out of range, numbers too large, calendars out of order.

use super::{FURTHEST, Interval, Point, Problem, ResourceId, Term};
use std::fmt;

/// Largest amount and capacity accepted: two of them still add up inside `i32`.
pub const LARGEST_AMOUNT: i32 = 1_000_000_000;

/// What is wrong with a problem, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProblemError {
    /// The part of the problem, such as `lags[3]`.
    pub at: String,
    pub says: String,
}

impl fmt::Display for ProblemError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.at, self.says)
    }
}

impl std::error::Error for ProblemError {}

struct Judge<'a> {
    problem: &'a Problem,
    errors: Vec<ProblemError>,
}

impl Judge<'_> {
    fn error(&mut self, at: impl fmt::Display, says: impl fmt::Display) {
        self.errors.push(ProblemError { at: at.to_string(), says: says.to_string() });
    }

    fn index(&mut self, at: impl fmt::Display, what: &str, index: usize, length: usize) -> bool {
        if index >= length {
            self.error(at, format_args!("{what} {index} does not exist (there are {length})"));
        }
        index < length
    }

    fn reason(&mut self, at: impl fmt::Display, reason: super::ReasonId) {
        let n = self.problem.reasons.len();
        self.index(at, "reason", reason.index(), n);
    }

    /// A time or length in `[least, FURTHEST]`.
    fn time(&mut self, at: impl fmt::Display, what: &str, value: i32, least: i32) {
        if !(least..=FURTHEST).contains(&value) {
            self.error(at, format_args!("{what} is {value} minutes; expected {least} to {FURTHEST}"));
        }
    }

    fn point(&mut self, at: impl fmt::Display + Copy, point: Point) {
        self.index(at, "activity", point.activity.index(), self.problem.activities.len());
        self.time(at, "offset", point.offset, -FURTHEST);
    }

    fn calendar(&mut self, at: impl fmt::Display, calendar: super::CalendarId) {
        let n = self.problem.calendars.len();
        self.index(at, "calendar", calendar.index(), n);
    }

    fn activities(&mut self) {
        for (i, a) in self.problem.activities.iter().enumerate() {
            let at = format!("activities[{i}] ({})", a.label);
            self.reason(&at, a.reason);
            self.time(&at, "duration", a.duration, 0);
            self.time(&at, "release", a.release, 0);
            self.time(&at, "latest", a.latest, 0);
            if let Some(p) = a.pinned {
                self.time(&at, "pinned", p, 0);
            }
        }
    }

    fn holds(&mut self) {
        let p = self.problem;
        if p.families.len() != p.holds.len() {
            let says = format!("{} families for {} holds", p.families.len(), p.holds.len());
            self.error("families", says);
        }
        let mut lengths = std::collections::HashMap::new();
        for (i, h) in p.holds.iter().enumerate() {
            let at = format!("holds[{i}]");
            self.reason(&at, h.reason);
            self.point(&at, h.from);
            h.to.iter().for_each(|&t| self.point(&at, t));
            if h.to.is_empty() {
                self.error(&at, "it never ends (`to` is empty)");
            }
            if h.choose.is_empty() {
                self.error(&at, "it has nothing to choose from (`choose` is empty)");
            }
            h.choose.iter().for_each(|r: &ResourceId| {
                self.index(&at, "resource", r.index(), p.resources.len());
            });
            if !(0..=LARGEST_AMOUNT).contains(&h.amount) {
                self.error(&at, format_args!("amount is {}; expected 0 to {LARGEST_AMOUNT}", h.amount));
            }
            if let Some(same) = h.same {
                let first = *lengths.entry(same).or_insert(h.choose.len());
                if first != h.choose.len() {
                    self.error(&at, format_args!("holds with same = {same} must have choice lists of one length"));
                }
            }
        }
    }

    fn resources(&mut self) {
        for (i, r) in self.problem.resources.iter().enumerate() {
            let at = format!("resources[{i}] ({})", r.label);
            self.reason(&at, r.reason);
            if let Some(c) = r.calendar {
                self.calendar(&at, c);
            }
            if !(0..=LARGEST_AMOUNT).contains(&r.capacity) {
                self.error(&at, format_args!("capacity is {}; expected 0 to {LARGEST_AMOUNT}", r.capacity));
            }
            if !r.changeover.is_empty() && r.capacity != 1 {
                self.error(&at, "changeovers need a resource of capacity 1");
            }
            r.changeover.iter().for_each(|&(_, _, m)| self.time(&at, "changeover", m, 0));
        }
    }

    fn calendars(&mut self) {
        for (i, c) in self.problem.calendars.iter().enumerate() {
            let at = format!("calendars[{i}] ({})", c.label);
            for (k, &Interval { from, to }) in c.open.iter().enumerate() {
                if from >= to || from < -FURTHEST || to > FURTHEST.saturating_mul(4) {
                    self.error(&at, format_args!("interval {k} runs from {from} to {to}"));
                } else if k > 0 && c.open[k - 1].to >= from {
                    self.error(&at, format_args!("interval {k} does not come after the one before it with a gap"));
                }
            }
        }
    }

    fn levels(&mut self) {
        for (i, level) in self.problem.levels.iter().enumerate() {
            // No point is further out than start + offset, and no stretch longer than the difference of two.
            let mut worst: i128 = 0;
            for (k, term) in level.terms.iter().enumerate() {
                let at = format!("levels[{i}].terms[{k}] ({})", level.label);
                let weight = self.term(&at, term);
                if weight < 0 {
                    self.error(&at, format_args!("weight is {weight}; expected 0 or more"));
                }
                let size = match term {
                    Term::Spells { activities, .. } => activities.len() as i128,
                    Term::Moved { .. } => 1,
                    _ => 6 * i128::from(FURTHEST),
                };
                worst += i128::from(weight.max(0)) * size;
            }
            if worst > i128::from(i64::MAX / 4) {
                self.error(format_args!("levels[{i}]"), "weights are so large that the sum could overflow");
            }
        }
    }

    fn term(&mut self, at: &str, term: &Term) -> i64 {
        let n = self.problem.activities.len();
        match term {
            &Term::Late { point, due, weight } => {
                self.point(at, point);
                self.time(at, "due", due, -FURTHEST);
                weight
            }
            &Term::ShortOfSpare { point, due, want, weight } => {
                self.point(at, point);
                self.time(at, "due", due, -FURTHEST);
                self.time(at, "want", want, -FURTHEST);
                weight
            }
            &Term::Over { from, to, good, weight } | &Term::Under { from, to, good, weight } => {
                self.point(at, from);
                self.point(at, to);
                self.time(at, "good", good, -FURTHEST);
                weight
            }
            &Term::Moved { activity, promised, weight } => {
                self.index(at, "activity", activity.index(), n);
                self.time(at, "promised", promised, -FURTHEST);
                weight
            }
            Term::Spells { calendar, activities, weight } => {
                self.calendar(at, *calendar);
                for a in activities {
                    self.index(at, "activity", a.index(), n);
                }
                *weight
            }
            &Term::Inside { calendar, from, to, weight } => {
                self.calendar(at, calendar);
                self.point(at, from);
                self.point(at, to);
                weight
            }
            &Term::Length { from, to, weight } => {
                self.point(at, from);
                self.point(at, to);
                weight
            }
            &Term::At { point, weight } => {
                self.point(at, point);
                weight
            }
        }
    }
}

impl Problem {
    /// Everything wrong with the problem's form, as many errors at once as there are. A valid problem may still have no
    /// solution; an invalid one is never searched.
    ///
    /// # Errors
    /// A list, never empty, of what is out of range and where.
    pub fn validate(&self) -> Result<(), Vec<ProblemError>> {
        let mut j = Judge { problem: self, errors: Vec::new() };
        j.time("horizon", "the horizon", self.horizon, 0);
        j.activities();
        for (i, lag) in self.lags.iter().enumerate() {
            let at = format!("lags[{i}]");
            j.index(&at, "activity", lag.from.index(), self.activities.len());
            j.index(&at, "activity", lag.to.index(), self.activities.len());
            j.time(&at, "least", lag.least, -FURTHEST);
            j.reason(&at, lag.reason);
        }
        j.holds();
        for (i, w) in self.within.iter().enumerate() {
            let at = format!("within[{i}]");
            j.calendar(&at, w.calendar);
            j.point(&at, w.from);
            j.point(&at, w.to);
            j.reason(&at, w.reason);
        }
        j.resources();
        j.calendars();
        j.levels();
        if j.errors.is_empty() { Ok(()) } else { Err(j.errors) }
    }
}
