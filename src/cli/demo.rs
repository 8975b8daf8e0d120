//! `turnday demo` and `turnday open`: the timeline, planned live.

use super::source::{self, Source};
use super::{Ended, Planning, files, plan, text};
use crate::app::{News, PlanNews};
use crate::kitchen::Kitchen;
use crate::plan::{Patience, Request, strike};
use crate::schedule::{AnyOf, Cancelled, NodeBudget};
use crate::tui;
use anyhow::Result;
use std::io::IsTerminal;
use std::panic::AssertUnwindSafe;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::sync::mpsc;
use std::time::Duration;

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
        return screen(kitchen, 1);
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
    let Some(path) = &args.planning.kitchen else { return open_book(args) };
    match files::kitchen(path)? {
        Ok(k) => screen(k, args.planning.seed),
        Err(e) => Ok(e),
    }
}

/// The book's kitchen with the plan it has; nothing is planned anew.
fn open_book(args: &OpenArgs) -> Result<Ended> {
    let Source { kitchen, plan } = match source::of(&args.planning, None, false)? {
        Ok(s) => s,
        Err(e) => return Ok(e),
    };
    let session = tui::Session {
        kitchen: Arc::new(kitchen),
        first: Some(plan),
        news: None,
        revision: 1,
        stop: Arc::new(AtomicBool::new(false)),
        now: crate::clock::now,
    };
    tui::run(session).map(|()| Ended::Done)
}

/// How long the screen goes on looking for a better plan: until nothing better comes for as long again, a minute at most.
const SCREEN_LEAST: Duration = Duration::from_secs(4);
const SCREEN_MOST: Duration = Duration::from_secs(60);

/// Opens the timeline at once and plans beside it, on a thread of its own.
fn screen(kitchen: Kitchen, seed: u64) -> Result<Ended> {
    let kitchen = Arc::new(kitchen);
    let stop = Arc::new(AtomicBool::new(false));
    let (tell, news) = mpsc::channel();
    let planner = {
        let (kitchen, stop) = (kitchen.clone(), stop.clone());
        std::thread::Builder::new().name("planner".to_owned()).spawn(move || {
            let say = |news: News| drop(tell.send(PlanNews { revision: 1, news }));
            let planned = std::panic::catch_unwind(AssertUnwindSafe(|| {
                let request =
                    Request { kitchen: &kitchen, now: crate::clock::now(), seed, promises: Default::default() };
                let patience = Patience::new(SCREEN_LEAST, SCREEN_MOST);
                let cancelled = Cancelled(stop);
                strike(&request, &AnyOf(vec![&patience, &cancelled]), &mut |p| {
                    patience.gained();
                    say(News::Better(Box::new(p.clone())));
                })
            }));
            match planned {
                Ok(Ok(p)) => {
                    say(News::Better(Box::new(p)));
                    say(News::Finished);
                }
                Ok(Err(r)) => say(News::Impossible(r.lines())),
                Err(_) => say(News::Failed("the planner stopped on a fault of its own".to_owned())),
            }
        })?
    };
    let session = tui::Session { kitchen, first: None, news: Some(news), revision: 1, stop, now: crate::clock::now };
    let shown = tui::run(session);
    // The screen has asked it to stop; it is not waited for longer than it takes to notice.
    drop(planner.join());
    shown.map(|()| Ended::Done)
}
