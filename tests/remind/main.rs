//! Nudges: what is due, a simulated year, and the loop against real and broken notification servers.

#[cfg(target_os = "linux")]
mod desktop;
mod due;
mod fixture;
mod steps;
mod year;
