//! What to buy, by shop.

use chrono::{Datelike, NaiveDate, TimeDelta};
use serde::Serialize;

use super::brine;
use super::facts::{Facts, State, day, list};
use super::page::{Col, Page, Table, Voice, cell, plain, quiet, voiced};
use super::ready;
use crate::app::sentence::Sentence;
use crate::app::time::date_words;
use crate::plan::{Kind, When};
use crate::process::durations;

/// A line of the list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Item {
    pub what: String,
    pub amount: String,
    /// Needed by.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by: Option<When>,
    pub says: String,
}

/// A shop and what to buy there.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shop {
    pub shop: String,
    pub items: Vec<Item>,
    /// For the first pork on the list.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kill: Option<Kill>,
}

/// When pigs of one's own are killed, for joints that come by the abattoir instead of the butcher. Carcases hang two to seven
/// days; a place is asked for four weeks ahead, twelve when everybody wants one, in November and December (common practice,
/// no source).
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Kill {
    pub from: NaiveDate,
    pub to: NaiveDate,
    pub book_by: NaiveDate,
    pub says: String,
}

impl Kill {
    /// For pork that is wanted on a day.
    fn before(comes: NaiveDate, today: NaiveDate) -> Option<Self> {
        let (from, to) = (comes - TimeDelta::days(7), comes - TimeDelta::days(2));
        if to < today {
            return None;
        }
        let weeks = if from.month() >= 11 || to.month() >= 11 { 12 } else { 4 };
        let book_by = from - TimeDelta::weeks(weeks);
        let from = from.max(today);
        let late = if book_by < today { ", which is past: ask at once" } else { "" };
        let says = format!(
            "Your own pig is killed {} to {}, to hang two to seven days; a place is asked for by {}{late} (common practice).",
            date_words(from),
            date_words(to),
            date_words(book_by)
        );
        Some(Self { from, to, book_by, says })
    }
}

/// The list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shopping {
    pub shops: Vec<Shop>,
    /// Tubs whose brine could not be weighed out, so that it is missing here.
    pub missing: Vec<String>,
}

