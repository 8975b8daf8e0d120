//! Last time: this batch beside the ones before, how they tasted, what was changed.

use serde::Serialize;

use super::facts::{Facts, list};
use super::page::{Col, Page, Table, Voice, cell, plain, quiet, voiced};
use crate::app::record::{Before, Came, Recipe, Tasted};
use crate::app::sentence::Sentence;
use crate::kitchen::Kitchen;
use crate::plan::Kind;
use crate::process::durations;

/// A batch's figures. What nobody wrote down is missing, not zero.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Batch {
    pub name: String,
    pub recipe: Recipe,
    pub joints: usize,
    pub kg: f64,
    /// Days in the brine, mean of what was written down.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub brine_days: Option<f64>,
    /// Simmer as it happened over what was planned, mean, per cent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub simmer_over_percent: Option<f64>,
    /// Packed weight of the joints weighed green and counted, over what the yields make of them, per cent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub yield_over_percent: Option<f64>,
    /// Packs left, and packs there were, of those counted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub packs_left: Option<(u32, u32)>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub taste: Option<f64>,
    pub tastes: Vec<Tasted>,
    pub notes: Vec<String>,
    /// What was changed since the batch before it.
    pub changed: Vec<String>,
}

/// Batches, the oldest first, this one last.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LastTime {
    pub batches: Vec<Batch>,
    pub recorded: bool,
}

/// As many as are compared.
const MOST: usize = 4;
/// So many batches, each with less than the one before, are told to be a fall: two may be chance.
const FALLING: usize = 3;

impl LastTime {
    pub fn new(facts: &Facts) -> Self {
        let record = facts.record;
        let before: &[Before] = record.map_or(&[], |r| &r.before);
        let mut batches: Vec<Batch> =
            before.iter().map(|b| batch(b.name.clone(), b.recipe.clone(), &b.joints)).collect();
        batches.push(batch(format!("{} (now)", facts.kitchen.name), recipe(facts.kitchen), &this(facts)));
        for i in (1..batches.len()).rev() {
            batches[i].changed = changes(&batches[i - 1].recipe, &batches[i].recipe);
        }
        let drop = batches.len().saturating_sub(MOST);
        batches.drain(..drop);
        Self { batches, recorded: record.is_some() }
    }

    fn sentence(&self) -> Sentence {
        let Some(this) = self.batches.last() else { return plain("Nothing to compare.") };
        if self.batches.len() == 1 {
            let keep = if self.recorded { "" } else { " and no record is kept" };
            return plain(format!("No finished batch is on record{keep}: there is no last time to compare with yet."));
        }
        let best = self.batches[..self.batches.len() - 1]
            .iter()
            .filter_map(|b| Some((b.taste?, b)))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        let best = best.map_or_else(
            || "Nobody wrote down how the others tasted.".to_owned(),
            |(score, b)| format!("Best so far: {}, {score:.1} of 5.", b.name),
        );
        let changed = match this.changed.as_slice() {
            [] => "Nothing was changed since last time.".to_owned(),
            some => format!("Changed since last time: {}.", list(some)),
        };
        plain(format!("{changed} {best}"))
    }

