//! The problem as neutral JSON, for other solvers to read; the format is the one of [`Problem`] itself with a name and a
//! version in front.
//!
//! ```json
//! { "format": "scheduling-problem", "version": 1, "problem": {
//!   "horizon": 1440,
//!   "activities": [{ "label": "simmer", "duration": 90, "group": 0, "release": 0, "latest": 1440, "pinned": null, "reason": 0 }],
//!   "lags": [{ "from": 0, "to": 1, "least": 90, "reason": 0 }],
//!   "holds": [{ "from": { "activity": 0, "offset": 0 }, "to": [{ "activity": 0, "offset": 90 }],
//!              "choose": [0, 1], "amount": 1, "same": null, "reason": 0 }],
//!   "families": [0],
//!   "within": [], "resources": [], "calendars": [], "levels": [], "reasons": [] } }
//! ```
//!
//! Every field is documented where [`Problem`] is; what a rule means in the odd cases stands in [`mod@super::check`].

use super::Problem;
use serde::{Deserialize, Serialize};

pub const FORMAT: &str = "scheduling-problem";
pub const VERSION: u32 = 1;

#[derive(Serialize, Deserialize)]
struct Envelope<P> {
    format: String,
    version: u32,
    problem: P,
}

/// The problem as JSON text, on lines of its own.
///
/// # Errors
/// When the text cannot be made; a valid problem always can.
pub fn to_json(problem: &Problem) -> serde_json::Result<String> {
    serde_json::to_string(&Envelope { format: FORMAT.to_owned(), version: VERSION, problem })
}

/// Reads a problem back. The result is not yet validated.
///
/// # Errors
/// When the text is no such JSON, or of another format or version.
pub fn from_json(text: &str) -> serde_json::Result<Problem> {
    let read: Envelope<Problem> = serde_json::from_str(text)?;
    if read.format != FORMAT || read.version != VERSION {
        let says = format!("expected {FORMAT} version {VERSION}, found {} version {}", read.format, read.version);
        return Err(serde::de::Error::custom(says));
    }
    Ok(read.problem)
}
