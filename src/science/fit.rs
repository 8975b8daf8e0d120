//! From a few probe readings to the time a target is reached, with a band.
//!
//! The size gives a first guess of the whole curve (exact conduction). What is not known about this joint, this probe and
//! this kitchen is three numbers: how fast heat moves in it, how well its surface loses heat, and how long ago it began.
//! Each has a stated prior spread. Every reading moves them by least squares (Gauss–Newton to the most likely values), and
//! the curvature there gives the band: wide from the size alone, narrower with each reading.
//!
//! Source: ordinary Bayesian non-linear least squares; the prior spreads are judgement.

use super::conduction::{Body, Course, Stage};
use super::readings::Reading;
use super::shape::Shape;
use super::size::Size;
use super::{Answer, Note, Refused};
use crate::units::{Elapsed, Temperature};
use serde::Serialize;

/// Prior spread (one standard deviation): logarithm of the diffusivity, of the film, minutes of start.
const SPREAD: [f64; 3] = [0.15, 0.35, 15.0];
/// The first of them when no size is known.
const SPREAD_NO_SIZE: f64 = 0.6;
/// Probe and its placing, °C (one standard deviation).
const PROBE: f64 = 0.7;
/// Half the width of a 90 % band, in standard deviations.
const NINETY: f64 = 1.645;

/// The joint a log belongs to.
#[derive(Debug, Clone, PartialEq)]
pub struct Subject {
    /// When not known, a joint of 13 cm is taken and the band is much wider.
    pub size: Option<Size>,
    /// W/mK
    pub conductivity: f64,
    /// m²/s
    pub diffusivity: f64,
    /// Surroundings in order, from about the first reading on.
    pub stages: Vec<Stage>,
}

/// When the target is reached, minutes after the first reading.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Forecast {
    pub expected: Elapsed,
    /// Ends of the 90 % band.
    pub soonest: Elapsed,
    pub latest: Elapsed,
    /// How many readings it rests on.
    pub readings: usize,
    /// Root mean square of what the curve misses the readings by, °C.
    pub off_by: f64,
    /// True when the log itself already shows the target reached.
    pub reached: bool,
    /// Expected within [`SIGHT`] of the last reading.
    pub in_sight: bool,
    /// The late end of the band is within [`SIGHT`] of the last reading; when it is not, `latest` says only "later".
    pub late_in_sight: bool,
}

/// How far past its last reading a forecast says a time: no joint cools or cooks for longer, and the band beyond is empty.
pub const SIGHT: Elapsed = Elapsed::hours(48.0);

/// A fitted curve and its forecast.
#[derive(Debug, Clone)]
pub struct Fitted {
    pub forecast: Forecast,
    course: Course,
    shift: f64,
}

impl Fitted {
    /// The fitted curve, by the time since the first reading.
    pub fn core(&self, t: Elapsed) -> Temperature {
        self.course.core(Elapsed::minutes(t.as_minutes() + self.shift))
    }
}

/// Readings that no curve follows stretch the band without end; past this it says nothing more.
const LATEST: Elapsed = Elapsed::days(30.0);

type V3 = [f64; 3];

impl Subject {
    fn course(&self, start: Temperature, p: &V3) -> Result<Course, Refused> {
        let size = self
            .size
            .unwrap_or(Size { diameter: crate::units::Length::cm(13.0), length: crate::units::Length::cm(18.2) });
        let stages: Vec<Stage> = self.stages.iter().map(|s| Stage { film: s.film * p[1].exp(), ..*s }).collect();
        let body = Body {
            shape: Shape::from(size),
            conductivity: self.conductivity,
            diffusivity: self.diffusivity * p[0].exp(),
        };
        Course::new(&body, start, &stages)
    }

    fn spread(&self) -> V3 {
        [if self.size.is_some() { SPREAD[0] } else { SPREAD_NO_SIZE }, SPREAD[1], SPREAD[2]]
    }
}

