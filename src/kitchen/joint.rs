//! A joint: one piece of pork with its own clock.

use super::Moment;
use crate::units::{Elapsed, Length, Mass};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a joint is to become.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// Simmered, baked, chilled, sliced and packed.
    HamSliced,
    /// Simmered, baked, chilled, packed whole.
    HamWhole,
    /// Cured raw, cut into steaks and packed.
    GammonSteaks,
    /// Cured raw, packed as a whole joint.
    GammonJoint,
}

impl Outcome {
    pub const fn is_ham(self) -> bool {
        matches!(self, Self::HamSliced | Self::HamWhole)
    }

    /// The trade's words for it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::HamSliced => "ham, sliced",
            Self::HamWhole => "ham, whole",
            Self::GammonSteaks => "gammon steaks",
            Self::GammonJoint => "gammon joint",
        }
    }
}

/// Where a joint came from, for trace.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Lot {
    /// Who it was bought from, or whose pig it was.
    pub supplier: String,
    /// Kill date, `YYYY-MM-DD`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub killed: Option<Moment>,
    /// Ear tag, slap mark or kill-sheet number.
    pub tag: String,
}

/// Time in the brine over what the rule asks for, after something went wrong.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ExtraCure {
    /// How much longer.
    pub time: Elapsed,
    /// What it is for: a turn that was late, a clock that started again.
    pub why: String,
}

/// One piece of pork.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Joint {
    /// What it is called everywhere in the plan; no two joints share a name.
    pub name: String,
    /// The cut, in the trade's words ("fillet end of leg"). For people only.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub cut: String,
    /// Expected weight, before it is on your own scale.
    pub weight: Mass,
    /// Weight on your own scale; when given, the plan goes by this one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weighed: Option<Mass>,
    /// Greatest diameter, measured; reckoned from the weight when left out (boneless, rolled, length 1.4 diameters).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub diameter: Option<Length>,
    /// Length, measured; reckoned from the weight when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length: Option<Length>,
    /// Whether the bone is in: it then takes longer in the brine.
    #[serde(default)]
    pub bone_in: bool,
    /// What it is to become.
    pub outcome: Outcome,
    /// When it must be ready: a ham through-cold and sliced or packed, a gammon in the freezer.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ready_by: Option<Moment>,
    /// When the pork is in the kitchen. Left out: the planner says when it must be collected.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub arrives: Option<Moment>,
    /// The tub it must go in, by name. Left out: the planner decides.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tub: Option<String>,
    /// The pot it must be simmered in, by name. Left out: the planner decides.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pot: Option<String>,
    /// Whether its packs go into the freezer. Left out: gammon always, ham unless it has a ready-by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub freeze: Option<bool>,
    /// Time in the brine over what the rule asks for, each with its cause. `turnday trouble` says how much.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub extra_cure: Vec<ExtraCure>,
    /// Why it should be lifted as soon as it is cured and cooked or packed at once: a warm brine, for one. Left out: it
    /// may wait as long as the house limits let it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_once: Option<String>,
    /// Whose it is, when several share a batch.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub owner: String,
    /// The batch it belongs to, when several are in the kitchen at once; `turnday book close` takes a finished one out.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub batch: String,
    /// Where it came from, for trace.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<Lot>,
    /// Free text, for people.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub notes: String,
}

/// No joint is heavier, kg: what is typed over it is a slip. House judgement, no source.
pub const HEAVIEST_KG: f64 = 25.0;

impl Joint {
    /// A boneless joint of which only this much is known.
    pub fn new(name: impl Into<String>, weight: Mass, outcome: Outcome) -> Self {
        Self {
            name: name.into(),
            cut: String::new(),
            weight,
            weighed: None,
            batch: String::new(),
            diameter: None,
            length: None,
            bone_in: false,
            outcome,
            ready_by: None,
            arrives: None,
            tub: None,
            pot: None,
            freeze: None,
            extra_cure: Vec::new(),
            at_once: None,
            owner: String::new(),
            lot: None,
            notes: String::new(),
        }
    }

    /// The weight the plan goes by: weighed if it was, else expected.
    pub fn planned_weight(&self) -> Mass {
        self.weighed.unwrap_or(self.weight)
    }

    /// Time in the brine over what the rule asks for.
    pub fn extra(&self) -> Elapsed {
        Elapsed::minutes(self.extra_cure.iter().map(|e| e.time.as_minutes().max(0.0)).sum())
    }

    /// Whether its packs are planned into the freezer.
    pub fn is_frozen(&self) -> bool {
        self.freeze.unwrap_or(!self.outcome.is_ham() || self.ready_by.is_none())
    }
}
