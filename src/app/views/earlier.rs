//! Packs of the batches before this one: how many are left, and of which batch.

use serde::Serialize;

use super::facts::{Facts, day, list};
use super::freezer::{keeps_words, life, numbers};
use super::page::{Col, Page, Table, Voice, cell, quiet, voiced};
use crate::app::record::{Came, Counted};
use crate::plan::When;
use crate::science::keeping::DateKind;
use chrono::{NaiveDate, TimeDelta};

/// Packs of one joint of a batch before this one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Old {
    pub batch: String,
    /// First and last number on their labels.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub numbers: Option<(u32, u32)>,
    pub joint: String,
    pub outcome: String,
    pub frozen: bool,
    /// When they were packed, by the record or as planned, or counted if that was before.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub packed: Option<When>,
    /// Whether that is on record.
    pub told: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub counted: Option<Counted>,
    /// What is left of them as far as is known, kg.
    pub kg: f64,
    /// First and last day of the range, counted from then; of a chilled ham from its cooking.
    pub keeps: Option<(NaiveDate, NaiveDate)>,
    pub kind: Option<DateKind>,
}

/// What is left of earlier batches, as far as anybody knows.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Earlier {
    /// In the order to eat them, what is not known to keep first. Those that nobody counted are among them for a month after they
    /// have kept.
    pub packs: Vec<Old>,
    /// Counted, of joints that are in the kitchen and in no plan.
    pub unplanned: Vec<Counted>,
    #[serde(skip)]
    today: NaiveDate,
}

/// Who never counts is not told for ever of what once was packed.
const REMEMBERED: TimeDelta = TimeDelta::days(31);

/// The count of a joint.
pub(super) fn counted<'r>(all: &'r [Counted], joint: &str) -> Option<&'r Counted> {
    all.iter().find(|c| c.joint == joint)
}

/// `; 2 eaten, 1 sold`, or nothing.
pub(super) fn gone_words(c: &Counted) -> String {
    let gone: Vec<String> = c.gone.iter().map(|(what, n)| format!("{n} {what}")).collect();
    if gone.is_empty() { String::new() } else { format!("; {}", list(&gone)) }
}

/// `3 of 11 left`; where more are gone than were counted, that.
pub(super) fn left_words(c: &Counted) -> String {
    let gone: u32 = c.gone.iter().map(|g| g.1).fold(0, u32::saturating_add);
    match (c.left, c.packs) {
        (_, Some(packs)) if gone > packs => format!("{gone} gone of {packs}: count anew"),
        (Some(left), Some(packs)) => format!("{left} of {packs} left"),
        _ => "not counted".to_owned(),
    }
}

/// Packed weight that is left of `all` kg, or of what the packs weighed.
pub(super) fn kg_left(c: &Counted, all: f64) -> f64 {
    let Some((left, packs)) = c.left.zip(c.packs) else { return all };
    c.grams.map_or(all, |g| g / 1000.0) * f64::from(left) / f64::from(packs.max(1))
}

impl Earlier {
    pub fn new(facts: &Facts) -> Self {
        let mut out = Self { today: facts.today(), ..Self::default() };
        let Some(record) = facts.record else { return out };
        let all = record.before.iter().flat_map(|b| b.joints.iter().map(|j| old(facts, &b.name, j)));
        out.packs = all.filter(|x| x.may_be_there(out.today)).collect();
        out.packs.sort_by_key(|p| (p.keeps.map(|k| k.0), p.packed));
        let planned = |c: &&Counted| facts.plan.joints.iter().any(|j| j.name == c.joint);
        out.unplanned = record.packs.iter().filter(|c| !planned(c)).cloned().collect();
        out
    }

    /// What there is in the freezer of those that were counted, kg.
    pub fn frozen_kg(&self) -> f64 {
        self.packs.iter().filter(|x| x.frozen && x.counted.is_some()).map(|x| x.kg).sum()
    }

    /// What is to be eaten first of them, and the day it keeps to: of those whose keeping is known.
    pub fn first(&self) -> Option<(NaiveDate, String)> {
        let x = self.packs.iter().find(|x| x.keeps.is_some())?;
        Some((x.keeps?.0, format!("{} of {}, {}", x.joint, x.batch, x.keeps_words())))
    }

