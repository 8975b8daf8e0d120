//! Other small files of the program, read by the rules of a kitchen file: fields with where they stand.

use super::finding::{Finding, Severity, place};
use super::syntax;
use super::tree::{Flaw, Kind, Node};
use crate::kitchen::path::Path;
use serde_json::Value;
use std::ops::Range;

/// A field of the one object in the file; a value that is no list is a list of one.
#[derive(Debug, Clone)]
pub struct PlainField {
    pub name: String,
    pub name_span: Range<usize>,
    pub values: Vec<(Value, Range<usize>)>,
}

/// A refusal about some bytes of a text.
pub fn finding(text: &str, span: Range<usize>, says: String, hint: String) -> Finding {
    let (line, column) = place(text, span.start);
    let hint = Some(hint);
    Finding {
        severity: Severity::Refused,
        says,
        found: None,
        expected: None,
        hint,
        path: Path::ROOT,
        span,
        line,
        column,
    }
}

/// The fields of the one object in a text; `whole` says what the file should be.
///
/// # Errors
/// The text is not JSON (comments and trailing commas are welcome), is empty, or is no object.
pub fn fields(text: &str, whole: &str) -> Result<Vec<PlainField>, Box<Finding>> {
    let parsed =
        syntax::parse(text).map_err(|e| Box::new(finding(text, e.span, e.says.to_owned(), e.hint.to_owned())))?;
    let refuse = |span, says: String, hint: &str| Err(Box::new(finding(text, span, says, hint.to_owned())));
    let Some(value) = parsed.value else { return refuse(0..0, "the file is empty".into(), whole) };
    let mut flaws = Vec::new();
    let tree = Node::from_ast(&value, &mut flaws);
    match flaws.into_iter().next() {
        Some(Flaw::Twice { name, again, .. }) => {
            return refuse(again, format!("\"{name}\" is written twice"), "keep one of the two");
        }
        Some(Flaw::Number { span, .. }) => {
            return refuse(span, "the number is too large".into(), whole);
        }
        None => {}
    }
    match tree {
        Some(Node { kind: Kind::Fields(fields, _), .. }) => Ok(fields
            .into_iter()
            .map(|f| {
                let values = match f.node.kind {
                    Kind::List(items) => items.iter().map(|n| (n.to_value(), n.span.clone())).collect(),
                    _ => vec![(f.node.to_value(), f.node.span.clone())],
                };
                PlainField { name: f.name, name_span: f.name_span, values }
            })
            .collect()),
        Some(node) => refuse(node.span.start..node.span.start + 1, "this is no object".into(), whole),
        None => refuse(0..0, "this is no object".into(), whole),
    }
}
