//! The state of a search: what is placed where, what each resource has taken, and the exact insertion of one block.
//!
//! With all other blocks fixed, a block's starts obey difference constraints (the lags) and forbidden stretches. Both only
//! ever push one way, so pushing until nothing moves gives the block's provably earliest starts (or, mirrored, its latest)
//! as far as its own activities do not compete with each other. Where they do, they are given room in a fixed order and the
//! later one is pushed on. A maximum lag that is overrun pulls its earlier activity along.

use super::model::{Model, Touch};
use super::profile::{Profile, Stretch};
use crate::schedule::{Minute, Point};
use std::collections::VecDeque;

/// Which way starts are pushed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Push {
    Later,
    Earlier,
}

/// The reason of the rule that turned an insertion back; `None` when the search gave up on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Blocked(pub Option<u32>);

pub(super) const NONE: u32 = u32::MAX;

/// A stretch of the block being inserted; it is entered in the profile only once another meets it, since looking through a
/// few costs less.
#[derive(Debug, Clone, Copy)]
pub(super) struct Own {
    hold: u32,
    stretch: Stretch,
    entered: bool,
}

pub(crate) struct Space<'a> {
    pub model: &'a Model<'a>,
    pub starts: Vec<Minute>,
    pub chosen: Vec<u32>,
    pub profiles: Vec<Profile<'a>>,
    /// By hold: `(resource, stretch)` now in the profiles.
    pub(super) placed: Vec<Option<(u32, Stretch)>>,
    pub is_placed: Vec<bool>,
    /// Starts being worked on; only those of one block mean anything at a time.
    pub s: Vec<Minute>,
    pub(super) pick: Vec<u32>,
    /// By resource: stretches given room in the insertion under way.
    pub(super) own: Vec<Vec<Own>>,
    /// By hold: the resource it has been given room on in the insertion under way.
    pub(super) roomed: Vec<u32>,
    /// By hold: still to be given room.
    pub(super) waiting: Vec<bool>,
    /// By hold: its turn among those to be given room; `NONE` for those that stay.
    turn: Vec<u32>,
    /// Only what has moved is settled anew; the rest of the block stays in the profiles.
    pub(super) partly: bool,
    /// Holds taken out of the profiles because they moved.
    lifted: Vec<u32>,
    /// Holds given room so far, by turn.
    given: Vec<u32>,
    pub(super) queue: VecDeque<u32>,
    pub(super) queued: Vec<bool>,
    /// Choice settled for a class during one insertion.
    pub(super) class_pick: Vec<u32>,
    /// By spells term and interval: no start there. Used only while `masked`.
    pub closed: Vec<Vec<bool>>,
    pub masked: bool,
    /// Only this activity may move.
    pub(super) only: Option<u32>,
    /// Leave out rules that a stretch of no length would be free of.
    pub(super) only_sure: bool,
    /// By reason: how often it turned an insertion back.
    pub blame: Vec<u64>,
    pub nodes: u64,
}

impl<'a> Space<'a> {
    pub fn new(model: &'a Model<'a>) -> Self {
        let p = model.problem;
        let n = p.activities.len();
        Self {
            model,
            starts: model.lo.clone(),
            chosen: vec![0; p.holds.len()],
            profiles: p.resources.iter().map(Profile::new).collect(),
            placed: vec![None; p.holds.len()],
            is_placed: vec![false; model.blocks.len()],
            s: model.lo.clone(),
            pick: vec![0; p.holds.len()],
            own: vec![Vec::new(); p.resources.len()],
            roomed: vec![NONE; p.holds.len()],
            waiting: vec![false; p.holds.len()],
            turn: vec![NONE; p.holds.len()],
            partly: false,
            lifted: Vec::new(),
            given: Vec::new(),
            queue: VecDeque::new(),
            queued: vec![false; n],
            class_pick: vec![NONE; model.classes.len()],
            closed: model.spells.iter().map(|t| vec![false; p.calendars[t.calendar].open.len()]).collect(),
            masked: false,
            only: None,
            only_sure: false,
            blame: vec![0; p.reasons.len()],
            nodes: 0,
        }
    }

    pub(super) fn at(&self, p: Point) -> Minute {
        self.s[p.activity.index()] + p.offset
    }

