//! What the stretches of a sum cost together.
//!
//! One stretch by itself can nearly always be had for nothing; a chain of them, each tied to the next and all between two
//! windows, cannot. What they cost together at least is the best of a linear program over differences, and its dual is a
//! circulation in a network (the minimum-cost tension problem; Rockafellar, 1984; Ahuja, Hochbaum and Orlin, 2003): lags and
//! windows are arcs without a limit, a term is an arc as wide as its weight. Any circulation is a true bound, and the
//! windows that it flows through are its reasons. It is carried over from one call to the next and only ever mended, by
//! cancelling cycles that still earn something (Klein, 1967).

use super::engine::{Atom, Conflict, Effort, Engine, Side};
use super::objective::{MOST_COST, Part};
use super::reasons::{Term, weaker};
use super::rules::Rule;
use std::cell::RefCell;
use std::collections::VecDeque;
use std::rc::Rc;

/// A unit of flow says once that `to` is at least `reward` after `from`.
struct Arc {
    from: usize,
    to: usize,
    reward: i64,
    /// The most that may flow.
    most: i64,
    flow: i64,
    /// A window: its reward is the bound of this side.
    side: Option<Side>,
}

/// More than any flow.
const NO_LIMIT: i64 = i64::MAX / 4;
/// Cycles cancelled in one call; what is reached until then is a true bound too.
const MOST_CYCLES: usize = 400;
/// Flows times arcs that are reckoned with at the most: times the longest way in minutes they stay within 64 bits.
const MOST_FLOW: i64 = 1 << 36;
const NOWHERE: i64 = i64::MIN / 2;

/// `total >= ` what the parts cost together at least, by their lags and windows. At rest while nothing limits the level.
pub(super) struct Tension {
    /// What the level costs.
    level: u32,
    total: u32,
    /// The variables of nodes 1, 2, ...; node 0 is the begin of time.
    variables: Vec<u32>,
    /// By side of each variable: its bound at the root.
    root: Vec<i32>,
    arcs: Vec<Arc>,
    /// By node: arcs that leave it and arcs that enter it.
    touching: Vec<Vec<usize>>,
    /// By node: a moment, so that no arc with room for more asks for a later one; carried over.
    moment: Vec<i64>,
    /// By node: the longest way from the begin of time, or to it.
    way: Vec<i64>,
    /// By node: the arc by which its moment or its way came about.
    parent: Vec<Option<usize>>,
    queue: VecDeque<usize>,
    queued: Vec<bool>,
    /// The moments stand: nothing pushes any of them.
    stands: bool,
    /// Where its flows are told to others, and its number there.
    slopes: Rc<RefCell<Slopes>>,
    number: usize,
}

/// The circulations of a level's blocks, for what is reckoned with all of them.
#[derive(Default)]
pub(super) struct Slopes {
    /// By side: the flow through its window in all of them, which is what a minute later (or earlier) costs at least.
    by_side: Vec<i64>,
    blocks: Vec<BlockSlopes>,
}

pub(super) struct BlockSlopes {
    /// What the block costs.
    total: u32,
    /// What its circulation earns on terms and lags; the windows it flows through earn what they stand at.
    fixed: i64,
    /// Ascending.
    pub variables: Vec<u32>,
    /// By side of each variable: its bound at the root, and the flow through it.
    root: Vec<i32>,
    flow: Vec<i64>,
}

impl BlockSlopes {
    /// The sides of its variables, their bounds at the root, and the flow through them.
    pub fn windows(&self) -> impl Iterator<Item = (Side, i32, i64)> {
        let sides = self.variables.iter().flat_map(|&x| [2 * x, 2 * x + 1]);
        sides.zip(&self.root).zip(&self.flow).map(|((side, &root), &flow)| (side, root, flow))
    }

    /// What the block costs at least, in the windows as they are now: a circulation may be of another moment.
    pub fn cost(&self, e: &Engine) -> i64 {
        self.fixed + self.windows().map(|(side, _, flow)| flow * i64::from(e.bound[side as usize])).sum::<i64>()
    }
}

