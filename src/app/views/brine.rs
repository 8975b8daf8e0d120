//! The weigh-out slip, tub by tub. Every figure comes from `science`.

use serde::Serialize;

use super::facts::{Asked, Facts, State, list, when};
use super::page::{Col, Handle, Line, Page, Table, Voice, cell, plain, quiet, trouble, voiced};
use crate::app::sentence::Sentence;
use crate::kitchen::{BrineCooling, CuringSalt, Kitchen, Limits};
use crate::plan::{Kind, TubLoad, When, capital};
use crate::process::bridge;
use crate::process::fit::{TubFit, in_tub};
use crate::science::brine::{IceSplit, WeighOut, ice_split, water_for, weigh_out};
use crate::science::nitrite::{pick_up, whole_system};
use crate::science::{Answer, Note, Refused};
use crate::units::{Mass, Temperature, Volume};

/// What to weigh for one tub.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Slip {
    pub load: String,
    pub joints: Vec<String>,
    pub fill_cm: f64,
    pub weigh: WeighOut,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ice: Option<IceSplit>,
    /// Ingoing nitrite by the pick-up method at 10 % pick-up, mg/kg.
    pub nitrite_by_pick_up: f64,
}

/// Pick-up that the second official method is shown with.
const PICK_UP: f64 = 0.10;

/// What to do about a plan that no longer fits the kitchen: a weight on record, or another tub.
const PLAN_AGAIN: &str = "plan again: `turnday replan` by the book, `turnday plan KITCHEN` by a kitchen file; with the meat in it, \
                          `turnday trouble tub-too-small`";

/// Depth and litres of a load, from the kitchen's own tub and joints: a plan file's figures for them may have been edited.
pub fn filled(kitchen: &Kitchen, load: &TubLoad) -> Result<TubFit, Refused> {
    let lost =
        |what: &str| Refused::new(format!("{} names {what} that is not in the kitchen file", load.id), PLAN_AGAIN);
    let tub = kitchen.kit.tubs.iter().find(|t| t.name == load.tub).ok_or_else(|| lost("a tub"))?;
    let joints = load.joints.iter().map(|n| kitchen.joints.iter().find(|j| j.name == *n));
    let joints: Vec<_> = joints.collect::<Option<_>>().ok_or_else(|| lost("a joint"))?;
    in_tub(&joints, tub, &Limits::with(&kitchen.limits)).map_err(|m| Refused::new(m.says, PLAN_AGAIN))
}

/// The slip of a load.
///
/// # Errors
/// Refuses what the weigh-out refuses, and loads that do not belong to the kitchen.
pub fn slip(kitchen: &Kitchen, load: &TubLoad) -> Result<Answer<Slip>, Refused> {
    let meat: f64 =
        kitchen.joints.iter().filter(|j| load.joints.contains(&j.name)).map(|j| j.planned_weight().as_kg()).sum();
    let meat = Mass::kg(meat);
    let recipe = bridge::recipe(&kitchen.cure);
    let fit = filled(kitchen, load)?;
    let water = water_for(&recipe, meat, Volume::litres(fit.brine))?;
    // Water is weighed to the tenth of a kilogram on a kitchen's big scale.
    let water = Mass::kg((water.as_kg() * 10.0).round() / 10.0);
    let weigh = weigh_out(&recipe, meat, water, bridge::scales(kitchen))?;
    let mut more: Vec<Note> = Vec::new();
    let ice = match kitchen.cure.brine_cooling {
        BrineCooling::Overnight => None,
        BrineCooling::Ice => {
            let cold = Temperature::celsius(4.0);
            match ice_split(water, weigh.value.salt_total, 1.0 / 3.0, cold, cold) {
                Ok(a) => {
                    more.extend(a.notes);
                    Some(a.value)
                }
                Err(r) => {
                    more.push(Note::flag(r.to_string()));
                    None
                }
            }
        }
    };
    let w = &weigh.value;
    let nitrite = w.curing_salt.as_kg() * recipe.bag.as_ref().map_or(0.0, |b| b.nitrite_share());
    let pickle = w.water.as_kg() + w.salt_total.as_kg() + w.sugar.as_kg();
    debug_assert!((whole_system(nitrite, w.meat.as_kg(), w.water.as_kg()) - w.nitrite_mg_per_kg).abs() < 1e-6);
    let nitrite_by_pick_up = pick_up(nitrite, pickle, PICK_UP);
    Ok(weigh
        .map(|weigh| Slip {
            load: load.id.clone(),
            joints: load.joints.clone(),
            fill_cm: fit.fill,
            weigh,
            ice,
            nitrite_by_pick_up,
        })
        .with_all(more))
}

