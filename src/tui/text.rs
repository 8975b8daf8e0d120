//! Text measured in columns: the measures that the views are laid out with.

pub use crate::app::text::{fit, width, wrap};
