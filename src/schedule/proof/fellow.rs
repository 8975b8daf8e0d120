//! A second prover of the same problem in a thread of its own. The two look in different ways and tell each other what
//! they learn, after every so many steps and at no other time: so it is the same however fast either of them runs.

use super::Prover;
use super::engine::Atom;
use crate::schedule::search::model::Model;
use crate::schedule::{Problem, Solution, check, cost};
use std::rc::Rc;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::{Builder, Scope};
use std::time::Duration;

/// Steps between two tellings. Of 500 to 10,000 those from 1,000 to 3,500 took least on seven kitchens of twelve joints, all
/// much alike; and two that both decide for the best known no more than one for and one against.
pub(crate) const ROUND: u64 = 2_000;

/// How long the other one is waited for before it is asked whether to stop.
const PATIENCE: Duration = Duration::from_millis(5);

/// What one tells the other. All of it holds for schedules that are no worse than `best`.
struct News {
    best: Option<(Solution, Vec<i64>)>,
    levels_proven: usize,
    /// Of the level after those.
    bound: i64,
    /// By side: its bound at the root.
    root: Vec<i32>,
    /// As [`super::engine::Engine::untold`].
    nogoods: Vec<Atom>,
    impossible: bool,
}

/// The other one.
pub(super) struct Fellow {
    to: Sender<News>,
    from: Receiver<News>,
    /// Steps until it is told and heard again.
    pub left: u64,
    round: u64,
    over: Arc<AtomicBool>,
}

impl Fellow {
    /// Tells and hears. `None` when the other one has gone, or all is to stop before it has come as far.
    fn exchange(&mut self, news: News, stop: &mut dyn FnMut() -> bool) -> Option<News> {
        self.left = self.round;
        self.to.send(news).ok()?;
        loop {
            match self.from.recv_timeout(PATIENCE) {
                Ok(news) => return Some(news),
                Err(RecvTimeoutError::Timeout) if !stop() => {}
                Err(_) => return None,
            }
        }
    }
}

impl Drop for Fellow {
    fn drop(&mut self) {
        self.over.store(true, Ordering::Relaxed);
    }
}

impl<'a> Prover<'a> {
    /// Begins to work with a second prover, which ends with this one.
    pub fn find_fellow<'s>(&mut self, scope: &'s Scope<'s, 'a>, best: Option<&(Solution, Vec<i64>)>, round: u64)
    where
        'a: 's,
    {
        let problem = self.model.problem;
        let over = Arc::new(AtomicBool::new(false));
        let ((to, hears), (tells, from)) = (channel(), channel());
        let his = Fellow { to: tells, from: hears, left: round, round, over: Arc::clone(&over) };
        let nogoods = self.built.engine.all_learnt();
        let news = self.news(best, nogoods);
        // Where there is no thread to be had it works on alone.
        if Builder::new().spawn_scoped(scope, move || work_beside(problem, his, news)).is_ok() {
            self.built.engine.untold = Some(Vec::new());
            self.fellow = Some(Fellow { to, from, left: round, round, over });
        }
    }

    fn news(&mut self, best: Option<&(Solution, Vec<i64>)>, nogoods: Vec<Atom>) -> News {
        self.note_bound(best.is_some() && !self.from_outside);
        News {
            best: best.cloned(),
            levels_proven: self.levels_proven,
            bound: self.bound.get(self.levels_proven).copied().unwrap_or(0),
            root: self.built.engine.bound.clone(),
            nogoods,
            impossible: self.impossible,
        }
    }

    /// The round is over: tells and hears. `true` when the question is another one now.
    pub(super) fn exchange(
        &mut self,
        best: &mut Option<(Solution, Vec<i64>)>,
        stop: &mut dyn FnMut() -> bool,
        better: &mut dyn FnMut(&Solution, &[i64]),
    ) -> bool {
        let nogoods = self.built.engine.untold.replace(Vec::new()).unwrap_or_default();
        let news = self.news(best.as_ref(), nogoods);
        let heard = self.fellow.as_mut().filter(|_| !self.broken).and_then(|fellow| fellow.exchange(news, stop));
        let Some(news) = heard else {
            (self.fellow, self.built.engine.untold) = (None, None);
            return false;
        };
        let standing = (self.levels_proven, self.bound.get(self.levels_proven).copied());
        let found = self.hear(news, best);
        if let Some((s, c)) = best.as_ref().filter(|_| found) {
            better(s, c);
        }
        found || standing != (self.levels_proven, self.bound.get(self.levels_proven).copied())
    }

    /// Takes over what another prover of the same problem found out; `true` when it knows a better solution.
    fn hear(&mut self, news: News, best: &mut Option<(Solution, Vec<i64>)>) -> bool {
        let mut found = false;
        if let Some((s, costs)) = news.best
            && best.as_ref().is_none_or(|b| costs < b.1)
        {
            if !check(self.model.problem, &s).is_empty() || cost(self.model.problem, &s) != costs {
                debug_assert!(false, "what the other prover found must be sound");
                self.broken = true;
                return false;
            }
            self.remember(&s);
            *best = Some((s, costs));
            found = true;
        }
        if news.impossible {
            self.impossible |= best.is_none();
            self.broken |= best.is_some();
            return found;
        }
        // What holds beside the limits of later levels holds here once they are limited here too.
        let ahead = news.levels_proven >= self.levels_proven;
        while let Some((_, costs)) = best.as_ref().filter(|_| self.levels_proven < news.levels_proven) {
            let (level, now) = (self.levels_proven, costs[self.levels_proven]);
            if !self.limit(self.built.levels[level], now) {
                return found;
            }
            self.settle(level, now);
            self.levels_proven += 1;
            self.asking.next_level();
        }
        if let Some((_, costs)) = best.as_ref()
            && let Some(&total) = self.built.levels.get(self.levels_proven)
        {
            let (level, now) = (self.levels_proven, costs[self.levels_proven]);
            if now > super::LARGEST_COST || !self.limit(total, now) {
                return found;
            }
            if ahead {
                self.settle(level, news.bound);
            }
        }
        let e = &mut self.built.engine;
        e.reduce(super::MOST_LEARNT);
        let root = (news.root.iter().zip(0..)).all(|(&least, side)| e.set(Atom { side, least }, &[]).is_ok());
        let sound = root && e.take_learnt(&news.nogoods) && self.fixpoint().is_ok();
        debug_assert!(sound || best.is_none(), "what two provers know cannot contradict the best known");
        self.impossible |= !sound && best.is_none();
        self.broken |= !sound && best.is_some();
        found
    }

    /// Nothing on this level costs less.
    pub(super) fn settle(&mut self, level: usize, bound: i64) {
        self.bound[level] = self.bound[level].max(bound);
        let least = Atom::at_least(self.built.levels[level], self.bound[level].min(super::LARGEST_COST) as i32);
        self.broken |= self.built.engine.set(least, &[]).is_err();
    }
}

