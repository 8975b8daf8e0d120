//! Roots by bracketing, zeros of Bessel functions, and the scaled error function.

use std::sync::OnceLock;

/// The root of `f` between `a` and `b`, to the last few bits; `None` unless `f` has opposite signs there.
pub fn bisect(f: impl Fn(f64) -> f64, a: f64, b: f64) -> Option<f64> {
    bisect_to(f, a, b, 0.0)
}

/// The root of `f` between `a` and `b`, to within `tolerance`; `None` unless `f` has opposite signs there.
///
/// Regula falsi with the Illinois step, halving whenever three steps have not halved the bracket, so that it always ends.
pub fn bisect_to(f: impl Fn(f64) -> f64, a: f64, b: f64, tolerance: f64) -> Option<f64> {
    let (mut a, mut b) = (a, b);
    let (mut fa, mut fb) = (f(a), f(b));
    if fa == 0.0 {
        return Some(a);
    }
    if fb == 0.0 {
        return Some(b);
    }
    if fa.is_nan() || fb.is_nan() || fa * fb > 0.0 {
        return None;
    }
    let mut side = 0;
    let mut checkpoint = (b - a).abs();
    for i in 0..300 {
        let width = (b - a).abs();
        let least = tolerance.max(2.0 * f64::EPSILON * a.abs().max(b.abs()));
        if width <= least {
            break;
        }
        let mut halve = false;
        if i % 3 == 2 {
            halve = width > 0.5 * checkpoint;
            checkpoint = width;
        }
        let secant = (fa * b - fb * a) / (fa - fb);
        // A step that all but lands on an end is moved in by half the tolerance, so that the bracket closes from both sides.
        let inner = 0.5 * least;
        let (low, high) = (a.min(b) + inner, a.max(b) - inner);
        let x = if halve || secant.is_nan() || low >= high { 0.5 * (a + b) } else { secant.clamp(low, high) };
        let fx = f(x);
        if fx == 0.0 {
            return Some(x);
        }
        if fx * fb > 0.0 {
            (b, fb) = (x, fx);
            if side == -1 {
                fa *= 0.5;
            }
            side = -1;
        } else if fx * fa > 0.0 {
            (a, fa) = (x, fx);
            if side == 1 {
                fb *= 0.5;
            }
            side = 1;
        } else {
            return None;
        }
    }
    Some(0.5 * (a + b))
}

/// The root between `a` and `b`, where `f` (giving value and slope) has opposite signs: Newton, halving whenever a step
/// would leave the bracket. Always returns a point of the bracket.
pub fn newton(f: impl Fn(f64) -> (f64, f64), a: f64, b: f64) -> f64 {
    let rising = f(a).0 < 0.0;
    let (mut low, mut high) = (a, b);
    let mut x = 0.5 * (a + b);
    for _ in 0..80 {
        let (y, slope) = f(x);
        if (y < 0.0) == rising {
            low = x;
        } else {
            high = x;
        }
        let step = x - y / slope;
        if (step - x).abs() <= 4.0 * f64::EPSILON * x.abs() {
            return step;
        }
        x = if step > low && step < high { step } else { 0.5 * (low + high) };
    }
    x
}

/// How many zeros of each Bessel function are kept; also the most terms any series here uses.
pub const ZEROS: usize = 260;

/// Zeros of J₀, from McMahon's expansion and Newton steps. J₀ and J₁ are those of the `libm` crate.
pub fn j0_zeros() -> &'static [f64] {
    static Z: OnceLock<Vec<f64>> = OnceLock::new();
    Z.get_or_init(|| {
        (1..=ZEROS)
            .map(|n| {
                let b = (n as f64 - 0.25) * std::f64::consts::PI;
                polish(b + 1.0 / (8.0 * b) - 124.0 / (3.0 * (8.0 * b).powi(3)), |x| libm::j0(x) / -libm::j1(x))
            })
            .collect()
    })
}

/// Zeros of J₁, 0 left out.
pub fn j1_zeros() -> &'static [f64] {
    static Z: OnceLock<Vec<f64>> = OnceLock::new();
    Z.get_or_init(|| {
        (1..=ZEROS)
            .map(|n| {
                let b = (n as f64 + 0.25) * std::f64::consts::PI;
                polish(b - 3.0 / (8.0 * b) + 36.0 / (3.0 * (8.0 * b).powi(3)), |x| {
                    libm::j1(x) / (libm::j0(x) - libm::j1(x) / x)
                })
            })
            .collect()
    })
}

fn polish(mut x: f64, step: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..6 {
        x -= step(x);
    }
    x
}

/// `exp(z²) · erfc(z)` for z ≥ 0 without overflow.
pub fn erfcx(z: f64) -> f64 {
    if z < 20.0 {
        (z * z).exp() * libm::erfc(z)
    } else {
        let q = 1.0 / (2.0 * z * z);
        (1.0 - q * (1.0 - 3.0 * q * (1.0 - 5.0 * q))) / (z * std::f64::consts::PI.sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_a_bracketed_root_and_refuses_an_unbracketed_one() {
        assert!((bisect(|x| x * x - 2.0, 0.0, 2.0).unwrap() - std::f64::consts::SQRT_2).abs() < 1e-15);
        assert!((bisect(|x| x.powi(9), -1.0, 1.5).unwrap()).abs() < 1e-15);
        assert_eq!(bisect(|x| x * x + 1.0, -1.0, 1.0), None);
        assert_eq!(bisect(|_| f64::NAN, -1.0, 1.0), None);
        assert!((newton(|x| (x * x - 2.0, 2.0 * x), 0.0, 9.0) - std::f64::consts::SQRT_2).abs() < 1e-15);
    }

    // Abramowitz & Stegun Table 9.5 (from memory): j0,1 = 2.4048255577, j0,20 = 62.0484691902, j1,1 = 3.8317059702.
    #[test]
    fn bessel_zeros() {
        assert!((j0_zeros()[0] - 2.404_825_557_7).abs() < 1e-10);
        assert!((j0_zeros()[19] - 62.048_469_190_2).abs() < 1e-9);
        assert!((j1_zeros()[0] - 3.831_705_970_2).abs() < 1e-10);
        assert!(j0_zeros().iter().all(|&z| libm::j0(z).abs() < 1e-14));
    }

    #[test]
    fn scaled_error_function_joins_up() {
        assert_eq!(erfcx(0.0), 1.0);
        assert!((erfcx(19.999_999) / erfcx(20.000_001) - 1.0).abs() < 1e-6);
    }
}
