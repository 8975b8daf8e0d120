//! `turnday check`: judge a plan, whoever made it.

use super::replan::Happened;
use super::{Ended, files};
use crate::plan::judge::judge_after;
use anyhow::Result;
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub struct CheckArgs {
    /// Kitchen file
    pub kitchen: PathBuf,
    /// Plan file, as `turnday plan --json` writes it
    pub plan: PathBuf,
    #[command(flatten)]
    pub happened: Happened,
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
    let history = args.happened.history_if_any(&kitchen, &plan)?;
    let verdict = judge_after(&kitchen, &plan, history.as_ref());
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
    if !args.json {
        for d in &verdict.deviations {
            files::print(&format!("{}\n", d.says))?;
        }
    }
    Ok(if verdict.broken.is_empty() { Ended::Done } else { Ended::Refused })
}
