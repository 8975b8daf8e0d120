//! One joint from delivery to the freezer: dates, limits with what slack they leave, salt and heat by sum, readings, lot.

mod page;

use chrono::TimeDelta;
use serde::Serialize;

use super::cooling::{self, Core};
use super::facts::{Asked, Facts, Job, list};
use super::home;
use crate::app::record::{Noted, Tasted};
use crate::app::time;
use crate::kitchen::quantities::size;
use crate::kitchen::stay::by_salt;
use crate::kitchen::{Cure, Limits, Lot};
use crate::plan::{Because, Kind, When};
use crate::process::{durations, fit};
use crate::science::cure::THICK;
use crate::science::salt::Band;

/// A step of its way, and the limits that tie it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Step {
    #[serde(flatten)]
    pub job: Job,
    pub limits: Vec<Because>,
}

/// How long it can stay in the brine.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stay {
    pub put_in: When,
    /// The days asked for, what they are made of, and when they are up.
    pub days: f64,
    pub rule: String,
    pub cured: When,
    /// Best lifted by; and the limit.
    pub good_until: When,
    pub limit: When,
    pub limit_says: String,
    /// As planned, or as it happened.
    pub lift: When,
    /// Over the days asked for, per cent.
    pub over_percent: f64,
}

/// The salt by diffusion at a moment.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SaltAt {
    pub at: When,
    /// Share of what it will take up in the end, and share at the core.
    pub uptake: Band,
    pub core: Band,
    pub mean_percent: Band,
}

/// The heat of its cook day by conduction.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HeatOf {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hot: Option<When>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cold: Option<When>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cold_slow: Option<When>,
    pub limit: When,
}

/// A joint's story.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Joint {
    pub name: String,
    pub cut: String,
    pub owner: String,
    pub outcome: String,
    /// Expected, and on the kitchen's own scale, kg.
    pub expected_kg: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub weighed_kg: Option<f64>,
    /// Diameter and length, cm, and whether measured.
    pub size_cm: (f64, f64),
    pub measured: bool,
    pub bone_in: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lot: Option<Lot>,
    pub tub: String,
    pub mates: Vec<String>,
    pub space: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub arrives: Option<When>,
    /// Whether the plan chose that moment, and the last one that still keeps every date, in words.
    pub collect: bool,
    pub last_collect: String,
    /// When it was collected, and at how many °C, as written down.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub collected: Option<(When, Option<f64>)>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stay: Option<Stay>,
    pub steps: Vec<Step>,
    pub ready: When,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ready_by: Option<When>,
    /// Salt now and on lifting; or why it is not reckoned.
    pub salt: Vec<SaltAt>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub salt_refused: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub heat: Option<HeatOf>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub heat_refused: Option<String>,
    pub readings: Vec<Core>,
    pub notes: Vec<Noted>,
    pub tastes: Vec<Tasted>,
    /// Whether the plan says how far its tasks can move.
    pub slack_known: bool,
    /// The others, for going from one to the next.
    pub all: Vec<String>,
    #[serde(skip)]
    now: i64,
}

