//! Thermal properties of meat from what it is made of.
//!
//! Source: Choi & Okos, in Food Engineering and Process Applications 1 (1986) 93: polynomials in °C for each component,
//! −40 to 150 °C (−40 to 0 °C for ice); specific heat adds by mass, conductivity by volume. Beware copies that print the fat
//! slope as +2.7604e-4: a slip of sign.

use super::{Refused, within};
use crate::units::Temperature;
use serde::Serialize;

/// Shares by weight.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Composition {
    pub water: f64,
    pub protein: f64,
    pub fat: f64,
    pub ash: f64,
}

impl Composition {
    /// Lean pork, 72 % water.
    pub const LEAN_PORK: Self = Self { water: 0.72, protein: 0.20, fat: 0.07, ash: 0.01 };
}

/// At one temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Properties {
    /// kg/m³
    pub density: f64,
    /// J/kgK
    pub specific_heat: f64,
    /// W/mK
    pub conductivity: f64,
}

impl Properties {
    /// m²/s
    pub fn diffusivity(&self) -> f64 {
        self.conductivity / (self.density * self.specific_heat)
    }
}

/// A component's density (kg/m³), specific heat (J/kgK) and conductivity (W/mK), each as a + bT + cT².
struct Component {
    density: [f64; 3],
    heat: [f64; 3],
    conductivity: [f64; 3],
}

const WATER: Component = Component {
    density: [997.18, 3.1439e-3, -3.7574e-3],
    heat: [4176.2, -9.0864e-2, 5.4731e-3],
    conductivity: [0.571_09, 1.7625e-3, -6.7036e-6],
};
const PROTEIN: Component = Component {
    density: [1329.9, -0.518_40, 0.0],
    heat: [2008.2, 1.2089, -1.3129e-3],
    conductivity: [0.178_81, 1.1958e-3, -2.7178e-6],
};
const FAT: Component = Component {
    density: [925.59, -0.417_57, 0.0],
    heat: [1984.2, 1.4733, -4.8008e-3],
    conductivity: [0.180_71, -2.7604e-4, -1.7749e-7],
};
const ASH: Component = Component {
    density: [2423.8, -0.280_63, 0.0],
    heat: [1092.6, 1.8896, -3.6817e-3],
    conductivity: [0.329_62, 1.4011e-3, -2.9069e-6],
};

fn at(p: &[f64; 3], t: f64) -> f64 {
    p[0] + t * (p[1] + t * p[2])
}

/// Properties of unfrozen meat, 0 to 100 °C.
///
/// # Errors
/// Refuses shares that do not add up to 1 (within 0.02) and temperatures outside 0 to 100 °C.
pub fn unfrozen(c: Composition, temperature: Temperature) -> Result<Properties, Refused> {
    let t = within("temperature", temperature.as_celsius(), 0.0, 100.0, "°C")?;
    let parts = [(c.water, &WATER), (c.protein, &PROTEIN), (c.fat, &FAT), (c.ash, &ASH)];
    within("sum of the shares", parts.iter().map(|(x, _)| *x).sum(), 0.98, 1.02, "")?;
    for (x, _) in &parts {
        within("a share", *x, 0.0, 1.0, "")?;
    }
    let volumes: f64 = parts.iter().map(|(x, p)| x / at(&p.density, t)).sum();
    let density = 1.0 / volumes;
    Ok(Properties {
        density,
        specific_heat: parts.iter().map(|(x, p)| x * at(&p.heat, t)).sum(),
        conductivity: parts.iter().map(|(x, p)| x / at(&p.density, t) / volumes * at(&p.conductivity, t)).sum(),
    })
}
