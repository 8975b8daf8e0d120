//! What the screen's frame asks of every view: its shape, what a place in it is about, and its page. See `src/app/view.rs`
//! for how a view is added.

use std::sync::{Arc, Mutex, PoisonError};

use chrono::{Datelike, NaiveDate, TimeDelta};

use super::facts::{Asked, Facts};
use super::page::{Handle, Line, Page, Voice};
use super::{Name, sound, view as build};
use crate::app::change::changes;
use crate::app::chart::Chart;
use crate::app::form::lines;
use crate::app::sentence::Sentence;
use crate::app::state::State;
use crate::app::time;
use crate::app::view::{About, Shape, Spot, View};
use crate::plan::Kind;

/// Pages laid out a moment ago, so that a frame and a key do not lay out the same one twice. Shared by the copies of a state;
/// only ever a memory of what would be laid out anyway.
#[derive(Debug, Clone, Default)]
pub struct Pages(Arc<Mutex<Vec<Kept>>>);

/// A page, or that there is none, under what it was laid out from.
type Kept = (Key, Option<Arc<Laid>>);

/// As many as are kept.
const MOST: usize = 6;

#[derive(Debug, Clone, PartialEq, Eq)]
struct Key {
    view: View,
    columns: usize,
    across: usize,
    now: i64,
    /// Of the question; a changed kitchen is another one.
    revision: u64,
    chart: usize,
    /// Lengths of what is on record: every change, an undoing too, adds to one of them.
    record: Option<[usize; 8]>,
}

/// A page, and the rows at which the cursor stops.
#[derive(Debug)]
pub struct Laid {
    pub page: Page,
    pub stops: Vec<usize>,
}

/// Days that are gone through at the most.
const DAYS: usize = 800;

/// The command-line view that fills a view of the screen, at a place across.
fn name(view: View, across: usize) -> Option<Name> {
    Some(match view {
        View::Day => Name::Day,
        View::Turns => Name::Turns,
        View::Tubs => Name::Tubs,
        View::Joint => Name::Joint,
        View::Brine => Name::Brine,
        View::CookDay => Name::Cook,
        View::Freezer => Name::Freezer,
        View::Record => Name::Record,
        View::LastTime => Name::Last,
        View::Sheets => sheet(across),
        View::Timeline | View::Change | View::Kitchen => return None,
    })
}

/// What is for the wall, the shop and the hand, in the order it is wanted; after these a sheet for each week.
const SHEETS: [(Name, &str); 5] = [
    (Name::Shopping, "shopping"),
    (Name::Collect, "the pork comes"),
    (Name::Tags, "tags"),
    (Name::Rota, "rota"),
    (Name::Neighbour, "note"),
];

fn sheet(across: usize) -> Name {
    SHEETS.get(across).map_or(Name::Week, |s| s.0)
}

/// A line that names the sheets, the one in hand among them.
fn sheets_line(weeks: &[NaiveDate], across: usize) -> Line {
    let mut line = Line::default();
    let named = SHEETS.iter().map(|s| s.1.to_owned());
    let week = across.checked_sub(SHEETS.len()).and_then(|w| weeks.get(w));
    let of_weeks = week.map_or("weeks".to_owned(), |w| format!("week of {}", time::date_words(*w)));
    for (i, word) in named.chain((!weeks.is_empty()).then_some(of_weeks)).enumerate() {
        if i > 0 {
            line.push(" · ", Voice::Quiet);
        }
        if i == across.min(SHEETS.len()) {
            line.push(format!("[{word}]"), Voice::Strong);
        } else {
            line.push(word, Voice::Quiet);
        }
    }
    line
}

/// Columns of a view that leaves room for a plot beside it.
pub fn columns(state: &State, view: View) -> usize {
    let all = usize::from(state.screen.cols.saturating_sub(2));
    if has_plot(state, view) { all * 3 / 5 } else { all }
}

/// Whether a view has a plot at its right.
pub fn has_plot(state: &State, view: View) -> bool {
    matches!(view, View::Joint | View::CookDay) && state.screen.cols >= 110 && state.screen.rows >= 20
}

fn today(state: &State) -> NaiveDate {
    time::civil(state.kitchen.zone, state.now).date()
}

