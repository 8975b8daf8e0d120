//! Spells: in which interval of a calendar a start falls, and which activities can never share one.
//!
//! How many spells are needed at least is a question of independent sets: activities no two of which can start in one interval
//! need one each. Two cannot where their windows have no interval in common (the classical stabbing bound), nor where the
//! lags alone hold them further apart than any interval is long, wherever they stand: a turn and the next, a lift and the pot.

use super::independent::{Bits, cliques, independent};
use super::model::Model;
use crate::schedule::{Interval, Minute};

/// Odd inside an interval, even in the gap before it.
pub(crate) fn place(open: &[Interval], at: Minute) -> usize {
    let i = open.partition_point(|o| o.to <= at);
    if i < open.len() && open[i].from <= at { 2 * i + 1 } else { 2 * i }
}

/// First and last minute of a place.
pub(crate) fn edges(open: &[Interval], place: usize) -> (Minute, Minute) {
    let i = place / 2;
    if place % 2 == 1 {
        (open[i].from, open[i].to - 1)
    } else {
        let from = if i == 0 { Minute::MIN / 2 } else { open[i - 1].to };
        let to = open.get(i).map_or(Minute::MAX / 2, |o| o.from - 1);
        (from, to)
    }
}

/// First and last place an activity may start in.
pub(crate) type Range = (usize, usize);

/// Places from first to last, as words and the bits in them.
fn words(first: usize, last: usize) -> impl Iterator<Item = (usize, u64)> {
    (first / 64..=last / 64).map(move |word| {
        let from = if word == first / 64 { first % 64 } else { 0 };
        let to = if word == last / 64 { last % 64 } else { 63 };
        (word, (u64::MAX << from) & (u64::MAX >> (63 - to)))
    })
}

/// The activities of one spells term, and which of them the lags hold so far apart that no interval takes both.
pub(crate) struct NeverTogether {
    /// By activity of the term: its block, counted among those that have any, and its number in there.
    seat: Vec<(usize, usize)>,
    blocks: Vec<Block>,
    /// The blocks with the longest chains.
    bases: Vec<usize>,
}

/// Activities (places in a term's list) no two of which can share an interval, and where it is known why there are no more.
#[derive(Default)]
pub(crate) struct Apart {
    pub set: Vec<usize>,
    /// By activity: one of as many groups as the set has members; any two of a group can share an interval. `None` where there may
    /// be more than the set has.
    groups: Option<Vec<u16>>,
}

struct Block {
    /// Places in the term's list, earliest window first.
    members: Vec<usize>,
    /// Row by row, as many as members: are they never in one interval?
    far: Vec<bool>,
    /// Members of which no two are ever in one interval.
    chain: Vec<usize>,
}

impl NeverTogether {
    /// Blocks that are tried as the base of a set, and as many where an exact look follows.
    const BASES: usize = 8;
    const FEW_BASES: usize = 2;
    /// In a block of more members the lags are not followed from each: too dear for what it brings.
    const MOST: usize = 500;
    /// How few more than the greedy choice has are worth an exact look.
    const SHORT: usize = 2;
    /// Nodes of it; a handful nearly always do.
    const NODES: usize = 1000;

    pub fn new(model: &Model, activities: &[u32], open: &[Interval]) -> Self {
        let longest = open.iter().map(|o| o.to - 1 - o.from).max().unwrap_or(0);
        let mut by_block: Vec<Vec<usize>> = vec![Vec::new(); model.blocks.len()];
        for (k, &a) in activities.iter().enumerate() {
            by_block[model.block_of[a as usize] as usize].push(k);
        }
        let mut seat = vec![(0, 0); activities.len()];
        let mut number = vec![u32::MAX; model.lo.len()];
        let mut blocks = Vec::new();
        for (b, mut members) in by_block.into_iter().enumerate().filter(|(_, m)| !m.is_empty()) {
            members.sort_by_key(|&k| (model.lo[activities[k] as usize], k));
            for (i, &a) in model.blocks[b].activities.iter().enumerate() {
                number[a as usize] = i as u32;
            }
            let m = members.len();
            let mut far = vec![false; if m > Self::MOST { 0 } else { m * m }];
            for (i, &k) in members.iter().enumerate() {
                seat[k] = (blocks.len(), i);
                if m > Self::MOST {
                    continue;
                }
                let after = longest_ways(model, b, activities[k], &number);
                for (j, &l) in members.iter().enumerate() {
                    if after[number[activities[l] as usize] as usize].is_some_and(|d| d > longest) {
                        far[i * m + j] = true;
                        far[j * m + i] = true;
                    }
                }
            }
            let mut chain: Vec<usize> = Vec::new();
            for i in 0..m {
                if chain.iter().all(|&c| far.get(i * m + c) == Some(&true)) {
                    chain.push(i);
                }
            }
            let chain = chain.into_iter().map(|i| members[i]).collect();
            blocks.push(Block { members, far, chain });
        }
        let mut bases: Vec<usize> = (0..blocks.len()).collect();
        bases.sort_by_key(|&b| std::cmp::Reverse(blocks[b].chain.len()));
        bases.truncate(Self::BASES);
        Self { seat, blocks, bases }
    }

