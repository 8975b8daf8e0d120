//! Who shares what: the decisions that shape the task graph before anything is timed.

use super::durations;
use super::fit::{self, Misfit, TubFit};
use crate::kitchen::{Basis, ChillingMeans, Kitchen, Limits, Side};
use crate::schedule::Minute;

/// Joints put into one tub together.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Load {
    /// Index into the kitchen's tubs.
    pub tub: usize,
    /// Indices into the kitchen's joints.
    pub joints: Vec<usize>,
    /// Turns planned through the cure.
    pub turns: u32,
    /// Which load of its tub it is, counted from 1, where that is settled by an earlier plan; else by its place in the list.
    pub nth: Option<u32>,
}

/// Longest good gap between turns in this kitchen, minutes.
pub fn longest_gap(kitchen: &Kitchen) -> Minute {
    let own = kitchen.limits.0.get("turn_gap_max").map(|o| o.value);
    own.unwrap_or_else(|| Limits::shipped().value("turn_gap_max")).clamp(1.0, 1e6) as Minute
}

impl Load {
    /// A load with the turns its slowest joint asks for.
    pub fn new(kitchen: &Kitchen, tub: usize, joints: Vec<usize>) -> Self {
        let stay = joints.iter().map(|j| durations::cure(&kitchen.joints[*j], &kitchen.cure)).max().unwrap_or(0);
        Self { tub, joints, nth: None, turns: durations::turns(stay, &kitchen.cure, longest_gap(kitchen)) }
    }
}

/// Hams simmered in one pot together.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Cook {
    /// Index into the kitchen's pots.
    pub pot: usize,
    /// Index of the chilling means the hams go to.
    pub chilling: usize,
    /// Indices into the kitchen's joints.
    pub joints: Vec<usize>,
}

/// A full set of sharing decisions.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default)]
pub struct Arrangement {
    /// Several loads of one tub follow each other in this order of preference.
    pub loads: Vec<Load>,
    pub cooks: Vec<Cook>,
    /// By tub: the cold space it stands in. Every tub that is used stands somewhere, all at once.
    pub place: Vec<Option<usize>>,
    /// Loads filled from one boil of brine. An empty one keeps the numbers of the others.
    pub boils: Vec<Vec<usize>>,
}

/// Whether joints may share a tub by the house's rules, apart from room: weights, owners' lots, wishes.
pub fn may_share_tub(kitchen: &Kitchen, joints: &[usize], limits: &Limits) -> Result<(), String> {
    let name = |i: &usize| kitchen.joints[*i].name.as_str();
    for group in &kitchen.batch.apart {
        let inside: Vec<&str> = joints.iter().map(name).filter(|n| group.iter().any(|g| g == n)).collect();
        if inside.len() > 1 {
            return Err(format!("{} are to be kept apart", inside.join(" and ")));
        }
    }
    let asked = kitchen.batch.together.iter().any(|g| joints.iter().map(name).all(|n| g.iter().any(|x| x == n)))
        || joints.iter().all(|i| kitchen.joints[*i].tub.is_some());
    let kgs: Vec<f64> = joints.iter().map(|i| kitchen.joints[*i].planned_weight().as_kg()).collect();
    let mean = kgs.iter().sum::<f64>() / kgs.len().max(1) as f64;
    let spread = limits.value("same_tub_weights_percent") / 100.0;
    if !asked && kgs.iter().any(|k| (k - mean).abs() > spread * mean + 1e-9) {
        return Err(limits.get("same_tub_weights_percent").says.clone());
    }
    if kitchen.batch.business {
        let lot = |i: &usize| kitchen.joints[*i].lot.as_ref().map(|l| (&l.supplier, l.killed, &l.tag));
        if joints.windows(2).any(|w| lot(&w[0]) != lot(&w[1])) {
            return Err("a business keeps one lot in a tub".to_owned());
        }
    }
    Ok(())
}

/// Whether a load fits its tub and the house's rules.
pub fn load_fits(kitchen: &Kitchen, tub: usize, joints: &[usize], limits: &Limits) -> Result<TubFit, Misfit> {
    let all: Vec<_> = joints.iter().map(|i| &kitchen.joints[*i]).collect();
    if let Some(j) = all.iter().find(|j| j.tub.as_ref().is_some_and(|t| *t != kitchen.kit.tubs[tub].name)) {
        let says = format!("{} is to go in {}", j.name, j.tub.as_deref().unwrap_or(""));
        return Err(Misfit { says, by: 1.0, unit: "wish" });
    }
    may_share_tub(kitchen, joints, limits).map_err(|says| Misfit { says, by: 1.0, unit: "rule" })?;
    fit::in_tub(&all, &kitchen.kit.tubs[tub], limits)
}

