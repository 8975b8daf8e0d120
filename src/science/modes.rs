//! How a slab, a long cylinder and a sphere forget their start: exact series for heat and for salt alike.
//!
//! A body at 1 all through, its surface from then on held at 0 (or losing through a film: the Biot number), is at
//! `Σ Aₙ X(λₙξ) exp(−λₙ²Fo)` at the relative distance ξ from its middle, with `Fo = D t / half²`. λₙ are the exact roots of
//! the boundary condition, found by bracketing; nothing is fitted. For times so short that the kept terms do not suffice
//! the body is taken as a thick wall, which is then exact to the curvature over the depth reached (under 1 %).
//!
//! Source: Crank, The Mathematics of Diffusion, 2nd ed. 1975, eq. 4.17–4.18, 5.22–5.23, 6.18–6.20; Carslaw & Jaeger,
//! Conduction of Heat in Solids, 2nd ed. 1959, ch. 3, 7, 9.

use super::numeric::{ZEROS, erfcx, j0_zeros, j1_zeros, newton};
use std::f64::consts::PI;
use std::sync::OnceLock;

/// The direction along which a body is thin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Coordinate {
    /// Between two faces; half the thickness counts.
    Slab,
    /// Round; the radius counts.
    Cylinder,
    /// A ball; the radius counts.
    Sphere,
}

impl Coordinate {
    /// Surface over volume, in units of one over the half size.
    pub const fn surface(self) -> f64 {
        match self {
            Self::Slab => 1.0,
            Self::Cylinder => 2.0,
            Self::Sphere => 3.0,
        }
    }

    /// X(z): cos z, J₀(z), sin z / z.
    pub fn wave(self, z: f64) -> f64 {
        match self {
            Self::Slab => z.cos(),
            Self::Cylinder => libm::j0(z),
            Self::Sphere if z.abs() < 1e-4 => 1.0 - z * z / 6.0,
            Self::Sphere => z.sin() / z,
        }
    }

    /// −X′(z): sin z, J₁(z), (sin z − z cos z) / z².
    fn slope(self, z: f64) -> f64 {
        match self {
            Self::Slab => z.sin(),
            Self::Cylinder => libm::j1(z),
            Self::Sphere => (z.sin() - z * z.cos()) / (z * z),
        }
    }
}

/// What happens at the surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Surface {
    /// Held at 0 at once.
    Held,
    /// Losing through a film of this Biot number, `h · half / k`; above 0.
    Film(f64),
}

/// One term: root, value and slope of the wave at the surface, norm.
#[derive(Debug, Clone, Copy)]
struct Term {
    root: f64,
    edge: f64,
    slope: f64,
    /// ∫₀¹ X² ξᵐ dξ
    norm: f64,
    /// ∫₀¹ X ξᵐ dξ
    whole: f64,
}

/// The terms of one direction under one surface condition.
#[derive(Debug, Clone)]
pub struct Modes {
    coordinate: Coordinate,
    surface: Surface,
    terms: Vec<Term>,
    /// Below this Fo the terms kept do not suffice.
    shortest: f64,
}

/// A profile written in the terms of some [`Modes`].
pub type Coefficients = Vec<f64>;

impl Modes {
    /// Terms enough for times from `shortest` (as Fo) on.
    pub fn new(coordinate: Coordinate, surface: Surface, shortest: f64) -> Self {
        // At least 24, so that the core is out of a thick wall's reach wherever the terms do not suffice.
        Self::with_terms(coordinate, surface, count(shortest).max(24))
    }

    /// As few terms as times from `shortest` on need. Such a set is for [`Modes::value`] at those times only.
    pub fn few(coordinate: Coordinate, surface: Surface, shortest: f64) -> Self {
        Self::with_terms(coordinate, surface, count(shortest))
    }