/// A tub's part of the view.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Weighing {
    pub load: String,
    /// When it is weighed out and boiled, and the task's name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<(When, String)>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub state: Option<State>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slip: Option<Slip>,
    /// Why there is no slip.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub refused: Option<Refused>,
    pub notes: Vec<Note>,
    /// Joints that are not on the kitchen's own scale yet.
    pub unweighed: Vec<String>,
}

/// The weigh-out slips.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Brine {
    pub tubs: Vec<Weighing>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bag: Option<CuringSalt>,
    /// Smallest step of the scale for curing salt, grams.
    pub scale_g: f64,
}

impl Brine {
    /// # Errors
    /// When the tub asked for holds nothing.
    pub fn new(facts: &Facts, asked: &Asked) -> Result<Self, String> {
        let wanted = |l: &&TubLoad| {
            asked.of.as_ref().is_none_or(|w| *w == l.tub || *w == l.id || l.joints.iter().any(|j| j == w))
        };
        let tubs: Vec<Weighing> = facts.plan.loads.iter().filter(wanted).map(|l| weighing(facts, l)).collect();
        if let (Some(w), true) = (&asked.of, tubs.is_empty()) {
            let used: Vec<&str> = facts.plan.loads.iter().map(|l| l.id.as_str()).collect();
            return Err(format!("the plan puts nothing in a tub called \"{w}\"; it fills {}", list(&used)));
        }
        Ok(Self { tubs, bag: facts.kitchen.cure.curing_salt.clone(), scale_g: facts.kitchen.kit.scales.curing_salt_g })
    }

    fn sentence(&self) -> Sentence {
        if let Some(bad) = self.tubs.iter().find(|t| t.refused.is_some()) {
            let why = bad.refused.as_ref().map_or("", |r| r.why.as_str());
            return trouble(format!("{} cannot be weighed out: {why}.", bad.load));
        }
        let slips: Vec<&Slip> = self.tubs.iter().filter_map(|t| t.slip.as_ref()).collect();
        if slips.is_empty() {
            return plain("No tub is planned, so there is nothing to weigh out.");
        }
        let unweighed: Vec<&str> = self.tubs.iter().flat_map(|t| &t.unweighed).map(String::as_str).collect();
        let salt: f64 = slips.iter().map(|s| s.weigh.plain_salt.as_g()).sum();
        let cure: f64 = slips.iter().map(|s| s.weigh.curing_salt.as_g()).sum();
        let cure = match &self.bag {
            Some(bag) => format!(" and {} g of the {} % bag", grams(cure, self.scale_g), bag.nitrite_percent),
            None => ", no curing salt".to_owned(),
        };
        let tubs: Vec<&str> = slips.iter().map(|s| s.load.as_str()).collect();
        let weights = match unweighed.is_empty() {
            true => "Weighed twice, initialled twice.".to_owned(),
            false => format!("{} not weighed yet: weigh first, the slip follows the meat.", list(&unweighed)),
        };
        plain(format!("For {}: {salt:.0} g of plain salt{cure}. {weights}", list(&tubs)))
    }

    pub fn page(&self, columns: usize) -> Page {
        let mut p = Page::new(columns, self.sentence());
        for t in &self.tubs {
            p.gap();
            let mut head = Line { of: Some(Handle::Load(t.load.clone())), ..Line::default() };
            head.push(t.load.clone(), Voice::Strong);
            if let Some(s) = &t.slip {
                head.push(format!("  {}, {:.1} kg of meat", s.joints.join(", "), s.weigh.meat.as_kg()), Voice::Plain);
            }
            p.line(head);
            if let Some((at, _)) = &t.at {
                let state =
                    t.state.filter(|s| *s != State::Due).map_or_else(String::new, |s| format!(", {}", s.word()));
                p.set_in(2, format!("Weighed out and boiled {}{state}", when(at)), Voice::Quiet);
            }
            match (&t.slip, &t.refused) {
                (Some(s), _) => self.slip(&mut p, s),
                (None, Some(r)) => p.set_in(2, format!("{}; {}.", r.why, r.hint), Voice::Trouble),
                (None, None) => {}
            }
        }
        self.cautions(&mut p);
        p
    }

