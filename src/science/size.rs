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

/// What a joint of this size weighs when it fills its cylinder.
pub fn weight(size: Size) -> Mass {
    let litres = std::f64::consts::FRAC_PI_4 * size.diameter.as_cm().powi(2) * size.length.as_cm() / 1000.0;
    Mass::kg(litres * DENSITY)
}

/// Weight that a joint's measures have room for over what it weighs.
fn fullness(of: Mass, size: Size) -> f64 {
    weight(size).as_kg() / of.as_kg()
}

/// Holds measured sizes against the weight: nothing to say from three quarters to four thirds of the joint's volume, a
/// flag out to half and double (a shank end, a bone, a loose tie), and no answer beyond.
///
/// # Errors
/// Refuses sizes whose cylinder is under half or over double the volume of that weight, and sizes not above zero.
pub fn belongs(weight: Mass, size: Size) -> Result<Option<Note>, Refused> {
    let says = format!("{:.1} cm thick and {:.1} cm long", size.diameter.as_cm(), size.length.as_cm());
    let ratio = fullness(weight, size);
    if !(0.5..=2.0).contains(&ratio) || size.diameter.as_cm() <= 0.0 {
        let usual = Size::reckon(weight);
        // The slips that are common: inches or millimetres typed as centimetres.
        let fits = |unit: f64| {
            let cm = |l: Length| Length::cm(l.as_cm() * unit);
            let like = Size { diameter: cm(size.diameter), length: cm(size.length) };
            (0.5..=2.0).contains(&fullness(weight, like))
        };
        let slip = if fits(2.54) {
            "; inches are written 5in"
        } else if fits(0.1) {
            "; millimetres are written 130mm"
        } else {
            ""
        };
        return Err(Refused::new(
            format!("a joint {says} is {:.1} kg by its volume, not {:.1} kg", ratio * weight.as_kg(), weight.as_kg()),
            format!(
                "a rolled joint of that weight is about {:.0} cm thick and {:.0} cm long{slip}",
                usual.diameter.as_cm(),
                usual.length.as_cm()
            ),
        ));
    }
    Ok((!(0.75..=4.0 / 3.0).contains(&ratio)).then(|| {
        Note::flag(format!(
            "{says} makes {:.1} kg by its volume, against {:.1} kg on the scale: measure again at the thickest; every time here goes with the thickness squared",
            ratio * weight.as_kg(),
            weight.as_kg()
        ))
    }))
}
