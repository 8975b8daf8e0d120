//! From the kitchen file's nouns to the quantities the sums take, and what a kitchen as a whole is to them.

use super::arrangement;
use crate::kitchen::Kitchen;

pub use crate::kitchen::quantities::{bag, means, product, recipe, scales, size};

/// Whether the limits for nitrite-cured ham hold in this kitchen.
pub fn cured(kitchen: &Kitchen) -> bool {
    arrangement::chill_limit(kitchen) == "chill_cured_limit"
}

/// What the warmest cold space on the raw side is said to hold; `None` when none has a thermometer.
pub fn brine_temperature(kitchen: &Kitchen) -> Option<crate::units::Temperature> {
    let raw = kitchen.kit.cold.iter().filter(|s| s.side == crate::kitchen::Side::Raw);
    raw.filter_map(|s| s.temperature).max_by(|a, b| a.as_celsius().total_cmp(&b.as_celsius()))
}
