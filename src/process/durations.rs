//! How long each task takes: planned, and at the slow end where a safety limit hangs on it.
//!
//! Whole minutes. Figures are the trade's (common practice, no source) unless a docstring names another.

use super::bridge;
use crate::kitchen::{Basis, BrineCooling, ChillingMeans, Cure, Joint, Kit, Limits, Outcome, Packer, Times};
use crate::schedule::Minute;
use crate::science;
use crate::units::{Elapsed, Mass, Temperature};

/// The judge of a kitchen file asks for the days in the brine too, so they are reckoned in its room.
pub use crate::kitchen::stay::{cure, cure_by_rule, cure_by_salt};

/// The step in which people think of time: worked-out lengths are rounded up to it.
pub const STEP: Minute = 5;

fn up(minutes: f64) -> Minute {
    let m = Elapsed::minutes(minutes.clamp(0.0, 1e6)).whole_minutes_up();
    (m + STEP - 1) / STEP * STEP
}

/// Longest good stay in the brine: 1.5 times the need or 14 days over, whichever is less, for an equilibrium brine;
/// 1.25 times for a strong one.
pub fn cure_longest_good(need: Minute, cure: &Cure, limits: &Limits) -> Minute {
    let by = |id: &str| (f64::from(need) * limits.value(id)) as Minute;
    match cure.basis {
        Basis::Equilibrium => {
            by("cure_over_equilibrium_factor").min(need + limits.minutes("cure_over_equilibrium_extra"))
        }
        Basis::Excess => by("cure_over_strong_factor"),
    }
}

/// Longest good stay of a joint that is to be lifted as soon as it is cured: two days over, and no longer than any other.
pub fn cure_at_once_good(need: Minute, cure: &Cure, limits: &Limits) -> Minute {
    cure_longest_good(need, cure, limits).min(need + 2 * 1440)
}

/// Turns for a stay of `stay` minutes: as many as make the gaps, the last one to the lift included, come nearest to the
/// recipe's interval, and never so few that gaps of `longest` minutes do not span the stay and half a day more.
pub fn turns(stay: Minute, cure: &Cure, longest: Minute) -> u32 {
    turns_to_come(stay, cure, longest).max(1)
}

/// The same of what is left of a stay since the last turn: perhaps none.
pub fn turns_to_come(rest: Minute, cure: &Cure, longest: Minute) -> u32 {
    let every = (cure.turn_every_days * 1440.0).max(1.0);
    let nearest = (f64::from(rest) / every).round() as u32;
    let fewest = (f64::from(rest.saturating_add(720)) / f64::from(longest.max(1))).ceil() as u32;
    nearest.max(fewest).saturating_sub(1)
}

/// Weighing out and boiling: elapsed and hands.
pub fn brine_make() -> (Minute, Minute) {
    (75, 35)
}

/// Bringing the boiled brine to 5 °C or under: planned and slow.
pub fn brine_cool(how: BrineCooling) -> (Minute, Minute) {
    match how {
        BrineCooling::Ice => (120, 180),
        BrineCooling::Overnight => (1440, 1800),
    }
}

/// Scalding the tub, meat in, brine over, weight, lid, tag.
pub fn submerge(joints: usize) -> Minute {
    20 + 5 * joints as Minute
}

/// One tub's turn, its share of the setting-up in it.
pub fn turn() -> Minute {
    10
}

/// Lifting, rinsing, and washing the tub after the last.
pub fn rinse() -> Minute {
    15
}

/// Soak in fresh water: none for an equilibrium brine, 12 h for a strong one, unless the recipe says.
pub fn soak(cure: &Cure) -> Minute {
    cure.soak.map_or(if cure.basis == Basis::Excess { 720 } else { 0 }, |s| up(s.as_minutes()))
}

pub fn dry() -> Minute {
    5
}

/// Simmer proper, set by the slowest joint in the pot; planned and slow. By the rule 50 min/kg and 30 min, two hours at
/// least, which is tender; by physics the core to 75 °C, which comes before tender.
pub fn simmer(joint: &Joint, cure: &Cure, heat_up: Minute, limits: &Limits) -> (Minute, Minute) {
    let rule = science::cook::simmer(joint.planned_weight()).planned;
    let planned = match cure.times {
        Times::Rule => rule,
        Times::Physics => simmer_by_heat(joint, heat_up).unwrap_or(rule),
    };
    (up(planned.as_minutes()), up(planned.as_minutes() * limits.value("slow_simmer_factor")))
}

