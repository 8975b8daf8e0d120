//! `turnday cook`: when a joint in the pot is hot at the core, from its size or from probe readings.

use super::super::{Ended, files};
use super::{bridge, length, log, notes, refused, show};
use crate::kitchen::Kitchen;
use crate::science::fit::{Forecast, SIGHT, Subject, forecast};
use crate::science::lethality::{ByTable, Cooked, against, cooked, equivalent_minutes, tables};
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
    /// What to say of its size.
    pub notes: Vec<Note>,
}

/// The joints asked for, and the kitchen if there is one.
pub struct Pieces {
    pub kitchen: Option<Kitchen>,
    pub pieces: Vec<Piece>,
}

impl Which {
    /// `Err(Ended)` when the kitchen file is unusable, or a size cannot belong to its weight.
    pub fn pieces(&self, json: bool) -> Result<std::result::Result<Pieces, Ended>> {
        if let Some(weight) = self.weight {
            let from_weight = size::from_weight(weight).map_err(|r| anyhow::anyhow!("{r}"))?;
            let reckoned = from_weight.value;
            let diameter = self.diameter.unwrap_or(reckoned.diameter);
            let length = self.length.unwrap_or(if self.diameter.is_some() {
                Length::cm(size::LENGTH_OVER_DIAMETER * diameter.as_cm())
            } else {
                reckoned.length
            });
            let size = Size { diameter, length };
            let mut notes = match size::belongs(weight, size) {
                Ok(n) => Vec::from_iter(n),
                Err(r) => return refused(json, &r).map(Err),
            };
            if self.diameter.is_none() {
                notes.extend(from_weight.notes);
            }
            let piece = Piece { name: format!("{:.1} kg", weight.as_kg()), weight, size, notes };
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
        let mut pieces: Vec<Piece> = Vec::new();
        for j in kitchen.joints.iter().filter(wanted) {
            let (weight, size) = (j.planned_weight(), bridge::size(j));
            let notes = match size::belongs(weight, size) {
                Ok(n) => n.into_iter().map(|n| Note::flag(format!("{}: {}", j.name, n.says()))).collect(),
                Err(r) => return refused(json, &Refused::new(format!("{}: {}", j.name, r.why), r.hint)).map(Err),
            };
            pieces.push(Piece { name: j.name.clone(), weight, size, notes });
        }
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
    /// Reference temperature for a lethality of your own, beside the published tables
    #[arg(long, value_parser = Temperature::parse, requires = "z", requires = "readings")]
    pub reference: Option<Temperature>,
    /// Its z, in °C
    #[arg(long, value_name = "DEGREES", requires = "reference")]
    pub z: Option<f64>,
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
    /// The log against each published table.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    by_table: Vec<ByTable>,
    /// Minutes at the reference temperature and z asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    at_reference: Option<Elapsed>,
    /// Seconds each published table asks at the target, held; `None` below its first row.
    asked_at_target: Vec<(String, Option<f64>)>,
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
    said.extend(p.notes.iter().cloned());
    let to = args.target.tenths();
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
    let asked_at_target: Vec<(String, Option<f64>)> =
        tables().iter().map(|t| (t.id.clone(), t.seconds(args.target))).collect();
    out += &format!("  Held at {to} °C, the published tables ask\n");
    for t in tables() {
        let asked = match t.seconds(args.target) {
            None => "does not go that low".to_owned(),
            Some(0.0) => "no time".to_owned(),
            Some(s) if s < 120.0 => format!("{s:.0} s"),
            Some(s) => format!("{:.0} min", s / 60.0),
        };
        out += &format!("    {:<3} {:<34} {asked}\n", t.country, t.name);
    }
    let (mut seen, mut killed, mut by_table, mut at_reference) = (None, None, Vec::new(), None);
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
        out += &told(&f.value.forecast, &to, log);
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
            by_table = tables().iter().map(|t| against(t, &log.readings)).collect();
            out += "  The same log by each published table, row by row\n";
            for b in &by_table {
                let share = b.share.map_or_else(
                    || "at a temperature that asks no time".to_owned(),
                    |s| format!("{:.0} % of its time", (100.0 * s).floor().min(9999.0)),
                );
                let word = if b.inside { "inside" } else { "short" };
                out += &format!("    {:<3} {:<34} {word:<7} {share}\n", b.country, b.name);
            }
            if let (Some(reference), Some(z)) = (args.reference, args.z) {
                let m = equivalent_minutes(&log.readings, reference, z, None)?;
                out += &format!("  Worth {:.1} min at {} °C with z {z} °C\n", m.as_minutes(), reference.tenths());
                at_reference = Some(m);
            }
        }
    }
    let a = Answered {
        joint: p.name.clone(),
        size: p.size,
        tender_by_rule: rule.value,
        core_by_physics: physics.value,
        forecast: seen,
        lethality: killed,
        by_table,
        at_reference,
        asked_at_target,
        notes: said,
    };
    Ok((a, out))
}

/// A forecast in a line.
pub fn told(f: &Forecast, to: &str, log: &crate::science::readings::Log) -> String {
    if f.reached {
        return format!("  Reached {to} °C at {} by the readings\n", log.clock(f.expected));
    }
    let n = if f.readings == 1 { "1 reading".to_owned() } else { format!("{} readings", f.readings) };
    let within = SIGHT.as_hours();
    if !f.in_sight {
        return format!("  From {n}: {to} °C is not in sight, not within {within:.0} h of the last reading\n");
    }
    let band = if f.late_in_sight {
        format!("between {} and {}", log.clock(f.soonest), log.clock(f.latest))
    } else {
        format!("not before {}; the late end is not in sight, over {within:.0} h on", log.clock(f.soonest))
    };
    format!("  From {n}: {to} °C at about {}, nine chances in ten {band}\n", log.clock(f.expected))
}

pub fn run(args: &CookArgs) -> Result<Ended> {
    let readings = log(&args.readings)?;
    let found = match args.which.pieces(args.json)? {
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
