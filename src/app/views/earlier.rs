//! Packs of the batches before this one: how many are left, and of which batch.

use serde::Serialize;

use super::facts::{Facts, day, list};
use super::freezer::{keeps_words, life};
use super::page::{Col, Page, Table, Voice, cell, quiet, voiced};
use crate::app::record::{Came, Counted};
use crate::plan::When;
use crate::science::keeping::DateKind;
use chrono::{NaiveDate, TimeDelta};

/// Packs of one joint of a batch before this one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Old {
    pub batch: String,
    pub joint: String,
    pub outcome: String,
    pub frozen: bool,
    /// When they were packed, or counted if that was before.
    pub packed: When,
    pub counted: Counted,
    /// First and last day of the range, counted from then; of a chilled ham from its cooking.
    pub keeps: Option<(NaiveDate, NaiveDate)>,
    pub kind: Option<DateKind>,
}

/// What is left of earlier batches.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Earlier {
    /// Of which something is left, in the order to eat them.
    pub packs: Vec<Old>,
    /// Joints that nobody counted the packs of, with their batch: what is left of them is not known.
    pub uncounted: Vec<String>,
    #[serde(skip)]
    today: NaiveDate,
}

/// The count of a joint.
pub(super) fn counted<'r>(all: &'r [Counted], joint: &str) -> Option<&'r Counted> {
    all.iter().find(|c| c.joint == joint)
}

/// `; 2 eaten, 1 sold`, or nothing.
pub(super) fn gone_words(c: &Counted) -> String {
    let gone: Vec<String> = c.gone.iter().map(|(what, n)| format!("{n} {what}")).collect();
    if gone.is_empty() { String::new() } else { format!("; {}", list(&gone)) }
}

impl Earlier {
    pub fn new(facts: &Facts) -> Self {
        let mut out = Self { today: facts.today(), ..Self::default() };
        let Some(record) = facts.record else { return out };
        for batch in &record.before {
            for j in &batch.joints {
                match &j.packs {
                    Some(c) if c.left > 0 => out.packs.push(old(facts, &batch.name, j, c)),
                    Some(_) => {}
                    None => out.uncounted.push(format!("{} ({})", j.joint, batch.name)),
                }
            }
        }
        // Where nobody ever counted, nobody expects to be told.
        let came = record.before.iter().flat_map(|b| &b.joints);
        if record.packs.is_empty() && came.filter(|j| j.packs.is_some()).count() == 0 {
            out.uncounted.clear();
        }
        out.packs.sort_by_key(|p| (p.keeps.map_or(NaiveDate::MAX, |k| k.0), p.packed));
        out
    }

    fn is_past(&self, x: &Old) -> bool {
        x.keeps.is_some_and(|k| k.1 < self.today)
    }

    /// What is to be eaten first of them, and the day it keeps to.
    pub fn first(&self) -> Option<(NaiveDate, String)> {
        let x = self.packs.first()?;
        Some((x.keeps?.0, format!("{} of {}, {}", x.joint, x.batch, x.keeps_words())))
    }

    /// Packs that are there although their use-by is past.
    pub fn to_throw_out(&self) -> Option<&Old> {
        self.packs.iter().find(|x| x.kind == Some(DateKind::Safety) && self.is_past(x))
    }

    pub fn page(&self, p: &mut Page) {
        if self.packs.is_empty() && self.uncounted.is_empty() {
            return;
        }
        p.head("Of batches before");
        let mut t = Table::new(&[Col::Left, Col::Left, Col::Left, Col::Left, Col::Fill]);
        for x in &self.packs {
            let keeps = x.keeps_words();
            let past = self.is_past(x);
            let voice = if past && x.kind == Some(DateKind::Safety) { Voice::Trouble } else { Voice::Plain };
            let place = if x.frozen { "freezer" } else { "fridge" };
            t.row(
                None,
                vec![
                    voiced(x.joint.clone(), Voice::Strong),
                    quiet(x.outcome.clone()),
                    cell(format!("{} of {} left", x.counted.left, x.counted.packs)),
                    voiced(if past { format!("{keeps}, past") } else { keeps }, voice),
                    quiet(format!("{}; {place}, packed {}{}", x.batch, day(&x.packed), gone_words(&x.counted))),
                ],
            );
        }
        p.table(&t);
        if !self.uncounted.is_empty() {
            let says = format!("Not counted, so what is left is not known: {}.", list(&self.uncounted));
            p.set_in(2, says, Voice::Quiet);
        }
    }
}

impl Old {
    fn keeps_words(&self) -> String {
        keeps_words(self.keeps, self.kind)
    }
}

fn old(facts: &Facts, batch: &str, j: &Came, c: &Counted) -> Old {
    let life = life(j.product, j.frozen);
    let packed = facts.at(j.packed.map_or(c.when, |p| p.min(c.when)));
    // A cooked ham's days count from its cooking; where that is not known, nothing is said of its keeping.
    let from = if j.product.is_ham() && !j.frozen { j.cooked.map(|at| facts.at(at)) } else { Some(packed) };
    let on = |d: u32| Some(from?.date_naive() + TimeDelta::days(i64::from(d)));
    Old {
        batch: batch.to_owned(),
        joint: j.joint.clone(),
        outcome: j.outcome.clone(),
        frozen: j.frozen,
        packed,
        counted: c.clone(),
        keeps: life.as_ref().and_then(|l| on(l.days.0).zip(on(l.days.1))),
        kind: life.map(|l| l.kind),
    }
}
