//! The planner end to end: against the trade's worked scenarios, on random kitchens, and on the surprises.

mod binds;
mod chance;
mod compared;
mod cores;
mod kitchens;
mod mutants;
mod outside;
mod plain;
mod random;
mod random_replans;
mod reference;
mod replans;
mod support;
mod surprises;
mod surprises_met;
mod trouble;
