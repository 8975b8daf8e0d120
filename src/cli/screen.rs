//! Opening the screen: what lasts beside it (a file, a book, nothing yet), and planning on a thread of its own.

use super::{Ended, Planning, book, files, keys};
use crate::app::acts::{accepted, follows, history_of};
use crate::app::form::bare;
use crate::app::{Deed, Held, News, PlanNews, State, time};
use crate::book::{Act, Book, TaskAct, place};
use crate::kitchen::Kitchen;
use crate::plan::ask::ask;
use crate::plan::replan::{Again, replan};
use crate::plan::{History, Patience, Plan, Request, strike};
use crate::schedule::{AnyOf, Cancelled};
use crate::tui::{self, Keeper};
use anyhow::{Context, Result};
use std::io::IsTerminal;
use std::panic::AssertUnwindSafe;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc;
use std::time::Duration;

/// How long the screen goes on looking for a better plan: until nothing better comes for as long again, a minute at most.
const SCREEN_LEAST: Duration = Duration::from_secs(4);
const SCREEN_MOST: Duration = Duration::from_secs(60);

/// What lasts of a session.
pub enum Keeps {
    /// Nothing: a demo.
    Nothing,
    /// The kitchen file it was opened from, with its text as last read or written here.
    File(PathBuf, String),
    Book(Box<Book>),
    /// Nothing yet; a book is begun with the first kitchen.
    Fresh,
}

impl tui::Keeper for Keeps {
    fn held(&self) -> Result<Option<Box<Held>>> {
        match self {
            Self::Book(b) => Ok(Some(Box::new(Held::new(b.state(), &b.events()?)))),
            _ => Ok(None),
        }
    }

    fn deed(&mut self, deed: &Deed) -> Result<tui::Kept> {
        let now = crate::clock::now();
        let mut says = None;
        match (&mut *self, deed) {
            (Self::File(path, ours), Deed::Kitchen { text, .. }) => {
                // Somebody else's work is not written over: an editor, or a second screen.
                let theirs = std::fs::read_to_string(&*path).is_ok_and(|there| there != *ours);
                anyhow::ensure!(
                    !theirs,
                    "{} has been changed by somebody else since it was read here; nothing was written. Leave (q) and open it again, or \
                     begin a book, which two screens can share",
                    path.display()
                );
                super::files::write(path, text)?;
                ours.clone_from(text);
            }
            (Self::Fresh | Self::File(..), Deed::Begin { text, plan }) => {
                let kitchen = crate::kitchen::read("kitchen", text).kitchen.context("the kitchen cannot be read")?;
                let folder = place::for_new(None, &kitchen.name)?;
                let mut book = Book::create(&folder, text, "", now)?;
                if let Some(plan) = plan {
                    book.record(accepted(plan, "the plan the book began with", 0)?, "", now)?;
                }
                says = Some(format!("a book is begun in {}", folder.display()));
                *self = Self::Book(Box::new(book));
            }
            (Self::Nothing | Self::File(..) | Self::Fresh, _) => says = Some("nothing of this is kept".to_owned()),
            (Self::Book(b), Deed::Kitchen { text, says }) => {
                b.record(Act::KitchenChanged { kitchen: text.clone(), says: says.clone() }, "", now)?;
            }
            (Self::Book(_), Deed::Begin { .. }) => anyhow::bail!("a book is open already"),
            (Self::Book(b), Deed::Record(acts)) => {
                for (act, by) in acts {
                    let recorded = b.record(act.clone(), by, now)?;
                    says = Some(match act {
                        _ if recorded.already => "that stands there already".to_owned(),
                        // Longer sentences have no room there.
                        Act::Taken { .. } => format!("written down: {}", follows(act, b.state())),
                        _ => "written down".to_owned(),
                    });
                }
            }
            (Self::Book(b), Deed::Tick { id }) => {
                b.catch_up()?;
                let settled = b
                    .state()
                    .tasks
                    .get(id)
                    .and_then(|t| t.finished.as_ref().or(t.skipped.as_ref().map(|s| &s.0)).map(|mark| mark.seq));
                match settled {
                    Some(line) => {
                        b.undo(Some(line), "", now)?;
                        says = Some(format!("not done after all: {id}"));
                    }
                    None => {
                        b.record(Act::Task { id: id.clone(), what: TaskAct::Finished, when: now }, "", now)?;
                        says = Some(format!("done: {id}"));
                    }
                }
            }
            (Self::Book(b), Deed::Later { id }) => {
                b.catch_up()?;
                says = Some(if b.state().snoozed.get(id).is_some_and(|until| *until > now) {
                    b.record(Act::Snoozed { task: id.clone(), until: now }, "", now)?;
                    format!("spoken of again: {id}")
                } else {
                    super::remind::snooze(b, id, None, &super::remind::settings_at(None)?)?
                });
            }
            (Self::Book(b), Deed::Undo | Deed::Redo) => {
                let again = *deed == Deed::Redo;
                let reversed = if again { b.redo(None, "", now)? } else { b.undo(None, "", now)? };
                let word = if again { "counts again" } else { "undone" };
                says = Some(format!("{word}: {}", crate::app::acts::tell(&reversed.event.act, &b.events()?)));
            }
            (Self::Book(b), Deed::Accept { plan, says: why, moved }) => {
                b.record(accepted(plan, why, *moved)?, "", now)?;
                says = Some("the plan is on record".to_owned());
            }
            (Self::Book(b), Deed::KeepOld { says: why }) => {
                b.record(Act::PlanKept { says: why.clone() }, "", now)?;
                says = Some("the old plan stays".to_owned());
            }
        }
        Ok(tui::Kept { held: self.held()?, says })
    }

