//! The schema that is printed accepts what is read, and names every noun.

use crate::json_files;
use serde_json::Value;
use turnday::kitchen::{read, schema};

#[test]
fn every_good_file_is_valid_by_the_schema() {
    let validator = jsonschema::draft202012::new(schema()).expect("the schema is a schema of draft 2020-12");
    for (name, text) in json_files("tests/kitchen/good").into_iter().chain(json_files("demo-data")) {
        let parsed: Option<Value> = jsonc_parser::parse_to_serde_value(&text, &Default::default()).unwrap();
        let errors: Vec<String> =
            validator.iter_errors(&parsed.unwrap()).map(|e| format!("{}: {e}", e.instance_path())).collect();
        assert!(errors.is_empty(), "{name}: {errors:#?}");
    }
}

#[test]
fn what_the_schema_refuses_is_refused_in_reading_too() {
    let validator = jsonschema::draft202012::new(schema()).unwrap();
    let mut refused = 0;
    for (name, text) in json_files("tests/kitchen/bad") {
        let Ok(Some(value)) = jsonc_parser::parse_to_serde_value::<Option<Value>>(&text, &Default::default()) else {
            continue;
        };
        if !validator.is_valid(&value) {
            refused += 1;
            assert!(read(&name, &text).refused(), "{name} is refused by the schema and read without a word");
        }
    }
    assert!(refused >= 8, "only {refused} bad files fail the schema");
}

#[test]
fn every_noun_is_in_the_schema() {
    let defs = schema()["$defs"].as_object().unwrap();
    for noun in [
        "Joint",
        "Lot",
        "Outcome",
        "Kit",
        "Tub",
        "Shape",
        "ColdSpace",
        "Side",
        "Pot",
        "Hob",
        "Oven",
        "Chilling",
        "ChillingMeans",
        "Packer",
        "Freezer",
        "Slicer",
        "Scales",
        "Person",
        "Hours",
        "Away",
        "Sleep",
        "Skill",
        "Cure",
        "CuringSalt",
        "Basis",
        "BrineCooling",
        "Batch",
        "NamedDays",
        "Overrides",
        "Override",
        "Mass",
        "Length",
        "Volume",
        "Temperature",
        "Elapsed",
        "Moment",
        "Clock",
        "Days",
        "Zone",
    ] {
        assert!(defs.contains_key(noun), "{noun} is missing from {:?}", defs.keys().collect::<Vec<_>>());
    }
    assert_eq!(schema()["$schema"], "https://json-schema.org/draft/2020-12/schema");
    // What could hurt somebody has no default.
    let salt = &defs["CuringSalt"];
    assert!(salt["required"].as_array().unwrap().contains(&Value::from("nitrite_percent")));
    assert!(salt["properties"]["nitrite_percent"].get("default").is_none());
}
