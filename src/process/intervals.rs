//! Sets of minutes as sorted, disjoint, non-touching intervals.

use crate::schedule::{Interval, Minute};

/// Sorts and joins overlapping or touching intervals; empty ones go.
pub fn union(mut all: Vec<Interval>) -> Vec<Interval> {
    all.retain(|i| i.from < i.to);
    all.sort_by_key(|i| i.from);
    let mut out: Vec<Interval> = Vec::with_capacity(all.len());
    for i in all {
        match out.last_mut() {
            Some(last) if i.from <= last.to => last.to = last.to.max(i.to),
            _ => out.push(i),
        }
    }
    out
}

/// `[0, horizon)` without `holes`.
pub fn complement(holes: &[Interval], horizon: Minute) -> Vec<Interval> {
    let mut out = Vec::new();
    let mut at = 0;
    for h in holes {
        if h.from > at {
            out.push(Interval { from: at, to: h.from.min(horizon) });
        }
        at = at.max(h.to);
    }
    if at < horizon {
        out.push(Interval { from: at, to: horizon });
    }
    out.retain(|i| i.from < i.to);
    out
}

/// What lies in both of two lists, each in order and without overlap.
pub fn intersect(a: &[Interval], b: &[Interval]) -> Vec<Interval> {
    let (mut i, mut j, mut out) = (0, 0, Vec::new());
    while i < a.len() && j < b.len() {
        let (from, to) = (a[i].from.max(b[j].from), a[i].to.min(b[j].to));
        if from < to {
            out.push(Interval { from, to });
        }
        if a[i].to < b[j].to { i += 1 } else { j += 1 }
    }
    out
}

/// Joins intervals whose gap is at most `gap` minutes.
pub fn bridge(a: &[Interval], gap: Minute) -> Vec<Interval> {
    let mut out: Vec<Interval> = Vec::with_capacity(a.len());
    for i in a {
        match out.last_mut() {
            Some(last) if i.from - last.to <= gap => last.to = i.to,
            _ => out.push(*i),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn set(v: &[Interval]) -> Vec<bool> {
        let mut s = vec![false; 100];
        for i in v {
            (i.from..i.to).for_each(|m| s[m as usize] = true);
        }
        s
    }

    fn any_set() -> impl Strategy<Value = Vec<Interval>> {
        proptest::collection::vec((0..90, 0..10).prop_map(|(f, l)| Interval { from: f, to: f + l }), 0..8)
    }

    proptest! {
        // Against sets of single minutes: the definition itself.
        #[test]
        fn agree_with_sets_of_minutes(a in any_set(), b in any_set()) {
            let (ua, ub) = (union(a.clone()), union(b.clone()));
            prop_assert!(ua.windows(2).all(|w| w[0].to < w[1].from));
            prop_assert_eq!(set(&ua), set(&a));
            prop_assert_eq!(set(&complement(&ua, 100)), set(&ua).iter().map(|x| !x).collect::<Vec<_>>());
            let both: Vec<bool> = set(&a).iter().zip(set(&b)).map(|(x, y)| *x && y).collect();
            prop_assert_eq!(set(&intersect(&ua, &ub)), both);
        }
    }
}
