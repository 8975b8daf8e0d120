//! `turnday plan`: plan a kitchen and print it.

use super::{Ended, Planning, files, text};
use anyhow::Result;
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub struct PlanArgs {
    #[command(flatten)]
    pub planning: Planning,
    /// Print the whole plan as JSON
    #[arg(long)]
    pub json: bool,
    /// Write the whole plan as JSON to a file
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
}

pub fn run(args: &PlanArgs) -> Result<Ended> {
    let kitchen = match files::kitchen(&args.planning.kitchen)? {
        Ok(k) => k,
        Err(e) => return Ok(e),
    };
    let plan = match files::struck(&kitchen, &args.planning) {
        Ok(p) => p,
        Err(r) => return files::refuse(&r, args.json),
    };
    let data = serde_json::to_string_pretty(&plan)? + "\n";
    if let Some(path) = &args.output {
        files::write(path, &data)?;
    }
    if args.json {
        files::print(&data)?;
    } else if args.output.is_none() {
        files::print(&text::whole(&plan))?;
    } else {
        files::print(&text::headline(&plan))?;
    }
    Ok(if text::late(&plan).is_empty() { Ended::Done } else { Ended::Refused })
}
