//! Reads a kitchen file and tells everything that is wrong with it at once, each with line, column and a hint.
//!
//! [`read`] takes the nouns out of the text; [`Reading::judge`] then says what is suspicious or dangerous in what was
//! read. Bad input never panics.

mod finding;
mod nouns;
mod plain;
mod syntax;
mod tree;
mod words;

pub use finding::{Finding, Severity, printable, told, unseen};
pub use plain::{PlainField, fields, finding};
pub use words::{near, nearest};

use super::Kitchen;
use super::judge::judge;
use super::path::Path;
use chrono::NaiveDate;
use finding::place;
use std::ops::Range;
use tree::{Flaw, Kind, Node};

/// A file larger than this is no kitchen file.
const LARGEST: usize = 8 << 20;

/// What came of reading a kitchen file.
#[derive(Debug, Clone)]
pub struct Reading {
    /// The kitchen, when nothing was refused.
    pub kitchen: Option<Kitchen>,
    pub findings: Vec<Finding>,
    file: String,
    text: String,
    tree: Option<Node>,
    /// What could be read in spite of errors, for finding more of them.
    partial: Option<Kitchen>,
}

/// Reads the nouns of a kitchen file. `file` is only used to name it in messages.
///
/// The kitchen is there when every field could be read; call [`Reading::judge`] before planning from it.
pub fn read(file: &str, text: &str) -> Reading {
    // Some editors put a byte-order mark in front; it is no part of the kitchen.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reading = Reading {
        kitchen: None,
        findings: Vec::new(),
        file: file.to_owned(),
        text: text.to_owned(),
        tree: None,
        partial: None,
    };
    if text.len() > LARGEST {
        let says = format!("a file of {} MB is no kitchen file", text.len() >> 20);
        reading.refuse(0..0, says, None);
        return reading;
    }
    let value = match syntax::parse(text) {
        Ok(parsed) => parsed.value,
        Err(e) => {
            reading.refuse(e.span, e.says.to_owned(), Some(e.hint.to_owned()));
            return reading;
        }
    };
    let Some(value) = value else {
        let hint = "`turnday new` writes a file to start from".to_owned();
        reading.refuse(0..0, "the file is empty".to_owned(), Some(hint));
        return reading;
    };
    let mut flaws = Vec::new();
    let tree = Node::from_ast(&value, &mut flaws);
    for flaw in flaws {
        match flaw {
            Flaw::Twice { name, first, again } => {
                let line = place(text, first.start).0;
                let hint = format!("it first stands in line {line}; keep one of the two");
                reading.refuse(again, format!("`{name}` is written twice"), Some(hint));
            }
            Flaw::Number { text, span } => {
                reading.refuse(span, format!("the number {} is too large", printable(&text)), None);
            }
        }
    }
    let Some(mut tree) = tree else { return reading };
    if let Kind::Fields(fields, _) = &mut tree.kind {
        fields.retain(|f| f.name != "$schema");
    }
    let partial = nouns::nouns(&mut tree, text, &mut reading.findings);
    reading.tree = Some(tree);
    reading.kitchen = if reading.refused() { None } else { partial.clone() };
    reading.partial = partial;
    reading.sort();
    reading
}

impl Reading {
    /// Adds what is suspicious or dangerous in the kitchen itself, as of `today`; see [`judge`].
    ///
    /// When some of the file could not be read, the rest is judged all the same, but nothing is said that hangs on
    /// what is missing.
    #[must_use]
    pub fn judge(mut self, today: NaiveDate) -> Self {
        let (Some(kitchen), Some(tree)) = (self.partial.take(), self.tree.take()) else { return self };
        let torn = self.refused();
        for issue in judge(&kitchen, today) {
            // What an object lacks may be what could not be read in it.
            if torn && (issue.needs_all || tree.deepest(&issue.path).0.lost(None)) {
                continue;
            }
            let span = span_of(&tree, &issue.path);
            let (line, column) = place(&self.text, span.start);
            self.findings.push(Finding {
                severity: issue.severity,
                says: issue.says,
                found: None,
                expected: None,
                hint: issue.hint,
                path: tree.as_written(&issue.path),
                span,
                line,
                column,
            });
        }
        if self.refused() {
            self.kitchen = None;
        }
        self.tree = Some(tree);
        self.partial = Some(kitchen);
        self.sort();
        self
    }

    /// Whether no plan may be made from the file.
    pub fn refused(&self) -> bool {
        self.findings.iter().any(|f| f.severity == Severity::Refused)
    }

    /// The findings as text beside the lines they are about; empty when there are none.
    pub fn to_text(&self, colour: bool) -> String {
        finding::told(&self.findings, &self.file, &self.text, colour, "no plan is made from this file")
    }

    /// The findings as data.
    pub fn to_json(&self) -> serde_json::Value {
        finding::to_json(&self.findings, &self.file)
    }

    fn refuse(&mut self, span: Range<usize>, says: String, hint: Option<String>) {
        let (line, column) = place(&self.text, span.start);
        let path = Path::ROOT;
        let severity = Severity::Refused;
        self.findings.push(Finding { severity, says, found: None, expected: None, hint, path, span, line, column });
    }

    fn sort(&mut self) {
        self.findings.sort_by_key(|f| (f.severity, f.span.start));
    }
}

/// The bytes a path is about: the value there, the name of the object's first line when it is long, or the nearest thing above.
fn span_of(tree: &Node, path: &Path) -> Range<usize> {
    let (node, _) = tree.deepest(path);
    match &node.kind {
        Kind::Scalar(_) => node.span.clone(),
        // A whole object is pointed at by its name, if it has one.
        Kind::Fields(..) => node.field("name").map_or_else(|| opening(node), |f| f.node.span.clone()),
        Kind::List(_) => opening(node),
    }
}

fn opening(node: &Node) -> Range<usize> {
    node.span.start..(node.span.start + 1).min(node.span.end)
}
