//! Why there is no plan, in plain words.

use crate::schedule::{Answer, Outcome, Problem, Reason, ReasonId, check};
use serde::Serialize;

#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "refused")]
pub enum Refusal {
    /// Something does not fit, whatever is shared: which measure binds and by how much.
    NoRoom { says: Vec<String> },
    /// Proven: these cannot hold together.
    Impossible {
        because: Vec<Reason>,
        /// What did not fit on the way there: tubs that could not stand in the cold together.
        #[serde(skip_serializing_if = "Vec::is_empty")]
        beside: Vec<String>,
    },
    /// No plan was found in the time given, and none was ruled out; these stood in the way most often.
    NotFound {
        in_the_way: Vec<Reason>,
        #[serde(skip_serializing_if = "Vec::is_empty")]
        beside: Vec<String>,
    },
    /// The search offered a plan that the independent judge refused. A fault of the program, not of the kitchen.
    Judged { says: String },
}

impl Refusal {
    pub fn no_room(says: String) -> Self {
        Self::NoRoom { says: vec![says] }
    }

    /// The answer of a search, if it has one that the checker passes.
    ///
    /// # Errors
    /// What was found instead. The search is not believed: what the checker refuses is never shown.
    pub(super) fn unless_found(problem: &Problem, outcome: Outcome) -> Result<Answer, Self> {
        let reasons = |ids: &[ReasonId]| ids.iter().map(|r| problem.reasons[r.index()].clone()).collect();
        match outcome {
            Outcome::Found(answer) => match check(problem, &answer.solution).first() {
                Some(v) => Err(Self::Judged { says: v.says.clone() }),
                None => Ok(answer),
            },
            Outcome::Impossible { because } => Err(Self::Impossible { because: reasons(&because), beside: Vec::new() }),
            Outcome::Unknown { in_the_way } => {
                Err(Self::NotFound { in_the_way: reasons(&in_the_way), beside: Vec::new() })
            }
            Outcome::Unusable { errors } => {
                Err(Self::no_room(errors.first().map_or_else(String::new, |e| format!("{}: {}", e.at, e.says))))
            }
        }
    }

    /// The same with what did not fit on the way told beside it.
    pub(super) fn beside(self, says: Option<String>) -> Self {
        match self {
            Self::Impossible { because, mut beside } => {
                beside.extend(says);
                Self::Impossible { because, beside }
            }
            Self::NotFound { in_the_way, mut beside } => {
                beside.extend(says);
                Self::NotFound { in_the_way, beside }
            }
            other => other,
        }
    }

    /// Smaller means less final; of several refusals the least final one is told.
    pub(super) fn mildness(&self) -> u8 {
        match self {
            Self::NotFound { .. } => 0,
            Self::Judged { .. } => 1,
            Self::Impossible { .. } => 2,
            Self::NoRoom { .. } => 3,
        }
    }

    /// The headline and its reasons, a line each.
    pub fn lines(&self) -> Vec<String> {
        let with = |head: &str, reasons: &[Reason], beside: &[String]| {
            let mut out = vec![head.to_owned()];
            out.extend(reasons.iter().map(|r| format!("  {} ({})", r.says, r.source)));
            if !beside.is_empty() {
                out.push("What did not fit, so that one load had to wait for another:".to_owned());
                out.extend(beside.iter().map(|s| format!("  {s}")));
            }
            out
        };
        match self {
            Self::NoRoom { says } => {
                let mut out = vec!["There is no plan, because something does not fit:".to_owned()];
                out.extend(says.iter().map(|s| format!("  {s}")));
                out
            }
            Self::Impossible { because, beside } => {
                with("There is no plan: these cannot hold together.", because, beside)
            }
            Self::NotFound { in_the_way, beside } => {
                with("No plan was found, and none was ruled out. What stood in the way most often:", in_the_way, beside)
            }
            Self::Judged { says } => vec![
                "A plan was worked out and the second judge refused it, so it is not shown:".to_owned(),
                format!("  {says}"),
                "  This is a fault of the program; please report it with the kitchen file.".to_owned(),
            ],
        }
    }
}
