//! The real program from outside: every command and flag, exit codes, pipes, bad files, and documents that tell the truth.

mod book;
mod chance;
mod commands;
mod documents;
mod files;
mod keys;
mod late_turns;
mod replan;
mod show;
mod sums;
mod support;
mod trouble;
