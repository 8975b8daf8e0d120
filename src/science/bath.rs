//! A body taking up salt from a well-stirred brine that weakens as it gives.
//!
//! For a slab, a long cylinder and a sphere Crank's series is exact. Any other body is reckoned by superposition: the
//! brine's strength is a string of small steps, each answered by the body's own exact response to a held surface, and the
//! balance of salt fixes the steps (Duhamel's rule). α is what the brine can hold over what the body can hold.
//!
//! Source: Crank, The Mathematics of Diffusion, 2nd ed. 1975, eq. 4.34–4.37, 5.31–5.35, 6.28–6.30.

use super::modes::Coordinate;
use super::numeric::{ZEROS, erfcx, j0_zeros, j1_zeros, newton};
use super::shape::{Blend, Held};
use crate::units::Elapsed;
use std::f64::consts::PI;

/// Crank's roots qₙ for a limited bath: `tan q = −αq`; `αq J₀(q) + 2 J₁(q) = 0`; `tan q = 3q / (3 + αq²)`.
pub fn limited_roots(coordinate: Coordinate, alpha: f64, count: usize) -> Vec<f64> {
    (1..=count.min(ZEROS)).map(|n| limited_root(coordinate, alpha, n)).collect()
}

fn limited_root(coordinate: Coordinate, alpha: f64, n: usize) -> f64 {
    let turn = n as f64 * PI;
    match coordinate {
        Coordinate::Slab => newton(
            |q| {
                let (s, c) = q.sin_cos();
                (s + alpha * q * c, (1.0 + alpha) * c - alpha * q * s)
            },
            turn - 0.5 * PI,
            turn,
        ),
        Coordinate::Cylinder => newton(
            |q| {
                let (j0, j1) = (libm::j0(q), libm::j1(q));
                (alpha * q * j0 + 2.0 * j1, (alpha + 2.0) * j0 - alpha * q * j1 - 2.0 * j1 / q)
            },
            j0_zeros()[n - 1],
            j1_zeros()[n - 1],
        ),
        Coordinate::Sphere => newton(
            |q| {
                let (s, c) = q.sin_cos();
                let g = 3.0 + alpha * q * q;
                (g * s - 3.0 * q * c, (2.0 * alpha + 3.0) * q * s + (g - 3.0) * c)
            },
            turn,
            turn + 0.5 * PI,
        ),
    }
}

/// The weight of the n-th term in Mₜ/M∞, and the denominator shared with the profile.
fn weight(coordinate: Coordinate, alpha: f64, q: f64) -> (f64, f64) {
    let aq = alpha * alpha * q * q;
    match coordinate {
        Coordinate::Slab => (2.0 * (1.0 + alpha), 1.0 + alpha + aq),
        Coordinate::Cylinder => (4.0 * (1.0 + alpha), 4.0 + 4.0 * alpha + aq),
        Coordinate::Sphere => (6.0 * (1.0 + alpha), 9.0 + 9.0 * alpha + aq),
    }
}

/// One direction in a limited bath.
#[derive(Debug, Clone)]
pub struct Limited {
    coordinate: Coordinate,
    alpha: f64,
    roots: Vec<f64>,
}

impl Limited {
    pub fn new(coordinate: Coordinate, alpha: f64) -> Self {
        Self { coordinate, alpha, roots: limited_roots(coordinate, alpha, 200) }
    }

    /// Taken up over what will be taken up in the end, at `Fo = D t / half²`.
    pub fn uptake(&self, fo: f64) -> f64 {
        if fo <= 0.0 {
            return 0.0;
        }
        let last = self.roots[self.roots.len() - 1];
        if last * last * fo < 36.0 {
            // A thick wall: s = e^{z²} erfc z is the brine's strength.
            let z = self.coordinate.surface() * fo.sqrt() / self.alpha;
            return (1.0 + self.alpha) * (1.0 - erfcx(z));
        }
        let mut left = 0.0;
        for &q in &self.roots {
            let decay = q * q * fo;
            if decay > 45.0 {
                break;
            }
            let (w, d) = weight(self.coordinate, self.alpha, q);
            left += self.alpha * w / d * (-decay).exp();
        }
        (1.0 - left).clamp(0.0, 1.0)
    }

    /// Concentration at ξ over the final one; above 1 near the surface while the brine is still strong. `None` for times
    /// so short that the series kept does not suffice.
    pub fn at(&self, xi: f64, fo: f64) -> Option<f64> {
        let last = self.roots[self.roots.len() - 1];
        if last * last * fo < 36.0 {
            return None;
        }
        let mut sum = 1.0;
        for &q in &self.roots {
            let decay = q * q * fo;
            if decay > 45.0 {
                break;
            }
            let (w, d) = weight(self.coordinate, self.alpha, q);
            sum += w / d * (-decay).exp() * self.coordinate.wave(q * xi) / self.coordinate.wave(q);
        }
        Some(sum)
    }
}

/// Steps in time of the superposition.
const STEPS: usize = 72;
/// Points of the table of the body's own uptake.
const TABLE: usize = 64;

/// Any body in a well-stirred, limited bath, up to a horizon.
#[derive(Debug, Clone)]
pub struct Stirred {
    held: Held,
    alpha: f64,
    /// Times, minutes, closer together at first.
    times: Vec<f64>,
    /// The brine's strength at those times, the start being 1.
    strength: Vec<f64>,
}

