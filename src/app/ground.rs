//! The ground under the plan: the hours in which each person can work, and in which anybody can.

use chrono::NaiveTime;

use super::time::{DAY, Min, civil, minute_utc};
use crate::kitchen::Kitchen;
use crate::process::{Axis, hours};
use crate::schedule::Interval;

/// Stretches of time, in order and apart from each other.
pub type Spans = Vec<(Min, Min)>;

/// Who can work when, over the stretch that the plan can be looked at.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Ground {
    /// Hours in which somebody can work.
    pub anyone: Spans,
    /// Each person's hours, in the kitchen file's order.
    pub people: Vec<Spans>,
}

impl Ground {
    /// Worked out from the kitchen's people for the days from `from` to `to`.
    pub fn new(kitchen: &Kitchen, from: Min, to: Min) -> Self {
        let days = ((to - from).max(0) / DAY + 2).min(4000) as u32;
        let first = civil(kitchen.zone, from).date();
        let axis = Axis::new(kitchen.zone, first, days);
        let epoch = minute_utc(kitchen.zone.instant(first.and_time(NaiveTime::MIN)));
        let spans =
            |of: Vec<Interval>| of.iter().map(|i| (epoch + Min::from(i.from), epoch + Min::from(i.to))).collect();
        Self {
            anyone: spans(hours::somebody_works(kitchen, &axis)),
            people: kitchen.people.iter().map(|p| spans(hours::at_work(p, &axis))).collect(),
        }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_counts_only_what_is_inside() {
        let spans = [(0, 10), (20, 30)];
        assert_eq!(share(&spans, 5, 25), 0.5);
        assert_eq!(share(&spans, 10, 20), 0.0);
        assert_eq!(share(&spans, 3, 3), 0.0);
    }
}
