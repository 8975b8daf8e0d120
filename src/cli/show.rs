//! `turnday show`: every view as text for a terminal, paper or a screen reader, and as JSON.

use super::source;
use super::{Ended, Planning, files};
use crate::app::views::{Asked, Name, Shown, of_view, sound, view};
use crate::kitchen::HEAVIEST_KG;
use crate::units::Mass;
use anyhow::Result;
use chrono::NaiveDate;
use clap::builder::{PossibleValuesParser, TypedValueParser};
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub struct ShowArgs {
    /// Which view
    #[arg(value_parser = PossibleValuesParser::new(Name::ALL.map(possible)).try_map(|w| Name::parse(&w)))]
    pub view: Name,
    #[command(flatten)]
    pub planning: Planning,
    /// The day to show; today in the kitchen's zone, or the view's own choice, when left out
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub on: Option<NaiveDate>,
    /// Only this joint or tub; in the record, entries with these words
    #[arg(long, value_name = "NAME")]
    pub of: Option<String>,
    /// In `tubs`: where would one more joint of this weight go, such as "2.4 kg"
    #[arg(long, value_name = "WEIGHT", value_parser = weight)]
    pub fit: Option<Mass>,
    /// Columns to lay it out for
    #[arg(long, value_name = "COLUMNS", default_value_t = 80, value_parser = clap::value_parser!(u16).range(20..=400))]
    pub width: u16,
    /// Use this plan instead of planning anew
    #[arg(long, value_name = "FILE")]
    pub plan: Option<PathBuf>,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

/// A view as data, headed by what is outside the limits by the record, the worst first.
#[derive(serde::Serialize)]
struct Told {
    alarms: Vec<String>,
    #[serde(flatten)]
    shown: Shown,
}

/// A weight that a joint can have.
fn weight(text: &str) -> Result<Mass, String> {
    let mass = Mass::parse(text).map_err(|e| e.to_string())?;
    let kg = mass.as_kg();
    (kg > 0.0 && kg <= HEAVIEST_KG).then_some(mass).ok_or_else(|| {
        format!("{kg} kg is no weight of a joint: more than nothing and at most {HEAVIEST_KG} kg, such as \"2.4 kg\"")
    })
}

fn possible(name: Name) -> clap::builder::PossibleValue {
    clap::builder::PossibleValue::new(name.word()).help(name.about())
}

pub fn run(args: &ShowArgs) -> Result<Ended> {
    let source = match source::of(&args.planning, args.plan.as_ref(), args.json)? {
        Ok(s) => s,
        Err(e) => return Ok(e),
    };
    let facts = source.facts();
    let asked = Asked { on: args.on, of: args.of.clone(), fit: args.fit };
    let shown = view(args.view, &facts, &asked).map_err(anyhow::Error::msg)?;
    if args.json {
        let alarms = of_view(args.view, &facts, &asked).into_iter().map(|(_, says)| says).collect();
        let data = Told { alarms, shown };
        files::print(&(serde_json::to_string_pretty(&data)? + "\n"))?;
    } else {
        let mut page = shown.page(usize::from(args.width));
        sound(&mut page, args.view, &facts, &asked);
        files::print(&page.text())?;
    }
    Ok(Ended::Done)
}