impl Slopes {
    pub fn of(&self, side: Side) -> i64 {
        self.by_side.get(side as usize).copied().unwrap_or(0)
    }

    pub fn is_empty(&self) -> bool {
        self.blocks.is_empty()
    }

    pub fn block(&self, total: u32) -> Option<&BlockSlopes> {
        self.blocks.iter().find(|b| b.total == total)
    }

    /// The circulation of a block is another now.
    fn renew(&mut self, number: usize, arcs: &[Arc]) {
        let block = &mut self.blocks[number];
        block.fixed = arcs.iter().filter(|a| a.side.is_none()).map(|a| a.flow * a.reward).sum();
        // Windows stand in the order of the sides.
        for (a, flow) in arcs.iter().filter(|a| a.side.is_some()).zip(&mut block.flow) {
            if let Some(of_side) = a.side.and_then(|s| self.by_side.get_mut(s as usize)) {
                *of_side += a.flow - *flow;
            }
            *flow = a.flow;
        }
    }
}

impl Tension {
    /// `lags` are `(from, to, least)` between variables. `None` where no part is a stretch between two, since what single points
    /// cost is no more together than one by one; and where weights are so large that sums could overflow.
    pub fn new(
        (level, total): (u32, u32),
        parts: &[Part],
        lags: &[(u32, u32, i32)],
        e: &Engine,
        slopes: &Rc<RefCell<Slopes>>,
    ) -> Option<Self> {
        let mut variables: Vec<u32> = lags.iter().flat_map(|l| [l.0, l.1]).collect();
        for part in parts {
            match part {
                Part::Gap { from, to, .. } => variables.extend([*from, *to]),
                Part::Point { x, .. } => variables.push(*x),
                _ => {}
            }
        }
        if !parts.iter().any(|p| matches!(p, Part::Gap { .. })) {
            return None;
        }
        variables.sort_unstable();
        variables.dedup();
        let node = |x: u32| variables.binary_search(&x).map_or(0, |k| k + 1);
        let mut arcs = Vec::new();
        let mut arc = |from, to, reward: i32, most, side| {
            arcs.push(Arc { from, to, reward: i64::from(reward), most, flow: 0, side });
        };
        for part in parts {
            match part {
                Part::Gap { from, to, offset, weight } => arc(node(*to), node(*from), *offset, *weight, None),
                Part::Point { x, offset, weight } => arc(node(*x), 0, *offset, *weight, None),
                _ => {}
            }
        }
        for &(from, to, least) in lags {
            arc(node(from), node(to), least, NO_LIMIT, None);
        }
        for &x in &variables {
            arc(0, node(x), 0, NO_LIMIT, Some(2 * x));
            arc(node(x), 0, 0, NO_LIMIT, Some(2 * x + 1));
        }
        // So that no sum of flows times minutes leaves what it is counted in.
        let widest: i64 = arcs.iter().map(|a| a.most).filter(|&m| m != NO_LIMIT).fold(0, i64::saturating_add);
        if widest.saturating_mul(arcs.len() as i64) > MOST_FLOW {
            return None;
        }
        let nodes = variables.len() + 1;
        let mut touching = vec![Vec::new(); nodes];
        for (k, a) in arcs.iter().enumerate() {
            touching[a.from].push(k);
            touching[a.to].push(k);
        }
        let root: Vec<i32> = variables.iter().flat_map(|&x| [2 * x, 2 * x + 1]).map(|s| e.bound[s as usize]).collect();
        let mut told = slopes.borrow_mut();
        told.by_side.resize(e.bound.len(), 0);
        let flow = vec![0; root.len()];
        told.blocks.push(BlockSlopes { total, fixed: 0, variables: variables.clone(), root: root.clone(), flow });
        Some(Self {
            level,
            total,
            variables,
            root,
            arcs,
            touching,
            moment: vec![0; nodes],
            way: vec![NOWHERE; nodes],
            parent: vec![None; nodes],
            queue: VecDeque::new(),
            queued: vec![false; nodes],
            stands: false,
            slopes: Rc::clone(slopes),
            number: told.blocks.len() - 1,
        })
    }

