//! The planner end to end: against the trade's worked scenarios, on random kitchens, and on the surprises.

mod outside;
mod random;
mod reference;
mod support;
mod surprises;