    /// Packs that are there, as far as anybody knows, although their use-by is past.
    pub fn to_throw_out(&self) -> Option<String> {
        let x = self.packs.iter().find(|x| x.kind == Some(DateKind::Safety) && x.is_past(self.today))?;
        let left = match x.counted.as_ref().and_then(|c| c.left) {
            Some(1) => "the pack left is".to_owned(),
            Some(n) => format!("the {n} packs left are"),
            None => "what is left is".to_owned(),
        };
        Some(format!("{} of {} is past its use-by: {left} thrown out.", x.joint, x.batch))
    }

    pub fn page(&self, p: &mut Page) {
        if !self.packs.is_empty() {
            p.head("Of batches before");
        }
        let mut t = Table::new(&[Col::Left, Col::Left, Col::Left, Col::Left, Col::Left, Col::Fill]);
        for x in &self.packs {
            let past = x.is_past(self.today);
            let voice = if past && x.kind == Some(DateKind::Safety) { Voice::Trouble } else { Voice::Plain };
            let place = if x.frozen { "freezer" } else { "fridge" };
            let packed = match &x.packed {
                Some(at) if x.told => format!(", packed {}", day(at)),
                Some(at) => format!(", packed {} or before, not ticked off", day(at)),
                None => String::new(),
            };
            let gone = x.counted.as_ref().map_or_else(String::new, gone_words);
            t.row(
                None,
                vec![
                    voiced(x.numbers.map_or_else(String::new, numbers), Voice::Strong),
                    voiced(x.joint.clone(), Voice::Strong),
                    quiet(x.outcome.clone()),
                    cell(x.counted.as_ref().map_or_else(|| "not counted".to_owned(), left_words)),
                    voiced(format!("{}{}", x.keeps_words(), if past { ", past" } else { "" }), voice),
                    quiet(format!("{}; {place}{packed}{gone}", x.batch)),
                ],
            );
        }
        p.table(&t);
        for c in &self.unplanned {
            p.set_in(2, format!("{}, in no plan: {}{}.", c.joint, left_words(c), gone_words(c)), Voice::Plain);
        }
    }
}

fn old(facts: &Facts, batch: &str, j: &Came) -> Old {
    let life = life(j.product, j.frozen);
    let count = j.packs.as_ref().filter(|c| c.packs.is_some() || !c.gone.is_empty());
    let counted_at = count.and_then(|c| c.seen);
    // No pack was cooked or packed after somebody counted it.
    let before = |at: Option<_>| at.into_iter().chain(counted_at).min().map(|at| facts.at(at));
    let packed = before(j.packed);
    // A cooked ham's days count from its cooking; where that is not known, nothing is said of its keeping.
    let from = if j.product.is_ham() && !j.frozen { j.cooked.and_then(|at| before(Some(at))) } else { packed };
    let on = |d: u32| Some(from?.date_naive() + TimeDelta::days(i64::from(d)));
    Old {
        batch: batch.to_owned(),
        numbers: j.numbers,
        joint: j.joint.clone(),
        outcome: j.outcome.clone(),
        frozen: j.frozen,
        packed,
        told: j.packed_told,
        counted: count.cloned(),
        kg: count.map_or(j.table_kg, |c| kg_left(c, j.table_kg)),
        keeps: life.as_ref().and_then(|l| on(l.days.0).zip(on(l.days.1))),
        kind: life.map(|l| l.kind),
    }
}

impl Old {
    fn keeps_words(&self) -> String {
        keeps_words(self.keeps, self.kind)
    }

    fn is_past(&self, today: NaiveDate) -> bool {
        self.keeps.is_some_and(|k| k.1 < today)
    }

    fn may_be_there(&self, today: NaiveDate) -> bool {
        match self.counted.as_ref().map(|c| c.left) {
            Some(Some(left)) => left > 0,
            Some(None) => true,
            None => self.keeps.is_none_or(|k| today <= k.1 + REMEMBERED),
        }
    }
}
