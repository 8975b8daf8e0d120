//! The kitchen file's JSON Schema (draft 2020-12), and what it says about any one place in a file.

use super::path::{Path, Step};
use super::{Kitchen, Zone};
use serde_json::{Map, Value, json};
use std::sync::OnceLock;

/// The JSON Schema of a kitchen file, made from the nouns themselves, so it cannot drift from what is read.
pub fn schema() -> &'static Value {
    static SCHEMA: OnceLock<Value> = OnceLock::new();
    SCHEMA.get_or_init(|| {
        let mut schema = schemars::schema_for!(Kitchen).to_value();
        schema["title"] = json!("turnday kitchen file");
        // An editor finds the schema through this field; reading passes over it.
        schema["properties"]["$schema"] =
            json!({ "type": "string", "description": "Where an editor finds this schema. Not read." });
        schema
    })
}

/// The schema entry that a reference leads to; the entry itself when it is none.
pub(crate) fn resolved(entry: &'static Value) -> &'static Value {
    let mut at = entry;
    // A chain of references longer than this would be a circle.
    for _ in 0..8 {
        let Some(name) = at["$ref"].as_str().and_then(|r| r.strip_prefix("#/$defs/")) else { break };
        at = &schema()["$defs"][name];
    }
    at
}

/// The entries that an entry stands for: itself, or its choices, `null` left out.
fn choices(entry: &'static Value) -> Vec<&'static Value> {
    let entry = resolved(entry);
    let of = entry["anyOf"].as_array().or_else(|| entry["oneOf"].as_array());
    match of {
        Some(list) => list.iter().filter(|c| c["type"] != "null").flat_map(choices).collect(),
        None => vec![entry],
    }
}

/// All schema entries that may stand at `path`.
fn entries(path: &Path) -> Vec<&'static Value> {
    let mut here: Vec<&'static Value> = vec![schema()];
    for step in &path.0 {
        here = here
            .into_iter()
            .flat_map(choices)
            .filter_map(|e| {
                let next = match step {
                    Step::Key(k) => e["properties"].get(k).or_else(|| e.get("additionalProperties")),
                    Step::At(_) => e.get("items"),
                };
                next.filter(|n| n.is_object())
            })
            .collect();
    }
    here.into_iter().flat_map(choices).collect()
}

/// What is expected at `path`, in words. `None` for a place the schema does not know.
pub fn expected_at(path: &Path) -> Option<String> {
    let entries = entries(path);
    let words = words_at(path);
    if !words.is_empty() {
        return Some(format!("one of {}", quoted(&words)));
    }
    let entry = entries.first()?;
    let shape = entries.len() > 1 && entries.iter().all(|e| e["type"] == "object");
    if shape {
        let names: Vec<String> = entries.iter().filter_map(|e| only_field(e)).collect();
        return Some(format!("an object with one of {}", quoted(&names)));
    }
    let kind = match &entry["type"] {
        Value::String(s) => s.as_str(),
        Value::Array(a) => a.iter().find_map(|t| t.as_str().filter(|s| *s != "null"))?,
        _ => return None,
    };
    let own = entry["description"].as_str();
    Some(match kind {
        // Our own text forms and quantities say in their description how they are written.
        "number" if entry["type"].as_array().is_some_and(|a| a.iter().any(|t| t == "string")) => own?.to_owned(),
        "string" if entry.get("pattern").is_some() => own.unwrap_or(Zone::EXPECTED).to_owned(),
        "string" => "text in double quotes".to_owned(),
        "number" => "a number".to_owned(),
        "integer" => "a whole number, 0 or more".to_owned(),
        "boolean" => "true or false".to_owned(),
        "array" => "a list [ ... ]".to_owned(),
        "object" => "an object { ... }".to_owned(),
        _ => return None,
    })
}

/// The words allowed at `path`, when only certain words are.
pub fn words_at(path: &Path) -> Vec<String> {
    entries(path)
        .into_iter()
        .flat_map(|e| match (e.get("const"), e["enum"].as_array()) {
            (Some(Value::String(c)), _) => vec![c.clone()],
            (_, Some(list)) => list.iter().filter_map(|v| v.as_str().map(str::to_owned)).collect(),
            _ => Vec::new(),
        })
        .collect()
}

/// The fields an object at `path` may have.
pub fn fields_at(path: &Path) -> Vec<String> {
    entries(path)
        .into_iter()
        .filter_map(|e| e["properties"].as_object())
        .flat_map(|p: &Map<String, Value>| p.keys().filter(|k| *k != "$schema").cloned())
        .collect()
}

/// Whether the field at `path` has to be there.
pub fn required(path: &Path) -> bool {
    let (Some(parent), Some(Step::Key(name))) = (path.parent(), path.0.last()) else { return true };
    entries(&parent).iter().any(|e| e["required"].as_array().is_some_and(|r| r.iter().any(|f| f == name.as_str())))
}

fn only_field(entry: &Value) -> Option<String> {
    let fields = entry["properties"].as_object()?;
    fields.keys().next().cloned()
}

/// `"a", "b" or "c"`.
pub(crate) fn quoted<S: AsRef<str>>(words: &[S]) -> String {
    let q: Vec<String> = words.iter().map(|w| format!("\"{}\"", w.as_ref())).collect();
    match q.split_last() {
        None => String::new(),
        Some((last, [])) => last.clone(),
        Some((last, front)) => format!("{} or {last}", front.join(", ")),
    }
}
