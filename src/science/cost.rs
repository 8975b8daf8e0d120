//! What a batch costs, and the energy in it. Prices are whoever's who types them; none are built in.

use super::{Answer, Note, Refused, within};
use crate::units::{Elapsed, Temperature, Volume};
use serde::Serialize;

/// Electricity for bringing water to a temperature, kWh: `litres · 4.18 · ΔT / 3600 / efficiency`.
///
/// # Errors
/// Refuses volumes, temperatures and efficiencies that cannot be meant.
pub fn heat_up_kwh(water: Volume, from: Temperature, to: Temperature, efficiency: f64) -> Result<f64, Refused> {
    let l = within("water", water.as_litres(), 0.0, 1000.0, "L")?;
    let rise = within("rise", to.as_celsius() - from.as_celsius(), 0.0, 100.0, "°C")?;
    let e = within("efficiency", efficiency, 0.2, 1.0, "")?;
    Ok(l * 4.18 * rise / 3600.0 / e)
}

/// Energy in a batch, kWh.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Energy {
    pub heat_up: f64,
    pub simmer: f64,
    pub bake: f64,
    pub fridge: f64,
    pub freezer: f64,
}

impl Energy {
    /// All of it, kWh.
    pub fn total(&self) -> f64 {
        self.heat_up + self.simmer + self.bake + self.fridge + self.freezer
    }
}

/// A cook day and the cold around it: 0.4 kW to keep a pot at a simmer, 1.3 kWh a bake, 0.85 kWh a day for a spare fridge,
/// 0.7 for a freezer (common practice, no source).
pub fn batch_energy(heat_up: f64, simmer: Elapsed, bakes: u32, fridge_days: f64, freezer_days: f64) -> Energy {
    Energy {
        heat_up,
        simmer: 0.4 * simmer.as_hours(),
        bake: 1.3 * f64::from(bakes),
        fridge: 0.85 * fridge_days,
        freezer: 0.7 * freezer_days,
    }
}

/// One thing paid for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    pub what: String,
    /// In the unit that the price is for: kilograms, pieces, kWh.
    pub amount: f64,
    pub unit_price: f64,
}

/// What a batch costs, in the money of its prices.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cost {
    pub total: f64,
    /// A kilogram packed, over the whole batch.
    pub per_kg: f64,
}

impl Cost {
    /// What comes of it to a joint of so many kilograms green, of so many in all: every kilogram of pork bears as much.
    pub fn of(&self, green_kg: f64, all_kg: f64) -> f64 {
        self.total * green_kg / all_kg.max(f64::MIN_POSITIVE)
    }
}

/// Adds up a batch, in whatever money the prices are in.
///
/// # Errors
/// Refuses amounts and prices below zero, and a batch without weight.
pub fn cost(lines: &[Line], packed_kg: f64) -> Result<Answer<Cost>, Refused> {
    for l in lines {
        within(&l.what, l.amount, 0.0, 1e6, "units")?;
        within(&l.what, l.unit_price, 0.0, 1e6, "a unit")?;
    }
    let kg = within("packed weight", packed_kg, 0.01, 1e4, "kg")?;
    let total: f64 = lines.iter().map(|l| l.amount * l.unit_price).sum();
    Ok(Answer::new(Cost { total, per_kg: total / kg })
        .with(Note::assumes("only the lines given; your own time is in it only if you put it in")))
}
