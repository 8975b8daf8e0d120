//! Strikes a plan: kitchen and batch in, the best plan found so far out, again and again until told to stop.
//!
//! Sharing (tubs, pots, boils) is proposed by [`super::share`], timed by the solver, and compared level by level. Every
//! plan is judged by the solver's independent checker before anybody sees it.

use super::axis::axis_for;
use super::patience::Share;
use super::rivals::{Proven, Rivals, Shelf};
use super::share::Proposer;
use super::tell;
use super::{Collect, LevelStanding, Plan, Refusal, Standing, bounds};
use crate::kitchen::{Kitchen, Limits};
use crate::process::arrangement::Arrangement;
use crate::process::durations::{self, STEP};
use crate::process::emit::{Emitted, Form, Promises, Taken, emit};
use crate::process::graph::{self, Batch};
use crate::process::{Axis, Thing};
use crate::schedule::{self, Answer, Minute, NodeBudget, ReasonId, Solution, Stop, search};
use chrono::{DateTime, Utc};
use std::cell::{Cell, RefCell};

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

impl Timed {
    /// What makes one plan better than another: late, quality, promises; then whether some of the turns' tolerance is in hand,
    /// since a plan without does not survive a lost day; then the other levels.
    pub fn rank(&self) -> Rank {
        let (first, rest) = self.answer.cost.split_at(BEFORE_CARE.min(self.answer.cost.len()));
        Rank(first.to_vec(), !self.form.in_hand, rest.to_vec())
    }
}

/// The less, the better: levels before the care, no care, levels after it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Rank(Vec<i64>, bool, Vec<i64>);

/// Levels that come before how much of the turns' tolerance is in hand.
pub(super) const BEFORE_CARE: usize = 3;
/// Search steps for a first look at one arrangement, for a small batch.
pub(super) const FIRST_LOOK: u64 = 60;
/// Search steps from which half the effort goes into proof.
const PROVE_FROM: u64 = 1600;
/// Up to so many joints every way of sharing is looked at.
const FEW_JOINTS: usize = 6;
/// Arrangements kept for the long improvement.
const FEW: usize = 4;
/// Ways of sharing asked about by the proof engine at the most.
const MOST_RIVALS: usize = 400;
/// Arrangements looked at for a small batch.
const MOST_ARRANGEMENTS: usize = 16;

pub(super) struct Striker<'a> {
    pub(super) request: &'a Request<'a>,
    pub(super) limits: Limits,
    pub(super) axis: Axis,
    pub(super) starts: Minute,
    stop: &'a dyn Stop,
    nodes: Cell<u64>,
    /// What the engine has proven of all ways of sharing, and of which plan.
    proven: RefCell<Option<Proven>>,
}

/// Strikes a plan and keeps improving it until `stop` says so or nothing is left to try. `news` is shown each better plan.
///
/// # Errors
/// [`Refusal`] when there is no plan: with what does not fit, what cannot hold together, or what stood in the way.
pub fn strike(request: &Request, stop: &dyn Stop, news: &mut dyn FnMut(&Plan)) -> Result<Plan, Refusal> {
    let kitchen = request.kitchen;
    let limits = Limits::with(&kitchen.limits);
    let (axis, starts) = axis_for(kitchen, request.now, &limits);
    let striker = Striker { request, limits, axis, starts, stop, nodes: Cell::new(0), proven: RefCell::default() };
    striker.run(news)
}

