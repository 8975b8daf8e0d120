//! Heat through a joint: start at one temperature, then a string of surroundings, each with its own temperature and film.
//!
//! Exact for slabs, cylinders, spheres and their products with constant properties: in each stage the field is a sum of
//! products of one-dimensional profiles; at a change of stage every profile is rewritten exactly in the next stage's terms.

use super::modes::{Coefficients, Coordinate, Modes, Surface};
use super::shape::Shape;
use super::{Refused, numeric, within};
use crate::units::{Elapsed, Temperature};
use serde::Serialize;
use std::sync::Arc;

/// A body with its thermal properties.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Body {
    pub shape: Shape,
    /// W/mK
    pub conductivity: f64,
    /// m²/s
    pub diffusivity: f64,
}

/// Surroundings held for a while.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Stage {
    /// Of the air, water or ice around.
    pub around: Temperature,
    /// Heat through the surface, W/m²K; infinite for a surface at the temperature of its surroundings.
    pub film: f64,
    /// How long; the last stage lasts for ever.
    pub lasts: Elapsed,
}

/// Σ amplitude · Π profile, in the terms of the stage.
type Term = (f64, Vec<Coefficients>);

#[derive(Debug, Clone)]
struct Leg {
    start: f64,
    around: f64,
    film: f64,
    axes: Arc<Vec<Modes>>,
    terms: Vec<Term>,
}

/// A reckoned course of temperatures.
#[derive(Debug, Clone)]
pub struct Course {
    /// D / half² per minute, for each direction.
    rates: Vec<f64>,
    legs: Vec<Leg>,
    start: f64,
    /// Minutes before a change at the surface is felt at the core.
    unfelt: f64,
}

/// The least Fo at which the terms kept are exact; before it the core has not felt a change (by more than 1e-6 of it).
const SHORTEST: f64 = 0.02;

impl Course {
    /// # Errors
    /// Refuses an empty list of stages, more than 16 of them, and properties or temperatures that cannot be meant.
    pub fn new(body: &Body, start: Temperature, stages: &[Stage]) -> Result<Self, Refused> {
        let axes = body.shape.axes()?;
        let k = within("conductivity", body.conductivity, 0.01, 500.0, "W/mK")?;
        let d = within("diffusivity", body.diffusivity, 1e-9, 1e-3, "m²/s")?;
        let start = within("start temperature", start.as_celsius(), -60.0, 250.0, "°C")?;
        if stages.is_empty() || stages.len() > 16 {
            return Err(Refused::new("there must be one to sixteen stages", "name the surroundings in order"));
        }
        let rates: Vec<f64> = axes.iter().map(|(_, half)| d * 60.0 / (half * half)).collect();
        let fastest = rates.iter().copied().fold(0.0, f64::max);
        let mut legs: Vec<Leg> = Vec::with_capacity(stages.len());
        let mut clock = 0.0;
        for s in stages {
            let around = within("temperature around", s.around.as_celsius(), -60.0, 250.0, "°C")?;
            if s.film.is_nan() || s.film <= 0.0 {
                return Err(Refused::new("the surface film must be above 0 W/m²K", "still air is about 8"));
            }
            within("stage", s.lasts.as_minutes(), 0.0, 1e6, "minutes")?;
            let modes = match legs.last() {
                Some(leg) if leg.film == s.film => Arc::clone(&leg.axes),
                _ => Arc::new(film_modes(&axes, &rates, s.film / k)),
            };
            let (before, mut terms) = match legs.last() {
                Some(leg) => (leg.around, leg.handed_on(&rates, clock - leg.start, &modes)),
                None => (start, Vec::new()),
            };
            terms.push((before - around, modes.iter().map(Modes::uniform).collect()));
            legs.push(Leg { start: clock, around, film: s.film, axes: modes, terms });
            clock += s.lasts.as_minutes();
        }
        Ok(Self { unfelt: SHORTEST / fastest, rates, legs, start })
    }

    /// The same course in a body whose diffusivity is `factor` times this one's: the roots stay, only the pace changes.
    #[must_use]
    pub fn at_pace(&self, factor: f64) -> Self {
        let rates: Vec<f64> = self.rates.iter().map(|r| r * factor).collect();
        let mut legs: Vec<Leg> = Vec::with_capacity(self.legs.len());
        for old in &self.legs {
            let mut terms =
                legs.last().map_or_else(Vec::new, |l: &Leg| l.handed_on(&rates, old.start - l.start, &old.axes));
            terms.extend(old.terms.last().cloned());
            legs.push(Leg { terms, axes: Arc::clone(&old.axes), ..*old });
        }
        Self { unfelt: self.unfelt / factor, rates, legs, start: self.start }
    }

