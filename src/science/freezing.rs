//! How long a pack or a joint takes to freeze.
//!
//! Source: Pham, J. Food Technol. 21 (1986) 209 (from memory; held in the tests against Plank's older formula). Good to about
//! 10 to 15 % for one piece in its own moving air; a stack in a drawer takes much longer.

use super::shape::Shape;
use super::{Answer, Note, Refused, within};
use crate::units::{Elapsed, Temperature};
use serde::Serialize;

/// Latent heat of water, J/kg.
const MELT: f64 = 334_000.0;

/// What freezes, and into what.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Freezing {
    pub shape: Shape,
    /// kg/m³
    pub density: f64,
    /// Heat given up on freezing, J/kg.
    pub latent: f64,
    /// J/kgK, unfrozen.
    pub heat_above: f64,
    /// J/kgK, frozen.
    pub heat_below: f64,
    /// W/mK, frozen.
    pub conductivity: f64,
    pub start: Temperature,
    /// Core temperature that counts as frozen.
    pub until: Temperature,
    /// Of the air around.
    pub around: Temperature,
    /// W/m²K
    pub film: f64,
}

impl Freezing {
    /// Lean or cured pork with 72 % water, nine tenths of it freezing.
    pub fn pork(shape: Shape, start: Temperature, around: Temperature, film: f64) -> Self {
        Self {
            shape,
            density: 1050.0,
            latent: 0.9 * 0.72 * MELT,
            heat_above: 3560.0,
            heat_below: 2000.0,
            conductivity: 1.3,
            start,
            until: Temperature::celsius(-17.5),
            around,
            film,
        }
    }
}

fn checked(f: &Freezing) -> Result<(), Refused> {
    within("density", f.density, 300.0, 2000.0, "kg/m³")?;
    within("latent heat", f.latent, 1e3, 4e5, "J/kg")?;
    within("conductivity", f.conductivity, 0.05, 5.0, "W/mK")?;
    within("surface film", f.film, 0.5, 5000.0, "W/m²K")?;
    within("start", f.start.as_celsius(), -5.0, 100.0, "°C")?;
    within("freezer", f.around.as_celsius(), -60.0, -5.0, "°C")?;
    Ok(())
}

/// Time to freeze from the start temperature to `until` at the core, Pham 1986.
///
/// `t = a/(E h) · (ΔH₁/ΔT₁ + ΔH₂/ΔT₂) · (1 + Bi/2)` with a the half size, Bi = h a/k and
/// `Tfm = 1.8 + 0.263 Tc + 0.105 Ta`. E is 1 for a slab, 2 for a long cylinder, 3 for a sphere; for a finite cylinder or a
/// brick the sum of squared ratios of its thinnest half size to each, an estimate on the short side of those limits.
///
/// # Errors
/// Refuses quantities outside the formula's range (freezer −15 to −45 °C, film 10 to 500 W/m²K, start at most 40 °C are the
/// published range and are flagged outside it) and a target the freezer cannot reach.
pub fn pham(f: &Freezing) -> Result<Answer<Elapsed>, Refused> {
    checked(f)?;
    let (tc, ta, ti) = (f.until.as_celsius(), f.around.as_celsius(), f.start.as_celsius());
    if tc <= ta + 0.2 {
        return Err(Refused::new(
            format!("a core of {} °C is not reached in a freezer at {} °C", f.until.tenths(), f.around.tenths()),
            "a warmer target or a colder freezer",
        ));
    }
    let tfm = 1.8 + 0.263 * tc + 0.105 * ta;
    if ti <= tfm {
        return Err(Refused::new("it starts frozen already", "give the temperature it goes in at"));
    }
    let axes = f.shape.axes()?;
    let a = axes.iter().map(|x| x.1).fold(f64::INFINITY, f64::min);
    let e: f64 = axes.iter().map(|(c, half)| c.surface() * (a / half).powi(2)).sum();
    let h1 = f.density * f.heat_above * (ti - tfm);
    let h2 = f.density * (f.latent + f.heat_below * (tfm - tc));
    let (d1, d2) = ((ti + tfm) / 2.0 - ta, tfm - ta);
    let bi = f.film * a / f.conductivity;
    let seconds = a / (e * f.film) * (h1 / d1 + h2 / d2) * (1.0 + bi / 2.0);
    let mut answer = Answer::new(Elapsed::minutes(seconds / 60.0))
        .with(Note::assumes("one piece by itself in its own moving air, the freezer keeping its temperature"))
        .with(Note::limit("Pham's formula, good to about 10 to 15 %", "Pham 1986, from memory", "2026-11"))
        .with(Note::caution("spread packs flat and apart, no more than the freezer takes in a day"));
    if !(-45.0..=-15.0).contains(&ta) || !(10.0..=500.0).contains(&f.film) || ti > 40.0 {
        answer = answer.with(Note::flag(
            "outside the range the formula was made for (−45 to −15 °C, 10 to 500 W/m²K, in at 40 °C or under)",
        ));
    }
    Ok(answer)
}
