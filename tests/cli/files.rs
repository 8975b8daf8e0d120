//! Files that are no kitchens and no plans: said plainly, exit code 2, never a panic.

use super::support::{Bench, root};
use serde_json::{Value, json};

#[test]
fn files_that_cannot_be_read() {
    let b = Bench::new();
    b.kitchen("small.json");
    std::fs::create_dir(b.path("folder")).unwrap();
    b.write("latin.json", b"{ \"name\": \"caf\xe9\" }");
    b.write("empty.json", "");
    b.write("zeros.json", [0u8; 4096]);
    for bad in ["missing.json", "folder", "latin.json", "empty.json", "zeros.json"] {
        for command in ["plan", "open", "turns", "today"] {
            let said = b.run(&[command, bad]).ends(2);
            assert!(said.out.is_empty() && said.err.contains(bad), "{command} {bad}: {}", said.err);
        }
        let said = b.run(&["check", bad, "missing.json"]).ends(2);
        assert!(said.err.contains(bad), "{}", said.err);
        let said = b.run(&["check", "kitchen.json", bad]).ends(2);
        assert!(said.err.contains(bad), "{}", said.err);
        b.run(&["turns", "kitchen.json", "--plan", bad]).ends(2);
    }
}

#[test]
fn every_bad_kitchen_of_the_tests_is_answered_with_its_place() {
    let b = Bench::new();
    let (mut refused, mut planned) = (0, 0);
    for entry in std::fs::read_dir(root().join("tests/kitchen/bad")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "json") {
            continue;
        }
        let name = path.file_name().unwrap().to_str().unwrap();
        b.write(name, std::fs::read(&path).unwrap());
        let said = b.run(&["plan", name, "--steps", "5"]);
        match said.code {
            Some(2) => {
                refused += 1;
                assert!(said.out.is_empty(), "{name}: {}", said.out);
                assert!(said.err.contains(&format!("{name}:")) && said.err.contains("error"), "{name}: {}", said.err);
            }
            // Only warned of: then there is a plan, or a refusal with reasons.
            Some(0 | 1) => {
                planned += 1;
                assert!(said.err.contains("warning"), "{name}: {}", said.err);
            }
            other => panic!("{name} ends with {other:?}: {}", said.err),
        }
    }
    assert!(refused >= 20 && planned >= 1, "{refused} refused, {planned} planned");
}

#[test]
fn huge_and_strange_numbers() {
    let b = Bench::new();
    let small: Value =
        serde_json::from_str(&std::fs::read_to_string(root().join("tests/kitchen/good/small.json")).unwrap()).unwrap();
    let places: [(&str, &str); 9] = [
        ("/joints/0/weight", "number"),
        ("/joints/0/diameter", "number"),
        ("/kit/tubs/0/inner/box/length", "number"),
        ("/kit/hob/rings", "whole"),
        ("/kit/oven/hams", "whole"),
        ("/kit/freezer/per_day", "number"),
        ("/cure/days_per_kg", "number"),
        ("/cure/turn_every_days", "number"),
        ("/batch/spare_hours", "number"),
    ];
    for (place, kind) in places {
        for odd in ["1e308", "-1", "0", "1e-300", "999999999999999999999", "-0.0", "4294967295"] {
            if kind == "whole" && odd.contains(['.', 'e']) {
                continue;
            }
            let mut k = small.clone();
            *k.pointer_mut(place).unwrap() = json!("ODD");
            b.write("odd.json", k.to_string().replace("\"ODD\"", odd));
            let said = b.run(&["plan", "odd.json", "--steps", "3"]);
            assert!(matches!(said.code, Some(0..=2)), "{place} {odd}: {said:?}");
            assert!(said.code != Some(2) || !said.err.is_empty(), "{place} {odd}: refused without a word");
        }
    }
}

#[test]
fn plans_that_are_no_plans() {
    let b = Bench::new();
    b.kitchen("small.json");
    b.run(&["plan", "kitchen.json", "--steps", "20", "-o", "plan.json"]).ends(0);
    let text = std::fs::read_to_string(b.path("plan.json")).unwrap();
    for (name, bad, code) in [
        ("half", text[..text.len() / 2].to_owned(), 2),
        ("kitchen", std::fs::read_to_string(b.path("kitchen.json")).unwrap(), 2),
        ("list", "[]".to_owned(), 2),
        ("unknown field", text.replacen("\"format\"", "\"farmat\"", 1), 2),
        ("later format", text.replacen("\"format\": 1", "\"format\": 9", 1), 1),
        ("another year", text.replace("2026-12", "2036-12"), 1),
        ("a year beyond reckoning", text.replacen("\"start\": \"2026-", "\"start\": \"+262142-", 1), 1),
        ("trailing words", text.clone() + "and so on", 2),
    ] {
        b.write("bad.json", bad);
        let said = b.run(&["check", "kitchen.json", "bad.json"]);
        assert_eq!(said.code, Some(code), "{name}: {said:?}");
        assert!(!(said.out.clone() + &said.err).is_empty(), "{name}");
    }
}

#[test]
fn names_that_would_garble_a_terminal() {
    let b = Bench::new();
    let small = std::fs::read_to_string(root().join("tests/kitchen/good/small.json")).unwrap();
    b.write("odd.json", small.replace("\"J1\"", "\"J\\u001b[31m1\""));
    let said = b.run(&["plan", "odd.json", "--steps", "5"]);
    assert!(!said.out.contains('\u{1b}') && !said.err.contains('\u{1b}'), "{said:?}");
}
