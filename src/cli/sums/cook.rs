//! `turnday cook`: when a joint in the pot is hot at the core, from its size or from probe readings.

use super::super::{Ended, files};
use super::{bridge, length, log, notes, refused, show};
use crate::kitchen::Kitchen;
use crate::science::fit::{Forecast, Subject, forecast};
use crate::science::lethality::{Cooked, cooked};
use crate::science::properties::{Composition, unfrozen};
use crate::science::size::Size;
use crate::science::{Note, Refused, Spread, cook, size};
use crate::units::{Elapsed, Length, Mass, Temperature};
use anyhow::Result;
use serde::Serialize;
use std::path::PathBuf;

/// Which joint: from a kitchen file, or typed.
#[derive(Debug, clap::Args)]
pub struct Which {
    /// Kitchen file; every ham in it when no joint is named
    pub kitchen: Option<PathBuf>,
    /// A joint of the kitchen file, by name
    #[arg(long, value_name = "NAME", requires = "kitchen")]
    pub joint: Option<String>,
    /// Weight of a joint that is in no file, such as "2.6 kg"
    #[arg(long, value_parser = Mass::parse, conflicts_with = "kitchen")]
    pub weight: Option<Mass>,
    /// Its diameter, measured
    #[arg(long, value_parser = Length::parse, requires = "weight")]
    pub diameter: Option<Length>,
    /// Its length, measured
    #[arg(long, value_parser = Length::parse, requires = "weight")]
    pub length: Option<Length>,
}

/// A joint to reckon.
pub struct Piece {
    pub name: String,
    pub weight: Mass,
    pub size: Size,
}

/// The joints asked for, and the kitchen if there is one.
pub struct Pieces {
    pub kitchen: Option<Kitchen>,
    pub pieces: Vec<Piece>,
}

impl Which {
    /// `Err(Ended)` when the kitchen file is unusable.
    pub fn pieces(&self) -> Result<std::result::Result<Pieces, Ended>> {
        if let Some(weight) = self.weight {
            let reckoned = size::from_weight(weight).map_err(|r| anyhow::anyhow!("{r}"))?.value;
            let diameter = self.diameter.unwrap_or(reckoned.diameter);
            let length = self.length.unwrap_or(if self.diameter.is_some() {
                Length::cm(size::LENGTH_OVER_DIAMETER * diameter.as_cm())
            } else {
                reckoned.length
            });
            let piece = Piece { name: format!("{:.1} kg", weight.as_kg()), weight, size: Size { diameter, length } };
            return Ok(Ok(Pieces { kitchen: None, pieces: vec![piece] }));
        }
        let Some(path) = &self.kitchen else { anyhow::bail!("give a kitchen file, or a joint: --weight \"2.6 kg\"") };
        let kitchen = match files::kitchen(path)? {
            Ok(k) => k,
            Err(e) => return Ok(Err(e)),
        };
        let wanted = |j: &&crate::kitchen::Joint| match &self.joint {
            Some(name) => j.name == *name,
            None => j.outcome.is_ham(),
        };
        let pieces: Vec<Piece> = kitchen
            .joints
            .iter()
            .filter(wanted)
            .map(|j| Piece { name: j.name.clone(), weight: j.planned_weight(), size: bridge::size(j) })
            .collect();
        if pieces.is_empty() {
            match &self.joint {
                Some(name) => anyhow::bail!("no joint is called \"{name}\""),
                None => anyhow::bail!("no joint in it becomes a ham"),
            }
        }
        Ok(Ok(Pieces { kitchen: Some(kitchen), pieces }))
    }
}

#[derive(Debug, clap::Args)]
pub struct CookArgs {
    #[command(flatten)]
    pub which: Which,
    /// A probe reading at the core, such as 10:30=41.5; again for each, in order
    #[arg(long = "reading", value_name = "HH:MM=TEMP", allow_hyphen_values = true)]
    pub readings: Vec<String>,
    /// Simmer
    #[arg(long, value_parser = Temperature::parse, default_value = "85")]
    pub simmer: Temperature,
    /// Core temperature to reach
    #[arg(long, value_parser = Temperature::parse, default_value = "70")]
    pub target: Temperature,
    /// Core temperature when it goes in
    #[arg(long, value_parser = Temperature::parse, default_value = "4", allow_hyphen_values = true)]
    pub start: Temperature,
    /// From cold water to a simmer
    #[arg(long, value_parser = Elapsed::parse, default_value = "60 min")]
    pub heat_up: Elapsed,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Serialize)]