    fn leg(&self, minutes: f64) -> &Leg {
        let i = self.legs.partition_point(|l| l.start <= minutes).max(1) - 1;
        &self.legs[i]
    }

    /// At the middle.
    pub fn core(&self, t: Elapsed) -> Temperature {
        let minutes = t.as_minutes();
        if minutes <= self.unfelt {
            return Temperature::celsius(self.start);
        }
        // For a moment after a change the core goes on as before it.
        Temperature::celsius(self.leg(minutes - self.unfelt).value(&self.rates, 0.0, minutes))
    }

    /// On the way out along the first direction, ξ from 0 (middle) to 1 (surface).
    pub fn at(&self, xi: f64, t: Elapsed) -> Temperature {
        let minutes = t.as_minutes();
        if minutes <= 0.0 {
            return Temperature::celsius(self.start);
        }
        Temperature::celsius(self.leg(minutes).value(&self.rates, xi, minutes))
    }

    /// On average over the body.
    pub fn mean(&self, t: Elapsed) -> Temperature {
        let minutes = t.as_minutes().max(0.0);
        let leg = self.leg(minutes);
        let sum: f64 = leg
            .terms
            .iter()
            .map(|(amplitude, profiles)| {
                let each = leg.axes.iter().zip(profiles).zip(&self.rates);
                amplitude * each.map(|((m, p), rate)| m.mean_value(p, rate * (minutes - leg.start))).product::<f64>()
            })
            .sum();
        Temperature::celsius(leg.around + sum)
    }

    /// When the core first reaches a temperature, from either side; `None` if it does not within `horizon`.
    pub fn core_reaches(&self, target: Temperature, horizon: Elapsed) -> Option<Elapsed> {
        let goal = target.as_celsius();
        let gap = |m: f64| self.core(Elapsed::minutes(m)).as_celsius() - goal;
        let end = horizon.as_minutes();
        let (mut a, mut ga) = (0.0, gap(0.0));
        if ga == 0.0 {
            return Some(Elapsed::minutes(0.0));
        }
        for i in 1..=48 {
            let b = end * f64::from(i) / 48.0;
            let gb = gap(b);
            if ga * gb <= 0.0 {
                return numeric::bisect_to(gap, a, b, 1e-5).map(Elapsed::minutes);
            }
            (a, ga) = (b, gb);
        }
        None
    }
}

/// The terms of each direction under a film; a long direction runs slower and needs its terms from an earlier Fo on.
fn film_modes(axes: &[(Coordinate, f64)], rates: &[f64], film_over_k: f64) -> Vec<Modes> {
    let fastest = rates.iter().copied().fold(0.0, f64::max);
    let each = axes.iter().zip(rates);
    each.map(|((c, half), rate)| {
        let bi = film_over_k * half;
        Modes::few(*c, if bi > 1e6 { Surface::Held } else { Surface::Film(bi) }, SHORTEST * rate / fastest)
    })
    .collect()
}

impl Leg {
    fn value(&self, rates: &[f64], xi: f64, minutes: f64) -> f64 {
        let sum: f64 = self
            .terms
            .iter()
            .map(|(amplitude, profiles)| {
                let each = self.axes.iter().zip(profiles).zip(rates).enumerate();
                let product: f64 = each
                    .map(|(i, ((m, p), rate))| m.value(p, if i == 0 { xi } else { 0.0 }, rate * (minutes - self.start)))
                    .product();
                amplitude * product
            })
            .sum();
        self.around + sum
    }

    /// The terms of this leg after `minutes`, written in the modes of the next.
    fn handed_on(&self, rates: &[f64], minutes: f64, next: &[Modes]) -> Vec<Term> {
        self.terms
            .iter()
            .map(|(amplitude, profiles)| {
                let moved = self.axes.iter().zip(profiles).zip(rates).zip(next).map(|(((m, p), rate), n)| {
                    let mut aged = p.clone();
                    m.age(&mut aged, rate * minutes);
                    if m.surface() == n.surface() { aged } else { m.rewrite(&aged, n) }
                });
                (*amplitude, moved.collect())
            })
            .collect()
    }
}
