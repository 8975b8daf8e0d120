//! `turnday new` and `turnday schema`.

use super::{Ended, files};
use anyhow::{Result, bail};
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub struct NewArgs {
    /// File to write; printed when left out
    pub file: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
pub enum What {
    /// A kitchen file
    Kitchen,
    /// A record of what has happened (`turnday replan --done`)
    History,
    /// A plan
    Plan,
}

#[derive(Debug, clap::Args)]
pub struct SchemaArgs {
    /// Of which file
    #[arg(value_enum, default_value_t = What::Kitchen)]
    pub what: What,
}

pub fn new(args: &NewArgs) -> Result<Ended> {
    let text = crate::kitchen::starter(crate::clock::now().date_naive());
    match &args.file {
        None => files::print(&text)?,
        Some(path) if path.exists() => {
            bail!("{} is there already, and is not overwritten; name another file", path.display())
        }
        Some(path) => {
            files::write(path, &text)?;
            files::print(&format!(
                "{} is written. Change it to your own kitchen, then: turnday plan {}\n",
                path.display(),
                path.display()
            ))?;
        }
    }
    Ok(Ended::Done)
}

pub fn schema(args: &SchemaArgs) -> Result<Ended> {
    let schema = match args.what {
        What::Kitchen => crate::kitchen::schema().clone(),
        What::History => serde_json::to_value(schemars::schema_for!(crate::plan::History))?,
        What::Plan => serde_json::to_value(schemars::schema_for!(crate::plan::Plan))?,
    };
    files::print(&(serde_json::to_string_pretty(&schema)? + "\n"))?;
    Ok(Ended::Done)
}
