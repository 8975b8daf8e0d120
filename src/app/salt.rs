//! When the salt has got so far into a joint that its bar deepens.

use super::time::Min;
use crate::kitchen::{Basis, Kitchen};
use crate::plan::Plan;
use crate::process::fit;
use crate::science::salt::{Story, Tub};
use crate::science::shape::Shape;
use crate::units::{Elapsed, Length, Mass};

/// Shares of the salt a joint will take up in the end at which its bar deepens.
pub const STEPS: [f64; 2] = [0.4, 0.6];

/// The moments at which a joint, put in at `put_in`, has taken up each of [`STEPS`], by diffusion at the middle of what is
/// known of its speed. Nothing when the kitchen does not say how cold it is or how big the load is, or the sum is outside
/// what it is good for.
pub fn deepens(kitchen: &Kitchen, plan: &Plan, joint: usize, put_in: Min) -> Option<[Min; 2]> {
    let name = &plan.joints[joint].name;
    let load = plan.loads.iter().find(|l| l.joints.contains(name))?;
    let of = |n: &String| kitchen.joints.iter().find(|j| j.name == *n);
    let (own, temperature) = (of(name)?, kitchen.kit.cold.iter().find(|c| c.name == load.space)?.temperature?);
    let meat: f64 = load.joints.iter().filter_map(of).map(|j| j.planned_weight().as_kg()).sum();
    // A litre of weak brine holds a kilogram of water within three parts in a hundred: as good as the picture is fine.
    let water = load.brine_litres;
    let on = match kitchen.cure.basis {
        Basis::Equilibrium => meat + water,
        Basis::Excess => water,
    };
    let size = fit::size_of(own);
    let tub = Tub {
        shape: Shape::FiniteCylinder { diameter: Length::cm(size.diameter), length: Length::cm(size.length) },
        meat: Mass::kg(meat),
        water: Mass::kg(water),
        salt: Mass::kg(on * kitchen.cure.salt_percent / 100.0),
        temperature,
    };
    let story = Story::new(tub, Elapsed::days(120.0)).ok()?;
    let at =
        |share: f64| story.uptake_reaches(share)[1].map(|days| put_in + Elapsed::days(days).whole_minutes_up() as Min);
    Some([at(STEPS[0])?, at(STEPS[1])?])
}