    pub fn page(&self, columns: usize) -> Page {
        let mut p = Page::new(columns, self.sentence());
        let mut cols = vec![Col::Left];
        cols.extend(self.batches.iter().map(|_| Col::Right));
        let mut t = Table::new(&cols);
        let mut row = |what: &str, f: &dyn Fn(&Batch) -> String| {
            let mut cells = vec![quiet(what)];
            cells.extend(self.batches.iter().map(|b| cell(f(b))));
            t.row(None, cells);
        };
        let or = |x: Option<f64>, f: &dyn Fn(f64) -> String| x.map_or_else(|| "not noted".to_owned(), f);
        row("", &|b| crate::app::text::fit(&b.name, 24));
        row("joints", &|b| b.joints.to_string());
        row("green", &|b| format!("{:.1} kg", b.kg));
        row("salt", &|b| format!("{} %", b.recipe.salt_percent));
        row("sugar", &|b| format!("{} %", b.recipe.sugar_percent));
        row("nitrite", &|b| b.recipe.nitrite_mg_per_kg.map_or_else(|| "none".to_owned(), |n| format!("{n} mg/kg")));
        row("days a kilo", &|b| format!("{}", b.recipe.days_per_kg));
        row("turned every", &|b| format!("{} days", b.recipe.turn_every_days));
        row("in the brine", &|b| or(b.brine_days, &|d| format!("{d:.1} days")));
        row("simmer against plan", &|b| or(b.simmer_over_percent, &percent));
        row("yield against table", &|b| or(b.yield_over_percent, &percent));
        row("packs left", &|b| {
            b.packs_left.map_or_else(|| "not counted".to_owned(), |(left, all)| format!("{left} of {all}"))
        });
        row("taste, of 5", &|b| or(b.taste, &|x| format!("{x:.1}")));
        p.table(&t);
        for b in self.batches.iter().rev() {
            if b.changed.is_empty() && b.tastes.is_empty() && b.notes.is_empty() {
                continue;
            }
            p.head(b.name.clone());
            if !b.changed.is_empty() {
                p.set_in(2, format!("Changed: {}.", list(&b.changed)), Voice::Plain);
            }
            for x in &b.tastes {
                let by = if x.by.is_empty() { String::new() } else { format!(" ({})", x.by) };
                p.set_in(
                    2,
                    format!("{} {}: {}{by}", x.joint, "★".repeat(usize::from(x.score.min(5))), x.text),
                    Voice::Plain,
                );
            }
            b.notes.iter().for_each(|n| p.set_in(2, n, Voice::Quiet));
        }
        let mut over = Table::new(&[Col::Fill]);
        let runs: Vec<f64> = self.batches.iter().filter_map(|b| b.simmer_over_percent).collect();
        if runs.len() >= 2 && runs.iter().all(|r| *r > 5.0) {
            let text = "The simmer has run over every time: plan with a larger slow end (limit slow_simmer_factor).";
            over.row(None, vec![voiced(text, Voice::Accent)]);
            p.gap();
            p.table(&over);
        }
        let yields: Vec<f64> = self.batches.iter().filter_map(|b| b.yield_over_percent).collect();
        if yields.len() >= FALLING && yields.windows(2).all(|w| w[1] < w[0]) {
            let text = "Less was packed of each kilo every time: see what goes with rind, bone and trimmings, and how long it simmers.";
            let mut less = Table::new(&[Col::Fill]);
            less.row(None, vec![voiced(text, Voice::Accent)]);
            p.gap();
            p.table(&less);
        }
        p
    }
}

/// With its sign, and no sign of what is rounded off.
fn percent(x: f64) -> String {
    format!("{:+.0} %", x.round() + 0.0)
}

fn recipe(kitchen: &Kitchen) -> Recipe {
    let c = &kitchen.cure;
    Recipe {
        salt_percent: c.salt_percent,
        sugar_percent: c.sugar_percent,
        nitrite_mg_per_kg: c.curing_salt.as_ref().map(|b| b.target_mg_per_kg),
        days_per_kg: c.days_per_kg,
        turn_every_days: c.turn_every_days,
    }
}