/// The life of the second prover.
fn work_beside(problem: &Problem, fellow: Fellow, news: News) {
    let Ok(model) = Model::new(problem) else { return };
    let Some(mut prover) = Prover::new(&Rc::new(model)) else { return };
    // Restarts at other times, and from there on has met other conflicts: what it decides on differs more and more.
    prover.restart = 7;
    prover.built.engine.untold = Some(Vec::new());
    let over = Arc::clone(&fellow.over);
    prover.fellow = Some(fellow);
    let mut best = None;
    prover.hear(news, &mut best);
    prover.prove(&mut best, &mut 0, &mut |_| over.load(Ordering::Relaxed), &mut |_, _, _| {});
    if !prover.broken {
        let nogoods = prover.built.engine.untold.take().unwrap_or_default();
        let last = prover.news(best.as_ref(), nogoods);
        if let Some(fellow) = &prover.fellow {
            // Nobody may be left to hear it.
            let _ = fellow.to.send(last);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::schedule::{Activity, Force, Reason, ReasonId};

    /// With a plain wait this would never end.
    #[test]
    fn one_that_never_answers_is_left_when_all_is_to_stop() {
        let reason = Reason { says: "any".into(), force: Force::Means, source: "invented".into() };
        let activity = Activity {
            label: "one".into(),
            duration: 5,
            group: 0,
            release: 0,
            latest: 10,
            pinned: None,
            reason: ReasonId(0),
        };
        let problem = Problem { horizon: 20, reasons: vec![reason], activities: vec![activity], ..Problem::default() };
        let mut prover = Prover::new(&Rc::new(Model::new(&problem).expect("one activity"))).expect("it is small");
        let ((to, _heard), (_silent, from)) = (channel(), channel());
        let over = Arc::new(AtomicBool::new(false));
        prover.fellow = Some(Fellow { to, from, left: 0, round: 1, over: Arc::clone(&over) });
        let mut asked = 0;
        let mut stop = || {
            asked += 1;
            asked == 3
        };
        assert!(!prover.exchange(&mut None, &mut stop, &mut |_, _| ()));
        assert!(prover.fellow.is_none() && over.load(Ordering::Relaxed) && asked == 3);
    }
}
