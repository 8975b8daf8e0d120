//! The kitchen as text, and edits of it that leave comments and layout alone; every edit can be undone.

use jsonc_parser::ParseOptions;
use jsonc_parser::cst::{CstInputValue, CstNode, CstObject, CstRootNode};
use serde_json::{Map, Value};

/// The kitchen file's text, and what it was before.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Paper {
    pub text: String,
    /// The same as data, everything as it was written.
    pub value: Value,
    undo: Vec<Step>,
    redo: Vec<Step>,
}

/// The text before an edit (or after one that was undone), and what the edit did.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Step {
    text: String,
    says: String,
}

/// As many edits are kept as anybody would go back over.
const KEPT: usize = 200;

impl Paper {
    pub fn new(text: impl Into<String>) -> Self {
        let text = text.into();
        Self { value: value(&text), text, ..Self::default() }
    }

    fn put(&mut self, text: String) -> String {
        self.value = value(&text);
        std::mem::replace(&mut self.text, text)
    }

    pub fn change(&mut self, text: String, says: impl Into<String>) {
        let before = self.put(text);
        self.undo.push(Step { text: before, says: says.into() });
        if self.undo.len() > KEPT {
            self.undo.remove(0);
        }
        self.redo.clear();
    }

    pub fn can_undo(&self) -> bool {
        !self.undo.is_empty()
    }

    pub fn can_redo(&self) -> bool {
        !self.redo.is_empty()
    }

    /// Goes back one edit; what it was.
    pub fn undo(&mut self) -> Option<String> {
        let step = self.undo.pop()?;
        let after = self.put(step.text);
        self.redo.push(Step { text: after, says: step.says.clone() });
        Some(step.says)
    }

    /// Goes forward again; what it was.
    pub fn redo(&mut self) -> Option<String> {
        let step = self.redo.pop()?;
        let before = self.put(step.text);
        self.undo.push(Step { text: before, says: step.says.clone() });
        Some(step.says)
    }
}

/// Where an edit takes place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum At<'a> {
    /// The object itself.
    Object,
    /// An item of the list.
    Item(usize),
    /// A new item at the end of the list.
    New,
    /// A field by its name.
    Key(&'a str),
}

/// The text with the object at a place made to say what `value` says; fields that stay are not touched. Nothing when the
/// text is no kitchen file.
pub fn set(text: &str, path: &[&str], at: At, value: &Map<String, Value>) -> Option<String> {
    let root = parse(text)?;
    let input = input(&Value::Object(value.clone()));
    match at {
        At::Object => merge(&object(&root, path)?, value),
        At::New => {
            let (last, front) = path.split_last()?;
            let list = object(&root, front)?.array_value_or_set(last);
            list.ensure_multiline();
            list.append(input);
        }
        At::Item(i) => {
            let node = item(&root, path, i)?;
            merge(&node.as_object()?, value);
        }
        At::Key(key) => {
            let home = object(&root, path)?;
            match home.get(key).and_then(|p| p.object_value()) {
                Some(there) => merge(&there, value),
                None => {
                    home.append(key, input);
                }
            }
        }
    }
    Some(root.to_string())
}

/// The text without an item or a field. Nothing when it is not there.
pub fn remove(text: &str, path: &[&str], at: At) -> Option<String> {
    let root = parse(text)?;
    match at {
        At::Item(i) => item(&root, path, i)?.remove(),
        At::Key(key) => object(&root, path)?.get(key)?.remove(),
        At::Object | At::New => return None,
    }
    Some(root.to_string())
}

/// The text changed where one kitchen as data differs from another, and nowhere else. Nothing when the text is no kitchen file.
pub fn amend(text: &str, old: &Value, new: &Value) -> Option<String> {
    let root = parse(text)?;
    amend_object(&root.object_value()?, old.as_object()?, new.as_object()?);
    Some(root.to_string())
}

