//! Brine for a tub: how much covers the meat, what to weigh, and how to get it cold.

use super::nitrite::{self, Bag};
use super::{Answer, Note, Refused, size, strength, within};
use crate::units::{Length, Mass, Temperature, Volume};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Litres that a kilogram of dissolved sugar takes up (common practice, no source).
const SUGAR_LITRES: f64 = 0.62;

/// On what the salt is worked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Basis {
    /// Salt as a share of meat and water together; it cannot go over its target.
    #[default]
    Equilibrium,
    /// Salt as a share of the water, stronger, pulled by time and often soaked.
    Excess,
}

/// Brine that fills a tub to a depth over the meat in it: `floor · fill − meat / 1.06 − filler`, the floor in cm². Below zero
/// where meat and filler alone come higher than that.
pub fn cover_volume(floor_cm2: f64, fill: Length, meat: Mass, filler: Volume) -> Volume {
    Volume::litres(floor_cm2 * fill.as_cm() / 1000.0 - size::volume(meat).as_litres() - filler.as_litres())
}

/// What goes into the brine, in grams for a kilogram of `basis`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Recipe {
    pub basis: Basis,
    /// Salt, per cent of meat and water (equilibrium) or of the water (excess), the curing salt's own salt included.
    pub salt_percent: f64,
    /// Sugar, per cent, on the same basis.
    pub sugar_percent: f64,
    /// The curing salt and its target; none for a cure without nitrite.
    pub bag: Option<Bag>,
}

/// Smallest step of each scale, grams.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ScaleSteps {
    pub salt_g: f64,
    pub curing_salt_g: f64,
}

impl Default for ScaleSteps {
    fn default() -> Self {
        Self { salt_g: 1.0, curing_salt_g: 0.1 }
    }
}

/// What to weigh for one tub. All masses in kilograms.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WeighOut {
    pub meat: Mass,
    pub water: Mass,
    /// Salt in all, the curing salt's own included.
    pub salt_total: Mass,
    /// Plain salt to weigh: the total less what the curing salt brings.
    pub plain_salt: Mass,
    pub curing_salt: Mass,
    pub sugar: Mass,
    /// Litres of brine that makes at 4 °C.
    pub brine: Volume,
    /// Salt in the brine at the start, % by weight of the brine.
    pub start_percent: f64,
    /// The same on a salometer; `None` past its scale.
    pub salometer: Option<f64>,
    /// Salt over meat and water, %: what the brine works out to, whichever basis it was written on.
    pub salt_on_system: f64,
    /// Ingoing sodium nitrite on meat and water, mg/kg (whole-system method).
    pub nitrite_mg_per_kg: f64,
    /// Brine over meat by weight.
    pub brine_to_meat: f64,
}

/// Weighs out one tub: salt, curing salt with its own salt deducted, sugar. Everything scales with meat and water.
///
/// Source: mass balance; `curing salt = target · (meat + water) / strength`.
///
/// # Errors
/// Refuses masses or percentages that cannot be meant, a bag that would bring more salt than the recipe holds, and a
/// nitrite target over the hard limit (see [`nitrite`]).
pub fn weigh_out(recipe: &Recipe, meat: Mass, water: Mass, scales: ScaleSteps) -> Result<Answer<WeighOut>, Refused> {
    let m = within("meat", meat.as_kg(), 0.1, 500.0, "kg")?;
    let w = within("water", water.as_kg(), 0.05, 1000.0, "kg")?;
    within("salt", recipe.salt_percent, 0.0, 30.0, "%")?;
    within("sugar", recipe.sugar_percent, 0.0, 30.0, "%")?;
    let base = match recipe.basis {
        Basis::Equilibrium => m + w,
        Basis::Excess => w,
    };
    let salt = base * recipe.salt_percent / 100.0;
    let sugar = base * recipe.sugar_percent / 100.0;
    let mut notes = Vec::new();
    let (cure, own_salt, ppm) = match &recipe.bag {
        Some(bag) => {
            let dose = nitrite::dose(bag, Mass::kg(m + w))?;
            notes.extend(dose.notes);
            let own = dose.value.as_kg() * bag.salt_share();
            (dose.value.as_kg(), own, nitrite::whole_system(dose.value.as_kg() * bag.nitrite_share(), m, w))
        }
        None => (0.0, 0.0, 0.0),
    };
    if own_salt > salt {
        return Err(Refused::new(
            format!(
                "the curing salt alone brings {:.0} g of salt, over the {:.0} g the recipe holds",
                own_salt * 1000.0,
                salt * 1000.0
            ),
            "a weak bag is itself the salt: raise the salt, lower the nitrite target, or use a stronger bag",
        ));
    }
    let start_percent = 100.0 * salt / (w + salt + sugar);
    if start_percent > 26.0 {
        return Err(Refused::new(
            format!("that is {start_percent:.0} % salt in the brine, past what cold water dissolves (26 %)"),
            "more water, or less salt",
        ));
    }
    let value = WeighOut {
        meat,
        water,
        salt_total: Mass::kg(salt),
        plain_salt: Mass::kg(salt - own_salt),
        curing_salt: Mass::kg(cure),
        sugar: Mass::kg(sugar),
        brine: volume(w, salt, sugar),
        start_percent,
        salometer: strength::salometer_from_percent(start_percent).ok(),
        salt_on_system: 100.0 * salt / (m + w),
        nitrite_mg_per_kg: ppm,
        brine_to_meat: (w + salt + sugar) / m,
    };
    notes.extend(strength_notes(recipe, &value));
    notes.extend(scale_note("salt", (salt - own_salt) * 1000.0, scales.salt_g));
    notes.extend(scale_note("curing salt", cure * 1000.0, scales.curing_salt_g));
    Ok(Answer::new(value).with_all(notes))
}

