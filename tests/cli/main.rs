//! The binary as a person runs it.

mod sums;