    /// Never in one interval, wherever they stand.
    pub fn always(&self, x: usize, y: usize) -> bool {
        let ((b, i), (c, j)) = (self.seat[x], self.seat[y]);
        b == c && self.blocks[b].far.get(i * self.blocks[b].members.len() + j) == Some(&true)
    }

    /// Can no two of a set share an interval while each stays in its range? One without a range is of no set.
    pub fn are_apart(&self, set: &[usize], ranges: &[Option<Range>]) -> bool {
        let meet = |x: usize, y: usize| match (ranges[x], ranges[y]) {
            (Some(a), Some(b)) => a.0 <= b.1 && b.0 <= a.1 && !self.always(x, y),
            _ => true,
        };
        set.iter().enumerate().all(|(n, &x)| ranges[x].is_some() && set[..n].iter().all(|&y| !meet(x, y)))
    }

    /// Is a set, made for other ranges, still one and still as large as can be? Looked at in a moment: its members are apart, and
    /// all of a group still have a place in common.
    pub fn stands(&self, apart: &Apart, ranges: &[Option<Range>]) -> bool {
        let Some(groups) = &apart.groups else { return false };
        let mut common = vec![(0, usize::MAX); apart.set.len()];
        for ((first, last), &group) in ranges.iter().zip(groups).filter_map(|(r, g)| Some(((*r)?, g))) {
            let Some(common) = common.get_mut(group as usize) else { return false };
            *common = (common.0.max(first), common.1.min(last));
            if common.0 > common.1 {
                return false;
            }
        }
        self.are_apart(&apart.set, ranges)
    }

    /// Activities (places in the term's list) no two of which can share an interval while each stays in its range; those
    /// without a range are left out, and no more than `enough` are asked for. First a greedy choice: what one block cannot
    /// put together is taken whole, then whatever goes with it, those that end first before others. Where a little more
    /// would be enough, or as many as can be are asked for, it is looked for exactly.
    pub fn largest(&self, ranges: &[Option<Range>], enough: usize) -> Apart {
        let mut order: Vec<(usize, usize, usize)> =
            ranges.iter().enumerate().filter_map(|(k, r)| r.map(|r| (r.1, r.0, k))).collect();
        order.sort_unstable();
        let places = order.last().map_or(0, |o| o.0 + 1);
        let mut best: Vec<usize> = Vec::new();
        let mut groups = None;
        let mut set: Vec<(usize, usize, usize)> = Vec::new();
        // By place: one bit, set where the base may stand.
        let mut based = vec![0u64; places / 64 + 1];
        let exactly = order.len() <= Bits::MOST;
        let bases = if exactly { Self::FEW_BASES } else { Self::BASES };
        for base in self.bases.iter().take(bases).copied().map(Some).chain([None]) {
            set.clear();
            based.fill(0);
            let chain = base.map_or(&[][..], |b| &self.blocks[b].chain);
            for (first, last, k) in chain.iter().filter_map(|&k| ranges[k].map(|r| (r.0, r.1, k))) {
                set.push((last, first, k));
                words(first, last).for_each(|(word, bits)| based[word] |= bits);
            }
            let base_size = set.len();
            for &one in &order {
                let (last, first, k) = one;
                let goes = |s: &(usize, usize, usize)| s.0 < first || last < s.1 || self.always(s.2, k);
                // Those after the base came in order, the nearest in time last: before one that is over in time all are.
                let (of_base, others) = set.split_at(base_size);
                let free = words(first, last).all(|(word, bits)| based[word] & bits == 0)
                    || base == Some(self.seat[k].0) && of_base.iter().all(goes);
                if free && others.iter().rev().take_while(|s| s.0 >= first).all(goes) {
                    set.push(one);
                }
            }
            if set.len() > best.len() {
                best.clear();
                best.extend(set.iter().map(|s| s.2));
            }
            if best.len() >= enough {
                break;
            }
        }
        let worth_it = enough == usize::MAX || enough.saturating_sub(best.len()) <= Self::SHORT;
        if exactly && worth_it && best.len() < enough {
            let (rivals, all) = (self.rivals(&order), Bits::below(order.len()));
            while best.len() < enough {
                if let Some(of) = cliques(&rivals, best.len()) {
                    // Those without a range are of no group.
                    let mut by_activity = vec![u16::MAX; ranges.len()];
                    order.iter().zip(of).for_each(|(o, group)| by_activity[o.2] = group);
                    groups = Some(by_activity);
                    break;
                }
                let Some(set) = independent(&rivals, all, best.len() + 1, Self::NODES) else { break };
                best = set.into_iter().map(|i| order[i].2).collect();
            }
        }
        Apart { set: best, groups }
    }

