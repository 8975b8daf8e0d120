//! From joints, kit and recipe to a graph of tasks with limits and reasons, and from there to a scheduling problem.
//!
//! [`arrangement`] holds the decisions who shares what; [`graph`] builds the dependency graph for one such decision;
//! [`emit`] turns it into the solver's neutral terms and keeps the way back.

pub mod arrangement;
mod axis;
pub mod bridge;
mod cold;
mod curing;
pub mod durations;
pub mod emit;
pub mod facts;
pub mod fit;
pub mod graph;
pub mod hours;
pub mod intervals;
mod lines;
mod task;
pub mod trouble;

pub use axis::Axis;
pub use task::{Holding, Kind, Link, Task, TaskGraph, Thing, Until, Watch};
