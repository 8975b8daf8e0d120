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
        "0.2kg",
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
    assert_eq!((&all["alarms"], &all["refused"]), (&serde_json::json!([]), &serde_json::Value::Null));
    for c in all["joints"].as_array().unwrap() {
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

fn refusal(args: &[&str], code: i32) -> String {
    let o = turnday(args);
    assert_eq!(o.status.code(), Some(code), "{args:?}: {}", String::from_utf8_lossy(&o.stdout));
    String::from_utf8(o.stderr).unwrap()
}

#[test]
fn a_weight_of_curing_salt_has_its_unit_and_a_cure_has_meat_and_water() {
    let with = |water: &'static str, weighed: &'static str| {
        vec!["nitrite", "--bag", "6.25", "--target", "120", "--meat", "4.7kg", "--water", water, "--weighed", weighed]
    };
    assert!(refusal(&with("5.6kg", "19.8"), 2).contains("write \"19.8g\""));
    assert!(text(&with("5.6kg", "19.8g")).contains("120 mg/kg"));
    assert!(refusal(&with("0", "19.8g"), 1).contains("Water is 0 kg"));
    let none = ["nitrite", "--bag", "6.25", "--target", "120", "--meat", "0", "--water", "5.6kg"];
    assert!(refusal(&none, 1).contains("Meat is 0 kg"));
    assert!(!refusal(&["nitrite", "--bag", "6.25", "--meat", "1kg", "--water", "1kg"], 2).contains("NaN"));
}

// 19.8 g of a 0.6 % bag on 10.3 kg: 11.5 mg/kg, own arithmetic; ten times that from the bag it was taken for.
#[test]
fn a_wrong_bag_is_told_without_a_target() {
    let wrong = ["nitrite", "--bag", "0.6", "--meat", "4.7kg", "--water", "5.6kg", "--weighed", "19.8g"];
    let v = &json(&wrong)["value"];
    assert!((v["whole_system"].as_f64().unwrap() - 19.8 * 0.006 / 10.3 * 1000.0).abs() < 1e-9);
    assert!((v["if_the_label_was_misread"]["stronger"].as_f64().unwrap() - 115.34).abs() < 0.01);
    assert!(v.get("verdict").is_none());
    let t = text(&wrong);
    assert!(t.contains("cure without nitrite") && t.contains("is not judged (--target)"), "{t}");
    // 60 g of a 6.25 % bag is 364 mg/kg, over the hard limit whatever was meant.
    let over = turnday(&["nitrite", "--bag", "6.25", "--meat", "4.7kg", "--water", "5.6kg", "--weighed", "60g"]);
    assert_eq!(over.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&over.stdout).contains("drain it"));
}

#[test]
fn only_limits_on_this_product_are_judged() {
    let t = text(&["nitrite", "--bag", "6.25", "--target", "120", "--meat", "4.7kg", "--water", "5.6kg"]);
    assert!(!t.contains("OUTSIDE"), "120 mg/kg is an ordinary dose: {t}");
    assert!(t.contains("not this product: sterilised meat products"));
}

#[test]
fn sizes_belong_to_their_weight() {
    for (command, cm) in [("cook", "4"), ("cool", "4"), ("cool", "40")] {
        let e = refusal(&[command, "--weight", "2.6kg", "--diameter", cm], 1);
        assert!(e.contains("by its volume, not 2.6 kg") && e.contains("about 13 cm thick"), "{e}");
    }
    assert!(refusal(&["cook", "--weight", "2.6kg", "--diameter", "5"], 1).contains("inches"));
    assert!(text(&["cook", "--weight", "2.6kg", "--diameter", "15"]).contains("measure again"));
    assert!(!text(&["cook", "--weight", "2.6kg", "--diameter", "13"]).contains("measure again"));
}

#[test]
fn readings_go_forward() {
    let cool = |readings: &[&'static str]| {
        let mut all = vec!["cool", "--weight", "2.6 kg", "--by", "blast", "--cured"];
        for r in readings {
            all.extend(["--reading", r]);
        }
        all
    };
    let e = refusal(&cool(&["11:30=20", "11:00=32"]), 2);
    assert!(e.contains("11:00=32") && e.contains("11:30=20") && e.contains("2026-12-23 00:40=30"), "{e}");
    assert!(text(&cool(&["23:30=60", "00:30=50"])).contains("00:30 +1 d"));
}

