//! The second judge: plain, slow, sharing no code with the search. Nothing reaches a person unless it passes here.
//!
//! What a rule means is defined by this file: a stretch that ends at or before its start holds nothing and needs no
//! calendar; a pinned activity starts at its pin, whatever its release and latest start say; between two holds of one
//! resource with changeovers, the changeover of the two families is kept free, whichever others lie between.

use super::{ActivityId, Interval, Minute, Point, Problem, ReasonId, Solution, Term};
use std::collections::{BTreeMap, BTreeSet};

/// A rule the solution breaks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Violation {
    /// `None` for rules without a reason of their own (the horizon, the form of the solution).
    pub reason: Option<ReasonId>,
    /// What is broken and by how much, in the problem's own labels; times are minutes from the epoch.
    pub says: String,
    pub activities: Vec<ActivityId>,
    /// When it shows first.
    pub at: Minute,
}

/// A hold with its times worked out.
struct Held {
    hold: usize,
    resource: usize,
    from: i64,
    to: i64,
}

fn time_of(solution: &Solution, p: Point) -> i64 {
    i64::from(solution.starts[p.activity.0 as usize]) + i64::from(p.offset)
}

fn clamp(at: i64) -> Minute {
    Minute::try_from(at).unwrap_or(Minute::MAX)
}

/// Every rule of a valid problem that the solution breaks; empty when it can be carried out.
pub fn check(problem: &Problem, solution: &Solution) -> Vec<Violation> {
    let mut found = Vec::new();
    let n = problem.activities.len();
    if solution.starts.len() != n || solution.chosen.len() != problem.holds.len() {
        let says = format!(
            "the solution has {} starts for {n} activities and {} choices for {} holds",
            solution.starts.len(),
            solution.chosen.len(),
            problem.holds.len()
        );
        return vec![Violation { reason: None, says, activities: Vec::new(), at: 0 }];
    }
    starts(problem, solution, &mut found);
    lags(problem, solution, &mut found);
    within(problem, solution, &mut found);
    let held = choices(problem, solution, &mut found);
    for resource in 0..problem.resources.len() {
        let here: Vec<&Held> = held.iter().filter(|h| h.resource == resource).collect();
        amounts(problem, resource, &here, &mut found);
        changeovers(problem, resource, &here, &mut found);
    }
    found
}

fn starts(problem: &Problem, solution: &Solution, found: &mut Vec<Violation>) {
    for (i, a) in problem.activities.iter().enumerate() {
        let s = solution.starts[i];
        let mut broken = |reason, says: String| {
            found.push(Violation { reason, says, activities: vec![ActivityId(i as u32)], at: s });
        };
        if let Some(pin) = a.pinned {
            if s != pin {
                broken(Some(a.reason), format!("{} is pinned to {pin} but starts at {s}", a.label));
            }
        } else {
            if s < a.release {
                broken(Some(a.reason), format!("{} starts at {s}, before {}", a.label, a.release));
            }
            if s > a.latest {
                broken(Some(a.reason), format!("{} starts at {s}, after {}", a.label, a.latest));
            }
        }
        if i64::from(s) + i64::from(a.duration) > i64::from(problem.horizon) {
            broken(None, format!("{} ends after the horizon", a.label));
        }
    }
}

fn lags(problem: &Problem, solution: &Solution, found: &mut Vec<Violation>) {
    for lag in &problem.lags {
        let (a, b) = (solution.starts[lag.from.0 as usize], solution.starts[lag.to.0 as usize]);
        let gap = i64::from(b) - i64::from(a);
        if gap < i64::from(lag.least) {
            let name = |x: ActivityId| &problem.activities[x.0 as usize].label;
            let says = format!(
                "{} must start at least {} minutes after {}, but does so after {gap}",
                name(lag.to),
                lag.least,
                name(lag.from)
            );
            found.push(Violation { reason: Some(lag.reason), says, activities: vec![lag.from, lag.to], at: a.min(b) });
        }
    }
}

/// Does one interval hold the whole stretch?
fn inside_one(open: &[Interval], from: i64, to: i64) -> bool {
    open.iter().any(|o| i64::from(o.from) <= from && to <= i64::from(o.to))
}

fn within(problem: &Problem, solution: &Solution, found: &mut Vec<Violation>) {
    for w in &problem.within {
        let (from, to) = (time_of(solution, w.from), time_of(solution, w.to));
        let calendar = &problem.calendars[w.calendar.0 as usize];
        if from < to && !inside_one(&calendar.open, from, to) {
            let says = format!("{from} to {to} does not lie inside one stretch of {}", calendar.label);
            let activities = vec![w.from.activity, w.to.activity];
            found.push(Violation { reason: Some(w.reason), says, activities, at: clamp(from) });
        }
    }
}

