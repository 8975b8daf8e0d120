//! The solver against the world outside: the plain checker, brute force, and published project-scheduling instances.

mod generator;
mod sound;
