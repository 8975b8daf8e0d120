//! docs/kitchen-file.md explains the file field by field; its tables come from the schema and are kept fresh here.

use crate::{compare_or_bless, root};
use serde_json::Value;
use std::fmt::Write;
use turnday::kitchen::{Limits, schema};

const BEGIN: &str =
    "<!-- the tables from here to the end are made from the schema by TURNDAY_BLESS=1 cargo test --test kitchen -->\n";

/// The nouns in the order in which a cook meets them, and the words over each table.
const NOUNS: [(&str, &str); 25] = [
    ("Kitchen", "The whole file"),
    ("Joint", "A joint: an item of `joints`"),
    ("ExtraCure", "More time in the brine: an item of `extra_cure` of a joint"),
    ("Lot", "Where it came from: `lot` of a joint"),
    ("Kit", "The kit: `kit`"),
    ("Tub", "A tub: an item of `kit.tubs`"),
    ("Shape", "The inner size of a tub: `inner`"),
    ("ColdSpace", "A cold space: an item of `kit.cold`"),
    ("Pot", "A pot: an item of `kit.pots`"),
    ("Hob", "The hob: `kit.hob`"),
    ("Oven", "The oven: `kit.oven`"),
    ("Chilling", "A way to chill hams: an item of `kit.chilling`"),
    ("Packer", "The packer: `kit.packer`"),
    ("Freezer", "The freezer: `kit.freezer`"),
    ("Slicer", "The slicer: `kit.slicer`"),
    ("Scales", "The scales: `kit.scales`"),
    ("Person", "A person: an item of `people`"),
    ("Hours", "Weekly hours: an item of `busy` or `works`"),
    ("Away", "A spell away: an item of `away`"),
    ("Sleep", "Sleep: `sleep` of a person"),
    ("Cure", "The cure: `cure`"),
    ("CuringSalt", "The bag of curing salt: `cure.curing_salt`"),
    ("Batch", "The batch and its wishes: `batch`"),
    ("NamedDays", "Days to leave alone: an item of `batch.leave_alone`"),
    ("Override", "A limit of your own: an item of `limits`, by the limit's name"),
];

#[test]
fn the_tables_are_fresh() {
    let path = root().join("docs/kitchen-file.md");
    let kept = std::fs::read_to_string(&path).unwrap();
    let (by_hand, _) = kept.split_once(BEGIN).expect("the mark before the tables is there");
    compare_or_bless(&path, &format!("{by_hand}{BEGIN}{}", tables()));
}

#[test]
fn every_object_of_the_schema_has_its_table() {
    for (name, def) in schema()["$defs"].as_object().unwrap() {
        let object = def.get("properties").is_some();
        assert!(!object || NOUNS.iter().any(|(n, _)| n == name), "{name} has no table");
        for (field, entry) in def["properties"].as_object().into_iter().flatten() {
            assert!(!text(entry).is_empty(), "{name}.{field} is not explained");
        }
    }
}

fn tables() -> String {
    let mut out = String::new();
    for (noun, title) in NOUNS {
        let def = if noun == "Kitchen" { schema() } else { &schema()["$defs"][noun] };
        let _ = write!(out, "\n### {title}\n\n");
        let own = text(def);
        if noun != "Kitchen" && !own.is_empty() {
            let _ = write!(out, "{own}\n\n");
        }
        match def["oneOf"].as_array() {
            Some(shapes) => shapes.iter().for_each(|s| shape(&mut out, s)),
            None => fields(&mut out, def),
        }
    }
    limits(&mut out);
    out
}

fn shape(out: &mut String, shape: &Value) {
    let (name, inner) = shape["properties"].as_object().unwrap().iter().next().unwrap();
    let _ = write!(out, "`\"{name}\": {{ ... }}`: {}\n\n", text(shape));
    fields(out, inner);
}

