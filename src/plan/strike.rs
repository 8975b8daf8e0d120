//! Strikes a plan: kitchen and batch in, the best plan found so far out, again and again until told to stop.
//!
//! Sharing (tubs, pots, boils) is proposed by [`super::share`], timed by the solver, and compared level by level. Every
//! plan is judged by the solver's independent checker before anybody sees it.

use super::patience::Share;
use super::share::Proposer;
use super::tell;
use super::{Collect, Plan, Refusal, Standing, bounds};
use crate::kitchen::{Kitchen, Limits};
use crate::process::arrangement::Arrangement;
use crate::process::durations;
use crate::process::emit::{Emitted, Form, Promises, Taken, emit};
use crate::process::graph::{self, Batch};
use crate::process::{Axis, Thing};
use crate::schedule::{self, Answer, Minute, NodeBudget, Solution, Stop, search};
use chrono::{DateTime, TimeDelta, Utc};
use std::cell::Cell;

/// What to plan, and with what care.
#[derive(Debug, Clone)]
pub struct Request<'a> {
    pub kitchen: &'a Kitchen,
    /// Nothing is planned before this when the kitchen names no start and no arrival.
    pub now: DateTime<Utc>,
    /// The same seed and budget give the same plan.
    pub seed: u64,
    /// Promises of an earlier plan by task id.
    pub promises: Promises,
}

/// A timed arrangement.
#[derive(Debug, Clone)]
pub struct Timed {
    pub arrangement: Arrangement,
    pub batch: Batch,
    pub emitted: Emitted,
    pub answer: Answer,
    /// Minute from which pork with an open arrival is there.
    pub collect: Minute,
    /// How careful the limits were when it was timed.
    pub form: Form,
}

/// Search steps for a first look at one arrangement, for a small batch.
const FIRST_LOOK: u64 = 60;
/// Search steps from which half the effort goes into proof.
const PROVE_FROM: u64 = 1600;
/// Arrangements kept for the long improvement.
const FEW: usize = 4;
/// Arrangements looked at for a small batch.
const MOST_ARRANGEMENTS: usize = 16;

struct Striker<'a> {
    request: &'a Request<'a>,
    limits: Limits,
    axis: Axis,
    starts: Minute,
    stop: &'a dyn Stop,
    nodes: Cell<u64>,
}

/// How far ahead to look: long enough for every load to follow every other, short enough to stay quick.
fn horizon_days(kitchen: &Kitchen, limits: &Limits) -> u32 {
    let longest = kitchen.joints.iter().map(|j| durations::cure(j, &kitchen.cure)).max().unwrap_or(0);
    let waves = kitchen.joints.len().div_ceil(kitchen.kit.tubs.len().max(1)) as i64;
    let one = i64::from(longest) / 1440 + i64::from(limits.minutes("rest_limit")) / 1440 + 14;
    (one * waves.min(12) + 21).clamp(30, 700) as u32
}

/// Strikes a plan and keeps improving it until `stop` says so or nothing is left to try. `news` is shown each better plan.
///
/// # Errors
/// [`Refusal`] when there is no plan: with what does not fit, what cannot hold together, or what stood in the way.
pub fn strike(request: &Request, stop: &dyn Stop, news: &mut dyn FnMut(&Plan)) -> Result<Plan, Refusal> {
    let kitchen = request.kitchen;
    let limits = Limits::with(&kitchen.limits);
    let (axis, starts) = axis_for(kitchen, request.now, &limits);
    let striker = Striker { request, limits, axis, starts, stop, nodes: Cell::new(0) };
    striker.run(news)
}

/// The axis a kitchen is planned on, and the minute before which nothing is planned.
pub fn axis_for(kitchen: &Kitchen, now: DateTime<Utc>, limits: &Limits) -> (Axis, Minute) {
    let first_arrival = kitchen.joints.iter().filter_map(|j| j.arrives).min();
    let starts = match (kitchen.batch.starts, first_arrival) {
        (Some(s), _) => kitchen.zone.instant(s.0),
        // The brine may be made the evening before the first pork comes.
        (None, Some(a)) => kitchen.zone.instant(a.0) - TimeDelta::hours(36),
        (None, None) => now,
    };
    let last = kitchen
        .joints
        .iter()
        .flat_map(|j| [j.arrives, j.ready_by])
        .flatten()
        .map(|m| kitchen.zone.instant(m.0))
        .fold(starts, DateTime::max);
    let days = horizon_days(kitchen, limits) + (last - starts).num_days().clamp(0, 2000) as u32;
    let axis = Axis::new(kitchen.zone, kitchen.zone.civil(starts).date() - TimeDelta::days(1), days);
    let starts = axis.minute(starts);
    (axis, starts)
}

