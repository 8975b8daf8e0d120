//! How strong a brine is: % by weight, degrees salometer, density.

use super::{Refused, within};
use crate::units::Temperature;

/// 100° on a salometer: a saturated brine at 60 °F, % salt by weight of the brine.
///
/// Source: definition of the salometer scale. Some canning-trade instruments take 25 %, some meat-trade ones are scaled at
/// 38 °F; the one on the bench decides.
pub const SATURATED_PERCENT: f64 = 26.395;

/// The strongest brine the density formula is used for, % by weight.
const STRONGEST: f64 = 26.4;

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
