//! From a first plan to better ones.

use super::construct::place;
use super::polish::{Saved, polish, wake_moved};
use super::rng::Rng;
use super::space::{Push, Space};
use super::tally::Tally;
use crate::schedule::Stop;

struct Improver<'s, 'a> {
    space: &'s mut Space<'a>,
    tally: Tally,
    stop: &'s dyn Stop,
    /// Told of every gain; `true` when it has heard enough.
    offer: &'s mut dyn FnMut(&Space) -> bool,
    /// Activities whose small moves are worth trying again.
    awake: Vec<bool>,
    /// What the best plan met costs, and its blocks where it is not the one that is worked on.
    best: Vec<i64>,
    home: Option<Vec<(usize, Saved)>>,
    /// Rounds since the last gain.
    idle: usize,
}

/// Rounds without a gain, for each block, after which the work goes on at the best plan again, or away from it.
const AWAY: usize = 25;

/// Improves the placed blocks of `space` until `stop` says so or `offer` has heard enough; `offer` is told of every gain.
pub(super) fn improve(
    space: &mut Space,
    rng: &mut Rng,
    stop: &dyn Stop,
    bound: &[i64],
    offer: &mut dyn FnMut(&Space) -> bool,
) {
    let tally = Tally::new(space.model, &space.starts);
    let blocks = space.model.blocks.len();
    let awake = vec![true; space.model.problem.activities.len()];
    let best = tally.cost.clone();
    if blocks == 0 || best.as_slice() == bound {
        return;
    }
    let mut it = Improver { space, tally, stop, offer, awake, best, home: None, idle: 0 };
    // Where the first level may still get better, the work begins away from the best plan.
    let open = |it: &Improver<'_, '_>| it.best.first() > bound.first();
    if open(&it) && it.wander(rng) {
        return;
    }
    // Small moves first where a level above the spells has something to gain; else the spells, which move more.
    let above = it.space.model.spells.iter().map(|t| t.level).min().unwrap_or(0);
    let first = it.tally.cost[..above] != bound[..above];
    for turn in 0..2 {
        if turn == 1 || first {
            for b in 0..blocks {
                polish(it.space, &mut it.tally, b, &mut it.awake, rng, &mut |n| stop.should_stop(n));
                if it.tell() {
                    return;
                }
            }
        }
        if turn == 0 {
            it.close_all(rng);
        }
        if it.tell() {
            return;
        }
    }
    let spells = it.space.model.spells.len();
    // Rounds that change nothing at all (no block can move) must not go on for ever without a node being counted.
    while !it.done() {
        let before = it.space.nodes;
        match rng.below(10) {
            0..=2 if spells > 0 => it.close_spell(rng),
            3 if rng.chance(20) && it.tally.cost.first() > bound.first() => it.hurry(rng),
            3 => it.shift(rng),
            4..=6 => it.shift_window(rng),
            _ => it.reinsert(rng),
        }
        it.idle += 1;
        if it.tell() {
            return;
        }
        if it.idle > AWAY * blocks {
            it.idle = 0;
            match it.home.take() {
                Some(home) => it.go_back(&home),
                None if open(&it) && it.wander(rng) => return,
                None => {}
            }
        }
        if it.space.nodes == before {
            it.space.nodes += 1;
        }
    }
}

impl Improver<'_, '_> {
    /// Tells of the plan that is worked on if it is the best so far; `true` when that is enough.
    fn tell(&mut self) -> bool {
        if self.tally.cost >= self.best {
            return false;
        }
        self.best.clone_from(&self.tally.cost);
        (self.home, self.idle) = (None, 0);
        (self.offer)(self.space)
    }

    /// Away from the best plan, over plans that are no later but may be worse on every other level.
    fn wander(&mut self, rng: &mut Rng) -> bool {
        let all: Vec<usize> = (0..self.space.model.blocks.len()).collect();
        let home = self.save(&all);
        self.first_level(rng, 30 * all.len() + 100);
        self.home = (self.tally.cost > self.best).then_some(home);
        self.tell()
    }