    /// By place in `order`, which is by the last places: those that can share an interval with it.
    fn rivals(&self, order: &[(usize, usize, usize)]) -> Vec<Bits> {
        let places = order.last().map_or(0, |o| o.0 + 1);
        // By place: those that cannot begin before it.
        let mut later = vec![Bits::default(); places + 1];
        order.iter().enumerate().for_each(|(i, o)| later[o.1].add(i));
        for at in (0..places).rev() {
            later[at] = later[at].or(&later[at + 1]);
        }
        let mut rivals: Vec<Bits> = Vec::with_capacity(order.len());
        // By block: those there were of it, with their numbers in there.
        let mut of_block: Vec<Vec<(usize, usize)>> = vec![Vec::new(); self.blocks.len()];
        for (i, &(last, first, k)) in order.iter().enumerate() {
            let over = order.partition_point(|o| o.0 < first);
            let mut near = Bits::below(order.len()).without(&Bits::below(over)).without(&later[last + 1]);
            near.remove(i);
            let (b, seat) = self.seat[k];
            let m = self.blocks[b].members.len();
            let far = self.blocks[b].far.get(seat * m..(seat + 1) * m).unwrap_or(&[]);
            for &(j, other) in &of_block[b] {
                if far.get(other) == Some(&true) {
                    near.remove(j);
                    rivals[j].remove(i);
                }
            }
            of_block[b].push((i, seat));
            rivals.push(near);
        }
        rivals
    }
}

/// How long after `from` an activity starts at least by the lags, where they say anything.
pub(crate) fn longest_way(model: &Model, from: u32, to: u32) -> Option<Minute> {
    let block = model.block_of[from as usize];
    if model.block_of[to as usize] != block {
        return None;
    }
    let mut number = vec![u32::MAX; model.lo.len()];
    for (i, &a) in model.blocks[block as usize].activities.iter().enumerate() {
        number[a as usize] = i as u32;
    }
    longest_ways(model, block as usize, from, &number)[number[to as usize] as usize]
}

