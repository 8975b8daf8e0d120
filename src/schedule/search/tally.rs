//! Running cost by level, brought up to date block by block.

use super::model::Model;
use crate::schedule::Minute;

const OUTSIDE: u32 = u32::MAX;

#[derive(Debug, Clone)]
pub(crate) struct Tally {
    pub cost: Vec<i64>,
    /// By term that is not spells: what it costs now.
    values: Vec<i64>,
    /// By spells term and interval: how many of its activities start there.
    pub counts: Vec<Vec<u32>>,
    /// By spells term and place in its list: the interval its activity starts in.
    places: Vec<Vec<u32>>,
}

impl Tally {
    pub fn new(model: &Model, starts: &[Minute]) -> Self {
        let p = model.problem;
        let mut tally = Self {
            cost: vec![0; p.levels.len()],
            values: vec![0; model.terms.len()],
            counts: Vec::new(),
            places: Vec::new(),
        };
        for (i, (level, term)) in model.terms.iter().enumerate() {
            tally.values[i] = term.simple_cost(p, starts);
            tally.cost[*level] += tally.values[i];
        }
        for t in &model.spells {
            let calendar = &p.calendars[t.calendar];
            let mut counts = vec![0; calendar.open.len()];
            let mut places = Vec::with_capacity(t.activities.len());
            for a in t.activities {
                let place = calendar.interval_at(starts[a.index()]).map_or(OUTSIDE, |i| i as u32);
                if place == OUTSIDE {
                    tally.cost[t.level] += t.weight;
                } else {
                    counts[place as usize] += 1;
                    if counts[place as usize] == 1 {
                        tally.cost[t.level] += t.weight;
                    }
                }
                places.push(place);
            }
            tally.counts.push(counts);
            tally.places.push(places);
        }
        tally
    }

    /// Reckons the terms of one block anew.
    pub fn update(&mut self, model: &Model, block: usize, starts: &[Minute]) {
        let p = model.problem;
        let block = &model.blocks[block];
        for &t in block.terms.iter().chain(&block.following) {
            let (level, term) = model.terms[t as usize];
            let value = term.simple_cost(p, starts);
            self.cost[level] += value - self.values[t as usize];
            self.values[t as usize] = value;
        }
        for &(t, k) in &block.spells {
            let term = &model.spells[t as usize];
            let (t, k) = (t as usize, k as usize);
            let open = &p.calendars[term.calendar].open;
            let start = starts[term.activities[k].index()];
            let old = self.places[t][k];
            if old != OUTSIDE && open[old as usize].from <= start && start < open[old as usize].to {
                continue;
            }
            let new = p.calendars[term.calendar].interval_at(start).map_or(OUTSIDE, |i| i as u32);
            if new == old {
                continue;
            }
            self.places[t][k] = new;
            if old == OUTSIDE {
                self.cost[term.level] -= term.weight;
            } else {
                let c = &mut self.counts[t][old as usize];
                *c -= 1;
                if *c == 0 {
                    self.cost[term.level] -= term.weight;
                }
            }
            if new == OUTSIDE {
                self.cost[term.level] += term.weight;
            } else {
                let c = &mut self.counts[t][new as usize];
                *c += 1;
                if *c == 1 {
                    self.cost[term.level] += term.weight;
                }
            }
        }
    }

    /// The interval a spells term's activity starts in.
    pub fn place(&self, term: usize, place: usize) -> Option<usize> {
        let i = self.places[term][place];
        (i != OUTSIDE).then_some(i as usize)
    }
}