    fn done(&self) -> bool {
        self.stop.should_stop(self.space.nodes)
    }

    fn save(&self, blocks: &[usize]) -> Vec<(usize, Saved)> {
        blocks
            .iter()
            .map(|&b| {
                let mut s = Saved::default();
                s.take(self.space, &self.tally, b);
                (b, s)
            })
            .collect()
    }

    /// Puts the saved blocks back where they were.
    fn go_back(&mut self, saved: &[(usize, Saved)]) {
        for (b, _) in saved {
            if self.space.is_placed[*b] {
                self.space.take_out(*b);
            }
        }
        for (b, s) in saved {
            s.restore(self.space, &mut self.tally, *b);
            let fits = self.space.put_back(*b);
            debug_assert!(fits, "a saved block fits where it was");
        }
    }

    /// Polishes what has moved against `saved`; goes back when the cost is then worse than `before`.
    fn finish(&mut self, saved: &[(usize, Saved)], before: &[i64], rng: &mut Rng) {
        // Small moves seldom make up for lateness or for one spell more: not worth the polish.
        let differs = self.tally.cost.iter().zip(before).position(|(a, b)| a != b);
        if let Some(level) = differs
            && self.tally.cost[level] > before[level]
            && (level == 0 || self.space.model.spells.iter().any(|t| t.level == level))
        {
            self.go_back(saved);
            return;
        }
        for (b, s) in saved {
            wake_moved(self.space, &mut self.awake, *b, s);
        }
        let stop = self.stop;
        for (b, _) in saved {
            polish(self.space, &mut self.tally, *b, &mut self.awake, rng, &mut |n| stop.should_stop(n));
        }
        if self.tally.cost.as_slice() > before {
            self.go_back(saved);
        }
    }

    /// A block to work on: half the time one that costs something on the first level that costs anything.
    fn pick(&self, rng: &mut Rng) -> usize {
        let model = self.space.model;
        if rng.chance(50)
            && let Some(level) = self.tally.cost.iter().position(|&c| c > 0)
        {
            let costly: Vec<usize> = model
                .terms
                .iter()
                .filter(|(l, t)| *l == level && t.simple_cost(model.problem, &self.space.starts) > 0)
                .filter_map(|(_, t)| super::model::term_activities(t)[0])
                // What only waits is as late as what it waits for.
                .map(|a| if model.waits[a as usize] { model.follows(a, &self.space.starts).1.unwrap_or(a) } else { a })
                .map(|a| model.block_of[a as usize] as usize)
                .collect();
            if !costly.is_empty() {
                return costly[rng.below(costly.len())];
            }
        }
        rng.below(model.blocks.len())
    }

    /// Neighbourhoods judged by the first level alone, with no polish between them; ends after so many in a row that gained
    /// nothing. `true` when the level got better.
    fn first_level(&mut self, rng: &mut Rng, patience: usize) -> bool {
        let blocks = self.space.model.blocks.len();
        let began = self.tally.cost.first().copied();
        let mut idle = 0;
        while blocks > 1 && idle < patience && self.tally.cost.first() > Some(&0) && !self.done() {
            let chosen = match rng.below(3) {
                0 => self.few(rng),
                1 => self.near(rng),
                _ => self.in_new_order(rng),
            };
            let before = self.tally.cost[0];
            let saved = self.save(&chosen);
            for &b in &chosen {
                self.space.take_out(b);
            }
            let placed = chosen.iter().all(|&b| {
                let model = self.space.model;
                self.space.load_edge(b, Push::Later);
                let ok = self.space.settle(b, Push::Later).is_ok() && {
                    self.space.keep(b);
                    self.space.put_back(b)
                };
                if ok {
                    self.tally.update(model, b, &self.space.starts);
                }
                ok
            });
            idle = if placed && self.tally.cost[0] < before { 0 } else { idle + 1 };
            if !placed || self.tally.cost[0] > before {
                self.go_back(&saved);
            } else {
                for (b, s) in &saved {
                    wake_moved(self.space, &mut self.awake, *b, s);
                }
            }
        }
        self.tally.cost.first().copied() < began
    }