fn fields(out: &mut String, def: &Value) {
    out.push_str("| field | what is written | left out | what it says |\n|---|---|---|---|\n");
    let required: Vec<&str> = def["required"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
    // The schema sorts fields by name; those that have to be there come first.
    let mut names: Vec<&String> = def["properties"].as_object().unwrap().keys().collect();
    names.sort_by_key(|n| !required.contains(&n.as_str()));
    for name in names {
        let entry = &def["properties"][name.as_str()];
        let left_out =
            if required.contains(&name.as_str()) { "**has to be there**".to_owned() } else { default(entry) };
        let _ = writeln!(out, "| `{name}` | {} | {left_out} | {} |", kind(entry), text(entry));
    }
}

fn default(entry: &Value) -> String {
    match &entry["default"] {
        Value::Null => "nothing".to_owned(),
        Value::Bool(false) => "false".to_owned(),
        Value::String(s) if s.is_empty() => "nothing".to_owned(),
        Value::Array(a) if a.is_empty() => "none".to_owned(),
        Value::Object(_) => "as in its table".to_owned(),
        Value::String(s) => format!("\"{s}\""),
        Value::Number(n) if matches!(entry["$ref"].as_str(), Some("#/$defs/Elapsed")) => {
            format!("{} h", n.as_f64().unwrap_or_default() / 60.0)
        }
        other => other.to_string(),
    }
}

/// What may be written for a field, in a few words.
fn kind(entry: &Value) -> String {
    if let Some(r) = entry["$ref"].as_str() {
        let name = r.trim_start_matches("#/$defs/");
        let def = &schema()["$defs"][name];
        return match name {
            "Mass" => "weight".to_owned(),
            "Length" => "length".to_owned(),
            "Volume" => "volume".to_owned(),
            "Temperature" => "temperature".to_owned(),
            "Elapsed" => "stretch of time".to_owned(),
            "Moment" => "date and time".to_owned(),
            "Clock" => "time of day".to_owned(),
            "Days" => "days of the week".to_owned(),
            "Zone" => "time zone".to_owned(),
            _ if !words(def).is_empty() => words(def).join(", "),
            _ => "object".to_owned(),
        };
    }
    if let Some(choices) = entry["anyOf"].as_array().or_else(|| entry["oneOf"].as_array()) {
        return choices.iter().find(|c| c["type"] != "null").map(kind).unwrap_or_default();
    }
    let types: Vec<&str> = match &entry["type"] {
        Value::String(s) => vec![s.as_str()],
        Value::Array(a) => a.iter().filter_map(Value::as_str).collect(),
        _ => Vec::new(),
    };
    match types.iter().find(|t| **t != "null").copied() {
        Some("array") => format!("list of {}", many(&kind(&entry["items"]))),
        Some("string") => "text".to_owned(),
        Some("number") => "number".to_owned(),
        Some("integer") => "whole number".to_owned(),
        Some("boolean") => "true or false".to_owned(),
        Some(other) => other.to_owned(),
        None => String::new(),
    }
}

fn many(kind: &str) -> String {
    match kind {
        "object" => "objects".to_owned(),
        "text" => "texts".to_owned(),
        k if k.starts_with("list of") => k.replacen("list", "lists", 1),
        k => format!("these: {k}"),
    }
}

/// The words of an enumeration, quoted.
fn words(def: &Value) -> Vec<String> {
    let quote = |s: &str| format!("`\"{s}\"`");
    let plain = def["enum"].as_array().into_iter().flatten().filter_map(Value::as_str).map(quote);
    let with_text = def["oneOf"].as_array().into_iter().flatten().flat_map(|c| {
        let one = c["const"].as_str().map(quote);
        one.into_iter().chain(c["enum"].as_array().into_iter().flatten().filter_map(Value::as_str).map(quote))
    });
    plain.chain(with_text).collect()
}

fn text(entry: &Value) -> String {
    let own = entry["description"].as_str().unwrap_or_default().replace('\n', " ").replace('|', "\\|");
    let own = own.replace("[`crate::units`]", "the units below");
    // A field that takes certain words says what each of them means.
    let meaning: Vec<String> = meanings(entry);
    if meaning.is_empty() { own } else { format!("{own} {}", meaning.join(" ")).trim().to_owned() }
}

fn meanings(entry: &Value) -> Vec<String> {
    if let Some(r) = entry["$ref"].as_str() {
        return meanings(&schema()["$defs"][r.trim_start_matches("#/$defs/")]);
    }
    if let Some(item) = entry.get("items") {
        return meanings(item);
    }
    if let Some(choices) = entry["anyOf"].as_array() {
        return choices.iter().flat_map(meanings).collect();
    }
    let said =
        |c: &Value| Some(format!("`\"{}\"`: {}", c["const"].as_str()?, c["description"].as_str()?.replace('\n', " ")));
    entry["oneOf"].as_array().into_iter().flatten().filter_map(said).collect()
}

fn limits(out: &mut String) {
    out.push_str("\n### The house limits that are shipped\n\n");
    out.push_str("Safety limits are never overstepped by a plan; quality limits may be, at a stated cost.\n\n");
    out.push_str(
        "| name | value | kind | what it says | source | country | looked at |\n|---|---|---|---|---|---|---|\n",
    );
    for l in Limits::shipped().iter() {
        let kind = serde_json::to_value(l.kind).unwrap();
        let _ = writeln!(
            out,
            "| `{}` | {} {} | {} | {} | {} | {} | {} |",
            l.id,
            l.value,
            l.unit,
            kind.as_str().unwrap(),
            l.says,
            l.source,
            l.country,
            l.as_of
        );
    }
}
