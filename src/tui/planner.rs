//! The planner on a thread of its own, telling the screen each better plan.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::sync::mpsc;

use chrono::{DateTime, Utc};

use super::Session;
use crate::app::{News, PlanNews};
use crate::kitchen::Kitchen;
use crate::plan::{Patience, Request, strike};
use crate::schedule::{AnyOf, Cancelled};

impl Session {
    /// A session whose plan is being struck while it is looked at. `seed` is the search's.
    pub fn planned(kitchen: Kitchen, seed: u64, now: fn() -> DateTime<Utc>) -> Self {
        let kitchen = Arc::new(kitchen);
        let stop = Arc::new(AtomicBool::new(false));
        let (tell, news) = mpsc::channel();
        let (asked, cancelled) = (kitchen.clone(), Cancelled(stop.clone()));
        std::thread::spawn(move || {
            let request = Request { kitchen: &asked, now: now(), seed, promises: Default::default() };
            let patience = Patience::for_joints(asked.joints.len());
            // Nobody listening any more is no fault: the stop flag ends the search.
            let say = |news| drop(tell.send(PlanNews { revision: 1, news }));
            let struck = strike(&request, &AnyOf(vec![&patience, &cancelled]), &mut |plan| {
                patience.gained();
                say(News::Better(Box::new(plan.clone())));
            });
            match struck {
                Ok(plan) => {
                    say(News::Better(Box::new(plan)));
                    say(News::Finished);
                }
                Err(refusal) => say(News::Impossible(refusal.lines())),
            }
        });
        Self { kitchen, first: None, news: Some(news), revision: 1, stop, now }
    }
}
