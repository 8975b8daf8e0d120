//! How strong a brine is: % by weight, grams a litre, degrees salometer, density, freezing point.

use super::{Refused, within};
use crate::units::Temperature;

/// 100° on a salometer: a saturated brine at 60 °F, % salt by weight of the brine.
///
/// Source: definition of the salometer scale. Some canning-trade instruments take 25 %, some meat-trade ones are scaled at
/// 38 °F; the one on the bench decides.
pub const SATURATED_PERCENT: f64 = 26.395;

/// The strongest brine the density formula is used for, % by weight.
const STRONGEST: f64 = 26.4;

/// % salt by weight of the brine from degrees salometer.
///
/// # Errors
/// Refuses degrees outside 0 to 100.
pub fn percent_from_salometer(degrees: f64) -> Result<f64, Refused> {
    within("salometer reading", degrees, 0.0, 100.0, "degrees").map(|d| d / 100.0 * SATURATED_PERCENT)
}

/// Degrees salometer from % salt by weight of the brine.
///
/// # Errors
/// Refuses strengths outside 0 to 26.395 %.
pub fn salometer_from_percent(percent: f64) -> Result<f64, Refused> {
    within("brine strength", percent, 0.0, SATURATED_PERCENT, "%").map(|p| p / SATURATED_PERCENT * 100.0)
}

/// Density of pure water, kg/m³, 0 to 100 °C.
///
/// Source: Kell, J. Chem. Eng. Data 20 (1975) 97, at 1 atm (coefficients from memory; checked against CoolProp in the tests).
pub fn water_density(at: Temperature) -> f64 {
    let t = at.as_celsius();
    let top = 999.839_52
        + t * (16.945_176 + t * (-7.987_040_1e-3 + t * (-46.170_461e-6 + t * (105.563_02e-9 + t * -280.542_53e-12))));
    top / (1.0 + 16.879_85e-3 * t)
}

/// Density of a brine, kg/m³, from its strength (% by weight, 0 to 26.4) at 0 to 60 °C.
///
/// Source: Laliberté & Cooper, J. Chem. Eng. Data 49 (2004) 1141, sodium chloride (coefficients from memory; held in the
/// tests against a printed density table and against CoolProp).
///
/// # Errors
/// Refuses strengths or temperatures outside those ranges.
pub fn density(percent: f64, at: Temperature) -> Result<f64, Refused> {
    let w = within("brine strength", percent, 0.0, STRONGEST, "%")? / 100.0;
    let t = within("brine temperature", at.as_celsius(), 0.0, 60.0, "°C")?;
    let apparent = (-0.004_33 * w + 0.064_71) * (1e-6 * (t + 3315.6).powi(2)).exp() / (w + 1.016_60 + 0.014_624 * t);
    Ok(1.0 / ((1.0 - w) / water_density(at) + w / apparent))
}

/// Grams of salt in a litre of brine. A 10 % brine is 107 g/L at 20 °C, not 100.
///
/// # Errors
/// As [`density`].
pub fn grams_per_litre(percent: f64, at: Temperature) -> Result<f64, Refused> {
    Ok(density(percent, at)? * percent / 100.0)
}

/// % by weight of the brine from grams of salt in a litre of finished brine.
///
/// # Errors
/// Refuses what would be stronger than a saturated brine.
pub fn percent_from_grams_per_litre(grams: f64, at: Temperature) -> Result<f64, Refused> {
    let most = grams_per_litre(STRONGEST, at)?;
    let g = within("salt", grams, 0.0, most, "g in a litre of brine")?;
    super::numeric::bisect(|p| grams_per_litre(p, at).unwrap_or(f64::NAN) - g, 0.0, STRONGEST)
        .ok_or_else(|| Refused::new("no brine has that strength", "check the grams a litre"))
}

/// Salt for an amount of water to reach a strength: `water · p / (100 − p)`, in the unit of the water.
///
/// # Errors
/// Refuses strengths outside 0 to 26.4 %.
pub fn salt_for_water(water: f64, percent: f64) -> Result<f64, Refused> {
    let p = within("brine strength", percent, 0.0, STRONGEST, "%")?;
    Ok(water * p / (100.0 - p))
}

/// Strength (% by weight) and the temperature at which ice forms, °C, down to the eutectic at 23.3 %.
///
/// Source: from memory of handbook tables for sodium chloride; checked against CoolProp within 0.2 °C in the tests.
const ICE: [(f64, f64); 13] = [
    (0.0, 0.0),
    (1.0, -0.593),
    (2.0, -1.186),
    (3.0, -1.79),
    (4.0, -2.409),
    (5.0, -3.046),
    (6.0, -3.703),
    (8.0, -5.078),
    (10.0, -6.564),
    (14.0, -9.94),
    (18.0, -14.04),
    (20.0, -16.46),
    (23.3, -21.1),
];

/// Temperature at which ice begins to form in a brine.
///
/// # Errors
/// Refuses brines stronger than the eutectic (23.3 %), from which salt forms first.
pub fn freezing_point(percent: f64) -> Result<Temperature, Refused> {
    let p = within("brine strength", percent, 0.0, 23.3, "%")?;
    let i = ICE.iter().rposition(|r| r.0 <= p).unwrap_or(0).min(ICE.len() - 2);
    let ((a, ta), (b, tb)) = (ICE[i], ICE[i + 1]);
    Ok(Temperature::celsius(ta + (p - a) / (b - a) * (tb - ta)))
}
