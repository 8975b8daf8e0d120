//! What the screen's frame asks of every view: its shape, and what a place in it is about. See `src/app/view.rs` for how a
//! view is added.
use crate::app::state::State;
use crate::app::view::{About, Shape, Spot, View};

/// How many lines and steps across a view has, and where its cursor starts.
pub fn shape(_state: &State, view: View) -> Shape {
    match view {
        // The timeline moves by its own rules.
        View::Timeline => Shape::default(),
        _ => Shape::default(),
    }
}

/// What a place in a view is about.
pub fn about(_state: &State, view: View, _spot: Spot) -> About {
    match view {
        View::Timeline => About::Nothing,
        _ => About::Nothing,
    }
}

/// The place in a view that is about the same thing, when it has one.
pub fn find(_state: &State, view: View, about: &About) -> Option<Spot> {
    match (view, about) {
        (_, About::Nothing) | (View::Timeline, _) => None,
        _ => None,
    }
}
