//! From tier to tier: the plan so far, moved on, searched, shared out anew.

use super::{Again, FORMS, LOOK, Replanner, Tier, Tried};
use crate::plan::Refusal;
use crate::plan::adapt::{Adapted, Open, adapt, complete};
use crate::plan::history::MOST_TURNS;
use crate::process::arrangement::{Arrangement, Load};
use crate::schedule::{self, NodeBudget};

/// Sharings looked at.
const MOST: usize = 10;

/// What the looks at one sharing after another have come to.
#[derive(Default)]
struct Looks {
    best: Option<(Tried, Tier)>,
    /// The mildest refusal.
    refused: Option<Refusal>,
}

impl Looks {
    fn take(&mut self, tried: Result<Tried, Refusal>, tier: Tier) {
        match tried {
            Ok(t) => {
                let tier = if tier == Tier::Shifted && !t.shifted { Tier::Searched } else { tier };
                if self.best_cost().is_none_or(|best| t.timed.answer.cost < *best) {
                    self.best = Some((t, tier));
                }
            }
            Err(e) if self.refused.as_ref().is_none_or(|r| e.mildness() < r.mildness()) => self.refused = Some(e),
            Err(_) => {}
        }
    }

    fn best_cost(&self) -> Option<&Vec<i64>> {
        self.best.as_ref().map(|(t, _)| &t.timed.answer.cost)
    }
}

