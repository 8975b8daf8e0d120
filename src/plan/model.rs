//! The plan as data. Every door (text, JSON, screen, calendar) shows this and nothing else.
//!
//! Times carry the kitchen's own offset; lengths are whole minutes.

use chrono::{DateTime, FixedOffset};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::kitchen::Zone;
pub use crate::process::Kind;

/// The version of the plan file that this program writes and reads.
pub const FORMAT: u32 = 1;

/// A moment with the kitchen's offset at that moment.
pub type When = DateTime<FixedOffset>;

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    pub format: u32,
    /// The kitchen's name.
    pub kitchen: String,
    pub zone: Zone,
    /// In order of start.
    pub tasks: Vec<PlannedTask>,
    /// What goes into which tub with what.
    pub loads: Vec<TubLoad>,
    /// What is simmered in which pot with what.
    pub cooks: Vec<PotLoad>,
    /// A line a joint, in the kitchen file's order.
    pub joints: Vec<JointStory>,
    /// The objective levels in order.
    pub levels: Vec<LevelStanding>,
    pub standing: Standing,
    /// How much of the turns' tolerance is kept in hand.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub in_hand: Option<InHand>,
    /// With what the plan was compared, one by one, by the proof engine.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub compared: Option<Compared>,
    /// When the pork whose arrival the kitchen left open is to be collected.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub collect: Option<Collect>,
    /// What is outside the limits by the book's record, the worst first, when a plan is printed from a book; a planner knows of none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub alarms: Vec<String>,
    /// Cautions and assumptions a person should read.
    pub notes: Vec<String>,
}

/// What is known about how good the plan is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// No plan is better on any level; proven.
    ProvenBest,
    /// The best one found; the levels say how far it is from what is proven.
    BestFound,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlannedTask {
    /// Stable name, for example `turn T1 3`.
    pub id: String,
    pub kind: Kind,
    /// The one sentence used for this task everywhere: "Turn T1 (shank, fillet), 10 min".
    pub says: String,
    /// Names of the joints it serves.
    pub joints: Vec<String>,
    pub start: When,
    pub end: When,
    /// When it ends at the slow end (a simmer that runs over).
    pub slow_end: When,
    /// Busy hands, counted from the start; 0 for work that does itself.
    pub hands_minutes: i32,
    /// Whose hands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub who: Option<String>,
    /// Kit and space it takes.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub uses: Vec<Use>,
    /// Earliest and latest start with every other task where it is.
    pub earliest: When,
    pub latest: When,
    /// What it waits for and what waits for it, with the limit in plain words.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub because: Vec<Because>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Use {
    /// Name of the tub, cold space, pot, ring, oven, chilling means, packer or freezer.
    pub thing: String,
    pub from: When,
    pub to: When,
}

/// A limit that ties a task to another.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Because {
    /// Id of the other task; empty for a limit of its own.
    pub other: String,
    /// The limit in plain words.
    pub says: String,
    /// `safety`, `quality`, `means` or `wish`.
    pub force: String,
    pub source: String,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TubLoad {
    /// Stable name of the load: the tub, with a number from its second load on.
    pub id: String,
    pub tub: String,
    pub space: String,
    pub joints: Vec<String>,
    /// Turns planned.
    pub turns: u32,
    /// The boil of brine it is filled from: loads with one number share a boil.
    #[serde(default)]
    pub boil: u32,
    /// Depth of brine, centimetres.
    pub fill_cm: f64,
    pub brine_litres: f64,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PotLoad {
    pub id: String,
    pub pot: String,
    /// The chilling means the hams go to.
    pub chilling: String,
    pub joints: Vec<String>,
}

/// One joint's life in a line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JointStory {
    pub name: String,
    /// "ham, sliced".
    pub outcome: String,
    pub kg: f64,
    pub tub: String,
    /// In the brine from, and cured enough from.
    pub put_in: When,
    pub cured: When,
    /// Days in the brine the rule asks for.
    pub cure_days: f64,
    pub lift: When,
    /// Through-cold and packed, or in the freezer.
    pub ready: When,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ready_by: Option<When>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LevelStanding {
    pub label: String,
    pub unit: String,
    pub value: i64,
    /// Proven: no plan that is as good on the levels before it can have less, whatever is shared.
    pub bound: i64,
    /// Proven of all ways of sharing in [`Plan::compared`], with as much tolerance in hand: none that is as good on the levels
    /// before it has less.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub compared: Option<i64>,
}

impl LevelStanding {
    /// Nothing has less: by plain counting, or by comparing every way of sharing.
    pub fn is_proven(&self) -> bool {
        self.value <= self.least()
    }

    /// What nothing can have less than, as far as is known.
    pub fn least(&self) -> i64 {
        self.compared.map_or(self.bound, |c| c.max(self.bound))
    }
}

/// A plan with every turn on its last allowed day does not survive a lost one: some of the tolerance is kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct InHand {
    /// How much before its last allowed moment each turn stands at the least.
    pub minutes: i32,
    /// Cost by level of a plan that was found without, where that takes fewer cook days or visits.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub without: Option<Vec<i64>>,
}

/// With what a plan was compared by the proof engine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Compared {
    /// Ways of sharing tubs and pots: every one that fits.
    pub sharings: u32,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Collect {
    /// When this plan has it collected: at the latest by then.
    pub planned: When,
    /// The last possible moment that still keeps every ready-by. Missing when none was found.
    pub last_possible: Option<When>,
}
