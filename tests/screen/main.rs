//! The screen: what it draws, what it hears, and that it survives anything.

mod fixture;
mod forms;
mod frames;
mod golden;
mod keys;
mod plots;
mod questions;
mod svg;
mod sweep;
mod terminal;
mod views;
mod walk;