impl Replanner<'_> {
    /// The plan so far, or what moving on alone makes of it; no search.
    pub fn quick(&self) -> Result<Tried, Refusal> {
        let (adapted, first) = self.candidates(Open::Broken)?;
        let Some(a) = first.first() else { return Err(Refusal::no_room("nothing was tried".to_owned())) };
        let laid = self.lay(a, FORMS[0], false)?;
        if adapted.joints.is_empty()
            && adapted.hams.is_empty()
            && let Some(kept) = self.as_it_is(&laid)
        {
            return Ok(self.tried(laid, a, kept, FORMS[0]));
        }
        self.time_laid(laid, a, FORMS[0], 1, None)
    }

    /// The best plan found, and what it took.
    pub fn best(&self) -> Result<(Tried, Tier), Refusal> {
        let none: Vec<String> = self
            .proposer()
            .no_room()
            .into_iter()
            .filter(|n| {
                let name = &self.again.kitchen.joints[n.joint].name;
                !self.again.old.tasks.iter().any(|t| t.joints.contains(name) && self.again.history.has_begun(&t.id))
            })
            .map(|n| format!("{}: {}", self.again.kitchen.joints[n.joint].name, n.misfit.says))
            .collect();
        if !none.is_empty() {
            return Err(Refusal::NoRoom { says: none });
        }
        let (adapted, first) = self.candidates(Open::Broken)?;
        let same = adapted.joints.is_empty() && adapted.hams.is_empty();
        let kept = if same {
            let laid = self.lay(&first[0], FORMS[0], false).ok();
            laid.and_then(|l| self.as_it_is(&l).map(|answer| self.tried(l, &first[0], answer, FORMS[0])))
        } else {
            None
        };
        let late = |t: &Tried| t.timed.answer.cost[0];
        if let Some(kept) = kept {
            if late(&kept) == 0 {
                return Ok((kept, Tier::Kept));
            }
            // Late as it was: only a plan that is less so is worth a change.
            return Ok(match self.anew(&adapted, &first, same) {
                Ok(found) if late(&found.0) < late(&kept) => found,
                _ => (kept, Tier::Kept),
            });
        }
        self.anew(&adapted, &first, same)
    }

    /// Shifted, searched or rearranged.
    fn anew(&self, adapted: &Adapted, first: &[Arrangement], same: bool) -> Result<(Tried, Tier), Refusal> {
        let looks = self.look_around(first, same);
        let Some(found) = looks.best else { return Err(self.refused(looks.refused, adapted, first, same)) };
        Ok(self.thought_over(found))
    }

    /// A look at each sharing, no further from the one so far than has to be.
    fn look_around(&self, first: &[Arrangement], same: bool) -> Looks {
        let mut looks = Looks::default();
        let tier = if same { Tier::Shifted } else { Tier::Rearranged };
        for a in first {
            looks.take(self.look(a, false, LOOK), tier);
        }
        if looks.best_cost().is_none_or(|cost| cost[..2] != [0, 0]) {
            // A joint that stays in longer is turned more often.
            for a in first.iter().take(2).flat_map(|a| self.other_turns(a)) {
                looks.take(self.look(&a, false, LOOK), tier);
            }
        }
        if looks.best_cost().is_none_or(|cost| cost[0] != 0)
            && let Ok((_, more)) = self.candidates(Open::NotBegun)
        {
            for a in more.iter().filter(|a| !first.contains(a)) {
                looks.take(self.look(a, false, LOOK), Tier::Rearranged);
            }
        }
        if looks.best.is_none() && self.again.history.wished.is_empty() {
            // Nothing keeps every limit: what is only quality, and hangs on what has happened, may be missed. A start that somebody
            // asks for is no such thing: it is refused instead.
            for a in first.iter().take(3).flat_map(|a| std::iter::once(a.clone()).chain(self.other_turns(a))) {
                looks.take(self.look(&a, true, LOOK), Tier::Searched);
            }
        }
        looks
    }

    /// Why no sharing that was looked at can be timed.
    fn refused(&self, refused: Option<Refusal>, adapted: &Adapted, first: &[Arrangement], same: bool) -> Refusal {
        let crowded = "no way of sharing lets all of them stand in the cold".to_owned();
        let refusal = match (refused, first.first()) {
            (Some(r), Some(a)) => self.because(a).unwrap_or(r),
            (Some(r), None) => r,
            (None, _) => {
                Refusal::NoRoom { says: if adapted.says.is_empty() { vec![crowded] } else { adapted.says.clone() } }
            }
        };
        match refusal {
            // What one sharing's limits rule out is not ruled out for every sharing.
            Refusal::Impossible { because, beside } if !same => Refusal::NotFound { in_the_way: because, beside },
            other => other,
        }
    }

    /// The best of the looks, searched on for as long as there are steps left and something to gain.
    fn thought_over(&self, (mut found, mut tier): (Tried, Tier)) -> (Tried, Tier) {
        if self.keep_promises(&mut found) {
            tier = tier.max(Tier::Searched);
        }
        let mut budget = 4 * LOOK;
        while !self.stopped() {
            let t = &found.timed;
            let left = self.again.steps.saturating_sub(self.spent.get()).max(1).min(budget);
            let from = Some(t.answer.solution.clone());
            let (before, spent) = (t.answer.cost.clone(), self.spent.get());
            let Ok(better) = self.time(&t.arrangement, t.form, found.lenient, left, from) else { break };
            if better.timed.answer.cost < before {
                if better.timed.answer.cost[..3] < before[..3] {
                    tier = tier.max(Tier::Searched);
                }
                found = better;
            }
            budget = budget.saturating_mul(2);
            // A search that ends before its steps do has nothing left to gain.
            if self.spent.get() - spent < left {
                break;
            }
        }
        self.same_hands(&mut found);
        (found, tier)
    }

    /// The sharing so far with a turn or two more, or fewer, in each tub that is not yet empty.
    fn other_turns(&self, a: &Arrangement) -> Vec<Arrangement> {
        let kitchen = self.again.kitchen;
        let lifted = |j: &usize| self.again.history.has_begun(&format!("lift {}", kitchen.joints[*j].name));
        let begun = |id: &str, k: u32| self.again.history.tasks.contains_key(&format!("turn {id} {k}"));
        let ids = crate::process::graph::load_ids(kitchen, a);
        let with = |change: i64| {
            let mut a = a.clone();
            for (l, id) in a.loads.iter_mut().zip(&ids).filter(|(l, _)| !l.joints.iter().all(lifted)) {
                let after_gap = self.again.history.turns_after_gap(kitchen, id, &l.joints, l.turns);
                let fewest = after_gap.unwrap_or_else(|| Load::new(kitchen, l.tub, l.joints.clone()).turns);
                let turns = (i64::from(l.turns) + change).clamp(1, i64::from(MOST_TURNS)) as u32;
                // Never fewer than the stay asks for, and what is in the record stays.
                if change > 0 || (turns >= fewest && !(turns + 1..=l.turns.min(MOST_TURNS)).any(|k| begun(id, k))) {
                    l.turns = turns;
                }
            }
            a
        };
        let mut out: Vec<Arrangement> = Vec::new();
        for tried in [1, 2, -1, -2].map(with) {
            if tried != *a && !out.contains(&tried) {
                out.push(tried);
            }
        }
        out
    }

    fn candidates(&self, open: Open) -> Result<(Adapted, Vec<Arrangement>), Refusal> {
        let Again { kitchen, old, history, .. } = self.again;
        let adapted = adapt(kitchen, &self.limits, old, Some(history), open).map_err(Refusal::no_room)?;
        if adapted.joints.is_empty() && adapted.hams.is_empty() {
            let only = adapted.kept.clone();
            return Ok((adapted, vec![only]));
        }
        let proposer = self.proposer();
        let all = complete(&proposer, &self.axis, old, Some(history), &adapted, MOST);
        Ok((adapted, all))
    }

    /// A smallest set of rules that cannot hold together with what has happened.
    fn because(&self, arrangement: &Arrangement) -> Option<Refusal> {
        let laid = self.ground().build(arrangement, &self.promises, FORMS[0], false).ok()?;
        let found = schedule::conflict(&laid.emitted.problem, &NodeBudget(60_000))?;
        let because: Vec<_> = found.reasons.iter().map(|r| laid.emitted.problem.reasons[r.index()].clone()).collect();
        (!because.is_empty()).then_some(Refusal::Impossible { because, beside: Vec::new() })
    }
}
