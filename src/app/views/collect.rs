//! The sheet for the day the pork comes.

use serde::Serialize;

use super::facts::{Facts, count, when};
use super::page::{Col, Handle, Page, Table, Voice, cell, plain, quiet, voiced};
use crate::app::sentence::Sentence;
use crate::app::time::how_long;
use crate::kitchen::Limits;
use crate::plan::When;

/// A joint on the sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comes {
    pub joint: String,
    pub cut: String,
    /// When it is collected or delivered, and when it goes in at the latest.
    pub at: When,
    pub put_in: When,
    pub brine_by: When,
    pub tub: String,
    pub expected_kg: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub weighed_kg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub celsius: Option<f64>,
    /// Days in the brine that a kilogram more makes.
    pub days_a_kilo: f64,
}

/// The sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Collect {
    pub joints: Vec<Comes>,
    /// The last moment that still keeps every ready-by, when the plan chose the day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub last_possible: Option<When>,
    /// °C that the pork may have on arrival, from the house's limits for a curing space.
    pub coldest: f64,
    pub longest_wait_minutes: i64,
}

impl Collect {
    pub fn new(facts: &Facts) -> Self {
        let limits = Limits::with(&facts.kitchen.limits);
        let wait = i64::from(limits.minutes("collect_to_brine_limit"));
        let chosen = facts.plan.collect.as_ref();
        let joints = facts.plan.joints.iter().filter_map(|s| {
            let own = facts.joint(&s.name)?;
            let arrives = own.arrives.map(|m| facts.at(facts.kitchen.zone.instant(m.0)));
            let at = arrives.or(chosen.map(|c| c.planned)).unwrap_or(s.put_in);
            let weighed = facts.record.and_then(|r| r.weights.iter().rev().find(|w| w.joint == s.name));
            let got = facts.record.and_then(|r| r.collected.iter().rev().find(|c| c.joint == s.name));
            Some(Comes {
                joint: s.name.clone(),
                cut: own.cut.clone(),
                at,
                put_in: s.put_in,
                brine_by: at + chrono::TimeDelta::minutes(wait),
                tub: s.tub.clone(),
                expected_kg: own.weight.as_kg(),
                weighed_kg: weighed.map(|w| w.grams / 1000.0).or(own.weighed.map(crate::units::Mass::as_kg)),
                celsius: got.and_then(|c| c.celsius),
                days_a_kilo: facts.kitchen.cure.days_per_kg,
            })
        });
        let mut joints: Vec<Comes> = joints.collect();
        joints.sort_by_key(|j| j.at);
        Self {
            joints,
            last_possible: chosen.and_then(|c| c.last_possible),
            coldest: limits.value("cure_space_celsius"),
            longest_wait_minutes: wait,
        }
    }

    fn sentence(&self) -> Sentence {
        let open: Vec<&Comes> = self.joints.iter().filter(|j| j.weighed_kg.is_none()).collect();
        let Some(first) = open.first() else {
            return plain(match self.joints.is_empty() {
                true => "No joints are planned.",
                false => "Every joint is on your own scale.",
            });
        };
        let last = self
            .last_possible
            .map_or_else(String::new, |l| format!(" The last moment that still does is {}.", when(&l)));
        plain(format!(
            "Collect or take in {} by {}; weigh each, then plan again.{last}",
            count(open.len(), "joint"),
            when(&first.at)
        ))
    }

    pub fn page(&self, columns: usize) -> Page {
        let mut p = Page::new(columns, self.sentence());
        if self.joints.is_empty() {
            return p;
        }
        p.gap();
        let mut t = Table::new(&[Col::Left, Col::Left, Col::Left, Col::Right, Col::Left, Col::Left, Col::Fill]);
        let head = ["joint", "comes", "tub", "expected", "weighed", "core", "cut"];
        t.row(None, head.iter().map(|h| quiet(*h)).collect());
        for j in &self.joints {
            let weighed = j.weighed_kg.map_or_else(|| "[______ kg]".to_owned(), |kg| format!("{kg:.3} kg"));
            let core = j.celsius.map_or_else(|| "[____ °C]".to_owned(), |c| format!("{c:.1} °C"));
            t.row(
                Some(Handle::Joint(j.joint.clone())),
                vec![
                    voiced(j.joint.clone(), Voice::Strong),
                    cell(when(&j.at)),
                    cell(j.tub.clone()),
                    cell(format!("{:.1} kg", j.expected_kg)),
                    voiced(weighed, Voice::Strong),
                    voiced(core, Voice::Strong),
                    quiet(j.cut.clone()),
                ],
            );
        }
        p.table(&t);
        p.gap();
        let rate = self.joints.first().map_or(0.0, |j| j.days_a_kilo);
        for says in [
            format!(
                "Core or surface at {:.0} °C or under on arrival; warmer than 7 to 8 °C is sent back.",
                self.coldest
            ),
            format!("In the brine within {} of coming; longer, it is frozen.", how_long(self.longest_wait_minutes)),
            format!(
                "A kilogram more is {rate:.0} days more in the brine by the rule: write the weight down, then plan again."
            ),
            "Cool box, ice, scale, thermometer, tags, pen.".to_owned(),
        ] {
            p.set_in(2, format!("☐ {says}"), Voice::Plain);
        }
        p
    }
}
