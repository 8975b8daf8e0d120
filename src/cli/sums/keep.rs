//! `turnday keep`: how long it keeps.

use super::super::Ended;
use super::{length, notes, refused, show};
use crate::science::freezing::{Freezing, pham};
use crate::science::keeping::{
    DateKind, Hurdles, Kept, Life, Pack, Store, life, lives, salt_in_water_phase, store_at, ten_day_rule, warm,
};
use crate::science::shape::Shape;
use crate::science::{Answer, Note, Refused};
use crate::units::{Elapsed, Length, Temperature};
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
    /// Temperature it is kept at, such as "4 C" or "-18"; 4 °C when left out, −18 °C with --freeze
    #[arg(long, value_parser = Temperature::parse, allow_hyphen_values = true)]
    pub at: Option<Temperature>,
    /// Thickness of the pack as it lies: says how long it takes to freeze through
    #[arg(long, value_name = "THICKNESS", value_parser = Length::parse, requires = "product")]
    pub freeze: Option<Length>,
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
    #[serde(skip_serializing_if = "Option::is_none")]
    freezing: Option<FreezingTimes>,
}

/// How long one flat pack takes to freeze through.
#[derive(Serialize)]
struct FreezingTimes {
    thickness: Length,
    from: Temperature,
    /// Core temperature that counts as frozen through.
    until: Temperature,
    in_moving_air: Elapsed,
    in_still_air: Elapsed,
}

/// Surface films of a pack in a freezer, W/m²K: with a fan, and in a drawer (judgement, no source).
const FILMS: [f64; 2] = [25.0, 10.0];

fn frozen_in(thickness: Length, around: Temperature) -> Result<Answer<FreezingTimes>, Refused> {
    if store_at(around)? != Store::Frozen {
        return Err(Refused::new(
            format!("nothing freezes through at {} °C", around.tenths()),
            "give the freezer's temperature, such as --at -18",
        ));
    }
    let from = Temperature::celsius(4.0);
    // The last three degrees to the freezer's own temperature take as long again and change nothing.
    let until = Temperature::celsius(around.as_celsius() + 3.0);
    let time = |film| pham(&Freezing { until, ..Freezing::pork(Shape::Slab { thickness }, from, around, film) });
    let (moving, still) = (time(FILMS[0])?, time(FILMS[1])?);
    Ok(Answer::new(FreezingTimes { thickness, from, until, in_moving_air: moving.value, in_still_air: still.value })
        .with(Note::assumes("a flat pack, cold on both sides; surface films of 25 and 10 W/m²K are judgement"))
        .with_all(moving.notes)
        .with_all(still.notes)
        .with(Note::flag("packs in a heap take several times as long: go by what the freezer takes in a day")))
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

/// The whole table, or the lines of it that a temperature leaves.
fn table(json: bool, at: Option<Temperature>) -> Result<Ended> {
    let mut out = String::new();
    let mut said = Vec::new();
    let store = match at.map(store_at).transpose() {
        Ok(s) => s,
        Err(r) => return refused(json, &r),
    };
    if let Some(t) = at {
        out += &format!("At {} °C\n", t.tenths());
        if store == Some(Store::Chilled) {
            said.extend(warm(t));
        }
    }
    let wanted: Vec<&Life> = lives().iter().filter(|l| store.is_none_or(|s| l.store == s)).collect();
    for l in &wanted {
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
    said.push(Note::caution(
        "use by is a safety date, best before a quality date; defer to local rules, and when in doubt throw it out",
    ));
    out += &notes(&said);
    show(json, &wanted, &out)
}

pub fn run(args: &KeepArgs) -> Result<Ended> {
    let Some(product) = args.product else { return table(args.json, args.at) };
    let at = args.at.unwrap_or(Temperature::celsius(if args.freeze.is_some() { -18.0 } else { 4.0 }));
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
    let found = match life(product, pack, at) {
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
        match ten_day_rule(at, Hurdles { salt_in_water: wps, ..Hurdles::default() }) {
            Ok(a) => {
                hurdle = a.value;
                said.extend(a.notes);
            }
            Err(r) => return refused(args.json, &r),
        }
    }
    let mut out = format!("{}: {} {} at {} °C\n", l.says, kind(l.kind), days(&l), at.tenths());
    if let Some(p) = wps {
        out += &format!("  {p:.2} % salt in the water\n");
    }
    if let Some(h) = hurdle {
        out += &format!("  Past ten days only because of {h}, once it is shown in every part\n");
    }
    let mut freezing = None;
    if let Some(thickness) = args.freeze {
        let f = match frozen_in(thickness, at) {
            Ok(f) => f,
            Err(r) => return refused(args.json, &r),
        };
        let v = f.value;
        out += &format!(
            "  A pack {:.1} cm thick, in at {} °C, is at {} °C all through after about {} in moving air, {} in still air\n",
            thickness.as_cm(),
            v.from.tenths(),
            v.until.tenths(),
            length(v.in_moving_air),
            length(v.in_still_air)
        );
        said.extend(f.notes);
        freezing = Some(v);
    }
    let a = Answer::new(Keeping { life: l, salt_in_water: wps, hurdle, freezing }).with_all(said);
    out += &notes(&a.notes);
    show(args.json, &a, &out)
}