    /// Where an arc leads to from a node, and what it earns, where there is room on it; against its own direction what
    /// flows can be taken back. `ahead` goes along arcs, else everything is seen from the other end.
    fn onward(&self, node: usize, k: usize, ahead: bool) -> Option<(usize, i64)> {
        let a = &self.arcs[k];
        let along = (a.from == node) == ahead;
        let room = if along { a.flow < a.most } else { a.flow > 0 };
        room.then_some((a.from + a.to - node, if along { a.reward } else { -a.reward }))
    }

    fn enqueue(&mut self, node: usize) {
        if !std::mem::replace(&mut self.queued[node], true) {
            self.queue.push_back(node);
        }
    }

    fn other_end(&self, k: usize, node: usize) -> usize {
        self.arcs[k].from + self.arcs[k].to - node
    }

    /// Does the way by which `node` came about pass `until`?
    fn came_by(&self, until: usize, mut node: usize) -> bool {
        while node != until {
            let Some(k) = self.parent[node] else { return false };
            node = self.other_end(k, node);
        }
        true
    }

    /// Sends as much as goes round the cycle that closes at `node`; `false` when there is no end to it.
    fn cancel(&mut self, node: usize) -> bool {
        let mut cycle = Vec::new();
        let mut at = node;
        while let Some(k) = self.parent[at] {
            cycle.push((k, self.arcs[k].to == at));
            at = self.other_end(k, at);
            if at == node {
                break;
            }
        }
        let room = |&(k, along): &(usize, bool)| {
            let a = &self.arcs[k];
            if !along {
                a.flow
            } else if a.most == NO_LIMIT {
                NO_LIMIT
            } else {
                a.most - a.flow
            }
        };
        let amount = cycle.iter().map(room).min().unwrap_or(NO_LIMIT);
        if amount == NO_LIMIT {
            return false;
        }
        self.parent.fill(None);
        for (k, along) in cycle {
            self.arcs[k].flow += if along { amount } else { -amount };
            self.enqueue(self.arcs[k].from);
            self.enqueue(self.arcs[k].to);
        }
        true
    }

    /// Mends the circulation until no cycle earns anything: moments are pushed later until they stand, and where one would
    /// push itself there is such a cycle. `false` when it was given up before. It counts on windows that agree with the lags:
    /// those are carried along before any rule runs.
    fn mend(&mut self, e: &Engine) -> bool {
        self.parent.fill(None);
        let all = !std::mem::replace(&mut self.stands, false);
        for k in 0..self.arcs.len() {
            let a = &mut self.arcs[k];
            let Some(side) = a.side else { continue };
            let before = std::mem::replace(&mut a.reward, i64::from(e.bound[side as usize]));
            // Moments that stood are pushed by nothing but windows that have moved.
            let (from, to, push) = (a.from, a.to, self.moment[a.from] + a.reward - self.moment[a.to]);
            if a.reward > before && push > 0 {
                self.enqueue(from);
            } else if a.reward < before && push < 0 && self.arcs[k].flow > 0 {
                self.enqueue(to);
            }
        }
        if all {
            (0..self.touching.len()).for_each(|n| self.enqueue(n));
        }
        let mut cycles = 0;
        while let Some(node) = self.queue.pop_front() {
            self.queued[node] = false;
            for i in 0..self.touching[node].len() {
                let k = self.touching[node][i];
                let Some((to, reward)) = self.onward(node, k, true) else { continue };
                let moment = self.moment[node] + reward;
                if moment <= self.moment[to] {
                    continue;
                }
                let closes = self.came_by(to, node);
                self.parent[to] = Some(k);
                if !closes {
                    self.moment[to] = moment;
                    self.enqueue(to);
                    continue;
                }
                cycles += 1;
                // Without an end when windows and lags contradict each other: that is for others to find.
                if cycles > MOST_CYCLES || !self.cancel(to) {
                    self.queue.clear();
                    self.queued.fill(false);
                    return false;
                }
                self.enqueue(node);
                break;
            }
        }
        self.stands = true;
        debug_assert!(self.all_stand(), "what was not looked at pushes nothing either");
        true
    }

