//! Packs by number, where they are, which to eat first, and how many are left.

use chrono::{NaiveDate, TimeDelta};
use serde::Serialize;

use super::earlier::{self, Earlier};
use super::facts::{Facts, State, count, day};
use super::page::{Col, Handle, Page, Table, Voice, cell, plain, quiet, trouble, voiced};
use crate::app::record::Counted;
use crate::app::sentence::Sentence;
use crate::app::time::date_words;
use crate::book::labels::{Numbers, numbered};
use crate::kitchen::{Joint, Outcome};
use crate::plan::{Kind, PlannedTask, When};
use crate::process::{bridge, durations};
use crate::science::keeping::{self, DateKind, Kept, Pack};
use crate::science::yields;
use crate::units::{Mass, Temperature};

/// The packs of one joint.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Packs {
    pub joint: String,
    pub owner: String,
    pub outcome: String,
    /// Numbers in the batch, first and last.
    pub numbers: (u32, u32),
    /// Grams in a pack; nothing for a piece packed whole.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pack_g: Option<f64>,
    /// Packed weight by the yield, kg, and packs at its low and high end.
    pub kg: f64,
    pub packs: (u32, u32, u32),
    /// What came of it and what is left, where somebody counted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub counted: Option<Counted>,
    pub frozen: bool,
    pub cooked: bool,
    /// Packed, and in the freezer.
    pub packed: When,
    pub state: State,
    /// The task that puts them where they are.
    pub task: String,
    /// A use-by when chilled, a best-before when frozen: first and last day of the range.
    pub keeps: Option<(NaiveDate, NaiveDate)>,
    pub kind: Option<DateKind>,
    pub keeps_says: String,
    pub source: String,
}

/// The freezer and the fridge's packs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Freezer {
    pub today: NaiveDate,
    pub batch: String,
    /// Whether there is curing salt in it.
    pub nitrite: bool,
    /// In the order to eat them.
    pub packs: Vec<Packs>,
    /// Packs of batches before this one.
    pub earlier: Earlier,
    /// Kilograms frozen, what is gone left out, and room there is said to be.
    pub frozen_kg: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub room_kg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub per_day_kg: Option<f64>,
    /// Kilograms put in on each day.
    pub loads: Vec<(NaiveDate, f64)>,
    /// Chilled packs are taken to be at this, °C.
    pub fridge_celsius: f64,
}

/// A freezer that is one, °C.
const FROZEN: f64 = -18.0;
/// A fridge as it should be, °C.
const CHILLED: f64 = 5.0;

impl Freezer {
    pub fn new(facts: &Facts) -> Self {
        let mut packs: Vec<Packs> = Vec::new();
        let mut order: Vec<_> = facts.plan.tasks.iter().filter(|t| t.kind == Kind::VacuumPack).collect();
        order.sort_by_key(|t| (t.start, t.id.clone()));
        let before = facts.record.iter().flat_map(|r| &r.before).flat_map(|b| &b.joints);
        let taken: Vec<Numbers> = before.filter_map(|j| j.numbers).collect();
        let own = order.iter().flat_map(|t| t.joints.iter().filter_map(|n| Some((*t, facts.joint(n)?))));
        let own: Vec<(&PlannedTask, &Joint)> = own.collect();
        let wanted: Vec<_> =
            own.iter().map(|(_, j)| (j.name.clone(), durations::packs(j, &facts.kitchen.cure))).collect();
        for ((t, own), (_, numbers)) in own.into_iter().zip(numbered(&wanted, &taken)) {
            packs.push(of_joint(facts, own, t, numbers));
        }
        let mut loads: Vec<(NaiveDate, f64)> = Vec::new();
        for t in facts.plan.tasks.iter().filter(|t| t.kind == Kind::Freeze) {
            let kg: f64 = t.joints.iter().filter_map(|n| facts.joint(n)).map(durations::packed_kg).sum();
            match loads.last_mut().filter(|l| l.0 == t.start.date_naive()) {
                Some(l) => l.1 += kg,
                None => loads.push((t.start.date_naive(), kg)),
            }
        }
        packs.sort_by_key(|p| (p.left() == Some(0), p.keeps.map_or(NaiveDate::MAX, |k| k.0), p.numbers.0));
        let earlier = Earlier::new(facts);
        let freezer = facts.kitchen.kit.freezer.as_ref();
        Self {
            today: facts.today(),
            batch: facts.kitchen.name.clone(),
            nitrite: facts.kitchen.cure.curing_salt.is_some(),
            // Nothing weighs nothing, not less.
            frozen_kg: packs.iter().filter(|p| p.frozen).map(Packs::kg_left).sum::<f64>() + earlier.frozen_kg() + 0.0,
            room_kg: freezer.and_then(|f| f.free).map(Mass::as_kg),
            per_day_kg: freezer.map(|f| f.per_day.as_kg()),
            packs,
            earlier,
            loads,
            fridge_celsius: CHILLED,
        }
    }

