//! Nudges: what is due, a simulated year, and the loop against real and broken notification servers.

mod due;
mod fixture;
mod year;
