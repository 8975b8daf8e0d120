//! The tasks of the job and the limits between them.

use crate::kitchen::Skill;
use crate::schedule::{Force, Minute, Reason};
use petgraph::graph::{DiGraph, NodeIndex};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What kind of work a task is, in the trade's words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    BrineMake,
    Cool,
    Submerge,
    Turn,
    /// Lift out of the brine and rinse.
    Rinse,
    Soak,
    Dry,
    Rest,
    Simmer,
    ScoreAndGlaze,
    Bake,
    Chill,
    /// Firm raw gammon before it is cut.
    Firm,
    Slice,
    VacuumPack,
    Freeze,
}

impl Kind {
    /// The kind in a word or two, as the trade says it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::BrineMake => "make brine",
            Self::Cool => "cool brine",
            Self::Submerge => "put in",
            Self::Turn => "turn",
            Self::Rinse => "lift and rinse",
            Self::Soak => "soak",
            Self::Dry => "dry",
            Self::Rest => "rest",
            Self::Simmer => "simmer",
            Self::ScoreAndGlaze => "score and glaze",
            Self::Bake => "bake",
            Self::Chill => "chill",
            Self::Firm => "firm",
            Self::Slice => "slice",
            Self::VacuumPack => "vacuum-pack",
            Self::Freeze => "freeze",
        }
    }

    /// Who may do it.
    pub const fn skill(self) -> Skill {
        match self {
            Self::BrineMake | Self::Cool | Self::Submerge | Self::Rinse | Self::Soak | Self::Dry | Self::Rest => {
                Skill::Cure
            }
            Self::Turn => Skill::Turn,
            Self::Simmer | Self::ScoreAndGlaze | Self::Bake | Self::Chill => Skill::Cook,
            Self::Firm | Self::Slice | Self::VacuumPack | Self::Freeze => Skill::Pack,
        }
    }
}

/// A thing of the kit that a task can hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Thing {
    Tub(usize),
    Pot(usize),
    /// Where tubs are filled, turned over and emptied.
    Sink,
    Ring,
    BigRing,
    Oven,
    /// Hams in a chilling means.
    Chilling(usize),
    /// Kilograms (in grams) in a chilling means.
    ChillingLoad(usize),
    /// Board, knife, slicer and packer: raw and cooked with a clean between.
    Bench,
    /// The second bench of a kitchen with a machine each for raw and cooked.
    CookedBench,
    /// Freezing in any 24 hours, grams.
    Freezer,
    /// Floor of a cold space, square centimetres.
    Floor(usize),
    /// Litres of a cold space, in decilitres.
    Litres(usize),
    /// The air behind one fridge door: hot hams and curing tubs do not share it.
    Air(usize),
}

/// Up to when a thing is held.
#[derive(Debug, Clone, PartialEq)]
pub enum Until {
    /// The task's planned end and so many minutes.
    End(Minute),
    /// The latest of other tasks' ends, each with minutes to add.
    Ends(Vec<(NodeIndex, Minute)>),
    /// The latest of other tasks' starts.
    Starts(Vec<NodeIndex>),
}

/// What a task takes of a thing, and until when.
#[derive(Debug, Clone, PartialEq)]
pub struct Holding {
    /// One of these is taken.
    pub things: Vec<Thing>,
    /// In the thing's own units: pieces, grams, cm² of floor, tenths of a litre.
    pub amount: i32,
    /// From the task's start, or from its end.
    pub from_end: bool,
    pub until: Until,
    /// For changeovers: 0 none, 1 raw, 2 cooked.
    pub family: u32,
    /// Holdings of one task with the same number take things at the same position.
    pub same: Option<u32>,
}

/// A stretch in which somebody is at home and awake.
#[derive(Debug, Clone, PartialEq)]
pub struct Watch {
    /// Minutes after this task's start at which it begins.
    pub after: Minute,
    /// The task, and minutes after its start, at which it ends.
    pub until: (NodeIndex, Minute),
    /// The limit behind it, in plain words.
    pub says: String,
}

/// One node of the graph. Lengths are whole minutes, moments minutes of the axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Task {
    /// Stable name.
    pub id: String,
    pub kind: Kind,
    /// Indices into the kitchen's joints.
    pub joints: Vec<usize>,
    /// What it is done to or with, in words ("T1", "the big pot").
    pub with: String,
    /// As long as it is planned.
    pub minutes: Minute,
    /// As long as it takes at the slow end.
    pub slow: Minute,
    /// Busy hands from the start.
    pub hands: Minute,
    pub holds: Vec<Holding>,
    pub watches: Vec<Watch>,
    /// Earliest start.
    pub release: Minute,
    /// Latest start, where there is one.
    pub latest: Option<Minute>,
    /// Why it is not started before [`Task::release`].
    pub release_reason: Reason,
    /// Tied together for the solver.
    pub group: u32,
    /// When it was begun, for a task that has happened: not to be changed any more.
    pub pinned: Option<Minute>,
    /// It will not be done and has left the job: a turn that was missed.
    pub gone: bool,
}

/// Limits on the time from one task's end to another's start.
#[derive(Debug, Clone, PartialEq)]
pub struct Link {
    /// Never less, minutes.
    pub least: Option<(Minute, Reason)>,
    /// Never more, minutes.
    pub most: Option<(Minute, Reason)>,
    /// Over this it is worse: a quality limit inside the hard one.
    pub good: Option<(Minute, Reason)>,
    /// Under this it is worse: a quality limit over the hard one.
    pub good_least: Option<(Minute, Reason)>,
}

impl Link {
    /// A link without limits.
    pub const NONE: Self = Self { least: None, most: None, good: None, good_least: None };

    /// A link with hard limits only.
    pub fn hard(least: Option<(Minute, Reason)>, most: Option<(Minute, Reason)>) -> Self {
        Self { least, most, good: None, good_least: None }
    }

    /// The same with a good value that it is better not to be over.
    #[must_use]
    pub fn best_under(self, good: (Minute, Reason)) -> Self {
        Self { good: Some(good), ..self }
    }

    /// The same with a good value that it is better not to be under.
    #[must_use]
    pub fn best_over(self, good_least: (Minute, Reason)) -> Self {
        Self { good_least: Some(good_least), ..self }
    }
}

/// The dependency graph of one batch under one arrangement.
pub type TaskGraph = DiGraph<Task, Link>;

/// A reason of the trade without a published source.
pub fn trade(says: impl Into<String>, force: Force) -> Reason {
    Reason { says: says.into(), force, source: "common practice".to_owned() }
}

/// A reason that comes from the kitchen file itself.
pub fn told(says: impl Into<String>, force: Force) -> Reason {
    Reason { says: says.into(), force, source: "the kitchen file".to_owned() }
}