    fn sentence(&self) -> Sentence {
        if let Some(says) = self.earlier.to_throw_out() {
            return trouble(says);
        }
        if self.packs.is_empty() {
            return plain(format!("No packs are planned.{}", self.eat_first()));
        }
        if let Some(p) = self.packs.iter().find(|p| p.to_throw_out(self.today)) {
            return trouble(format!(
                "{} is past its use-by: what is left of {} is thrown out.",
                p.joint,
                numbers(p.numbers)
            ));
        }
        if self.packs.iter().any(|p| p.left().is_some()) {
            return self.left();
        }
        let n: usize = self.packs.iter().map(|p| p.packs.0 as usize).sum();
        let made = self.packs.iter().filter(|p| p.state == State::Done).count();
        let eat = self.eat_first();
        let when = if made == 0 { " planned" } else { "" };
        plain(format!("About {}{when} from {}.{eat}", count(n, "pack"), self.batch))
    }

    /// The packs that keep the shortest, of this batch and of those before.
    fn eat_first(&self) -> String {
        // Of what is there, as far as anybody knows; where nothing is yet, of what is planned.
        let there =
            self.packs.iter().filter(|p| p.is_there()).filter_map(Packs::first).chain(self.earlier.first()).min();
        let first = there.or_else(|| self.packs.iter().filter_map(Packs::first).min());
        first.map_or_else(String::new, |(_, says)| format!(" Eat first: {says}."))
    }

    /// How many are left, where somebody counted.
    fn left(&self) -> Sentence {
        let left: u32 = self.packs.iter().filter_map(Packs::left).sum();
        let planned = self.packs.iter().filter(|p| p.left().is_none()).all(|p| !p.is_there());
        let unknown_are = if planned { "planned" } else { "by the yields, not counted" };
        let unknown: u32 = self.packs.iter().filter(|p| p.left().is_none()).map(|p| p.packs.0).sum();
        let unknown = if unknown > 0 { format!(", and about {unknown} {unknown_are}") } else { String::new() };
        let eat = self.eat_first();
        plain(format!("{} of {} left by the record{unknown}.{eat}", count(left as usize, "pack"), self.batch))
    }

