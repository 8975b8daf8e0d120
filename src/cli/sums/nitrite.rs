//! `turnday nitrite`: a dose against the limits, or what a wrong bag did.

use super::super::{Ended, files};
use super::{bridge, notes, refused, show};
use crate::science::nitrite::unusual_strength;
use crate::science::nitrite::{Bag, dose, pick_up, whole_system};
use crate::science::nitrite_limits::{
    Against, Measure, TenFold, Verdict, after_the_fact, judge, read, shipped, ten_fold, without_a_target,
};
use crate::science::{Answer, Note, Refused, within};
use crate::units::Mass;
use anyhow::Result;
use serde::Serialize;
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub struct NitriteArgs {
    /// Kitchen file to take the bag and the target from
    pub kitchen: Option<PathBuf>,
    /// Sodium nitrite in the bag, % by weight, from its label
    #[arg(long, value_name = "PERCENT")]
    pub bag: Option<f64>,
    /// Nitrate in the bag, % by weight, from its label
    #[arg(long, value_name = "PERCENT", default_value_t = 0.0)]
    pub nitrate: f64,
    /// Sodium nitrite wanted, mg per kg of meat and water
    #[arg(long, value_name = "MG/KG")]
    pub target: Option<f64>,
    /// Meat, such as "4.7 kg"
    #[arg(long, value_parser = Mass::parse)]
    pub meat: Mass,
    /// Water, such as "5.6 kg"
    #[arg(long, value_parser = Mass::parse)]
    pub water: Mass,
    /// Curing salt that was weighed, such as "25g" (the unit must be there): says what it did
    #[arg(long, value_parser = with_unit)]
    pub weighed: Option<Mass>,
    /// Pick-up for the second official method, % of green weight
    #[arg(long, value_name = "PERCENT", default_value_t = 10.0)]
    pub pick_up: f64,
    /// A table of limits of your own (JSON, as the shipped one)
    #[arg(long, value_name = "FILE")]
    pub limits: Option<PathBuf>,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

/// A weight of curing salt. A bare number is kilograms everywhere else, and here a thousand times wrong.
fn with_unit(text: &str) -> Result<Mass, String> {
    let bare = text.trim();
    if bare.parse::<f64>().is_ok() {
        return Err(format!("{bare} has no unit: write \"{bare}g\" for grams"));
    }
    Mass::parse(text).map_err(|e| e.to_string())
}

#[derive(Serialize)]
struct Reckoned {
    bag_percent: f64,
    curing_salt_g: f64,
    /// mg/kg on meat and water (FSIS handbook, immersion, method two).
    whole_system: f64,
    /// mg/kg by pick-up (method one), the pickle taken as the water.
    pick_up: f64,
    if_the_label_was_misread: TenFold,
    limits: Vec<Against>,
    #[serde(skip_serializing_if = "Option::is_none")]
    verdict: Option<Verdict>,
}

pub fn run(args: &NitriteArgs) -> Result<Ended> {
    let from_file = match &args.kitchen {
        None => None,
        Some(path) => match files::kitchen(path)? {
            Ok(k) => bridge::bag(&k.cure),
            Err(e) => return Ok(e),
        },
    };
    let Some(percent) = args.bag.or(from_file.as_ref().map(|b| b.nitrite_percent)) else {
        anyhow::bail!("the bag's strength is not known: type it from its label, --bag 6.25");
    };
    let target = args.target.or(from_file.as_ref().map(|b| b.target_mg_per_kg));
    let nitrate = from_file.as_ref().filter(|_| args.bag.is_none()).map_or(args.nitrate, |b| b.nitrate_percent);
    let own;
    let table = match &args.limits {
        None => shipped(),
        Some(path) => {
            own = read(&files::text_of(path)?).map_err(|r| anyhow::anyhow!("{r}"))?;
            &own
        }
    };
    let (meat, water) = (args.meat.as_kg(), args.water.as_kg());
    let sensible = || -> Result<(), Refused> {
        for (name, kg) in [("meat", meat), ("water", water)] {
            if kg <= 0.0 {
                let why = format!("{name} is {kg} kg: an immersion cure has both meat and water");
                return Err(Refused::new(why, format!("give the {name} that was weighed, such as --{name} 5.6kg")));
            }
            within(name, kg, 0.01, 2000.0, "kg")?;
        }
        within("pick-up", args.pick_up, 0.0, 100.0, "%").map(drop)
    };
    if let Err(r) = sensible() {
        return refused(args.json, &r);
    }
    let reckon = || -> Result<(f64, Option<Verdict>, Vec<Note>), Refused> {
        let Some(w) = args.weighed else {
            let target = target.unwrap_or(f64::NAN);
            let bag = Bag { nitrite_percent: percent, nitrate_percent: nitrate, target_mg_per_kg: target };
            let a = dose(&bag, Mass::kg(meat + water))?;
            return Ok((a.value.as_g(), None, a.notes));
        };
        let (verdict, mut said) = match target {
            Some(t) => after_the_fact(w.as_g(), percent, meat + water, t).map(|a| (Some(a.value.1), a.notes))?,
            None => without_a_target(w.as_g(), percent, meat + water).map(|a| (a.value.1, a.notes))?,
        };
        said.extend(unusual_strength(percent));
        Ok((w.as_g(), verdict, said))
    };
    if args.weighed.is_none() && target.is_none() {
        anyhow::bail!("no target: give one, --target 120; or what was weighed, --weighed 19.8g");
    }
    let (grams, verdict, said) = match reckon() {
        Ok(r) => r,
        Err(r) => return refused(args.json, &r),
    };
    let nitrite = grams / 1000.0 * percent / 100.0;
    let ppm = whole_system(nitrite, meat, water);
    let a = Answer::new(Reckoned {
        bag_percent: percent,
        curing_salt_g: grams,
        whole_system: ppm,
        pick_up: pick_up(nitrite, water, args.pick_up / 100.0),
        if_the_label_was_misread: ten_fold(grams / 1000.0, meat + water, percent),
        limits: judge(table, ppm),
        verdict,
    })
    .with_all(said);
    let v = &a.value;
    let mut out = format!(
        "{} of a {percent} % bag on {meat:.1} kg of meat and {water:.1} kg of water\n",
        if args.weighed.is_some() { format!("{grams:.1} g was weighed") } else { format!("Weigh {grams:.1} g") }
    );
    out += &format!(
        "  Going in, as sodium nitrite: {:.0} mg/kg on meat and water (whole system)\n                               {:.0} mg/kg by pick-up at {} %\n",
        v.whole_system, v.pick_up, args.pick_up
    );
    out += &format!(
        "  If the label was misread: {:.0} mg/kg from a bag of {} %, {:.0} from one of {} %, {:.0} from pure nitrite\n\n",
        v.if_the_label_was_misread.weaker,
        percent / 10.0,
        v.if_the_label_was_misread.stronger,
        percent * 10.0,
        v.if_the_label_was_misread.pure
    );
    out += "Limits on what goes in\n";
    for l in v.limits.iter().filter(|l| l.limit.measure == Measure::Ingoing && l.inside.is_some()) {
        out += &format!(
            "  {:<8} {:<9} {} {:.0} mg/kg {} ({:.0} here): {}\n           {}; looked at {}\n",
            if l.inside == Some(true) { "inside" } else { "OUTSIDE" },
            l.limit.country,
            if l.limit.at_least { "at least" } else { "at most" },
            l.limit.mg_per_kg,
            l.limit.species.words(),
            l.dose,
            l.limit.class,
            l.limit.source,
            l.limit.as_of
        );
    }
    for l in v.limits.iter().filter(|l| l.limit.measure == Measure::Ingoing && !l.limit.ours) {
        out += &format!(
            "  {:<8} {:<9} {} {:.0} mg/kg {}: {}\n",
            "-",
            l.limit.country,
            if l.limit.at_least { "at least" } else { "at most" },
            l.limit.mg_per_kg,
            l.limit.species.words(),
            format_args!("not this product: {}", l.limit.class)
        );
    }
    out += "Limits on what may be left, which a dose does not tell\n";
    for l in v.limits.iter().filter(|l| l.limit.measure == Measure::Residual) {
        out += &format!(
            "  {:<9} {:.0} mg/kg {}: {}{} ({})\n",
            l.limit.country,
            l.limit.mg_per_kg,
            l.limit.species.words(),
            if l.limit.ours { "" } else { "not this product: " },
            l.limit.class,
            l.limit.source
        );
    }
    out += "\n";
    out += &notes(&a.notes);
    let ended = show(args.json, &a, &out)?;
    Ok(if matches!(verdict, Some(Verdict::Bin | Verdict::Drain)) { Ended::Refused } else { ended })
}
