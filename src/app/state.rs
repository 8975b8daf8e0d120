//! Everything the program knows while it runs. Drawn from, never changed by drawing.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::asking::Asking;
use super::axis::Axis;
use super::chart::{Chart, Mark};
use super::field::Field;
use super::form::{Form, Paper};
use super::geometry::{Geometry, Screen, geometry};
use super::keymap::Keymap;
use super::moving::Moving;
use super::news::Progress;
use super::palette::Palette;
use super::record::Record;
use super::telling::Telling;
use super::time::Min;
use super::view::{Spot, View};
use super::views::Pages;
use crate::book;
use crate::kitchen::Kitchen;
use crate::plan::replan::Replan;

/// The line and, on it, the task that the person has in hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Selection {
    pub row: usize,
    pub task: Option<usize>,
}

/// What lies over the timeline.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Overlay {
    #[default]
    None,
    /// The list of commands, scrolled down by so many lines.
    Help { top: usize },
    /// Typing a search.
    Search,
    /// Finding a command by its words.
    Palette,
    /// Filling in a form.
    Form,
    /// Writing down what was done.
    Log,
    /// Asking what if.
    Ask,
    /// Telling of trouble.
    Trouble,
    /// Moving the task in hand.
    Move,
    /// How good the plan is.
    Standing,
}

/// Which inks to draw with. How they look is the screen's business.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Inks {
    #[default]
    Dark,
    Light,
    /// Black, white and few strong colours.
    Contrast,
    /// No colour at all.
    Mono,
}

impl Inks {
    pub const ALL: [Self; 4] = [Self::Dark, Self::Light, Self::Contrast, Self::Mono];

    pub const fn words(self) -> &'static str {
        match self {
            Self::Dark => "inks for a dark ground",
            Self::Light => "inks for a light ground",
            Self::Contrast => "high contrast",
            Self::Mono => "no colour",
        }
    }

    pub fn next(self) -> Self {
        let here = Self::ALL.iter().position(|i| *i == self).unwrap_or(0);
        Self::ALL[(here + 1) % Self::ALL.len()]
    }
}

#[derive(Debug, Clone)]
pub struct State {
    pub kitchen: Arc<Kitchen>,
    /// What is on the screen.
    pub view: View,
    /// Where the person is in each view; nothing where they have not been.
    pub spots: [Option<Spot>; View::ALL.len()],
    /// Pages laid out a moment ago.
    pub pages: Pages,
    pub chart: Option<Arc<Chart>>,
    /// The revision of the question that the plan on the screen answers.
    pub chart_of: u64,
    pub progress: Progress,
    /// Nothing when no record is kept.
    pub record: Option<Record>,
    pub now: Min,
    pub screen: Screen,
    pub axis: Axis,
    pub selected: Option<Selection>,
    /// First joint and first strip in view.
    pub top_joint: usize,
    pub top_strip: usize,
    pub overlay: Overlay,
    /// What is searched for; stays while the matches are stepped through.
    pub query: String,
    /// The search while it is typed.
    pub search: Field,
    pub palette: Palette,
    /// The kitchen's text, which forms edit.
    pub paper: Paper,
    /// The form being filled in.
    pub form: Option<Form>,
    /// Words for the record while they are typed, and whether what is odd about them was said.
    pub log: Field,
    pub log_sure: bool,
    /// The task that was to be ticked off though something in the record speaks against it: asked again, it is.
    pub tick_sure: Option<String>,
    pub asking: Asking,
    pub telling: Telling,
    /// The kitchen is read from a file, of which a book can be begun.
    pub from_file: bool,
    /// The book that is open.
    pub book: Option<Arc<book::State>>,
    /// A changed plan that waits to be taken on or turned down.
    pub proposal: Option<Arc<Replan>>,
    /// The task that is being moved.
    pub moving: Option<Moving>,
    /// Starts that a person asked for, by the tasks' stable names.
    pub wished: BTreeMap<String, Min>,
    /// Nothing is there yet: neither kitchen nor book.
    pub fresh: bool,
    pub keymap: Arc<Keymap>,
    /// A line for the person that the next act takes away.
    pub notice: Option<String>,
    pub inks: Inks,
    pub mouse: bool,
    /// The person has moved or zoomed; until then the view follows each new plan.
    pub touched: bool,
}

impl State {
    /// Before the first plan and the first size of the screen.
    pub fn new(kitchen: Arc<Kitchen>, now: Min) -> Self {
        let axis = Axis { left: now, per_col: 360, cols: 0 };
        // Where the kitchen did not come from a text; one that did lays its own over this.
        let paper = Paper::new(serde_json::to_string_pretty(&*kitchen).unwrap_or_default());
        Self {
            kitchen,
            view: View::Timeline,
            spots: [None; View::ALL.len()],
            pages: Pages::default(),
            chart: None,
            chart_of: 0,
            progress: Progress::default(),
            record: None,
            now,
            screen: Screen { cols: 0, rows: 0 },
            axis,
            selected: None,
            top_joint: 0,
            top_strip: 0,
            overlay: Overlay::None,
            query: String::new(),
            search: Field::default(),
            palette: Palette::default(),
            paper,
            form: None,
            log: Field::default(),
            log_sure: false,
            tick_sure: None,
            asking: Asking::default(),
            telling: Telling::default(),
            from_file: false,
            book: None,
            proposal: None,
            moving: None,
            wished: BTreeMap::new(),
            fresh: false,
            keymap: Arc::default(),
            notice: None,
            inks: Inks::Dark,
            mouse: true,
            touched: false,
        }
    }

    pub fn selected_task(&self) -> Option<usize> {
        self.selected.and_then(|s| s.task)
    }

    /// Where everything goes on a screen of this size; nothing when it is too small.
    pub fn geometry(&self) -> Option<Geometry> {
        let (joints, strips) = self.chart.as_ref().map_or((0, 0), |c| (c.joints, c.strips()));
        geometry(self.screen, joints, strips)
    }

    /// How a task stands at this moment.
    pub fn mark(&self, chart: &Chart, task: usize) -> Mark {
        let (t, id) = (&chart.tasks[task], &chart.plan.tasks[task].id);
        let past = t.end <= self.now;
        match &self.record {
            Some(r) if r.done.contains(id) => Mark::Done,
            Some(_) if past => Mark::Late,
            Some(r) if r.moved.contains(id) => Mark::Moved,
            Some(r) if r.pinned.contains(id) => Mark::Pinned,
            _ if !past && self.wished.get(id) == Some(&t.start) => Mark::Pinned,
            None if past => Mark::Past,
            _ => Mark::Due,
        }
    }
}