/// The days that left and right go through.
fn days(state: &State, chart: &Chart, view: View) -> Vec<NaiveDate> {
    let date = |m| time::civil(state.kitchen.zone, m).date();
    match view {
        View::CookDay => {
            let mut all: Vec<NaiveDate> =
                chart.plan.tasks.iter().filter(|t| t.kind == Kind::Simmer).map(|t| t.start.date_naive()).collect();
            all.sort();
            all.dedup();
            all
        }
        View::Day | View::Tubs => {
            let (first, last) = match chart.tasks.is_empty() {
                true => (today(state), today(state)),
                false => (date(chart.first).min(today(state)), date(chart.last).max(today(state))),
            };
            first.iter_days().take_while(|d| *d <= last).take(DAYS).collect()
        }
        // The Monday of each week with something to do, or in which pork comes.
        View::Sheets => {
            let monday = |d: NaiveDate| d - TimeDelta::days(i64::from(d.weekday().num_days_from_monday()));
            let comes = state.kitchen.joints.iter().filter_map(|j| j.arrives).map(|a| a.0.date());
            let collected = chart.plan.collect.iter().map(|c| c.planned.date_naive());
            let jobs = chart.plan.tasks.iter().map(|t| t.start.date_naive());
            let mut all: Vec<NaiveDate> = jobs.chain(comes).chain(collected).map(monday).collect();
            all.sort();
            all.dedup();
            all
        }
        _ => Vec::new(),
    }
}

/// How many steps across, and where that begins.
fn across(state: &State, chart: &Chart, view: View) -> (usize, usize) {
    match view {
        View::Joint => {
            let next = crate::app::sentence::next_hands(state, chart);
            let joint = next.and_then(|t| chart.plan.tasks[t].joints.first());
            let at = joint.and_then(|n| chart.plan.joints.iter().position(|j| j.name == *n));
            (chart.plan.joints.len(), at.unwrap_or(0))
        }
        View::Day | View::Tubs | View::CookDay => {
            let all = days(state, chart, view);
            let at = all.iter().position(|d| *d >= today(state)).unwrap_or(all.len().saturating_sub(1));
            (all.len(), at)
        }
        View::Sheets => (SHEETS.len() + days(state, chart, view).len(), 0),
        _ => (0, 0),
    }
}

fn asked(state: &State, chart: &Chart, view: View, across: usize) -> Asked {
    match view {
        View::Joint => Asked { of: chart.plan.joints.get(across).map(|j| j.name.clone()), ..Asked::default() },
        View::Sheets => {
            let week = across.checked_sub(SHEETS.len());
            Asked { on: week.and_then(|w| days(state, chart, view).get(w).copied()), ..Asked::default() }
        }
        _ => Asked { on: days(state, chart, view).get(across).copied(), ..Asked::default() },
    }
}

/// The page of a view, at a place across.
fn laid_at(state: &State, view: View, across: usize) -> Option<Arc<Laid>> {
    let (name, chart) = (name(view, across)?, state.chart.as_ref()?);
    let record = state.record.as_ref();
    let key = Key {
        view,
        columns: columns(state, view),
        across,
        now: state.now,
        revision: state.progress.revision,
        chart: Arc::as_ptr(chart) as usize,
        record: record.map(|r| {
            [
                r.done.len(),
                r.tasks.len(),
                r.readings.len(),
                r.weights.len() + r.collected.len(),
                r.notes.len(),
                r.tastes.len(),
                r.entries.len(),
                r.before.len(),
            ]
        }),
    };
    let mut kept = state.pages.0.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(found) = kept.iter().find(|k| k.0 == key) {
        return found.1.clone();
    }
    let facts =
        Facts { kitchen: &state.kitchen, plan: &chart.plan, record, now: time::instant(state.now), chart: Some(chart) };
    let laid = build(name, &facts, &asked(state, chart, view, across)).ok().map(|shown| {
        let mut page = shown.page(key.columns);
        sound(&mut page, name, &facts, &asked(state, chart, view, across));
        if view == View::Sheets {
            page.lead(sheets_line(&days(state, chart, view), across));
        }
        Arc::new(Laid { stops: stops(&page), page })
    });
    if kept.len() >= MOST {
        kept.remove(0);
    }
    kept.push((key, laid.clone()));
    laid
}

/// The page of a view where the person is in it; nothing before there is a plan, and for views that are no page.
pub fn laid(state: &State, view: View) -> Option<Arc<Laid>> {
    let chart = state.chart.as_ref()?;
    let (n, start) = across(state, chart, view);
    let at = state.spots[view as usize].map_or(start, |s| s.across).min(n.saturating_sub(1));
    laid_at(state, view, at)
}