impl Shopping {
    pub fn new(facts: &Facts) -> Self {
        let open =
            |t: &&crate::plan::PlannedTask| !matches!(facts.state(t), State::Done | State::Past | State::Skipped);
        let tasks = |kind: Kind| facts.plan.tasks.iter().filter(move |t| t.kind == kind).filter(open);
        let boil = tasks(Kind::BrineMake).map(|t| t.start).min();
        let to_make =
            |l: &&crate::plan::TubLoad| tasks(Kind::BrineMake).any(|t| t.joints.iter().any(|j| l.joints.contains(j)));
        let loads: Vec<_> = facts.plan.loads.iter().filter(to_make).collect();
        let slips: Vec<_> = loads.iter().map(|l| (l.id.clone(), brine::slip(facts.kitchen, l))).collect();
        let sum = |f: fn(&brine::Slip) -> f64| -> f64 {
            slips.iter().filter_map(|s| s.1.as_ref().ok()).map(|a| f(&a.value)).sum()
        };
        let (salt, cure, sugar) =
            (sum(|s| s.weigh.plain_salt.as_g()), sum(|s| s.weigh.curing_salt.as_g()), sum(|s| s.weigh.sugar.as_g()));
        let item =
            |what: &str, amount: String, by: Option<When>, says: String| Item { what: what.into(), amount, by, says };
        let (mut butcher, mut comes) = (Vec::new(), None::<When>);
        for (j, own) in facts.plan.joints.iter().filter_map(|s| Some((s, facts.joint(&s.name)?))) {
            let here = facts.record.is_some_and(|r| r.collected.iter().any(|c| c.joint == own.name));
            let arrives = own.arrives.map(|m| facts.at(facts.kitchen.zone.instant(m.0)));
            if here || j.put_in <= facts.at(facts.now) || own.weighed.is_some() {
                continue;
            }
            let by = arrives.or(facts.plan.collect.as_ref().map(|c| c.planned)).or(Some(j.put_in));
            // What has been killed needs no place any more.
            if own.lot.as_ref().is_none_or(|l| l.killed.is_none()) {
                comes = comes.into_iter().chain(by).min();
            }
            let cut = if own.cut.is_empty() { "pork for curing".to_owned() } else { own.cut.clone() };
            let size = crate::process::fit::size_of(own);
            let bone = if own.bone_in { "on the bone" } else { "boned" };
            let says = format!("{}, {bone}, at most {:.0} cm thick", own.outcome.words(), size.diameter.ceil());
            butcher.push(item(&format!("{cut} ({})", own.name), format!("{:.1} kg", own.weight.as_kg()), by, says));
        }
        let mut kill = comes.and_then(|by| Kill::before(by.date_naive(), facts.today()));
        let mut grocer = Vec::new();
        if salt > 0.0 {
            // Bought by the bag: the amount is what the slips come to.
            grocer.push(item("plain salt, not iodised", format!("{salt:.0} g"), boil, "and some over".into()));
            grocer.push(item("sugar", format!("{sugar:.0} g"), boil, String::new()));
        }
        let brine_ice: f64 = tasks(Kind::BrineMake).map(|t| ready::brine_ice(facts, t)).sum();
        if brine_ice > 0.0 {
            let says = "from drinking water, for the brine: bought or frozen in time".to_owned();
            grocer.push(item("ice", format!("{brine_ice:.1} kg"), boil, says));
        }
        for t in tasks(Kind::Chill) {
            if let Some(kg) = ready::chill_ice(facts, t) {
                let says = format!("at the least, for chilling {}; more, to change it as it melts", list(&t.joints));
                grocer.push(item("ice", format!("{kg:.1} kg"), Some(t.start), says));
            }
        }
        let mut post = Vec::new();
        if let Some(bag) = facts.kitchen.cure.curing_salt.as_ref().filter(|_| cure > 0.0) {
            let says = format!(
                "{} % sodium nitrite and no other: the sums are for this strength; order it well ahead, without it the whole plan stops",
                bag.nitrite_percent
            );
            post.push(item("curing salt", format!("{cure:.1} g"), boil, says));
        }
        let packs: u32 = tasks(Kind::VacuumPack)
            .flat_map(|t| &t.joints)
            .filter_map(|n| facts.joint(n))
            .map(|j| durations::packs(j, &facts.kitchen.cure))
            .sum();
        if packs > 0 {
            let by = tasks(Kind::VacuumPack).map(|t| t.start).min();
            // One in twenty fails on a wet rim; common practice, no source.
            let over = packs.div_ceil(20);
            post.push(item("vacuum bags", format!("{}", packs + over), by, format!("{packs} packs, {over} over")));
            post.push(item("freezer labels", format!("{packs}"), by, String::new()));
        }
        let shops = [("Butcher", butcher), ("Grocer", grocer), ("Chemist or by post", post)];
        Self {
            shops: shops
                .into_iter()
                .filter(|s| !s.1.is_empty())
                // The butcher's are the first, when there is anything to have from them.
                .map(|(shop, items)| Shop { shop: shop.to_owned(), items, kill: kill.take() })
                .collect(),
            missing: slips.iter().filter(|s| s.1.is_err()).map(|s| s.0.clone()).collect(),
        }
    }

    fn sentence(&self) -> Sentence {
        if !self.missing.is_empty() {
            return super::page::trouble(format!(
                "The brine of {} could not be weighed out, so what it needs is missing here.",
                list(&self.missing)
            ));
        }
        let first = self.shops.iter().flat_map(|s| &s.items).filter_map(|i| i.by).min();
        match first {
            None => plain("Nothing is left to buy for this plan."),
            Some(by) => {
                let shops: Vec<String> = self.shops.iter().map(|s| s.shop.to_lowercase()).collect();
                plain(format!("To buy from the {}; the first of it is needed {}.", list(&shops), day(&by)))
            }
        }
    }

    pub fn page(&self, columns: usize) -> Page {
        let mut p = Page::new(columns, self.sentence());
        for s in &self.shops {
            p.head(s.shop.clone());
            let mut t = Table::new(&[Col::Left, Col::Right, Col::Left, Col::Left, Col::Fill]);
            for i in &s.items {
                let by = i.by.as_ref().map_or_else(String::new, |b| format!("by {}", day(b)));
                t.row(
                    None,
                    vec![
                        cell("☐"),
                        voiced(i.amount.clone(), Voice::Strong),
                        cell(i.what.clone()),
                        cell(by),
                        quiet(i.says.clone()),
                    ],
                );
            }
            p.table(&t);
            if let Some(kill) = &s.kill {
                p.set_in(2, kill.says.clone(), Voice::Quiet);
            }
        }
        p
    }
}