fn model(course: &Course, shift: f64, readings: &[Reading]) -> Vec<f64> {
    readings.iter().map(|r| course.core(Elapsed::minutes(r.at.as_minutes() + shift)).as_celsius()).collect()
}

/// The inverse of a symmetric positive 3 × 3, by elimination.
fn inverse(mut a: [V3; 3]) -> [V3; 3] {
    let mut b = UNIT;
    for i in 0..3 {
        let pivot = a[i][i];
        let (from_a, from_b) = (a[i].map(|x| x / pivot), b[i].map(|x| x / pivot));
        for j in 0..3 {
            let f = if j == i { 0.0 } else { a[j][i] };
            a[j] = if j == i { from_a } else { std::array::from_fn(|k| a[j][k] - f * from_a[k]) };
            b[j] = if j == i { from_b } else { std::array::from_fn(|k| b[j][k] - f * from_b[k]) };
        }
    }
    b
}

const UNIT: [V3; 3] = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
/// Steps of the finite differences.
const STEP: V3 = [0.02, 0.02, 0.5];
/// How far ahead a target is looked for.
const HORIZON: Elapsed = Elapsed::days(4.0);

/// Fits the readings and forecasts when the core reaches the target, cooling or heating.
///
/// # Errors
/// Refuses no readings, a target the surroundings cannot bring about, and subjects outside the formulas' range.
pub fn forecast(subject: &Subject, readings: &[Reading], target: Temperature) -> Result<Answer<Fitted>, Refused> {
    let Some(first) = readings.first() else {
        return Err(Refused::new("no readings", "give at least one, such as 10:30=41.5"));
    };
    let goal = target.as_celsius();
    let (start, spread) = (first.temperature, subject.spread());
    let falling = start.as_celsius() > goal;
    let ends_at = subject.stages.last().map_or(f64::NAN, |s| s.around.as_celsius());
    if falling && ends_at >= goal || !falling && ends_at <= goal {
        return Err(Refused::new(
            format!(
                "surroundings at {} °C never bring the core to {} °C",
                Temperature::celsius(ends_at).tenths(),
                target.tenths()
            ),
            "check the temperature around it",
        ));
    }

    let mut p = [0.0; 3];
    let mut course = subject.course(start, &p)?;
    let mut covariance = UNIT;
    let mut miss = 0.0;
    for round in 0..6 {
        let at = model(&course, p[2], readings);
        let nudged = |i: usize| -> Result<Vec<f64>, Refused> {
            let mut q = p;
            q[i] += STEP[i];
            Ok(match i {
                0 => model(&course.at_pace(STEP[0].exp()), q[2], readings),
                1 => model(&subject.course(start, &q)?, q[2], readings),
                _ => model(&course, q[2], readings),
            })
        };
        let slopes = [nudged(0)?, nudged(1)?, nudged(2)?];
        let (mut a, mut g) = ([[0.0; 3]; 3], [0.0; 3]);
        miss = 0.0;
        for (n, r) in readings.iter().enumerate() {
            let off = r.temperature.as_celsius() - at[n];
            miss += off * off;
            let s: V3 = std::array::from_fn(|i| (slopes[i][n] - at[n]) / STEP[i] / PROBE);
            for i in 0..3 {
                g[i] += s[i] * off / PROBE;
                for j in 0..3 {
                    a[i][j] += s[i] * s[j];
                }
            }
        }
        for i in 0..3 {
            a[i][i] += spread[i].powi(-2);
            g[i] -= p[i] * spread[i].powi(-2);
        }
        covariance = inverse(a);
        let step: V3 = std::array::from_fn(|i| (0..3).map(|j| covariance[i][j] * g[j]).sum::<f64>());
        // A step of more than twice the prior spread is cut: far out the straight-line picture is no guide.
        let cut = (0..3).map(|i| step[i].abs() / (2.0 * spread[i])).fold(1.0, f64::max);
        for i in 0..3 {
            p[i] += step[i] / cut;
        }
        course = subject.course(start, &p)?;
        let small = (0..3).all(|i| step[i].abs() < 0.02 * spread[i]);
        if small || round == 5 {
            break;
        }
    }

    let when = |q: &V3, c: &Course| c.core_reaches(target, HORIZON).map(|t| (t.as_minutes() - q[2]).max(0.0));
    let Some(expected) = when(&p, &course) else {
        return Err(Refused::new(
            "the target is not reached within four days",
            "check the readings and the temperature around it",
        ));
    };
    // Whichever the target is timed from, the band is on the logarithm of the time still to go.
    let last = readings[readings.len() - 1].at.as_minutes();
    let to_go = |t: f64| (t - last).max(1.0).ln();
    let mut slope = [0.0; 3];
    for i in 0..3 {
        let mut q = p;
        q[i] += STEP[i];
        let moved = match i {
            0 => when(&q, &course.at_pace(STEP[0].exp())),
            1 => when(&q, &subject.course(start, &q)?),
            _ => when(&q, &course),
        };
        slope[i] = moved.map_or(0.0, |t| (to_go(t) - to_go(expected)) / STEP[i]);
    }
    let n = readings.len();
    let off_by = (miss / n as f64).sqrt();
    // Readings the curve cannot follow widen the band.
    let strain = (off_by / PROBE).max(1.0);
    let variance: f64 = (0..3).map(|i| (0..3).map(|j| slope[i] * covariance[i][j] * slope[j]).sum::<f64>()).sum();
    let width = NINETY * variance.max(0.0).sqrt() * strain;
    let left = to_go(expected).exp();
    let crossed = crossing(readings, goal, falling);
    let forecast = match crossed {
        Some(t) => Forecast {
            expected: Elapsed::minutes(t),
            soonest: Elapsed::minutes(t),
            latest: Elapsed::minutes(t),
            readings: n,
            off_by,
            reached: true,
            in_sight: true,
            late_in_sight: true,
        },
        None => Forecast {
            expected: Elapsed::minutes(last + left),
            soonest: Elapsed::minutes(last + left * (-width).exp()),
            latest: Elapsed::minutes(last + (left * width.exp()).min(left.max(LATEST.as_minutes()))),
            readings: n,
            off_by,
            reached: false,
            in_sight: left <= SIGHT.as_minutes(),
            late_in_sight: left * width.exp() <= SIGHT.as_minutes(),
        },
    };
    let mut answer = Answer::new(Fitted { forecast, course, shift: p[2] })
        .with(Note::assumes("one probe at the core, surroundings that keep their temperature; the band is nine chances in ten if they do"))
        .with(Note::caution("a forecast is no reading: probe again before you act on it"));
    if subject.size.is_none() {
        answer = answer.with(Note::flag(
            "no size given: a 13 cm joint is taken and the band is wide until several readings are in",
        ));
    }
    if n < 3 && crossed.is_none() {
        answer = answer.with(Note::flag("fewer than three readings: this is mostly the size speaking"));
    }
    if off_by > 3.0 * PROBE {
        answer = answer.with(Note::flag(format!(
            "the readings lie {off_by:.1} °C off any curve of such a joint: was the probe moved, or the surroundings changed?"
        )));
    }
    Ok(answer)
}

/// When the readings themselves pass the target, on straight lines.
fn crossing(readings: &[Reading], goal: f64, falling: bool) -> Option<f64> {
    let past = |t: f64| if falling { t <= goal } else { t >= goal };
    readings.windows(2).find(|w| past(w[1].temperature.as_celsius())).map(|w| {
        let (a, b) = (w[0].temperature.as_celsius(), w[1].temperature.as_celsius());
        let f = if a == b { 1.0 } else { ((a - goal) / (a - b)).clamp(0.0, 1.0) };
        w[0].at.as_minutes() + f * (w[1].at.as_minutes() - w[0].at.as_minutes())
    })
}