/// The axis on which a kitchen is planned again: from the first thing that happened to well past what was planned.
pub(super) fn axis_from(
    kitchen: &Kitchen,
    now: DateTime<Utc>,
    limits: &Limits,
    first: DateTime<Utc>,
    last: DateTime<Utc>,
) -> (Axis, Minute) {
    let (own, starts) = axis_for(kitchen, now, limits);
    let starts = own.instant(starts);
    let from = first.min(starts);
    let end = own.instant(own.horizon).max(last).max(now + TimeDelta::days(i64::from(horizon_days(kitchen, limits))));
    let days = (end - from).num_days().clamp(1, 3000) as u32 + 3;
    let axis = Axis::new(kitchen.zone, kitchen.zone.civil(from).date() - TimeDelta::days(1), days);
    let starts = axis.minute(starts);
    (axis, starts)
}

impl Striker<'_> {
    fn kitchen(&self) -> &Kitchen {
        self.request.kitchen
    }

    fn proposer(&self, collect: Minute) -> Proposer<'_> {
        let of = |m: crate::kitchen::Moment| self.axis.of(m);
        Proposer {
            kitchen: self.kitchen(),
            limits: &self.limits,
            arrival: self.kitchen().joints.iter().map(|j| j.arrives.map_or(collect, of)).collect(),
            due: self.kitchen().joints.iter().map(|j| j.ready_by.map(of)).collect(),
            crowded: Default::default(),
        }
    }

    fn stopped(&self) -> bool {
        self.stop.should_stop(self.nodes.get())
    }

    /// Times one arrangement within a budget of search steps: with tolerance in hand if that can be done on
    /// time, else inside the good limits, else inside the outermost ones.
    fn look(&self, arrangement: &Arrangement, collect: Minute, budget: u64) -> Result<Timed, Refusal> {
        let mut best: Option<Timed> = None;
        let mut refused = None;
        for form in Form::PLANNED {
            match self.time(arrangement, collect, form, budget, None, &mut |_| ()) {
                Ok(t) => {
                    let on_time = t.answer.cost.first() == Some(&0);
                    if best.as_ref().is_none_or(|b| t.answer.cost < b.answer.cost) {
                        best = Some(t);
                    }
                    if on_time {
                        break;
                    }
                }
                // The outermost limits come last, and what they refuse is what is told.
                Err(e) => refused = Some(e),
            }
        }
        best.ok_or_else(|| refused.unwrap_or_else(|| Refusal::no_room("nothing was tried".to_owned())))
    }

    /// Times one arrangement within a budget of search steps, from a solution if there is one.
    fn time(
        &self,
        arrangement: &Arrangement,
        collect: Minute,
        form: Form,
        budget: u64,
        from: Option<Solution>,
        better: &mut dyn FnMut(Timed),
    ) -> Result<Timed, Refusal> {
        let batch = graph::build(self.kitchen(), &self.limits, &self.axis, arrangement, self.starts, collect)
            .map_err(|m| Refusal::no_room(m.says))?;
        let emitted = emit(self.kitchen(), &self.limits, &self.axis, &batch, &self.request.promises, form)
            .map_err(Refusal::no_room)?;
        // Proof prunes and lifts the bounds; it is worth its time once there is something good to improve on.
        let prove = from.is_some() && budget >= PROVE_FROM;
        let options = search::Options { seed: self.request.seed, start_from: from, prove };
        let share = Share::new(self.stop, self.nodes.get(), budget);
        let whole = |answer: Answer| Timed {
            arrangement: arrangement.clone(),
            batch: batch.clone(),
            emitted: emitted.clone(),
            answer,
            collect,
            form,
        };
        let outcome = search::solve(&emitted.problem, &options, &share, &mut |a| {
            better(whole(a.clone()));
        });
        self.nodes.set(self.nodes.get() + share.spent());
        Refusal::unless_found(&emitted.problem, outcome).map(whole)
    }

    fn run(&self, news: &mut dyn FnMut(&Plan)) -> Result<Plan, Refusal> {
        let none: Vec<String> = self
            .proposer(self.starts)
            .no_room()
            .into_iter()
            .map(|n| format!("{}: {}", self.kitchen().joints[n.joint].name, n.misfit.says))
            .collect();
        if !none.is_empty() {
            return Err(Refusal::NoRoom { says: none });
        }
        if let Some(says) = self.freezer_too_small() {
            return Err(Refusal::no_room(says));
        }
        let open = self.kitchen().joints.iter().any(|j| j.arrives.is_none());
        let collect = if open { self.first_guess() } else { self.starts };
        let small = self.kitchen().joints.len() <= 6;
        let proposer = self.proposer(collect);
        let arrangements = proposer.arrangements(if small { MOST_ARRANGEMENTS } else { 12 });
        if arrangements.is_empty() {
            let crowded = proposer.crowded.borrow().as_ref().map(|m| m.says.clone());
            let plain = "no way of sharing the tubs lets all of them stand in the cold".to_owned();
            return Err(Refusal::no_room(crowded.unwrap_or(plain)));
        }
        // Where no sharing works, tubs that could not stand together are told beside what cannot hold.
        let mut found = self
            .first_looks(&arrangements, collect, small, news)
            .map_err(|r| r.beside(proposer.crowded.borrow().as_ref().map(|m| m.says.clone())))?;
        if open {
            self.choose_day(&mut found, news);
        }
        self.improve(&mut found, news);
        let last = if open { self.last_day(&found[0]) } else { None };
        Ok(self.tell(&found[0], last, true))
    }

    /// Looks at all arrangements briefly, at the better ones longer: successive halving (Karnin, Koren and Somekh 2013).
    fn first_looks(
        &self,
        arrangements: &[Arrangement],
        collect: Minute,
        small: bool,
        news: &mut dyn FnMut(&Plan),
    ) -> Result<Vec<Timed>, Refusal> {
        let mut refused: Option<Refusal> = None;
        let mut found: Vec<Timed> = Vec::new();
        let first = if small { FIRST_LOOK } else { 1 };
        for a in arrangements {
            match self.look(a, collect, first) {
                Ok(t) => {
                    let best = found.iter().all(|f| t.answer.cost < f.answer.cost);
                    if best {
                        news(&self.tell(&t, None, false));
                    }
                    found.push(t);
                }
                // Impossible for one arrangement is not impossible for all: the mildest refusal stands.
                Err(e) if refused.as_ref().is_none_or(|r| e.mildness() < r.mildness()) => refused = Some(e),
                Err(_) => {}
            }
            if self.stopped() && !found.is_empty() {
                break;
            }
        }
        if found.is_empty() {
            if let Some((because, of_place)) = arrangements.first().and_then(|a| self.cannot_hold(a, collect)) {
                // Proof for one sharing is none for the others: it is called impossible only when every way of sharing
                // was there to be looked at and each is proven, by rules that do not hang on which tub stands where; else
                // the same rules are told as what stands in the way.
                let every = small && arrangements.len() < MOST_ARRANGEMENTS && !of_place;
                let proven =
                    every && arrangements[1..].iter().all(|a| self.cannot_hold(a, collect).is_some_and(|c| !c.1));
                return Err(if proven {
                    Refusal::Impossible { because, beside: Vec::new() }
                } else {
                    Refusal::NotFound { in_the_way: because, beside: Vec::new() }
                });
            }
            // What one sharing's lags rule out is not ruled out for every sharing.
            return Err(match refused {
                Some(Refusal::Impossible { because, beside }) => Refusal::NotFound { in_the_way: because, beside },
                Some(other) => other,
                None => Refusal::no_room("no arrangement was tried".to_owned()),
            });
        }
        let mut look = first;
        while found.len() > FEW && !self.stopped() {
            found.sort_by(|a, b| a.answer.cost.cmp(&b.answer.cost));
            found.truncate((found.len() / 3).max(FEW));
            look *= 4;
            self.deepen(&mut found, look, news);
        }
        found.sort_by(|a, b| a.answer.cost.cmp(&b.answer.cost));
        found.truncate(FEW);
        Ok(found)
    }

    /// A smallest set of rules that cannot hold together under a sharing, and whether tubs or cold space are among them;
    /// `None` when none was proven.
    fn cannot_hold(&self, arrangement: &Arrangement, collect: Minute) -> Option<(Vec<schedule::Reason>, bool)> {
        let batch = graph::build(self.kitchen(), &self.limits, &self.axis, arrangement, self.starts, collect).ok()?;
        let emitted =
            emit(self.kitchen(), &self.limits, &self.axis, &batch, &self.request.promises, Form::PLANNED[2]).ok()?;
        let found = schedule::conflict(&emitted.problem, &NodeBudget(200_000))?;
        let place = |t: &Taken| {
            matches!(
                t,
                Taken::Thing(Thing::Tub(_) | Thing::Floor(_) | Thing::Litres(_) | Thing::Air(_) | Thing::Pot(_))
            )
        };
        let of_place = emitted
            .problem
            .holds
            .iter()
            .zip(&emitted.taken)
            .any(|(h, taken)| taken.iter().any(place) && found.reasons.contains(&h.reason));
        Some((found.reasons.iter().map(|r| emitted.problem.reasons[r.index()].clone()).collect(), of_place))
    }

    /// Keeps the few best, best first; shows a new best.
    fn keep(&self, found: &mut Vec<Timed>, t: Timed, news: &mut dyn FnMut(&Plan)) {
        let at = found.partition_point(|f| f.answer.cost <= t.answer.cost);
        found.insert(at, t);
        found.truncate(FEW);
        if at == 0 {
            news(&self.tell(&found[0], None, false));
        }
    }

    /// The packs of the whole batch against the room left in the freezer.
    fn freezer_too_small(&self) -> Option<String> {
        let frozen: Vec<_> = self.kitchen().joints.iter().filter(|j| j.is_frozen()).collect();
        let Some(freezer) = &self.kitchen().kit.freezer else {
            return (!frozen.is_empty())
                .then(|| format!("{} is to be frozen and the kitchen file names no freezer", frozen[0].name));
        };
        if !frozen.is_empty() && freezer.per_day.as_kg() <= 0.0 {
            return Some("the freezer takes nothing in a day".to_owned());
        }
        let kg: f64 = frozen.iter().map(|j| durations::packed_kg(j)).sum();
        let short = kg - freezer.free.map_or(f64::INFINITY, |f| f.as_kg());
        (short > 1e-9).then(|| format!("the freezer is {short:.1} kg short of room for {kg:.1} kg of packs"))
    }

    /// Collection day to begin with: as late as the tightest ready-by seems to allow with the wanted spare time.
    fn first_guess(&self) -> Minute {
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
    fn choose_day(&self, found: &mut Vec<Timed>, news: &mut dyn FnMut(&Plan)) {
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

    /// Goes round the few best with growing budgets until stopped or nothing is left to gain.
    fn improve(&self, found: &mut Vec<Timed>, news: &mut dyn FnMut(&Plan)) {
        let mut budget = 400u64;
        while !self.stopped() && budget < 1 << 24 && !found[0].answer.is_proven_best() {
            self.deepen(found, budget, news);
            found.sort_by(|a, b| a.answer.cost.cmp(&b.answer.cost));
            found.truncate(if budget > 10_000 { 2 } else { FEW });
            budget *= 2;
        }
    }

    /// Gives each of the arrangements so many more search steps, from where it stands.
    fn deepen(&self, found: &mut [Timed], budget: u64, news: &mut dyn FnMut(&Plan)) {
        let mut shown = found.iter().map(|f| f.answer.cost.clone()).min().unwrap_or_default();
        for one in found {
            if self.stopped() || one.answer.is_proven_best() {
                continue;
            }
            let (arrangement, collect) = (one.arrangement.clone(), one.collect);
            let from = Some(one.answer.solution.clone());
            let better = self.time(&arrangement, collect, one.form, budget, from, &mut |t| {
                if t.answer.cost < shown && schedule::check(&t.emitted.problem, &t.answer.solution).is_empty() {
                    shown.clone_from(&t.answer.cost);
                    news(&self.tell(&t, None, false));
                }
            });
            if let Ok(t) = better
                && t.answer.cost < one.answer.cost
            {
                *one = t;
            }
        }
    }

    /// The last minute at which the pork may be collected with no more lateness than the plan has.
    fn last_day(&self, best: &Timed) -> Option<Minute> {
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

    fn tell(&self, t: &Timed, last: Option<Minute>, with_slack: bool) -> Plan {
        let mut plan = tell::tell(self.kitchen(), &self.limits, &self.axis, t, with_slack);
        let late = plan.levels.first().map_or(0, |l| l.value);
        let bounds = bounds::for_every_sharing(self.kitchen(), &self.limits, &self.axis, self.starts, late);
        for (level, bound) in plan.levels.iter_mut().zip(bounds) {
            debug_assert!(bound <= level.value, "{}: {} under the bound {bound}", level.label, level.value);
            level.bound = bound.min(level.value);
        }
        if plan.levels.iter().all(|l| l.value == l.bound) {
            plan.standing = Standing::ProvenBest;
        }
        let first = (0..self.kitchen().joints.len())
            .filter(|j| self.kitchen().joints[*j].arrives.is_none())
            .map(|j| t.answer.solution.starts[t.batch.submerge[j].index()])
            .min();
        plan.collect = first
            .map(|m| Collect { planned: self.axis.when(m), last_possible: last.map(|l| self.axis.when(l.max(m))) });
        plan
    }
}
