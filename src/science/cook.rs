//! Simmer and bake by the rule of thumb.
//!
//! Source: common practice, no source (published advice runs from 40 to 45 min/kg up to "2 to 5 h by size"). A ham is done
//! when a skewer slides through; that comes well after its core is hot enough, so the plan goes by this rule and the
//! physics in [`super::conduction`] is shown beside it.

use super::{Answer, Note, Refused, Spread, within};
use crate::units::{Elapsed, Mass};

/// The slow end of a simmer over the plan for it, from practice (judgement; a kitchen's own records are better).
pub const SLOW: f64 = 1.35;

/// The caution that goes with anything cooked.
pub const CORE: &str = "probe every joint at its thickest: at least 70 °C for 2 minutes, or 75 °C for 30 seconds, \
     whatever the clock says";

/// Simmer at 80 to 90 °C, minutes: `50 · w + 30`, at least 120, by the heaviest joint in the pot; slow end ×1.35.
pub fn simmer(weight: Mass) -> Spread {
    let planned = (50.0 * weight.as_kg() + 30.0).max(120.0);
    Spread { planned: Elapsed::minutes(planned), slow: Elapsed::minutes(planned * SLOW) }
}

/// [`simmer`] with its notes; refuses a weight outside 0.3 to 12 kg.
///
/// # Errors
/// When the weight is not one a whole joint can have.
pub fn simmer_answer(weight: Mass) -> Result<Answer<Spread>, Refused> {
    let kg = within("weight", weight.as_kg(), 0.3, 12.0, "kg")?;
    let mut a = Answer::new(simmer(weight))
        .with(Note::assumes("80 to 90 °C, barely moving, from the first simmer; common practice, no source"))
        .with(Note::caution(CORE));
    if kg > 6.0 {
        a = a.with(Note::flag("the rule is usual up to 6 kg"));
    }
    Ok(a)
}

/// Bake at 180 °C (160 °C fan): 45 minutes at 2 kg and under, 60 at 4 kg and over; slow end 60 (common practice, no source).
pub fn bake(weight: Mass) -> Spread {
    let planned = (45.0 + 7.5 * (weight.as_kg() - 2.0)).clamp(45.0, 60.0);
    Spread { planned: Elapsed::minutes(planned), slow: Elapsed::minutes(60.0) }
}
