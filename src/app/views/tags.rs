//! A tag for each tub: waterproof, tied to the handle.

use serde::Serialize;

use super::brine::{self, Slip, grams};
use super::facts::{Asked, Facts, list, when};
use super::joint::{Joint, Stay};
use super::page::{Handle, Line, Page, Voice, plain};
use super::turns::{Tub, Turns};
use crate::app::sentence::Sentence;

/// A joint on a tag.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tagged {
    pub name: String,
    pub kg: f64,
    pub owner: String,
    pub lot: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stay: Option<Stay>,
}

/// A tag.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tag {
    pub batch: String,
    pub tub: Tub,
    pub joints: Vec<Tagged>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slip: Option<Slip>,
    pub nitrite: bool,
    scale_g: f64,
}

/// All tags.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tags {
    pub tags: Vec<Tag>,
}

impl Tags {
    pub fn new(facts: &Facts) -> Self {
        let turns = Turns::new(facts, &Asked::default());
        let tags = turns.tubs.into_iter().map(|tub| {
            let load = facts.plan.loads.iter().find(|l| l.id == tub.load);
            let joints = tub.joints.iter().filter_map(|n| {
                let own = facts.joint(n)?;
                let story = Joint::new(facts, &Asked { of: Some(n.clone()), ..Asked::default() }).ok()?;
                Some(Tagged {
                    name: n.clone(),
                    kg: own.planned_weight().as_kg(),
                    owner: own.owner.clone(),
                    lot: own.lot.as_ref().map_or_else(String::new, |l| l.tag.clone()),
                    stay: story.stay,
                })
            });
            Tag {
                batch: facts.kitchen.name.clone(),
                joints: joints.collect(),
                slip: load.and_then(|l| brine::slip(facts.kitchen, l).ok()).map(|a| a.value),
                nitrite: facts.kitchen.cure.curing_salt.is_some(),
                scale_g: facts.kitchen.kit.scales.curing_salt_g,
                tub,
            }
        });
        Self { tags: tags.collect() }
    }

    fn sentence(&self) -> Sentence {
        plain(match self.tags.len() {
            0 => "No tub is planned.".to_owned(),
            1 => "One tag, for the handle of the tub.".to_owned(),
            n => format!("{n} tags, one for the handle of each tub."),
        })
    }

    pub fn page(&self, columns: usize) -> Page {
        let mut p = Page::new(columns, self.sentence());
        for t in &self.tags {
            p.gap();
            let mut l = Line { of: Some(Handle::Load(t.tub.load.clone())), ..Line::default() };
            l.push(t.tub.load.clone(), Voice::Strong);
            l.push(format!("   {}   ", t.batch), Voice::Quiet);
            l.push(if t.nitrite { "NITRITE" } else { "NO NITRITE" }, Voice::Strong);
            p.line(l);
            p.set_in(2, format!("in {}; {}", t.tub.put_in_words(), t.tub.space), Voice::Plain);
            for j in &t.joints {
                let owner = if j.owner.is_empty() { String::new() } else { format!(", for {}", j.owner) };
                let lot = if j.lot.is_empty() { String::new() } else { format!(", lot {}", j.lot) };
                let dates = j.stay.as_ref().map_or_else(String::new, |s| {
                    format!(": ready {}, good until {}, LATEST {}", when(&s.cured), when(&s.good_until), when(&s.limit))
                });
                p.set_in(2, format!("{} {:.1} kg{owner}{lot}{dates}", j.name, j.kg), Voice::Plain);
            }
            if let Some(s) = &t.slip {
                let w = &s.weigh;
                let cure = if t.nitrite {
                    format!(", curing salt {} g", grams(w.curing_salt.as_g(), t.scale_g))
                } else {
                    String::new()
                };
                p.set_in(
                    2,
                    format!(
                        "brine: water {:.1} kg, salt {:.0} g{cure}, sugar {:.0} g",
                        w.water.as_kg(),
                        w.plain_salt.as_g(),
                        w.sugar.as_g()
                    ),
                    Voice::Plain,
                );
            }
            let turns: Vec<String> =
                t.tub.turns.iter().map(|x| format!("☐ {}", x.job.start.format("%a %-d %b %H:%M"))).collect();
            p.set_in(2, format!("turn  {}", turns.join(", ")), Voice::Plain);
            let names: Vec<String> = t.joints.iter().map(|j| format!("☐ {}", j.name)).collect();
            p.set_in(2, format!("lifted  {}", list(&names)), Voice::Quiet);
        }
        p
    }
}
