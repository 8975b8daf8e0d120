//! How long each task takes: planned, and at the slow end where a safety limit hangs on it.
//!
//! Whole minutes. Figures are the trade's (common practice, no source) unless a docstring names another.

use super::fit::size_of;
use crate::kitchen::{Basis, BrineCooling, ChillingMeans, Cure, Joint, Kit, Limits, Outcome, Packer};
use crate::schedule::Minute;
use crate::units::Elapsed;

/// The step in which people think of time: worked-out lengths are rounded up to it.
pub const STEP: Minute = 5;

fn up(minutes: f64) -> Minute {
    let m = Elapsed::minutes(minutes.clamp(0.0, 1e6)).whole_minutes_up();
    (m + STEP - 1) / STEP * STEP
}

/// Minutes in the brine the rule asks for: days per kilogram, a floor, and more for bone or thickness over 15 cm.
pub fn cure(joint: &Joint, cure: &Cure) -> Minute {
    let days = (cure.days_per_kg * joint.planned_weight().as_kg()).max(cure.fewest_days);
    let extra =
        if joint.bone_in || size_of(joint).diameter > 15.0 { 1.0 + cure.bone_extra_percent / 100.0 } else { 1.0 };
    Elapsed::days(days * extra).whole_minutes_up()
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

/// Turns for a stay of `stay` minutes, evenly at the recipe's interval, at least one.
pub fn turns(stay: Minute, cure: &Cure) -> u32 {
    let every = (cure.turn_every_days * 1440.0).max(1.0);
    ((f64::from(stay) / every).ceil() as u32).saturating_sub(1).max(1)
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

/// Simmer proper for the heaviest joint in the pot: 50 min/kg and 30 min, two hours at least; planned and slow.
pub fn simmer(heaviest_kg: f64, limits: &Limits) -> (Minute, Minute) {
    let planned = (50.0 * heaviest_kg + 30.0).max(120.0);
    (up(planned), up(planned * limits.value("slow_simmer_factor")))
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

/// Hours to 5 °C at the core from the trade's table, the printed range as (planned, slow), a single figure with a tenth
/// more as its slow end: by diameter in cm, then home fridge, cold room with a fan, iced water then fridge, blast.
/// Common practice, no source.
const CHILL: [(f64, [(f64, f64); 4]); 5] = [
    (10.0, [(6.0, 7.0), (5.0, 5.5), (3.5, 3.85), (3.0, 3.3)]),
    (12.0, [(9.0, 11.0), (6.5, 7.15), (5.0, 6.0), (4.5, 4.95)]),
    (13.0, [(11.0, 13.0), (8.0, 8.8), (6.0, 7.0), (5.5, 6.05)]),
    (14.5, [(14.0, 16.0), (9.5, 10.45), (8.0, 9.0), (6.5, 7.15)]),
    (16.0, [(17.0, 18.7), (11.0, 12.0), (10.0, 11.0), (8.0, 8.8)]),
];

/// Thickest ham the table is good for, cm.
pub const CHILL_THICKEST: f64 = 18.0;

/// Minutes for a whole ham to reach 5 °C at the core, planned and slow. `None` over 18 cm: the table does not reach there.
/// Straight lines between the printed rows; over the last, time goes with the square of the diameter.
pub fn chill(joint: &Joint, means: ChillingMeans) -> Option<(Minute, Minute)> {
    let d = size_of(joint).diameter;
    if !(d > 0.0 && d <= CHILL_THICKEST) {
        return None;
    }
    let column = match means {
        ChillingMeans::Fridge => 0,
        ChillingMeans::ColdRoom => 1,
        ChillingMeans::IcedWater => 2,
        ChillingMeans::Blast => 3,
    };
    let (first, last) = (CHILL[0], CHILL[CHILL.len() - 1]);
    let (planned, slow) = if d <= first.0 {
        first.1[column]
    } else if d >= last.0 {
        let grown = (d / last.0).powi(2);
        (last.1[column].0 * grown, last.1[column].1 * grown)
    } else {
        let k = CHILL.iter().rposition(|r| r.0 <= d).unwrap_or(0);
        let (a, b) = (CHILL[k], CHILL[k + 1]);
        let share = (d - a.0) / (b.0 - a.0);
        let between = |x: f64, y: f64| x + (y - x) * share;
        (between(a.1[column].0, b.1[column].0), between(a.1[column].1, b.1[column].1))
    };
    Some((up(planned * 60.0), up(slow * 60.0)))
}

/// Green weight to what is packed, kilograms.
pub fn packed_kg(joint: &Joint) -> f64 {
    let share = match (joint.outcome, joint.bone_in) {
        (Outcome::HamSliced, false) => 0.64,
        (Outcome::HamSliced, true) => 0.55,
        (Outcome::HamWhole, _) => 0.71,
        (Outcome::GammonSteaks, _) => 0.95,
        (Outcome::GammonJoint, _) => 1.01,
    };
    joint.planned_weight().as_kg() * share
}

/// Whole packs from a joint, the odd rest in one more.
pub fn packs(joint: &Joint, cure: &Cure) -> u32 {
    let size = match joint.outcome {
        Outcome::HamSliced => cure.pack_ham.as_kg(),
        Outcome::GammonSteaks => cure.pack_steaks.as_kg(),
        Outcome::HamWhole | Outcome::GammonJoint => return 1,
    };
    (packed_kg(joint) / size.max(0.01)).ceil().clamp(1.0, 1000.0) as u32
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