    pub(super) fn wake(&mut self, activity: u32) {
        if !std::mem::replace(&mut self.queued[activity as usize], true) {
            self.queue.push_back(activity);
        }
    }

    /// Takes a block out of the profiles; its starts stay readable.
    pub fn take_out(&mut self, block: usize) {
        for &h in &self.model.blocks[block].holds {
            if let Some((r, s)) = self.placed[h as usize].take() {
                self.profiles[r as usize].remove(s);
            }
        }
        self.is_placed[block] = false;
    }

    /// Puts a block at `starts` with `chosen`, when it fits there as it is.
    pub fn put_back(&mut self, block: usize) -> bool {
        let model = self.model;
        for &a in &model.blocks[block].activities {
            self.s[a as usize] = self.starts[a as usize];
        }
        let mut fits = true;
        for &h in &model.blocks[block].holds {
            if let Some((r, s)) = self.stretch(h, self.chosen[h as usize]) {
                fits &= self.profiles[r as usize].fits(s);
                self.profiles[r as usize].add(s);
                self.placed[h as usize] = Some((r, s));
            }
        }
        self.is_placed[block] = true;
        if !fits {
            self.take_out(block);
        }
        fits
    }

    /// Places every block as in a sound solution.
    pub fn adopt(&mut self, solution: &crate::schedule::Solution) {
        for b in 0..self.model.blocks.len() {
            if self.is_placed[b] {
                self.take_out(b);
            }
        }
        self.starts.clone_from(&solution.starts);
        self.chosen.clone_from(&solution.chosen);
        (0..self.model.blocks.len()).for_each(|b| self.follow(b));
        for b in 0..self.model.blocks.len() {
            let fits = self.put_back(b);
            debug_assert!(fits, "a sound solution fits");
        }
    }

    /// The window the lags leave one activity when all others stay where they are.
    fn alone_window(&self, activity: u32) -> (Minute, Minute) {
        let i = activity as usize;
        let (mut lo, mut hi) = (self.model.lo[i], self.model.hi[i]);
        for arc in self.model.into.of(i).iter().filter(|x| x.other != activity) {
            lo = lo.max(self.starts[arc.other as usize] + arc.least);
        }
        for arc in self.model.out.of(i).iter().filter(|x| x.other != activity) {
            hi = hi.min(self.starts[arc.other as usize] - arc.least);
        }
        (lo, hi)
    }

    /// Begins work on a block from its present starts, all of them to be looked at or none.
    pub fn load(&mut self, block: usize, wake_all: bool) {
        let model = self.model;
        for &a in &model.blocks[block].activities {
            self.s[a as usize] = self.starts[a as usize];
            if wake_all {
                self.wake(a);
            }
        }
        for &a in model.followers.of(block) {
            self.s[a as usize] = self.starts[a as usize];
        }
        for &h in &model.blocks[block].holds {
            self.pick[h as usize] = self.chosen[h as usize];
        }
    }

    /// Begins work on a block from its earliest (or latest) starts by the lags alone.
    pub fn load_edge(&mut self, block: usize, push: Push) {
        self.load(block, true);
        let model = self.model;
        for &a in &model.blocks[block].activities {
            let a = a as usize;
            self.s[a] = if push == Push::Later { model.lo[a] } else { model.hi[a] };
        }
    }

    pub fn set(&mut self, activity: u32, start: Minute) {
        self.s[activity as usize] = start;
        self.wake(activity);
    }

    /// Pushes the loaded block of unplaced starts until every rule holds, and gives its holds room. On success `s` and the
    /// picks are a sound placing; the profiles are as before.
    pub fn settle(&mut self, block: usize, push: Push) -> Result<(), Blocked> {
        let model = self.model;
        for &c in &model.blocks[block].classes {
            self.class_pick[c as usize] = NONE;
        }
        self.settle_these(block, &model.blocks[block].holds, push)
    }

