//! Getting a hot ham to 5 °C at its core: by the trade's planning figures, and by exact conduction.
//!
//! Source of the planning figures: judgement scaled from published chilling trials; no single source. The two are shown side
//! by side; where they differ the slower is the one to plan a limit by.

use super::conduction::{Body, Course, Stage};
use super::properties::{Composition, Properties, unfrozen};
use super::size::Size;
use super::{Answer, Note, Refused, Spread, within};
use crate::units::{Elapsed, Length, Mass, Temperature};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A way to get a hot ham cold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ChillMeans {
    /// Bagged in iced water for two to three hours, then a fridge.
    IcedWater,
    /// Forced very cold air.
    Blast,
    /// A cold room or outhouse at 4 °C or under, with a fan.
    ColdRoom,
    /// A home fridge, still air.
    Fridge,
}

impl ChillMeans {
    pub const ALL: [Self; 4] = [Self::IcedWater, Self::Blast, Self::ColdRoom, Self::Fridge];

    pub const fn words(self) -> &'static str {
        match self {
            Self::IcedWater => "bagged in iced water, then a fridge",
            Self::Blast => "blast chiller",
            Self::ColdRoom => "cold room with a fan",
            Self::Fridge => "home fridge, still air",
        }
    }
}

/// The temperature at the core that counts as cold.
pub const COLD: Temperature = Temperature::celsius(5.0);

/// Diameter cm, then hours (low, high) for fridge, cold room, iced water, blast: whole boneless ham from about 75 °C.
type Row = (f64, [(f64, f64); 4]);
const TABLE: [Row; 5] = [
    (10.0, [(6.0, 7.0), (5.0, 5.0), (3.5, 3.5), (3.0, 3.0)]),
    (12.0, [(9.0, 11.0), (6.5, 6.5), (5.0, 6.0), (4.5, 4.5)]),
    (13.0, [(11.0, 13.0), (8.0, 8.0), (6.0, 7.0), (5.5, 5.5)]),
    (14.5, [(14.0, 16.0), (9.5, 9.5), (8.0, 9.0), (6.5, 6.5)]),
    (16.0, [(17.0, 19.0), (11.0, 12.0), (10.0, 11.0), (8.0, 8.0)]),
];

/// Hours (low, high) by the planning table. Between its rows straight lines; outside it scaled by the diameter squared
/// from the nearest row.
fn table(means: ChillMeans, d: f64) -> (f64, f64) {
    let column = match means {
        ChillMeans::Fridge => 0,
        ChillMeans::ColdRoom => 1,
        ChillMeans::IcedWater => 2,
        ChillMeans::Blast => 3,
    };
    let scale = |row: &Row| {
        let f = (d / row.0).powi(2);
        (row.1[column].0 * f, row.1[column].1 * f)
    };
    let last = &TABLE[TABLE.len() - 1];
    if d <= TABLE[0].0 {
        return scale(&TABLE[0]);
    }
    if d >= last.0 {
        return scale(last);
    }
    let i = TABLE.iter().rposition(|r| r.0 <= d).unwrap_or(0).min(TABLE.len() - 2);
    let (a, b) = (&TABLE[i], &TABLE[i + 1]);
    let x = (d - a.0) / (b.0 - a.0);
    let mix = |p: f64, q: f64| p + x * (q - p);
    (mix(a.1[column].0, b.1[column].0), mix(a.1[column].1, b.1[column].1))
}

/// Time from about 75 °C to 5 °C at the core by the planning table: the middle of its range as planned, its high end as
/// the slow end, and never less than a tenth over its low end: a single figure gets that, and a thicker ham is not quicker.
pub fn by_rule(means: ChillMeans, diameter: Length) -> Spread {
    let (low, high) = table(means, diameter.as_cm().max(0.0));
    let planned = (low + high) / 2.0;
    let slow = high.max(1.1 * low);
    Spread { planned: Elapsed::hours(planned), slow: Elapsed::hours(slow) }
}

/// [`by_rule`] with its notes.
///
/// # Errors
/// Refuses a diameter outside 4 to 25 cm.
pub fn by_rule_answer(means: ChillMeans, diameter: Length) -> Result<Answer<Spread>, Refused> {
    let d = within("diameter", diameter.as_cm(), 4.0, 25.0, "cm")?;
    let mut a = Answer::new(by_rule(means, diameter))
        .with(Note::assumes(
            "a whole boneless ham from about 75 °C at the core; planning figures, judgement scaled from trials",
        ))
        .with(Note::caution(CAUTION));
    if !(10.0..=16.0).contains(&d) {
        a = a.with(Note::flag("outside the table's 10 to 16 cm: scaled by the thickness squared from its nearest row"));
    }
    Ok(a)
}

