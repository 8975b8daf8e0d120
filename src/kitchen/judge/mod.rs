//! What is suspicious or dangerous in a kitchen that could be read.
//!
//! Refused: a plan from it would be meaningless or dangerous. Warned: only suspicious.

use super::Kitchen;
use super::path::Path;
use super::read::Severity;
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

/// Everything there is to say about `kitchen`, read on the day `today`.
pub fn judge(_kitchen: &Kitchen, _today: NaiveDate) -> Vec<Issue> {
    Vec::new()
}
