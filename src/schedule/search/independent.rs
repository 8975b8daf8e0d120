//! As many as are wanted of which no two get in each other's way: an independent set, searched for exactly.
//!
//! Branch and bound. How many more there can be is bounded by cliques that cover what is left: of those that all get in each
//! other's way at most one goes (colouring bound on the complement; Tomita and Seki 2003). Where windows do most of the
//! keeping apart the graph is nearly one of intervals, the bound is nearly always sharp, and a handful of nodes settle it.

/// Members of a set by number, a bit each.
#[derive(Clone, Copy, Default, PartialEq, Eq, Debug)]
pub(super) struct Bits([u64; Bits::WORDS]);

impl Bits {
    const WORDS: usize = 4;
    /// As many members as there are bits for.
    pub const MOST: usize = 64 * Bits::WORDS;

    pub fn add(&mut self, i: usize) {
        self.0[i / 64] |= 1 << (i % 64);
    }

    pub fn remove(&mut self, i: usize) {
        self.0[i / 64] &= !(1 << (i % 64));
    }

    /// All members up to, and without, `end`.
    pub fn below(end: usize) -> Self {
        let word = |w: usize| match end.saturating_sub(64 * w) {
            0 => 0,
            n if n >= 64 => u64::MAX,
            n => (1 << n) - 1,
        };
        Self(std::array::from_fn(word))
    }

    pub fn and(mut self, other: &Self) -> Self {
        self.0.iter_mut().zip(other.0).for_each(|(a, b)| *a &= b);
        self
    }

    pub fn or(mut self, other: &Self) -> Self {
        self.0.iter_mut().zip(other.0).for_each(|(a, b)| *a |= b);
        self
    }

    pub fn without(mut self, other: &Self) -> Self {
        self.0.iter_mut().zip(other.0).for_each(|(a, b)| *a &= !b);
        self
    }

    fn first(&self) -> Option<usize> {
        let word = self.0.iter().position(|w| *w != 0)?;
        Some(word * 64 + self.0[word].trailing_zeros() as usize)
    }
}

struct Search<'a> {
    /// By member: those it cannot go with.
    rivals: &'a [Bits],
    wanted: usize,
    nodes: usize,
    set: Vec<usize>,
}

/// A set of `wanted` members of `left` no two of which are rivals, where there is one; nothing where there is none or `nodes`
/// are used up before it is known. `rivals[i]` has those that `i` cannot go with, itself left out.
pub(super) fn independent(rivals: &[Bits], left: Bits, wanted: usize, nodes: usize) -> Option<Vec<usize>> {
    let mut search = Search { rivals, wanted, nodes, set: Vec::with_capacity(wanted) };
    search.within(left).then_some(search.set)
}

impl Search<'_> {
    /// Completes the set from those left.
    fn within(&mut self, mut left: Bits) -> bool {
        loop {
            if self.set.len() >= self.wanted {
                return true;
            }
            if self.nodes == 0 || !self.may_reach(left) {
                return false;
            }
            self.nodes -= 1;
            let Some(i) = left.first() else { return false };
            left.remove(i);
            self.set.push(i);
            if self.within(left.without(&self.rivals[i])) {
                return true;
            }
            self.set.pop();
            if left.and(&self.rivals[i]) == Bits::default() {
                // It was in nobody's way: without it there is nothing to be had.
                return false;
            }
        }
    }

    /// Is the set with one of each clique large enough?
    fn may_reach(&self, mut left: Bits) -> bool {
        (self.set.len()..self.wanted).all(|_| take_clique(self.rivals, &mut left, |_| {}))
    }
}

/// Takes members that all get in each other's way out of those left, the first of them and what goes with it; `false` when none
/// is left.
fn take_clique(rivals: &[Bits], left: &mut Bits, mut took: impl FnMut(usize)) -> bool {
    let mut clique = *left;
    let mut any = false;
    while let Some(i) = clique.first() {
        any = true;
        left.remove(i);
        took(i);
        clique = clique.and(&rivals[i]);
    }
    any
}

