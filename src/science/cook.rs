//! Simmer and bake by the rule of thumb.
//!
//! Source: common practice, no source (published advice runs from 40 to 45 min/kg up to "2 to 5 h by size"). A ham is done
//! when a skewer slides through; that comes well after its core is hot enough, so the plan goes by this rule and the
//! physics in [`super::conduction`] is shown beside it.

use super::conduction::{Body, Course, Stage};
use super::properties::{Composition, unfrozen};
use super::size::Size;
use super::{Answer, Note, Refused, Spread, within};
use crate::units::{Elapsed, Mass, Temperature};

/// The slow end of a simmer over the plan for it, from practice (judgement; a kitchen's own records are better).
pub const SLOW: f64 = 1.35;

/// The caution that goes with anything cooked.
pub const CORE: &str = "probe every joint at its thickest: at least 70 °C for 2 minutes, or 75 °C for 30 seconds, \
     whatever the clock says";

/// Simmer at 80 to 90 °C, minutes: `50 · w + 30`, at least 120, by the heaviest joint in the pot; slow end ×1.35.
pub fn simmer(weight: Mass) -> Spread {
    let planned = (50.0 * weight.as_kg() + 30.0).max(120.0);
    Spread { planned: Elapsed::minutes(planned), slow: Elapsed::minutes(planned * SLOW) }
}

/// [`simmer`] with its notes; refuses a weight outside 0.3 to 12 kg.
///
/// # Errors
/// When the weight is not one a whole joint can have.
pub fn simmer_answer(weight: Mass) -> Result<Answer<Spread>, Refused> {
    let kg = within("weight", weight.as_kg(), 0.3, 12.0, "kg")?;
    let mut a = Answer::new(simmer(weight))
        .with(Note::assumes("80 to 90 °C, barely moving, from the first simmer; common practice, no source"))
        .with(Note::caution(CORE));
    if kg > 6.0 {
        a = a.with(Note::flag("the rule is usual up to 6 kg"));
    }
    Ok(a)
}

/// Surroundings of a joint in the pot: cold water brought to a simmer, then the simmer (film of stirred hot water, judgement).
/// The rise is taken as six steps.
pub fn stages(heat_up: Elapsed, simmer: Temperature) -> Vec<Stage> {
    const STEPS: u32 = 6;
    let cold = 12.0;
    let mut all: Vec<Stage> = (0..STEPS)
        .map(|i| {
            let f = (f64::from(i) + 0.5) / f64::from(STEPS);
            let around = Temperature::celsius(cold + f * (simmer.as_celsius() - cold));
            Stage { around, film: 400.0, lasts: Elapsed::minutes(heat_up.as_minutes() / f64::from(STEPS)) }
        })
        .collect();
    all.push(Stage { around: simmer, film: 400.0, lasts: Elapsed::days(30.0) });
    all
}

/// Raw pork in the pot: its course from a fridge-cold start.
///
/// # Errors
/// Refuses sizes and temperatures outside the formulas' range.
pub fn course(size: Size, start: Temperature, stages: &[Stage]) -> Result<Course, Refused> {
    within("diameter", size.diameter.as_cm(), 2.0, 40.0, "cm")?;
    let p = unfrozen(Composition::LEAN_PORK, Temperature::celsius(45.0))?;
    Course::new(&Body { shape: size.into(), conductivity: p.conductivity, diffusivity: p.diffusivity() }, start, stages)
}

/// Time from pot-up to a core temperature by exact conduction, the heat-up included. A ham is tender well after this.
///
/// # Errors
/// Refuses sizes outside the formulas' range and a core target the simmer cannot bring about.
pub fn core_by_physics(
    size: Size,
    start: Temperature,
    heat_up: Elapsed,
    simmer: Temperature,
    target: Temperature,
) -> Result<Answer<Elapsed>, Refused> {
    let simmering = within("simmer", simmer.as_celsius(), 60.0, 100.0, "°C")?;
    within("heat-up", heat_up.as_minutes(), 1.0, 600.0, "min")?;
    if target.as_celsius() >= simmering {
        return Err(Refused::new(
            format!("a simmer at {} °C never brings the core to {} °C", simmer.tenths(), target.tenths()),
            "a hotter simmer or a lower target",
        ));
    }
    let time = course(size, start, &stages(heat_up, simmer))?
        .core_reaches(target, Elapsed::days(2.0))
        .ok_or_else(|| Refused::new("the core does not get there in two days", "check the sizes"))?;
    let mut a = Answer::new(time);
    if let Some(n) = under_the_core_limit(target) {
        a = a.with(n);
    }
    Ok(a.with(Note::assumes("a boneless cylinder of lean pork, one temperature at the start, well covered with water"))
        .with(Note::limit("thermal properties from composition, 72 % water", "Choi & Okos 1986", "2026-11"))
        .with(Note::flag("this is when the core is hot; a skewer slides through well after it"))
        .with(Note::caution(CORE)))
}

/// The core temperature that is asked for, held for two minutes. Source: UK FSA advice.
pub const CORE_LIMIT: Temperature = Temperature::celsius(70.0);

/// What to say of a core target under [`CORE_LIMIT`]: reaching it is outside the limit, and how long the stricter published
/// table would have it held.
pub fn under_the_core_limit(target: Temperature) -> Option<Note> {
    if target >= CORE_LIMIT {
        return None;
    }
    let held = super::lethality::tables()
        .iter()
        .filter(|t| t.country == "UK")
        .filter_map(|t| t.seconds(target))
        .fold(None, |most: Option<f64>, s| Some(most.map_or(s, |m| m.max(s))));
    let then = match held {
        Some(s) => format!("the stricter UK table asks {:.0} minutes held there", s / 60.0),
        None => "no UK table counts anything under 60 °C".to_owned(),
    };
    Some(Note::flag(format!("OUTSIDE the core limit: {} °C is under 70 °C for 2 minutes; {then}", target.tenths())))
}
