//! From the kitchen file's nouns to the quantities the sums take.

use super::{ChillingMeans, Cure, Joint, Kitchen, Outcome};
use crate::science::brine::{Recipe, ScaleSteps};
use crate::science::chill::ChillMeans;
use crate::science::cure::Rule;
use crate::science::nitrite::Bag;
use crate::science::size::{LENGTH_OVER_DIAMETER, Size};
use crate::science::yields::Product;
use crate::units::Length;

/// The bag of curing salt; `None` for a cure without nitrite.
pub fn bag(cure: &Cure) -> Option<Bag> {
    cure.curing_salt.as_ref().map(|b| Bag {
        nitrite_percent: b.nitrite_percent,
        nitrate_percent: b.nitrate_percent,
        target_mg_per_kg: b.target_mg_per_kg,
    })
}

/// The recipe of the brine.
pub fn recipe(cure: &Cure) -> Recipe {
    Recipe { basis: cure.basis, salt_percent: cure.salt_percent, sugar_percent: cure.sugar_percent, bag: bag(cure) }
}

/// The recipe's rule of days a kilogram.
pub fn rule(cure: &Cure) -> Rule {
    Rule { days_per_kg: cure.days_per_kg, fewest_days: cure.fewest_days, bone_extra_percent: cure.bone_extra_percent }
}

/// The steps of the kitchen's scales.
pub fn scales(kitchen: &Kitchen) -> ScaleSteps {
    ScaleSteps { salt_g: kitchen.kit.scales.salt_g, curing_salt_g: kitchen.kit.scales.curing_salt_g }
}

/// A joint's size: measured where given, else reckoned from its weight (boneless, rolled, length 1.4 diameters).
pub fn size(joint: &Joint) -> Size {
    let diameter = joint.diameter.unwrap_or_else(|| Size::reckon(joint.planned_weight()).diameter);
    let length = joint.length.unwrap_or(Length::cm(LENGTH_OVER_DIAMETER * diameter.as_cm()));
    Size { diameter, length }
}

/// What a joint is to become, as the yields know it.
pub const fn product(outcome: Outcome) -> Product {
    match outcome {
        Outcome::HamSliced => Product::HamSliced,
        Outcome::HamWhole => Product::HamWhole,
        Outcome::GammonSteaks => Product::GammonSteaks,
        Outcome::GammonJoint => Product::GammonJoint,
    }
}

/// A way of chilling, as the sums know it.
pub const fn means(m: ChillingMeans) -> ChillMeans {
    match m {
        ChillingMeans::IcedWater => ChillMeans::IcedWater,
        ChillingMeans::Blast => ChillMeans::Blast,
        ChillingMeans::ColdRoom => ChillMeans::ColdRoom,
        ChillingMeans::Fridge => ChillMeans::Fridge,
    }
}
