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

/// The packs of one joint. A joint that comes back under its old name is another.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Lot {
    pub joint: String,
    /// How many there were; nothing where nobody counted.
    pub packs: Option<u32>,
    /// What they weigh together, where somebody said.
    pub grams: Option<f64>,
    /// The last count.
    pub mark: Option<Mark>,
    /// The first moment at which any of them was counted or taken: they were packed by then.
    pub seen: Option<DateTime<Utc>>,
    /// The joint has left the kitchen: its batch is over.
    pub over: bool,
    pub taken: Vec<TakenRecord>,
}

impl Lot {
    fn new(joint: &str) -> Self {
        Self {
            joint: joint.to_owned(),
            packs: None,
            grams: None,
            mark: None,
            seen: None,
            over: false,
            taken: Vec::new(),
        }
    }

    pub fn gone(&self) -> u32 {
        self.taken.iter().map(|t| t.packs).fold(0, u32::saturating_add)
    }

    /// Nothing where nobody counted, and where more are gone than were counted: then the count is wrong.
    pub fn left(&self) -> Option<u32> {
        self.packs?.checked_sub(self.gone())
    }

    fn see(&mut self, when: DateTime<Utc>) {
        self.seen = self.seen.into_iter().chain([when]).min();
    }

    fn take(&mut self, packs: u32, gone: Gone, mark: &Mark) {
        self.see(mark.when);
        self.taken.push(TakenRecord { packs, gone, mark: mark.clone() });
    }
}

/// All lots of a book, the oldest first: of every joint that left the kitchen, and of those in it that were counted or taken from.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Lots {
    all: Vec<Lot>,
    /// Joints that are in the kitchen.
    here: Vec<String>,
}

/// More packs of a joint than anybody makes; more are not believed of a book that came from elsewhere.
const MOST: u32 = 10_000;
/// More than any joint weighs, g.
const HEAVIEST: f64 = 100_000.0;

impl Lots {
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = &Lot> {
        self.all.iter()
    }

    /// Those that went by a name, the oldest first.
    pub fn of<'l>(&'l self, joint: &'l str) -> impl DoubleEndedIterator<Item = &'l Lot> {
        self.all.iter().filter(move |l| l.joint == joint)
    }

    /// Packs left, and packs there were, of those of a name that were counted.
    pub fn left(&self, joint: &str) -> (u32, u32) {
        let counted = self.of(joint).filter_map(|l| Some((l.left()?, l.packs?)));
        counted.fold((0, 0), |sum, l| (sum.0 + l.0, sum.1 + l.1))
    }

    /// The place of the lot that a count of a joint is about: that of the joint in the kitchen, else the last that went by its name.
    /// Of a joint that is not packed yet there are no packs: then also the last that went by its name, if there was one.
    fn newest(&self, joint: &str, packed: bool) -> Option<usize> {
        let here = self.is_here(joint);
        let last = self.all.iter().rposition(|l| l.joint == joint && l.over);
        let own = self.all.iter().rposition(|l| l.joint == joint && !l.over);
        match (here, packed) {
            (true, true) => own,
            (true, false) => last.or(own),
            (false, _) => last,
        }
    }

    fn is_here(&self, joint: &str) -> bool {
        self.here.iter().any(|j| j == joint)
    }

    fn newest_mut(&mut self, joint: &str, packed: bool) -> &mut Lot {
        let place = self.newest(joint, packed).unwrap_or_else(|| {
            let over = !self.is_here(joint);
            self.all.push(Lot { over, ..Lot::new(joint) });
            self.all.len() - 1
        });
        &mut self.all[place]
    }

    /// Counted, or counted again: the weight stands when none is said. `packed` is whether the joint in the kitchen may be packed.
    pub(super) fn count(&mut self, joint: &str, packed: bool, packs: u32, grams: Option<f64>, mark: Mark) {
        let lot = self.newest_mut(joint, packed);
        lot.see(mark.when);
        (lot.packs, lot.grams, lot.mark) = (Some(packs.min(MOST)), grams.or(lot.grams), Some(mark));
    }

    /// From the oldest counted lots of that name that have any left; the rest comes off the newest, counted or not.
    pub(super) fn take(&mut self, joint: &str, packed: bool, packs: u32, gone: Gone, mark: &Mark) {
        let mut rest = packs.min(MOST);
        for lot in self.all.iter_mut().filter(|l| l.joint == joint) {
            let packs = rest.min(lot.left().unwrap_or(0));
            if packs > 0 {
                lot.take(packs, gone, mark);
                rest -= packs;
            }
        }
        if rest > 0 {
            self.newest_mut(joint, packed).take(rest, gone, mark);
        }
    }

    /// Some joints have left the kitchen, which has these now. Of each that left there is a lot, counted or not.
    pub(super) fn leave(&mut self, gone: &[String], here: Vec<String>) {
        for joint in gone {
            match self.all.iter_mut().find(|l| l.joint == *joint && !l.over) {
                Some(lot) => lot.over = true,
                None => self.all.push(Lot { over: true, ..Lot::new(joint) }),
            }
        }
        self.here = here;
    }

    pub(super) fn count_fits(&self, joint: &str, packed: bool, packs: u32, grams: Option<f64>) -> Answer {
        if !(1..=MOST).contains(&packs) {
            return Err(Refused::new(format!("{packs} is no number of packs from a joint")));
        }
        if let Some(g) = grams.filter(|g| !g.is_finite() || !(1.0..=HEAVIEST).contains(g)) {
            return Err(Refused::new(format!("{g} g is no weight of a joint's packs")));
        }
        let Some(lot) = self.newest(joint, packed).map(|i| &self.all[i]) else { return Ok(Fit::New) };
        let gone = lot.gone();
        if packs < gone {
            return Err(Refused::new(format!(
                "{gone} packs of {joint} are gone by the record; {packs} cannot be all there were"
            )));
        }
        let same = lot.packs == Some(packs) && (grams.is_none() || lot.grams == grams);
        Ok(lot.mark.as_ref().filter(|_| same).map_or(Fit::New, |m| Fit::Already(m.seq)))
    }

    pub(super) fn take_fits(&self, joint: &str, packs: u32, gone: Gone, when: DateTime<Utc>) -> Answer {
        if !(1..=MOST).contains(&packs) {
            return Err(Refused::new(format!("{packs} is no number of packs")));
        }
        let same = |t: &&TakenRecord| t.gone == gone && twice(t.mark.when, when);
        let before: Vec<&TakenRecord> = self.of(joint).flat_map(|l| &l.taken).filter(same).collect();
        // One act may have come off several lots.
        let of_line = |seq: u64| before.iter().filter(|t| t.mark.seq == seq).map(|t| t.packs).sum::<u32>();
        if let Some(t) = before.iter().find(|t| of_line(t.mark.seq) == packs) {
            return Ok(Fit::Already(t.mark.seq));
        }
        // Of packs that nobody counted any number may be gone.
        let Some(line) = self.of(joint).rev().find_map(|l| l.mark.as_ref()) else { return Ok(Fit::New) };
        let (left, seq) = (self.left(joint).0, line.seq);
        if packs > left {
            return Err(Refused::new(format!(
                "by the record {left} of {joint} are left; if more were packed, count them anew (`turnday log packs {joint} 11 1.6kg`), or in the place of line {seq} with `--instead {seq}`"
            )));
        }
        Ok(Fit::New)
    }
}