fn choices(problem: &Problem, solution: &Solution, found: &mut Vec<Violation>) -> Vec<Held> {
    let mut held = Vec::new();
    let mut same: BTreeMap<u32, u32> = BTreeMap::new();
    for (i, h) in problem.holds.iter().enumerate() {
        let chosen = solution.chosen[i];
        let from = time_of(solution, h.from);
        let to = h.to.iter().map(|&p| time_of(solution, p)).max().unwrap_or(from);
        let mut broken = |reason, says| {
            found.push(Violation { reason: Some(reason), says, activities: vec![h.from.activity], at: clamp(from) });
        };
        let Some(resource) = h.choose.get(chosen as usize) else {
            broken(h.reason, format!("hold {i} chooses {chosen} of {}", h.choose.len()));
            continue;
        };
        if let Some(number) = h.same {
            let first = *same.entry(number).or_insert(chosen);
            if first != chosen {
                broken(h.reason, format!("hold {i} must make the same choice as the others tied to it"));
            }
        }
        if from >= to || h.amount == 0 {
            continue;
        }
        let r = &problem.resources[resource.0 as usize];
        if let Some(c) = r.calendar
            && !inside_one(&problem.calendars[c.0 as usize].open, from, to)
        {
            broken(r.reason, format!("{} is not there throughout {from} to {to}", r.label));
        }
        held.push(Held { hold: i, resource: resource.0 as usize, from, to });
    }
    held
}

fn amounts(problem: &Problem, resource: usize, here: &[&Held], found: &mut Vec<Violation>) {
    let r = &problem.resources[resource];
    // The amount can only go up where a hold begins.
    for at in here.iter().map(|h| h.from).collect::<BTreeSet<i64>>() {
        let now: Vec<&&Held> = here.iter().filter(|h| h.from <= at && at < h.to).collect();
        let used: i64 = now.iter().map(|h| i64::from(problem.holds[h.hold].amount)).sum();
        if used > i64::from(r.capacity) {
            found.push(Violation {
                reason: Some(r.reason),
                says: format!("{} of {} taken from {}", used, r.capacity, r.label),
                activities: now.iter().map(|h| problem.holds[h.hold].from.activity).collect(),
                at: clamp(at),
            });
        }
    }
}

fn changeovers(problem: &Problem, resource: usize, here: &[&Held], found: &mut Vec<Violation>) {
    let r = &problem.resources[resource];
    if r.changeover.is_empty() {
        return;
    }
    for first in here {
        for second in here {
            let (f, s) = (problem.families[first.hold], problem.families[second.hold]);
            let free = r.changeover.iter().filter(|c| c.0 == f && c.1 == s).map(|c| c.2).max().unwrap_or(0);
            let before = (first.from, first.hold) < (second.from, second.hold);
            if before && first.to <= second.from && second.from < first.to + i64::from(free) {
                let activities =
                    vec![problem.holds[first.hold].from.activity, problem.holds[second.hold].from.activity];
                found.push(Violation {
                    reason: Some(r.reason),
                    says: format!("{} needs {free} minutes between two holds", r.label),
                    activities,
                    at: clamp(second.from),
                });
            }
        }
    }
}

/// The cost by level, reckoned minute by minute and spell by spell, apart from every other reckoning.
pub fn recount(problem: &Problem, solution: &Solution) -> Vec<i64> {
    let above = |x: i64, weight: i64| if x > 0 { x * weight } else { 0 };
    let mut levels = Vec::new();
    for level in &problem.levels {
        let mut sum = 0;
        for term in &level.terms {
            let at = |p: &Point| time_of(solution, *p);
            sum += match term {
                Term::Late { point, due, weight } => above(at(point) - i64::from(*due), *weight),
                Term::ShortOfSpare { point, due, want, weight } => {
                    above(i64::from(*want) - i64::from(*due) + at(point), *weight)
                }
                Term::Over { from, to, good, weight } => above(at(to) - at(from) - i64::from(*good), *weight),
                Term::Under { from, to, good, weight } => above(i64::from(*good) - at(to) + at(from), *weight),
                Term::Moved { activity, promised, weight } => {
                    i64::from(solution.starts[activity.0 as usize] != *promised) * weight
                }
                Term::Spells { calendar, activities, weight } => {
                    let open = &problem.calendars[calendar.0 as usize].open;
                    let mut spells = BTreeSet::new();
                    let mut outside = 0;
                    for a in activities {
                        let s = solution.starts[a.0 as usize];
                        match open.iter().position(|o| o.from <= s && s < o.to) {
                            Some(k) => {
                                spells.insert(k);
                            }
                            None => outside += 1,
                        }
                    }
                    (spells.len() as i64 + outside) * weight
                }
                Term::Inside { calendar, from, to, weight } => {
                    let (from, to) = (at(from), at(to));
                    let shared = |o: &Interval| (to.min(i64::from(o.to)) - from.max(i64::from(o.from))).max(0);
                    let minutes: i64 = problem.calendars[calendar.0 as usize].open.iter().map(shared).sum();
                    minutes * weight
                }
                Term::Length { from, to, weight } => above(at(to) - at(from), *weight),
                Term::At { point, weight } => above(at(point), *weight),
            };
        }
        levels.push(sum);
    }
    levels
}
