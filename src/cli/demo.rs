//! `turnday demo` and `turnday open`: the timeline, planned live.

use super::screen::{self, Keeps};
use super::{Ended, Planning, files, plan, text};
use crate::plan::{Request, strike};
use crate::schedule::NodeBudget;
use anyhow::Result;
use std::io::IsTerminal;

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
pub enum Which {
    /// A pair of joints for a feast
    Feast,
    /// Five joints, a weekend away, and a clock change
    Five,
    /// A farm shop with two dozen joints
    Shop,
}

#[derive(Debug, clap::Args)]
pub struct DemoArgs {
    /// Which demo kitchen
    #[arg(value_enum, default_value_t = Which::Five)]
    pub which: Which,
}

#[derive(Debug, clap::Args)]
pub struct OpenArgs {
    #[command(flatten)]
    pub planning: Planning,
}

fn demo_kitchen(which: Which) -> (&'static str, &'static str) {
    match which {
        Which::Feast => ("feast-pair.json", include_str!("../../demo-data/feast-pair.json")),
        Which::Five => ("five-and-a-weekend-away.json", include_str!("../../demo-data/five-and-a-weekend-away.json")),
        Which::Shop => ("farm-shop.json", include_str!("../../demo-data/farm-shop.json")),
    }
}

pub fn demo(args: &DemoArgs) -> Result<Ended> {
    let (name, source) = demo_kitchen(args.which);
    let reading = crate::kitchen::read::read(name, source);
    let Some(kitchen) = reading.kitchen.clone() else {
        eprint!("{}", reading.to_text(false));
        return Ok(Ended::Unusable);
    };
    if std::io::stdout().is_terminal() {
        return screen::open(kitchen, source.to_owned(), Keeps::Nothing, 1);
    }
    let request = Request { kitchen: &kitchen, now: crate::clock::now(), seed: 1, promises: Default::default() };
    let steps = NodeBudget(files::usual_steps(kitchen.joints.len()));
    match strike(&request, &steps, &mut |_| ()) {
        Ok(p) => {
            files::print(&text::whole(&p))?;
            Ok(Ended::Done)
        }
        Err(r) => files::refuse(&r, false),
    }
}

pub fn open(args: &OpenArgs) -> Result<Ended> {
    if !std::io::stdout().is_terminal() {
        return plan::run(&plan::PlanArgs { planning: args.planning.clone(), json: false, output: None });
    }
    let Some(path) = &args.planning.kitchen else { return screen::book(&args.planning) };
    let text = files::text_of(path)?;
    match files::kitchen_of(path, &text)? {
        Ok((k, _)) => screen::open(k, text.clone(), Keeps::File(path.clone(), text), args.planning.seed),
        Err(e) => Ok(e),
    }
}
