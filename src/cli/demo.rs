//! `turnday demo` and `turnday open`: the timeline, planned live.

use super::source::{self, Source};
use super::{Ended, Planning, files, keys, plan, text};
use crate::app::{News, PlanNews};
use crate::kitchen::Kitchen;
use crate::plan::{Patience, Request, strike};
use crate::schedule::{AnyOf, Cancelled, NodeBudget};
use crate::tui;
use anyhow::Result;
use std::io::IsTerminal;
use std::panic::AssertUnwindSafe;
use std::path::PathBuf;
use std::sync::Arc;
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
        return screen(kitchen, source.to_owned(), Box::new(File(None)), 1);
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
    let text = files::text_of(path)?;
    match files::kitchen_of(path, &text)? {
        Ok((k, _)) => screen(k, text, Box::new(File(Some(path.clone()))), args.planning.seed),
        Err(e) => Ok(e),
    }
}

/// The book's kitchen with the plan it has; nothing is planned anew.
fn open_book(args: &OpenArgs) -> Result<Ended> {
    let Source { kitchen, plan } = match source::of(&args.planning, None, false)? {
        Ok(s) => s,
        Err(e) => return Ok(e),
    };
    let keymap = match keys::keymap()? {
        Ok(map) => Arc::new(map),
        Err(ended) => return Ok(ended),
    };
    let session = tui::Session {
        kitchen: Arc::new(kitchen),
        text: None,
        first: Some(plan),
        planner: None,
        keeper: Box::new(File(None)),
        keymap,
        now: crate::clock::now,
    };
    tui::run(session).map(|()| Ended::Done)
}

/// How long the screen goes on looking for a better plan: until nothing better comes for as long again, a minute at most.
const SCREEN_LEAST: Duration = Duration::from_secs(4);
const SCREEN_MOST: Duration = Duration::from_secs(60);

/// What lasts of a kitchen opened from a file: the file. A demo is not kept.
pub struct File(pub Option<PathBuf>);

impl tui::Keeper for File {
    fn kitchen(&mut self, text: &str, says: &str) -> Result<Option<String>> {
        let Some(path) = &self.0 else { return Ok(Some(format!("{says} (a demo, not kept)"))) };
        files::write(path, text)?;
        Ok(None)
    }
}

/// Opens the screen at once and plans beside it, on a thread of its own.
pub fn screen(kitchen: Kitchen, text: String, keeper: Box<dyn tui::Keeper>, seed: u64) -> Result<Ended> {
    let keymap = match keys::keymap()? {
        Ok(map) => Arc::new(map),
        Err(ended) => return Ok(ended),
    };
    tui::run(tui::Session {
        kitchen: Arc::new(kitchen),
        text: Some(text),
        first: None,
        planner: Some(planner(seed)),
        keeper,
        keymap,
        now: crate::clock::now,
    })
    .map(|()| Ended::Done)
}

/// Plans a kitchen on a thread of its own, as often as it is asked.
fn planner(seed: u64) -> tui::Planner {
    Box::new(move |kitchen, revision, stop| {
        let (tell, news) = mpsc::channel();
        std::thread::Builder::new().name("planner".to_owned()).spawn(move || {
            let say = |news: News| drop(tell.send(PlanNews { revision, news }));
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
        })?;
        Ok(news)
    })
}
