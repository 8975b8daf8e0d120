//! `turnday yield`: packs from pork, or pork from packs.

use super::super::{Ended, files};
use super::{bridge, notes, refused, show};
use crate::kitchen::Outcome;
use crate::science::yields::{Packing, Product, from_green, to_order};
use crate::science::{Answer, Note};
use crate::units::Mass;
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
    /// Weight of a pack
    #[arg(long, value_parser = Mass::parse, default_value = "150 g")]
    pub pack: Mass,
    /// Weight for each person at table
    #[arg(long, value_parser = Mass::parse, default_value = "80 g")]
    pub portion: Mass,
    /// What it becomes
    #[arg(long, value_enum, default_value_t = Becomes::HamSliced)]
    pub product: Becomes,
    /// On the bone
    #[arg(long)]
    pub bone_in: bool,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Serialize)]
struct Line {
    joint: String,
    outcome: &'static str,
    packing: Packing,
}

#[derive(Serialize)]
struct Order {
    packed: Mass,
    green: Mass,
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
            lines.push(Line { joint: j.name.clone(), outcome: j.outcome.words(), packing: p });
        }
        out += &format!("{total} packs in all: as many bags and labels, and a few over for seals that fail\n");
        out += &notes(&said);
        return show(args.json, &Answer::new(lines).with_all(said), &out);
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
    let packed = Mass::kg(f64::from(packs) * args.pack.as_kg() + f64::from(people) * args.portion.as_kg());
    let a = match to_order(packed, product, args.bone_in) {
        Ok(a) => a.map(|green| Order { packed, green }),
        Err(r) => return refused(args.json, &r),
    };
    let mut out = format!(
        "Order about {:.1} kg of pork for {:.2} kg packed ({packs} packs of {:.0} g, {people} at table at {:.0} g)\n",
        a.value.green.as_kg(),
        packed.as_kg(),
        args.pack.as_g(),
        args.portion.as_g()
    );
    out += &notes(&a.notes);
    show(args.json, &a, &out)
}