    /// Two to five blocks, late ones more often.
    fn few(&self, rng: &mut Rng) -> Vec<usize> {
        let size = 2 + rng.below(self.space.model.blocks.len().min(5) - 1);
        let mut chosen = Vec::new();
        for _ in 0..3 * size {
            let b = self.pick(rng);
            if !chosen.contains(&b) && chosen.len() < size {
                chosen.push(b);
            }
        }
        rng.shuffle(&mut chosen);
        chosen
    }

    /// A stretch of the blocks in the order of their begins, with one of them moved to another place in it.
    fn in_new_order(&self, rng: &mut Rng) -> Vec<usize> {
        let by = self.by_begin();
        let one = self.pick(rng);
        let at = by.iter().position(|&b| b == one).unwrap_or(0);
        let from = at.saturating_sub(1 + rng.below(12));
        let to = if rng.chance(50) { by.len() } else { by.len().min(at + 2 + rng.below(12)) };
        let mut chosen = by[from..to].to_vec();
        chosen.retain(|&b| b != one);
        let place = if rng.chance(70) { rng.below(at - from + 1) } else { rng.below(chosen.len() + 1) };
        chosen.insert(place, one);
        chosen
    }

    /// All blocks in the order of their first activities.
    fn by_begin(&self) -> Vec<usize> {
        let mut by: Vec<usize> = (0..self.space.model.blocks.len()).collect();
        by.sort_by_cached_key(|&b| self.begin(b));
        by
    }

    fn begin(&self, block: usize) -> i32 {
        let mine = &self.space.model.blocks[block].activities;
        mine.iter().map(|&a| self.space.starts[a as usize]).min().unwrap_or(0)
    }

    /// Blocks that begin at about the same time as a late one: those that may have taken its place.
    fn near(&self, rng: &mut Rng) -> Vec<usize> {
        let at = self.begin(self.pick(rng));
        let mut by: Vec<(i32, usize)> =
            (0..self.space.model.blocks.len()).map(|b| ((self.begin(b) - at).abs(), b)).collect();
        by.sort_unstable();
        let size = 2 + rng.below(by.len().min(10) - 1);
        // Some of twice as many, so that the same stretch is not always tried with the same blocks.
        by.truncate(2 * size);
        rng.shuffle(&mut by);
        by.truncate(size);
        by.into_iter().map(|x| x.1).collect()
    }

    /// A bout on the first level alone; its plan is kept, and polished, only when that level got better.
    fn hurry(&mut self, rng: &mut Rng) {
        let blocks = self.space.model.blocks.len();
        let all: Vec<usize> = (0..blocks).collect();
        let saved = self.save(&all);
        let before = self.tally.cost.clone();
        if self.first_level(rng, 10 * blocks + 50) {
            self.finish(&saved, &before, rng);
        } else {
            self.go_back(&saved);
        }
    }

    /// Takes out a few blocks and puts them back in another order, from another side.
    fn reinsert(&mut self, rng: &mut Rng) {
        let blocks = self.space.model.blocks.len();
        let size = 1 + rng.below(blocks.min(5));
        let mut chosen = Vec::new();
        for _ in 0..4 * size {
            let b = self.pick(rng);
            if !chosen.contains(&b) {
                chosen.push(b);
            }
            if chosen.len() == size {
                break;
            }
        }
        let before = self.tally.cost.clone();
        let saved = self.save(&chosen);
        for &b in &chosen {
            self.space.take_out(b);
        }
        rng.shuffle(&mut chosen);
        for &b in &chosen {
            if !self.insert_somehow(b, rng) {
                self.go_back(&saved);
                return;
            }
        }
        self.finish(&saved, &before, rng);
    }

