//! `turnday keep`: how long it keeps.

use super::super::Ended;
use super::{notes, refused, show};
use crate::science::keeping::{
    DateKind, Hurdles, Kept, Life, Pack, Store, life, lives, salt_in_water_phase, ten_day_rule,
};
use crate::science::{Answer, Note};
use crate::units::Temperature;
use anyhow::Result;
use serde::Serialize;

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
pub enum Product {
    FreshPork,
    GammonRaw,
    HamWhole,
    HamSliced,
    Thawed,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
pub enum Packed {
    Loose,
    Vacuum,
}

#[derive(Debug, clap::Args)]
pub struct KeepArgs {
    /// What it is; the whole table when left out
    #[arg(long, value_enum)]
    pub product: Option<Product>,
    /// How it is packed
    #[arg(long, value_enum, default_value_t = Packed::Vacuum)]
    pub pack: Packed,
    /// Temperature it is kept at, such as "4 C" or "-18"
    #[arg(long, value_parser = Temperature::parse, allow_hyphen_values = true, default_value = "4")]
    pub at: Temperature,
    /// Salt measured in the product, %
    #[arg(long, value_name = "PERCENT", requires = "moisture")]
    pub salt: Option<f64>,
    /// Moisture measured in the product, %
    #[arg(long, value_name = "PERCENT", requires = "salt")]
    pub moisture: Option<f64>,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Serialize)]
struct Keeping {
    life: Life,
    #[serde(skip_serializing_if = "Option::is_none")]
    salt_in_water: Option<f64>,
    /// What lifts the ten-day limit of a chilled vacuum pack; `None` when nothing shown does.
    #[serde(skip_serializing_if = "Option::is_none")]
    hurdle: Option<&'static str>,
}

fn days(l: &Life) -> String {
    if l.days.0 == l.days.1 {
        format!("at most {} days", l.days.1)
    } else {
        format!("{} to {} days", l.days.0, l.days.1)
    }
}

const fn kind(k: DateKind) -> &'static str {
    match k {
        DateKind::Safety => "use by",
        DateKind::Quality => "best before",
    }
}

fn table(json: bool) -> Result<Ended> {
    let mut out = String::new();
    for l in lives() {
        let name = serde_json::to_value(l.product)?;
        out += &format!(
            "  {:<12} {:<7} {:<8} {:<12} {:<17} {}\n",
            name.as_str().unwrap_or(""),
            if l.pack == Pack::Vacuum { "vacuum" } else { "loose" },
            if l.store == Store::Frozen { "frozen" } else { "chilled" },
            kind(l.kind),
            days(l),
            l.source
        );
    }
    out += &notes([&Note::caution(
        "use by is a safety date, best before a quality date; defer to local rules, and when in doubt throw it out",
    )]);
    show(json, &lives(), &out)
}

pub fn run(args: &KeepArgs) -> Result<Ended> {
    let Some(product) = args.product else { return table(args.json) };
    let product = match product {
        Product::FreshPork => Kept::FreshPork,
        Product::GammonRaw => Kept::GammonRaw,
        Product::HamWhole => Kept::HamWhole,
        Product::HamSliced => Kept::HamSliced,
        Product::Thawed => Kept::Thawed,
    };
    let pack = match args.pack {
        Packed::Loose => Pack::Loose,
        Packed::Vacuum => Pack::Vacuum,
    };
    let found = match life(product, pack, args.at) {
        Ok(a) => a,
        Err(r) => return refused(args.json, &r),
    };
    let wps = match (args.salt, args.moisture) {
        (Some(s), Some(m)) => match salt_in_water_phase(s, m) {
            Ok(p) => Some(p),
            Err(r) => return refused(args.json, &r),
        },
        _ => None,
    };
    let l = found.value.clone();
    let mut said = found.notes;
    let mut hurdle = None;
    if pack == Pack::Vacuum && l.store == Store::Chilled {
        match ten_day_rule(args.at, Hurdles { salt_in_water: wps, ..Hurdles::default() }) {
            Ok(a) => {
                hurdle = a.value;
                said.extend(a.notes);
            }
            Err(r) => return refused(args.json, &r),
        }
    }
    let mut out = format!("{}: {} {} at {} °C\n", l.says, kind(l.kind), days(&l), args.at.as_celsius());
    if let Some(p) = wps {
        out += &format!("  {p:.2} % salt in the water\n");
    }
    if let Some(h) = hurdle {
        out += &format!("  Past ten days only because of {h}, once it is shown in every part\n");
    }
    let a = Answer::new(Keeping { life: l, salt_in_water: wps, hurdle }).with_all(said);
    out += &notes(&a.notes);
    show(args.json, &a, &out)
}