    /// The furthest one activity can go that way with everything else where it is; `None` when it cannot stay at all.
    pub fn furthest_alone(&mut self, activity: u32, push_from: Push) -> Option<Minute> {
        let model = self.model;
        let block = model.block_of[activity as usize] as usize;
        self.take_out(block);
        self.load(block, false);
        let mut moving = Vec::new();
        let mut others = Vec::new();
        for &h in &model.blocks[block].holds {
            if model.touch.of(activity as usize).contains(&Touch::Hold(h)) {
                moving.push(h);
            } else if let Some((r, s)) = self.stretch(h, self.chosen[h as usize]) {
                self.profiles[r as usize].add(s);
                others.push((r, s));
            }
        }
        // A choice shared with an activity that stays is made already.
        for &h in &moving {
            if let Some(c) = model.class_of[h as usize] {
                let free = model.classes[c as usize].iter().all(|x| moving.contains(x));
                self.class_pick[c as usize] = if free { NONE } else { self.chosen[h as usize] };
            }
        }
        let (lo, hi) = self.alone_window(activity);
        self.set(activity, if push_from == Push::Later { lo } else { hi });
        self.only = Some(activity);
        let result = self.settle_these(block, &moving, push_from);
        self.only = None;
        for (r, s) in others {
            self.profiles[r as usize].remove(s);
        }
        let found = self.s[activity as usize];
        self.put_back(block);
        result.ok().map(|()| found)
    }

    fn settle_these(&mut self, block: usize, holds: &[u32], push: Push) -> Result<(), Blocked> {
        self.nodes += 1;
        let result = self.settle_rounds(block, holds, push);
        self.drain(result)
    }

    /// Empties the queue and notes what turned an insertion back.
    fn drain(&mut self, result: Result<(), Blocked>) -> Result<(), Blocked> {
        while let Some(a) = self.queue.pop_front() {
            self.queued[a as usize] = false;
        }
        if let Err(Blocked(Some(r))) = result {
            self.blame[r as usize] += 1;
        }
        result
    }

    /// Pushes the loaded block as if its own activities could overlap: a true limit for every placing.
    pub fn relaxed(&mut self, block: usize, push: Push) -> Result<(), Blocked> {
        for &c in &self.model.blocks[block].classes {
            self.class_pick[c as usize] = NONE;
        }
        self.only_sure = true;
        let result = self.fixpoint(block, push);
        self.only_sure = false;
        while let Some(a) = self.queue.pop_front() {
            self.queued[a as usize] = false;
        }
        result
    }

    fn settle_rounds(&mut self, block: usize, holds: &[u32], push: Push) -> Result<(), Blocked> {
        for (i, &h) in holds.iter().enumerate() {
            self.waiting[h as usize] = true;
            self.turn[h as usize] = if push == Push::Later { i } else { holds.len() - 1 - i } as u32;
        }
        let result = self.rounds(block, holds, push);
        self.give_up_from(0);
        holds.iter().for_each(|&h| self.turn[h as usize] = NONE);
        result
    }

    fn rounds(&mut self, block: usize, holds: &[u32], push: Push) -> Result<(), Blocked> {
        for _ in 0..200 + 20 * holds.len() {
            self.fixpoint(block, push)?;
            if self.only.is_none() && self.fix_classes(block, push)? {
                continue;
            }
            if !self.give_room(block, holds, push)? {
                return Ok(());
            }
        }
        Err(Blocked(None))
    }

    /// A hold has moved: it and all that were given room after it have to look for room again.
    pub(super) fn moved(&mut self, hold: u32) {
        let turn = self.turn[hold as usize];
        if turn == NONE {
            return;
        }
        if self.partly
            && !self.waiting[hold as usize]
            && self.roomed[hold as usize] == NONE
            && let Some((r, s)) = self.placed[hold as usize]
            // One that became empty on the way is out already.
            && !self.lifted.contains(&hold)
        {
            self.profiles[r as usize].remove(s);
            self.lifted.push(hold);
        }
        self.waiting[hold as usize] = true;
        self.give_up_from(turn);
    }

    /// Settles a block that stays placed, of which only some starts differ from where it is placed: the others are
    /// touched only as the lags demand. On success `s` and the picks are a sound placing; the profiles are as before.
    pub fn settle_partly(&mut self, block: usize, push: Push) -> Result<(), Blocked> {
        let model = self.model;
        let holds = &model.blocks[block].holds;
        self.nodes += 1;
        self.partly = true;
        for (i, &h) in holds.iter().enumerate() {
            self.waiting[h as usize] = false;
            self.roomed[h as usize] = NONE;
            self.turn[h as usize] = if push == Push::Later { i } else { holds.len() - 1 - i } as u32;
        }
        for &a in &model.blocks[block].activities {
            if self.s[a as usize] != self.starts[a as usize] {
                self.holds_moved(a);
            }
        }
        let result = self.rounds(block, holds, push);
        self.give_up_from(0);
        while let Some(h) = self.lifted.pop() {
            if let Some((r, s)) = self.placed[h as usize] {
                self.profiles[r as usize].add(s);
            }
        }
        self.partly = false;
        holds.iter().for_each(|&h| self.turn[h as usize] = NONE);
        self.drain(result)
    }