    fn slip(&self, p: &mut Page, s: &Slip) {
        let w = &s.weigh;
        let mut t = Table::within(&[Col::Left, Col::Right, Col::Left, Col::Left, Col::Fill]);
        let mut row = |what: &str, amount: String, boxes: bool, says: String| {
            let (first, second) = if boxes { ("☐ ____", "☐ ____") } else { ("", "") };
            let voice = if boxes { Voice::Strong } else { Voice::Quiet };
            t.row(None, vec![voiced(what, voice), voiced(amount, voice), cell(first), cell(second), quiet(says)]);
        };
        row("water", format!("{:.1} kg", w.water.as_kg()), true, String::new());
        if let Some(i) = s.ice {
            row("  boiled", format!("{:.1} kg", i.boil.as_kg()), false, "of it, with the salt and sugar".into());
            row("  as ice", format!("{:.1} kg", i.ice.as_kg()), false, "of it, put in after the boil".into());
            row("  cold", format!("{:.1} kg", i.cold.as_kg()), false, "of it, from the fridge".into());
        }
        row("plain salt", format!("{:.0} g", w.plain_salt.as_g()), true, String::new());
        match &self.bag {
            Some(b) => {
                let code = if b.code.is_empty() { String::new() } else { format!(", bag {}", b.code) };
                let says = format!("{} % nitrite{code}; goes in cold", b.nitrite_percent);
                row("curing salt", format!("{} g", grams(w.curing_salt.as_g(), self.scale_g)), true, says);
            }
            None => row("curing salt", "none".into(), false, "NO NITRITE".into()),
        }
        row("sugar", format!("{:.0} g", w.sugar.as_g()), true, String::new());
        p.table(&t);
        let mut heads = Line::default();
        heads.push("  first, then second weighing: tick and initials", Voice::Quiet);
        p.line(heads);
        let degrees = w.salometer.map_or_else(String::new, |d| format!(", {d:.0}° on a salometer"));
        p.set_in(
            2,
            format!(
                "Fill to {:.1} cm, about {:.1} L. Starts at {:.1} % salt{degrees}; {:.2} % of meat and water; {:.1} times as much brine as meat.",
                s.fill_cm,
                w.brine.as_litres(),
                w.start_percent,
                w.salt_on_system,
                w.brine_to_meat
            ),
            Voice::Plain,
        );
        if w.nitrite_mg_per_kg > 0.0 {
            p.set_in(
                2,
                format!(
                    "Nitrite going in: {:.0} mg/kg on meat and water; {:.0} mg/kg by the pick-up method at 10 %.",
                    w.nitrite_mg_per_kg, s.nitrite_by_pick_up
                ),
                Voice::Plain,
            );
        }
    }

    fn cautions(&self, p: &mut Page) {
        let mut seen: Vec<&Note> = Vec::new();
        for n in self.tubs.iter().flat_map(|t| &t.notes) {
            if !seen.contains(&n) {
                seen.push(n);
            }
        }
        let some = |want: fn(&Note) -> bool| seen.iter().copied().filter(move |n| want(n)).collect::<Vec<_>>();
        let flags = some(Note::is_flag);
        let cautions = some(|n| matches!(n, Note::Caution { .. }));
        let rest = some(|n| matches!(n, Note::Assumes { .. } | Note::Limit { .. }));
        if self.tubs.iter().any(|t| t.slip.is_some()) {
            p.head("Mind");
        }
        if let Some(b) = &self.bag {
            p.set_in(
                2,
                format!(
                    "Read the label again: {} % sodium nitrite. A bag ten times stronger or weaker looks the same.",
                    b.nitrite_percent
                ),
                Voice::Trouble,
            );
        }
        for (notes, voice) in [(flags, Voice::Trouble), (cautions, Voice::Plain), (rest, Voice::Quiet)] {
            for n in notes {
                let source = match n {
                    Note::Limit { source, as_of, .. } => format!(" ({source}; looked at {as_of})"),
                    _ => String::new(),
                };
                p.set_in(2, format!("{}{source}.", capital(n.says())), voice);
            }
        }
    }
}

fn weighing(facts: &Facts, load: &TubLoad) -> Weighing {
    let boil =
        facts.plan.tasks.iter().find(|t| t.kind == Kind::BrineMake && t.joints.iter().any(|j| load.joints.contains(j)));
    let (slip, refused, notes) = match slip(facts.kitchen, load) {
        Ok(a) => (Some(a.value), None, a.notes),
        Err(r) => (None, Some(r), Vec::new()),
    };
    let unweighed = |n: &&String| {
        let scale = facts.joint(n).is_some_and(|j| j.weighed.is_some());
        !scale && !facts.record.is_some_and(|r| r.weights.iter().any(|w| w.joint == **n))
    };
    Weighing {
        load: load.id.clone(),
        at: boil.map(|t| (t.start, t.id.clone())),
        state: boil.map(|t| facts.state(t)),
        slip,
        refused,
        notes,
        unweighed: load.joints.iter().filter(unweighed).cloned().collect(),
    }
}

/// Grams to the step of the scale.
pub fn grams(g: f64, step: f64) -> String {
    if step < 0.05 { format!("{g:.2}") } else { format!("{g:.1}") }
}
