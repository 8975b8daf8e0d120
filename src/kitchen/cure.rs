//! The cure: brine strength, curing salt, and the clock that goes with them as one recipe.

use crate::science::brine::Basis;
use crate::units::{Elapsed, Mass};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How boiled brine is brought to 5 °C or under.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum BrineCooling {
    /// Boiled in a third of the water, the rest put in as ice and fridge-cold water: an hour or two.
    #[default]
    Ice,
    /// Boiled in all of it and left in a cold place: a day.
    Overnight,
}

/// Where the planner takes its times from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Times {
    /// The trade's rules: days per kilogram, minutes per kilogram, the cooling table.
    #[default]
    Rule,
    /// Salt and heat reckoned by diffusion and conduction from each joint's size. A cure by the sum is never planned
    /// shorter than its middle estimate; a strong brine, pulled by time, stays with the rule.
    Physics,
}

/// A bag of curing salt. Its strength is typed from its label and has no default.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CuringSalt {
    /// Sodium nitrite in the bag, per cent by weight, from the label.
    pub nitrite_percent: f64,
    /// Sodium or potassium nitrate in the bag, per cent by weight, from the label; 0 when left out.
    #[serde(default)]
    pub nitrate_percent: f64,
    /// Batch code on the bag, for trace.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub code: String,
    /// Target ingoing sodium nitrite, mg per kg of meat and water.
    pub target_mg_per_kg: f64,
}

/// The recipe. Rate, turn interval and brine type belong together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Cure {
    /// On what the salt is worked out.
    pub basis: Basis,
    /// Salt, per cent: of meat and water (equilibrium) or of the water's weight in the brine (excess).
    pub salt_percent: f64,
    /// Sugar, per cent, on the same basis.
    pub sugar_percent: f64,
    /// The curing-salt bag. Left out: a cure without nitrite, with the stricter limits that brings.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub curing_salt: Option<CuringSalt>,
    /// Where cure, simmer and chill times come from.
    pub times: Times,
    /// Days in the brine for each kilogram of the joint.
    pub days_per_kg: f64,
    /// Fewest days in the brine, whatever the weight.
    pub fewest_days: f64,
    /// Extra time for a joint on the bone or thicker than 15 cm, per cent.
    pub bone_extra_percent: f64,
    /// Days from turn to turn.
    pub turn_every_days: f64,
    /// How boiled brine is made cold.
    pub brine_cooling: BrineCooling,
    /// Soak in fresh water after the brine. Left out: none for an equilibrium brine, 12 h for a strong one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub soak: Option<Elapsed>,
    /// How long the rest after the brine should be.
    pub rest: Elapsed,
    /// Sliced ham in a pack.
    pub pack_ham: Mass,
    /// Gammon steaks in a pack, by weight.
    pub pack_steaks: Mass,
}

impl Default for Cure {
    fn default() -> Self {
        Self {
            basis: Basis::Equilibrium,
            salt_percent: 2.5,
            sugar_percent: 1.0,
            curing_salt: None,
            times: Times::Rule,
            days_per_kg: 6.0,
            fewest_days: 6.0,
            bone_extra_percent: 10.0,
            turn_every_days: 3.0,
            brine_cooling: BrineCooling::Ice,
            soak: None,
            rest: Elapsed::hours(24.0),
            pack_ham: Mass::kg(0.15),
            pack_steaks: Mass::kg(0.4),
        }
    }
}