    /// Places an unplaced block: earliest, latest, or pushed on from where it stood, moved by some days.
    fn insert_somehow(&mut self, block: usize, rng: &mut Rng) -> bool {
        let model = self.space.model;
        let done = match rng.below(4) {
            0 => {
                self.space.load_edge(block, Push::Earlier);
                self.space.settle(block, Push::Earlier).is_ok()
            }
            1 => {
                let by = 1440 * (rng.below(9) as i32 - 4) + 15 * (rng.below(33) as i32 - 16);
                self.space.load(block, true);
                for &a in &model.blocks[block].activities {
                    let i = a as usize;
                    self.space.set(a, (self.space.starts[i] + by).clamp(model.lo[i], model.hi[i]));
                }
                let push = if rng.chance(50) { Push::Later } else { Push::Earlier };
                self.space.settle(block, push).is_ok()
            }
            _ => false,
        };
        let placed = if done {
            self.space.keep(block);
            self.space.put_back(block)
        } else {
            place(self.space, block, rng)
        };
        if placed {
            self.tally.update(model, block, &self.space.starts);
        }
        placed
    }

    /// Moves one block by some days and polishes it there.
    fn shift(&mut self, rng: &mut Rng) {
        let b = self.pick(rng);
        let saved = self.save(&[b]);
        self.space.take_out(b);
        if self.insert_somehow(b, rng) {
            let before = saved[0].1.cost.clone();
            self.finish(&saved, &before, rng);
        } else {
            self.go_back(&saved);
        }
    }

    /// Moves everything that starts in some stretch of time by the same length, across blocks.
    fn shift_window(&mut self, rng: &mut Rng) {
        const WIDE: [i32; 5] = [0, 180, 720, 2880, 10_080];
        const STEPS: [i32; 8] = [5, 15, 60, 240, 720, 1440, 1440, 2880];
        let model = self.space.model;
        let one = rng.below(model.problem.activities.len());
        let from = self.space.starts[one];
        let to = from + WIDE[rng.below(WIDE.len())];
        let by = STEPS[rng.below(STEPS.len())] * if rng.chance(50) { 1 } else { -1 };
        let push = if by > 0 { Push::Later } else { Push::Earlier };
        let inside = |start: i32| (from..=to).contains(&start);
        let mut blocks: Vec<usize> = Vec::new();
        for (i, &s) in self.space.starts.iter().enumerate() {
            let b = model.block_of[i] as usize;
            if inside(s) && model.lo[i] < model.hi[i] && !blocks.contains(&b) {
                blocks.push(b);
            }
        }
        if blocks.is_empty() || blocks.len() > 12 {
            return;
        }
        let before = self.tally.cost.clone();
        let saved = self.save(&blocks);
        for &b in &blocks {
            self.space.take_out(b);
        }
        rng.shuffle(&mut blocks);
        for &b in &blocks {
            self.space.load(b, false);
            for &a in &model.blocks[b].activities {
                let i = a as usize;
                if inside(self.space.starts[i]) && model.lo[i] < model.hi[i] {
                    let start = (self.space.starts[i] + by).clamp(model.lo[i], model.hi[i]);
                    self.space.set(a, start);
                }
            }
            // The others of the block have to make way for blocks put back before it, too.
            for &a in &model.blocks[b].activities {
                let s = self.space.s[a as usize];
                self.space.set(a, s);
            }
            let placed = self.space.settle(b, push).is_ok() && {
                self.space.keep(b);
                self.space.put_back(b)
            };
            if !placed {
                self.go_back(&saved);
                return;
            }
            self.tally.update(model, b, &self.space.starts);
        }
        self.finish(&saved, &before, rng);
    }

    /// Closes one used spell: its activities go to spells in use, each block by exact insertion with all others closed.
    fn close_spell(&mut self, rng: &mut Rng) {
        let model = self.space.model;
        let t = rng.below(model.spells.len());
        let used: Vec<usize> = (0..self.tally.counts[t].len()).filter(|&i| self.tally.counts[t][i] > 0).collect();
        if used.is_empty() {
            return;
        }
        // The emptier of three.
        let target =
            (0..3).map(|_| used[rng.below(used.len())]).min_by_key(|&i| self.tally.counts[t][i]).unwrap_or(used[0]);
        self.close(t, target, rng);
    }

