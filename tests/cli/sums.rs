//! The sums as a person runs them. Figures: the worked tub of the trade notes and the rules, own arithmetic.

use serde_json::Value;
use std::process::{Command, Output};

fn turnday(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_turnday")).args(args).env("NO_COLOR", "1").output().unwrap()
}

fn text(args: &[&str]) -> String {
    let o = turnday(args);
    assert!(o.status.success(), "{args:?}: {}", String::from_utf8_lossy(&o.stderr));
    String::from_utf8(o.stdout).unwrap()
}

fn json(args: &[&str]) -> Value {
    serde_json::from_str(&text(&[args, &["--json"]].concat())).unwrap()
}

const PAIR: &str = "demo-data/feast-pair.json";

#[test]
fn nitrite_by_both_methods_and_a_wrong_bag() {
    let dose = ["nitrite", "--bag", "6.25", "--target", "120", "--meat", "4.7kg", "--water", "5.6kg"];
    let v = &json(&dose)["value"];
    assert!((v["curing_salt_g"].as_f64().unwrap() - 19.776).abs() < 1e-6);
    assert!((v["whole_system"].as_f64().unwrap() - 120.0).abs() < 1e-6);
    assert!(text(&dose).contains("by pick-up at 10 %"));
    let wrong = turnday(&[
        "nitrite",
        "--bag",
        "6.25",
        "--target",
        "150",
        "--meat",
        "1kg",
        "--water",
        "0kg",
        "--weighed",
        "25g",
    ]);
    assert_eq!(wrong.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&wrong.stdout).contains("Do not eat it"));
    assert_eq!(
        turnday(&["nitrite", "--bag", "100", "--target", "120", "--meat", "1kg", "--water", "1kg"]).status.code(),
        Some(1)
    );
    assert_eq!(
        turnday(&["nitrite", "--meat", "1kg", "--water", "1kg"]).status.code(),
        Some(2),
        "no strength has a default"
    );
}

#[test]
fn brine_slips_add_up() {
    let slips = json(&["brine", PAIR, "--steps", "20000"]);
    let slips = slips.as_array().unwrap();
    assert!(!slips.is_empty());
    for s in slips {
        let w = &s["value"]["weigh"];
        let kg = |k: &str| w[k].as_f64().unwrap();
        let system = kg("meat") + kg("water");
        assert!((kg("salt_total") - 0.025 * system).abs() < 1e-9, "the demo is 2.5 % on meat and water");
        assert!(kg("plain_salt") < kg("salt_total"));
        let ice = &s["value"]["ice"];
        let parts: f64 = ["boil", "ice", "cold"].iter().map(|k| ice[*k].as_f64().unwrap()).sum();
        assert!((parts - kg("water")).abs() < 1e-9);
    }
    assert_eq!(turnday(&["brine", PAIR, "--steps", "2000", "--tub", "no such tub"]).status.code(), Some(2));
}

#[test]
fn cure_check_shows_rule_and_diffusion() {
    let all = json(&["cure-check", PAIR, "--steps", "20000"]);
    for c in all.as_array().unwrap() {
        let u = &c["on_lift"]["uptake"];
        let f = |k: &str| u[k].as_f64().unwrap();
        assert!(0.0 < f("low") && f("low") <= f("middle") && f("middle") <= f("high") && f("high") < 1.0);
        assert!(c["rule_days"].as_f64().unwrap() >= 6.0);
    }
    assert_eq!(turnday(&["cure-check", PAIR, "--joint", "nobody"]).status.code(), Some(2));
    assert_eq!(turnday(&["cure-check", PAIR, "--on", "yesterday"]).status.code(), Some(2));
}

#[test]
fn cooking_and_cooling_from_size_and_from_readings() {
    assert!(text(&["cook", "--weight", "2.6 kg"]).contains("2 h 40"));
    let c =
        json(&["cook", "--weight", "2.6 kg", "--reading", "10:00=8", "--reading", "11:00=35", "--reading", "12:00=58"]);
    assert_eq!(c[0]["forecast"]["readings"], 3);
    assert_eq!(c[0]["lethality"]["inside"], false);
    let cool = [
        "cool",
        "--weight",
        "2.6 kg",
        "--by",
        "blast",
        "--reading",
        "14:30=68",
        "--reading",
        "15:30=55",
        "--reading",
        "17:00=30",
    ];
    let a = json(&cool);
    let f = |k: &str| a[0]["forecast"][k].as_f64().unwrap();
    assert!(f("soonest") <= f("expected") && f("expected") <= f("latest") && f("soonest") > 150.0);
    // Nothing says it is cured, so the stricter limits hold.
    assert_eq!(a[0]["cured"], false);
    assert!(text(&cool).contains("no nitrite"));
    assert_eq!(
        turnday(&["cool", "--weight", "2.6 kg", "--by", "blast", "--reading", "25:00=8"]).status.code(),
        Some(2)
    );
    assert_eq!(turnday(&["cool", "--weight", "2.6 kg", "--reading", "14:30=68"]).status.code(), Some(2));
    assert_eq!(turnday(&["cool"]).status.code(), Some(2));
    assert!(text(&["cool", PAIR]).contains("by the planning table"));
}

#[test]
fn keeping_and_yield() {
    let k = json(&["keep", "--product", "ham-sliced", "--pack", "vacuum", "--at", "4"]);
    assert_eq!(k["value"]["life"]["days"], serde_json::json!([10, 10]));
    assert_eq!(k["value"]["life"]["kind"], "safety");
    assert_eq!(turnday(&["keep", "--product", "ham-sliced", "--at", "-8"]).status.code(), Some(1));
    assert!(text(&["keep"]).contains("best before"));
    let y = json(&["yield", "--packs", "20", "--at-table", "14"]);
    assert!((y["value"]["green"].as_f64().unwrap() - 4.12 / 0.64 * 1.05).abs() < 1e-9);
    assert!(text(&["yield", PAIR]).contains("packs in all"));
    assert_eq!(turnday(&["yield"]).status.code(), Some(2));
}

#[test]
fn nothing_here_says_safe_to_eat() {
    for args in [
        vec!["cook", "--weight", "2.6 kg"],
        vec!["cool", "--weight", "2.6 kg", "--cured"],
        vec!["keep"],
        vec!["nitrite", "--bag", "6.25", "--target", "120", "--meat", "4.7kg", "--water", "5.6kg"],
    ] {
        let t = text(&args).to_lowercase();
        assert!(!t.contains("safe to eat") && t.contains("caution"), "{args:?}");
    }
}