struct Answered {
    joint: String,
    size: Size,
    /// From the first simmer, by the rule.
    tender_by_rule: Spread,
    /// From pot-up, by conduction.
    core_by_physics: Elapsed,
    #[serde(skip_serializing_if = "Option::is_none")]
    forecast: Option<Forecast>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lethality: Option<Cooked>,
    notes: Vec<Note>,
}

fn answer(
    args: &CookArgs,
    p: &Piece,
    readings: Option<&crate::science::readings::Log>,
) -> Result<(Answered, String), Refused> {
    let rule = cook::simmer_answer(p.weight)?;
    let physics = cook::core_by_physics(p.size, args.start, args.heat_up, args.simmer, args.target)?;
    let mut said = rule.notes;
    said.extend(physics.notes);
    let to = args.target.as_celsius();
    let mut out = format!(
        "{}: {:.1} cm thick, {:.1} cm long\n  Tender by the rule {} after the first simmer, at the slow end {}\n  Core at {to} °C by conduction {} after pot-up (heat-up of {} in it)\n",
        p.name,
        p.size.diameter.as_cm(),
        p.size.length.as_cm(),
        length(rule.value.planned),
        length(rule.value.slow),
        length(physics.value),
        length(args.heat_up)
    );
    let (mut seen, mut killed) = (None, None);
    if let Some(log) = readings {
        let meat = unfrozen(Composition::LEAN_PORK, Temperature::celsius(45.0))?;
        // Part of the heat-up may lie before the first reading; the fit moves the start.
        let subject = Subject {
            size: Some(p.size),
            conductivity: meat.conductivity,
            diffusivity: meat.diffusivity(),
            stages: cook::stages(Elapsed::minutes(1.0), args.simmer),
        };
        let f = forecast(&subject, &log.readings, args.target)?;
        out += &told(&f.value.forecast, to, log);
        said.extend(f.notes);
        seen = Some(f.value.forecast);
        if log.readings.len() > 1 {
            let k = cooked(&log.readings)?;
            out += &format!(
                "  So far worth {:.1} min at 70 °C: {} the 2 min asked\n",
                k.value.minutes_at_70,
                if k.value.inside { "inside" } else { "short of" }
            );
            said.extend(k.notes);
            killed = Some(k.value);
        }
    }
    let a = Answered {
        joint: p.name.clone(),
        size: p.size,
        tender_by_rule: rule.value,
        core_by_physics: physics.value,
        forecast: seen,
        lethality: killed,
        notes: said,
    };
    Ok((a, out))
}

/// A forecast in a line.
pub fn told(f: &Forecast, to: f64, log: &crate::science::readings::Log) -> String {
    if f.reached {
        return format!("  Reached {to} °C at {} by the readings\n", log.clock(f.expected));
    }
    let n = if f.readings == 1 { "1 reading".to_owned() } else { format!("{} readings", f.readings) };
    format!(
        "  From {n}: {to} °C at about {}, nine chances in ten between {} and {}\n",
        log.clock(f.expected),
        log.clock(f.soonest),
        log.clock(f.latest)
    )
}

pub fn run(args: &CookArgs) -> Result<Ended> {
    let readings = log(&args.readings)?;
    let found = match args.which.pieces()? {
        Ok(f) => f,
        Err(e) => return Ok(e),
    };
    if readings.is_some() && found.pieces.len() > 1 {
        anyhow::bail!("readings belong to one joint: name it with --joint");
    }
    let (mut all, mut out) = (Vec::new(), String::new());
    for p in &found.pieces {
        match answer(args, p, readings.as_ref()) {
            Ok((a, text)) => {
                out += &text;
                out.push('\n');
                all.push(a);
            }
            Err(r) => return refused(args.json, &r),
        }
    }
    out += &notes(all.iter().flat_map(|a| &a.notes));
    show(args.json, &all, &out)
}
