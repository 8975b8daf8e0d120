//! Why a bound stands where it does. Reasons are kept with the bound and given when a conflict asks for them, and then no
//! stronger than is needed: of "it costs 90 at least", when 70 is enough, 20 is taken off the facts it rests on (lifted
//! explanations; Schutt, Feydy, Stuckey and Wallace, 2011).

use super::engine::{Atom, Conflict, Engine, Side};

#[derive(Debug, Clone, Copy)]
pub(super) enum Why {
    Decision,
    /// `side + delta` gave it.
    Lag(Side, i32),
    /// Where the nogood's header stands.
    Nogood(u32),
    /// A slice of the arena.
    Facts(u32, u32),
    /// So many terms in the arena, and before them what they come to: see [`Engine::set_by_sum`].
    Terms(u32, u32),
}

/// A part of a sum that rests on a fact.
#[derive(Debug, Clone, Copy)]
pub(super) struct Term {
    /// How far the fact stands above the root, or above where the part is nothing.
    pub above: i64,
    /// What a minute less of the fact takes from the sum.
    pub weight: i64,
    pub fact: Atom,
}

/// The facts of terms made weaker, so that their sum is `spare` less; what weighs least is given up first.
pub(super) fn weaker(mut terms: Vec<Term>, mut spare: i64) -> Vec<Atom> {
    terms.sort_by_key(|t| t.above.saturating_mul(t.weight));
    let mut facts = Vec::new();
    for mut t in terms {
        let give = (spare / t.weight).min(t.above);
        spare -= give * t.weight;
        t.fact.least -= give as i32;
        if give < t.above {
            facts.push(t.fact);
        }
    }
    facts
}

impl Engine {
    /// Raises a bound for a reason given as facts.
    pub fn set(&mut self, atom: Atom, facts: &[Atom]) -> Result<(), Conflict> {
        if self.holds(atom) {
            return Ok(());
        }
        let first = self.arena.len() as u32;
        self.arena.extend_from_slice(facts);
        self.raise(atom, Why::Facts(first, facts.len() as u32))
    }

    /// Raises a bound because of what facts and terms come to together, which may be more. Where less is needed the facts of the
    /// terms are made weaker: a minute less of one is its weight less of the sum, down to so far above the root, where nothing
    /// need be said any more.
    pub fn set_by_sum(&mut self, atom: Atom, come_to: i64, facts: &[Atom], terms: &[Term]) -> Result<(), Conflict> {
        if self.holds(atom) {
            return Ok(());
        }
        let first = self.arena.len() as u32;
        // What is beyond counting is not there to be spared.
        let come_to = i32::try_from(come_to).unwrap_or(i32::MAX);
        self.arena.push(Atom { side: facts.len() as u32, least: come_to });
        self.arena.extend_from_slice(facts);
        for t in terms {
            // What weighs more than can be kept is not made weaker.
            let weight = u32::try_from(t.weight).ok();
            let above = weight.map_or(i32::MAX, |_| t.above.clamp(0, i64::from(i32::MAX)) as i32);
            self.arena.extend([t.fact, Atom { side: weight.unwrap_or(u32::MAX), least: above }]);
        }
        self.raise(atom, Why::Terms(first, terms.len() as u32))
    }

    /// States facts that cannot all hold.
    pub fn fail(&mut self, facts: &[Atom]) -> Result<(), Conflict> {
        self.conflict.clear();
        self.conflict.extend_from_slice(facts);
        Err(Conflict)
    }

    /// The facts from which an atom followed.
    pub fn reason(&self, atom: Atom, why: Why, out: &mut Vec<Atom>) {
        match why {
            Why::Decision => {}
            Why::Lag(side, delta) => out.push(Atom { side, least: atom.least - delta }),
            Why::Nogood(at) => out.extend_from_slice(&self.nogood(at)[1..]),
            Why::Facts(first, length) => {
                out.extend_from_slice(&self.arena[first as usize..(first + length) as usize]);
            }
            Why::Terms(first, length) => {
                let (first, length) = (first as usize, length as usize);
                let header = self.arena[first];
                let terms = first + 1 + header.side as usize;
                out.extend_from_slice(&self.arena[first + 1..terms]);
                let term = |t: &[Atom]| Term { above: t[1].least.into(), weight: t[1].side.into(), fact: t[0] };
                let all = self.arena[terms..terms + 2 * length].chunks(2).map(term).collect();
                out.extend(weaker(all, i64::from(header.least) - i64::from(atom.least)));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Facts are weakened no further than the sum allows, and only those go that are nothing more than what holds anyhow.
    #[test]
    fn weaker_facts_still_come_to_what_is_needed() {
        for seed in 0..4000u64 {
            let dice = |k: u64, n: u64| (seed.wrapping_mul(0x9e37_79b9_7f4a_7c15).rotate_left(k as u32 * 7) >> 32) % n;
            let mut e = Engine::new();
            let count = 1 + dice(1, 4) as u32;
            let vars: Vec<u32> = (0..count).map(|_| e.var(0, 50)).collect();
            let total = e.var(0, 10_000);
            e.decide(Atom::at_least(vars[0], 1 + dice(2, 50) as i32));
            for &x in &vars[1..] {
                assert!(e.set(Atom::at_least(x, dice(u64::from(x) + 3, 50) as i32), &[]).is_ok());
            }
            let weights: Vec<i64> = vars.iter().map(|&x| 1 + dice(u64::from(x) + 9, 5) as i64).collect();
            let term =
                |(&x, &weight): (&u32, &i64)| Term { above: e.lo(x).into(), weight, fact: Atom::at_least(x, e.lo(x)) };
            let terms: Vec<Term> = vars.iter().zip(&weights).map(term).collect();
            let sum: i64 = terms.iter().map(|t| t.above * t.weight).sum();
            let also = Atom::at_least(vars[0], 1);
            assert!(e.set_by_sum(Atom::at_least(total, sum as i32), sum, &[also], &terms).is_ok());
            let entry = e.trail.last().copied().unwrap();
            for need in 1..=sum {
                let mut facts = Vec::new();
                e.reason(Atom::at_least(total, need as i32), entry.why, &mut facts);
                assert_eq!(facts.remove(0), also, "what is no term is given as it is");
                assert!(facts.iter().all(|f| e.holds(*f)), "{facts:?}");
                let least = |x: u32| facts.iter().filter(|f| f.side == 2 * x).map(|f| f.least).max().unwrap_or(0);
                let come_to: i64 = vars.iter().zip(&weights).map(|(&x, w)| i64::from(least(x)) * w).sum();
                assert!(come_to >= need, "{come_to} of {need}: {facts:?}");
            }
        }
    }

    /// What weighs more than can be kept is given as it is.
    #[test]
    fn a_weight_beyond_counting_is_not_made_weaker() {
        let mut e = Engine::new();
        let (x, total) = (e.var(0, 100), e.var(0, 1 << 29));
        e.decide(Atom::at_least(x, 60));
        let fact = Atom::at_least(x, 60);
        let term = Term { above: 60, weight: 1 << 40, fact };
        assert!(e.set_by_sum(Atom::at_least(total, 1 << 28), 60 << 40, &[], &[term]).is_ok());
        let why = e.trail.last().unwrap().why;
        let mut facts = Vec::new();
        e.reason(Atom::at_least(total, 1), why, &mut facts);
        assert_eq!(facts, [fact]);
    }
}
