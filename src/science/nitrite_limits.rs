//! Limits on nitrite by country and product class, and what a wrong bag did.
//!
//! The shipped table is `data/nitrite.json`; a person's own is read by the same code.

use super::nitrite::molar;
use super::{Answer, Note, Refused, within};
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// A nitrite or nitrate, for conversion by molar mass.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Species {
    SodiumNitrite,
    PotassiumNitrite,
    NitriteIon,
    SodiumNitrate,
    PotassiumNitrate,
    NitrateIon,
}

impl Species {
    /// g/mol.
    pub const fn molar_mass(self) -> f64 {
        match self {
            Self::SodiumNitrite => molar::NANO2,
            Self::PotassiumNitrite => molar::KNO2,
            Self::NitriteIon => molar::NO2,
            Self::SodiumNitrate => molar::NANO3,
            Self::PotassiumNitrate => molar::KNO3,
            Self::NitrateIon => molar::NO3,
        }
    }

    pub const fn words(self) -> &'static str {
        match self {
            Self::SodiumNitrite => "sodium nitrite",
            Self::PotassiumNitrite => "potassium nitrite",
            Self::NitriteIon => "nitrite ion",
            Self::SodiumNitrate => "sodium nitrate",
            Self::PotassiumNitrate => "potassium nitrate",
            Self::NitrateIon => "nitrate ion",
        }
    }

    const fn is_nitrite(self) -> bool {
        matches!(self, Self::SodiumNitrite | Self::PotassiumNitrite | Self::NitriteIon)
    }
}

/// The same number of ions, as another species: `amount · M(to) / M(from)`. From nitrate to nitrite it is what full
/// reduction would give, which meat seldom reaches.
///
/// Source: IUPAC atomic masses.
pub fn convert(amount: f64, from: Species, to: Species) -> f64 {
    amount * to.molar_mass() / from.molar_mass()
}

/// Whether a limit is on what is added or on what is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Measure {
    Ingoing,
    Residual,
}

/// One line of the table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NitriteLimit {
    pub id: String,
    pub country: String,
    pub class: String,
    pub measure: Measure,
    #[serde(rename = "as")]
    pub species: Species,
    pub mg_per_kg: f64,
    /// True for a least amount, false for a greatest.
    pub at_least: bool,
    /// Whether the class takes in a wet-cured ham or gammon of whole muscle; true when a table does not say.
    #[serde(default = "yes")]
    pub ours: bool,
    pub source: String,
    pub as_of: String,
}

const fn yes() -> bool {
    true
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[allow(dead_code)]
    about: String,
    limits: Vec<NitriteLimit>,
}

/// Reads a table of limits.
///
/// # Errors
/// Says what is wrong with the text.
pub fn read(json: &str) -> Result<Vec<NitriteLimit>, Refused> {
    let file: File = serde_json::from_str(json).map_err(|e| {
        Refused::new(format!("the table of nitrite limits cannot be read: {e}"), "compare it with the shipped one")
    })?;
    for l in &file.limits {
        within(&l.id, l.mg_per_kg, 0.0, 1e5, "mg/kg")?;
    }
    Ok(file.limits)
}

/// The table shipped with the program.
pub fn shipped() -> &'static [NitriteLimit] {
    static TABLE: OnceLock<Vec<NitriteLimit>> = OnceLock::new();
    TABLE.get_or_init(|| read(include_str!("data/nitrite.json")).expect("the shipped nitrite table is valid"))
}

/// Where an ingoing dose stands against one limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Against {
    pub limit: NitriteLimit,
    /// The dose in the limit's own species, mg/kg.
    pub dose: f64,
    /// `None` when the limit is on residue, which a dose does not tell, on the other kind of ion, or on another product.
    pub inside: Option<bool>,
}

/// Sets an ingoing dose of sodium nitrite, mg/kg, against every line of a table.
pub fn judge(table: &[NitriteLimit], sodium_nitrite: f64) -> Vec<Against> {
    table
        .iter()
        .map(|limit| {
            let dose = convert(sodium_nitrite, Species::SodiumNitrite, limit.species);
            let tells = limit.measure == Measure::Ingoing && limit.species.is_nitrite() && limit.ours;
            // A thousandth of slack: factors are rounded, and a dose is weighed no better.
            let inside = if limit.at_least { dose >= limit.mg_per_kg * 0.999 } else { dose <= limit.mg_per_kg * 1.001 };
            Against { limit: limit.clone(), dose, inside: tells.then_some(inside) }
        })
        .collect()
}