/// Flags for a brine that is weak, without nitrite, or out of proportion to its meat.
fn strength_notes(recipe: &Recipe, w: &WeighOut) -> Vec<Note> {
    let mut notes = vec![Note::caution(
        "the curing salt goes in only when the brine is cold; weigh it apart and have a second person check it",
    )];
    if recipe.bag.is_none() {
        notes[0] = Note::caution("no nitrite: grey meat, no cured keeping life, fridge at 4 °C or under only");
    }
    if w.salt_on_system < 2.0 || w.start_percent < 3.0 || recipe.bag.is_none() {
        notes.push(Note::flag(
            "under 2 % salt on meat and water, under 3 % in the brine, or no nitrite: fridge at 4 °C or under, no outhouse",
        ));
    }
    if w.brine_to_meat > 3.0 {
        notes.push(Note::flag("more than three times as much brine as meat: put in a filler"));
    }
    notes
}

/// Says when a scale's step is too coarse for a dose: more than 5 % of it.
fn scale_note(what: &str, grams: f64, step: f64) -> Option<Note> {
    if step.is_nan() || step <= 0.0 || grams <= 0.0 {
        return None;
    }
    let worst = step / 2.0 / grams * 100.0;
    if grams < step {
        Some(Note::flag(format!("a scale of {step} g steps cannot weigh {grams:.2} g of {what}")))
    } else if worst > 2.5 {
        Some(Note::flag(format!(
            "a scale of {step} g steps can be {worst:.0} % out on {grams:.1} g of {what}; use a finer one"
        )))
    } else {
        None
    }
}

/// Litres of brine from kilograms of water, salt and sugar, at 4 °C.
fn volume(water: f64, salt: f64, sugar: f64) -> Volume {
    let percent = 100.0 * salt / (water + salt);
    let rho = strength::density(percent.min(26.4), Temperature::celsius(4.0)).unwrap_or(1000.0) / 1000.0;
    Volume::litres((water + salt) / rho + SUGAR_LITRES * sugar)
}

/// Water to weigh so that the finished brine has this volume, kg.
///
/// # Errors
/// Refuses volumes outside 0.1 to 1,000 L and recipes as [`weigh_out`] does.
pub fn water_for(recipe: &Recipe, meat: Mass, brine: Volume) -> Result<Mass, Refused> {
    let litres = within("brine", brine.as_litres(), 0.1, 1000.0, "L")?;
    let m = within("meat", meat.as_kg(), 0.1, 500.0, "kg")?;
    let over = |w: f64| {
        let base = if recipe.basis == Basis::Equilibrium { m + w } else { w };
        volume(w, base * recipe.salt_percent / 100.0, base * recipe.sugar_percent / 100.0).as_litres() - litres
    };
    super::numeric::bisect(over, 1e-6, litres * 1.01)
        .map(Mass::kg)
        .ok_or_else(|| Refused::new("the salt and sugar alone fill that volume", "more brine, or a weaker recipe"))
}

/// How to get a boiled brine cold: boil in part of the water, put in the rest as ice and cold water.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct IceSplit {
    /// Water to boil with the salt and sugar, kg.
    pub boil: Mass,
    /// Ice, kg.
    pub ice: Mass,
    /// Fridge-cold water, kg.
    pub cold: Mass,
}

/// Splits the water so that boiled brine, ice at 0 °C and fridge-cold water come to `to` together.
///
/// Source: heat balance with the specific heat of water 4.18 kJ/kgK and heat of melting 334 kJ/kg. Heat lost to the room is
/// left out, which errs towards more ice.
///
/// # Errors
/// Refuses targets outside 1 to 10 °C, water outside 0.05 to 1,000 kg, and shares that would need more ice than the rest of the water.
pub fn ice_split(
    water: Mass,
    salt: Mass,
    boil_share: f64,
    fridge: Temperature,
    to: Temperature,
) -> Result<Answer<IceSplit>, Refused> {
    const C: f64 = 4.18;
    const MELT: f64 = 334.0;
    let w = within("water", water.as_kg(), 0.05, 1000.0, "kg")?;
    let share = within("share boiled", boil_share, 0.05, 1.0, "of the water")?;
    let to = within("target", to.as_celsius(), 1.0, 10.0, "°C")?;
    let fridge = within("fridge water", fridge.as_celsius(), 0.0, 25.0, "°C")?;
    let boil = w * share;
    let rest = w - boil;
    // boil·C·(100 − to) + cold·C·(fridge − to) = ice·(MELT + C·to), with cold + ice = rest.
    let ice = (boil * C * (100.0 - to) + rest * C * (fridge - to)) / (MELT + C * to + C * (fridge - to));
    if ice > rest {
        return Err(Refused::new(
            format!(
                "boiling {:.0} % of the water would need {ice:.1} kg of ice, and only {rest:.1} kg of water is left",
                share * 100.0
            ),
            "boil less of the water",
        ));
    }
    let ice = ice.max(0.0);
    let mut a = Answer::new(IceSplit { boil: Mass::kg(boil), ice: Mass::kg(ice), cold: Mass::kg(rest - ice) })
        .with(Note::assumes("ice at 0 °C from drinking water, nothing lost to the room or to steam"))
        .with(Note::caution("probe it: the meat goes in at 5 °C or under, never before"));
    if salt.as_kg() / (salt.as_kg() + boil) > 0.28 {
        a = a.with(Note::flag("so much salt will not dissolve in the water that is boiled: boil more of it"));
    }
    Ok(a)
}
