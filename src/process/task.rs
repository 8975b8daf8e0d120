//! The tasks of the job and the limits between them.

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
    WashTub,
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