    fn catch_up(&mut self) -> Result<Option<Box<Held>>> {
        let news = match self {
            Self::Book(b) => b.catch_up()?,
            _ => false,
        };
        if news { self.held() } else { Ok(None) }
    }

    fn watched(&self) -> Option<PathBuf> {
        match self {
            Self::Book(b) => Some(b.folder().to_owned()),
            _ => None,
        }
    }
}

/// Opens a kitchen at once and plans beside it.
pub fn open(kitchen: Kitchen, text: String, keeps: Keeps, seed: u64) -> Result<Ended> {
    session(kitchen, Some(text), keeps, seed, false)
}

/// Opens the book that is meant.
pub fn book(planning: &Planning) -> Result<Ended> {
    let book = book::open(&planning.book)?;
    let state = book.state();
    session(state.kitchen.clone(), Some(state.kitchen_text.clone()), Keeps::Book(Box::new(book)), planning.seed, false)
}

/// `turnday` alone: the book there is, or the first run.
pub fn alone() -> Result<Option<Ended>> {
    if !std::io::stdout().is_terminal() {
        return Ok(None);
    }
    match place::find(None) {
        Ok(folder) => {
            let planning_seed = 1;
            let mut book = Book::open(&folder, crate::clock::now())?;
            book::tell_cuts(&book.take_cuts());
            let state = book.state();
            let (kitchen, text) = (state.kitchen.clone(), state.kitchen_text.clone());
            session(kitchen, Some(text), Keeps::Book(Box::new(book)), planning_seed, false).map(Some)
        }
        Err(place::Unclear::None { looked_in: Some(_) }) => {
            let zone = iana_time_zone::get_timezone().unwrap_or_default();
            let kitchen = bare(&zone).or_else(|| bare("Europe/London")).context("a bare kitchen cannot be made")?;
            session(kitchen, None, Keeps::Fresh, 1, true).map(Some)
        }
        Err(unclear) => Err(unclear.into()),
    }
}

fn session(kitchen: Kitchen, text: Option<String>, keeps: Keeps, seed: u64, fresh: bool) -> Result<Ended> {
    let keymap = match keys::keymap()? {
        Ok(map) => Arc::new(map),
        Err(ended) => return Ok(ended),
    };
    tui::run(tui::Session {
        kitchen: Arc::new(kitchen),
        text,
        first: None,
        held: keeps.held()?,
        fresh,
        planner: Some(planner(seed)),
        asker: Some(asker(seed)),
        from_file: matches!(keeps, Keeps::File(..)),
        keeper: Box::new(keeps),
        keymap,
        now: crate::clock::now,
    })
    .map(|()| Ended::Done)
}

/// Where planning from the plan on the screen begins.
fn again<'a>(kitchen: &'a Kitchen, old: &'a Plan, history: &'a History, seed: u64) -> Again<'a> {
    let steps = files::replan_steps(kitchen.joints.len());
    Again { kitchen, old, history, seed, steps, ways: 3, what: &[] }
}

/// Answers questions about the plan on the screen, from what the book says has happened.
fn asker(seed: u64) -> tui::Asker {
    Box::new(move |state: &State, question, stop| {
        let (kitchen, book, chart) = (state.kitchen.clone(), state.book.clone(), state.chart.clone());
        Box::new(move || {
            let now = crate::clock::now();
            let chart = chart.ok_or("there is no plan yet to ask about")?;
            let history = book.map_or_else(|| History::none(now), |b| history_of(&b, now));
            ask(&again(&kitchen, &chart.plan, &history, seed), &[question], &Cancelled(stop))
                .pop()
                .ok_or_else(|| "there is no answer".to_owned())
        })
    })
}

