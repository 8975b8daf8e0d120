//! Salt on its way to the core of a joint, from diffusion.
//!
//! The model: salt spreads through the water of meat and brine alike until both are equally strong. The joint is a finite
//! cylinder, the brine well stirred (which is what turning is for). It holds no pumping, no seams, no fat and no bone, and
//! the diffusivity was measured on slices of loin: a real joint may run some way to either side, and nitrite moves far
//! slower than salt (see [`NITRITE`]).

use super::bath::Stirred;
use super::shape::{Held, Shape};
use super::{Note, Refused, numeric, within};
use crate::units::{Elapsed, Mass, Temperature};
use serde::Serialize;

/// Water in lean pork, by weight.
pub const MEAT_WATER: f64 = 0.72;

/// Salt in pork at 5 °C, m²/s, with its stated spread.
///
/// Source: "Influence of Brine Concentration on Moisture and NaCl Transport During Meat Salting" (Springer 2015, ch. 47),
/// abstract: 1.90 ± 0.28 × 10⁻¹⁰, loin slices, brines of 50 to 280 kg/m³.
pub const SALT_AT_5: (f64, f64) = (1.90e-10, 0.28e-10);

/// Nitrite in pork, m²/s at 2 and at 12 °C.
///
/// Source: J. Food Eng. 149 (2015) 188–194; that the low figure belongs to 2 °C is inferred, and the
/// activation energy printed beside them (60 kJ/mol) does not fit them: good for the order of size only.
pub const NITRITE: [(f64, f64); 2] = [(2.0, 1.02e-12), (12.0, 4.58e-12)];

/// Activation energy for salt in meat, J/mol, and how far it may be out: from memory, no source checked. Water itself gives
/// about 18,000.
const ACTIVATION: (f64, f64) = (22_000.0, 8_000.0);

/// A figure with its low and high end.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Band {
    pub low: f64,
    pub middle: f64,
    pub high: f64,
}

/// Diffusivity of salt in pork, m²/s, at 0 to 12 °C: measured at 5 °C and moved by Arrhenius' rule, the spread widening away
/// from 5 °C.
///
/// # Errors
/// Refuses temperatures outside 0 to 12 °C.
pub fn diffusivity(at: Temperature) -> Result<Band, Refused> {
    let t = within("brine temperature", at.as_celsius(), 0.0, 12.0, "°C")?;
    let inverse = (1.0 / 278.15 - 1.0 / (t + 273.15)) / 8.314_46;
    let middle = SALT_AT_5.0 * (ACTIVATION.0 * inverse).exp();
    let spread = ((SALT_AT_5.1 / SALT_AT_5.0).powi(2) + (ACTIVATION.1 * inverse).powi(2)).sqrt();
    Ok(Band { low: middle * (1.0 - spread), middle, high: middle * (1.0 + spread) })
}

/// A joint in its brine.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Tub {
    /// The joint's shape and size.
    pub shape: Shape,
    /// All the meat in the tub, kg.
    pub meat: Mass,
    /// Water in the brine at the start, kg.
    pub water: Mass,
    /// Salt in the brine at the start, kg, the curing salt's own included.
    pub salt: Mass,
    /// Of the brine.
    pub temperature: Temperature,
}

impl Tub {
    /// Water in the brine over water in the meat.
    pub fn alpha(&self) -> f64 {
        self.water.as_kg() / (MEAT_WATER * self.meat.as_kg())
    }

    /// Salt in the meat in the end, % of the meat with its salt: the salt spread over all the water there is.
    pub fn final_percent(&self) -> f64 {
        percent_in_meat(self.salt.as_kg() / (self.water.as_kg() + MEAT_WATER * self.meat.as_kg()))
    }

    fn checked(&self) -> Result<(), Refused> {
        within("meat", self.meat.as_kg(), 0.1, 500.0, "kg")?;
        within("water", self.water.as_kg(), 0.05, 1000.0, "kg")?;
        within("salt", self.salt.as_kg(), 0.0, 0.36 * self.water.as_kg(), "kg")?;
        Ok(())
    }
}

/// % salt in meat with its salt, from kilograms of salt a kilogram of water.
fn percent_in_meat(per_water: f64) -> f64 {
    let salt = per_water * MEAT_WATER;
    100.0 * salt / (1.0 + salt)
}

/// How far the salt has got.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reached {
    /// Days in the brine.
    pub days: f64,
    /// Salt taken up over what will be in the end.
    pub uptake: Band,
    /// Salt at the core over what will be there in the end.
    pub core: Band,
    /// Salt on average, % of the meat with its salt.
    pub mean_percent: Band,
    /// Salt at the core, % of the meat with its salt.
    pub core_percent: Band,
    /// Salt left in the brine's water, %.
    pub brine_percent: f64,
}

/// A joint's salt over time at the low end, the middle and the high end of the diffusivity.
///
/// Diffusion knows only the product of diffusivity and time, so one run serves all three, read at its own pace.
#[derive(Debug, Clone)]
pub struct Story {
    tub: Tub,
    run: Stirred,
    /// Diffusivity over the middle one: low, middle, high.
    pace: [f64; 3],
    horizon: Elapsed,
}

impl Story {
    /// Reckons a tub up to a horizon of at most 200 days.
    ///
    /// # Errors
    /// Refuses quantities outside what the formulas are good for.
    pub fn new(tub: Tub, horizon: Elapsed) -> Result<Self, Refused> {
        tub.checked()?;
        within("days", horizon.as_days(), 0.001, 200.0, "d")?;
        let d = diffusivity(tub.temperature)?;
        let pace = [d.low / d.middle, 1.0, d.high / d.middle];
        let end = Elapsed::minutes(horizon.as_minutes() * pace[2]);
        Ok(Self { tub, run: Stirred::new(Held::new(tub.shape, d.middle)?, tub.alpha(), end), pace, horizon })
    }

