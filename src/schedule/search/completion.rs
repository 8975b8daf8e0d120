//! What is still to come costs at least, at the prices of crowded resources: a bound for any set of blocks not yet begun.

use super::load::{Load, UNIT};
use super::sequence::states::Lent;
use crate::schedule::Minute;

/// Sums beyond this say no more.
const MOST: i64 = i64::MAX / 64;

pub(super) struct Completion<'l> {
    load: &'l Load,
    /// By bucket and job: the least it costs and pays when it begins there or later.
    least: Vec<Vec<i64>>,
    /// By bucket: what the room from there on is worth.
    room: Vec<i64>,
}

impl<'l> Completion<'l> {
    /// `None` where prices are too high to be added up.
    pub fn new(load: &'l Load) -> Option<Self> {
        let (n, jobs) = (load.grid.buckets, load.jobs.len());
        let mut room = vec![0; n + 1];
        for k in (0..n).rev() {
            let worth = |p: &super::load::Pool| i128::from(p.price[k]) * i128::from(p.room[k]);
            let sum: i128 = load.pools.iter().filter(|p| !p.price.is_empty()).map(worth).sum();
            room[k] = i64::try_from(sum + i128::from(room[k + 1])).ok().filter(|&r| r < MOST)?;
        }
        let mut least = vec![vec![MOST; jobs]; n + 1];
        for j in 0..jobs {
            load.each_price(j, &mut |start, price| {
                let least = &mut least[load.grid.bucket(start)][j];
                *least = (*least).min(price.clamp(i128::from(-MOST), i128::from(MOST)) as i64);
            });
            for k in (0..n).rev() {
                least[k][j] = least[k][j].min(least[k + 1][j]);
            }
        }
        Some(Self { load, least, room })
    }

    /// An amount lent until then, with what it pays.
    pub fn lent(&self, pool: u8, until: Minute, amount: i32) -> Lent {
        let paid = i128::from(self.load.paid(pool as usize, until)) * i128::from(amount);
        Lent { pool, until, amount, paid: paid.min(i128::from(MOST)) as i64 }
    }

    /// Of all blocks not in `set`, beginning at or after `at`, with so much lent by then.
    pub fn least(&self, set: u32, at: Minute, lent: &[Lent]) -> i64 {
        let k = self.load.grid.bucket(at);
        let mut sum = -self.room[k];
        for (j, &least) in self.least[k].iter().enumerate() {
            if set >> j & 1 == 0 {
                sum = sum.saturating_add(least);
            }
        }
        let (mut pool, mut paid) = (u8::MAX, 0);
        for l in lent {
            if l.pool != pool {
                (pool, paid) = (l.pool, self.load.paid(l.pool as usize, at));
            }
            // Only what is lent from here on.
            sum = sum.saturating_add(l.paid.saturating_sub(paid.saturating_mul(i64::from(l.amount))).max(0));
        }
        // Whatever the prices, nothing costs less than nothing.
        sum.div_euclid(UNIT).max(0)
    }
}
