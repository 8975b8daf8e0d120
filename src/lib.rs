//! `turnday` works out a kitchen's bulk cure: several joints of pork, each with its own clock, that share tubs, cold
//! space, pots, one oven, a packer, a freezer, and the few hours in which somebody is at home.
//!
//! The rooms and the direction of the arrows between them are described in `docs/architecture.md`.

pub mod clock;
pub mod units;

pub mod kitchen;
pub mod schedule;
pub mod science;

pub mod process;

pub mod book;
pub mod plan;

pub mod sheets;

pub mod app;

pub mod cli;
pub mod publish;
pub mod remind;
pub mod tui;
