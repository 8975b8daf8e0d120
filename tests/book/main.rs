//! The book: what it records, and that it loses nothing.

mod damage;
mod disk;
mod fuzz;
mod migrate;
mod packs;
mod places;
mod record;
mod saves;
mod stays;
mod support;
mod views;
mod words;
mod writers;
