//! `turnday yield`: packs from pork, or pork from packs.

use super::super::{Ended, files};
use super::{bridge, notes, refused, show};
use crate::kitchen::Kitchen;
use crate::kitchen::Outcome;
use crate::process::{durations, fit};
use crate::science::cost::{Cost, Energy, Line as Paid, batch_energy, cost, heat_up_kwh};
use crate::science::yields::{Packing, Product, from_green, to_order, usual};
use crate::science::{Answer, Note, Refused};
use crate::units::{Elapsed, Mass, Temperature, Volume};
use anyhow::Result;
use serde::Serialize;
use std::path::PathBuf;

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
pub enum Becomes {
    HamSliced,
    HamWhole,
    GammonSteaks,
    GammonJoint,
}

#[derive(Debug, clap::Args)]
pub struct YieldArgs {
    /// Kitchen file: the packs from each of its joints
    pub kitchen: Option<PathBuf>,
    /// Packs wanted: says what to order
    #[arg(long, conflicts_with = "kitchen")]
    pub packs: Option<u32>,
    /// People at table: says what to order
    #[arg(long, value_name = "PEOPLE", conflicts_with = "kitchen")]
    pub at_table: Option<u32>,
    /// Weight of a pack; the product's usual one when left out
    #[arg(long, value_parser = Mass::parse, conflicts_with = "kitchen")]
    pub pack: Option<Mass>,
    /// Weight for each person at table; the product's usual one when left out
    #[arg(long, value_parser = Mass::parse, conflicts_with = "kitchen")]
    pub portion: Option<Mass>,
    /// What it becomes
    #[arg(long, value_enum, default_value_t = Becomes::HamSliced, conflicts_with = "kitchen")]
    pub product: Becomes,
    /// On the bone
    #[arg(long, conflicts_with = "kitchen")]
    pub bone_in: bool,
    /// Price of a kilogram of pork, in your own money ("7", "£7.50"): says what the batch costs
    #[arg(long, value_name = "PRICE", requires = "kitchen", value_parser = Money::parse, allow_hyphen_values = true)]
    pub pork_price: Option<Money>,
    /// Price of a kilowatt hour
    #[arg(long, value_name = "PRICE", requires = "pork_price", value_parser = Money::parse)]
    pub kwh_price: Option<Money>,
    /// Everything else that was paid: salt, bags, ice, your time
    #[arg(long, value_name = "SUM", requires = "pork_price", value_parser = Money::parse)]
    pub other: Option<Money>,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

/// A sum of money as it was typed, with its sign if it has one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Money {
    amount: f64,
    sign: Option<char>,
}

/// Signs that money is written with, before the figure or behind it.
const SIGNS: [char; 12] = ['£', '$', '€', '¥', '₹', '₽', '₩', '₺', '₴', '₪', '₱', '₦'];

impl Money {
    fn parse(text: &str) -> Result<Self, String> {
        let bare = text.trim();
        let sign = bare.chars().next().into_iter().chain(bare.chars().last()).find(|c| SIGNS.contains(c));
        let figure = sign.map_or(bare, |s| bare.trim_start_matches(s).trim_end_matches(s)).trim();
        match figure.parse::<f64>() {
            Ok(amount) if amount.is_finite() => Ok(Self { amount, sign }),
            _ => Err(format!(
                "\"{text}\" is no sum of money: write a number, with a point and a sign if you like (7.50, £7.50)"
            )),
        }
    }
}

#[derive(Serialize)]
struct Line {
    joint: String,
    outcome: &'static str,
    packing: Packing,
    /// What a kilogram and a pack of it cost, once a price is given; a joint left whole is one pack.
    #[serde(skip_serializing_if = "Option::is_none")]
    cost: Option<Share>,
    #[serde(skip)]
    green: f64,
    #[serde(skip)]
    pack: Mass,
}

/// A joint's share of the cost.
#[derive(Serialize)]
struct Share {
    per_kg: f64,
    per_pack: f64,
}

/// A kitchen's batch: its packs, its energy, and its cost once a price is given.
#[derive(Serialize)]
struct Batch {
    joints: Vec<Line>,
    packs: u32,
    packed: Mass,
    /// kWh
    energy: Energy,
    #[serde(skip_serializing_if = "Option::is_none")]
    cost: Option<Cost>,
}