impl Joint {
    /// # Errors
    /// When no joint of the plan has the name asked for.
    pub fn new(facts: &Facts, asked: &Asked) -> Result<Self, String> {
        let all: Vec<String> = facts.plan.joints.iter().map(|j| j.name.clone()).collect();
        let found = match &asked.of {
            Some(name) => facts.plan.joints.iter().position(|j| j.name.eq_ignore_ascii_case(name)),
            None if all.is_empty() => None,
            // The one that has something to do next.
            None => {
                let next = facts.next().and_then(|t| t.joints.first());
                Some(next.and_then(|n| all.iter().position(|a| a == n)).unwrap_or(0))
            }
        };
        let Some(j) = found else {
            let wanted = asked.of.as_deref().unwrap_or("");
            return Err(match all.is_empty() {
                true => "the plan has no joints".to_owned(),
                false => format!("no joint is called \"{wanted}\"; there are {}", list(&all)),
            });
        };
        let story = &facts.plan.joints[j];
        let own = facts.joint(&story.name).ok_or_else(|| format!("{} is not in the kitchen file", story.name))?;
        let load = facts.plan.loads.iter().find(|l| l.joints.contains(&story.name));
        let size = fit::size_of(own);
        let record = facts.record;
        let comes = home::comes(facts, &story.name);
        let got = record.and_then(|r| r.collected.iter().rev().find(|c| c.joint == story.name));
        let steps: Vec<Step> = facts
            .plan
            .tasks
            .iter()
            .filter(|t| t.joints.contains(&story.name))
            .map(|t| Step { job: facts.job(t), limits: t.because.clone() })
            .collect();
        let (salt, salt_refused) = salt(facts, j);
        let (heat, heat_refused) = if own.outcome.is_ham() { heat(facts, j) } else { (None, None) };
        let weighed = record.and_then(|r| r.weights.iter().rev().find(|w| w.joint == story.name));
        let far = TimeDelta::days(4000);
        let now = facts.at(facts.now);
        let about = |n: &&Noted| n.about == story.name || steps.iter().any(|s| s.job.id == n.about);
        Ok(Self {
            name: story.name.clone(),
            cut: own.cut.clone(),
            owner: own.owner.clone(),
            outcome: story.outcome.clone(),
            expected_kg: own.weight.as_kg(),
            weighed_kg: weighed.map(|w| w.grams / 1000.0).or(own.weighed.map(crate::units::Mass::as_kg)),
            size_cm: (size.diameter, size.length),
            measured: size.measured,
            bone_in: own.bone_in,
            lot: own.lot.clone(),
            tub: story.tub.clone(),
            mates: load.map_or_else(Vec::new, |l| l.joints.iter().filter(|n| **n != story.name).cloned().collect()),
            space: load.map_or_else(String::new, |l| l.space.clone()),
            arrives: comes.map(|c| c.0),
            collect: comes.is_some_and(|c| c.1),
            last_collect: home::last_collect(facts),
            collected: got.map(|c| (facts.at(c.when), c.celsius)),
            stay: stay(facts, j),
            ready: story.ready,
            ready_by: story.ready_by,
            salt,
            salt_refused,
            heat,
            heat_refused,
            readings: cooling::core(facts, &story.name, now - far, now + far),
            notes: record.map_or_else(Vec::new, |r| r.notes.iter().filter(about).cloned().collect()),
            tastes: record
                .map_or_else(Vec::new, |r| r.tastes.iter().filter(|t| t.joint == story.name).cloned().collect()),
            slack_known: facts.slack_known(),
            all,
            now: time::minute_utc(facts.now),
            steps,
        })
    }
}

/// In the brine from when to when, as it happened or is planned, and when its days are up.
pub struct InBrine {
    pub put_in: When,
    pub lift: When,
    pub cured: When,
    /// Days asked for, minutes.
    pub need: i32,
    /// Of them for what happened, by the rulings on record.
    pub longer: i32,
}

/// The stay of a joint by its place in the plan; `None` when the kitchen has no such joint.
pub fn in_brine(facts: &Facts, j: usize) -> Option<InBrine> {
    let story = &facts.plan.joints[j];
    let own = facts.joint(&story.name)?;
    let find = |kind| facts.plan.tasks.iter().find(|t| t.kind == kind && t.joints.contains(&story.name));
    let done = |kind| find(kind).and_then(|t| facts.happened(&t.id)?.finished).map(|at| facts.at(at));
    // What happened counts before what was planned.
    let put_in = done(Kind::Submerge).unwrap_or(story.put_in);
    let lift = done(Kind::Rinse).unwrap_or(story.lift);
    let longer = facts.record.and_then(|r| r.longer.get(&story.name)).copied().unwrap_or(0);
    let need = durations::cure(own, &facts.kitchen.cure) + longer;
    Some(InBrine { put_in, lift, cured: put_in + TimeDelta::minutes(i64::from(need)), need, longer })
}

