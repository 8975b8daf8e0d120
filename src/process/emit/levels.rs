//! What makes one plan better than another: the objective levels, each with its terms.

use super::super::arrangement;
use super::super::durations::STEP;
use super::super::intervals::{complement, union};
use super::super::task::{Kind, told};
use super::{Emitter, Promises, activity};
use crate::schedule::{Activity, ActivityId, CalendarId, Force, Interval, Level, Minute, Point, Term};
use chrono::{NaiveDateTime, TimeDelta};
use petgraph::graph::NodeIndex;
use petgraph::visit::EdgeRef;

/// Names of the objective levels, in order.
pub const LEVELS: [(&str, &str); 8] = [
    ("late", "minutes"),
    ("quality overstepped", "minutes"),
    ("promises moved", "tasks"),
    ("cook days", "days"),
    ("visits", "visits"),
    ("ugly hours", "minutes"),
    ("spare time short", "minutes"),
    ("unevenness", "minutes"),
];
const LATE: usize = 0;
const OVERSTEPPED: usize = 1;
const MOVED: usize = 2;
const COOK_DAYS: usize = 3;
const VISITS: usize = 4;
const UGLY: usize = 5;
const SPARE: usize = 6;
const UNEVEN: usize = 7;

/// The terms of each level.
type Terms = [Vec<Term>; LEVELS.len()];

/// Links whose longest wait is no more than this tie tasks that are done in one go, minutes.
const DAWDLE: Minute = 120;

/// Minutes it takes to probe a ham and note it.
const PROBE: Minute = 5;

/// Minutes left between one part of a day and the next so that they stay apart: the last start in a part is then still
/// on a whole step of five.
const GAP: i64 = 4;

/// Civil day parts in which one visit to the kitchen falls: to noon, to five, to midnight.
const PARTS: [i64; 4] = [0, 12, 17, 24];

