//! From joints, kit and recipe to a graph of tasks with limits and reasons, and from there to a scheduling problem.

mod task;

pub use task::Kind;