    /// Does no arc with room for more ask for a later moment?
    fn all_stand(&self) -> bool {
        let pushes = |node: usize, k: usize| {
            self.onward(node, k, true).is_some_and(|(to, reward)| self.moment[node] + reward > self.moment[to])
        };
        (0..self.touching.len()).all(|node| !self.touching[node].iter().any(|&k| pushes(node, k)))
    }

    /// The longest ways with room for more from the begin of time (`ahead`), or to it, once no cycle earns anything.
    fn ways(&mut self, ahead: bool) {
        self.way.fill(NOWHERE);
        self.parent.fill(None);
        self.way[0] = 0;
        self.enqueue(0);
        while let Some(node) = self.queue.pop_front() {
            self.queued[node] = false;
            for i in 0..self.touching[node].len() {
                let k = self.touching[node][i];
                let Some((to, reward)) = self.onward(node, k, ahead) else { continue };
                let way = self.way[node] + reward;
                if to != 0 && way > self.way[to] {
                    self.way[to] = way;
                    self.parent[to] = Some(k);
                    self.enqueue(to);
                }
            }
        }
    }

    /// The windows that the circulation flows through, with `more` added to it.
    fn terms(&self, more: &[(usize, i64)]) -> Vec<Term> {
        let mut terms = Vec::new();
        for (k, a) in self.arcs.iter().enumerate() {
            let Some(side) = a.side else { continue };
            let flow = a.flow + more.iter().filter(|m| m.0 == k).map(|m| m.1).sum::<i64>();
            if flow > 0 {
                let x = a.from.max(a.to) - 1;
                let root = self.root[2 * x + (side % 2) as usize];
                let fact = Atom { side, least: a.reward as i32 };
                terms.push(Term { above: a.reward - i64::from(root), weight: flow, fact });
            }
        }
        terms
    }

    /// Rules out what would make it cost more than `most`: a start moved beyond where it can still be had for the least
    /// costs a unit a minute or more.
    fn keep_within(&mut self, e: &mut Engine, most: i32, room: i64) -> Result<(), Conflict> {
        let widest = self.variables.iter().map(|&x| e.hi(x) - e.lo(x)).max().unwrap_or(0);
        if room >= i64::from(widest) {
            return Ok(());
        }
        for ahead in [true, false] {
            self.ways(ahead);
            for node in 1..self.touching.len() {
                let side = 2 * self.variables[node - 1] + u32::from(!ahead);
                let least = self.way[node] - room;
                if least <= i64::from(e.bound[side as usize]) {
                    continue;
                }
                // A unit goes this way and back by the window that is contradicted.
                let mut more = Vec::new();
                let mut at = node;
                while let Some(k) = self.parent[at] {
                    more.push((k, if (self.arcs[k].to == at) == ahead { 1 } else { -1 }));
                    at = self.other_end(k, at);
                }
                let mut facts = weaker(self.terms(&more), 0);
                facts.push(Atom::at_most(self.total, most));
                e.set(Atom { side, least: least as i32 }, &facts)?;
            }
        }
        Ok(())
    }
}

impl Rule for Tension {
    fn run(&mut self, e: &mut Engine) -> Result<(), Conflict> {
        if e.hi(self.level) >= MOST_COST as i32 {
            return Ok(());
        }
        let mended = self.mend(e);
        for (x, moment) in self.variables.iter().zip(&self.moment[1..]) {
            e.hint[*x as usize] = Some((moment - self.moment[0]) as i32);
        }
        let cost: i64 = self.arcs.iter().map(|a| a.flow * a.reward).sum();
        self.slopes.borrow_mut().renew(self.number, &self.arcs);
        let most = e.hi(self.total);
        if cost > i64::from(e.lo(self.total)) {
            let reached = cost.min(i64::from(most) + 1) as i32;
            e.set_by_sum(Atom::at_least(self.total, reached), cost, &[], &self.terms(&[]))?;
        }
        if mended { self.keep_within(e, most, i64::from(most) - cost) } else { Ok(()) }
    }

    fn watches(&self) -> Vec<u32> {
        let mut v = self.variables.clone();
        v.extend([self.level, self.total]);
        v
    }

    fn effort(&self) -> Effort {
        Effort::Much
    }
}
