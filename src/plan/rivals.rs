//! Has any way of sharing something better than the best plan found? Asked of the proof engine, one sharing after the other.
//!
//! What is proven so holds under every way of sharing that the planner knows: each grouping into tubs and pots that fits, in the
//! tubs, pots and boils and with the number of turns that the planner gives it, limits on whole steps as it has them.

use super::strike::{Striker, Timed};
use super::{Compared, Plan};
use crate::process::arrangement::Arrangement;
use crate::process::emit::{Emitted, Form, emit};
use crate::process::graph;
use crate::schedule::{Against, Inquiry};
use std::cell::OnceCell;

/// Search steps that a better plan found by the engine is given at once.
const LOOK: u64 = 400;

/// The problems that rivals are asked, by rival: with tolerance in hand, and without. Made when they are first asked; `None` where
/// what is shared so does not fit.
pub(super) struct Shelf(Vec<[OnceCell<Option<Emitted>>; 2]>);

impl Shelf {
    pub fn of(rivals: usize) -> Self {
        Self((0..rivals).map(|_| Default::default()).collect())
    }
}

pub(super) struct Rivals<'p> {
    all: Vec<Rival<'p>>,
    /// What they are asked about: how much tolerance is in hand, and the cost.
    about: Option<(bool, Vec<i64>)>,
}

struct Rival<'p> {
    arrangement: Arrangement,
    problems: &'p [OnceCell<Option<Emitted>>; 2],
    inquiry: Option<Inquiry<'p>>,
    /// What is known of it, as [`Against::AtLeast`] has it.
    known: Vec<i64>,
    /// Nothing in it is as good.
    worse: bool,
    /// It has something better that came to nothing: nothing more is claimed of it.
    given_up: bool,
}

/// What is proven of all sharings together.
#[derive(Debug, Clone)]
pub(super) struct Proven {
    about: (bool, Vec<i64>),
    /// Lower bounds of the first levels, as [`Against::AtLeast`] has it.
    bounds: Vec<i64>,
    sharings: usize,
}

impl<'p> Rivals<'p> {
    pub fn of(arrangements: Vec<Arrangement>, shelf: &'p Shelf) -> Self {
        let rival = |(arrangement, problems)| Rival {
            arrangement,
            problems,
            inquiry: None,
            known: Vec::new(),
            worse: false,
            given_up: false,
        };
        Self { all: arrangements.into_iter().zip(&shelf.0).map(rival).collect(), about: None }
    }

    /// Is nothing left to ask about the plan last asked about?
    pub fn is_settled(&self) -> bool {
        let Some((_, cost)) = &self.about else { return self.all.is_empty() };
        self.all.iter().all(|r| r.given_up || r.is_done(cost))
    }

    /// From now on they are asked about this plan. What is known carries over as far as it holds.
    fn turn_to(&mut self, best: &Timed) {
        let new = (best.form.in_hand, best.answer.cost.clone());
        match &self.about {
            Some(old) if *old == new => return,
            Some((in_hand, old)) if *in_hand == new.0 && new.1 < *old => {
                let first = (0..old.len()).find(|&i| old[i] != new.1[i]).unwrap_or(0);
                for r in &mut self.all {
                    // What had nothing as good as the old has nothing as good as the new, which is better.
                    r.worse |= r.known.get(first).is_some_and(|&b| b > new.1[first]);
                    r.known.truncate(first + 1);
                    r.given_up = false;
                }
            }
            // Other limits: all is open again.
            _ => self.all.iter_mut().for_each(Rival::forget),
        }
        self.about = Some(new);
    }

    /// Asks each whether it has something better than `best`, with so many steps in all. What is better, best last.
    pub fn ask(&mut self, striker: &Striker, best: &Timed, budget: u64) -> Vec<Timed> {
        self.turn_to(best);
        let (mut out, mut best): (Vec<Timed>, _) = (Vec::new(), best.clone());
        let open = |all: &[Rival], cost: &[i64]| {
            let mut open: Vec<usize> = (0..all.len()).filter(|&i| !all[i].given_up && !all[i].is_done(cost)).collect();
            // Those of which least is known hold up what can be said of all.
            open.sort_by_key(|&i| all[i].known.len());
            open
        };
        let asked = open(&self.all, &best.answer.cost);
        let each = budget / asked.len().max(1) as u64;
        for i in asked {
            if striker.stopped() {
                break;
            }
            if let Some(better) = self.all[i].ask(striker, &best, each) {
                self.turn_to(&better);
                best = better.clone();
                out.push(better);
            }
        }
        out
    }

