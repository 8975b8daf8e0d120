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
use serde::Serialize;

pub const FORMAT: &str = "scheduling-problem";
pub const VERSION: u32 = 1;

#[derive(Serialize)]
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