/// Chilling of a set of hams by one means: planned and slow minutes of the slowest, or why it does not do.
pub fn chill_by(
    kitchen: &Kitchen,
    means: usize,
    joints: &[usize],
    limits: &Limits,
) -> Result<(Minute, Minute), Misfit> {
    let m = &kitchen.kit.chilling[means];
    if matches!(m.means, ChillingMeans::Fridge | ChillingMeans::ColdRoom) {
        let space = m.space.as_ref().and_then(|n| kitchen.kit.cold.iter().find(|c| c.name == *n));
        let says = match space {
            None => Some(format!("{} does not say which cold space it uses", m.name)),
            Some(c) if c.side == Side::Raw => Some(format!("{} chills in {}, on the raw side", m.name, c.name)),
            Some(_) => None,
        };
        if let Some(says) = says {
            return Err(Misfit { says, by: 1.0, unit: "rule" });
        }
    }
    if joints.len() > m.hams as usize {
        let by = joints.len() as f64 - f64::from(m.hams);
        return Err(Misfit { says: format!("{} takes {} hams at once", m.name, m.hams), by, unit: "hams" });
    }
    let kg: f64 = joints.iter().map(|i| kitchen.joints[*i].planned_weight().as_kg()).sum();
    if let Some(by) = m.load.map(|l| kg - l.as_kg()).filter(|by| *by > 1e-9) {
        return Err(Misfit { says: format!("{} is {by:.1} kg short for these hams", m.name), by, unit: "kg" });
    }
    let (mut planned, mut slow) = (0, 0);
    for i in joints {
        let j = &kitchen.joints[*i];
        let d = fit::size_of(j).diameter;
        let Some((p, s)) = durations::chill(j, &kitchen.cure, m.means) else {
            let by = d - durations::CHILL_THICKEST;
            let says =
                format!("{} is {d:.1} cm thick, over what the cooling table covers; split it after baking", j.name);
            return Err(Misfit { says, by, unit: "cm" });
        };
        planned = planned.max(p);
        slow = slow.max(s);
    }
    let limit = limits.minutes(chill_limit(kitchen));
    if slow > limit {
        let says = format!(
            "{} takes {:.1} h at the slow end in {}, {:.1} h over the limit; ice, blast, or halve it",
            kitchen.joints[joints[0]].name,
            f64::from(slow) / 60.0,
            m.name,
            f64::from(slow - limit) / 60.0
        );
        return Err(Misfit { says, by: f64::from(slow - limit), unit: "min" });
    }
    Ok((planned, slow))
}

/// The safety limit on cooling that holds in this kitchen: the looser one only with enough salt and nitrite in meat and water.
/// What of a strong brine reaches the meat hangs on time and is not known beforehand, so it never counts as enough.
pub fn chill_limit(kitchen: &Kitchen) -> &'static str {
    let cure = &kitchen.cure;
    let hurdle = |id: &str| kitchen.limits.0.get(id).map_or_else(|| Limits::shipped().value(id), |own| own.value);
    let nitrite = cure.curing_salt.as_ref().map_or(0.0, |c| c.target_mg_per_kg);
    let enough = cure.basis == Basis::Equilibrium
        && cure.salt_percent >= hurdle("salt_hurdle")
        && nitrite >= hurdle("nitrite_hurdle");
    if enough { "chill_cured_limit" } else { "chill_uncured_limit" }
}

/// Whether a cook fits its pot, its oven and its chilling means.
pub fn cook_fits(kitchen: &Kitchen, cook: &Cook, limits: &Limits) -> Result<(), Misfit> {
    let all: Vec<_> = cook.joints.iter().map(|i| &kitchen.joints[*i]).collect();
    if let Some(j) = all.iter().find(|j| j.pot.as_ref().is_some_and(|p| *p != kitchen.kit.pots[cook.pot].name)) {
        let says = format!("{} is to be simmered in {}", j.name, j.pot.as_deref().unwrap_or(""));
        return Err(Misfit { says, by: 1.0, unit: "wish" });
    }
    fit::in_pot(&all, &kitchen.kit.pots[cook.pot])?;
    let Some(oven) = &kitchen.kit.oven else {
        return Err(Misfit { says: "the kitchen has no oven".to_owned(), by: 1.0, unit: "oven" });
    };
    let bakes = cook.joints.len().div_ceil(oven.hams.max(1) as usize);
    if bakes > 2 {
        let says = format!("{} hams need {bakes} bakes; the third would wait over 2 h", cook.joints.len());
        return Err(Misfit { says, by: (bakes - 2) as f64, unit: "bakes" });
    }
    for j in &all {
        let by = fit::size_of(j).diameter + 4.0 - oven.height.as_cm();
        if by > 0.0 {
            return Err(Misfit {
                says: format!("{} with its tin is {by:.1} cm too high for the oven", j.name),
                by,
                unit: "cm",
            });
        }
    }
    chill_by(kitchen, cook.chilling, &cook.joints, limits).map(|_| ())
}

/// Cold spaces in which a tub may stand: raw side, and known to be cold enough.
pub fn curing_spaces(kitchen: &Kitchen, limits: &Limits) -> Vec<usize> {
    let warmest = limits.value("cure_space_celsius");
    (0..kitchen.kit.cold.len())
        .filter(|s| {
            let c = &kitchen.kit.cold[*s];
            c.side == Side::Raw && c.temperature.is_some_and(|t| t.as_celsius() <= warmest)
        })
        .collect()
}

/// Cold spaces in which a cooked ham may wait: cooked side, and known to be cold enough.
pub fn cooked_spaces(kitchen: &Kitchen, limits: &Limits) -> Vec<usize> {
    let warmest = limits.value("cure_space_celsius");
    (0..kitchen.kit.cold.len())
        .filter(|s| {
            let c = &kitchen.kit.cold[*s];
            c.side == Side::Cooked && c.temperature.is_some_and(|t| t.as_celsius() <= warmest)
        })
        .collect()
}

/// Index of the fridge or room whose air a space shares; spaces that name none stand alone.
pub fn air_of(kitchen: &Kitchen, space: usize) -> usize {
    match &kitchen.kit.cold[space].fridge {
        Some(f) => kitchen.kit.cold.iter().position(|c| c.fridge.as_ref() == Some(f)).unwrap_or(space),
        None => space,
    }
}

/// Whether a chilling means blows its heat into a cold space, and which air that is.
pub fn chilling_air(kitchen: &Kitchen, means: usize) -> Option<usize> {
    let m = &kitchen.kit.chilling[means];
    if !matches!(m.means, ChillingMeans::Fridge | ChillingMeans::ColdRoom) {
        return None;
    }
    let name = m.space.as_ref()?;
    kitchen.kit.cold.iter().position(|c| c.name == *name).map(|s| air_of(kitchen, s))
}
