//! Roots by bracketing.

/// The root of `f` between `a` and `b`, to the last few bits; `None` unless `f` has opposite signs there.
///
/// Regula falsi with the Illinois step, falling back on halving whenever it stalls, so it always ends.
pub fn bisect(f: impl Fn(f64) -> f64, a: f64, b: f64) -> Option<f64> {
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
    for i in 0..200 {
        let width = b - a;
        if width.abs() <= 2.0 * f64::EPSILON * a.abs().max(b.abs()) {
            break;
        }
        let secant = (fa * b - fb * a) / (fa - fb);
        // Every third step halves, so a hard function costs at most three times plain bisection.
        let x = if i % 3 == 2 || !(secant > a.min(b) && secant < a.max(b)) { 0.5 * (a + b) } else { secant };
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

#[cfg(test)]
mod tests {
    use super::bisect;

    #[test]
    fn finds_a_bracketed_root_and_refuses_an_unbracketed_one() {
        assert!((bisect(|x| x * x - 2.0, 0.0, 2.0).unwrap() - std::f64::consts::SQRT_2).abs() < 1e-15);
        assert!((bisect(|x| x.powi(9), -1.0, 1.5).unwrap()).abs() < 1e-15);
        assert_eq!(bisect(|x| x * x + 1.0, -1.0, 1.0), None);
        assert_eq!(bisect(|_| f64::NAN, -1.0, 1.0), None);
    }
}
