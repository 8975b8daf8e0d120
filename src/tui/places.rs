//! What a frame drew where; the pointer asks this and nothing else.

use ratatui::layout::{Position, Rect};

use crate::app::{Axis, Target};

/// The places of one frame, later ones on top.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Places {
    places: Vec<(Rect, Place)>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Place {
    Target(Target),
    /// Ground whose moment depends on the column.
    Time {
        row: Option<usize>,
        axis: Axis,
    },
}

impl Places {
    pub fn add(&mut self, area: Rect, target: Target) {
        self.places.push((area, Place::Target(target)));
    }

    /// A stretch of ground on the time axis.
    pub fn add_time(&mut self, area: Rect, row: Option<usize>, axis: Axis) {
        self.places.push((area, Place::Time { row, axis }));
    }

    /// What is at a position of the screen.
    pub fn at(&self, position: Position) -> Option<Target> {
        self.places.iter().rev().find(|(area, _)| area.contains(position)).map(|(area, place)| match place {
            Place::Target(t) => *t,
            Place::Time { row, axis } => {
                Target::Ground { row: *row, at: axis.time(i64::from(position.x.saturating_sub(area.x))) }
            }
        })
    }

    /// Every place that leads to a target, for tests and for moving by key later.
    pub fn targets(&self) -> impl Iterator<Item = (Rect, Target)> + '_ {
        self.places.iter().filter_map(|(area, place)| match place {
            Place::Target(t) => Some((*area, *t)),
            Place::Time { .. } => None,
        })
    }
}
