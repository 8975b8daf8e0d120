//! The nouns of the kitchen, as a person writes them in a kitchen file: joints, kit, people, cure, house limits, batch.
//!
//! Everything has a sensible default except what could hurt someone: a curing-salt bag has no default strength.
//! Times are civil times in the kitchen's own zone; quantities accept kilograms or pounds, °C or °F (see [`crate::units`]).

mod batch;
mod cure;
mod differs;
mod joint;
pub mod judge;
mod kit;
pub mod limits;
mod moment;
pub mod path;
mod people;
pub mod quantities;
pub mod read;
pub mod schema;
pub mod spoken;
mod starter;
pub mod stay;

pub use crate::science::brine::Basis;
pub use batch::{Batch, NamedDays};
pub use cure::{BrineCooling, Cure, CuringSalt, Times};
pub use differs::differs;
pub use joint::{ExtraCure, HEAVIEST_KG, Joint, Lot, Outcome};
pub use kit::{
    Chilling, ChillingMeans, ColdSpace, Freezer, Hob, Kit, Oven, Packer, Pot, Scales, Shape, Side, Slicer, Tub,
};
pub use limits::Limits;
pub use moment::{Clock, Days, Moment, Zone, plausible};
pub use people::{Away, Hours, Person, Skill, Sleep};
pub use read::{Finding, Reading, Severity, read};
pub use schema::schema;
pub use starter::starter;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The version of the kitchen file that this program writes and reads.
pub const FORMAT: u32 = 1;

/// A whole kitchen file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Kitchen {
    /// Version of this file's format; 1.
    pub format: u32,
    /// What the kitchen or the batch is called.
    pub name: String,
    /// IANA time zone in which every time in this file is meant, for example "Europe/London".
    pub zone: Zone,
    /// The pieces of pork, each with its own clock.
    pub joints: Vec<Joint>,
    /// What there is in the kitchen.
    pub kit: Kit,
    /// Who is there, and when.
    pub people: Vec<Person>,
    /// The recipe: brine, curing salt, days and turns.
    pub cure: Cure,
    /// When planning starts, and what the people wish for.
    #[serde(default)]
    pub batch: Batch,
    /// House limits that differ from the ones shipped: by name, each with its own source. See docs/kitchen-file.md.
    #[serde(default, skip_serializing_if = "limits::Overrides::is_empty")]
    pub limits: limits::Overrides,
    /// Free text, for people.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub notes: String,
}
