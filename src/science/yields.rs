//! From green weight to packs and back.
//!
//! Source: common practice, no source; a kitchen's own records are better.

use super::{Answer, Note, Refused, within};
use crate::units::Mass;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a joint becomes, as far as its yield goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Product {
    /// Ham cured, cooked, skinned, chilled and sliced.
    HamSliced,
    /// Ham cooked, skinned and chilled, left whole.
    HamWhole,
    GammonSteaks,
    GammonJoint,
}

/// Weight after each stage over green weight.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Yield {
    pub planned: f64,
    pub low: f64,
    pub high: f64,
}

/// The share of the green weight that ends in packs (common practice, no source).
pub const fn share(product: Product, bone_in: bool) -> Yield {
    match (product, bone_in) {
        (Product::HamSliced, false) => Yield { planned: 0.64, low: 0.58, high: 0.70 },
        (Product::HamSliced, true) => Yield { planned: 0.55, low: 0.50, high: 0.60 },
        // As it is when sliced ham is chilled; with the bone left in, when it is skinned and trimmed, less its chilling loss.
        (Product::HamWhole, false) => Yield { planned: 0.71, low: 0.65, high: 0.77 },
        (Product::HamWhole, true) => Yield { planned: 0.72, low: 0.66, high: 0.78 },
        (Product::GammonSteaks, _) => Yield { planned: 0.95, low: 0.92, high: 0.97 },
        (Product::GammonJoint, _) => Yield { planned: 1.01, low: 0.98, high: 1.04 },
    }
}

/// Packed weight from green weight.
pub fn packed(green: Mass, product: Product, bone_in: bool) -> Mass {
    Mass::kg(green.as_kg().max(0.0) * share(product, bone_in).planned)
}

/// The usual pack of a product and the usual portion of it at table, from the weight as packed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Usual {
    /// `None` for a ham left whole: one pack of whatever it comes to.
    pub pack: Option<Mass>,
    pub portion: Mass,
    /// Fewest and most a head.
    pub portions: (Mass, Mass),
    pub says: &'static str,
}

/// Usual packs and portions (common practice, no source).
pub const fn usual(product: Product) -> Usual {
    match product {
        Product::HamSliced => Usual {
            pack: Some(Mass::kg(0.15)),
            portion: Mass::kg(0.08),
            portions: (Mass::kg(0.06), Mass::kg(0.09)),
            says: "packs of 100 to 200 g, and 60 to 90 g a head",
        },
        Product::HamWhole => Usual {
            pack: None,
            portion: Mass::kg(0.08),
            portions: (Mass::kg(0.06), Mass::kg(0.09)),
            says: "one pack, and 60 to 90 g a head once carved",
        },
        Product::GammonSteaks => Usual {
            pack: Some(Mass::kg(0.4)),
            portion: Mass::kg(0.2),
            portions: (Mass::kg(0.18), Mass::kg(0.225)),
            says: "packs of 2 × 200 g, and a steak of 180 to 225 g a head",
        },
        Product::GammonJoint => Usual {
            pack: Some(Mass::kg(1.15)),
            portion: Mass::kg(0.25),
            portions: (Mass::kg(0.25), Mass::kg(0.25)),
            says: "whole pieces of 1.0 to 1.3 kg, and 250 g raw a head",
        },
    }
}

/// Whole packs of `pack` from a packed weight; what is left over goes to the cook.
pub fn packs(packed: Mass, pack: Mass) -> u32 {
    if pack.as_kg() <= 0.0 || packed.as_kg() <= 0.0 {
        return 0;
    }
    (packed.as_kg() / pack.as_kg() + 1e-9).floor().min(1e6) as u32
}

/// Packs and what is left, from one joint.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Packing {
    /// Kilograms.
    pub packed: Mass,
    pub packs: u32,
    /// Kilograms over, the cook's pack.
    pub over: Mass,
    /// Packs at the low and high end of the yield.
    pub low: u32,
    pub high: u32,
}

/// Packs from green weight.
///
/// # Errors
/// Refuses a weight outside 0.1 to 200 kg or a pack outside 0.02 to 20 kg.
pub fn from_green(green: Mass, product: Product, bone_in: bool, pack: Mass) -> Result<Answer<Packing>, Refused> {
    let kg = within("green weight", green.as_kg(), 0.1, 200.0, "kg")?;
    within("pack", pack.as_kg(), 0.02, 20.0, "kg")?;
    let y = share(product, bone_in);
    let packed = packed(green, product, bone_in);
    let n = packs(packed, pack);
    let value = Packing {
        packed,
        packs: n,
        over: Mass::kg((packed.as_kg() - f64::from(n) * pack.as_kg()).max(0.0)),
        low: packs(Mass::kg(kg * y.low), pack),
        high: packs(Mass::kg(kg * y.high), pack),
    };
    Ok(Answer::new(value).with(Note::assumes(format!(
        "yield {:.2} (from {:.2} to {:.2}) of green weight: common practice, no source",
        y.planned, y.low, y.high
    ))))
}

/// Green weight to order for a packed weight, with 5 % over.
///
/// # Errors
/// Refuses a packed weight outside 0.05 to 200 kg.
pub fn to_order(packed: Mass, product: Product, bone_in: bool) -> Result<Answer<Mass>, Refused> {
    let kg = within("packed weight", packed.as_kg(), 0.05, 200.0, "kg")?;
    let y = share(product, bone_in);
    Ok(Answer::new(Mass::kg(kg / y.planned * 1.05)).with(Note::assumes(format!(
        "yield {:.2} of green weight and 5 % over: common practice, no source",
        y.planned
    ))))
}
