//! Whatever is read, it is answered: never a panic, always a place inside the file.

use crate::{json_files, today};
use proptest::prelude::*;
use std::sync::OnceLock;
use turnday::kitchen::{Reading, read};

fn good() -> &'static [String] {
    static GOOD: OnceLock<Vec<String>> = OnceLock::new();
    GOOD.get_or_init(|| {
        json_files("tests/kitchen/good").into_iter().chain(json_files("demo-data")).map(|(_, text)| text).collect()
    })
}

fn answered(text: &str) -> Reading {
    let reading = read("fuzz.json", text).judge(today());
    let text_form = reading.to_text(false);
    assert_eq!(reading.findings.is_empty(), text_form.is_empty());
    assert!(!text_form.contains('\u{1b}'), "an escape code came through");
    reading.to_text(true);
    reading.to_json();
    // Nothing is both refused and handed on, and nothing is dropped in silence.
    assert_eq!(reading.kitchen.is_none(), reading.refused());
    for f in &reading.findings {
        assert!(f.span.start <= text.len() && f.line >= 1 && f.column >= 1);
    }
    reading
}

/// Values that have broken readers before.
const NASTY: [&str; 16] = [
    "null",
    "true",
    "-1",
    "0",
    "1e308",
    "-1e308",
    "1e-320",
    "18446744073709551616",
    "\"\"",
    "\"\\u0000\"",
    "\"1e999 kg\"",
    "[]",
    "{}",
    "[[[[[[]]]]]]",
    "\"2026-12-24 18:00\"",
    "\"é\u{202e}\u{1f437}\"",
];

proptest! {

    #[test]
    fn bytes_changed(which in 0usize..64, edits in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6)) {
        let mut bytes = good()[which % good().len()].clone().into_bytes();
        for (at, byte) in edits {
            let i = at.index(bytes.len());
            bytes[i] = byte;
        }
        answered(&String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn cut_short(which in 0usize..64, at in any::<prop::sample::Index>()) {
        let text = &good()[which % good().len()];
        let mut cut = at.index(text.len());
        while !text.is_char_boundary(cut) { cut -= 1; }
        answered(&text[..cut]);
    }

    #[test]
    fn values_swapped(which in 0usize..64, swaps in prop::collection::vec((any::<prop::sample::Index>(), 0usize..16), 1..8)) {
        let mut value: serde_json::Value = jsonc_parser::parse_to_serde_value::<Option<serde_json::Value>>(
            &good()[which % good().len()], &Default::default()).unwrap().unwrap();
        for (at, nasty) in swaps {
            let all = pointers(&value);
            let pointer = all[at.index(all.len())].clone();
            // Some of these are no JSON number for serde_json: then the text form is put in.
            let new = serde_json::from_str(NASTY[nasty]).unwrap_or_else(|_| NASTY[nasty].into());
            *value.pointer_mut(&pointer).unwrap() = new;
        }
        answered(&serde_json::to_string_pretty(&value).unwrap());
    }

    #[test]
    fn lines_dropped_and_doubled(which in 0usize..64, edits in prop::collection::vec((any::<prop::sample::Index>(), any::<bool>()), 1..5)) {
        let text = &good()[which % good().len()];
        let mut lines: Vec<&str> = text.lines().collect();
        for (at, double) in edits {
            let i = at.index(lines.len());
            if double { lines.insert(i, lines[i]); } else if lines.len() > 1 { lines.remove(i); }
        }
        answered(&lines.join("\n"));
    }

    #[test]
    fn any_text(text in "\\PC{0,200}") {
        answered(&text);
    }

    #[test]
    fn any_bytes(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        answered(&String::from_utf8_lossy(&bytes));
    }
}

fn pointers(value: &serde_json::Value) -> Vec<String> {
    fn walk(value: &serde_json::Value, at: String, out: &mut Vec<String>) {
        match value {
            serde_json::Value::Array(a) => a.iter().enumerate().for_each(|(i, v)| walk(v, format!("{at}/{i}"), out)),
            serde_json::Value::Object(o) => o.iter().for_each(|(k, v)| walk(v, format!("{at}/{k}"), out)),
            _ => {}
        }
        if !at.is_empty() {
            out.push(at);
        }
    }
    let mut out = Vec::new();
    walk(value, String::new(), &mut out);
    out
}

#[test]
fn deep_long_and_many() {
    answered(&"[".repeat(100_000));
    answered(&"{\"a\":".repeat(100_000));
    answered(&format!("{{\"name\": \"{}\"}}", "x".repeat(1_000_000)));
    answered(&"/*".repeat(10_000));
    let reading = answered(&format!("{{{}\"z\":1}}", (0..5000).map(|i| format!("\"f{i}\":0,")).collect::<String>()));
    assert!(reading.findings.len() >= 100, "many errors are told, and then it stops");
}

#[test]
fn six_hundred_joints_are_too_many_and_said_once() {
    let mut value: serde_json::Value = serde_json::from_str(&json_files("demo-data")[0].1).unwrap();
    let one = value["joints"][0].clone();
    value["joints"] = (0..600)
        .map(|i| {
            let mut j = one.clone();
            j["name"] = format!("J{i}").into();
            j
        })
        .collect::<Vec<_>>()
        .into();
    let reading = answered(&value.to_string());
    assert_eq!(reading.findings.len(), 1, "{}", reading.to_text(false));
    assert!(reading.findings[0].says.starts_with("600 joints"));
}