/// Plans on a thread of its own, as often as it is asked: anew from a kitchen, again from a book with a plan.
fn planner(seed: u64) -> tui::Planner {
    Box::new(move |state: &State, stop| {
        let (tell, news) = mpsc::channel();
        let (kitchen, revision) = (state.kitchen.clone(), state.progress.revision);
        let first = state.book.as_ref().is_some_and(|b| b.wants_a_first_plan());
        let wished: Vec<_> = state.wished.iter().map(|(id, at)| (id.clone(), time::instant(*at))).collect();
        let onward = state.chart.clone().filter(|_| state.plans_again()).map(|chart| (state.book.clone(), chart));
        std::thread::Builder::new().name("planner".to_owned()).spawn(move || {
            let say = |news: News| drop(tell.send(PlanNews { revision, news }));
            let now = crate::clock::now();
            let planned = std::panic::catch_unwind(AssertUnwindSafe(|| {
                let cancelled = Cancelled(stop);
                if let Some((book, chart)) = onward {
                    let mut history = book.map_or_else(|| History::none(now), |b| history_of(&b, now));
                    history.wished.extend(wished.into_iter().filter(|w| w.1 >= now));
                    return match replan(&again(&kitchen, &chart.plan, &history, seed), &cancelled) {
                        Ok(r) => say(News::Again(Box::new(r))),
                        Err(r) => say(News::Impossible(r.lines())),
                    };
                }
                let request = Request { kitchen: &kitchen, now, seed, promises: Default::default() };
                let patience = Patience::new(SCREEN_LEAST, SCREEN_MOST);
                let planned = strike(&request, &AnyOf(vec![&patience, &cancelled]), &mut |p| {
                    patience.gained();
                    say(News::Better(Box::new(p.clone())));
                });
                match planned.and_then(|p| if first { files::onward(&kitchen, p, now, seed) } else { Ok(p) }) {
                    Ok(p) => {
                        say(News::Better(Box::new(p)));
                        say(News::Finished);
                    }
                    Err(r) => say(News::Impossible(r.lines())),
                }
            }));
            if planned.is_err() {
                say(News::Failed("the planner stopped on a fault of its own".to_owned()));
            }
        })?;
        Ok(news)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two screens on one file: the second to write is told, and what the first wrote stands.
    #[test]
    fn a_file_that_somebody_else_changed_is_not_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("kitchen.json");
        std::fs::write(&path, "as it was").unwrap();
        let open = || Keeps::File(path.clone(), std::fs::read_to_string(&path).unwrap());
        let (mut one, mut other) = (open(), open());
        let edit = |text: &str| Deed::Kitchen { text: text.to_owned(), says: "an edit".to_owned() };
        one.deed(&edit("J1 weighs 3.1")).unwrap();
        one.deed(&edit("J1 weighs 3.2")).unwrap();
        let refused = other.deed(&edit("J2 weighs 1.9")).unwrap_err().to_string();
        assert!(refused.contains("kitchen.json") && refused.contains("nothing was written"), "{refused}");
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "J1 weighs 3.2");
    }

    /// What a book refuses is not on the screen either: the keeper hands out what is on record.
    #[test]
    fn a_refused_kitchen_is_not_gone_on_with() {
        let folder = tempfile::tempdir().unwrap();
        let text = crate::kitchen::starter(chrono::NaiveDate::from_ymd_opt(2026, 12, 1).unwrap());
        let now = crate::clock::now();
        let book = Book::create(&folder.path().join("book"), &text, "", now).unwrap();
        let name = book.state().kitchen.joints[0].name.clone();
        let mut keeps = Keeps::Book(Box::new(book));
        let weighed = Act::Weighed { joint: name.clone(), grams: 2345.0, when: now };
        keeps.deed(&Deed::Record(vec![(weighed, String::new())])).unwrap();
        let renamed = text.replace(&format!("\"{name}\""), "\"Another name\"");
        let refused = keeps.deed(&Deed::Kitchen { text: renamed, says: "a name".to_owned() }).unwrap_err().to_string();
        assert!(refused.contains("keeps its name"), "{refused}");
        assert_eq!(keeps.held().unwrap().unwrap().book.kitchen.joints[0].name, name);
    }
}