fn stay(facts: &Facts, j: usize) -> Option<Stay> {
    let own = facts.joint(&facts.plan.joints[j].name)?;
    let limits = Limits::with(&facts.kitchen.limits);
    let InBrine { put_in, lift, cured, need, longer } = in_brine(facts, j)?;
    let good = durations::cure_longest_good(need, &facts.kitchen.cure, &limits);
    let longest = limits.get("brine_longest");
    let after = |m: i32| put_in + TimeDelta::minutes(i64::from(m));
    let stayed = (lift - put_in).num_minutes() as f64;
    Some(Stay {
        put_in,
        days: f64::from(need) / 1440.0,
        rule: rule(own, &facts.kitchen.cure, longer),
        cured,
        good_until: after(good.min(longest.value as i32)),
        limit: after(longest.value as i32),
        limit_says: longest.says.clone(),
        lift,
        over_percent: (stayed / f64::from(need.max(1)) - 1.0) * 100.0,
    })
}

/// What the days in the brine are made of: `6 a kilo and 10 % for the bone`.
fn rule(own: &crate::kitchen::Joint, cure: &Cure, longer: i32) -> String {
    let by_weight = if cure.days_per_kg * own.planned_weight().as_kg() < cure.fewest_days {
        format!("{} at the least", cure.fewest_days)
    } else {
        format!("{} a kilo", cure.days_per_kg)
    };
    let days = match (by_salt(own, cure), own.bone_in) {
        (true, _) => "by the salt sum".to_owned(),
        (false, true) => format!("{by_weight} and {} % for the bone", cure.bone_extra_percent),
        (false, false) if size(own).diameter > THICK => {
            format!("{by_weight} and {} % as it is over {:.0} cm thick", cure.bone_extra_percent, THICK.as_cm())
        }
        (false, false) => by_weight,
    };
    let given = own.extra().as_minutes() + f64::from(longer);
    let given =
        if given > 0.0 { format!(", {} more for what happened", time::how_long(given as i64)) } else { String::new() };
    format!("{days}{given}")
}

fn salt(facts: &Facts, j: usize) -> (Vec<SaltAt>, Option<String>) {
    match facts.salt(j) {
        Err(why) => (Vec::new(), Some(why)),
        Ok(salt) => {
            let now = time::minute_utc(facts.now);
            let mut moments = vec![now.clamp(salt.put_in, salt.lift), salt.lift];
            if now <= salt.put_in {
                moments.remove(0);
            }
            moments.dedup();
            let at = |m: i64| {
                let r = salt.at(m);
                let at = facts.at(time::instant(m));
                SaltAt { at, uptake: r.uptake, core: r.core, mean_percent: r.mean_percent }
            };
            (moments.into_iter().map(at).collect(), None)
        }
    }
}

fn heat(facts: &Facts, j: usize) -> (Option<HeatOf>, Option<String>) {
    match facts.heat(j) {
        Err(why) => (None, Some(why)),
        Ok(h) => {
            let at = |m: i64| facts.at(time::instant(m));
            let of =
                HeatOf { hot: h.hot.map(at), cold: h.cold.map(at), cold_slow: h.cold_slow.map(at), limit: at(h.limit) };
            (Some(of), None)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::rule;
    use crate::kitchen::{Basis, Cure, Joint, Outcome, Times};
    use crate::units::Mass;

    #[test]
    fn days_are_put_down_to_what_they_come_from() {
        let mut joint = Joint::new("J1", Mass::kg(2.6), Outcome::HamSliced);
        let mut cure = Cure::default();
        assert_eq!(rule(&joint, &cure, 0), "6 a kilo");
        cure.times = Times::Physics;
        assert_eq!(rule(&joint, &cure, 0), "by the salt sum");
        // A strong brine is pulled by time whatever the kitchen's times come from.
        (cure.basis, cure.salt_percent) = (Basis::Excess, 15.0);
        assert_eq!(rule(&joint, &cure, 0), "6 a kilo");
        joint.bone_in = true;
        assert_eq!(rule(&joint, &cure, 0), "6 a kilo and 10 % for the bone");
    }
}
