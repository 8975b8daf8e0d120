//! How far the salt has got into a joint: by which its bar deepens, and what the detail pane shows.

use super::time::{Min, minute};
use super::views::filled;
use crate::kitchen::Kitchen;
use crate::plan::Plan;
use crate::process::bridge;
use crate::science::Refused;
use crate::science::brine::{water_for, weigh_out};
use crate::science::salt::{Reached, Story, Tub};
use crate::units::{Elapsed, Mass, Volume};

/// Shares of the salt a joint will take up in the end at which its bar deepens.
pub const STEPS: [f64; 2] = [0.4, 0.6];

/// Moments reckoned for a curve.
const SAMPLES: i64 = 60;

/// A joint's salt by diffusion, from the moment it is put in to its lift or the rule's day, whichever is later.
#[derive(Debug, Clone)]
pub struct Salt {
    pub put_in: Min,
    pub lift: Min,
    /// When the days of the rule are up.
    pub rule: Min,
    /// The model sees no bone.
    pub bone_in: bool,
    story: Story,
}

impl Salt {
    /// The tub's brine is weighed out as for `turnday brine`, and is as cold as the space the tub stands in.
    ///
    /// # Errors
    /// In a line, why the sum cannot be done: no thermometer, or sizes and quantities outside what it is good for.
    pub fn new(kitchen: &Kitchen, plan: &Plan, joint: usize) -> Result<Self, String> {
        let told = &plan.joints[joint];
        let load = plan.loads.iter().find(|l| l.joints.contains(&told.name)).ok_or("the plan has no tub for it")?;
        let of = |n: &String| kitchen.joints.iter().find(|j| j.name == *n);
        let own = of(&told.name).ok_or("the kitchen file has no such joint")?;
        let temperature = kitchen
            .kit
            .cold
            .iter()
            .find(|c| c.name == load.space)
            .and_then(|c| c.temperature)
            .ok_or_else(|| format!("nobody says how cold {} is", load.space))?;
        let meat = Mass::kg(load.joints.iter().filter_map(of).map(|j| j.planned_weight().as_kg()).sum());
        let recipe = bridge::recipe(&kitchen.cure);
        let (put_in, lift, rule) = (minute(told.put_in), minute(told.lift), minute(told.cured));
        if lift < put_in {
            return Err("the plan lifts it before it is put in".into());
        }
        let reckoned = || {
            // Of meat that has outgrown its tub nobody knows how much brine it has.
            filled(kitchen, load)?;
            let water = water_for(&recipe, meat, Volume::litres(load.brine_litres))?;
            let salt = weigh_out(&recipe, meat, water, bridge::scales(kitchen))?.value.salt_total;
            let tub = Tub { shape: bridge::size(own).into(), meat, water, salt, temperature };
            Story::new(tub, Elapsed::minutes((lift.max(rule) - put_in).max(1) as f64))
        };
        let story = reckoned().map_err(|r: Refused| r.why)?;
        Ok(Self { put_in, lift, rule, bone_in: own.bone_in, story })
    }

    /// How far it is at a moment; before it is put in as at the start, after the lift as on lifting.
    pub fn at(&self, at: Min) -> Reached {
        self.story.at(Elapsed::minutes((at.min(self.lift) - self.put_in) as f64))
    }

    /// From putting in to lifting.
    pub fn curve(&self) -> Vec<(Min, Reached)> {
        let stay = (self.lift - self.put_in).max(1);
        // Closer together at first, when it goes fast.
        let moment = |i: i64| self.put_in + stay * i * i / (SAMPLES * SAMPLES);
        (0..=SAMPLES).map(|i| (moment(i), self.at(moment(i)))).collect()
    }

    /// The moments at which the joint has taken up each of [`STEPS`], by the middle of what is known of the speed; one it
    /// does not come to is put off to the end.
    pub fn deepens(&self) -> [Min; 2] {
        STEPS.map(|share| match self.story.uptake_reaches(share)[1] {
            Some(days) => self.put_in + Min::from(Elapsed::days(days).whole_minutes_up()),
            None => self.lift.max(self.rule),
        })
    }
}