fn amend_object(there: &CstObject, old: &Map<String, Value>, new: &Map<String, Value>) {
    for key in old.keys().filter(|k| !new.contains_key(*k)) {
        there.get(key).into_iter().for_each(|prop| prop.remove());
    }
    for (key, new) in new.iter().filter(|(k, new)| old.get(*k) != Some(new)) {
        let prop = there.get(key);
        // A list without anything in it is left out where a kitchen is told as data.
        let empty = Value::Array(Vec::new());
        let old = old.get(key).or_else(|| new.is_array().then_some(&empty));
        match (prop.as_ref().and_then(|p| p.value()), old, new) {
            (Some(node), Some(old), new) if amend_within(&node, old, new) => {}
            (Some(_), _, new) => prop.into_iter().for_each(|p| p.set_value(input(new))),
            (None, _, Value::Null) => {}
            (None, _, new) => {
                there.append(key, input(new));
            }
        }
    }
}

/// Changes an object or a list item by item, so that what stays is not touched; `false` where that cannot be done.
fn amend_within(node: &CstNode, old: &Value, new: &Value) -> bool {
    match (old, new) {
        (Value::Object(old), Value::Object(new)) => {
            node.as_object().map(|there| amend_object(&there, old, new)).is_some()
        }
        (Value::Array(old), Value::Array(new)) => {
            let Some(list) = node.as_array() else { return false };
            let items = list.elements();
            // What stays at the begin and at the end is not touched; what is between is changed, put in or taken out.
            let same = old.iter().zip(new).take_while(|(a, b)| a == b).count();
            let (old, new) = (&old[same..], &new[same..]);
            let last = old.iter().rev().zip(new.iter().rev()).take_while(|(a, b)| a == b).count();
            if items.len() != same + old.len() {
                return false;
            }
            let (old, new) = (&old[..old.len() - last], &new[..new.len() - last]);
            let kept = old.len().min(new.len());
            if !(0..kept).all(|i| old[i] == new[i] || old[i].is_object() && new[i].is_object()) {
                return false;
            }
            for (i, item) in items.into_iter().skip(same).take(old.len()).enumerate() {
                if i >= new.len() {
                    item.remove();
                } else if old[i] != new[i] {
                    amend_within(&item, &old[i], &new[i]);
                }
            }
            for (i, more) in new.iter().enumerate().skip(kept) {
                list.insert(same + i, input(more));
            }
            true
        }
        _ => false,
    }
}

/// The object at a place of the kitchen as data.
pub fn get<'a>(kitchen: &'a Value, path: &[&str], at: At) -> Option<&'a Map<String, Value>> {
    let home = path.iter().try_fold(kitchen, |home, key| home.get(key))?;
    match at {
        At::Object => home,
        At::Item(i) => home.get(i)?,
        At::Key(key) => home.get(key)?,
        At::New => return None,
    }
    .as_object()
}

fn value(text: &str) -> Value {
    parse(text).and_then(|root| root.value()?.to_serde_value()).unwrap_or_default()
}

fn parse(text: &str) -> Option<CstRootNode> {
    CstRootNode::parse(text.strip_prefix('\u{feff}').unwrap_or(text), &ParseOptions::default()).ok()
}

/// The object at a path, made where it is missing.
fn object(root: &CstRootNode, path: &[&str]) -> Option<CstObject> {
    let mut home = root.object_value()?;
    for key in path {
        home = home.object_value_or_create(key)?;
    }
    Some(home)
}

fn item(root: &CstRootNode, path: &[&str], i: usize) -> Option<CstNode> {
    let (last, front) = path.split_last()?;
    object(root, front)?.array_value(last)?.elements().into_iter().nth(i)
}

fn merge(there: &CstObject, value: &Map<String, Value>) {
    for prop in there.properties() {
        let gone = prop.decoded_name().is_some_and(|n| !value.contains_key(&n));
        if gone {
            prop.remove();
        }
    }
    for (key, new) in value {
        match there.get(key) {
            Some(prop) if prop.value().and_then(|v| v.to_serde_value()).as_ref() == Some(new) => {}
            Some(prop) => match (prop.object_value(), new) {
                (Some(inner), Value::Object(new)) => merge(&inner, new),
                _ => prop.set_value(input(new)),
            },
            None => {
                there.append(key, input(new));
            }
        }
    }
}

