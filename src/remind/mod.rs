//! Nudges: the right reminder at the right moment, once. [`due`] says what; the rest brings it to a person.
//!
//! [`due`](due::due) is pure. [`run`] looks whenever something [`wake`]s it, brings what is due through the [`desktop`] or, failing
//! that, the terminal, and notes it in its [`store`] and in the book.

#[cfg(all(unix, not(target_os = "macos")))]
pub mod desktop;
#[cfg(not(all(unix, not(target_os = "macos"))))]
#[path = "desktop_elsewhere.rs"]
pub mod desktop;
pub mod due;
pub mod install;
pub mod popup;
pub mod run;
pub mod settings;
pub mod store;
pub mod wake;
mod words;

pub use due::{Due, Key, Nudge, Record, Rung, Told, due};
pub use settings::Settings;
