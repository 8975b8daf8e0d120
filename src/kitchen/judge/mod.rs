//! What is suspicious or dangerous in a kitchen that could be read.
//!
//! Refused: a plan from it would be meaningless or dangerous. Warned: only suspicious. Limits come from the house
//! limits in force; the marks of what is plausible (a joint of 12 kg, a bag of 10 %) are common practice, no source.

mod cure;
mod dates;
mod joints;
mod kit;
mod names;
mod overrides;
mod people;

use super::path::Path;
use super::read::Severity;
use super::{Kitchen, Limits};
use chrono::NaiveDate;

/// Something said about a kitchen, naming the thing.
#[derive(Debug, Clone, PartialEq)]
pub struct Issue {
    pub path: Path,
    pub severity: Severity,
    pub says: String,
    pub hint: Option<String>,
    /// It hangs on other parts of the file, so it is not said when some of them could not be read.
    pub needs_all: bool,
}

impl Issue {
    fn hint(&mut self, hint: impl Into<String>) -> &mut Self {
        self.hint = Some(hint.into());
        self
    }

    fn needs_all(&mut self) -> &mut Self {
        self.needs_all = true;
        self
    }
}

/// Everything there is to say about `kitchen`, read on the day `today` in the kitchen's own zone.
pub fn judge(kitchen: &Kitchen, today: NaiveDate) -> Vec<Issue> {
    let mut judge = Judge { kitchen, today, limits: Limits::shipped().clone(), issues: Vec::new() };
    judge.names();
    judge.overrides();
    judge.cure();
    judge.joints();
    judge.kit();
    judge.people();
    judge.dates();
    judge.issues
}

struct Judge<'k> {
    kitchen: &'k Kitchen,
    today: NaiveDate,
    limits: Limits,
    issues: Vec<Issue>,
}

/// Bounds of what is possible, and of what is usual.
struct Bounds {
    possible: (f64, f64),
    usual: (f64, f64),
    unit: &'static str,
}

/// Bounds from what is possible and what is usual; an infinite usual bound says nothing on that side.
const fn bounds(possible: (f64, f64), usual: (f64, f64), unit: &'static str) -> Bounds {
    Bounds { possible, usual, unit }
}

impl<'k> Judge<'k> {
    fn refuse(&mut self, path: Path, says: impl Into<String>) -> &mut Issue {
        self.add(Severity::Refused, path, says.into())
    }

    fn warn(&mut self, path: Path, says: impl Into<String>) -> &mut Issue {
        self.add(Severity::Warned, path, says.into())
    }

    fn add(&mut self, severity: Severity, path: Path, says: String) -> &mut Issue {
        let at = self.issues.len();
        self.issues.push(Issue { path, severity, says, hint: None, needs_all: false });
        &mut self.issues[at]
    }

    /// Refuses a value outside what is possible and warns of one outside what is usual.
    fn within(&mut self, path: Path, what: &str, value: f64, b: &Bounds) -> Option<&mut Issue> {
        let unit = b.unit;
        if !(value >= b.possible.0 && value <= b.possible.1) {
            let says = format!(
                "{what} is {}{unit}; it has to be between {} and {}{unit}",
                num(value),
                num(b.possible.0),
                num(b.possible.1)
            );
            return Some(self.refuse(path, says));
        }
        if value < b.usual.0 || value > b.usual.1 {
            let (mark, side) = if value < b.usual.0 { (b.usual.0, "under") } else { (b.usual.1, "over") };
            let says = format!("{what} is {}{unit}: {side} {}{unit} is unusual", num(value), num(mark));
            return Some(self.warn(path, says));
        }
        None
    }

    fn any_ham(&self) -> bool {
        self.kitchen.joints.iter().any(|j| j.outcome.is_ham())
    }
}

/// A number as a person would write it: as typed when that is short, else to three decimals.
fn num(x: f64) -> String {
    if x.abs() >= 1e9 {
        return format!("{x:e}");
    }
    let exact = format!("{x}");
    if exact.len() <= 8 {
        return exact;
    }
    let text = format!("{x:.3}");
    let short = text.trim_end_matches('0').trim_end_matches('.');
    if short == "-0" { "0".to_owned() } else { short.to_owned() }
}
