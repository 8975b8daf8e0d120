//! Turns a batch's graph into a scheduling problem in neutral terms, and keeps the way back from its numbers to tasks.

use super::durations::STEP;
use super::graph::Batch;
use super::hours::{at_work, somebody_home};
use super::intervals::{bridge, complement, union};
use super::task::{Kind, Link, Thing, Until, told, trade};
use super::{Axis, cold, fit};
use crate::kitchen::{Kitchen, Limits};
use crate::schedule::{
    Activity, ActivityId, Calendar, CalendarId, Force, Hold, Interval, Lag, Level, Minute, Point, Problem, Reason,
    ReasonId, Resource, ResourceId, Term, Within,
};
use chrono::{NaiveDateTime, TimeDelta};
use petgraph::graph::NodeIndex;
use petgraph::visit::EdgeRef;
use std::collections::HashMap;

/// A problem with the way back: activity `i` is node `i` of the graph; dummies for due dates come after.
#[derive(Debug, Clone)]
pub struct Emitted {
    pub problem: Problem,
    /// By hold: the thing of each choice, or the person.
    pub taken: Vec<Vec<Taken>>,
}

/// What a hold's choice stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Taken {
    Thing(Thing),
    /// Index into the kitchen's people.
    Person(usize),
}

/// Promises of an earlier plan, by task id: the start, and how dear it is to move.
pub type Promises = HashMap<String, (Minute, i64)>;

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

struct Emitter<'a> {
    kitchen: &'a Kitchen,
    limits: &'a Limits,
    axis: &'a Axis,
    batch: &'a Batch,
    problem: Problem,
    taken: Vec<Vec<Taken>>,
    reasons: HashMap<Reason, ReasonId>,
    things: HashMap<Thing, ResourceId>,
    people: Vec<ResourceId>,
    step: Minute,
    good_only: bool,
    in_hand: Minute,
    /// Minute up to which things have happened; 0 when nothing has.
    now: Minute,
}

/// How limits are written into the problem.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Form {
    /// Limits are rounded to whole steps on their careful side, so that a plan starts things at times people use.
    pub step: Minute,
    /// The good limits of quality are hard too, not only the outermost ones: where a plan exists so, it is found sooner.
    pub good_only: bool,
    /// Some of the tolerance of turns is kept in hand: a plan with every turn on its last day does not survive a lost one.
    pub in_hand: bool,
}

impl Form {
    /// As a judge reads the limits: to the minute, and only the outermost ones hard.
    pub const JUDGED: Self = Self { step: 1, good_only: false, in_hand: false };
    /// From the most careful to the outermost: the first in which there is a plan on time is taken.
    pub const PLANNED: [Self; 3] = [
        Self { step: STEP, good_only: true, in_hand: true },
        Self { step: STEP, good_only: true, in_hand: false },
        Self { step: STEP, good_only: false, in_hand: false },
    ];
}

/// Builds the problem.
///
/// # Errors
/// A sentence when nobody in the kitchen does a kind of work that the batch needs.
pub fn emit(
    kitchen: &Kitchen,
    limits: &Limits,
    axis: &Axis,
    batch: &Batch,
    promises: &Promises,
    form: Form,
) -> Result<Emitted, String> {
    emit_from(kitchen, limits, axis, batch, promises, form, 0)
}

