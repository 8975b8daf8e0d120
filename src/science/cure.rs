//! How long in the brine by the rule of days a kilogram, and what being over or short of it means.
//!
//! Source: common practice, no source. The rate belongs to its brine: six days a kilogram with a weak brine worked on meat
//! and water; USDA farm bulletins give 3.5 to 4 days a pound for bone-in hams in a sweet pickle (7.7 to 8.8 d/kg).
//! [`super::salt`] reckons the same thing from diffusion; the two often disagree and both are shown.

use super::brine::Basis;
use crate::units::{Elapsed, Length, Mass};
use serde::Serialize;

/// A joint thicker than this gets the same extra time as one on the bone (common practice, no source).
pub const THICK: Length = Length::cm(15.0);

/// The rule of days a kilogram.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Rule {
    /// Days in the brine for each kilogram of green weight.
    pub days_per_kg: f64,
    /// Fewest days, whatever the weight.
    pub fewest_days: f64,
    /// Extra for a joint on the bone or thicker than [`THICK`], per cent.
    pub bone_extra_percent: f64,
}

impl Default for Rule {
    fn default() -> Self {
        Self { days_per_kg: 6.0, fewest_days: 6.0, bone_extra_percent: 10.0 }
    }
}

impl Rule {
    /// Time in the brine for one joint: `max(fewest, rate · w)`, lengthened for bone or thickness. Never short.
    pub fn time(&self, weight: Mass, bone_in: bool, diameter: Length) -> Elapsed {
        let days = (self.days_per_kg * weight.as_kg()).max(self.fewest_days);
        let extra = if bone_in || diameter > THICK { 1.0 + self.bone_extra_percent / 100.0 } else { 1.0 };
        Elapsed::days(days * extra)
    }
}

/// Where a joint stands against the days its rule asks for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Standing {
    /// Days in the brine over days asked for, per cent.
    pub percent: f64,
    pub says: &'static str,
    /// Soak the trade would give it, hours (common practice, no source).
    pub soak_hours: f64,
}

/// What `held` days mean for a joint that should have had `asked` (common practice, no source).
pub fn standing(held: Elapsed, asked: Elapsed, basis: Basis) -> Standing {
    let percent = if asked.as_minutes() > 0.0 { 100.0 * held.as_minutes() / asked.as_minutes() } else { 0.0 };
    let (says, soak_hours) = match (basis, percent) {
        (_, p) if p < 90.0 => ("short: treat as fresh pork, cook it through, no cured keeping life", 0.0),
        (_, p) if p < 100.0 => ("a little short: a grey core is likely; a longer rest helps in a strong brine", 0.0),
        (Basis::Equilibrium, _) if held.as_days() > 30.0 => {
            ("over 30 days in a weak brine: renew the brine or lift; it cannot go over its target salt", 0.0)
        }
        (Basis::Equilibrium, _) => ("inside the rule; it cannot go over its target salt", 0.0),
        (Basis::Excess, p) if p <= 110.0 => ("inside the rule", 0.0),
        (Basis::Excess, p) if p <= 125.0 => ("a little long in a strong brine: soak", 12.0),
        (Basis::Excess, p) if p <= 150.0 => ("long in a strong brine: soak with two changes, slice thin", 24.0),
        (Basis::Excess, _) => {
            ("very long in a strong brine: a salt ham; long soak, change the water in mid-simmer", 48.0)
        }
    };
    Standing { percent, says, soak_hours }
}
