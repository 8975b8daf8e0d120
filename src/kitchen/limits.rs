//! House limits: every safety and quality limit, each with its source, country and date, in one editable file.
//!
//! The shipped values are `limits/default.json`, read by the same code that reads a person's own. A kitchen file may
//! override any of them by name; an override must say where it comes from.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// How binding a limit is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// Never overstepped by a plan.
    Safety,
    /// May be overstepped, at a stated cost.
    Quality,
    /// Convenience.
    Wish,
}

/// One house limit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Limit {
    /// What it is asked for and overridden by; see docs/kitchen-file.md.
    pub id: String,
    /// In [`Limit::unit`].
    pub value: f64,
    /// "min", "h", "°C", "cm", "%", "mg/kg", or "x" for a plain factor.
    pub unit: String,
    pub kind: Kind,
    /// The limit as one plain clause.
    pub says: String,
    /// Who says so; "common practice" where nobody has published it.
    pub source: String,
    /// Where it holds.
    pub country: String,
    /// Date on which the value was last looked at.
    pub as_of: String,
}

/// One limit changed by a person.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Override {
    /// The value, in the limit's own unit.
    pub value: f64,
    /// Who says so: an inspector, a book, your own records.
    pub source: String,
    /// Where it holds.
    #[serde(default)]
    pub country: String,
    /// When it was last looked at.
    #[serde(default)]
    pub as_of: String,
}

/// A person's own limits, by id.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Overrides(pub BTreeMap<String, Override>);

impl Overrides {
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

/// All limits in force in a kitchen.
#[derive(Debug, Clone, PartialEq)]
pub struct Limits(BTreeMap<String, Limit>);

#[derive(Deserialize)]
struct File {
    #[allow(dead_code)]
    about: String,
    limits: Vec<Limit>,
}

impl Limits {
    /// The limits shipped with the program.
    pub fn shipped() -> &'static Self {
        static SHIPPED: OnceLock<Limits> = OnceLock::new();
        SHIPPED.get_or_init(|| {
            let file: File =
                serde_json::from_str(include_str!("limits/default.json")).expect("the shipped limits file is valid");
            Limits(file.limits.into_iter().map(|l| (l.id.clone(), l)).collect())
        })
    }

    /// The shipped limits with a kitchen's own laid over them. Unknown ids are left for the file checker to name.
    pub fn with(overrides: &Overrides) -> Self {
        let mut all = Self::shipped().clone();
        for (id, o) in &overrides.0 {
            if let Some(l) = all.0.get_mut(id) {
                l.value = o.value;
                l.source.clone_from(&o.source);
                if !o.country.is_empty() {
                    l.country.clone_from(&o.country);
                }
                if !o.as_of.is_empty() {
                    l.as_of.clone_from(&o.as_of);
                }
            }
        }
        all
    }

    /// A limit by its id.
    ///
    /// # Panics
    /// When the program asks for an id that the shipped file does not hold; a test walks every id in use.
    pub fn get(&self, id: &str) -> &Limit {
        self.0.get(id).unwrap_or_else(|| panic!("no house limit is called {id}"))
    }

    /// Whether there is a limit of this id, for ids that a person wrote.
    pub fn contains(&self, id: &str) -> bool {
        self.0.contains_key(id)
    }

    /// A limit's value, in its own unit.
    ///
    /// # Panics
    /// As [`Limits::get`].
    pub fn value(&self, id: &str) -> f64 {
        self.get(id).value
    }

    /// The value of a limit that is kept in minutes, rounded down to whole ones and never below zero.
    ///
    /// # Panics
    /// As [`Limits::get`].
    pub fn minutes(&self, id: &str) -> i32 {
        self.value(id).clamp(0.0, 1e8) as i32
    }

    /// All of them, in the order of their ids.
    pub fn iter(&self) -> impl Iterator<Item = &Limit> {
        self.0.values()
    }
}
