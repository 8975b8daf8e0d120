//! Weights and temperatures as people say them, with what is odd about them.

use super::NotUnderstood;
use crate::units::{Mass, Temperature};

/// A quantity, and what a person should look at again.
#[derive(Debug, Clone, PartialEq)]
pub struct Said<T> {
    pub value: T,
    /// Why it may be a slip of the finger; and whether it is so far off that it wants saying twice.
    pub doubt: Option<(String, bool)>,
}

const WEIGHTS: &str = "\"3.4 kg\", \"3400 g\", \"7 lb 8 oz\", or \"3.4\" for kilograms";
const TEMPERATURES: &str = "\"7\", \"7 C\", \"45 F\"";

/// A decimal comma between figures becomes a point: "3,4 kg". With three figures behind it ("3,400 g") it may part thousands.
fn with_point(text: &str) -> Option<String> {
    let Some((a, b)) = text.split_once(',') else { return Some(text.to_owned()) };
    let digits = b.bytes().take_while(u8::is_ascii_digit).count();
    let whole = a.bytes().last().is_some_and(|c| c.is_ascii_digit());
    (whole && (1..=2).contains(&digits) && !b.contains(',')).then(|| format!("{a}.{b}"))
}

/// Reads a weight. With the weight that was expected, what is far from it is doubted: 26 for 2.6, pounds for kilograms.
///
/// # Errors
/// What was not understood.
pub fn weight(text: &str, expected: Option<Mass>) -> Result<Said<Mass>, NotUnderstood> {
    let fail = |says: &str| NotUnderstood { given: text.trim().to_owned(), says: says.to_owned(), examples: WEIGHTS };
    let low = text.trim().to_lowercase();
    let plain = with_point(&low).ok_or_else(|| fail("the comma may be a decimal or part thousands"))?;
    if plain.ends_with("stone") || plain.ends_with(" st") {
        return Err(fail("a stone is 14 lb"));
    }
    let value = Mass::parse(&plain).map_err(|_| fail("that is no weight"))?;
    let kg = value.as_kg();
    if kg <= 0.0 {
        return Err(fail("a weight is more than nothing"));
    }
    let bare = plain.parse::<f64>().is_ok();
    Ok(Said { value, doubt: doubt(kg, bare, expected) })
}

/// No joint of pork on a kitchen scale is heavier (a whole leg is 12 kg) or lighter than this, kg: common practice, no source.
const JOINT_KG: std::ops::RangeInclusive<f64> = 0.2..=14.0;

fn doubt(kg: f64, bare: bool, expected: Option<Mass>) -> Option<(String, bool)> {
    let about = |k: f64| format!("{} kg", (k * 100.0).round() / 100.0);
    let close = |k: f64| expected.is_some_and(|e| (k / e.as_kg() - 1.0).abs() < 0.35);
    let gross = !JOINT_KG.contains(&kg) || expected.is_some_and(|e| !(0.2..=5.0).contains(&(kg / e.as_kg())));
    let odd = gross || expected.is_some_and(|e| !(0.6..=1.6).contains(&(kg / e.as_kg())));
    if !odd {
        return None;
    }
    let instead = [(kg / 10.0, "a point left out"), (kg / 1000.0, "grams"), (kg * 10.0, "a point too far left")];
    let pounds = kg * 0.453_592_37;
    let guess = if bare && close(pounds) {
        format!("; if it is pounds, write {kg} lb")
    } else {
        let found = instead.iter().find(|(k, _)| if expected.is_some() { close(*k) } else { (0.8..6.0).contains(k) });
        found.map_or_else(String::new, |(k, why)| format!("; did you mean {} ({why})?", about(*k)))
    };
    let against = expected.map_or_else(String::new, |e| format!(" where {} was expected", about(e.as_kg())));
    Some((format!("{} is a strange weight{against}{guess}", about(kg)), gross))
}

/// Reads a temperature; a bare number is °C.
///
/// # Errors
/// What was not understood.
pub fn temperature(text: &str) -> Result<Temperature, NotUnderstood> {
    let fail =
        |says: &str| NotUnderstood { given: text.trim().to_owned(), says: says.to_owned(), examples: TEMPERATURES };
    let low = text.trim().to_lowercase().replace("degrees", "°").replace("deg", "°").replace("° ", "°");
    let low = low.replace("celsius", "c").replace("fahrenheit", "f").replace('−', "-");
    let plain = with_point(&low).ok_or_else(|| fail("the comma is not a decimal one"))?;
    Temperature::parse(&plain).map_err(|_| fail("that is no temperature"))
}
