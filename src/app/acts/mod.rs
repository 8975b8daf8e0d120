//! What a person does, for every door: words to an act of the book, an act to a sentence, the record as rows.
//!
//! Nothing here writes: a door hands the act to [`crate::book::Book::record`].

mod again;
mod close;
mod doubt;
mod exchange;
mod follows;
mod history;
mod names;
mod plan;
mod tasks;
mod tell;
mod trouble;
mod trouble_words;
mod words;

pub use again::{history_of, said_since, turns_told};
pub(super) use again::{joints_of, longer};
pub use close::close;
pub use doubt::doubt;
pub use exchange::exchange;
pub use follows::follows;
pub use history::{Filter, Row, rows};
pub use plan::{accepted, lines_of, plan_of};
pub use tell::{moment, tell};
pub use trouble::{Case, ruling_lines};
pub use trouble_words::{FIGURES, and_told, case_of};
pub use words::{EXAMPLES, Meant, by, understand};

/// Words that could not be made an act.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unclear {
    pub says: String,
    /// What could be said instead.
    pub choices: Vec<String>,
}

impl Unclear {
    fn new(says: impl Into<String>) -> Self {
        Self { says: says.into(), choices: Vec::new() }
    }
}

impl std::fmt::Display for Unclear {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.says)?;
        for (i, choice) in self.choices.iter().enumerate() {
            write!(f, "{}{choice}", if i == 0 { "; try:\n  " } else { "\n  " })?;
        }
        Ok(())
    }
}

impl std::error::Error for Unclear {}

impl From<crate::kitchen::spoken::NotUnderstood> for Unclear {
    fn from(e: crate::kitchen::spoken::NotUnderstood) -> Self {
        Self::new(e.to_string())
    }
}
