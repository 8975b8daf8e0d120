//! `turnday completions` and `turnday man`: made from the same table of arguments that reads them.

use super::{Args, Ended, files};
use anyhow::{Context, Result};
use clap::CommandFactory;
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub struct CompletionsArgs {
    /// For which shell
    #[arg(value_enum)]
    pub shell: clap_complete::Shell,
}

#[derive(Debug, clap::Args)]
pub struct ManArgs {
    /// Folder to write the pages to; it is made when it is not there
    pub folder: PathBuf,
}

pub fn completions(args: &CompletionsArgs) -> Result<Ended> {
    let mut out = Vec::new();
    clap_complete::generate(args.shell, &mut Args::command(), "turnday", &mut out);
    files::print(&String::from_utf8(out).context("completions are not text")?)?;
    Ok(Ended::Done)
}

/// A page for the program and one for each command.
pub fn man(args: &ManArgs) -> Result<Ended> {
    std::fs::create_dir_all(&args.folder).with_context(|| format!("cannot make {}", args.folder.display()))?;
    clap_mangen::generate_to(Args::command(), &args.folder)
        .with_context(|| format!("cannot write to {}", args.folder.display()))?;
    files::print(&format!(
        "The pages are in {}; `man {}/turnday.1` shows the first.\n",
        args.folder.display(),
        args.folder.display()
    ))?;
    Ok(Ended::Done)
}
