//! The screen: draws the state, hears keys, mouse, clock and planner, and changes nothing itself.

pub mod draw;
mod input;
mod places;
mod run;
mod terminal;
mod theme;

pub use places::Places;
pub use run::{Asker, Keeper, Kept, Planner, Session, run};
pub use theme::{Depth, Ink, Theme};
