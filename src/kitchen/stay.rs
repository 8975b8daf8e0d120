//! How long a joint stays in its brine, by the recipe.
//!
//! One reckoning for whoever asks: the judge of a kitchen file, before anything is planned, and the planner.

use super::quantities::{recipe, rule, size};
use super::{Basis, Cure, Joint, Times};
use crate::science;
use crate::units::{Elapsed, Mass, Temperature};

/// Minutes in the brine the kitchen asks for: by the trade's rule, or by the salt sum where the kitchen chose it, and what
/// the joint has been given over that.
pub fn cure(joint: &Joint, cure: &Cure) -> i32 {
    let time = chosen_salt(joint, cure).unwrap_or_else(|| cure_by_rule(joint, cure));
    Elapsed::minutes(time.as_minutes() + joint.extra().as_minutes()).whole_minutes_up()
}

/// Whether a joint's days come from the salt sum and not from its weight.
pub fn by_salt(joint: &Joint, cure: &Cure) -> bool {
    chosen_salt(joint, cure).is_some()
}

/// The salt sum, where the kitchen chose it and it covers the joint. The tub is not known yet when the days are asked for: as
/// much water as meat stands for it.
fn chosen_salt(joint: &Joint, cure: &Cure) -> Option<Elapsed> {
    (cure.times == Times::Physics).then(|| cure_by_salt(joint, cure, 1.0)).flatten()
}

/// Days per kilogram, a floor, and more for bone or thickness over 15 cm.
pub fn cure_by_rule(joint: &Joint, cure: &Cure) -> Elapsed {
    rule(cure).time(joint.planned_weight(), joint.bone_in, size(joint).diameter)
}

/// Share of its final salt that a joint must have taken up for the salt sum to call it cured: what the trade reckons a
/// joint has at six days a kilogram is 70 to 90 %; this is the middle. Common practice, no source.
const UPTAKE: f64 = 0.8;

/// When the joint has taken up 80 % of its salt, by diffusion at 4 °C from `water_per_meat` kg of water to each kg of meat
/// in the tub. `None` for a strong brine, which is pulled long before, and for sizes the sum does not cover.
pub fn cure_by_salt(joint: &Joint, cure: &Cure, water_per_meat: f64) -> Option<Elapsed> {
    if cure.basis == Basis::Excess {
        return None;
    }
    let meat = joint.planned_weight();
    let water = Mass::kg(meat.as_kg() * water_per_meat);
    let weighed = science::brine::weigh_out(&recipe(cure), meat, water, science::brine::ScaleSteps::default()).ok()?;
    let tub = science::salt::Tub {
        shape: size(joint).into(),
        meat,
        water,
        salt: weighed.value.salt_total,
        temperature: Temperature::celsius(4.0),
    };
    let days = science::salt::Story::new(tub, Elapsed::days(200.0)).ok()?.uptake_reaches(UPTAKE)[1]?;
    Some(Elapsed::days(days.max(cure.fewest_days)))
}