/// The same for a batch on which facts up to `now` have been laid.
///
/// # Errors
/// A sentence when nobody in the kitchen does a kind of work that is still to be done.
pub fn emit_from(
    kitchen: &Kitchen,
    limits: &Limits,
    axis: &Axis,
    batch: &Batch,
    promises: &Promises,
    form: Form,
    now: Minute,
) -> Result<Emitted, String> {
    let mut e = Emitter {
        kitchen,
        limits,
        axis,
        batch,
        problem: Problem { horizon: axis.horizon, ..Problem::default() },
        taken: Vec::new(),
        reasons: HashMap::new(),
        things: HashMap::new(),
        people: Vec::new(),
        step: form.step.max(1),
        good_only: form.good_only,
        in_hand: if form.in_hand { limits.minutes("turn_in_hand") } else { 0 },
        now,
    };
    e.people();
    e.activities()?;
    e.lags();
    e.levels(promises);
    e.make_room_for_facts();
    Ok(Emitted { problem: e.problem, taken: e.taken })
}

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
    fn reason(&mut self, r: Reason) -> ReasonId {
        if let Some(id) = self.reasons.get(&r) {
            return *id;
        }
        let id = ReasonId(self.problem.reasons.len() as u32);
        self.problem.reasons.push(r.clone());
        self.reasons.insert(r, id);
        id
    }

    fn calendar(&mut self, label: &str, open: Vec<Interval>) -> CalendarId {
        self.problem.calendars.push(Calendar { label: label.to_owned(), open });
        CalendarId(self.problem.calendars.len() as u32 - 1)
    }

    fn people(&mut self) {
        for p in &self.kitchen.people {
            let cal = self.calendar(&p.name, at_work(p, self.axis));
            let reason = self.reason(told(format!("{} does one thing at a time, when free to", p.name), Force::Means));
            self.people.push(ResourceId(self.problem.resources.len() as u32));
            self.problem.resources.push(Resource {
                label: p.name.clone(),
                capacity: 1,
                calendar: Some(cal),
                changeover: Vec::new(),
                reason,
            });
        }
    }

    fn thing(&mut self, t: Thing) -> ResourceId {
        if let Some(id) = self.things.get(&t) {
            return *id;
        }
        let kit = &self.kitchen.kit;
        let clean = self.limits.minutes("raw_to_cooked_clean");
        let mut changeover = Vec::new();
        let (label, capacity) = match t {
            Thing::Tub(i) => (kit.tubs[i].name.clone(), 1),
            Thing::Pot(i) => (kit.pots[i].name.clone(), 1),
            Thing::Sink => ("sink".to_owned(), kit.sinks.min(1000) as i32),
            Thing::Ring => ("rings".to_owned(), kit.hob.rings.min(1000) as i32),
            Thing::BigRing => ("big rings".to_owned(), kit.hob.big_rings.min(1000) as i32),
            Thing::Oven => ("oven".to_owned(), kit.oven.as_ref().map_or(0, |o| o.hams.min(1000)) as i32),
            Thing::Chilling(i) => (kit.chilling[i].name.clone(), kit.chilling[i].hams.min(1000) as i32),
            Thing::ChillingLoad(i) => {
                (format!("{} by weight", kit.chilling[i].name), units(kit.chilling[i].load.map_or(0.0, |l| l.as_g())))
            }
            Thing::Bench => {
                changeover = vec![(1, 2, clean), (2, 1, clean)];
                ("board and packer".to_owned(), 1)
            }
            Thing::CookedBench => ("board and packer for cooked".to_owned(), 1),
            Thing::Freezer => {
                ("freezer, in 24 h".to_owned(), units(kit.freezer.as_ref().map_or(0.0, |f| f.per_day.as_g())))
            }
            Thing::Floor(i) => {
                (format!("floor of {}", kit.cold[i].name), units(kit.cold[i].width.as_cm() * kit.cold[i].depth.as_cm()))
            }
            Thing::Litres(i) => {
                (format!("litres of {}", kit.cold[i].name), units(fit::space_litres(&kit.cold[i]) * 10.0))
            }
            Thing::Air(i) => {
                (format!("air of {}", kit.cold[i].fridge.as_ref().unwrap_or(&kit.cold[i].name)), cold::HOT)
            }
        };
        let says = match t {
            Thing::Tub(_) => format!("{label} holds one load at a time"),
            Thing::Air(_) => "hot hams and curing tubs do not share a fridge".to_owned(),
            Thing::Freezer => format!("the freezer takes {:.1} kg in 24 h", f64::from(capacity) / 1000.0),
            Thing::Bench => format!("one board and packer, {clean} min to clean between raw and cooked"),
            _ => format!("{label}: room for so much at once"),
        };
        let force = if matches!(t, Thing::Air(_)) { Force::Safety } else { Force::Means };
        let reason = self.reason(told(says, force));
        let id = ResourceId(self.problem.resources.len() as u32);
        self.problem.resources.push(Resource { label, capacity, calendar: None, changeover, reason });
        self.things.insert(t, id);
        id
    }

    fn activities(&mut self) -> Result<(), String> {
        let home = {
            let there = somebody_home(self.kitchen, self.axis);
            let open = bridge(&there, self.limits.minutes("pot_alone"));
            self.calendar("somebody at home and awake", open)
        };
        let graph = &self.batch.graph;
        for n in graph.node_indices() {
            let t = &graph[n];
            let reason = self.reason(t.release_reason.clone());
            self.problem.activities.push(Activity {
                label: t.id.clone(),
                duration: t.minutes,
                group: t.group,
                release: ((t.release + self.step - 1) / self.step * self.step).clamp(0, self.axis.horizon),
                latest: t.latest.unwrap_or(self.axis.horizon).clamp(0, self.axis.horizon),
                pinned: t.pinned.map(|m| m.clamp(0, self.axis.horizon)),
                reason,
            });
        }
        for n in graph.node_indices() {
            let t = &graph[n];
            let me = activity(n);
            if t.hands > 0 && t.pinned.is_none() {
                let who: Vec<usize> = (0..self.kitchen.people.len())
                    .filter(|p| self.kitchen.people[*p].does.as_ref().is_none_or(|d| d.contains(&t.kind.skill())))
                    .collect();
                if who.is_empty() {
                    return Err(format!("nobody in the kitchen does this kind of work: {}", t.kind.words()));
                }
                let reason = self.reason(told("somebody has to be free to do it", Force::Means));
                self.hold(
                    Hold {
                        from: Point { activity: me, offset: 0 },
                        to: vec![Point { activity: me, offset: t.hands }],
                        choose: who.iter().map(|p| self.people[*p]).collect(),
                        amount: 1,
                        same: None,
                        reason,
                    },
                    0,
                    who.iter().map(|p| Taken::Person(*p)).collect(),
                );
            }
            for h in t.holds.iter().filter(|_| !t.gone) {
                let choose: Vec<ResourceId> = h.things.iter().map(|x| self.thing(*x)).collect();
                let capacity = choose.iter().map(|r| self.problem.resources[r.index()].capacity).max().unwrap_or(0);
                let from = Point { activity: me, offset: if h.from_end { t.minutes } else { 0 } };
                let mut amount = h.amount;
                let to = match &h.until {
                    Until::End(after) if amount > capacity && h.things == [Thing::Freezer] && capacity > 0 => {
                        // More than the freezer takes in a day goes in over several: it fills it for as much longer.
                        let whole = i64::from(t.minutes + after) * i64::from(amount) / i64::from(capacity);
                        amount = capacity;
                        vec![Point { activity: me, offset: whole.min(100_000) as Minute }]
                    }
                    Until::End(after) => vec![Point { activity: me, offset: t.minutes + after }],
                    Until::Ends(others) => others
                        .iter()
                        .map(|(o, m)| Point { activity: activity(*o), offset: graph[*o].minutes + m })
                        .collect(),
                    Until::Starts(others) => {
                        others.iter().map(|o| Point { activity: activity(*o), offset: 0 }).collect()
                    }
                };
                let Some(from) = self.left_of_a_fact(t, from, &to) else { continue };
                let reason = self.problem.resources[choose[0].index()].reason;
                let taken = h.things.iter().map(|x| Taken::Thing(*x)).collect();
                self.hold(Hold { from, to, choose, amount, same: h.same, reason }, h.family, taken);
            }
            for w in &t.watches {
                let until = &graph[w.until.0];
                if until.pinned.is_some_and(|s| s + w.until.1 <= self.now) {
                    continue;
                }
                let reason = self.reason(trade(w.says.clone(), Force::Safety));
                self.problem.within.push(Within {
                    calendar: home,
                    from: Point { activity: me, offset: w.after },
                    to: Point { activity: activity(w.until.0), offset: w.until.1 },
                    reason,
                });
            }
        }
        Ok(())
    }

    /// Where a hold begins that asks for room from now on: what a fact has taken before now is nobody's concern. `None` when
    /// nothing of it is left.
    fn left_of_a_fact(&self, t: &super::Task, from: Point, to: &[Point]) -> Option<Point> {
        let Some(start) = t.pinned else { return Some(from) };
        let end = to.iter().map(|p| {
            let other = &self.batch.graph[NodeIndex::new(p.activity.index())];
            other.pinned.map(|s| s + p.offset)
        });
        let over = end.map(|e| e.unwrap_or(Minute::MAX)).max().unwrap_or(Minute::MIN) <= self.now;
        (!over).then(|| Point { offset: from.offset.max(self.now - start), ..from })
    }

    /// Facts that together take more than there is are let stand as they are: each is counted with no more than the ones
    /// before it have left.
    fn make_room_for_facts(&mut self) {
        let pinned = |h: &Hold, p: &Problem| p.activities[h.from.activity.index()].pinned.is_some();
        let mut used: HashMap<ResourceId, i32> = HashMap::new();
        for i in 0..self.problem.holds.len() {
            let h = &self.problem.holds[i];
            if h.choose.len() != 1 || !pinned(h, &self.problem) {
                continue;
            }
            let r = h.choose[0];
            let left = self.problem.resources[r.index()].capacity - used.get(&r).copied().unwrap_or(0);
            let amount = h.amount.min(left.max(0));
            *used.entry(r).or_default() += amount;
            self.problem.holds[i].amount = amount;
        }
    }

    fn hold(&mut self, hold: Hold, family: u32, taken: Vec<Taken>) {
        self.problem.holds.push(hold);
        self.problem.families.push(family);
        self.taken.push(taken);
    }

    fn lags(&mut self) {
        for e in self.batch.graph.edge_references() {
            let (a, b) = (e.source(), e.target());
            let length = self.batch.graph[a].minutes;
            let Link { least, most, good, good_least } = e.weight();
            let (mut least, mut most) = (least.as_ref(), most.as_ref());
            let fact = self.batch.graph[a].pinned;
            // From a fact on, tolerance may be used up already: only the outermost limits are hard.
            if self.good_only && fact.is_none() {
                most = good.as_ref().or(most);
                least = good_least.as_ref().or(least);
            }
            if let Some((m, r)) = least {
                let reason = self.reason(r.clone());
                // Facts are to the minute; what follows them is on whole steps all the same.
                let (s, whole) = (fact.unwrap_or(0), fact.unwrap_or(0) + length + m);
                let least = (whole + self.step - 1).div_euclid(self.step) * self.step - s;
                self.problem.lags.push(Lag { from: activity(a), to: activity(b), least, reason });
            }
            if let Some((m, r)) = most {
                let reason = self.reason(r.clone());
                let kinds = (self.batch.graph[a].kind, self.batch.graph[b].kind);
                let turn = kinds.1 == Kind::Turn || kinds == (Kind::Turn, Kind::Rinse);
                let in_hand = if turn && fact.is_none() { self.in_hand } else { 0 };
                let (s, whole) = (fact.unwrap_or(0), fact.unwrap_or(0) + length + m - in_hand);
                let most = whole.div_euclid(self.step) * self.step - s;
                self.problem.lags.push(Lag { from: activity(b), to: activity(a), least: -most, reason });
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

    fn levels(&mut self, promises: &Promises) {
        let graph = &self.batch.graph;
        let end = |n: NodeIndex, after: Minute| Point { activity: activity(n), offset: graph[n].minutes + after };
        let start = |n: NodeIndex| Point { activity: activity(n), offset: 0 };
        let mut terms: Vec<Vec<Term>> = vec![Vec::new(); LEVELS.len()];
        let spare = (self.kitchen.batch.spare_hours.clamp(0.0, 10_000.0) * 60.0) as Minute;
        let rest_want = self.kitchen.cure.rest.whole_minutes_up().clamp(0, 20_000);
        let every = (self.kitchen.cure.turn_every_days * 1440.0).clamp(0.0, 100_000.0) as Minute;

        for (j, joint) in self.kitchen.joints.iter().enumerate() {
            let ready = end(self.batch.ready[j], 0);
            if let Some(a) = joint.arrives {
                // Fresh pork waits no longer than it must.
                terms[7].push(Term::Late { point: start(self.batch.submerge[j]), due: self.axis.of(a), weight: 1 });
                let due = self.axis.of(a) + self.limits.minutes("collect_to_brine_good");
                terms[1].push(Term::Late { point: start(self.batch.submerge[j]), due, weight: 1 });
            }
            if let Some(by) = joint.ready_by {
                let due = self.axis.of(by);
                terms[0].push(Term::Late { point: ready, due, weight: 1 });
                terms[6].push(Term::ShortOfSpare { point: ready, due, want: spare, weight: 1 });
                let dummy = self.due(&joint.name, due);
                terms[7].push(Term::Over { from: ready, to: dummy, good: spare, weight: 1 });
            } else {
                terms[7].push(Term::At { point: ready, weight: 1 });
            }
            let stay = Term::Over {
                from: end(self.batch.submerge[j], 0),
                to: start(self.batch.rinse[j]),
                // The planner's step also where a judge reckons in minutes, so that both reckon alike.
                good: (self.batch.need[j] + STEP - 1) / STEP * STEP,
                weight: 1,
            };
            terms[7].push(stay);
        }
        for e in graph.edge_references() {
            let (a, b) = (e.source(), e.target());
            if let (Some((least, _)), Some((most, _))) = (&e.weight().least, &e.weight().most)
                && *most <= DAWDLE
            {
                // Work that hangs together is done in one go.
                terms[7].push(Term::Over { from: end(a, 0), to: start(b), good: *least, weight: 10 });
            }
            if let Some((good, _)) = &e.weight().good {
                terms[1].push(Term::Over { from: end(a, 0), to: start(b), good: *good, weight: 1 });
            }
            if let Some((good, _)) = &e.weight().good_least {
                terms[1].push(Term::Under { from: end(a, 0), to: start(b), good: *good, weight: 1 });
            }
            if graph[b].kind == Kind::Freeze || graph[a].kind == Kind::Soak {
                // Packs go into the freezer, and a joint comes out of its soak, as soon as may be.
                terms[7].push(Term::Over { from: end(a, 0), to: start(b), good: 0, weight: 2 });
            }
            if graph[a].kind == Kind::Rest && matches!(graph[b].kind, Kind::Simmer | Kind::Firm | Kind::VacuumPack) {
                terms[6].push(Term::Under { from: start(a), to: start(b), good: rest_want, weight: 1 });
            }
        }
        let good = self.limits.minutes(if super::arrangement::chill_limit(self.kitchen) == "chill_cured_limit" {
            "chill_cured_good"
        } else {
            "chill_uncured_good"
        });
        for (_, chills) in &self.batch.cooks {
            for c in chills {
                terms[1].push(Term::Over { from: start(*c), to: end(*c, 0), good, weight: 1 });
            }
        }
        for (n, due) in &self.batch.overdue {
            terms[1].push(Term::Late { point: start(*n), due: *due, weight: 1 });
        }
        for turns in &self.batch.turns {
            let first = turns
                .first()
                .and_then(|t| graph.edges_directed(*t, petgraph::Direction::Incoming).next().map(|e| e.source()));
            let chain: Vec<NodeIndex> = first.into_iter().chain(turns.iter().copied()).collect();
            for w in chain.windows(2) {
                for over in [true, false] {
                    let (from, to, good, weight) = (end(w[0], 0), start(w[1]), every, 1);
                    terms[7].push(if over {
                        Term::Over { from, to, good, weight }
                    } else {
                        Term::Under { from, to, good, weight }
                    });
                }
            }
        }
        for (n, task) in graph.node_indices().map(|n| (n, &graph[n])) {
            if let Some((promised, weight)) = promises.get(&task.id).filter(|_| task.pinned.is_none()) {
                terms[2].push(Term::Moved { activity: activity(n), promised: *promised, weight: *weight });
            }
        }

        let days = self.daily_spells(&[0, 24], "cook days");
        let simmers: Vec<ActivityId> = self.batch.cooks.iter().map(|c| activity(c.0)).collect();
        if !simmers.is_empty() {
            terms[3].push(Term::Spells { calendar: days, activities: simmers, weight: 1 });
        }
        let parts = self.daily_spells(&PARTS, "visits");
        let hands: Vec<NodeIndex> = graph.node_indices().filter(|n| graph[*n].hands > 0 && !graph[*n].gone).collect();
        terms[4].push(Term::Spells {
            calendar: parts,
            activities: hands.iter().map(|n| activity(*n)).collect(),
            weight: 1,
        });

        let b = &self.kitchen.batch;
        let fine = self.daily(i64::from(b.not_before.minutes), i64::from(b.not_after.minutes), |_| true);
        let ugly = self.calendar("ugly hours", complement(&fine, self.axis.horizon));
        let alone: Vec<Interval> = b
            .leave_alone
            .iter()
            .filter_map(|d| {
                let last = d.to.unwrap_or(d.from).0.date() + TimeDelta::days(1);
                self.axis
                    .stretch(d.from.0.date().and_time(chrono::NaiveTime::MIN), last.and_time(chrono::NaiveTime::MIN))
            })
            .collect();
        let alone = (!alone.is_empty()).then(|| self.calendar("days to leave alone", union(alone)));
        for n in hands.iter().filter(|n| graph[**n].pinned.is_none()) {
            let to = Point { activity: activity(*n), offset: graph[*n].hands };
            terms[5].push(Term::Inside { calendar: ugly, from: start(*n), to, weight: 1 });
            if let Some(calendar) = alone {
                terms[5].push(Term::Inside { calendar, from: start(*n), to, weight: 10 });
            }
        }
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
                let probe = |after: Minute| Point { activity: activity(*c), offset: graph[*c].minutes + after };
                terms[5].push(Term::Inside { calendar: ugly, from: probe(0), to: probe(PROBE), weight: 6 });
                let to = Point { activity: activity(*c), offset: over };
                terms[5].push(Term::Inside { calendar: late, from: start(*simmer), to, weight: 1 });
            }
            if let Some(calendar) = unwelcome {
                terms[5].push(Term::Inside { calendar, from: start(*simmer), to: end(*simmer, 0), weight: 1 });
            }
        }
        self.problem.levels = LEVELS
            .iter()
            .zip(terms)
            .map(|((label, unit), terms)| Level { label: (*label).to_owned(), unit: (*unit).to_owned(), terms })
            .collect();
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

/// An amount of a resource in whole units, rounded down: of a load the gram, of a floor the cm², of a space the tenth of a litre.
fn units(x: f64) -> i32 {
    x.clamp(0.0, 1e9) as i32
}

/// The activity of a node.
pub fn activity(n: NodeIndex) -> ActivityId {
    ActivityId(n.index() as u32)
}
