//! What is different between two kitchens, in words.

use super::Kitchen;
use serde_json::Value;

/// A sentence for each thing that is there no longer, is new, or is said otherwise; by the names that fields have in a kitchen file.
pub fn differs(old: &Kitchen, new: &Kitchen) -> Vec<String> {
    let data = |k: &Kitchen| serde_json::to_value(k).unwrap_or_default();
    let mut out = Vec::new();
    within("the kitchen", &data(old), &data(new), &mut out);
    out
}

/// Of what fields say: things that go by names one by one, groups of fields on their own, all else by field.
fn within(what: &str, old: &Value, new: &Value, out: &mut Vec<String>) {
    let mut otherwise = Vec::new();
    for field in changed(old, new) {
        match (old.get(&field), new.get(&field)) {
            (Some(Value::Array(a)), Some(Value::Array(b))) if named(a) && named(b) => by_name(&field, a, b, out),
            (Some(a @ Value::Object(_)), Some(b @ Value::Object(_))) => within(&field, a, b, out),
            _ => otherwise.push(field),
        }
    }
    if !otherwise.is_empty() {
        out.push(format!("{what}: {} said otherwise", otherwise.join(", ")));
    }
}

/// Whether all in a list go by a name.
fn named(list: &[Value]) -> bool {
    list.iter().all(|v| name(v).is_some())
}

fn name(thing: &Value) -> Option<&str> {
    thing.get("name")?.as_str()
}

fn by_name(path: &str, old: &[Value], new: &[Value], out: &mut Vec<String>) {
    let find = |list: &[Value], of: &Value| list.iter().find(|v| name(v) == name(of)).cloned();
    for was in old {
        let Some(called) = name(was) else { continue };
        match find(new, was) {
            None => out.push(format!("{called} is there no longer ({path})")),
            Some(is) => {
                let fields = changed(was, &is);
                if !fields.is_empty() {
                    out.push(format!("{called}: {} said otherwise ({path})", fields.join(", ")));
                }
            }
        }
    }
    out.extend(new.iter().filter(|v| find(old, v).is_none()).filter_map(name).map(|n| format!("{n} is new ({path})")));
}

/// Fields of two groups that are not the same in both.
fn changed(old: &Value, new: &Value) -> Vec<String> {
    let (Some(a), Some(b)) = (old.as_object(), new.as_object()) else { return Vec::new() };
    let mut fields: Vec<String> = a.keys().chain(b.keys()).filter(|f| a.get(*f) != b.get(*f)).cloned().collect();
    fields.sort();
    fields.dedup();
    fields
}
