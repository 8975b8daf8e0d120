//! The job's sums: functions from quantities to quantities, one process a file, each with its source in the docstring.
//!
//! This room knows no kitchen file, no schedule and no clock. What a person is shown comes as an [`Answer`]: the value
//! and what must be said with it. What lies outside a formula's validity is [`Refused`] or carries a flag; nothing is
//! extrapolated in silence. `docs/sums.md` tells the models and their weak points in prose.

mod answer;
pub mod numeric;

pub mod bath;
pub mod brine;
pub mod chill;
pub mod conduction;
pub mod cook;
pub mod cooling;
pub mod cost;
pub mod cure;
pub mod excursion;
pub mod fit;
pub mod freezing;
pub mod keeping;
pub mod lethality;
pub mod modes;
pub mod nitrite;
pub mod nitrite_limits;
pub mod properties;
pub mod readings;
pub mod salt;
pub mod shape;
pub mod size;
pub mod strength;
pub mod yields;

pub use answer::{Answer, Note, Refused, Spread, within};
