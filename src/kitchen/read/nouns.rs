//! From the tree to the nouns, finding as many errors as it can: each thing that cannot be read is told of, dropped,
//! and the rest is read again.

use super::finding::{Finding, Severity, place};
use super::tree::{Field, Kind, Node};
use super::words::{Trouble, hint_for_value, in_words, near, nearest, trouble};
use crate::kitchen::Kitchen;
use crate::kitchen::path::{Path, Step};
use crate::kitchen::schema;
use serde_json::{Value, json};
use std::ops::Range;

/// More errors than this in one file are not told one by one.
const MOST: usize = 100;

/// Reads the nouns out of the tree. The kitchen is what could be read, whole only when no finding was made.
pub fn nouns(tree: &mut Node, text: &str, findings: &mut Vec<Finding>) -> Option<Kitchen> {
    let mut told = lists_for_objects(tree, text, findings);
    if !matches!(tree.kind, Kind::Fields(..)) {
        let says = "this is not a kitchen".to_owned();
        let expected = schema::expected_at(&Path::ROOT);
        let found = Some(in_words(&tree.to_value()));
        let span = tree.span.start..(tree.span.start + 1).min(tree.span.end);
        findings.push(make(tree, &Path::ROOT, span, text, says, found, expected, None));
        return None;
    }
    // Each turn of the loop makes the tree smaller or mends a name; the bound is for a slip in that reasoning.
    for _ in 0..10_000 {
        let error = match serde_path_to_error::deserialize::<_, Kitchen>(tree.to_value()) {
            Ok(kitchen) => return Some(kitchen),
            Err(e) => e,
        };
        let path = from_serde(error.path(), tree);
        let (finding, go_on) = mend(tree, &path, trouble(&error.inner().to_string()), text);
        if let Some(f) = finding {
            findings.push(f);
            told += 1;
        }
        if !go_on || told >= MOST {
            return None;
        }
    }
    None
}

/// The deserializer would take a bare list for an object, its fields in order; nobody means that.
fn lists_for_objects(tree: &mut Node, text: &str, findings: &mut Vec<Finding>) -> usize {
    let mut told = 0;
    // From the back, so that what is dropped does not move what is still to come.
    for path in tree.lists().into_iter().rev() {
        let Some(expected) = schema::expected_at(&path).filter(|e| e.starts_with("an object")) else { continue };
        let Some(node) = tree.get(&path).filter(|_| !path.0.is_empty() && told < MOST) else { continue };
        let span = node.span.clone();
        let found = Some(in_words(&node.to_value()));
        let says = cannot_be_read(tree, &path);
        let hint = Some("each field stands with its name: { \"name\": value }".to_owned());
        findings.push(make(tree, &path, span, text, says, found, Some(expected), hint));
        tree.drop_at(&path);
        told += 1;
    }
    told
}

fn cannot_be_read(tree: &Node, path: &Path) -> String {
    match path.0.last() {
        Some(Step::Key(k)) => format!("`{k}` cannot be read"),
        Some(Step::At(i)) => {
            format!("item {} of this list cannot be read", tree.get(path).map_or(*i, |n| n.number) + 1)
        }
        None => "this is not a kitchen".to_owned(),
    }
}

/// The steps of serde's path that exist in the tree; it also names enum variants, which are fields here or nothing.
fn from_serde(path: &serde_path_to_error::Path, tree: &Node) -> Path {
    use serde_path_to_error::Segment;
    let mut out = Path::ROOT;
    for segment in path.iter() {
        let next = match segment {
            Segment::Seq { index } => out.at(*index),
            Segment::Map { key } => out.key(key),
            Segment::Enum { variant } => out.key(variant),
            Segment::Unknown => break,
        };
        if tree.get(&next).is_none() {
            break;
        }
        out = next;
    }
    out
}

