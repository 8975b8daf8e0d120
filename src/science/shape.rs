//! Bodies that can be reckoned exactly, and what is left in them of a uniform start.

use super::modes::{Coefficients, Coordinate, Modes};
use super::size::Size;
use super::{Refused, within};
use crate::units::{Elapsed, Length};
use serde::Serialize;

/// A plain body; sizes in centimetres.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Shape {
    /// Wide and long against its thickness.
    Slab {
        thickness: Length,
    },
    /// Long against its thickness.
    Cylinder {
        diameter: Length,
    },
    Sphere {
        diameter: Length,
    },
    /// A rolled joint.
    FiniteCylinder {
        diameter: Length,
        length: Length,
    },
    Brick {
        a: Length,
        b: Length,
        c: Length,
    },
}

impl From<Size> for Shape {
    fn from(s: Size) -> Self {
        Self::FiniteCylinder { diameter: s.diameter, length: s.length }
    }
}

impl Shape {
    /// The directions whose product makes up the body (Newman's rule), with half sizes in metres.
    ///
    /// # Errors
    /// Refuses sizes outside 0.01 to 200 cm.
    pub fn axes(self) -> Result<Vec<(Coordinate, f64)>, Refused> {
        use Coordinate::{Cylinder, Slab, Sphere};
        let half = |l: Length| within("size", l.as_cm(), 0.01, 200.0, "cm").map(|cm| cm / 200.0);
        Ok(match self {
            Self::Slab { thickness } => vec![(Slab, half(thickness)?)],
            Self::Cylinder { diameter } => vec![(Cylinder, half(diameter)?)],
            Self::Sphere { diameter } => vec![(Sphere, half(diameter)?)],
            Self::FiniteCylinder { diameter, length } => vec![(Cylinder, half(diameter)?), (Slab, half(length)?)],
            Self::Brick { a, b, c } => vec![(Slab, half(a)?), (Slab, half(b)?), (Slab, half(c)?)],
        })
    }
}

/// A body that was 1 all through and whose surface is held at 0 from time 0.
///
/// Source: product of one-dimensional solutions (Newman 1936; Crank, 2nd ed., ch. 2).
#[derive(Debug, Clone)]
pub struct Held {
    /// Terms, and D / half² per second.
    axes: Vec<(&'static Modes, f64)>,
}

impl Held {
    /// `diffusivity` in m²/s, within 1e-14 to 1e-4.
    ///
    /// # Errors
    /// Refuses sizes and diffusivities outside their ranges.
    pub fn new(shape: Shape, diffusivity: f64) -> Result<Self, Refused> {
        let d = within("diffusivity", diffusivity, 1e-14, 1e-4, "m²/s")?;
        let axes = shape.axes()?.into_iter();
        Ok(Self { axes: axes.map(|(c, half)| (Modes::held(c), d / (half * half))).collect() })
    }

    /// Left at the middle.
    pub fn core(&self, t: Elapsed) -> f64 {
        self.at(0.0, t)
    }

    /// Left on the way out along the first direction, ξ from 0 (middle) to 1 (surface), halfway along the others.
    pub fn at(&self, xi: f64, t: Elapsed) -> f64 {
        let s = t.as_minutes() * 60.0;
        self.axes.iter().enumerate().map(|(i, (m, rate))| m.left_at(if i == 0 { xi } else { 0.0 }, rate * s)).product()
    }

    /// Left on average.
    pub fn mean(&self, t: Elapsed) -> f64 {
        let s = t.as_minutes() * 60.0;
        self.axes.iter().map(|(m, rate)| m.left(rate * s)).product()
    }

    /// Σ weight · left(ξ, t) as one profile along the first direction, for many weights and times.
    pub fn blend(&self, steps: impl Iterator<Item = (f64, Elapsed)>) -> Blend {
        let (first, rate) = self.axes[0];
        let mut blend = Blend { modes: first, profile: Vec::new(), short: Vec::new() };
        for (weight, t) in steps {
            let s = t.as_minutes() * 60.0;
            let others: f64 = self.axes[1..].iter().map(|(m, rate)| m.left_at(0.0, rate * s)).product();
            if !first.add_left(&mut blend.profile, weight * others, rate * s) {
                blend.short.push((weight * others, rate * s));
            }
        }
        let end = blend.profile.iter().rposition(|c| c.abs() > 1e-13).map_or(0, |i| i + 1);
        blend.profile.truncate(end);
        blend
    }
}

/// A sum of profiles along the first direction of a body.
#[derive(Debug, Clone)]
pub struct Blend {
    modes: &'static Modes,
    profile: Coefficients,
    /// Weight and Fo of those too young for the series.
    short: Vec<(f64, f64)>,
}

impl Blend {
    pub fn terms(&self) -> usize {
        self.profile.len()
    }

    /// The waves at ξ, shared by every blend of the same body.
    pub fn waves(&self, xi: f64, count: usize) -> Vec<f64> {
        self.modes.waves(xi, count).collect()
    }

    /// The sum at ξ, given at least [`Blend::terms`] of the waves there.
    pub fn at(&self, xi: f64, waves: &[f64]) -> f64 {
        let long: f64 = self.profile.iter().zip(waves).map(|(c, w)| c * w).sum();
        long + self.short.iter().map(|(weight, fo)| weight * self.modes.left_at(xi, *fo)).sum::<f64>()
    }
}