    /// The terms of a held surface, kept once made.
    pub fn held(coordinate: Coordinate) -> &'static Self {
        static KEPT: [OnceLock<Modes>; 3] = [const { OnceLock::new() }; 3];
        KEPT[coordinate as usize].get_or_init(|| Self::new(coordinate, Surface::Held, 1e-4))
    }

    fn with_terms(coordinate: Coordinate, surface: Surface, count: usize) -> Self {
        let terms: Vec<Term> = (1..=count).map(|n| term(coordinate, root(coordinate, surface, n))).collect();
        let last = terms[count - 1].root;
        Self { coordinate, surface, terms, shortest: 36.0 / (last * last) }
    }

    /// Adds `weight` times what is left after Fo of a uniform start to a profile's coefficients. False, with nothing added,
    /// for times so short that the terms do not suffice.
    pub fn add_left(&self, profile: &mut Coefficients, weight: f64, fo: f64) -> bool {
        if fo < self.shortest {
            return false;
        }
        profile.resize(self.terms.len(), 0.0);
        for (c, t) in profile.iter_mut().zip(&self.terms) {
            let decay = t.root * t.root * fo;
            if decay > 45.0 {
                break;
            }
            *c += weight * t.whole / t.norm * (-decay).exp();
        }
        true
    }

    /// The waves X(λₙξ) of the first `count` terms.
    pub fn waves(&self, xi: f64, count: usize) -> impl Iterator<Item = f64> + '_ {
        self.terms.iter().take(count).map(move |t| if xi == 0.0 { 1.0 } else { self.coordinate.wave(t.root * xi) })
    }

    /// The roots λₙ, rising.
    pub fn roots(&self) -> impl Iterator<Item = f64> + '_ {
        self.terms.iter().map(|t| t.root)
    }

    pub const fn surface(&self) -> Surface {
        self.surface
    }

    /// The coefficients Aₙ of a body that is 1 all through.
    pub fn uniform(&self) -> Coefficients {
        self.terms.iter().map(|t| t.whole / t.norm).collect()
    }

    /// Ages a profile by Fo, in place.
    pub fn age(&self, profile: &mut Coefficients, fo: f64) {
        for (c, t) in profile.iter_mut().zip(&self.terms) {
            *c *= (-t.root * t.root * fo).exp();
        }
    }

    /// Rewrites a profile of these modes in those of another surface condition on the same direction.
    pub fn rewrite(&self, profile: &Coefficients, into: &Self) -> Coefficients {
        into.terms
            .iter()
            .map(|m| {
                let sum: f64 = profile.iter().zip(&self.terms).map(|(c, l)| c * overlap(l, m)).sum();
                sum / m.norm
            })
            .collect()
    }

    /// A profile's value at ξ after a further Fo.
    pub fn value(&self, profile: &Coefficients, xi: f64, fo: f64) -> f64 {
        let mut sum = 0.0;
        for (c, t) in profile.iter().zip(&self.terms) {
            let decay = t.root * t.root * fo;
            if decay > 45.0 {
                break;
            }
            sum += c * (-decay).exp() * if xi == 0.0 { 1.0 } else { self.coordinate.wave(t.root * xi) };
        }
        sum
    }

    /// A profile's mean over the body after a further Fo.
    pub fn mean_value(&self, profile: &Coefficients, fo: f64) -> f64 {
        let k = self.coordinate.surface();
        let mut sum = 0.0;
        for (c, t) in profile.iter().zip(&self.terms) {
            let decay = t.root * t.root * fo;
            if decay > 45.0 {
                break;
            }
            sum += c * k * t.whole * (-decay).exp();
        }
        sum
    }

    /// What is left at ξ of a body that was 1 all through.
    pub fn left_at(&self, xi: f64, fo: f64) -> f64 {
        if fo <= 0.0 {
            return 1.0;
        }
        if fo < self.shortest {
            return self.wall_at(xi, fo);
        }
        let mut sum = 0.0;
        for t in &self.terms {
            let decay = t.root * t.root * fo;
            if decay > 45.0 {
                break;
            }
            let wave = if xi == 0.0 { 1.0 } else { self.coordinate.wave(t.root * xi) };
            sum += t.whole / t.norm * (-decay).exp() * wave;
        }
        sum.clamp(0.0, 1.0)
    }

    /// What is left on average of a body that was 1 all through.
    pub fn left(&self, fo: f64) -> f64 {
        if fo <= 0.0 {
            return 1.0;
        }
        if fo < self.shortest {
            return self.wall(fo);
        }
        let k = self.coordinate.surface();
        let mut sum = 0.0;
        for t in &self.terms {
            let decay = t.root * t.root * fo;
            if decay > 45.0 {
                break;
            }
            sum += k * t.whole * t.whole / t.norm * (-decay).exp();
        }
        sum.clamp(0.0, 1.0)
    }

    /// Crank eq. 3.13 and 3.35 for a thick wall, with the first term of the curvature.
    fn wall_at(&self, xi: f64, fo: f64) -> f64 {
        let depth = (1.0 - xi) / (2.0 * fo.sqrt());
        if depth > 6.0 {
            return 1.0;
        }
        let lost = match self.surface {
            Surface::Held => libm::erfc(depth),
            Surface::Film(bi) => {
                let z = depth + bi * fo.sqrt();
                libm::erfc(depth) - (-depth * depth).exp() * erfcx(z)
            }
        };
        let curved = match self.coordinate {
            Coordinate::Slab => 1.0,
            Coordinate::Cylinder => 1.0 / xi.sqrt(),
            Coordinate::Sphere => 1.0 / xi,
        };
        (1.0 - lost * curved).clamp(0.0, 1.0)
    }

    /// The same on average: exact for the slab and, held, for the sphere.
    fn wall(&self, fo: f64) -> f64 {
        let root = fo.sqrt();
        let through = 2.0 * root / PI.sqrt();
        let k = self.coordinate.surface();
        let lost = match (self.surface, self.coordinate) {
            (Surface::Held, Coordinate::Slab) => through,
            (Surface::Held, Coordinate::Cylinder) => 2.0 * through - fo - fo * root / (3.0 * PI.sqrt()),
            (Surface::Held, Coordinate::Sphere) => 3.0 * through - 3.0 * fo,
            (Surface::Film(bi), _) => k * (through - (1.0 - erfcx(bi * root)) / bi),
        };
        (1.0 - lost).clamp(0.0, 1.0)
    }
}