    pub fn page(&self, columns: usize) -> Page {
        let mut p = Page::new(columns, self.sentence());
        if self.packs.is_empty() {
            self.earlier.page(&mut p);
            return p;
        }
        p.head("Eat in this order");
        let mut t = Table::new(&[Col::Left, Col::Left, Col::Left, Col::Left, Col::Right, Col::Left, Col::Fill]);
        for x in &self.packs {
            let weight = match (&x.counted, x.pack_g) {
                (Some(c), _) if c.left.is_some() => earlier::left_words(c),
                (_, Some(g)) => format!("{} × {g:.0} g", x.packs.0),
                (_, None) => format!("{:.1} kg", x.kg),
            };
            let (mut keeps, mut voice) = (x.keeps_words(), Voice::Plain);
            if x.to_throw_out(self.today) {
                (keeps, voice) = (keeps + ", past", Voice::Trouble);
            } else if x.kind == Some(DateKind::Safety) {
                voice = Voice::Accent;
            }
            let place = if x.frozen { "freezer" } else { "fridge" };
            let made = match x.state {
                State::Done => format!("in the {place} since {}", day(&x.packed)),
                State::Missed => format!("to the {place} {}, not ticked off", day(&x.packed)),
                _ => format!("to the {place} {}", day(&x.packed)),
            };
            let owner = if x.owner.is_empty() { String::new() } else { format!("; {}", x.owner) };
            t.row(
                Some(Handle::Task(x.task.clone())),
                vec![
                    x.state.cell(),
                    voiced(numbers(x.numbers), Voice::Strong),
                    cell(x.joint.clone()),
                    quiet(x.outcome.clone()),
                    cell(weight),
                    voiced(keeps, voice),
                    quiet(format!("{made}{owner}")),
                ],
            );
        }
        p.table(&t);
        p.gap();
        for x in &self.packs {
            if let Some(c) = &x.counted {
                p.set_in(2, x.counted_words(c), Voice::Quiet);
            } else if x.packs.1 != x.packs.2 {
                p.set_in(
                    2,
                    format!("{}: {} to {} packs by the yield, {:.1} kg.", x.joint, x.packs.1, x.packs.2, x.kg),
                    Voice::Quiet,
                );
            }
        }
        self.earlier.page(&mut p);
        if self.frozen_kg > 0.0 {
            let room = self.room_kg.map_or_else(String::new, |r| format!(" of {r:.1} kg of room"));
            p.head("The freezer");
            let by = if self.packs.iter().any(|p| p.left().is_some()) {
                "by the record and this plan"
            } else {
                "by this plan"
            };
            p.set_in(2, format!("{:.1} kg{room} {by}.", self.frozen_kg), Voice::Plain);
            for (d, kg) in &self.loads {
                let most =
                    self.per_day_kg.map_or_else(String::new, |m| format!(" of the {m:.1} kg it freezes in 24 h"));
                p.set_in(2, format!("{}: {kg:.1} kg{most}.", date_words(*d)), Voice::Quiet);
            }
        }
        p.head("On the label");
        for x in &self.packs {
            let what = if x.cooked { "COOKED" } else { "RAW, cook before eating" };
            let net = x.pack_g.map_or_else(|| "net weight".to_owned(), |g| format!("net weight, about {g:.0} g"));
            let (store, done) = if x.frozen { ("keep frozen", "frozen") } else { ("keep at 5 °C or under", "packed") };
            let nitrite = if self.nitrite { ", sodium nitrite (E250)" } else { "" };
            p.set_in(
                2,
                format!(
                    "{} {}, {}: {what}; {net}; {done} {}; {}; {store}; pork, salt, sugar{nitrite} and whatever else went in.",
                    numbers(x.numbers),
                    x.joint,
                    x.outcome,
                    day(&x.packed),
                    x.keeps_words()
                ),
                Voice::Plain,
            );
        }
        p.set_in(
            2,
            "For sale there is more: name and address, lot, pork %, allergens in capitals; your local rules say what.",
            Voice::Quiet,
        );
        let mut said: Vec<String> = self
            .packs
            .iter()
            .filter(|x| !x.keeps_says.is_empty())
            .map(|x| format!("{}: {} ({}).", x.outcome, x.keeps_says, x.source))
            .collect();
        said.sort();
        said.dedup();
        if !said.is_empty() {
            p.head("How long it keeps");
            said.into_iter().for_each(|s| p.set_in(2, s, Voice::Quiet));
            p.set_in(
                2,
                "A use-by is a safety date, a best-before one of quality; thawed packs keep 2 to 3 days.",
                Voice::Quiet,
            );
        }
        p
    }
}

/// `use by Fri 1 Jan`, `best before Mar 2027, at most Jun 2027`.
pub(super) fn keeps_words(keeps: Option<(NaiveDate, NaiveDate)>, kind: Option<DateKind>) -> String {
    let word = if kind == Some(DateKind::Safety) { "use by" } else { "best before" };
    keeps.map_or_else(|| "keeping not known".to_owned(), |k| format!("{word} {}", best(k, kind)))
}

/// `001–011`.
pub(super) fn numbers((first, last): Numbers) -> String {
    if first == last { format!("{first:03}") } else { format!("{first:03}–{last:03}") }
}

/// A use-by is a day; a best-before is the month before which it is best.
fn best((first, last): (NaiveDate, NaiveDate), kind: Option<DateKind>) -> String {
    match kind {
        Some(DateKind::Safety) => date_words(last),
        _ if first.format("%b %Y").to_string() == last.format("%b %Y").to_string() => last.format("%b %Y").to_string(),
        _ => format!("{}, at most {}", first.format("%b %Y"), last.format("%b %Y")),
    }
}

