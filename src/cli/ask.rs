//! `turnday ask`: what if, without committing.

use super::replan::{Ground, Happened, stop};
use super::{Ended, Planning, files};
use crate::plan::ask::{Answer, ask as answer};
use crate::plan::question;
use anyhow::{Result, bail};
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
#[command(after_help = after_help())]
pub struct AskArgs {
    /// Questions, each in quotes; several are answered together
    #[arg(required = true)]
    pub questions: Vec<String>,
    /// Kitchen file; left out, kitchen, plan and record are the book's
    #[arg(short, long, value_name = "FILE")]
    pub kitchen: Option<PathBuf>,
    #[command(flatten)]
    pub book: super::book::Which,
    /// The plan so far; that of the book, or planned anew, when left out
    #[arg(long, value_name = "FILE")]
    pub plan: Option<PathBuf>,
    #[command(flatten)]
    pub happened: Happened,
    /// Search steps to take for each question
    #[arg(long, value_name = "STEPS")]
    pub steps: Option<u64>,
    /// Seed for the search
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

fn after_help() -> String {
    let mut out = "What can be asked:\n".to_owned();
    question::FORMS.iter().for_each(|e| out += &format!("  turnday ask \"{e}\"\n"));
    out + "Nothing is changed by asking."
}

pub fn ask(args: &AskArgs) -> Result<Ended> {
    let planning = Planning {
        kitchen: args.kitchen.clone(),
        book: args.book.clone(),
        seconds: None,
        steps: args.steps,
        seed: args.seed,
    };
    let ground = match Ground::of(&planning, args.plan.as_ref(), &args.happened, args.json)? {
        Ok(g) => g,
        Err(e) => return Ok(e),
    };
    let mut questions = Vec::new();
    for q in &args.questions {
        match question::read(q, &ground.kitchen, ground.history.now) {
            Ok(q) => questions.push(q),
            Err(says) => bail!("{says}"),
        }
    }
    let answers = answer(&ground.again(4), &questions, stop(&planning).as_ref());
    if args.json {
        files::print(&(serde_json::to_string_pretty(&answers)? + "\n"))?;
    } else {
        let texts: Vec<String> = answers.iter().map(Answer::to_text).collect();
        files::print(&texts.join("\n"))?;
    }
    Ok(Ended::Done)
}