    /// An activity has moved: its holds have to look for room again.
    pub(super) fn holds_moved(&mut self, activity: u32) {
        let model = self.model;
        for t in model.touch.of(activity as usize) {
            if let Touch::Hold(h) = *t {
                self.moved(h);
            }
        }
    }

    /// Brings the profiles in line with the starts and choices of a placed block.
    pub fn replace(&mut self, block: usize) {
        let model = self.model;
        for &a in &model.blocks[block].activities {
            self.s[a as usize] = self.starts[a as usize];
        }
        for &h in &model.blocks[block].holds {
            let new = self.stretch(h, self.chosen[h as usize]);
            if new != self.placed[h as usize] {
                if let Some((r, s)) = std::mem::replace(&mut self.placed[h as usize], new) {
                    self.profiles[r as usize].remove(s);
                }
                if let Some((r, s)) = new {
                    self.profiles[r as usize].add(s);
                }
            }
        }
    }

    fn give_up_from(&mut self, turn: u32) {
        while let Some(&h) = self.given.last()
            && self.turn[h as usize] >= turn
        {
            self.given.pop();
            self.waiting[h as usize] = true;
            let r = std::mem::replace(&mut self.roomed[h as usize], NONE) as usize;
            if let Some(i) = self.own[r].iter().rposition(|o| o.hold == h) {
                let o = self.own[r].swap_remove(i);
                if o.entered {
                    self.profiles[r].remove(o.stretch);
                }
            }
        }
    }

    /// Makes the worked-on starts and picks of a block the real ones (the block stays out of the profiles).
    pub fn keep(&mut self, block: usize) {
        let model = self.model;
        for &a in &model.blocks[block].activities {
            self.starts[a as usize] = self.s[a as usize];
        }
        for &h in &model.blocks[block].holds {
            self.chosen[h as usize] = self.pick[h as usize];
        }
        self.follow(block);
    }

    /// Starts those that wait for a block, and for others, as soon as all are done.
    pub fn follow(&mut self, block: usize) {
        let model = self.model;
        for &a in model.followers.of(block) {
            self.starts[a as usize] = model.follows(a, &self.starts).0;
        }
    }

    pub(super) fn stretch(&self, hold: u32, choice: u32) -> Option<(u32, Stretch)> {
        let h = &self.model.problem.holds[hold as usize];
        let from = self.at(h.from);
        let to = match self.model.fixed[hold as usize] {
            Some(length) => from + length,
            None => h.to.iter().map(|&t| self.at(t)).max().unwrap_or(from),
        };
        let family = self.model.problem.families[hold as usize];
        (from < to && h.amount > 0)
            .then(|| (h.choose[choice as usize].0, Stretch { from, to, amount: h.amount, family }))
    }