fn batch(name: String, recipe: Recipe, joints: &[Came]) -> Batch {
    let mean = |all: Vec<f64>| (!all.is_empty()).then(|| all.iter().sum::<f64>() / all.len() as f64);
    let mut packed = (0.0, 0.0);
    for j in joints.iter().filter(|j| j.weighed) {
        if let Some(grams) = j.packs.as_ref().and_then(|p| p.grams) {
            packed = (packed.0 + grams / 1000.0, packed.1 + j.table_kg);
        }
    }
    let counted: Vec<(u32, u32)> =
        joints.iter().filter_map(|j| j.packs.as_ref()).filter_map(|p| Some((p.left?, p.packs?))).collect();
    let tastes: Vec<Tasted> = joints.iter().flat_map(|j| j.tastes.clone()).collect();
    Batch {
        name,
        recipe,
        joints: joints.len(),
        // No joints weigh nothing, not less.
        kg: joints.iter().map(|j| j.kg).sum::<f64>() + 0.0,
        brine_days: mean(joints.iter().filter_map(|j| j.brine_days).collect()),
        simmer_over_percent: mean(
            joints
                .iter()
                .filter_map(|j| j.simmer.filter(|s| s.0 > 0))
                .map(|(planned, took)| (took as f64 / planned as f64 - 1.0) * 100.0)
                .collect(),
        ),
        yield_over_percent: (packed.1 > 0.0).then(|| (packed.0 / packed.1 - 1.0) * 100.0),
        packs_left: (!counted.is_empty()).then(|| counted.iter().fold((0, 0), |sum, c| (sum.0 + c.0, sum.1 + c.1))),
        taste: mean(tastes.iter().map(|t| f64::from(t.score)).collect()),
        tastes,
        notes: joints.iter().flat_map(|j| j.notes.iter().map(move |n| format!("{}: {n}", j.joint))).collect(),
        changed: Vec::new(),
    }
}

/// This batch, as far as it has gone.
fn this(facts: &Facts) -> Vec<Came> {
    let done = |kind: Kind, joint: &str| {
        let t = facts.plan.tasks.iter().find(|t| t.kind == kind && t.joints.iter().any(|j| j == joint))?;
        Some((t, facts.happened(&t.id)?))
    };
    facts
        .plan
        .joints
        .iter()
        .filter_map(|j| {
            let put = done(Kind::Submerge, &j.name).and_then(|t| t.1.finished);
            let lift = done(Kind::Rinse, &j.name).and_then(|t| t.1.finished);
            let simmer = done(Kind::Simmer, &j.name).and_then(|(t, h)| {
                let took = (h.finished? - h.started?).num_minutes();
                Some(((t.end - t.start).num_minutes(), took))
            });
            let record = facts.record;
            let own = facts.joint(&j.name)?;
            Some(Came {
                joint: j.name.clone(),
                outcome: j.outcome.clone(),
                product: own.outcome,
                kg: j.kg,
                weighed: own.weighed.is_some(),
                table_kg: durations::packed_kg(own),
                frozen: own.is_frozen(),
                cooked: None,
                packed: None,
                packed_told: false,
                numbers: None,
                packs: record.and_then(|r| r.packs.iter().find(|p| p.joint == j.name).cloned()),
                brine_days: put.zip(lift).map(|(a, b)| (b - a).num_minutes() as f64 / 1440.0),
                simmer,
                tastes: record
                    .map_or_else(Vec::new, |r| r.tastes.iter().filter(|t| t.joint == j.name).cloned().collect()),
                notes: record.map_or_else(Vec::new, |r| {
                    r.notes.iter().filter(|n| n.about == j.name).map(|n| n.text.clone()).collect()
                }),
            })
        })
        .collect()
}

/// What is different, in words.
fn changes(a: &Recipe, b: &Recipe) -> Vec<String> {
    let mut out = Vec::new();
    let mut one = |what: &str, a: f64, b: f64, unit: &str| {
        if (a - b).abs() > 1e-9 {
            let word = if b > a { "up" } else { "down" };
            out.push(format!("{what} {word} from {a} to {b}{unit}"));
        }
    };
    one("salt", a.salt_percent, b.salt_percent, " %");
    one("sugar", a.sugar_percent, b.sugar_percent, " %");
    one("days a kilo", a.days_per_kg, b.days_per_kg, "");
    one("days between turns", a.turn_every_days, b.turn_every_days, "");
    match (a.nitrite_mg_per_kg, b.nitrite_mg_per_kg) {
        (Some(a), Some(b)) => one("nitrite", a, b, " mg/kg"),
        (Some(a), None) => out.push(format!("no nitrite, was {a} mg/kg")),
        (None, Some(b)) => out.push(format!("nitrite {b} mg/kg, was none")),
        (None, None) => {}
    }
    out
}