    /// What is proven of all of them together about this plan.
    pub fn proven(&self, best: &Timed) -> Option<Proven> {
        let about = self.about.clone().filter(|a| is_of(a, best) && !self.all.is_empty())?;
        let mut bounds = Vec::new();
        for (level, &cost) in about.1.iter().enumerate() {
            let of = |r: &Rival| if r.worse { Some(cost) } else { r.known.get(level).copied() };
            let least = self.all.iter().map(of).min().flatten();
            // One of which nothing is known here leaves it open.
            let Some(bound) = least.filter(|_| self.all.iter().all(|r| of(r).is_some())) else { break };
            bounds.push(bound.min(cost));
            if bound < cost {
                break;
            }
        }
        Some(Proven { about, bounds, sharings: self.all.len() })
    }
}

impl<'p> Rival<'p> {
    fn is_done(&self, cost: &[i64]) -> bool {
        self.worse || self.known == cost
    }

    fn forget(&mut self) {
        (self.inquiry, self.worse, self.given_up) = (None, false, false);
        self.known.clear();
    }

    /// Something better than `best`, if it is found within so many steps.
    fn ask(&mut self, striker: &Striker, best: &Timed, budget: u64) -> Option<Timed> {
        let Some(emitted) = self.emitted(striker, best.form.in_hand) else {
            self.worse = true;
            return None;
        };
        let inquiry = self.inquiry.get_or_insert_with(|| Inquiry::new(&emitted.problem));
        let share = striker.share(budget);
        let (said, nodes) = inquiry.ask(&best.answer.cost, &share);
        striker.spend(nodes.max(share.spent()));
        match said {
            Against::Worse => self.worse = true,
            // An engine that had to begin anew may know less than it did.
            Against::AtLeast(known) if known.len() >= self.known.len() => self.known = known,
            Against::AtLeast(_) => {}
            Against::Better { solution, .. } => {
                let form = form(best.form.in_hand);
                let timed = striker.time(&self.arrangement, striker.starts, form, LOOK, Some(solution), &mut |_| ());
                let better = timed.ok().filter(|t| t.rank() < best.rank());
                self.given_up = better.is_none();
                return better;
            }
        }
        None
    }

    /// The problem as the planner has it.
    fn emitted(&self, striker: &Striker, in_hand: bool) -> Option<&'p Emitted> {
        let make = || {
            let (kitchen, limits, axis) = (striker.kitchen(), &striker.limits, &striker.axis);
            let starts = striker.starts;
            let batch = graph::build(kitchen, limits, axis, &self.arrangement, starts, starts).ok()?;
            emit(kitchen, limits, axis, &batch, &striker.request.promises, form(in_hand), 0).ok()
        };
        self.problems[usize::from(!in_hand)].get_or_init(make).as_ref()
    }
}

/// The limits under which a plan is compared: the outermost ones where nothing is in hand.
fn form(in_hand: bool) -> Form {
    if in_hand { Form::PLANNED[0] } else { Form::PLANNED[2] }
}

fn is_of(about: &(bool, Vec<i64>), t: &Timed) -> bool {
    about.0 == t.form.in_hand && about.1 == t.answer.cost
}

impl Proven {
    pub fn is_of(&self, t: &Timed) -> bool {
        is_of(&self.about, t)
    }

    /// How many levels are settled.
    pub fn levels(&self) -> usize {
        self.bounds.iter().zip(&self.about.1).take_while(|(b, c)| b == c).count()
    }

    /// Writes it into the plan it is about.
    pub fn tell(&self, plan: &mut Plan) {
        for (level, &bound) in plan.levels.iter_mut().zip(&self.bounds) {
            level.compared = Some(bound);
        }
        plan.compared = Some(Compared { sharings: self.sharings as u32 });
    }
}
