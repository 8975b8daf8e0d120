//! `turnday check`: judge a plan, whoever made it.

use super::{Ended, files};
use crate::plan::judge::judge;
use anyhow::Result;
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub struct CheckArgs {
    /// Kitchen file
    pub kitchen: PathBuf,
    /// Plan file, as `turnday plan --json` writes it
    pub plan: PathBuf,
    /// Print the verdict as JSON
    #[arg(long)]
    pub json: bool,
}

pub fn run(args: &CheckArgs) -> Result<Ended> {
    let kitchen = match files::kitchen(&args.kitchen)? {
        Ok(k) => k,
        Err(e) => return Ok(e),
    };
    let plan = files::plan(&args.plan)?;
    let verdict = judge(&kitchen, &plan);
    if args.json {
        files::print(&(serde_json::to_string_pretty(&verdict)? + "\n"))?;
    } else if verdict.broken.is_empty() {
        let levels: Vec<String> = verdict.levels.iter().map(|(l, v)| format!("{l} {v}")).collect();
        files::print(&format!("The plan stays inside every limit of this kitchen.\n{}\n", levels.join(", ")))?;
    } else {
        let mut out = format!(
            "The plan breaks {} limit{}:\n",
            verdict.broken.len(),
            if verdict.broken.len() == 1 { "" } else { "s" }
        );
        for b in &verdict.broken {
            out += &format!("  {}\n", b.says);
            if !b.limit.is_empty() {
                out += &format!("    {}: {} ({})\n", b.force, b.limit, b.source);
            }
        }
        files::print(&out)?;
    }
    Ok(if verdict.broken.is_empty() { Ended::Done } else { Ended::Refused })
}