/// Core to 75 °C at a simmer of 85 °C, after the heat-up. `None` for sizes the sum does not cover.
pub fn simmer_by_heat(joint: &Joint, heat_up: Minute) -> Option<Elapsed> {
    let heat = Elapsed::minutes(f64::from(heat_up.max(1)));
    let celsius = Temperature::celsius;
    let all =
        science::cook::core_by_physics(bridge::size(joint), celsius(5.0), heat, celsius(85.0), celsius(75.0)).ok()?;
    Some(Elapsed::minutes((all.value.as_minutes() - heat.as_minutes()).max(0.0)))
}

/// Cold water to a simmer: the pot's own time, and 12 min for each joint after the first.
pub fn heat_up(pot: Option<Elapsed>, joints: usize) -> Minute {
    up(pot.map_or(60.0, Elapsed::as_minutes) + 12.0 * (joints as f64 - 1.0).max(0.0))
}

/// Skinning, scoring, studding, glazing.
pub fn score_and_glaze(joints: usize) -> Minute {
    5 + 10 * joints as Minute
}

pub fn bake(joints: usize) -> Minute {
    45 + 5 * joints as Minute
}

/// Thickest ham that is planned whole, cm: the trade's cooling table ends at 16, and one row's step beyond is as far as
/// it is carried on.
pub const CHILL_THICKEST: f64 = 18.0;

/// Minutes for a whole ham to reach 5 °C at the core, planned and slow. `None` over 18 cm.
pub fn chill(joint: &Joint, cure: &Cure, means: ChillingMeans) -> Option<(Minute, Minute)> {
    let size = bridge::size(joint);
    if !(size.diameter.as_cm() > 0.0 && size.diameter.as_cm() <= CHILL_THICKEST) {
        return None;
    }
    let means = bridge::means(means);
    let rule = science::chill::by_rule(means, size.diameter);
    let spread = match cure.times {
        Times::Rule => rule,
        Times::Physics => science::chill::by_physics(means, size, Temperature::celsius(75.0)).map_or(rule, |a| a.value),
    };
    Some((up(spread.planned.as_minutes()), up(spread.slow.as_minutes())))
}

/// Green weight to what is packed, kilograms.
pub fn packed_kg(joint: &Joint) -> f64 {
    science::yields::packed(joint.planned_weight(), bridge::product(joint.outcome), joint.bone_in).as_kg()
}

/// Whole packs from a joint, rounded down; what is over is the cook's pack.
pub fn packs(joint: &Joint, cure: &Cure) -> u32 {
    let size = match joint.outcome {
        Outcome::HamSliced => cure.pack_ham.as_kg(),
        Outcome::GammonSteaks => cure.pack_steaks.as_kg(),
        Outcome::HamWhole | Outcome::GammonJoint => return 1,
    };
    science::yields::packs(Mass::kg(packed_kg(joint)), Mass::kg(size.max(0.01))).clamp(1, 1000)
}

/// Firming raw gammon in the freezer before it is cut.
pub fn firm() -> Minute {
    150
}

/// Slicing ham, or cutting steaks.
pub fn slice(joint: &Joint, kit: &Kit) -> Minute {
    match joint.outcome {
        Outcome::GammonSteaks => up(5.0 + joint.planned_weight().as_kg() * 20.0 / 2.4),
        _ => up(packed_kg(joint) / kit.slicer.per_hour.as_kg().max(0.1) * 60.0 + kit.slicer.clean.as_minutes()),
    }
}

/// Packing with the packer's rests.
pub fn pack(packs: u32, packer: &Packer) -> Minute {
    let rests = packer.rest_after.map_or(0, |n| packs.saturating_sub(1) / n.max(1));
    up(f64::from(packs) / packer.packs_per_hour.max(0.1) * 60.0 + f64::from(rests) * packer.rest.as_minutes()).max(5)
}

pub fn freeze() -> Minute {
    10
}