impl Emitter<'_> {
    pub(super) fn levels(&mut self, promises: &Promises) {
        let mut terms = Terms::default();
        self.dates_and_stays(&mut terms);
        self.good_links(&mut terms);
        self.good_chills_and_overdue(&mut terms);
        self.even_turns(&mut terms);
        self.promises(promises, &mut terms);
        self.cook_days_and_visits(&mut terms);
        let ugly = self.hours_of_work(&mut terms);
        self.hours_of_cooking(ugly, &mut terms);
        self.problem.levels = LEVELS
            .iter()
            .zip(terms)
            .map(|((label, unit), terms)| Level { label: (*label).to_owned(), unit: (*unit).to_owned(), terms })
            .collect();
    }

    fn start(&self, n: NodeIndex) -> Point {
        Point { activity: activity(n), offset: 0 }
    }

    fn end(&self, n: NodeIndex, after: Minute) -> Point {
        Point { activity: activity(n), offset: self.batch.graph[n].minutes + after }
    }

    /// Tasks that take hands and are not gone.
    fn with_hands(&self) -> Vec<NodeIndex> {
        let graph = &self.batch.graph;
        graph.node_indices().filter(|n| graph[*n].hands > 0 && !graph[*n].gone).collect()
    }

    /// Each joint by its dates, and no longer in the brine than it needs.
    fn dates_and_stays(&mut self, terms: &mut Terms) {
        let spare = (self.kitchen.batch.spare_hours.clamp(0.0, 10_000.0) * 60.0) as Minute;
        for (j, joint) in self.kitchen.joints.iter().enumerate() {
            let ready = self.end(self.batch.ready[j], 0);
            let submerge = self.start(self.batch.submerge[j]);
            if let Some(a) = joint.arrives {
                // Fresh pork waits no longer than it must.
                terms[UNEVEN].push(Term::Late { point: submerge, due: self.axis.of(a), weight: 1 });
                let due = self.axis.of(a) + self.limits.minutes("collect_to_brine_good");
                terms[OVERSTEPPED].push(Term::Late { point: submerge, due, weight: 1 });
            }
            if let Some(by) = joint.ready_by {
                let due = self.axis.of(by);
                terms[LATE].push(Term::Late { point: ready, due, weight: 1 });
                terms[SPARE].push(Term::ShortOfSpare { point: ready, due, want: spare, weight: 1 });
                let dummy = self.due(&joint.name, due);
                terms[UNEVEN].push(Term::Over { from: ready, to: dummy, good: spare, weight: 1 });
            } else {
                terms[UNEVEN].push(Term::At { point: ready, weight: 1 });
            }
            terms[UNEVEN].push(Term::Over {
                from: self.end(self.batch.submerge[j], 0),
                to: self.start(self.batch.rinse[j]),
                // The planner's step also where a judge reckons in minutes, so that both reckon alike.
                good: (self.batch.need[j] + STEP - 1) / STEP * STEP,
                weight: 1,
            });
        }
    }

    /// The good value of each link, and what is better done without a wait.
    fn good_links(&self, terms: &mut Terms) {
        let graph = &self.batch.graph;
        let rest_want = self.kitchen.cure.rest.whole_minutes_up().clamp(0, 20_000);
        for e in graph.edge_references() {
            let (a, b) = (e.source(), e.target());
            let (from, to) = (self.end(a, 0), self.start(b));
            if let (Some((least, _)), Some((most, _))) = (&e.weight().least, &e.weight().most)
                && *most <= DAWDLE
            {
                // Work that hangs together is done in one go.
                terms[UNEVEN].push(Term::Over { from, to, good: *least, weight: 10 });
            }
            if let Some((good, _)) = &e.weight().good {
                terms[OVERSTEPPED].push(Term::Over { from, to, good: *good, weight: 1 });
            }
            if let Some((good, _)) = &e.weight().good_least {
                terms[OVERSTEPPED].push(Term::Under { from, to, good: *good, weight: 1 });
            }
            if graph[b].kind == Kind::Freeze || graph[a].kind == Kind::Soak {
                // Packs go into the freezer, and a joint comes out of its soak, as soon as may be.
                terms[UNEVEN].push(Term::Over { from, to, good: 0, weight: 2 });
            }
            if graph[a].kind == Kind::Rest && matches!(graph[b].kind, Kind::Simmer | Kind::Firm | Kind::VacuumPack) {
                terms[SPARE].push(Term::Under { from: self.start(a), to, good: rest_want, weight: 1 });
            }
        }
    }

    /// How long a ham may well take to cool, and what a fact has already made late.
    fn good_chills_and_overdue(&self, terms: &mut Terms) {
        let good = self.limits.minutes(if arrangement::chill_limit(self.kitchen) == "chill_cured_limit" {
            "chill_cured_good"
        } else {
            "chill_uncured_good"
        });
        for c in self.batch.cooks.iter().flat_map(|(_, chills)| chills) {
            terms[OVERSTEPPED].push(Term::Over { from: self.start(*c), to: self.end(*c, 0), good, weight: 1 });
        }
        for (n, due) in &self.batch.overdue {
            terms[OVERSTEPPED].push(Term::Late { point: self.start(*n), due: *due, weight: 1 });
        }
    }

    /// From turn to turn as long as the recipe says, neither more nor less.
    fn even_turns(&self, terms: &mut Terms) {
        let graph = &self.batch.graph;
        let every = (self.kitchen.cure.turn_every_days * 1440.0).clamp(0.0, 100_000.0) as Minute;
        for turns in &self.batch.turns {
            let first = turns
                .first()
                .and_then(|t| graph.edges_directed(*t, petgraph::Direction::Incoming).next().map(|e| e.source()));
            let chain: Vec<NodeIndex> = first.into_iter().chain(turns.iter().copied()).collect();
            for w in chain.windows(2) {
                let (from, to) = (self.end(w[0], 0), self.start(w[1]));
                terms[UNEVEN].push(Term::Over { from, to, good: every, weight: 1 });
                terms[UNEVEN].push(Term::Under { from, to, good: every, weight: 1 });
            }
        }
    }

    fn promises(&self, promises: &Promises, terms: &mut Terms) {
        let graph = &self.batch.graph;
        for n in graph.node_indices().filter(|n| graph[*n].pinned.is_none()) {
            if let Some((promised, weight)) = promises.get(&graph[n].id) {
                terms[MOVED].push(Term::Moved { activity: activity(n), promised: *promised, weight: *weight });
            }
        }
    }

    fn cook_days_and_visits(&mut self, terms: &mut Terms) {
        let days = self.daily_spells(&[0, 24], "cook days");
        let simmers: Vec<ActivityId> = self.batch.cooks.iter().map(|c| activity(c.0)).collect();
        if !simmers.is_empty() {
            terms[COOK_DAYS].push(Term::Spells { calendar: days, activities: simmers, weight: 1 });
        }
        let parts = self.daily_spells(&PARTS, "visits");
        let hands = self.with_hands().into_iter().map(activity).collect();
        terms[VISITS].push(Term::Spells { calendar: parts, activities: hands, weight: 1 });
    }

    /// Work at hours nobody likes, and on days that were to be left alone. Gives those hours.
    fn hours_of_work(&mut self, terms: &mut Terms) -> CalendarId {
        let graph = &self.batch.graph;
        let b = &self.kitchen.batch;
        let fine = self.daily(i64::from(b.not_before.minutes), i64::from(b.not_after.minutes), |_| true);
        let ugly = self.calendar("ugly hours", complement(&fine, self.axis.horizon));
        let midnight = |d: chrono::NaiveDate| d.and_time(chrono::NaiveTime::MIN);
        let alone: Vec<Interval> = b
            .leave_alone
            .iter()
            .filter_map(|d| {
                let last = d.to.unwrap_or(d.from).0.date() + TimeDelta::days(1);
                self.axis.stretch(midnight(d.from.0.date()), midnight(last))
            })
            .collect();
        let alone = (!alone.is_empty()).then(|| self.calendar("days to leave alone", union(alone)));
        for n in self.with_hands().into_iter().filter(|n| graph[*n].pinned.is_none()) {
            let (from, to) = (self.start(n), Point { activity: activity(n), offset: graph[n].hands });
            terms[UGLY].push(Term::Inside { calendar: ugly, from, to, weight: 1 });
            if let Some(calendar) = alone {
                terms[UGLY].push(Term::Inside { calendar, from, to, weight: 10 });
            }
        }
        ugly
    }

    /// Cooking past the hour to be in the chill or on a day not meant for it, and a probe at hours nobody likes.
    fn hours_of_cooking(&mut self, ugly: CalendarId, terms: &mut Terms) {
        let graph = &self.batch.graph;
        let b = &self.kitchen.batch;
        let late = self.daily(i64::from(b.in_chill_by.minutes), 24 * 60, |_| true);
        let late = self.calendar("after the hour to be in the chill", late);
        let unwelcome = b.cook_days.map(|days| {
            let open = self.daily(0, 24 * 60, |d| !days.contains(chrono::Datelike::weekday(&d)));
            self.calendar("days not meant for cooking", open)
        });
        for (simmer, chills) in &self.batch.cooks {
            let over = graph[*simmer].slow - graph[*simmer].minutes;
            for c in chills.iter().filter(|c| graph[**c].pinned.is_none()) {
                // Somebody probes it when it should be cold: not in the middle of the night.
                let (from, to) = (self.end(*c, 0), self.end(*c, PROBE));
                terms[UGLY].push(Term::Inside { calendar: ugly, from, to, weight: 6 });
                let to = Point { activity: activity(*c), offset: over };
                terms[UGLY].push(Term::Inside { calendar: late, from: self.start(*simmer), to, weight: 1 });
            }
            if let Some(calendar) = unwelcome {
                let (from, to) = (self.start(*simmer), self.end(*simmer, 0));
                terms[UGLY].push(Term::Inside { calendar, from, to, weight: 1 });
            }
        }
    }

    /// Stretches of each civil day between two times of day.
    fn daily(&self, from: i64, to: i64, wanted: impl Fn(chrono::NaiveDate) -> bool) -> Vec<Interval> {
        let at = |d: chrono::NaiveDate, m: i64| -> NaiveDateTime {
            d.and_time(chrono::NaiveTime::MIN) + TimeDelta::minutes(m)
        };
        union(
            self.axis
                .dates()
                .filter(|d| wanted(*d))
                .filter_map(|d| self.axis.stretch(at(d, from), at(d, to)))
                .collect(),
        )
    }

    /// Unlike [`Self::daily`] the parts stay apart even where they touch: a minute gap keeps them separate spells.
    fn daily_spells(&mut self, cuts: &[i64], label: &str) -> CalendarId {
        let mut open: Vec<Interval> = Vec::new();
        for d in self.axis.dates() {
            for w in cuts.windows(2) {
                let at = |h: i64| d.and_time(chrono::NaiveTime::MIN) + TimeDelta::hours(h);
                open.extend(self.axis.stretch(at(w[0]), at(w[1]) - TimeDelta::minutes(GAP)));
            }
        }
        self.calendar(label, open)
    }

    /// A fixed moment as an activity of its own, so that a stretch can be measured to it.
    fn due(&mut self, name: &str, due: Minute) -> Point {
        let reason = self.reason(told(format!("{name} is wanted by then"), Force::Wish));
        let at = due.clamp(0, self.axis.horizon);
        let id = ActivityId(self.problem.activities.len() as u32);
        self.problem.activities.push(Activity {
            label: format!("due {name}"),
            duration: 0,
            group: self.problem.activities.len() as u32 + 1_000_000,
            release: at,
            latest: at,
            pinned: Some(at),
            reason,
        });
        Point { activity: id, offset: 0 }
    }
}