/// By member the number of its clique, where no more than `most` cliques take all of them: then no more can be independent.
pub(super) fn cliques(rivals: &[Bits], most: usize) -> Option<Vec<u16>> {
    let mut of = vec![0; rivals.len()];
    let mut left = Bits::below(rivals.len());
    for number in 0..most {
        take_clique(rivals, &mut left, |i| of[i] = number as u16);
    }
    (left == Bits::default()).then_some(of)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::schedule::search::rng::Rng;

    fn of_pairs(n: usize, rivals_of: impl Fn(usize, usize) -> bool) -> Vec<Bits> {
        let row = |i: usize| {
            let mut bits = Bits::default();
            (0..n).filter(|&j| j != i && rivals_of(i, j)).for_each(|j| bits.add(j));
            bits
        };
        (0..n).map(row).collect()
    }

    /// As many as there can be, by asking for one more until there is none; every set on the way is looked at.
    fn most(rivals: &[Bits]) -> usize {
        let mut size = 0;
        while let Some(set) = independent(rivals, Bits::below(rivals.len()), size + 1, usize::MAX) {
            size += 1;
            assert_eq!(set.len(), size);
            for (i, &a) in set.iter().enumerate() {
                assert!(
                    set[..i]
                        .iter()
                        .all(|&b| a != b && rivals[a].without(&rivals[a].without(&one(b))) == Bits::default())
                );
            }
        }
        size
    }

    fn one(i: usize) -> Bits {
        let mut bits = Bits::default();
        bits.add(i);
        bits
    }

    /// Against every subset.
    #[test]
    fn as_many_as_the_best_of_all_subsets_has() {
        let mut rng = Rng::new(1);
        let mut sizes = [0; 14];
        for _ in 0..400 {
            let n = 1 + rng.below(12);
            let percent = rng.below(100);
            let pairs: Vec<Vec<bool>> = (0..n).map(|i| (0..i).map(|_| rng.chance(percent)).collect()).collect();
            let fits = |subset: u32| {
                let inside = |i: &usize| subset >> i & 1 == 1;
                (0..n).filter(inside).all(|i| (0..i).filter(inside).all(|j| !pairs[i][j]))
            };
            let best = (0..1u32 << n).filter(|&s| fits(s)).map(u32::count_ones).max().unwrap() as usize;
            assert_eq!(most(&of_pairs(n, |i, j| pairs[i.max(j)][i.min(j)])), best, "{pairs:?}");
            sizes[best] += 1;
        }
        assert!(sizes.iter().filter(|&&s| s > 0).count() > 8, "{sizes:?}");
    }

    /// Cliques are cliques, take every member, and are no fewer than the best of all subsets has; of intervals as many.
    #[test]
    fn no_more_are_independent_than_cliques_take_all() {
        let mut rng = Rng::new(3);
        let mut sharp = 0;
        for _ in 0..300 {
            let n = 1 + rng.below(40);
            let mut of: Vec<(usize, usize)> =
                (0..n).map(|_| (rng.below(60), 1 + rng.below(20))).map(|(a, l)| (a + l, a)).collect();
            of.sort_unstable();
            let percent = rng.below(4) * 5;
            let loose: Vec<bool> = (0..n * n).map(|_| rng.chance(percent)).collect();
            let rivals =
                of_pairs(n, |i, j| of[i].1 <= of[j].0 && of[j].1 <= of[i].0 && !loose[i.min(j) * n + i.max(j)]);
            let best = most(&rivals);
            assert_eq!(cliques(&rivals, best - 1), None);
            let Some(number) = cliques(&rivals, best) else {
                assert!(percent > 0, "of intervals the first of what is left by their ends are always enough");
                continue;
            };
            sharp += 1;
            for i in 0..n {
                assert!((number[i] as usize) < best);
                assert!((0..i).all(|j| number[j] != number[i] || rivals[i].and(&one(j)) != Bits::default()));
            }
        }
        assert!(sharp > 150, "{sharp}");
    }

    /// Of intervals, those that end first before others are as many as can be (Gavril 1972); up to the last bit.
    #[test]
    fn of_intervals_as_many_as_those_that_end_first() {
        let mut rng = Rng::new(2);
        for n in [1, 63, 64, 65, 200, Bits::MOST] {
            let mut of: Vec<(usize, usize)> =
                (0..n).map(|_| (rng.below(400), 1 + rng.below(40))).map(|(a, l)| (a + l, a)).collect();
            of.sort_unstable();
            let (mut end, mut count) = (0, 0);
            for &(to, from) in &of {
                if count == 0 || from > end {
                    (end, count) = (to, count + 1);
                }
            }
            assert_eq!(most(&of_pairs(n, |i, j| of[i].1 <= of[j].0 && of[j].1 <= of[i].0)), count);
        }
    }

    /// With no nodes left nothing is said, whatever there is.
    #[test]
    fn nothing_is_said_without_nodes() {
        let free = vec![Bits::default(); 5];
        assert_eq!(independent(&free, Bits::below(5), 3, 0), None);
        assert_eq!(independent(&free, Bits::below(5), 3, 10).map(|s| s.len()), Some(3));
        assert_eq!(independent(&free, Bits::below(5), 0, 0), Some(vec![]));
    }
}
