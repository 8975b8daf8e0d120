//! The ground under the plan: the hours in which each person can work, and in which anybody can.

use chrono::{Days as CivilDays, NaiveDate};

use super::time::{Min, civil, minute_utc};
use crate::kitchen::{Clock, Hours, Kitchen, Person, Zone};

/// Stretches of time, in order and apart from each other.
pub type Spans = Vec<(Min, Min)>;

/// Who can work when, over the stretch that the plan can be looked at.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Ground {
    /// Hours in which somebody can work.
    pub anyone: Spans,
    /// A person's name and hours, in the kitchen file's order.
    pub people: Vec<(String, Spans)>,
}

impl Ground {
    /// Worked out from the kitchen's people for the days from `from` to `to`.
    pub fn new(kitchen: &Kitchen, from: Min, to: Min) -> Self {
        let dates: Vec<NaiveDate> = days(kitchen.zone, from, to);
        let people: Vec<(String, Spans)> =
            kitchen.people.iter().map(|p| (p.name.clone(), working(p, &dates, kitchen.zone))).collect();
        let anyone = joined(people.iter().flat_map(|(_, s)| s.iter().copied()).collect());
        Self { anyone, people }
    }
}

/// The share of `from..to` that lies in the spans, 0 to 1.
pub fn share(spans: &[(Min, Min)], from: Min, to: Min) -> f64 {
    if to <= from {
        return 0.0;
    }
    let first = spans.partition_point(|s| s.1 <= from);
    let inside: i64 = spans[first..].iter().take_while(|s| s.0 < to).map(|s| s.1.min(to) - s.0.max(from)).sum();
    inside as f64 / (to - from) as f64
}

fn days(zone: Zone, from: Min, to: Min) -> Vec<NaiveDate> {
    let (first, last) = (civil(zone, from).date(), civil(zone, to).date());
    // A day early, for hours that run over midnight.
    let mut day = first.checked_sub_days(CivilDays::new(1)).unwrap_or(first);
    let mut out = Vec::new();
    while day <= last && out.len() < 4000 {
        out.push(day);
        let Some(next) = day.checked_add_days(CivilDays::new(1)) else { break };
        day = next;
    }
    out
}

/// At home (not asleep, out or away), and within the hours for work when those are given.
fn working(person: &Person, dates: &[NaiveDate], zone: Zone) -> Spans {
    let stretch = |date: &NaiveDate, from: Clock, to: Clock| {
        let end = if to <= from { date.checked_add_days(CivilDays::new(1)).unwrap_or(*date) } else { *date };
        (minute_utc(zone.instant(from.on(*date))), minute_utc(zone.instant(to.on(end))))
    };
    let weekly = |hours: &[Hours]| -> Spans {
        let holds = |h: &Hours, d: &NaiveDate| {
            h.days.contains(chrono::Datelike::weekday(d))
                && h.since.is_none_or(|s| *d >= s.0.date())
                && h.until.is_none_or(|u| *d <= u.0.date())
        };
        joined(
            hours.iter().flat_map(|h| dates.iter().filter(|d| holds(h, d)).map(|d| stretch(d, h.from, h.to))).collect(),
        )
    };
    let midnight = Clock::at(0, 0);
    let all: Spans = match &person.works {
        Some(hours) => weekly(hours),
        None => joined(dates.iter().map(|d| stretch(d, midnight, midnight)).collect()),
    };
    let mut not: Spans = weekly(&person.busy);
    not.extend(person.away.iter().map(|a| (minute_utc(zone.instant(a.from.0)), minute_utc(zone.instant(a.to.0)))));
    if person.sleep.from != person.sleep.to {
        not.extend(dates.iter().map(|d| stretch(d, person.sleep.from, person.sleep.to)));
    }
    without(&all, &joined(not))
}

/// The spans in order, those that touch made one.
fn joined(mut spans: Spans) -> Spans {
    spans.retain(|s| s.0 < s.1);
    spans.sort_unstable();
    let mut out: Spans = Vec::with_capacity(spans.len());
    for s in spans {
        match out.last_mut() {
            Some(last) if s.0 <= last.1 => last.1 = last.1.max(s.1),
            _ => out.push(s),
        }
    }
    out
}

/// What of `all` lies outside `not`; both joined.
fn without(all: &[(Min, Min)], not: &[(Min, Min)]) -> Spans {
    let mut out = Spans::new();
    for &(from, to) in all {
        let mut at = from;
        let first = not.partition_point(|n| n.1 <= from);
        for n in not[first..].iter().take_while(|n| n.0 < to) {
            if n.0 > at {
                out.push((at, n.0));
            }
            at = at.max(n.1);
        }
        if at < to {
            out.push((at, to));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_are_joined_and_taken_away() {
        assert_eq!(joined(vec![(5, 9), (1, 3), (3, 4), (8, 12), (7, 7)]), [(1, 4), (5, 12)]);
        assert_eq!(without(&[(0, 10), (20, 30)], &[(2, 4), (8, 22), (29, 40)]), [(0, 2), (4, 8), (22, 29)]);
        assert_eq!(without(&[(0, 10)], &[(0, 10)]), []);
    }

    #[test]
    fn a_share_counts_only_what_is_inside() {
        let spans = [(0, 10), (20, 30)];
        assert_eq!(share(&spans, 5, 25), 0.5);
        assert_eq!(share(&spans, 10, 20), 0.0);
        assert_eq!(share(&spans, 3, 3), 0.0);
    }
}
