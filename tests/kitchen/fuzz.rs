//! Whatever is read, it is answered: never a panic, always a place inside the file.

use crate::{json_files, today};
use proptest::prelude::*;
use std::collections::HashSet;
use std::sync::OnceLock;
use turnday::kitchen::{Kitchen, Moment, Reading, Shape, read};
use turnday::units::Length;

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
    if let Some(kitchen) = &reading.kitchen {
        sound(kitchen);
    }
    for f in &reading.findings {
        assert!(f.span.start <= text.len() && f.line >= 1 && f.column >= 1);
    }
    reading
}

/// What a planner may count on in every kitchen that is not refused, checked without asking the judge.
fn sound(k: &Kitchen) {
    let unique = |names: Vec<&str>| {
        let set: HashSet<String> = names.iter().map(|n| n.trim().to_lowercase()).collect();
        assert!(set.len() == names.len() && !set.contains(""), "{names:?}");
    };
    unique(k.joints.iter().map(|j| j.name.as_str()).collect());
    unique(k.people.iter().map(|p| p.name.as_str()).collect());
    unique(k.kit.tubs.iter().map(|t| t.name.as_str()).collect());
    unique(k.kit.cold.iter().map(|c| c.name.as_str()).collect());
    unique(k.kit.pots.iter().map(|p| p.name.as_str()).collect());
    assert!((1..=500).contains(&k.joints.len()) && !k.people.is_empty() && !k.kit.tubs.is_empty());
    let positive = |l: Length| assert!(l.as_cm() > 0.0 && l.as_cm() <= 1000.0, "{l:?}");
    for t in &k.kit.tubs {
        match t.inner {
            Shape::Box { length, width, height } => [length, width, height].into_iter().for_each(positive),
            Shape::Round { diameter, height } => [diameter, height].into_iter().for_each(positive),
        }
        t.height_with_lid.into_iter().for_each(positive);
        assert!(t.filler.is_none_or(|f| f.as_litres() >= 0.0) && t.wall.is_none_or(|w| w.as_cm() >= 0.0));
    }
    for c in &k.kit.cold {
        [c.width, c.depth, c.height].into_iter().for_each(positive);
        assert!(c.temperature.is_none_or(|t| t.as_celsius() <= 5.0), "{c:?}");
        assert!(c.litres.is_none_or(|l| l.as_litres() > 0.0));
    }
    let plausible_date = |m: &Moment| assert!(turnday::kitchen::plausible(m.0.date()), "{m}");
    for j in &k.joints {
        assert!(j.planned_weight().as_kg() > 0.0 && j.planned_weight().as_kg() <= 25.0);
        [j.diameter, j.length].into_iter().flatten().for_each(positive);
        [j.arrives, j.ready_by].iter().flatten().for_each(plausible_date);
        assert!(j.tub.as_ref().is_none_or(|n| k.kit.tubs.iter().any(|t| t.name == *n)));
        assert!(j.pot.as_ref().is_none_or(|n| k.kit.pots.iter().any(|p| p.name == *n)));
    }
    if k.joints.iter().any(|j| j.outcome.is_ham()) {
        assert!(!k.kit.pots.is_empty() && !k.kit.chilling.is_empty() && k.kit.hob.rings > 0);
        assert!(k.kit.oven.as_ref().is_some_and(|o| o.hams > 0));
        assert!(k.cure.curing_salt.as_ref().is_none_or(|c| c.nitrate_percent == 0.0));
    }
    if let Some(c) = &k.cure.curing_salt {
        assert!(c.nitrite_percent > 0.0 && c.nitrite_percent <= 10.0);
        assert!(c.target_mg_per_kg > 0.0 && c.target_mg_per_kg <= 200.0);
    }
    let cure = &k.cure;
    assert!(cure.salt_percent > 0.0 && cure.days_per_kg >= 1.5 && (1.0..=5.0).contains(&cure.turn_every_days));
    assert!(cure.rest.as_days() <= 7.0 && cure.soak.is_none_or(|s| (0.0..=48.0).contains(&s.as_hours())));
    assert!(cure.pack_ham.as_kg() > 0.0 && cure.pack_steaks.as_kg() > 0.0);
    assert!(k.kit.packer.packs_per_hour >= 1.0 && k.kit.packer.rest_after != Some(0) && k.kit.sinks > 0);
    assert!(k.kit.freezer.as_ref().is_none_or(|f| f.per_day.as_kg() > 0.0));
    for p in &k.people {
        assert!(p.away.iter().all(|a| a.from < a.to) && p.sleep.is_none_or(|s| s.from != s.to));
        assert!(p.busy.iter().chain(p.works.iter().flatten()).all(|h| h.from != h.to));
    }
    assert!(k.batch.not_before < k.batch.not_after && k.batch.spare_hours >= 0.0);
}

/// What a slip of the finger or of the unit makes of a number.
const SLIPS: [f64; 9] = [0.0, -1.0, 0.1, 10.0, 1000.0, 0.001, 2.204_622_6, 1e12, 1.1];

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
    fn numbers_slipped(which in 0usize..64, slips in prop::collection::vec((any::<prop::sample::Index>(), 0usize..9), 1..4)) {
        let text = &good()[which % good().len()];
        let mut value: serde_json::Value =
            jsonc_parser::parse_to_serde_value::<Option<serde_json::Value>>(text, &Default::default()).unwrap().unwrap();
        for (at, slip) in slips {
            let numbers: Vec<String> = pointers(&value).into_iter().filter(|p| value.pointer(p).unwrap().is_number()).collect();
            let here = value.pointer_mut(&numbers[at.index(numbers.len())]).unwrap();
            *here = (here.as_f64().unwrap() * SLIPS[slip]).into();
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
