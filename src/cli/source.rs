//! Kitchen and plan for a command: from a file, or from the book.

use super::{Ended, Planning, book, files};
use crate::app::acts::{history_of, plan_of};
use crate::app::views::{Facts, alarms};
use crate::app::{Record, from_book};
use crate::kitchen::Kitchen;
use crate::plan::{History, Plan};
use anyhow::{Context, Result};
use std::path::PathBuf;

/// What a command shows.
pub struct Source {
    pub kitchen: Kitchen,
    pub plan: Plan,
    /// What has happened, when there is a book to say so.
    pub record: Option<Record>,
    /// The same as a planner reads it.
    pub history: Option<History>,
}

impl Source {
    /// What a view is built from, at the present moment.
    pub fn facts(&self) -> Facts<'_> {
        let Self { kitchen, plan, record, .. } = self;
        Facts { kitchen, plan, record: record.as_ref(), now: crate::clock::now(), chart: None }
    }

    /// What is outside the limits by the record, the worst first.
    pub fn alarms(&self) -> Vec<String> {
        alarms(&self.facts()).into_iter().map(|(_, says)| says).collect()
    }

    /// The same before all else, a line each.
    pub fn alarmed(&self) -> String {
        self.alarms().into_iter().map(|says| says + "\n").collect()
    }
}

/// Of a kitchen file the plan from `file` that passes the judge, or planned anew. Without a kitchen file those of the book, where
/// `file` stands in for the plan it has.
///
/// # Errors
/// `Err(Ended)` when there is none; what is wrong has then been printed.
pub fn of(planning: &Planning, file: Option<&PathBuf>, json: bool) -> Result<std::result::Result<Source, Ended>> {
    let kitchen = match &planning.kitchen {
        Some(_) => match kitchen(planning)? {
            Ok(k) => k,
            Err(e) => return Ok(Err(e)),
        },
        None => {
            let book = book::open(&planning.book)?;
            let (state, events) = (book.state().clone(), book.events()?);
            let record = Some(from_book::record(&state, &events));
            if file.is_none() {
                let plan = plan_of(&state).context("the book's plan is none that this program reads")?;
                let Some(plan) = plan.filter(|_| !state.wants_a_first_plan()) else {
                    eprintln!("The book has no plan for what is in the kitchen; `turnday replan --accept` makes one.");
                    return Ok(Err(Ended::Refused));
                };
                let history = Some(history_of(&state, crate::clock::now()));
                return Ok(Ok(Source { kitchen: state.kitchen, plan, record, history }));
            }
            state.kitchen
        }
    };
    if let Some(path) = file {
        let plan = files::plan(path)?;
        let verdict = crate::plan::judge::judge(&kitchen, &plan);
        if !verdict.broken.is_empty() {
            let (path, n) = (path.display(), verdict.broken.len());
            eprintln!("{path} breaks {n} limits of this kitchen; see `turnday check`.");
            return Ok(Err(Ended::Refused));
        }
        return Ok(Ok(Source { kitchen, plan, record: None, history: None }));
    }
    match files::struck(&kitchen, planning) {
        Ok(plan) => Ok(Ok(Source { kitchen, plan, record: None, history: None })),
        Err(r) => files::refuse(&r, json).map(Err),
    }
}

/// The kitchen alone.
///
/// # Errors
/// As [`of`].
pub fn kitchen(planning: &Planning) -> Result<std::result::Result<Kitchen, Ended>> {
    match &planning.kitchen {
        Some(path) => files::kitchen(path),
        None => Ok(Ok(book::open(&planning.book)?.state().kitchen.clone())),
    }
}