/// The sentence of the view on the screen, when it has one of its own.
pub fn sentence(state: &State) -> Option<Sentence> {
    laid(state, state.view).map(|l| l.page.sentence.clone())
}

/// Text without anything to act on stops the cursor this often, so that all of it can be read.
const TEXT: usize = 4;

/// Rows at which the cursor stops: what can be acted on, and the beginnings of what can only be read.
fn stops(page: &Page) -> Vec<usize> {
    let empty = |i: usize| page.lines.get(i).is_none_or(|l| l.spans.is_empty());
    let acts = |i: usize| page.lines.get(i).is_some_and(|l| l.of.is_some());
    let mut out: Vec<usize> = Vec::new();
    for i in 0..page.lines.len() {
        let begins = !empty(i) && (i == 0 || empty(i - 1)) && !acts(i + 1);
        let long = !empty(i) && out.last().is_some_and(|l| i - l >= TEXT) && !acts(i + 1);
        if acts(i) || begins || long {
            out.push(i);
        }
    }
    out
}

/// How many lines and steps across a view has, and where its cursor starts.
pub fn shape(state: &State, view: View) -> Shape {
    if view == View::Kitchen {
        return Shape { lines: lines(state).len(), ..Shape::default() };
    }
    if view == View::Change {
        return Shape { lines: changes(state).len(), ..Shape::default() };
    }
    let (Some(chart), Some(laid)) = (state.chart.as_ref(), laid(state, view)) else { return Shape::default() };
    let (n, start) = across(state, chart, view);
    // What is next, of what is on the page.
    let next = crate::app::sentence::upcoming(state, chart).take(200);
    let line = next.filter_map(|t| line_of(&laid, &Handle::Task(chart.plan.tasks[t].id.clone()))).next().unwrap_or(0);
    Shape { lines: laid.stops.len(), across: n, start: Spot { line, across: start, top: 0 } }
}

fn line_of(laid: &Laid, handle: &Handle) -> Option<usize> {
    laid.stops.iter().position(|row| laid.page.lines[*row].of.as_ref() == Some(handle))
}

/// What a place in a view is about.
pub fn about(state: &State, view: View, spot: Spot) -> About {
    let (Some(chart), Some(laid)) = (state.chart.as_ref(), laid_at(state, view, spot.across)) else {
        return About::Nothing;
    };
    let of = laid.stops.get(spot.line).and_then(|row| laid.page.lines[*row].of.as_ref());
    let joint = |name: &String| chart.plan.joints.iter().position(|j| j.name == *name).map(About::Joint);
    match of {
        Some(Handle::Task(id)) => chart.task(id).map_or(About::Nothing, About::Task),
        Some(Handle::Joint(name)) => joint(name).unwrap_or_default(),
        Some(Handle::Load(id)) => About::Thing(id.clone()),
        Some(Handle::Entry(seq)) => About::Entry(*seq),
        None => About::Nothing,
    }
}

/// The place in a view that is about the same thing, when it has one.
pub fn find(state: &State, view: View, about: &About) -> Option<Spot> {
    let chart = state.chart.as_ref()?;
    let task = |t: &usize| chart.plan.tasks.get(*t);
    let here = state.spots[view as usize].map_or_else(|| across(state, chart, view).1, |s| s.across);
    let (at, handle) = match (view, about) {
        (View::Joint, About::Joint(j)) => return (*j < chart.plan.joints.len()).then(|| across_only(*j)),
        (View::Joint, About::Task(t)) => {
            let name = task(t)?.joints.first()?;
            let j = chart.plan.joints.iter().position(|j| j.name == *name)?;
            (j, Handle::Task(task(t)?.id.clone()))
        }
        (View::Day | View::CookDay, About::Task(t)) => {
            let date = task(t)?.start.date_naive();
            (days(state, chart, view).iter().position(|d| *d == date)?, Handle::Task(task(t)?.id.clone()))
        }
        (_, About::Task(t)) => (here, Handle::Task(task(t)?.id.clone())),
        (_, About::Joint(j)) => (here, Handle::Joint(chart.plan.joints.get(*j)?.name.clone())),
        (_, About::Thing(name)) => (here, Handle::Load(name.clone())),
        (_, About::Entry(seq)) => (here, Handle::Entry(*seq)),
        (_, About::Nothing) => return None,
    };
    let laid = laid_at(state, view, at)?;
    let line = line_of(&laid, &handle)?;
    Some(Spot { line, across: at, top: 0 })
}

const fn across_only(across: usize) -> Spot {
    Spot { line: 0, across, top: 0 }
}