/// What a dose does if the bag's strength was ten times misread.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TenFold {
    /// mg/kg if the bag is really ten times weaker than typed.
    pub weaker: f64,
    /// mg/kg if the bag is really ten times stronger than typed.
    pub stronger: f64,
    /// mg/kg if it is pure sodium nitrite.
    pub pure: f64,
}

/// The confusion of 0.6 % with 6 %, for a dose of curing salt on a system of meat and water, both in the same unit.
pub fn ten_fold(dose: f64, system: f64, typed_percent: f64) -> TenFold {
    let as_percent = |p: f64| dose * p.min(100.0) / 100.0 / system * 1e6;
    TenFold {
        weaker: as_percent(typed_percent / 10.0),
        stronger: as_percent(typed_percent * 10.0),
        pure: as_percent(100.0),
    }
}

/// What to do after a wrong weighing or a wrong bag.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Within a quarter over and a quarter under its target.
    AsMeant,
    /// Under: add the balance within 48 hours, or treat as a cure without nitrite.
    Under,
    /// A quarter over or more, or over the hard limit: drain, fresh brine, hold.
    Drain,
    /// Twice its target or more, or unknown: do not eat, quarantine, bin.
    Bin,
}

/// What to do, as told to a person.
const fn words(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::AsMeant => "near enough what was meant",
        Verdict::Under => {
            "under: weigh the balance in if less than 48 h have gone, else treat it as cured without nitrite"
        }
        Verdict::Drain => "over: drain it, make fresh brine, hold the meat and write it down",
        Verdict::Bin => "do not eat it: set it apart, mark it, and bin it",
    }
}

/// As [`after_the_fact`] when no target is known: judged by the hard limit and by what counts as nitrite at all, and by
/// nothing between them.
///
/// # Errors
/// As [`after_the_fact`].
pub fn without_a_target(
    dose_g: f64,
    real_percent: f64,
    system_kg: f64,
) -> Result<Answer<(f64, Option<Verdict>)>, Refused> {
    // The target plays no part in the dose; any will do.
    let (ppm, _) = after_the_fact(dose_g, real_percent, system_kg, super::nitrite::WARN_OVER)?.value;
    let verdict = if ppm > 2.0 * super::nitrite::REFUSE_OVER {
        Some(Verdict::Bin)
    } else if ppm > super::nitrite::REFUSE_OVER {
        Some(Verdict::Drain)
    } else {
        None
    };
    let mut a = Answer::new((ppm, verdict));
    if let Some(v) = verdict {
        a = a.with(Note::flag(words(v)));
    } else if ppm < super::nitrite::HURDLE {
        a = a.with(Note::flag(format!(
            "{ppm:.0} mg/kg is under {:.0}: treat it as a cure without nitrite for its limits",
            super::nitrite::HURDLE
        )));
    }
    Ok(a.with(Note::flag("no target was given, so whether this is what was meant is not judged (--target)"))
        .with(Note::caution("if the strength or the weight is not known for certain, take the worst it can have been")))
}

/// Ingoing dose that a bag of some real strength gave, and what the trade does about it.
///
/// Source: common practice, no source, for the bands; the hard limit from [`super::nitrite`].
///
/// # Errors
/// Refuses masses and strengths that cannot be meant.
pub fn after_the_fact(
    dose_g: f64,
    real_percent: f64,
    system_kg: f64,
    target: f64,
) -> Result<Answer<(f64, Verdict)>, Refused> {
    let g = within("curing salt", dose_g, 0.0, 1e5, "g")?;
    let p = within("strength of the bag", real_percent, 0.0, 100.0, "%")?;
    let kg = within("meat and water", system_kg, 0.01, 2000.0, "kg")?;
    let target = within("target", target, 1.0, 1e4, "mg/kg")?;
    let ppm = g / 1000.0 * p / 100.0 / kg * 1e6;
    let verdict = match ppm / target {
        r if r >= 2.0 || ppm > 2.0 * super::nitrite::REFUSE_OVER => Verdict::Bin,
        r if r >= 1.25 || ppm > super::nitrite::REFUSE_OVER => Verdict::Drain,
        r if r < 0.75 => Verdict::Under,
        _ => Verdict::AsMeant,
    };
    Ok(Answer::new((ppm, verdict))
        .with(Note::flag(words(verdict)))
        .with(Note::assumes("the bands (a quarter over, twice over) are common practice, no source"))
        .with(Note::caution("if the strength or the weight is not known for certain, take the worst it can have been")))
}