/// Cooked, cured ham: what the water and salt leave (common practice, no source).
pub const COOKED_HAM: Composition = Composition { water: 0.66, protein: 0.22, fat: 0.09, ash: 0.03 };

/// Properties of cooked ham halfway down its cooling.
pub fn cooked_ham() -> Properties {
    unfrozen(COOKED_HAM, Temperature::celsius(40.0)).unwrap_or(Properties {
        density: 1060.0,
        specific_heat: 3450.0,
        conductivity: 0.48,
    })
}

/// Surroundings and films for each means: what the air or water does at the surface of a ham. Judgement, no source; about what
/// published trials need (a rolled joint in moving 0 °C air, and in 0 °C water).
pub fn stages(means: ChillMeans) -> Vec<Stage> {
    let last = Elapsed::days(30.0);
    let stage = |around, film, lasts| Stage { around: Temperature::celsius(around), film, lasts };
    match means {
        // Slack iced water through a bag, stirred now and then; then a fridge.
        ChillMeans::IcedWater => vec![stage(0.5, 80.0, Elapsed::hours(2.5)), stage(3.5, 10.0, last)],
        ChillMeans::Blast => vec![stage(-2.0, 30.0, last)],
        ChillMeans::ColdRoom => vec![stage(3.0, 20.0, last)],
        ChillMeans::Fridge => vec![stage(3.5, 10.0, last)],
    }
}

/// The course of temperatures of a ham of this size, from `start` all through.
///
/// # Errors
/// Refuses sizes and temperatures outside the formulas' range.
pub fn course(size: Size, start: Temperature, stages: &[Stage]) -> Result<Course, Refused> {
    within("diameter", size.diameter.as_cm(), 2.0, 40.0, "cm")?;
    let p = cooked_ham();
    Course::new(&Body { shape: size.into(), conductivity: p.conductivity, diffusivity: p.diffusivity() }, start, stages)
}

/// The slow end: films three quarters as good and a diffusivity a tenth lower (tables of ham lie that much under what its
/// composition gives).
///
/// # Errors
/// As [`course`].
pub fn slow_course(size: Size, start: Temperature, stages: &[Stage]) -> Result<Course, Refused> {
    let slower: Vec<Stage> = stages.iter().map(|s| Stage { film: 0.75 * s.film, ..*s }).collect();
    Ok(course(size, start, &slower)?.at_pace(0.9))
}

/// Time from `start` to [`COLD`] at the core by exact conduction through a finite cylinder; see [`slow_course`] for its slow
/// end.
///
/// # Errors
/// Refuses sizes outside the formulas' range, and surroundings that never bring it to 5 °C within ten days.
pub fn by_physics(means: ChillMeans, size: Size, start: Temperature) -> Result<Answer<Spread>, Refused> {
    by_physics_in(&stages(means), size, start)
}

/// [`by_physics`] for surroundings of one's own.
///
/// # Errors
/// As [`by_physics`].
pub fn by_physics_in(stages: &[Stage], size: Size, start: Temperature) -> Result<Answer<Spread>, Refused> {
    let time = |course: Course| {
        course.core_reaches(COLD, Elapsed::days(10.0)).ok_or_else(|| {
            Refused::new("it never comes to 5 °C that way", "colder surroundings, iced water, or cut it up")
        })
    };
    let (planned, slow) = (time(course(size, start, stages)?)?, time(slow_course(size, start, stages)?)?);
    Ok(Answer::new(Spread { planned, slow: Elapsed::minutes(slow.as_minutes().max(planned.as_minutes())) })
        .with(Note::assumes(
            "a boneless cylinder, one temperature all through at the start, surroundings that hold theirs",
        ))
        .with(Note::limit(
            "thermal properties from composition, 66 % water",
            "Choi & Okos 1986; surface films are judgement",
            "2026-11",
        ))
        .with(Note::caution(CAUTION)))
}

/// Heat given up by a hot ham on its way down, about 0.05 kWh a kilogram (common practice, no source).
pub fn heat_kwh(weight: Mass) -> f64 {
    0.05 * weight.as_kg()
}

/// The caution that goes with every chill.
pub const CAUTION: &str = "start within 90 minutes of the oven; probe the core of the thickest joint and log it; \
     if it is not at 5 °C by the limit the plan names, act at once: cut it up, more ice; past the limit throw it out";