#[test]
fn a_forecast_far_out_is_not_a_time() {
    let cool = |kg: &str, readings: &[&str]| {
        let mut all = vec!["cool", "--weight", kg, "--by", "fridge"];
        readings.iter().for_each(|r| all.extend(["--reading", r]));
        text(&all)
    };
    // Hardly moving: not within two days.
    let far = cool("2.6kg", &["10:00=70", "14:00=68"]);
    assert!(
        far.contains("5 °C is not in sight, not within 48 h") && !far.contains("nine chances in ten between"),
        "{far}"
    );
    // Warming: the middle is a guess and the late end is years away.
    let band = cool("2.6kg", &["10:00=20", "11:00=30", "12:00=45"]);
    assert!(band.contains("the late end is not in sight"), "{band}");
    // No forecast at all: where the log stands is still told.
    let none = cool("9kg", &["10:00=70", "16:00=69"]);
    assert!(none.contains("5 °C is not in sight") && none.contains("house limit, no nitrite"), "{none}");
    for said in [far, band, none] {
        for days in said.split('+').skip(1).filter_map(|s| s.split_once(" d").and_then(|d| d.0.parse::<i64>().ok())) {
            assert!(days <= 3, "{said}");
        }
    }
}

#[test]
fn a_log_that_begins_cold_is_not_known() {
    let low = ["cool", "--weight", "2.6kg", "--by", "fridge", "--reading", "11:30=30"];
    let t = text(&low);
    assert!(t.contains("not known: the log begins too late") && !t.contains("10 h left"), "{t}");
    let logged = json(&low);
    for j in logged[0]["logged"].as_array().unwrap() {
        assert_eq!(j["overall"]["standing"], "not-known", "{j}");
    }
}

#[test]
fn a_core_under_the_limit_is_said_so() {
    let t = text(&["cook", "--weight", "2.6kg", "--target", "60"]);
    assert!(t.contains("OUTSIDE the core limit: 60 °C is under 70 °C for 2 minutes"), "{t}");
    assert!(
        t.split_whitespace().collect::<Vec<_>>().join(" ").contains("asks 93 minutes"),
        "ACMSF asks 5,580 s at 60 °C: {t}"
    );
    assert!(!text(&["cook", "--weight", "2.6kg", "--target", "70"]).contains("OUTSIDE the core limit"));
}

#[test]
fn each_published_table_judges_a_cook() {
    let cook = [
        "cook",
        "--weight",
        "2.6kg",
        "--reading",
        "10:00=65",
        "--reading",
        "10:12=65",
        "--reference",
        "65",
        "--z",
        "7.5",
    ];
    let v = json(&cook);
    // 12 min at 65 °C: over the FSA's 10 min, under the ACMSF's 14, far over FSIS's 85 s.
    let inside: Vec<bool> =
        v[0]["by_table"].as_array().unwrap().iter().map(|t| t["inside"].as_bool().unwrap()).collect();
    assert_eq!(inside, [true, false, true, true]);
    assert!((v[0]["at_reference"].as_f64().unwrap() - 12.0).abs() < 1e-9);
    assert!(text(&cook).contains("Worth 12.0 min at 65 °C with z 7.5"));
    assert_eq!(turnday(&["cook", "--weight", "2.6kg", "--z", "7"]).status.code(), Some(2));
}

// Packs and portions of the trade notes (common practice, no source); yields 0.95 and 1.01, 5 % over.
#[test]
fn each_product_has_its_own_pack_and_portion() {
    let green = |args: &[&str]| json(&[&["yield"], args].concat())["value"]["green"].as_f64().unwrap();
    assert!((green(&["--packs", "5", "--product", "gammon-steaks"]) - 2.0 / 0.95 * 1.05).abs() < 1e-9);
    assert!((green(&["--at-table", "8", "--product", "gammon-steaks"]) - 1.6 / 0.95 * 1.05).abs() < 1e-9);
    assert!((green(&["--at-table", "8", "--product", "gammon-joint"]) - 2.0 / 1.01 * 1.05).abs() < 1e-9);
    assert!((green(&["--packs", "2", "--product", "gammon-joint"]) - 2.3 / 1.01 * 1.05).abs() < 1e-9);
    assert!(text(&["yield", "--packs", "5", "--product", "gammon-steaks"]).contains("2 × 200 g"));
    assert!(refusal(&["yield", "--packs", "1", "--product", "ham-whole"], 2).contains("--pack 1.8kg"));
}

#[test]
fn a_batch_has_its_energy_and_its_cost() {
    let v = json(&["yield", PAIR, "--pork-price", "8", "--kwh-price", "0.25", "--other", "6"]);
    let v = &v["value"];
    let kwh: f64 = v["energy"].as_object().unwrap().values().map(|e| e.as_f64().unwrap()).sum();
    // 2.9 and 2.2 kg of pork.
    assert!((v["cost"]["total"].as_f64().unwrap() - (5.1 * 8.0 + kwh * 0.25 + 6.0)).abs() < 1e-9);
    assert!(text(&["yield", PAIR]).contains("kWh"));
    assert_eq!(turnday(&["yield", PAIR, "--pork-price=-8"]).status.code(), Some(1));
    // A pack's price is its joint's: what every joint's packed weight costs comes to the whole again.
    let joints = v["joints"].as_array().unwrap();
    let part = |j: &serde_json::Value| j["cost"]["per_kg"].as_f64().unwrap() * j["packing"]["packed"].as_f64().unwrap();
    let all: f64 = joints.iter().map(part).sum();
    assert!((all - v["cost"]["total"].as_f64().unwrap()).abs() < 1e-9, "{all}");
    let said = text(&["yield", PAIR, "--pork-price", "£7"]);
    assert!(said.contains("Costs £35.70 in all") && said.contains(" a pack of 150 g"), "{said}");
    assert!(text(&["yield", PAIR, "--pork-price", "7.00 €"]).contains("Costs €35.70"));
    for (price, says) in [("seven", "is no sum of money"), ("7,50", "with a point"), ("nan", "no sum")] {
        let said = refusal(&["yield", PAIR, "--pork-price", price], 2);
        assert!(said.contains(says), "{said}");
    }
    let mixed = refusal(&["yield", PAIR, "--pork-price", "£7", "--kwh-price", "$0.3"], 2);
    assert!(mixed.contains("in £ and in $"), "{mixed}");
}