/// Share of the hob's heat that gets into the pot (judgement, no source).
const HOB: f64 = 0.8;

/// Energy of a batch cooked in one day in the largest pot.
fn energy(kitchen: &Kitchen) -> Result<Answer<Energy>, Refused> {
    let hams: Vec<_> = kitchen.joints.iter().filter(|j| j.outcome.is_ham()).collect();
    let pot = kitchen.kit.pots.iter().map(fit::pot_litres).fold(0.0, f64::max);
    let celsius = Temperature::celsius;
    let up = if hams.is_empty() { 0.0 } else { heat_up_kwh(Volume::litres(pot), celsius(12.0), celsius(85.0), HOB)? };
    let simmer = hams.iter().map(|j| crate::science::cook::simmer(j.planned_weight()).planned.as_minutes());
    let simmer = Elapsed::minutes(simmer.fold(0.0, f64::max));
    let at_once = kitchen.kit.oven.as_ref().map_or(1, |o| o.hams.max(1)) as usize;
    let bakes = hams.len().div_ceil(at_once) as u32;
    let days = kitchen.joints.iter().map(|j| f64::from(durations::cure(j, &kitchen.cure)) / 1440.0);
    Ok(Answer::new(batch_energy(up, simmer, bakes, days.fold(0.0, f64::max), 0.0)).with(Note::assumes(
        "energy: all hams in one simmer of the largest pot, full, at 0.4 kW; 1.3 kWh a bake; a spare fridge at 0.85 kWh a day for the longest cure; no freezer (common practice, no source)",
    )))
}

#[derive(Serialize)]
struct Order {
    packed: Mass,
    green: Mass,
}

/// The sign that the prices are written with; none when none has one.
fn sign(args: &YieldArgs) -> Result<String> {
    let mut signs: Vec<char> =
        [args.pork_price, args.kwh_price, args.other].into_iter().flatten().filter_map(|m| m.sign).collect();
    signs.dedup();
    match signs.as_slice() {
        [] => Ok(String::new()),
        [one] => Ok(one.to_string()),
        [a, b, ..] => anyhow::bail!("the prices are in {a} and in {b}: give them all in one money"),
    }
}

