//! Core readings held against the limits on record. The limits (70 °C at the core; 5 °C within 12½ h for a cured ham, 10 h
//! without nitrite; 90 min to the chill) are the house's: common practice, no source.

use super::support::{file, planned};
use chrono::{DateTime, TimeDelta, Utc};
use turnday::kitchen::Kitchen;
use turnday::plan::cores::CoreReading;
use turnday::plan::{History, Kind, Plan};

struct Day {
    kitchen: Kitchen,
    plan: Plan,
    joint: String,
    pot_on: DateTime<Utc>,
    chill: DateTime<Utc>,
}

/// A ham's cook day that went as planned.
fn day() -> Day {
    let kitchen = file("tests/kitchen/good/small.json");
    let plan = planned(&kitchen, 1500).unwrap();
    let simmer = plan.tasks.iter().find(|t| t.kind == Kind::Simmer).unwrap();
    let joint = simmer.joints[0].clone();
    let chill = plan.tasks.iter().find(|t| t.kind == Kind::Chill && t.joints.contains(&joint)).unwrap();
    let (pot_on, chill) = (simmer.start.to_utc(), chill.start.to_utc());
    Day { kitchen, plan, joint, pot_on, chill }
}

impl Day {
    /// What is told of it after so many hours in the chill, with readings so many hours after pot-on or chill.
    fn told(&self, hours: i64, pot: &[(i64, f64)], chill: &[(i64, f64)]) -> Vec<String> {
        let mut history = History::as_planned(&self.plan, self.chill + TimeDelta::hours(hours));
        let read = |from: DateTime<Utc>, (h, celsius): (i64, f64)| CoreReading {
            joint: self.joint.clone(),
            at: from + TimeDelta::minutes(h),
            celsius,
        };
        history.readings = pot.iter().map(|r| read(self.pot_on, *r)).collect();
        history.readings.extend(chill.iter().map(|r| read(self.chill, *r)));
        history.outside(&self.kitchen, &self.plan.tasks).into_iter().map(|d| d.says).collect()
    }
}

#[test]
fn a_ham_that_never_came_to_heat_is_told() {
    let day = day();
    assert!(day.told(1, &[], &[]).is_empty(), "nothing was read: that is no finding");
    let cold = day.told(1, &[(60, 41.0), (90, 62.0)], &[]);
    assert!(cold.len() == 1 && cold[0].contains("70 °C") && cold[0].contains("62.0 °C"), "{cold:?}");
    assert!(cold[0].contains("throw it out") && !cold[0].contains("safe"), "{cold:?}");
    assert!(day.told(1, &[(90, 62.0), (100, 70.0)], &[]).is_empty(), "read again, hot enough");
    // Another joint's probe says nothing of it.
    let mut history = History::as_planned(&day.plan, day.chill);
    history.readings = vec![CoreReading { joint: "nobody".into(), at: day.pot_on, celsius: 20.0 }];
    assert!(history.outside(&day.kitchen, &day.plan.tasks).is_empty());
}

#[test]
fn a_ham_not_cold_in_its_time_is_told() {
    let day = day();
    let limit = 750;
    assert!(day.told(4, &[(90, 75.0)], &[(120, 40.0)]).is_empty(), "there is time left");
    assert!(day.told(20, &[(90, 75.0)], &[(120, 40.0), (limit, 5.0)]).is_empty(), "cold at the limit");
    let late = day.told(20, &[(90, 75.0)], &[(limit + 60, 9.0)]);
    assert!(late.len() == 1 && late[0].contains("12½ h") && late[0].contains("60 min past it"), "{late:?}");
    // Cold an hour too late is still too late once it was read warm past the limit; ticked off warm, whenever.
    assert_eq!(day.told(20, &[(90, 75.0)], &[(300, 9.0)]).len(), 1, "the chill is ticked off, and 9 °C the last word");
    let mut uncured = day.kitchen.clone();
    uncured.cure.curing_salt = None;
    let day = Day { kitchen: uncured, ..day };
    assert_eq!(day.told(20, &[(90, 75.0)], &[(601, 9.0), (limit, 5.0)]).len(), 1, "10 h without nitrite");
}

#[test]
fn a_replan_tells_it_among_its_limits() {
    let day = day();
    let mut history = History::as_planned(&day.plan, day.chill + TimeDelta::hours(1));
    let at = day.pot_on + TimeDelta::minutes(90);
    history.readings = vec![CoreReading { joint: day.joint.clone(), at, celsius: 62.0 }];
    let r = super::replans::again(&day.kitchen, &day.plan, &history);
    let d = r.deviations.iter().find(|d| d.says.contains("62.0 °C")).expect("told");
    assert!(d.decide && d.force == "safety");
}

/// Nobody cooled it, so it is not cold: leaving the cooling out does not let meat into warm brine.
#[test]
fn cooling_the_brine_cannot_be_skipped() {
    use turnday::plan::history::State;
    let day = day();
    let cool = day.plan.tasks.iter().find(|t| t.kind == Kind::Cool).unwrap();
    let mut history = History::as_planned(&day.plan, cool.start.to_utc() + TimeDelta::minutes(5));
    super::replans::fact(&mut history, &cool.id, cool.start.to_utc(), None, State::Skipped);
    let r = super::replans::again(&day.kitchen, &day.plan, &history);
    assert!(r.open_ends.iter().any(|o| o.contains(&cool.id) && o.contains("cannot")), "{:?}", r.open_ends);
    let cool = r.plan.tasks.iter().find(|t| t.id == cool.id).unwrap();
    assert!(cool.end - cool.start >= TimeDelta::minutes(30), "{} to {}", cool.start, cool.end);
}