/// By activity of a block: how long after `from` it starts at least by the lags, where they say anything.
fn longest_ways(model: &Model, block: usize, from: u32, number: &[u32]) -> Vec<Option<Minute>> {
    let activities = &model.blocks[block].activities;
    // Many long maximum lags one after the other go further back than a minute can be counted in.
    let mut far: Vec<Option<i64>> = vec![None; activities.len()];
    far[number[from as usize] as usize] = Some(0);
    let mut queue = std::collections::VecDeque::from([from]);
    let mut queued = vec![false; activities.len()];
    // Lags that hold together have no cycle that pushes, so this ends; the count is for certainty.
    let mut steps = 64 * activities.len();
    while let Some(a) = queue.pop_front() {
        let here = number[a as usize] as usize;
        queued[here] = false;
        let Some(d) = far[here] else { continue };
        if steps == 0 {
            // A way that is too short only says less.
            break;
        }
        steps -= 1;
        for arc in model.out.of(a as usize) {
            let to = number[arc.other as usize] as usize;
            if to >= far.len() {
                // One that only waits, for this block and others: no way leads back from it.
                continue;
            }
            let way = d + i64::from(arc.least);
            if far[to].is_none_or(|old| way > old) {
                far[to] = Some(way);
                if !std::mem::replace(&mut queued[to], true) {
                    queue.push_back(arc.other);
                }
            }
        }
    }
    let countable = |d: i64| d.clamp(i64::from(Minute::MIN / 2), i64::from(Minute::MAX / 2)) as Minute;
    far.into_iter().map(|d| d.map(countable)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::schedule::search::rng::Rng;
    use crate::schedule::{Activity, ActivityId, Force, Lag, Problem, Reason, ReasonId};

    const CHAINS: u32 = 3;
    const LINKS: u32 = 4;
    const INTERVALS: usize = 12;

    /// A few chains, each link further from the one before it than an interval is long.
    fn chains() -> Problem {
        let (horizon, reason) = (25 * INTERVALS as Minute, ReasonId(0));
        let mut p = Problem { horizon, ..Problem::default() };
        p.reasons.push(Reason { says: "any".into(), force: Force::Means, source: "invented".into() });
        for k in 0..CHAINS * LINKS {
            let (label, group) = (k.to_string(), k / LINKS);
            p.activities.push(Activity {
                label,
                duration: 0,
                group,
                release: 0,
                latest: horizon,
                pinned: None,
                reason,
            });
            if k % LINKS > 0 {
                p.lags.push(Lag { from: ActivityId(k - 1), to: ActivityId(k), least: 30, reason });
            }
        }
        p
    }

    /// Against every subset: a set that stands in other ranges is still one, and still as large as can be; one made for the ranges
    /// stands in them.
    #[test]
    fn a_set_that_stands_is_as_large_as_the_best_of_all_subsets() {
        let p = chains();
        let model = Model::new(&p).unwrap();
        let open: Vec<Interval> =
            (0..INTERVALS as Minute).map(|i| Interval { from: 25 * i, to: 25 * i + 20 }).collect();
        let n = (CHAINS * LINKS) as usize;
        let apart = NeverTogether::new(&model, &(0..n as u32).collect::<Vec<_>>(), &open);
        let mut rng = Rng::new(7);
        let mut any = |wide: usize| {
            let first = rng.below(2 * INTERVALS);
            let last = (first + rng.below(wide)).min(2 * INTERVALS);
            (!rng.chance(5)).then_some((first, last))
        };
        let (mut stood, mut other, mut known) = (0, 0, 0);
        for round in 0..300 {
            let mut ranges: Vec<Option<Range>> = (0..n).map(|_| any(1 + round % 12)).collect();
            let of_then = apart.largest(&ranges, usize::MAX);
            assert!(apart.are_apart(&of_then.set, &ranges));
            known += usize::from(apart.stands(&of_then, &ranges));
            for _ in 0..1 + round % 4 {
                ranges[round * 7 % n] = any(12);
                let meet = |x: usize, y: usize| match (ranges[x], ranges[y]) {
                    (Some(a), Some(b)) => (a.0..=a.1).any(|p| (b.0..=b.1).contains(&p)) && !apart.always(x, y),
                    _ => true,
                };
                let met: Vec<u32> =
                    (0..n).map(|x| (0..n).filter(|&y| y != x && meet(x, y)).map(|y| 1u32 << y).sum()).collect();
                let fits = |set: u32| (0..n).all(|x| set >> x & 1 == 0 || ranges[x].is_some() && met[x] & set == 0);
                let most = (0..1u32 << n).filter(|&s| fits(s)).map(u32::count_ones).max().unwrap() as usize;
                assert_eq!(apart.largest(&ranges, usize::MAX).set.len(), most, "{ranges:?}");
                if apart.stands(&of_then, &ranges) {
                    stood += 1;
                    assert_eq!(of_then.set.len(), most, "{ranges:?}");
                    assert!(fits(of_then.set.iter().map(|&x| 1u32 << x).sum()), "{ranges:?}");
                } else {
                    other += 1;
                }
            }
        }
        assert!(stood > 100 && other > 100 && known > 250, "{stood} {other} {known}");
    }
}
