//! The screen: what it draws, what it hears, and that it survives anything.

mod alarms;
mod door;
mod every;
mod fixture;
mod forms;
mod frames;
mod golden;
mod jobs;
mod keys;
mod plots;
mod questions;
mod states;
mod svg;
mod sweep;
mod terminal;
mod views;
mod walk;
