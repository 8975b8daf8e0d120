//! The plan as a calendar, read by two independent parsers and kept on two real servers.

mod file;
mod python;
mod servers;
mod sync;
