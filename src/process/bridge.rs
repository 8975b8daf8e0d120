//! From the kitchen file's nouns to the quantities the sums take.

use super::{arrangement, fit};
use crate::kitchen::{Basis, ChillingMeans, Cure, Joint, Kitchen, Outcome};
use crate::science::brine::{self, Recipe, ScaleSteps};
use crate::science::chill::ChillMeans;
use crate::science::nitrite::Bag;
use crate::science::size::Size;
use crate::science::yields::Product;
use crate::units::Length;

pub fn basis(cure: &Cure) -> brine::Basis {
    match cure.basis {
        Basis::Equilibrium => brine::Basis::Equilibrium,
        Basis::Excess => brine::Basis::Excess,
    }
}

pub fn bag(cure: &Cure) -> Option<Bag> {
    cure.curing_salt.as_ref().map(|b| Bag {
        nitrite_percent: b.nitrite_percent,
        nitrate_percent: b.nitrate_percent,
        target_mg_per_kg: b.target_mg_per_kg,
    })
}

pub fn recipe(cure: &Cure) -> Recipe {
    Recipe { basis: basis(cure), salt_percent: cure.salt_percent, sugar_percent: cure.sugar_percent, bag: bag(cure) }
}

pub fn scales(kitchen: &Kitchen) -> ScaleSteps {
    ScaleSteps { salt_g: kitchen.kit.scales.salt_g, curing_salt_g: kitchen.kit.scales.curing_salt_g }
}

pub fn size(joint: &Joint) -> Size {
    let s = fit::size_of(joint);
    Size { diameter: Length::cm(s.diameter), length: Length::cm(s.length) }
}

pub const fn product(outcome: Outcome) -> Product {
    match outcome {
        Outcome::HamSliced => Product::HamSliced,
        Outcome::HamWhole => Product::HamWhole,
        Outcome::GammonSteaks => Product::GammonSteaks,
        Outcome::GammonJoint => Product::GammonJoint,
    }
}

pub const fn means(m: ChillingMeans) -> ChillMeans {
    match m {
        ChillingMeans::IcedWater => ChillMeans::IcedWater,
        ChillingMeans::Blast => ChillMeans::Blast,
        ChillingMeans::ColdRoom => ChillMeans::ColdRoom,
        ChillingMeans::Fridge => ChillMeans::Fridge,
    }
}

/// Whether the limits for nitrite-cured ham hold in this kitchen.
pub fn cured(kitchen: &Kitchen) -> bool {
    arrangement::chill_limit(kitchen) == "chill_cured_limit"
}

/// What the warmest cold space on the raw side is said to hold; `None` when none has a thermometer.
pub fn brine_temperature(kitchen: &Kitchen) -> Option<crate::units::Temperature> {
    let raw = kitchen.kit.cold.iter().filter(|s| s.side == crate::kitchen::Side::Raw);
    raw.filter_map(|s| s.temperature).max_by(|a, b| a.as_celsius().total_cmp(&b.as_celsius()))
}
