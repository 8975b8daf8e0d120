//! Packs: how many came of a joint, and which of them are gone.

use super::error::Refused;
use super::fits::{Answer, Fit, twice};
use super::state::Mark;
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

/// What became of packs that are no longer there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Gone {
    Eaten,
    Sold,
    GivenAway,
    ThrownAway,
}

impl Gone {
    pub const fn word(self) -> &'static str {
        match self {
            Self::Eaten => "eaten",
            Self::Sold => "sold",
            Self::GivenAway => "given away",
            Self::ThrownAway => "thrown away",
        }
    }
}

/// Packs that are no longer there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TakenRecord {
    pub packs: u32,
    pub gone: Gone,
    pub mark: Mark,
}

/// The packs of one joint, as they were counted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Lot {
    pub joint: String,
    pub packs: u32,
    /// What they weigh together, where somebody said.
    pub grams: Option<f64>,
    pub mark: Mark,
    /// The joint has left the kitchen: its batch is over, and another may go by its name.
    pub over: bool,
    pub taken: Vec<TakenRecord>,
}

impl Lot {
    pub fn gone(&self) -> u32 {
        self.taken.iter().map(|t| t.packs).fold(0, u32::saturating_add)
    }

    pub fn left(&self) -> u32 {
        self.packs.saturating_sub(self.gone())
    }
}

/// All lots of a book, the oldest first.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Lots {
    all: Vec<Lot>,
    /// Joints that are in the kitchen.
    here: Vec<String>,
    /// By joint, what was taken before any count of it that holds: a count may be undone and told anew.
    early: Vec<(String, TakenRecord)>,
}

/// More packs of a joint than anybody makes.
const MOST: u32 = 10_000;
/// More than any joint weighs, g.
const HEAVIEST: f64 = 100_000.0;

impl Lots {
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = &Lot> {
        self.all.iter()
    }

    fn is_here(&self, joint: &str) -> bool {
        self.here.iter().any(|j| j == joint)
    }

    /// The lot that a count of a joint is about: that of the joint in the kitchen, else the last that went by its name.
    fn counted(&self, joint: &str) -> Option<usize> {
        let here = self.is_here(joint);
        self.all.iter().rposition(|l| l.joint == joint && l.over != here)
    }

    /// Counted, or counted again.
    pub(super) fn count(&mut self, joint: &str, packs: u32, grams: Option<f64>, mark: Mark) {
        match self.counted(joint) {
            Some(i) => {
                let lot = &mut self.all[i];
                (lot.packs, lot.grams, lot.mark) = (packs, grams, mark);
            }
            None => {
                let over = !self.is_here(joint);
                let mine = |(name, _): &mut (String, TakenRecord)| name == joint;
                let taken = self.early.extract_if(.., mine).map(|(_, t)| t).collect();
                self.all.push(Lot { joint: joint.to_owned(), packs, grams, mark, over, taken });
            }
        }
    }

    /// From the oldest lots of that name that have any left; more than there are come off the last of them.
    pub(super) fn take(&mut self, joint: &str, packs: u32, gone: Gone, mark: &Mark) {
        let mut rest = packs;
        let mut lots: Vec<&mut Lot> = self.all.iter_mut().filter(|l| l.joint == joint).collect();
        let n = lots.len();
        for (i, lot) in lots.iter_mut().enumerate() {
            let packs = if i + 1 == n { rest } else { rest.min(lot.left()) };
            if packs > 0 {
                lot.taken.push(TakenRecord { packs, gone, mark: mark.clone() });
                rest -= packs;
            }
        }
        if n == 0 {
            self.early.push((joint.to_owned(), TakenRecord { packs, gone, mark: mark.clone() }));
        }
    }

    /// The kitchen has these joints now.
    pub(super) fn close(&mut self, here: Vec<String>) {
        self.all.iter_mut().filter(|l| !here.contains(&l.joint)).for_each(|l| l.over = true);
        self.here = here;
    }

    pub(super) fn count_fits(&self, joint: &str, packs: u32, grams: Option<f64>) -> Answer {
        if !(1..=MOST).contains(&packs) {
            return Err(Refused::new(format!("{packs} is no number of packs from a joint")));
        }
        if let Some(g) = grams.filter(|g| !g.is_finite() || !(1.0..=HEAVIEST).contains(g)) {
            return Err(Refused::new(format!("{g} g is no weight of a joint's packs")));
        }
        let Some(lot) = self.counted(joint).map(|i| &self.all[i]) else { return Ok(Fit::New) };
        if packs < lot.gone() {
            return Err(Refused::new(format!(
                "{} packs of {joint} are gone by the record; {packs} cannot be all there were",
                lot.gone()
            )));
        }
        Ok(if lot.packs == packs && lot.grams == grams { Fit::Already(lot.mark.seq) } else { Fit::New })
    }

    pub(super) fn take_fits(&self, joint: &str, packs: u32, gone: Gone, when: DateTime<Utc>) -> Answer {
        if !(1..=MOST).contains(&packs) {
            return Err(Refused::new(format!("{packs} is no number of packs")));
        }
        let mine: Vec<&Lot> = self.all.iter().filter(|l| l.joint == joint).collect();
        let Some(last) = mine.last() else {
            return Err(Refused::new(format!(
                "how many packs came of {joint} is not on record; say that first: `turnday log packs {joint} 11 1.6kg`"
            )));
        };
        let mut taken = mine.iter().flat_map(|l| &l.taken);
        let same = |t: &&TakenRecord| t.packs == packs && t.gone == gone && twice(t.mark.when, when);
        if let Some(t) = taken.find(same) {
            return Ok(Fit::Already(t.mark.seq));
        }
        let left: u32 = mine.iter().map(|l| l.left()).sum();
        if packs > left {
            let seq = last.mark.seq;
            return Err(Refused::new(format!(
                "by the record {left} of {joint} are left; if more were packed, count them anew in the place of line {seq} (`--instead {seq}`)"
            )));
        }
        Ok(Fit::New)
    }
}