pub fn run(args: &YieldArgs) -> Result<Ended> {
    if let Some(path) = &args.kitchen {
        let kitchen = match files::kitchen(path)? {
            Ok(k) => k,
            Err(e) => return Ok(e),
        };
        let (mut lines, mut said, mut out, mut total) = (Vec::new(), Vec::<Note>::new(), String::new(), 0);
        for j in &kitchen.joints {
            let whole = matches!(j.outcome, Outcome::HamWhole | Outcome::GammonJoint);
            let green = j.planned_weight();
            let product = bridge::product(j.outcome);
            let pack = match j.outcome {
                Outcome::HamSliced => kitchen.cure.pack_ham,
                Outcome::GammonSteaks => kitchen.cure.pack_steaks,
                // A joint left whole is one pack of whatever it comes to.
                _ => crate::science::yields::packed(green, product, j.bone_in),
            };
            let a = match from_green(green, product, j.bone_in, pack) {
                Ok(a) => a,
                Err(r) => return refused(args.json, &r),
            };
            said.extend(a.notes);
            let p = a.value;
            out += &format!("  {:<16} {:>4.1} kg green, {}: ", j.name, green.as_kg(), j.outcome.words());
            out += &if whole {
                format!("one pack of about {:.2} kg\n", p.packed.as_kg())
            } else {
                format!(
                    "{} packs of {:.0} g (from {} to {}) and {:.0} g over\n",
                    p.packs,
                    pack.as_g(),
                    p.low,
                    p.high,
                    p.over.as_g()
                )
            };
            total += p.packs;
            let pack = if whole { p.packed } else { pack };
            let (joint, outcome, green) = (j.name.clone(), j.outcome.words(), green.as_kg());
            lines.push(Line { joint, outcome, packing: p, cost: None, green, pack });
        }
        out += &format!("{total} packs in all: as many bags and labels, and a few over for seals that fail\n");
        let packed: f64 = lines.iter().map(|l| l.packing.packed.as_kg()).sum();
        let green: f64 = lines.iter().map(|l| l.green).sum();
        let sign = sign(args)?;
        let reckoned = energy(&kitchen).and_then(|e| {
            let Some(price) = args.pork_price else { return Ok((e, None)) };
            let paid =
                |what: &str, amount, price: Money| Paid { what: what.to_owned(), amount, unit_price: price.amount };
            let mut all = vec![paid("pork", green, price)];
            all.extend(args.kwh_price.map(|p| paid("energy", e.value.total(), p)));
            all.extend(args.other.map(|p| paid("everything else", 1.0, p)));
            cost(&all, packed).map(|c| (e, Some(c)))
        });
        let (used, money) = match reckoned {
            Ok(r) => r,
            Err(r) => return refused(args.json, &r),
        };
        let e = used.value;
        out += &format!(
            "About {:.0} kWh: {:.1} to heat the pot, {:.1} to simmer, {:.1} to bake, {:.1} for the fridge\n",
            e.total(),
            e.heat_up,
            e.simmer,
            e.bake,
            e.fridge
        );
        said.extend(used.notes);
        if let Some(c) = &money {
            let sum = |x: f64| format!("{sign}{x:.2}");
            out += &format!("Costs {} in all, {} a kilogram packed:\n", sum(c.value.total), sum(c.value.per_kg));
            for l in &mut lines {
                let all = c.value.of(l.green, green);
                let per_kg = all / l.packing.packed.as_kg();
                let share = Share { per_kg, per_pack: per_kg * l.pack.as_kg() };
                out += &format!(
                    "  {:<16} {} a kilogram, {} a pack of {:.0} g\n",
                    l.joint,
                    sum(share.per_kg),
                    sum(share.per_pack),
                    l.pack.as_g()
                );
                l.cost = Some(share);
            }
            said.extend(c.notes.iter().cloned());
            said.push(Note::assumes(
                "each joint bears the cost by its green weight; what is over its packs counts as packed",
            ));
        }
        out += &notes(&said);
        let batch =
            Batch { joints: lines, packs: total, packed: Mass::kg(packed), energy: e, cost: money.map(|c| c.value) };
        return show(args.json, &Answer::new(batch).with_all(said), &out);
    }
    if args.packs.is_none() && args.at_table.is_none() {
        anyhow::bail!("give a kitchen file, or what is wanted: --packs 20 --at-table 14");
    }
    let product = match args.product {
        Becomes::HamSliced => Product::HamSliced,
        Becomes::HamWhole => Product::HamWhole,
        Becomes::GammonSteaks => Product::GammonSteaks,
        Becomes::GammonJoint => Product::GammonJoint,
    };
    let (packs, people) = (args.packs.unwrap_or(0), args.at_table.unwrap_or(0));
    let usual = usual(product);
    let Some(pack) = args.pack.or(usual.pack).or((packs == 0).then(Mass::default)) else {
        anyhow::bail!("a ham left whole is one pack of whatever it comes to: give its weight, --pack 1.8kg");
    };
    let portion = args.portion.unwrap_or(usual.portion);
    let packed = Mass::kg(f64::from(packs) * pack.as_kg() + f64::from(people) * portion.as_kg());
    let a = match to_order(packed, product, args.bone_in) {
        Ok(a) => a.map(|green| Order { packed, green }),
        Err(r) => return refused(args.json, &r),
    };
    let a = a.with(Note::assumes(format!("usual: {} (common practice, no source)", usual.says)));
    let mut wanted = Vec::new();
    if packs > 0 {
        wanted.push(format!("{packs} packs of {:.0} g", pack.as_g()));
    }
    if people > 0 {
        wanted.push(format!("{people} at table at {:.0} g", portion.as_g()));
    }
    let mut out = format!(
        "Order about {:.1} kg of pork for {:.2} kg packed ({})\n",
        a.value.green.as_kg(),
        packed.as_kg(),
        wanted.join(", ")
    );
    out += &notes(&a.notes);
    show(args.json, &a, &out)
}