#[test]
fn keeping_is_judged_at_the_temperature_given() {
    assert!(refusal(&["keep", "--at", "12"], 1).contains("12 °C is outside"));
    assert_eq!(turnday(&["keep", "--at", "-8"]).status.code(), Some(1));
    let chilled = text(&["keep", "--at", "7"]);
    assert!(!chilled.contains("frozen") && chilled.contains("Over 5 °C"), "{chilled}");
    assert!(!text(&["keep", "--at", "-18"]).contains("chilled"));
}

// Thicker takes longer, and Plank's time with the heat of freezing alone is the short end.
#[test]
fn a_pack_takes_its_time_to_freeze() {
    let minutes = |thick: &str, air: &str| {
        let k = json(&["keep", "--product", "ham-sliced", "--freeze", thick]);
        k["value"]["freezing"][air].as_f64().unwrap()
    };
    let (thin, thick) = (minutes("2cm", "in_still_air"), minutes("4cm", "in_still_air"));
    assert!(60.0 < thin && 1.9 * thin < thick && thick < 24.0 * 60.0, "{thin} {thick}");
    assert!(minutes("2cm", "in_moving_air") < thin);
    assert_eq!(turnday(&["keep", "--product", "ham-sliced", "--freeze", "2cm", "--at", "4"]).status.code(), Some(1));
}

#[test]
fn temperatures_are_told_to_a_tenth() {
    assert!(text(&["cook", "--weight", "2.6kg", "--target", "160F"]).contains("Core at 71.1 °C"));
    assert!(text(&["keep", "--product", "ham-whole", "--at", "39F"]).contains("at 3.9 °C"));
    assert!(refusal(&["keep", "--product", "ham-whole", "--at", "50F"], 1).contains("10 °C"));
}

#[test]
fn cooling_shows_the_table_and_conduction_and_which_the_plan_goes_by() {
    let t = text(&["cool", PAIR]);
    let line = |name: &str| t.lines().find(|l| l.trim_start().starts_with(name)).unwrap().to_owned();
    assert!(line("by the planning table").contains("this kitchen's plan goes by it"));
    assert!(!line("by conduction").contains("goes by it"));
    // 13.5 cm in iced water and a fridge: about 8 h by the table and 14 h by conduction at the slow end, either side of 12.5.
    assert!(t.contains("inside by the planning table, OUTSIDE by conduction") && t.contains("act on the"), "{t}");
    let physics = std::fs::read_to_string(PAIR)
        .unwrap()
        .replace("\"basis\": \"equilibrium\"", "\"times\": \"physics\", \"basis\": \"equilibrium\"");
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("kitchen.json");
    std::fs::write(&path, physics).unwrap();
    let v = json(&["cool", path.to_str().unwrap()]);
    assert_eq!(v[0]["means"][0]["plan_goes_by"], "physics");
}

#[test]
fn a_plan_files_litres_are_not_trusted() {
    let plan = text(&["plan", PAIR, "--steps", "20000", "--json"]);
    let edited = |litres: f64, cm: f64| {
        let mut edited: Value = serde_json::from_str(&plan).unwrap();
        for load in edited["loads"].as_array_mut().unwrap() {
            load["brine_litres"] = (load["brine_litres"].as_f64().unwrap() + litres).into();
            load["fill_cm"] = (load["fill_cm"].as_f64().unwrap() + cm).into();
        }
        edited.to_string()
    };
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str, text: &str| {
        let p = folder.path().join(name);
        std::fs::write(&p, text).unwrap();
        p.to_str().unwrap().to_owned()
    };
    let (good, near) = (path("good.json", &plan), path("near.json", &edited(0.04, -0.04)));
    let slips = |plan: &str| json(&["brine", PAIR, "--plan", plan]);
    // Too little for the judge to mind, and still not what is weighed out by.
    assert_eq!(slips(&good), slips(&near));
    assert_ne!(slips(&good), Value::Array(Vec::new()));
    let far = path("far.json", &edited(44.0, 0.0));
    assert!(refusal(&["brine", PAIR, "--plan", &far], 1).contains("breaks"));
}