    fn band(&self, t: Elapsed, f: impl Fn(Elapsed) -> f64) -> Band {
        let at = |pace: f64| f(Elapsed::minutes(t.as_minutes() * pace));
        Band { low: at(self.pace[0]), middle: at(self.pace[1]), high: at(self.pace[2]) }
    }

    fn percent(&self, share: Band) -> Band {
        let end = self.tub.salt.as_kg() / (self.tub.water.as_kg() + MEAT_WATER * self.tub.meat.as_kg());
        let p = |x: f64| percent_in_meat(end * x);
        Band { low: p(share.low), middle: p(share.middle), high: p(share.high) }
    }

    /// How far the salt is at a time up to the horizon.
    pub fn at(&self, t: Elapsed) -> Reached {
        let t = Elapsed::minutes(t.as_minutes().clamp(0.0, self.horizon.as_minutes()));
        let uptake = self.band(t, |t| self.run.uptake(t));
        let core = self.band(t, |t| self.run.core(t));
        Reached {
            days: t.as_days(),
            uptake,
            core,
            mean_percent: self.percent(uptake),
            core_percent: self.percent(core),
            brine_percent: 100.0 * self.tub.salt.as_kg() / self.tub.water.as_kg() * self.run.brine(t),
        }
    }

    /// Salt from the core (first) to the surface (last), % of the meat with its salt, at `points` even places (2 to 200).
    pub fn profile(&self, t: Elapsed, points: usize) -> Vec<(f64, Band)> {
        let t = t.as_minutes().clamp(0.0, self.horizon.as_minutes());
        let runs = self.pace.map(|pace| self.run.profile(Elapsed::minutes(t * pace)));
        let terms = runs.iter().map(|r| r.terms()).max().unwrap_or(0);
        let n = points.clamp(2, 200);
        (0..n)
            .map(|i| {
                let xi = i as f64 / (n - 1) as f64;
                let waves = runs[0].waves(xi, terms);
                let [low, middle, high] = [0, 1, 2].map(|k: usize| runs[k].at(xi, &waves));
                (xi, self.percent(Band { low, middle, high }))
            })
            .collect()
    }

    /// The days on which `f` of the run comes up to a share, soonest first; `None` when that is past the horizon.
    fn reaches(&self, share: f64, f: impl Fn(Elapsed) -> f64) -> [Option<f64>; 3] {
        let most = self.horizon.as_days() * self.pace[2];
        let run_day = numeric::bisect_to(|d| f(Elapsed::days(d)) - share, 0.0, most, 1e-4);
        let day = |pace: f64| run_day.map(|d| d / pace).filter(|d| *d <= self.horizon.as_days());
        [day(self.pace[2]), day(self.pace[1]), day(self.pace[0])]
    }

    /// The day on which the joint has taken up a share of what it will: soonest, middle, latest.
    pub fn uptake_reaches(&self, share: f64) -> [Option<f64>; 3] {
        self.reaches(share, |t| self.run.uptake(t))
    }
}

/// What an uptake (over the final one) on the day of lifting says of the rule that set the day: short under 75 %, generous
/// over 95 % (judgement).
pub fn rule_against(uptake: f64) -> Option<Note> {
    if uptake < 0.75 {
        Some(Note::flag(format!(
            "by diffusion about {:.0} % of the final salt is in on the day of lifting: the rule is short for that size and shape; a longer rest evens it out but adds none",
            100.0 * uptake
        )))
    } else if uptake > 0.95 {
        Some(Note::flag(
            "by diffusion the joint is all but balanced by then: the rule is generous for that size and shape",
        ))
    } else {
        None
    }
}

/// What must be said with every answer about salt.
pub fn notes(tub: Tub) -> Vec<Note> {
    let mut notes = vec![
        Note::assumes(
            "salt spreads through the water of meat and brine alike, 72 % of the meat being water; the meat neither gains nor loses water",
        ),
        Note::assumes("the brine is stirred at every turn; left still, the surface starves and it takes longer"),
        Note::assumes("a bare cylinder of lean meat: bone, rind and fat slow it, seams and pumping hurry it"),
        Note::limit(
            "1.90 ± 0.28 × 10⁻¹⁰ m²/s for salt in pork at 5 °C",
            "Springer 2015, Water Stress in Biological, Chemical, Pharmaceutical and Food Systems, ch. 47 (abstract)",
            "2026-11",
        ),
        Note::caution(
            "this is an estimate, not a measurement; nitrite moves some forty to two hundred times slower than salt, so never count on it at the core: cook every joint through",
        ),
    ];
    if (tub.temperature.as_celsius() - 5.0).abs() > 0.5 {
        notes.push(Note::flag(
            "moved from 5 °C with an activation energy from memory (22 ± 8 kJ/mol); the band widens with it",
        ));
    }
    let strength = 1000.0 * tub.salt.as_kg() / tub.water.as_kg();
    if !(45.0..=320.0).contains(&strength) {
        notes.push(Note::flag(format!(
            "the diffusivity was measured in brines of 50 to 280 kg/m³; this one starts near {strength:.0}"
        )));
    }
    if strength > 200.0 {
        notes.push(Note::flag("a brine over about 200 kg/m³ draws water from the meat, which the model leaves out"));
    }
    notes
}
