//! The book: what it records, and that it loses nothing.

mod record;
mod support;
