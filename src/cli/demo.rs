//! `turnday demo` and `turnday open`: the timeline, planned live.

use super::{Ended, Planning, files, plan, text};
use crate::kitchen::Kitchen;
use crate::plan::{Patience, Request, strike};
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
    show(&kitchen)
}

pub fn open(args: &OpenArgs) -> Result<Ended> {
    let kitchen = match files::kitchen(&args.planning.kitchen)? {
        Ok(k) => k,
        Err(e) => return Ok(e),
    };
    if std::io::stdout().is_terminal() {
        return show(&kitchen);
    }
    plan::run(&plan::PlanArgs { planning: args.planning.clone(), json: false, output: None })
}

fn show(kitchen: &Kitchen) -> Result<Ended> {
    let request = Request { kitchen, now: crate::clock::now(), seed: 1, promises: Default::default() };
    let patience = Patience::for_joints(kitchen.joints.len());
    match strike(&request, &patience, &mut |_| patience.gained()) {
        Ok(p) => {
            files::print(&text::whole(&p))?;
            Ok(Ended::Done)
        }
        Err(r) => files::refuse(&r, false),
    }
}