/// Tells of one trouble and mends the tree so that reading can go on; false when there is nothing left to read.
fn mend(tree: &mut Node, path: &Path, trouble: Trouble, text: &str) -> (Option<Finding>, bool) {
    match trouble {
        Trouble::Unknown(name) => unknown_field(tree, path, &name, text),
        Trouble::Missing(name) => missing_field(tree, path, &name, text),
        Trouble::Word(word) => {
            // A word that picks a shape is a field of the object it stands in.
            let at = if tree.get(&path.key(&word)).is_some() { path.key(&word) } else { path.clone() };
            let words = {
                let w = schema::words_at(path);
                if w.is_empty() { schema::fields_at(path) } else { w }
            };
            let span = tree
                .get(path)
                .and_then(|n| n.field(&word))
                .map_or_else(|| tree.get(path).map_or(0..0, |n| n.span.clone()), |f| f.name_span.clone());
            let hint = word_hint(&word, &words);
            let finding = make(
                tree,
                &at,
                span,
                text,
                format!("the word \"{word}\" is not known here"),
                None,
                Some(format!("one of {}", schema::quoted(&words))),
                hint,
            );
            let go_on = tree.drop_at(&at);
            (Some(finding), go_on)
        }
        Trouble::Value { expected } => {
            let Some(node) = tree.get(path) else { return (None, false) };
            // Something inside was told of already, and what is left cannot be read without it.
            if node.lost(None) {
                let go_on = tree.drop_at(path);
                return (None, go_on);
            }
            let span = node.span.clone();
            let expected = schema::expected_at(path).unwrap_or(expected);
            let value = node.to_value();
            let optional_null = value.is_null() && !schema::required(path);
            let hint = if optional_null {
                Some("leave the field out when there is nothing to say".to_owned())
            } else {
                groups_hint(path).or_else(|| hint_for_value(&value, &expected))
            };
            let found = in_words(&value);
            let says = cannot_be_read(tree, path);
            let finding = make(tree, path, span, text, says, Some(found), Some(expected), hint);
            let go_on = tree.drop_at(path);
            (Some(finding), go_on)
        }
    }
}

fn groups_hint(path: &Path) -> Option<String> {
    let text = path.to_string();
    let inside = text.starts_with("batch.together[") || text.starts_with("batch.apart[");
    inside.then(|| "a list of groups, each a list of names: [[\"A\", \"B\"], [\"C\", \"D\"]]".to_owned())
}

fn unknown_field(tree: &mut Node, path: &Path, name: &str, text: &str) -> (Option<Finding>, bool) {
    // serde's path may or may not end in the field itself.
    let object = match path.0.last() {
        Some(Step::Key(k)) if k == name && tree.get(path).and_then(|n| n.field(name)).is_none() => {
            path.parent().unwrap_or_default()
        }
        _ => path.clone(),
    };
    let Some(field) = tree.get(&object).and_then(|n| n.field(name)) else { return (None, false) };
    let span = field.name_span.clone();
    let known = schema::fields_at(&object);
    let guesses = near(name, &known);
    let hint = match guesses.as_slice() {
        [] => format!("known here: {}", known.join(", ")),
        some => format!("did you mean {}?", some.iter().map(|g| format!("`{g}`")).collect::<Vec<_>>().join(" or ")),
    };
    // Two names as near as each other, like nitrite and nitrate, are for the person to tell apart.
    let guess = match guesses.as_slice() {
        [one] => Some((*one).to_owned()),
        _ => None,
    };
    let says = format!("there is no field `{name}` here");
    let finding = make(tree, &object.key(name), span, text, says, None, None, Some(hint));
    let node = tree.get(&object);
    let free = guess.filter(|g| node.is_some_and(|n| n.field(g).is_none() && !n.lost(Some(g))));
    let go_on = match free {
        // Read on as if the name had been right: its value is looked at too, and it does not count as missing.
        Some(right) => rename(tree, &object, name, right),
        None => tree.drop_at(&object.key(name)),
    };
    (Some(finding), go_on)
}

fn rename(tree: &mut Node, object: &Path, from: &str, to: String) -> bool {
    let Some(Node { kind: Kind::Fields(fields, _), .. }) = tree.get_mut(object) else { return false };
    match fields.iter_mut().find(|f| f.name == from) {
        Some(f) => {
            f.name = to;
            true
        }
        None => false,
    }
}