/// Terms that suffice from a Fo on.
fn count(shortest: f64) -> usize {
    (((40.0 / shortest.max(1e-9)).sqrt() / PI).ceil() as usize + 2).clamp(6, ZEROS)
}

fn term(coordinate: Coordinate, root: f64) -> Term {
    let (edge, slope) = (coordinate.wave(root), coordinate.slope(root));
    let norm = match coordinate {
        Coordinate::Slab => 0.5 * (1.0 + (2.0 * root).sin() / (2.0 * root)),
        Coordinate::Cylinder => 0.5 * (edge * edge + slope * slope),
        Coordinate::Sphere => (0.5 - (2.0 * root).sin() / (4.0 * root)) / (root * root),
    };
    Term { root, edge, slope, norm, whole: slope / root }
}

/// ∫₀¹ X(λξ) X(μξ) ξᵐ dξ, by Green's formula: (λ·slope_λ·edge_μ − μ·slope_μ·edge_λ) / (λ² − μ²).
fn overlap(l: &Term, m: &Term) -> f64 {
    let apart = l.root * l.root - m.root * m.root;
    if apart.abs() < 1e-9 * m.root * m.root {
        m.norm
    } else {
        (l.root * l.slope * m.edge - m.root * m.slope * l.edge) / apart
    }
}

/// The n-th root (from 1) of the surface condition: X(λ) = 0, or −λX′(λ)... = Bi·X(λ).
fn root(coordinate: Coordinate, surface: Surface, n: usize) -> f64 {
    let turn = n as f64 * PI;
    match (surface, coordinate) {
        (Surface::Held, Coordinate::Slab) => turn - 0.5 * PI,
        (Surface::Held, Coordinate::Cylinder) => j0_zeros()[n - 1],
        (Surface::Held, Coordinate::Sphere) => turn,
        (Surface::Film(bi), Coordinate::Slab) => {
            newton(|q| (q * q.sin() - bi * q.cos(), (1.0 + bi) * q.sin() + q * q.cos()), turn - PI, turn - 0.5 * PI)
        }
        (Surface::Film(bi), Coordinate::Cylinder) => {
            let low = if n == 1 { 0.0 } else { j1_zeros()[n - 2] };
            newton(
                |q| {
                    let (j0, j1) = (libm::j0(q), libm::j1(q));
                    (q * j1 - bi * j0, q * j0 + bi * j1)
                },
                low,
                j0_zeros()[n - 1],
            )
        }
        (Surface::Film(bi), Coordinate::Sphere) => {
            // (1 − Bi) sin q = q cos q, divided by q in the first interval so that 0 itself is no root.
            let f = |q: f64| {
                let (s, c) = q.sin_cos();
                ((1.0 - bi) * s - q * c, q * s - bi * c)
            };
            newton(f, if n == 1 { 1e-6 } else { turn - PI }, turn)
        }
    }
}