    /// Tries to close each used spell once, the emptiest first, the terms in the order of their levels.
    fn close_all(&mut self, rng: &mut Rng) {
        for t in 0..self.space.model.spells.len() {
            let mut used: Vec<usize> =
                (0..self.tally.counts[t].len()).filter(|&i| self.tally.counts[t][i] > 0).collect();
            rng.shuffle(&mut used);
            used.sort_by_key(|&i| self.tally.counts[t][i]);
            for i in used {
                if self.done() {
                    return;
                }
                if self.tally.counts[t][i] > 0 {
                    self.close(t, i, rng);
                }
            }
        }
    }

    fn close(&mut self, t: usize, target: usize, rng: &mut Rng) {
        let model = self.space.model;
        let mut blocks: Vec<usize> = Vec::new();
        for (k, a) in model.spells[t].activities.iter().enumerate() {
            let b = model.block_of[a.index()] as usize;
            if self.tally.place(t, k) == Some(target) && !blocks.contains(&b) {
                blocks.push(b);
            }
        }
        let before = self.tally.cost.clone();
        let saved = self.save(&blocks);
        rng.shuffle(&mut blocks);
        // Sometimes one unused spell more may open.
        let spare = rng.chance(40).then(|| {
            let n = self.tally.counts[t].len();
            (target + rng.below(15)).saturating_sub(7).min(n - 1)
        });
        for &b in &blocks {
            self.space.take_out(b);
        }
        for i in 0..blocks.len() {
            let b = blocks[i];
            self.mask_to_others(&blocks[i..], (t, target), spare);
            self.space.masked = true;
            let placed = self.place_masked(b, rng);
            self.space.masked = false;
            if !placed {
                self.go_back(&saved);
                return;
            }
        }
        self.finish(&saved, &before, rng);
    }

    /// Closes every spell that only blocks still to be placed use, in the term worked on; other terms stay open.
    fn mask_to_others(&mut self, waiting: &[usize], closing: (usize, usize), spare: Option<usize>) {
        let model = self.space.model;
        for (t, closed) in self.space.closed.iter_mut().enumerate() {
            if t != closing.0 {
                closed.fill(false);
                continue;
            }
            let mut counts = self.tally.counts[t].clone();
            for (k, a) in model.spells[t].activities.iter().enumerate() {
                if waiting.contains(&(model.block_of[a.index()] as usize))
                    && let Some(i) = self.tally.place(t, k)
                    && i == closing.1
                {
                    counts[i] -= 1;
                }
            }
            for (i, c) in closed.iter_mut().enumerate() {
                *c = counts[i] == 0 && spare != Some(i);
            }
            closed[closing.1] = true;
        }
    }

    /// The cheapest of three placings under the mask: pushed later, pushed earlier, from the start.
    fn place_masked(&mut self, block: usize, rng: &mut Rng) -> bool {
        let model = self.space.model;
        let mut kept = Saved::default();
        kept.take(self.space, &self.tally, block);
        let mut best: Option<Saved> = None;
        for way in 0..4 {
            let push = if way % 2 == 0 { Push::Later } else { Push::Earlier };
            if way < 2 {
                self.space.load(block, true);
            } else {
                if best.is_some() && rng.chance(70) {
                    continue;
                }
                self.space.load_edge(block, push);
            }
            if self.space.settle(block, push).is_err() {
                continue;
            }
            self.space.keep(block);
            self.tally.update(model, block, &self.space.starts);
            if best.as_ref().is_none_or(|b| self.tally.cost < b.cost) {
                let mut s = Saved::default();
                s.take(self.space, &self.tally, block);
                best = Some(s);
            }
            kept.restore(self.space, &mut self.tally, block);
        }
        let Some(best) = best else { return false };
        best.restore(self.space, &mut self.tally, block);
        self.space.put_back(block)
    }
}
