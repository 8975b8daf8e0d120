//! Does another one fit: free room on a shelf, and which tub would take one more joint.

use chrono::TimeDelta;
use serde::Serialize;

use super::facts::{Facts, list, when};
use crate::kitchen::{ColdSpace, Joint, Limits, Outcome, Tub};
use crate::plan::When;
use crate::process::arrangement::load_fits;
use crate::process::durations;
use crate::process::fit::{self, rectangles_fit};
use crate::units::Mass;

/// A rectangle on a shelf, cm.
pub type Floor = (f64, f64);

/// Whether a tub could be set down on a shelf beside what stands there: by height, litres and floor.
///
/// # Errors
/// The measure that binds, in words.
pub fn tub_on_shelf(tub: &Tub, space: &ColdSpace, there: &[Floor], litres_there: f64) -> Result<(), String> {
    fit::in_space(&[tub], space).map_err(|m| m.says)?;
    let litres = litres_there + fit::tub_litres(tub) - fit::space_litres(space);
    if litres > 1e-6 {
        return Err(format!("{} is {litres:.0} L short", space.name));
    }
    let mut floors = there.to_vec();
    floors.push(fit::tub_floor(tub));
    match rectangles_fit(&floors, space.width.as_cm(), space.depth.as_cm()) {
        true => Ok(()),
        false => Err(format!("no floor left in {}", space.name)),
    }
}

/// Whether one more joint would go into a tub.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Verdict {
    pub tub: String,
    pub fits: bool,
    /// Why not, or what comes with it.
    pub says: String,
}

/// What is known of a tub at a moment.
pub struct Standing {
    /// The joints in it; nothing when it is empty.
    pub mates: Option<Vec<String>>,
    /// The cold places it could be set down in now and stay, when it is empty.
    pub places: Vec<String>,
    /// Needed again from, when it is empty.
    pub needed: Option<When>,
}

/// One more joint of a weight, boneless and rolled, tried in every tub at a moment. An empty tub takes it where a place cold
/// enough to cure in has room for the tub, until the joint has had its days.
pub fn another(facts: &Facts, kg: Mass, at: When, stands: impl Fn(&Tub, When) -> Standing) -> Vec<Verdict> {
    let mut kitchen = facts.kitchen.clone();
    kitchen.joints.push(Joint::new("the new joint", kg, Outcome::HamSliced));
    let new = kitchen.joints.len() - 1;
    let limits = Limits::with(&kitchen.limits);
    let cured = at + TimeDelta::minutes(i64::from(durations::cure(&kitchen.joints[new], &kitchen.cure)));
    let tubs = kitchen.kit.tubs.iter().enumerate();
    tubs.map(|(t, tub)| {
        let Standing { mates, places, needed } = stands(tub, cured);
        let empty = mates.is_none();
        let mates = mates.unwrap_or_default();
        let mut joints: Vec<usize> =
            kitchen.joints.iter().enumerate().filter(|j| mates.contains(&j.1.name)).map(|j| j.0).collect();
        joints.push(new);
        let (fits, says) = match load_fits(&kitchen, t, &joints, &limits) {
            Ok(_) if empty && places.is_empty() => {
                (false, "the joint fits it, but no place cold enough to cure in has room for the tub until it is cured".to_owned())
            }
            Ok(_) if empty && needed.is_some_and(|n| n < cured) => {
                let needed = needed.map_or_else(String::new, |n| when(&n));
                (false, format!("the tub is needed again {needed}, before such a joint is cured, {}", when(&cured)))
            }
            Ok(f) if empty => (true, format!("{:.1} L of brine, {:.1} cm deep; stands in {}", f.brine, f.fill, list(&places))),
            Ok(f) if mates.is_empty() => (true, format!("{:.1} L of brine, {:.1} cm deep", f.brine, f.fill)),
            Ok(f) => (
                true,
                format!(
                    "beside {}: brine to {:.1} cm, weighed again for all the meat; its own clock starts when it goes in",
                    list(&mates),
                    f.fill
                ),
            ),
            Err(m) => (false, m.says),
        };
        Verdict { tub: tub.name.clone(), fits, says }
    })
    .collect()
}