fn of_joint(facts: &Facts, own: &Joint, pack: &PlannedTask, numbers: Numbers) -> Packs {
    let n = numbers.1 - numbers.0 + 1;
    let cure = &facts.kitchen.cure;
    let find = |kind| facts.plan.tasks.iter().find(|t| t.kind == kind && t.joints.contains(&own.name));
    let freeze = find(Kind::Freeze);
    // What was left out of the freezer by the record keeps as in the fridge.
    let left_out = freeze.and_then(|f| facts.happened(&f.id)).is_some_and(|h| h.skipped.is_some());
    let frozen = (own.is_frozen() || freeze.is_some()) && !left_out;
    let last = freeze.filter(|_| !left_out).unwrap_or(pack);
    let size = match own.outcome {
        Outcome::HamSliced => Some(cure.pack_ham),
        Outcome::GammonSteaks => Some(cure.pack_steaks),
        Outcome::HamWhole | Outcome::GammonJoint => None,
    };
    let product = bridge::product(own.outcome);
    let packing = size.and_then(|s| yields::from_green(own.planned_weight(), product, own.bone_in, s).ok());
    let packs = packing.map_or((n, n, n), |a| (n, a.value.low, a.value.high));
    let life = life(own.outcome, frozen);
    let counted = facts.record.and_then(|r| earlier::counted(&r.packs, &own.name)).cloned();
    // By the record where it says; and no pack was cooked or packed after somebody counted it.
    let when = |t: &PlannedTask| {
        let at = facts.happened(&t.id).map_or(t.start, |h| facts.at(h.begun_by(t.start.to_utc())));
        counted.as_ref().and_then(|c| c.seen).map_or(at, |w| at.min(facts.at(w)))
    };
    // A cooked ham's days count from its cooking, the rest from the packing.
    let from = when(find(Kind::Chill).filter(|_| own.outcome.is_ham() && !frozen).unwrap_or(last)).date_naive();
    let keeps = life.as_ref().map(|l| {
        let on = |d: u32| from + TimeDelta::days(i64::from(d));
        (on(l.days.0), on(l.days.1))
    });
    Packs {
        joint: own.name.clone(),
        owner: own.owner.clone(),
        outcome: own.outcome.words().to_owned(),
        numbers,
        pack_g: size.map(Mass::as_g),
        kg: durations::packed_kg(own),
        packs,
        frozen,
        cooked: own.outcome.is_ham(),
        packed: when(last),
        counted,
        state: facts.state(last),
        task: last.id.clone(),
        kind: life.as_ref().map(|l| l.kind),
        keeps_says: life.as_ref().map_or_else(String::new, |l| {
            let days =
                if l.days.0 == l.days.1 { l.days.0.to_string() } else { format!("{} to {}", l.days.0, l.days.1) };
            let store = if frozen { "frozen" } else { "at 5 °C or under" };
            format!("{days} days {store}, {}", l.says)
        }),
        source: life.map_or_else(String::new, |l| l.source),
        keeps,
    }
}

/// How long packs of an outcome keep.
pub(super) fn life(outcome: Outcome, frozen: bool) -> Option<keeping::Life> {
    let kept = match outcome {
        Outcome::HamSliced => Kept::HamSliced,
        Outcome::HamWhole => Kept::HamWhole,
        Outcome::GammonSteaks | Outcome::GammonJoint => Kept::GammonRaw,
    };
    let at = Temperature::celsius(if frozen { FROZEN } else { CHILLED });
    keeping::life(kept, Pack::Vacuum, at).ok().map(|a| a.value)
}

impl Packs {
    fn left(&self) -> Option<u32> {
        self.counted.as_ref().and_then(|c| c.left)
    }

    /// Packed, as far as anybody knows: what was not ticked off may have been all the same.
    fn is_there(&self) -> bool {
        let is_over = matches!(self.state, State::Done | State::Missed | State::Lapsed | State::Past);
        is_over || self.counted.is_some()
    }

    /// There although its use-by is past.
    fn to_throw_out(&self, today: NaiveDate) -> bool {
        let over = self.kind == Some(DateKind::Safety) && self.keeps.is_some_and(|k| k.1 < today);
        over && self.is_there() && self.left() != Some(0)
    }

    /// Packed weight that is left; all of it where nobody counted.
    fn kg_left(&self) -> f64 {
        self.counted.as_ref().map_or(self.kg, |c| earlier::kg_left(c, self.kg))
    }

    /// How many more there were than it has numbers for.
    fn more(&self) -> u32 {
        let numbered = self.numbers.1 - self.numbers.0 + 1;
        self.counted.as_ref().and_then(|c| c.packs).map_or(0, |packs| packs.saturating_sub(numbered))
    }

    /// What it is called where it is to be eaten first, and the day it keeps to.
    fn first(&self) -> Option<(NaiveDate, String)> {
        let says = format!("{}, {}, {}", self.joint, numbers(self.numbers), self.keeps_words());
        self.keeps.filter(|_| self.left() != Some(0)).map(|k| (k.0, says))
    }

    /// What was counted, what it weighed against the yield, and what became of it.
    fn counted_words(&self, c: &Counted) -> String {
        let Some(packs) = c.packs else { return format!("{}: not counted{}.", self.joint, earlier::gone_words(c)) };
        let mut says = format!("{}: {} counted", self.joint, count(packs as usize, "pack"));
        if let Some(g) = c.grams {
            says += &format!(", {:.2} kg together ({:.2} kg by the yield)", g / 1000.0, self.kg);
        }
        if self.more() > 0 {
            says += &format!(", {} more than it has numbers for", self.more());
        }
        says += &earlier::gone_words(c);
        says + "."
    }

    fn keeps_words(&self) -> String {
        keeps_words(self.keeps, self.kind)
    }
}
