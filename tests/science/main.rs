//! The sums against the world outside: published tables, definitions, and general-purpose libraries.
//!
//! Each check names its source. "Own arithmetic" means the expected number was worked out apart from this program from the
//! published formula; "common practice, no source" means just that.

mod brine;
mod cooling;
mod diffusion;
mod heat;
mod keeping;
mod lethality;
mod nitrite;
mod readings;
mod reference;
mod rules;

/// Fails unless `got` is within `tolerance` of `want`.
#[track_caller]
pub fn near(what: &str, got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{what}: got {got}, want {want} ± {tolerance}");
}
