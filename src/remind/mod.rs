//! Nudges: the right reminder at the right moment, once. `due` says what; the rest brings it to a person.

pub mod due;
pub mod settings;
pub mod words;

pub use due::{Due, Key, Nudge, Record, Rung, Told, due};
pub use settings::Settings;
