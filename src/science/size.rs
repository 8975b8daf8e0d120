//! A joint's diameter and length from its weight.
//!
//! Source: common practice, no source. A boneless rolled joint is near a cylinder 1.4 times as long as it is thick and
//! weighs about 1.06 kg a litre, so `w = 1.06 · (π/4 · 1.4) · Ø³ / 1000` (Choi & Okos 1986 gives 1.047 kg/L for lean pork).

use super::{Answer, Note, Refused, within};
use crate::units::{Length, Mass, Volume};
use serde::Serialize;

/// Density of a joint of pork, kg/L (common practice, no source).
pub const DENSITY: f64 = 1.06;
/// Length of a rolled joint over its diameter (common practice, no source).
pub const LENGTH_OVER_DIAMETER: f64 = 1.4;
/// The volume of such a joint over its diameter cubed: π/4 · 1.4, which the trade rounds to 1.1.
const SHAPE: f64 = 1.1;

/// A joint as a cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Size {
    /// Centimetres.
    pub diameter: Length,
    /// Centimetres.
    pub length: Length,
}

impl Size {
    /// The size of a boneless, rolled joint of this weight. Zero for a weight that is not above zero.
    pub fn reckon(weight: Mass) -> Self {
        let d = (weight.as_kg().max(0.0) * 1000.0 / DENSITY / SHAPE).cbrt();
        Self { diameter: Length::cm(d), length: Length::cm(LENGTH_OVER_DIAMETER * d) }
    }
}

/// Diameter and length, cm, reckoned from a weight of 0.3 to 12 kg.
///
/// # Errors
/// Refuses a weight outside that range.
pub fn from_weight(weight: Mass) -> Result<Answer<Size>, Refused> {
    let kg = within("weight", weight.as_kg(), 0.3, 12.0, "kg")?;
    let mut answer = Answer::new(Size::reckon(weight)).with(Note::assumes(
        "boneless and rolled, 1.4 times as long as thick, 1.06 kg/L (common practice, no source); a tape measure is better",
    ));
    if !(1.0..=6.0).contains(&kg) {
        answer = answer.with(Note::flag("reckoned sizes are usual for 1 to 6 kg; measure this one"));
    }
    Ok(answer)
}

/// The volume a joint takes up in the brine, litres.
pub fn volume(weight: Mass) -> Volume {
    Volume::litres(weight.as_kg() / DENSITY)
}
