//! A ruling worked into a kitchen, so that the next plan goes by it.

use super::{Effect, Ruling};
use crate::kitchen::{ExtraCure, Kitchen};
use crate::units::{Elapsed, Mass};
use chrono::TimeDelta;

/// The kitchen after a ruling about the joints named; names it does not have are passed over. What a plan cannot hold (a
/// soak for one joint, a brine renewed, curing salt added) leaves the kitchen as it is: the record has it.
#[must_use]
pub fn apply(kitchen: &Kitchen, joints: &[String], ruling: &Ruling) -> Kitchen {
    let mut k = kitchen.clone();
    for effect in &ruling.effects {
        if *effect == Effect::JointLost {
            k.joints.retain(|j| !joints.contains(&j.name));
            for group in k.batch.together.iter_mut().chain(&mut k.batch.apart) {
                group.retain(|n| !joints.contains(n));
            }
            k.batch.together.retain(|g| g.len() > 1);
            k.batch.apart.retain(|g| g.len() > 1);
            continue;
        }
        for j in k.joints.iter_mut().filter(|j| joints.contains(&j.name)) {
            let mut longer = |hours: f64, why: &str| {
                if hours > 0.0 {
                    j.extra_cure.push(ExtraCure { time: Elapsed::hours(hours), why: why.to_owned() });
                }
            };
            match effect {
                Effect::ExtraCure { hours, why } | Effect::NotCounted { hours, why } => longer(*hours, why),
                Effect::RestartClock { hours: Some(hours), why } => longer(*hours, why),
                Effect::CookAtOnce { why } => j.at_once = Some(why.clone()),
                Effect::Weighed { kg, .. } => {
                    j.weighed = Some(Mass::kg(*kg));
                    // The sizes belonged to the weight on the label; the new one's are reckoned until it is measured.
                    (j.diameter, j.length) = (None, None);
                }
                Effect::ArrivesLater { hours } => {
                    if let Some(a) = &mut j.arrives {
                        a.0 += TimeDelta::minutes((hours * 60.0).round() as i64);
                    }
                }
                _ => {}
            }
        }
    }
    k
}
