//! How long it keeps: chilled lives are safety dates, frozen lives are quality dates, and the two are never mixed.

use super::{Answer, Note, Refused, within};
use crate::units::Temperature;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kept {
    FreshPork,
    GammonRaw,
    HamWhole,
    HamSliced,
    Thawed,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Pack {
    Loose,
    Vacuum,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Store {
    Chilled,
    Frozen,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DateKind {
    /// A use-by date.
    Safety,
    /// A best-before date.
    Quality,
}

/// One line of `data/keeping.json`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Life {
    pub product: Kept,
    pub pack: Pack,
    pub store: Store,
    pub kind: DateKind,
    /// Fewest and most.
    pub days: (u32, u32),
    pub says: String,
    pub source: String,
    pub as_of: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[allow(dead_code)]
    about: String,
    lives: Vec<Life>,
}

/// The table shipped with the program.
pub fn lives() -> &'static [Life] {
    static LIVES: OnceLock<Vec<Life>> = OnceLock::new();
    LIVES.get_or_init(|| {
        let file: File =
            serde_json::from_str(include_str!("data/keeping.json")).expect("the shipped keeping table is valid");
        file.lives
    })
}

/// The warmth that the law allows and good practice does not.
pub fn warm(at: Temperature) -> Option<Note> {
    (at.as_celsius() > 5.0)
        .then(|| Note::flag("over 5 °C: allowed to 8 °C by law in the UK, but take the shorter life and get it colder"))
}

/// Whether a temperature is chilled (−2 to 8 °C) or frozen (−18 °C and under).
///
/// # Errors
/// Refuses temperatures between those two and above 8 °C, at which nothing here may be kept.
pub fn store_at(at: Temperature) -> Result<Store, Refused> {
    let t = within("storage temperature", at.as_celsius(), -60.0, 60.0, "°C")?;
    if t > 8.0 {
        return Err(Refused::new(
            format!("{} °C is outside: over the 8 °C that chilled food may have", at.tenths()),
            "get it cold, or throw it out",
        ));
    }
    // −18 °C typed as −0.4 °F comes out a hair above it.
    if t <= -18.0 + 1e-9 {
        Ok(Store::Frozen)
    } else if t < -2.0 {
        Err(Refused::new(
            format!("{} °C is neither chilled nor frozen through", at.tenths()),
            "a freezer at −18 °C or under, or a fridge at 0 to 5 °C",
        ))
    } else {
        Ok(Store::Chilled)
    }
}

/// How long a product keeps in a pack at a temperature; see [`store_at`].
///
/// # Errors
/// As [`store_at`], and products with no line.
pub fn life(product: Kept, pack: Pack, at: Temperature) -> Result<Answer<Life>, Refused> {
    let store = store_at(at)?;
    let found = lives().iter().find(|l| l.product == product && l.pack == pack && l.store == store);
    let Some(line) = found else {
        return Err(Refused::new(
            "there is no figure for that product kept that way",
            "keep it another way, or ask who made it",
        ));
    };
    let mut a = Answer::new(line.clone()).with(Note::limit(line.says.clone(), line.source.clone(), line.as_of.clone()));
    match store {
        Store::Chilled => {
            a = a.with(Note::caution("a use-by date: past it, throw it out whatever it looks and smells like"));
            a = a.with_all(warm(at));
        }
        Store::Frozen => {
            a = a.with(Note::caution(
                "a quality date: frozen it is as sound as when it went in, only worse to eat; freezing mends nothing",
            ));
        }
    }
    Ok(a)
}

/// Salt in the water phase, %: `100 · salt / (salt + moisture)`, both % of the product.
///
/// Source: Ontario, Fish plant guidelines FB1414.
///
/// # Errors
/// Refuses percentages that cannot be meant.
pub fn salt_in_water_phase(salt_percent: f64, moisture_percent: f64) -> Result<f64, Refused> {
    let s = within("salt", salt_percent, 0.0, 30.0, "%")?;
    let m = within("moisture", moisture_percent, 5.0, 100.0, "%")?;
    Ok(100.0 * s / (s + m))
}

/// What could keep a chilled vacuum pack beyond ten days. `None` is "not measured", which counts as not there.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Hurdles {
    /// Salt in the water phase, %.
    pub salt_in_water: Option<f64>,
    /// Minutes at 90 °C at the core.
    pub minutes_at_90: Option<f64>,
    pub ph: Option<f64>,
    pub water_activity: Option<f64>,
}

/// Which hurdle, if any, lifts the ten-day limit of a chilled vacuum pack.
///
/// Source: UK FSA, vacuum pack factsheet 07/08: at most 10 days at 3 to 8 °C unless by 90 °C for 10 minutes (read there),
/// 3.5 % salt in the water, pH 5 or under, water activity 0.97 or under (from memory), in every part of the product.
///
/// # Errors
/// Refuses temperatures above 8 °C.
pub fn ten_day_rule(at: Temperature, hurdles: Hurdles) -> Result<Answer<Option<&'static str>>, Refused> {
    let t = within("storage temperature", at.as_celsius(), -2.0, 8.0, "°C")?;
    let met = if hurdles.minutes_at_90.is_some_and(|m| m >= 10.0) {
        Some("90 °C for 10 minutes at the core")
    } else if hurdles.salt_in_water.is_some_and(|s| s >= 3.5) {
        Some("at least 3.5 % salt in the water")
    } else if hurdles.ph.is_some_and(|p| p <= 5.0) {
        Some("pH 5 or under")
    } else if hurdles.water_activity.is_some_and(|a| a <= 0.97) {
        Some("water activity 0.97 or under")
    } else {
        None
    };
    let mut a = Answer::new(met)
        .with(Note::limit(
            "chilled vacuum packs: at most 10 days at 3 to 8 °C unless a hurdle is shown throughout (salt, pH and water activity from memory)",
            "UK FSA, vacuum pack factsheet 07/08",
            "2026-11",
        ))
        .with(Note::caution("a longer life must be shown by measurement in every part, and agreed with your local authority before you sell"));
    if met.is_some_and(|m| m.contains("salt")) {
        a = a.with(Note::flag("salt reckoned from a recipe is not salt measured at the core: have it measured"));
    }
    if t < 3.0 {
        a = a.with(Note::flag(
            "under 3 °C the germ the rule is about does not grow; few fridges keep under 3 °C all day",
        ));
    }
    Ok(a)
}
