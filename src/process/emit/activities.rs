//! The tasks themselves: their lengths and windows, what each takes of which thing and person, and how far two of them stand apart.

use super::super::hours::somebody_home;
use super::super::intervals::bridge;
use super::super::task::{Holding, Kind, Link, Task, Thing, Until, told, trade};
use super::{Emitter, Taken, activity};
use crate::schedule::{Activity, CalendarId, Force, Hold, Lag, Minute, Point, Problem, ResourceId, Within};
use petgraph::graph::NodeIndex;
use petgraph::visit::EdgeRef;
use std::collections::HashMap;

impl Emitter<'_> {
    /// Every task with its length and window, then what each takes, in the order of the graph's nodes.
    ///
    /// # Errors
    /// A sentence when nobody in the kitchen does a kind of work that is still to be done.
    pub(super) fn activities(&mut self) -> Result<(), String> {
        let there = somebody_home(self.kitchen, self.axis);
        let open = bridge(&there, self.limits.minutes("pot_alone"));
        let home = self.calendar("somebody at home and awake", open);
        for t in self.batch.graph.node_weights() {
            self.activity(t);
        }
        for n in self.batch.graph.node_indices() {
            self.hands(n)?;
            self.things_held(n);
            self.watches(n, home);
        }
        Ok(())
    }

    fn activity(&mut self, t: &Task) {
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

    /// Who does the work of a task: one of those who do such work.
    fn hands(&mut self, n: NodeIndex) -> Result<(), String> {
        let (t, me) = (&self.batch.graph[n], activity(n));
        if t.hands == 0 || t.pinned.is_some() {
            return Ok(());
        }
        let who: Vec<usize> = (0..self.kitchen.people.len())
            .filter(|p| self.kitchen.people[*p].does.as_ref().is_none_or(|d| d.contains(&t.kind.skill())))
            .collect();
        if who.is_empty() {
            return Err(format!("nobody in the kitchen does this kind of work: {}", t.kind.words()));
        }
        let reason = self.reason(told("somebody has to be free to do it", Force::Means));
        let hold = Hold {
            from: Point { activity: me, offset: 0 },
            to: vec![Point { activity: me, offset: t.hands }],
            choose: who.iter().map(|p| self.people[*p]).collect(),
            amount: 1,
            same: None,
            reason,
        };
        self.hold(hold, 0, who.iter().map(|p| Taken::Person(*p)).collect());
        Ok(())
    }

    /// The things that a task takes, and until when.
    fn things_held(&mut self, n: NodeIndex) {
        let (t, me) = (&self.batch.graph[n], activity(n));
        for h in t.holds.iter().filter(|_| !t.gone) {
            let choose: Vec<ResourceId> = h.things.iter().map(|x| self.thing(*x)).collect();
            let capacity = choose.iter().map(|r| self.problem.resources[r.index()].capacity).max().unwrap_or(0);
            let from = Point { activity: me, offset: if h.from_end { t.minutes } else { 0 } };
            let (to, amount) = self.until(n, h, capacity);
            let Some(from) = self.left_of_a_fact(t, from, &to) else { continue };
            let reason = self.problem.resources[choose[0].index()].reason;
            let taken = h.things.iter().map(|x| Taken::Thing(*x)).collect();
            self.hold(Hold { from, to, choose, amount, same: h.same, reason }, h.family, taken);
        }
    }

    /// When a thing is let go, and how much of it is taken until then.
    fn until(&self, n: NodeIndex, h: &Holding, capacity: i32) -> (Vec<Point>, i32) {
        let graph = &self.batch.graph;
        let end = |n: NodeIndex, after: Minute| Point { activity: activity(n), offset: graph[n].minutes + after };
        let to = match &h.until {
            Until::End(after) if h.amount > capacity && h.things == [Thing::Freezer] && capacity > 0 => {
                // More than the freezer takes in a day goes in over several: it fills it for as much longer.
                let whole = i64::from(graph[n].minutes + after) * i64::from(h.amount) / i64::from(capacity);
                return (vec![Point { activity: activity(n), offset: whole.min(100_000) as Minute }], capacity);
            }
            Until::End(after) => vec![end(n, *after)],
            Until::Ends(others) => others.iter().map(|(o, after)| end(*o, *after)).collect(),
            Until::Starts(others) => others.iter().map(|o| Point { activity: activity(*o), offset: 0 }).collect(),
        };
        (to, h.amount)
    }

    /// The stretches in which somebody has to be at home.
    fn watches(&mut self, n: NodeIndex, home: CalendarId) {
        for w in &self.batch.graph[n].watches {
            let until = &self.batch.graph[w.until.0];
            if until.pinned.is_some_and(|s| s + w.until.1 <= self.now) {
                continue;
            }
            let reason = self.reason(trade(w.says.clone(), Force::Safety));
            self.problem.within.push(Within {
                calendar: home,
                from: Point { activity: activity(n), offset: w.after },
                to: Point { activity: activity(w.until.0), offset: w.until.1 },
                reason,
            });
        }
    }

    /// Where a hold begins that asks for room from now on: what a fact has taken before now is nobody's concern. `None` when
    /// nothing of it is left.
    fn left_of_a_fact(&self, t: &Task, from: Point, to: &[Point]) -> Option<Point> {
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
    pub(super) fn make_room_for_facts(&mut self) {
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

    /// How far tasks stand apart, each least and most as one lag.
    pub(super) fn lags(&mut self) {
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
}
