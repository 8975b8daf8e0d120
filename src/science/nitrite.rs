//! Nitrite and nitrate: what goes in, by both official ways of reckoning immersion, and what the law and the house allow.
//!
//! "Ingoing" is what is added; "residual" is what an analyst finds later. They are different numbers and different limits.

use super::{Answer, Note, Refused, within};
use crate::units::Mass;
use serde::Serialize;

/// Molar masses from IUPAC atomic masses, g/mol.
pub mod molar {
    pub const NO2: f64 = 46.0055;
    pub const NO3: f64 = 62.0049;
    pub const NANO2: f64 = 68.9953;
    pub const KNO2: f64 = 85.1038;
    pub const NANO3: f64 = 84.9947;
    pub const KNO3: f64 = 101.1032;
}

/// House limit on ingoing sodium nitrite above which nothing is worked out, mg/kg: the US immersion limit (9 CFR 424.21(c)).
pub const REFUSE_OVER: f64 = 200.0;
/// Ingoing sodium nitrite above which a warning is given, mg/kg: the GB limit for meat products (SI 2007/1778).
pub const WARN_OVER: f64 = 150.0;
/// Ingoing sodium nitrite under which it is no hurdle, mg/kg (house limit; US policy asks 120 for chilled cured products).
pub const HURDLE: f64 = 100.0;

/// A bag of curing salt, its strength typed from its label, and the dose wanted.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Bag {
    /// Sodium nitrite in the bag, % by weight.
    pub nitrite_percent: f64,
    /// Nitrate in the bag, % by weight.
    pub nitrate_percent: f64,
    /// Ingoing sodium nitrite wanted, mg per kg of meat and water.
    pub target_mg_per_kg: f64,
}

impl Bag {
    /// Sodium nitrite, as a share of the bag.
    pub fn nitrite_share(&self) -> f64 {
        self.nitrite_percent / 100.0
    }
    /// Salt the bag brings, as a share of it.
    pub fn salt_share(&self) -> f64 {
        (1.0 - (self.nitrite_percent + self.nitrate_percent) / 100.0).max(0.0)
    }
}

/// Curing salt for a target on meat and water: `target · system / strength`.
///
/// # Errors
/// Refuses a target over [`REFUSE_OVER`] and a bag of 10 % nitrite or more, which no kitchen should weigh.
pub fn dose(bag: &Bag, system: Mass) -> Result<Answer<Mass>, Refused> {
    let kg = within("meat and water", system.as_kg(), 0.01, 2000.0, "kg")?;
    let percent = within("nitrite in the bag", bag.nitrite_percent, 0.01, 100.0, "%")?;
    within("nitrate in the bag", bag.nitrate_percent, 0.0, 100.0 - percent, "%")?;
    if percent >= 10.0 {
        return Err(Refused::new(
            format!("a bag of {percent} % sodium nitrite is not curing salt: a gram too much of it is a poison"),
            "use a curing salt of about 5 to 7 %, or nitrited salt of about 0.5 to 0.9 %, and type the strength from its label",
        ));
    }
    let target = within("nitrite target", bag.target_mg_per_kg, 0.0, 1e6, "mg/kg")?;
    if target > REFUSE_OVER {
        return Err(Refused::new(
            format!(
                "{target:.0} mg/kg of sodium nitrite is over the {REFUSE_OVER:.0} mg/kg that no cure here may pass"
            ),
            "110 to 120 mg/kg is usual",
        ));
    }
    let mut a = Answer::new(Mass::kg(target * 1e-6 * kg / bag.nitrite_share()))
        .with(Note::limit("at most 200 mg/kg sodium nitrite ingoing for immersion cures", "9 CFR 424.21(c)", "2026-11"))
        .with(Note::caution("defer to your local rules and your inspector; limits differ by country and product"));
    if target > WARN_OVER {
        a = a.with(Note::flag(format!(
            "{target:.0} mg/kg is over the {WARN_OVER:.0} mg/kg allowed in GB meat products"
        )));
    } else if target < HURDLE {
        a = a.with(Note::flag(format!(
            "{target:.0} mg/kg is under {HURDLE:.0}: treat as a cure without nitrite for its limits"
        )));
    }
    if let Some(n) = unusual_strength(percent) {
        a = a.with(n);
    }
    if bag.nitrate_percent > 0.0 {
        a = a.with(Note::flag("a bag with nitrate is not for ham that will be cooked"));
    }
    Ok(a)
}

/// What to say of a strength that is no usual bag's.
pub fn unusual_strength(percent: f64) -> Option<Note> {
    (!((0.4..=1.0).contains(&percent) || (4.0..=7.0).contains(&percent))).then(|| {
        Note::flag(format!(
            "{percent} % is neither of the usual strengths (0.5 to 0.9 % nitrited salt, 5 to 7 % curing salt): read the label again"
        ))
    })
}

/// Ingoing mg/kg on meat and pickle together.
///
/// Source: USDA FSIS Processing Inspectors' Calculations Handbook (Directive 7620.3, 1995), ch. 3, immersion, Method Two.
/// All masses in the same unit.
pub fn whole_system(nitrite: f64, meat: f64, pickle: f64) -> f64 {
    nitrite * 1e6 / (meat + pickle)
}

/// Ingoing mg/kg by the pickle the meat takes up.
///
/// Source: the same handbook, Method One: `nitrite · pick-up · 10⁶ / pickle`, pick-up as a fraction of the green weight.
pub fn pick_up(nitrite: f64, pickle: f64, pickup: f64) -> f64 {
    nitrite * pickup * 1e6 / pickle
}