fn missing_field(tree: &mut Node, path: &Path, name: &str, text: &str) -> (Option<Finding>, bool) {
    let Some(node) = tree.get(path) else { return (None, false) };
    let finding = if node.lost(Some(name)) {
        None
    } else {
        let span = node.span.start..(node.span.start + 1).min(node.span.end);
        let expected = schema::expected_at(&path.key(name));
        let says = format!("`{name}` is missing");
        let hint = why_needed(name).map(str::to_owned);
        Some(make(tree, &path.key(name), span, text, says, None, expected, hint))
    };
    let go_on = stand_in(tree, path, name) || tree.drop_at(path);
    (finding, go_on)
}

/// Why a field without a default has none, where that is not plain.
fn why_needed(name: &str) -> Option<&'static str> {
    Some(match name {
        "nitrite_percent" => {
            "the strength stands on the bag's label; there is no usual one, and a wrong one is dangerous"
        }
        "target_mg_per_kg" => "the sodium nitrite wanted in meat and water together, mg per kg; 120 is usual",
        "zone" => "the place the times are meant in, for example \"zone\": \"Europe/London\"",
        "format" => "\"format\": 1",
        "people" => "a plan is made of somebody's hours: give at least one person",
        _ => return None,
    })
}

/// Puts an empty section in the place of a missing one, so that the sections after it are read as well.
fn stand_in(tree: &mut Node, path: &Path, name: &str) -> bool {
    let value = match (path.to_string().as_str(), name) {
        ("", "format") => json!(crate::kitchen::FORMAT),
        ("", "name") => json!("?"),
        ("", "zone") => json!("UTC"),
        ("", "joints" | "people") | ("kit", "tubs" | "cold") => json!([]),
        ("", "kit") => json!({ "tubs": [], "cold": [] }),
        ("", "cure") => json!({}),
        _ => return false,
    };
    let Some(node) = tree.get_mut(path) else { return false };
    let span = node.span.start..node.span.start;
    let Kind::Fields(fields, _) = &mut node.kind else { return false };
    fields.push(Field { name: name.to_owned(), name_span: span.clone(), node: plain(value, &span) });
    true
}

fn plain(value: Value, span: &Range<usize>) -> Node {
    let kind = match value {
        Value::Array(items) => Kind::List(items.into_iter().map(|v| plain(v, span)).collect()),
        Value::Object(map) => {
            let field = |(name, v)| Field { name, name_span: span.clone(), node: plain(v, span) };
            // Marked as having lost something, so that nothing is said of what it lacks.
            Kind::Fields(map.into_iter().map(field).collect(), vec!["*".to_owned()])
        }
        scalar => Kind::Scalar(scalar),
    };
    Node { span: span.clone(), kind, number: 0 }
}

fn word_hint(word: &str, words: &[String]) -> Option<String> {
    if let Some(w) = nearest(word, words) {
        return Some(format!("did you mean \"{w}\"?"));
    }
    let low = word.to_lowercase();
    let like: Vec<&String> = words
        .iter()
        .filter(|w| w.split('-').any(|part| low.contains(part) || (low.len() >= 3 && part.starts_with(low.as_str()))))
        .collect();
    (!like.is_empty()).then(|| format!("did you mean {}?", schema::quoted(&like)))
}

#[allow(clippy::too_many_arguments)]
fn make(
    tree: &Node,
    path: &Path,
    span: Range<usize>,
    text: &str,
    says: String,
    found: Option<String>,
    expected: Option<String>,
    hint: Option<String>,
) -> Finding {
    let (line, column) = place(text, span.start);
    let says = match tree.thing(path) {
        Some(thing) => format!("{thing}: {says}"),
        None => says,
    };
    Finding {
        severity: Severity::Refused,
        says,
        found,
        expected,
        hint,
        path: tree.as_written(path),
        span,
        line,
        column,
    }
}
