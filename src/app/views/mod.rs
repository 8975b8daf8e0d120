//! The views: each a struct built from the kitchen, the plan, what has happened and the present moment, and nothing else.
//!
//! A view is data (its `--json` form) and lays itself out as a [`Page`] of so many columns: the same lines on the screen,
//! in `turnday show`, and for a screen reader. Sums are asked of `science`; nothing is reckoned here a second time.

mod alarms;
mod brine;
mod collect;
mod cook;
mod cooling;
mod day;
mod earlier;
mod facts;
mod fit;
mod frame;
mod freezer;
mod history;
mod home;
mod joint;
mod last;
mod neighbour;
pub mod page;
mod ready;
mod rota;
mod shopping;
mod stay;
mod tags;
mod tubs;
mod turns;
mod week;

pub use alarms::{alarms, headed, of_view, sound};
pub use brine::{Brine, Slip, filled, slip};
pub use collect::Collect;
pub use cook::Cook;
pub use day::Day;
pub use facts::{Asked, Facts, Job, State};
pub use frame::{Laid, Pages, about, find, has_plot, laid, sentence, shape};
pub use freezer::Freezer;
pub use history::History;
pub use joint::{Joint, in_brine};
pub use last::LastTime;
pub use neighbour::Neighbour;
pub use page::{Handle, Line, Page, Span, Voice};
pub use rota::Rota;
pub use shopping::Shopping;
pub use tags::Tags;
pub use tubs::Tubs;
pub use turns::Turns;
pub use week::Week;

use serde::Serialize;

/// Which view.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Name {
    Day,
    Turns,
    Tubs,
    Joint,
    Brine,
    Cook,
    Freezer,
    Record,
    Last,
    Week,
    Tags,
    Rota,
    Neighbour,
    Shopping,
    Collect,
}

impl Name {
    pub const ALL: [Self; 15] = [
        Self::Day,
        Self::Turns,
        Self::Tubs,
        Self::Joint,
        Self::Brine,
        Self::Cook,
        Self::Freezer,
        Self::Record,
        Self::Last,
        Self::Week,
        Self::Tags,
        Self::Rota,
        Self::Neighbour,
        Self::Shopping,
        Self::Collect,
    ];

    /// What it is called on the command line.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Day => "day",
            Self::Turns => "turns",
            Self::Tubs => "tubs",
            Self::Joint => "joint",
            Self::Brine => "brine",
            Self::Cook => "cook",
            Self::Freezer => "freezer",
            Self::Record => "record",
            Self::Last => "last",
            Self::Week => "week",
            Self::Tags => "tags",
            Self::Rota => "rota",
            Self::Neighbour => "neighbour",
            Self::Shopping => "shopping",
            Self::Collect => "collect",
        }
    }

    /// What it shows, in a few words.
    pub const fn about(self) -> &'static str {
        match self {
            Self::Day => "the day's jobs in order, what to have ready, before bed, tomorrow's first thing",
            Self::Turns => "every tub against every day: due, done, missed, who",
            Self::Tubs => "what is in each tub, on each shelf, in each pot, and what is free",
            Self::Joint => "a joint's story from delivery to pack, with limits, sums and readings",
            Self::Brine => "the weigh-out slip, tub by tub",
            Self::Cook => "the cook day's running order, back-timed, with probe boxes and the cooling log",
            Self::Freezer => "packs by number, and which to eat first",
            Self::Record => "what has been written down, corrections shown",
            Self::Last => "this batch beside the ones before, how they tasted, what was changed",
            Self::Week => "seven days for the wall: jobs, who is home, who is away",
            Self::Tags => "a tag for each tub",
            Self::Rota => "who does what on which day",
            Self::Neighbour => "a note for whoever turns while everybody is away",
            Self::Shopping => "what to buy, by shop",
            Self::Collect => "the sheet for the day the pork comes: weights, temperatures, tubs",
        }
    }

    pub fn parse(word: &str) -> Result<Self, String> {
        let known = || Self::ALL.map(Self::word).join(", ");
        Self::ALL.into_iter().find(|n| n.word() == word).ok_or_else(|| format!("the views are {}", known()))
    }
}

/// A view, built.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Shown {
    Day(Box<Day>),
    Turns(Turns),
    Tubs(Tubs),
    Joint(Box<Joint>),
    Brine(Brine),
    Cook(Cook),
    Freezer(Freezer),
    Record(History),
    Last(LastTime),
    Week(Week),
    Tags(Tags),
    Rota(Rota),
    Neighbour(Neighbour),
    Shopping(Shopping),
    Collect(Collect),
}

/// Builds a view.
///
/// # Errors
/// In a sentence: what was asked for by name is not in the kitchen or the plan.
pub fn view(name: Name, facts: &Facts, asked: &Asked) -> Result<Shown, String> {
    Ok(match name {
        Name::Day => Shown::Day(Box::new(Day::new(facts, asked))),
        Name::Turns => Shown::Turns(Turns::new(facts, asked)),
        Name::Tubs => Shown::Tubs(Tubs::new(facts, asked)),
        Name::Joint => Shown::Joint(Box::new(Joint::new(facts, asked)?)),
        Name::Brine => Shown::Brine(Brine::new(facts, asked)?),
        Name::Cook => Shown::Cook(Cook::new(facts, asked)),
        Name::Freezer => Shown::Freezer(Freezer::new(facts)),
        Name::Record => Shown::Record(History::new(facts, asked)),
        Name::Last => Shown::Last(LastTime::new(facts)),
        Name::Week => Shown::Week(Week::new(facts, asked)),
        Name::Tags => Shown::Tags(Tags::new(facts)),
        Name::Rota => Shown::Rota(Rota::new(facts)),
        Name::Neighbour => Shown::Neighbour(Neighbour::new(facts, asked)),
        Name::Shopping => Shown::Shopping(Shopping::new(facts)),
        Name::Collect => Shown::Collect(Collect::new(facts)),
    })
}

impl Shown {
    /// Laid out for so many columns.
    pub fn page(&self, columns: usize) -> Page {
        match self {
            Self::Day(v) => v.page(columns),
            Self::Turns(v) => v.page(columns),
            Self::Tubs(v) => v.page(columns),
            Self::Joint(v) => v.page(columns),
            Self::Brine(v) => v.page(columns),
            Self::Cook(v) => v.page(columns),
            Self::Freezer(v) => v.page(columns),
            Self::Record(v) => v.page(columns),
            Self::Last(v) => v.page(columns),
            Self::Week(v) => v.page(columns),
            Self::Tags(v) => v.page(columns),
            Self::Rota(v) => v.page(columns),
            Self::Neighbour(v) => v.page(columns),
            Self::Shopping(v) => v.page(columns),
            Self::Collect(v) => v.page(columns),
        }
    }
}
