//! The table of troubles as it stands in `table.json`: rows of bounds, words and effects.

use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// A figure of the table: itself, or the name of the house limit that holds it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(untagged)]
pub enum Figure {
    Number(f64),
    /// Id in the kitchen's limits.
    Limit(String),
    /// `true`: all of it.
    Whole(bool),
}

/// Bounds on one fact; every one that is given has to hold. A fact that is not known holds none but `known: false`.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Bounds {
    pub from: Option<Figure>,
    pub over: Option<Figure>,
    pub below: Option<Figure>,
    pub upto: Option<Figure>,
    pub known: Option<bool>,
}

/// What a row does to the plan, its figures not yet looked up.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Does {
    /// Hours more in the brine.
    ExtraCure(Figure),
    RestartClock,
    /// Share of the time that does not count as cure.
    NotCounted(f64),
    /// Strength of the new brine, as a share of the recipe.
    RenewBrine(Figure),
    JointLost,
    /// Lifted as soon as it is cured, cooked or packed at once; why.
    CookAtOnce(String),
    Weighed,
    ArrivesLater,
    SoakHours(f64),
    AsFreshPork,
    AddCureBalance,
}

/// A limit missed, and what was done about it, as the record has it.
#[derive(Debug, Clone, PartialEq, Deserialize, serde::Serialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Deviation {
    /// The limit that was missed.
    pub limit: String,
    /// The corrective action.
    pub corrective: String,
}

/// What a person does about it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// The plan goes on, with the effects named.
    CarryOn,
    /// Nothing goes on until the first action is done and asked about again.
    Hold,
    /// Fresh brine.
    Renew,
    /// Thrown out.
    Bin,
    /// A person looks, smells and decides; in doubt, throw it out.
    Decide,
}

#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Row {
    pub id: String,
    pub when: BTreeMap<String, Bounds>,
    pub says: String,
    pub first: String,
    /// Minutes within which the first action is done; 0 is at once.
    pub within: u32,
    pub verdict: Verdict,
    pub then: Vec<String>,
    pub effects: Vec<Does>,
    #[serde(default)]
    pub deviation: Option<Deviation>,
}

#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Asked {
    pub fact: String,
    pub says: String,
    /// What it is read as when nobody knows; left out: it stays unknown.
    #[serde(default)]
    pub worst: Option<f64>,
}

#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Trouble {
    pub kind: String,
    pub what: String,
    pub asks: Vec<Asked>,
    #[serde(default)]
    pub rows: Vec<Row>,
    /// The kind whose rows it shares.
    #[serde(default)]
    pub rows_of: Option<String>,
}

/// The whole table, with where it comes from.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Table {
    pub about: String,
    pub source: String,
    pub country: String,
    pub as_of: String,
    pub troubles: Vec<Trouble>,
}

impl Table {
    /// The shipped table.
    ///
    /// # Panics
    /// Never in a program that passed its tests: they read the file.
    pub fn shipped() -> &'static Self {
        static TABLE: OnceLock<Table> = OnceLock::new();
        TABLE.get_or_init(|| {
            serde_json::from_str(include_str!("table.json")).expect("the shipped table of troubles is valid")
        })
    }

    /// The rows of a kind: its own, or the ones it shares.
    pub fn rows<'a>(&'a self, trouble: &'a Trouble) -> &'a [Row] {
        trouble.rows_of.as_deref().and_then(|of| self.get(of)).map_or(&trouble.rows, |t| &t.rows)
    }

    pub fn get(&self, kind: &str) -> Option<&Trouble> {
        self.troubles.iter().find(|t| t.kind == kind)
    }
}