impl Striker<'_> {
    pub(super) fn kitchen(&self) -> &Kitchen {
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

    pub(super) fn stopped(&self) -> bool {
        self.stop.should_stop(self.nodes.get())
    }

    /// A call that may spend so many steps of the whole.
    pub(super) fn share(&self, budget: u64) -> Share<'_> {
        Share::new(self.stop, self.nodes.get(), budget)
    }

    pub(super) fn spend(&self, nodes: u64) {
        self.nodes.set(self.nodes.get() + nodes);
    }

    /// Times one arrangement within a budget of search steps: with tolerance in hand if that can be done on
    /// time, else inside the good limits, else inside the outermost ones.
    pub(super) fn look(&self, arrangement: &Arrangement, collect: Minute, budget: u64) -> Result<Timed, Refusal> {
        let mut best: Option<Timed> = None;
        let mut refused = None;
        for form in Form::PLANNED {
            match self.time(arrangement, collect, form, budget, None, &mut |_| ()) {
                Ok(t) => {
                    let clean = t.answer.cost.iter().take(2).all(|&c| c == 0);
                    if best.as_ref().is_none_or(|b| t.rank() < b.rank()) {
                        best = Some(t);
                    }
                    if clean {
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
    pub(super) fn time(
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
        let emitted = emit(self.kitchen(), &self.limits, &self.axis, &batch, &self.request.promises, form, 0)
            .map_err(Refusal::no_room)?;
        // Proof prunes and lifts the bounds; it is worth its time once there is something good to improve on.
        let prove = budget >= PROVE_FROM;
        let options = search::Options { seed: self.request.seed, start_from: from, prove, ..Default::default() };
        let share = self.share(budget);
        let whole = |mut answer: Answer| {
            if let Some((solution, cost)) = schedule::on_whole_steps(&emitted.problem, &answer.solution, STEP) {
                (answer.solution, answer.cost) = (solution, cost);
            }
            Timed {
                arrangement: arrangement.clone(),
                batch: batch.clone(),
                emitted: emitted.clone(),
                answer,
                collect,
                form,
            }
        };
        let outcome = search::solve(&emitted.problem, &options, &share, &mut |a| {
            better(whole(a.clone()));
        });
        self.spend(share.spent());
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
        let small = self.kitchen().joints.len() <= FEW_JOINTS;
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
        // Every day of collecting is one of the day on which it may first be: what is proven so holds for all.
        let sharings = self.sharings(open, small);
        let shelf = Shelf::of(sharings.len());
        let without = self.improve(&mut found, Rivals::of(sharings, &shelf), &arrangements, news);
        let last = if open { self.last_day(&found[0]) } else { None };
        let mut plan = self.tell(&found[0], last, true);
        if let Some(in_hand) = &mut plan.in_hand {
            // Told where it is worth a person's thought: cook days and visits, with nothing lost before them.
            let (few, all) = (BEFORE_CARE + 2, &found[0].answer.cost);
            in_hand.without = without.filter(|w| w[..BEFORE_CARE] <= all[..BEFORE_CARE] && w[..few] < all[..few]);
        }
        Ok(plan)
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
                    let best = found.iter().all(|f| t.rank() < f.rank());
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
            found.sort_by_key(Timed::rank);
            found.truncate((found.len() / 3).max(FEW));
            look *= 4;
            self.deepen(&mut found, look, news);
        }
        found.sort_by_key(Timed::rank);
        found.truncate(FEW);
        Ok(found)
    }

    /// A smallest set of rules that cannot hold together under a sharing, and whether tubs or cold space are among them: they are
    /// only where it cannot be shown without them. `None` when none was proven.
    fn cannot_hold(&self, arrangement: &Arrangement, collect: Minute) -> Option<(Vec<schedule::Reason>, bool)> {
        let batch = graph::build(self.kitchen(), &self.limits, &self.axis, arrangement, self.starts, collect).ok()?;
        let emitted =
            emit(self.kitchen(), &self.limits, &self.axis, &batch, &self.request.promises, Form::PLANNED[2], 0).ok()?;
        let problem = &emitted.problem;
        let place = |t: &Taken| {
            matches!(
                t,
                Taken::Thing(Thing::Tub(_) | Thing::Floor(_) | Thing::Litres(_) | Thing::Air(_) | Thing::Pot(_))
            )
        };
        let placed = problem.holds.iter().zip(&emitted.taken).filter(|(_, taken)| taken.iter().any(place));
        let of_place: Vec<ReasonId> = placed.map(|(h, _)| h.reason).collect();
        let steps = NodeBudget(200_000);
        let anywhere = schedule::conflict(&schedule::without(problem, &of_place), &steps);
        let found = anywhere.or_else(|| schedule::conflict(problem, &steps))?;
        let hangs = found.reasons.iter().any(|r| of_place.contains(r));
        Some((found.reasons.iter().map(|r| problem.reasons[r.index()].clone()).collect(), hangs))
    }

    /// Keeps the few best, best first; shows a new best.
    pub(super) fn keep(&self, found: &mut Vec<Timed>, t: Timed, news: &mut dyn FnMut(&Plan)) {
        let at = found.partition_point(|f| f.rank() <= t.rank());
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

    /// Goes round the few best with growing budgets until stopped or nothing is left to gain. On the way, what a plan would cost
    /// that keeps nothing in hand.
    fn improve(
        &self,
        found: &mut Vec<Timed>,
        mut rivals: Rivals,
        arrangements: &[Arrangement],
        news: &mut dyn FnMut(&Plan),
    ) -> Option<Vec<i64>> {
        let (mut budget, mut without) = (400u64, None);
        while !self.stopped() && budget < 1 << 24 && !(found[0].answer.is_proven_best() && rivals.is_settled()) {
            self.deepen(found, budget, news);
            found.sort_by_key(Timed::rank);
            let known = self.levels_proven();
            for better in rivals.ask(self, &found[0], budget * FEW as u64) {
                self.keep(found, better, news);
            }
            self.proven.replace(rivals.proven(&found[0]));
            if self.levels_proven() > known {
                news(&self.tell(&found[0], None, false));
            }
            if budget == 2 * PROVE_FROM && self.kitchen().joints.len() <= FEW_JOINTS {
                without = self.without_in_hand(&found[0], arrangements, FEW as u64 * budget);
            }
            found.truncate(if budget > 10_000 { 2 } else { FEW });
            budget *= 2;
        }
        without
    }

    fn levels_proven(&self) -> usize {
        self.proven.borrow().as_ref().map_or(0, Proven::levels)
    }

    /// What a plan costs that keeps none of the turns' tolerance in hand, where the best so far does.
    fn without_in_hand(&self, best: &Timed, arrangements: &[Arrangement], budget: u64) -> Option<Vec<i64>> {
        let form = Form::PLANNED[1];
        if !best.form.in_hand {
            return None;
        }
        let look = |a: &Arrangement| self.time(a, best.collect, form, FIRST_LOOK, None, &mut |_| ()).ok();
        let mut looked: Vec<Timed> = arrangements.iter().filter_map(look).collect();
        looked.sort_by_key(Timed::rank);
        let longer = |t: &Timed| self.time(&t.arrangement, best.collect, form, budget, None, &mut |_| ());
        looked.iter().take(2).filter_map(|t| longer(t).ok()).map(|t| t.answer.cost).min()
    }

    /// Every way of sharing, to be asked whether it has something better, where there are few joints. Where some pork comes on
    /// a known day and some on an open one, who can share hangs on the day chosen, and nothing is said of all.
    fn sharings(&self, open: bool, small: bool) -> Vec<Arrangement> {
        let mixed = open && self.kitchen().joints.iter().any(|j| j.arrives.is_some());
        if !small || mixed {
            return Vec::new();
        }
        let all = self.proposer(self.starts).arrangements(MOST_RIVALS + 1);
        if all.len() <= MOST_RIVALS { all } else { Vec::new() }
    }

    /// Gives each of the arrangements so many more search steps, from where it stands.
    fn deepen(&self, found: &mut [Timed], budget: u64, news: &mut dyn FnMut(&Plan)) {
        let mut shown = found.iter().map(Timed::rank).min();
        for one in found {
            if self.stopped() || one.answer.is_proven_best() {
                continue;
            }
            let (arrangement, collect) = (one.arrangement.clone(), one.collect);
            let from = Some(one.answer.solution.clone());
            let better = self.time(&arrangement, collect, one.form, budget, from, &mut |t| {
                let better = shown.as_ref().is_none_or(|s| t.rank() < *s);
                if better && schedule::check(&t.emitted.problem, &t.answer.solution).is_empty() {
                    shown = Some(t.rank());
                    news(&self.tell(&t, None, false));
                }
            });
            if let Ok(t) = better
                && t.rank() < one.rank()
            {
                *one = t;
            }
        }
    }

    fn tell(&self, t: &Timed, last: Option<Minute>, with_slack: bool) -> Plan {
        let mut plan = tell::tell(self.kitchen(), &self.limits, &self.axis, t, with_slack);
        let late = plan.levels.first().map_or(0, |l| l.value);
        let bounds = bounds::for_every_sharing(self.kitchen(), &self.limits, &self.axis, self.starts, late);
        for (level, bound) in plan.levels.iter_mut().zip(bounds) {
            debug_assert!(bound <= level.value, "{}: {} under the bound {bound}", level.label, level.value);
            level.bound = bound.min(level.value);
        }
        if let Some(proven) = self.proven.borrow().as_ref().filter(|p| p.is_of(t)) {
            proven.tell(&mut plan);
        }
        if plan.levels.iter().all(LevelStanding::is_proven) {
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
