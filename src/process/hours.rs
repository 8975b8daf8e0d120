//! When each person is at home and when each can work, as sets of minutes on an axis.

use super::Axis;
use super::intervals::{complement, intersect, union};
use crate::kitchen::{Days, Hours, Kitchen, Person, Sleep};
use crate::schedule::Interval;
use chrono::{Datelike, TimeDelta};

/// Weekly hours laid out on the axis.
fn laid_out(hours: &[Hours], axis: &Axis) -> Vec<Interval> {
    let mut out = Vec::new();
    for date in axis.dates() {
        for h in hours {
            if !h.days.contains(date.weekday())
                || h.since.is_some_and(|s| date < s.0.date())
                || h.until.is_some_and(|u| date > u.0.date())
            {
                continue;
            }
            let over_midnight = h.to.minutes <= h.from.minutes;
            let end = if over_midnight { date + TimeDelta::days(1) } else { date };
            out.extend(axis.stretch(h.from.on(date), h.to.on(end)));
        }
    }
    union(out)
}

/// Minutes in which the person is at home and awake.
pub fn at_home(person: &Person, axis: &Axis) -> Vec<Interval> {
    let mut out = Vec::new();
    if let Some(Sleep { from, to }) = person.asleep().filter(|s| s.from != s.to) {
        let night = Hours { days: Days::EVERY, from, to, since: None, until: None, why: String::new() };
        out = laid_out(&[night], axis);
    }
    out.extend(laid_out(&person.busy, axis));
    out.extend(person.away.iter().filter_map(|a| axis.stretch(a.from.0, a.to.0)));
    let there = complement(&union(out), axis.horizon);
    match (&person.works, person.lives_here) {
        (Some(w), false) => intersect(&there, &laid_out(w, axis)),
        _ => there,
    }
}

/// Minutes in which the person can do hands-on work.
pub fn at_work(person: &Person, axis: &Axis) -> Vec<Interval> {
    let home = at_home(person, axis);
    match &person.works {
        Some(w) => intersect(&home, &laid_out(w, axis)),
        None => home,
    }
}

/// Minutes in which somebody is at home and awake.
pub fn somebody_home(kitchen: &Kitchen, axis: &Axis) -> Vec<Interval> {
    union(kitchen.people.iter().flat_map(|p| at_home(p, axis)).collect())
}

/// Minutes in which somebody can do hands-on work.
pub fn somebody_works(kitchen: &Kitchen, axis: &Axis) -> Vec<Interval> {
    union(kitchen.people.iter().flat_map(|p| at_work(p, axis)).collect())
}