    /// One after the other, in rank order, each hold gets the first of its choices with room. `Ok(true)`: one found none,
    /// and its activity has been pushed on.
    fn give_room(&mut self, block: usize, holds: &[u32], push: Push) -> Result<bool, Blocked> {
        let model = self.model;
        for i in 0..holds.len() {
            let h = holds[if push == Push::Later { i } else { holds.len() - 1 - i }];
            if !self.waiting[h as usize] {
                continue;
            }
            if self.stretch(h, 0).is_none() {
                self.waiting[h as usize] = false;
                if let Some(c) = model.class_of[h as usize] {
                    let k = self.class_pick[c as usize];
                    self.pick[h as usize] = if k == NONE { 0 } else { k };
                }
                continue;
            }
            if let Some(c) = model.class_of[h as usize]
                && self.class_pick[c as usize] == NONE
            {
                self.pick_class(c);
            }
            let fixed = model.class_of[h as usize].map(|c| self.class_pick[c as usize]);
            let choices = model.problem.holds[h as usize].choose.len() as u32;
            let before = self.pick[h as usize];
            let order = fixed.into_iter().chain(
                (fixed.is_none())
                    .then(|| std::iter::once(before).chain((0..choices).filter(move |&k| k != before)))
                    .into_iter()
                    .flatten(),
            );
            let mut found = false;
            for k in order {
                let Some((r, s)) = self.stretch(h, k) else { continue };
                self.enter_own(r, Some(s));
                if self.profiles[r as usize].fits(s) && self.on_calendar(r, s) {
                    self.own[r as usize].push(Own { hold: h, stretch: s, entered: false });
                    self.roomed[h as usize] = r;
                    self.given.push(h);
                    self.waiting[h as usize] = false;
                    self.pick[h as usize] = k;
                    found = true;
                    break;
                }
            }
            if !found {
                for k in 0..choices {
                    self.enter_own(model.problem.holds[h as usize].choose[k as usize].0, None);
                }
                self.push_hold(h, push)?;
                return Ok(true);
            }
        }
        // A class whose first holds were empty may have been settled later: one choice for all of them.
        for &c in &model.blocks[block].classes {
            let k = self.class_pick[c as usize];
            for &h in &model.classes[c as usize] {
                self.pick[h as usize] = if k == NONE { 0 } else { k };
            }
        }
        Ok(false)
    }

    /// Enters the block's own stretches on a resource in its profile: those that `near` meets, or all.
    fn enter_own(&mut self, resource: u32, near: Option<Stretch>) {
        let profile = &mut self.profiles[resource as usize];
        let all = near.is_none() || profile.has_changeovers();
        for o in &mut self.own[resource as usize] {
            if !o.entered && (all || near.is_some_and(|n| n.from < o.stretch.to && o.stretch.from < n.to)) {
                profile.add(o.stretch);
                o.entered = true;
            }
        }
    }

    fn on_calendar(&self, resource: u32, s: Stretch) -> bool {
        let p = self.model.problem;
        p.resources[resource as usize].calendar.is_none_or(|c| {
            let open = &p.calendars[c.index()].open;
            let i = open.partition_point(|o| o.to < s.to);
            i < open.len() && open[i].from <= s.from
        })
    }

    /// The first choice all of whose stretches fit now; else the one tried before.
    fn pick_class(&mut self, class: u32) {
        let model = self.model;
        let holds = &model.classes[class as usize];
        let before = self.pick[holds[0] as usize];
        let choices = model.problem.holds[holds[0] as usize].choose.len() as u32;
        let order = std::iter::once(before).chain((0..choices).filter(|&k| k != before));
        for &h in holds {
            for r in &model.problem.holds[h as usize].choose {
                self.enter_own(r.0, None);
            }
        }
        let all_fit = |k: u32| {
            holds.iter().all(|&h| {
                self.stretch(h, k).is_none_or(|(r, s)| self.profiles[r as usize].fits(s) && self.on_calendar(r, s))
            })
        };
        let k = order.into_iter().find(|&k| all_fit(k)).unwrap_or(before);
        self.class_pick[class as usize] = k;
    }

    /// Settles a choice for every class whose holds cannot agree on one; `true` when that pushed something.
    fn fix_classes(&mut self, block: usize, push: Push) -> Result<bool, Blocked> {
        let model = self.model;
        let mut moved = false;
        for &c in &model.blocks[block].classes {
            if self.class_pick[c as usize] != NONE {
                continue;
            }
            let holds = &model.classes[c as usize];
            let choices = model.problem.holds[holds[0] as usize].choose.len() as u32;
            let mut best: Option<(i64, u32)> = None;
            for k in 0..choices {
                let mut sum = 0i64;
                for &h in holds {
                    sum += match self.limit(h, k, push) {
                        Some((now, then)) => (i64::from(then) - i64::from(now)).abs(),
                        None => i64::from(Minute::MAX),
                    };
                }
                if best.is_none_or(|b| sum < b.0) {
                    best = Some((sum, k));
                }
            }
            let Some((sum, k)) = best else { continue };
            if sum > 0 {
                self.class_pick[c as usize] = k;
                for &h in holds {
                    self.push_hold(h, push)?;
                }
                moved = true;
            }
        }
        Ok(moved)
    }
}
