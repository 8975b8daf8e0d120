//! The real program from outside: every command and flag, exit codes, pipes, bad files, and documents that tell the truth.

mod book;
mod commands;
mod documents;
mod files;
mod sums;
mod support;