fn input(value: &Value) -> CstInputValue {
    match value {
        Value::Null => CstInputValue::Null,
        Value::Bool(b) => CstInputValue::Bool(*b),
        Value::Number(n) => CstInputValue::Number(n.to_string()),
        Value::String(s) => CstInputValue::String(s.clone()),
        Value::Array(a) => CstInputValue::Array(a.iter().map(input).collect()),
        // What is nothing need not be said.
        Value::Object(o) => {
            let said = o.iter().filter(|(_, v)| !v.is_null());
            CstInputValue::Object(said.map(|(k, v)| (k.clone(), input(v))).collect())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    const TEXT: &str = "// mine\n{\n  \"name\": \"a\", // the name\n  \"joints\": [\n    { \"name\": \"x\", \"weight\": \"7 lb 8 oz\" }, // first\n    { \"name\": \"y\" }\n  ]\n}\n";

    fn map(v: &Value) -> Map<String, Value> {
        v.as_object().unwrap().clone()
    }

    #[test]
    fn an_edit_leaves_the_rest_alone() {
        let new = map(&json!({ "name": "x", "weight": 3.4 }));
        let out = set(TEXT, &["joints"], At::Item(0), &new).unwrap();
        assert_eq!(out, TEXT.replace("\"7 lb 8 oz\"", "3.4"));
        let out = set(TEXT, &["joints"], At::New, &map(&json!({ "name": "z" }))).unwrap();
        assert!(out.contains("// first") && out.contains("\"z\""), "{out}");
        assert_eq!(*get(&value(&out), &["joints"], At::Item(2)).unwrap(), map(&json!({ "name": "z" })));
        let out = remove(TEXT, &["joints"], At::Item(1)).unwrap();
        assert!(!out.contains("\"y\"") && out.contains("// the name"), "{out}");
        let out = set(TEXT, &["limits"], At::Key("cool"), &map(&json!({ "value": 9 }))).unwrap();
        assert_eq!(get(&value(&out), &["limits"], At::Key("cool")).unwrap()["value"], 9);
        assert_eq!(set("[", &[], At::Object, &new), None);
        assert_eq!(remove(TEXT, &["joints"], At::Item(7)), None);
    }

    #[test]
    fn what_differs_is_amended_and_nothing_else() {
        let old = json!({ "name": "a", "joints": [{ "name": "x", "weight": 3.4 }, { "name": "y", "weight": 2.0 }] });
        let mut new = old.clone();
        new["joints"][1]["weight"] = json!(2.5);
        new["joints"].as_array_mut().unwrap().push(json!({ "name": "z", "tub": null }));
        new["people"] = json!([{ "away": [] }]);
        let out = amend(TEXT, &old, &new).unwrap();
        assert!(out.contains("\"7 lb 8 oz\" }, // first") && out.starts_with("// mine"), "{out}");
        let data = value(&out);
        assert_eq!(data["joints"][1], json!({ "name": "y", "weight": 2.5 }));
        assert_eq!(data["joints"][2], json!({ "name": "z" }));
        assert_eq!(data["people"], json!([{ "away": [] }]));
        // What is put in between leaves what stands after it alone.
        let mut between = old.clone();
        between["joints"].as_array_mut().unwrap().insert(0, json!({ "name": "w" }));
        let put = amend(TEXT, &old, &between).unwrap();
        assert!(put.contains("{ \"name\": \"x\", \"weight\": \"7 lb 8 oz\" }, // first"), "{put}");
        assert_eq!(value(&put)["joints"][0], json!({ "name": "w" }));
        // A remark in an empty list stays.
        let note = "{ \"away\": [ // none yet\n ] }";
        let away = amend(note, &json!({}), &json!({ "away": [{ "why": "rest" }] })).unwrap();
        assert!(away.contains("// none yet") && away.contains("rest"), "{away}");
        // And back again.
        let back = value(&amend(&out, &new, &old).unwrap());
        assert_eq!((back["joints"].as_array().unwrap().len(), back.get("people")), (2, None));
        assert_eq!(amend("[", &old, &new), None);
        assert_eq!(amend(TEXT, &old, &old).unwrap(), TEXT);
    }

    #[test]
    fn edits_are_undone_and_done_again() {
        let mut p = Paper::new("one");
        p.change("two".into(), "second");
        assert_eq!((p.undo().as_deref(), p.text.as_str()), (Some("second"), "one"));
        assert_eq!((p.redo().as_deref(), p.text.as_str()), (Some("second"), "two"));
        assert_eq!(p.redo(), None);
        p.undo();
        p.change("three".into(), "third");
        assert!(!p.can_redo() && p.can_undo());
    }
}