/// ∫₀ᵗ of a body's mean uptake with a held surface, tabled over √t.
struct Cumulative {
    step: f64,
    sum: Vec<f64>,
    slope: Vec<f64>,
}

impl Cumulative {
    fn new(mean: impl Fn(f64) -> f64, horizon: f64) -> Self {
        let step = horizon.sqrt() / TABLE as f64;
        let rate = |u: f64| 2.0 * u * mean(u * u);
        let mut sum = vec![0.0];
        let mut slope = vec![0.0];
        for i in 0..TABLE {
            let u = i as f64 * step;
            let (middle, end) = (rate(u + 0.5 * step), rate(u + step));
            sum.push(sum[i] + step / 6.0 * (slope[i] + 4.0 * middle + end));
            slope.push(end);
        }
        Self { step, sum, slope }
    }

    /// Hermite's cubic between table points.
    fn at(&self, t: f64) -> f64 {
        let x = t.max(0.0).sqrt() / self.step;
        let i = (x as usize).min(TABLE - 1);
        let f = x - i as f64;
        let (a, b) = (self.sum[i], self.sum[i + 1]);
        let (da, db) = (self.slope[i] * self.step, self.slope[i + 1] * self.step);
        let g = 1.0 - f;
        (1.0 + 2.0 * f) * g * g * a + f * g * g * da + f * f * (3.0 - 2.0 * f) * b - f * f * g * db
    }
}

impl Stirred {
    /// `alpha`: what the brine holds over what the body holds at the same strength, above 0; `horizon`: the last time asked.
    pub fn new(held: Held, alpha: f64, horizon: Elapsed) -> Self {
        let end = horizon.as_minutes().max(1.0);
        let table = Cumulative::new(|t| 1.0 - held.mean(Elapsed::minutes(t)), end);
        let times: Vec<f64> = (0..=STEPS).map(|i| end * (i as f64 / STEPS as f64).powi(2)).collect();
        let mut strength = vec![1.0];
        for n in 1..=STEPS {
            let t = times[n];
            // α·s + uptake = α, the newest step being the only unknown.
            let mut known = 1.0 - held.mean(Elapsed::minutes(t));
            let mut before = table.at(t);
            for j in 0..n - 1 {
                let after = table.at(t - times[j + 1]);
                known += (strength[j + 1] - strength[j]) / (times[j + 1] - times[j]) * (before - after);
                before = after;
            }
            let newest = before / (t - times[n - 1]);
            strength.push((alpha - known + newest * strength[n - 1]) / (alpha + newest));
        }
        Self { held, alpha, times, strength }
    }

    /// The brine's strength over its start.
    pub fn brine(&self, t: Elapsed) -> f64 {
        let t = t.as_minutes();
        let i = self.times.partition_point(|x| *x <= t).clamp(1, STEPS) - 1;
        let f = ((t - self.times[i]) / (self.times[i + 1] - self.times[i])).clamp(0.0, 1.0);
        self.strength[i] + f * (self.strength[i + 1] - self.strength[i])
    }

    /// Taken up over what will be taken up in the end: by the balance, what the brine has lost.
    pub fn uptake(&self, t: Elapsed) -> f64 {
        ((1.0 - self.brine(t)) * (1.0 + self.alpha)).clamp(0.0, 1.0)
    }

    /// The profile at a time, for any number of places.
    pub fn profile(&self, t: Elapsed) -> Profile {
        let end = t.as_minutes();
        // The strength is 1 at the start and falls in small steps; each step's response begins at its own middle.
        let mut steps = vec![(1.0, t)];
        for j in 0..STEPS {
            let (a, b) = (self.times[j], self.times[j + 1].min(end));
            if a >= end {
                break;
            }
            let fall = (self.strength[j + 1] - self.strength[j]) * (b - a) / (self.times[j + 1] - a);
            steps.push((fall, Elapsed::minutes(end - 0.5 * (a + b))));
        }
        let strength = steps.iter().map(|s| s.0).sum();
        Profile { left: self.held.blend(steps.into_iter()), strength, scale: (1.0 + self.alpha) / self.alpha }
    }

    /// Concentration on the way out along the first direction (ξ from 0 to 1) over the final one.
    pub fn at(&self, xi: f64, t: Elapsed) -> f64 {
        let p = self.profile(t);
        p.at(xi, &p.waves(xi, p.terms()))
    }

    /// Concentration at the middle over the final one.
    pub fn core(&self, t: Elapsed) -> f64 {
        self.at(0.0, t)
    }
}

/// The profile along the first direction at one time.
#[derive(Debug, Clone)]
pub struct Profile {
    left: Blend,
    strength: f64,
    scale: f64,
}

impl Profile {
    pub fn terms(&self) -> usize {
        self.left.terms()
    }

    pub fn waves(&self, xi: f64, count: usize) -> Vec<f64> {
        self.left.waves(xi, count)
    }

    /// Concentration at ξ over the final one, given at least [`Profile::terms`] of the waves there.
    pub fn at(&self, xi: f64, waves: &[f64]) -> f64 {
        // What is left over of rounding before anything arrives is no salt.
        ((self.strength - self.left.at(xi, waves)) * self.scale).max(0.0)
    }
}
