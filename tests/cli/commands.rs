//! Every command and flag, and how it ends: 0 done, 1 refused or impossible, 2 unusable input or usage.

use super::support::{Bench, compare_or_bless, root};
use serde_json::{Value, json};
use std::io::Read;
use std::process::Stdio;

const STEPS: [&str; 2] = ["--steps", "60"];

fn plan<'a>(k: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    [&["plan", k], &STEPS[..], more].concat()
}

#[test]
fn a_plan_is_the_same_text_everywhere() {
    let b = Bench::new();
    b.kitchen("small.json");
    let said = b.run(&plan("kitchen.json", &[])).ends(0);
    assert_eq!(said.err, "");
    compare_or_bless(&root().join("tests/cli/small.txt"), &said.out);
    for word in ["Cautions", "Turn BOX", "est found", "read the label again"] {
        assert!(said.out.contains(word), "{word}\n{}", said.out);
    }
    assert!(!said.out.to_lowercase().contains("safe to eat"));
}

#[test]
fn a_plan_as_json_is_valid_by_its_schema_and_passes_the_check() {
    let b = Bench::new();
    for good in ["small.json", "medium.json", "excess.json", "pounds.json"] {
        b.kitchen(good);
        let said = b.run(&plan("kitchen.json", &["--json"]));
        assert!(matches!(said.code, Some(0 | 1)), "{good}: {said:?}");
        let value = said.json();
        assert!(value["tasks"].as_array().is_some_and(|t| t.len() > 10), "{good}: {said:?}");
        let schema = b.run(&["schema", "plan"]).ends(0).json();
        let validator = jsonschema::draft202012::new(&schema).unwrap();
        let errors: Vec<String> =
            validator.iter_errors(&value).map(|e| format!("{}: {e}", e.instance_path())).collect();
        assert!(errors.is_empty(), "{good}: {errors:#?}");
        b.write("plan.json", &said.out);
        let verdict = b.run(&["check", "kitchen.json", "plan.json", "--json"]).ends(0).json();
        assert_eq!(verdict["broken"], json!([]), "{good}");
        let told: Vec<&Value> = value["levels"].as_array().unwrap().iter().map(|l| &l["value"]).collect();
        let judged: Vec<&Value> = verdict["levels"].as_array().unwrap().iter().map(|l| &l[1]).collect();
        assert_eq!(told, judged, "{good}");
    }
}

#[test]
fn the_schema_refuses_what_is_no_plan() {
    let b = Bench::new();
    b.kitchen("small.json");
    let schema = b.run(&["schema", "plan"]).ends(0).json();
    let validator = jsonschema::draft202012::new(&schema).unwrap();
    let mut value = b.run(&plan("kitchen.json", &["--json"])).ends(0).json();
    assert!(validator.is_valid(&value));
    value["tasks"][0]["kind"] = json!("sing");
    assert!(!validator.is_valid(&value));
    b.write("plan.json", value.to_string());
    let said = b.run(&["check", "kitchen.json", "plan.json"]).ends(2);
    assert!(said.err.contains("tasks[0].kind") && said.err.contains("turnday schema plan"), "{}", said.err);
}

#[test]
fn output_to_a_file_is_whole_and_leaves_nothing_beside_it() {
    let b = Bench::new();
    b.kitchen("small.json");
    b.write("plan.json", "an older plan");
    let said = b.run(&plan("kitchen.json", &["-o", "plan.json"])).ends(0);
    assert!(said.out.contains("ready") && !said.out.contains("Cautions"), "only the headline: {}", said.out);
    assert_eq!(b.names(), ["kitchen.json", "plan.json"]);
    let ok = b.run(&["check", "kitchen.json", "plan.json"]).ends(0);
    assert!(ok.out.starts_with("The plan stays inside every limit of this kitchen."), "{}", ok.out);
    let with_json = b.run(&plan("kitchen.json", &["--json", "--output", "again.json"])).ends(0);
    assert_eq!(with_json.out, std::fs::read_to_string(b.path("again.json")).unwrap());
    assert_eq!(with_json.out, std::fs::read_to_string(b.path("plan.json")).unwrap(), "steps make it the same");
    // Where it cannot be written nothing is left lying about.
    let said = b.run(&plan("kitchen.json", &["-o", "no/such/folder/plan.json"])).ends(2);
    assert!(said.err.contains("cannot write"), "{}", said.err);
    let said = b.run(&plan("kitchen.json", &["-o", "/"])).ends(2);
    assert!(!said.err.is_empty());
    std::fs::create_dir(b.path("folder")).unwrap();
    b.run(&plan("kitchen.json", &["-o", "folder"])).ends(2);
    assert_eq!(b.names(), ["again.json", "folder", "kitchen.json", "plan.json"]);
}

#[test]
fn a_broken_plan_is_told_of_and_ends_in_one() {
    let b = Bench::new();
    b.kitchen("small.json");
    let mut value = b.run(&plan("kitchen.json", &["--json"])).ends(0).json();
    let tasks = value["tasks"].as_array_mut().unwrap();
    tasks.retain(|t| t["id"] != "turn BOX 2");
    b.write("plan.json", value.to_string());
    let said = b.run(&["check", "kitchen.json", "plan.json"]).ends(1);
    assert!(said.out.contains("The plan breaks 1 limit:") && said.out.contains("turn BOX 2"), "{}", said.out);
    assert!(!b.run(&["check", "kitchen.json", "plan.json", "--json"]).ends(1).json()["broken"][0]["says"].is_null());
    // A plan that breaks something is not shown by the views either.
    for view in ["turns", "today"] {
        let said = b.run(&[view, "kitchen.json", "--plan", "plan.json"]).ends(1);
        assert!(said.out.is_empty() && said.err.contains("turnday check"), "{said:?}");
    }
}

#[test]
fn turns_and_today() {
    let b = Bench::new();
    b.kitchen("small.json");
    b.run(&plan("kitchen.json", &["-o", "plan.json"])).ends(0);
    let turns = b.run(&["turns", "kitchen.json", "--plan", "plan.json"]).ends(0);
    assert!(turns.out.starts_with("BOX (J1, J2)\n"), "{}", turns.out);
    let kept: Value = serde_json::from_str(&std::fs::read_to_string(b.path("plan.json")).unwrap()).unwrap();
    let number = kept["loads"][0]["turns"].as_u64().unwrap() as usize;
    assert!(number >= 4, "2.6 kg is in the brine for 15.6 days");
    assert_eq!(turns.out.matches("  turn, ").count(), number, "{}", turns.out);
    assert_eq!(turns.out.matches("lift J").count(), 2);
    let again = b.run(&["turns", "kitchen.json", "--steps", "60"]).ends(0);
    assert_eq!(turns.out, again.out, "planned anew with the same steps");
    let data = b.run(&["turns", "kitchen.json", "--plan", "plan.json", "--json"]).ends(0).json();
    assert_eq!(data["tubs"][0]["turns"].as_array().unwrap().len(), number);
    assert_eq!(data["alarms"], serde_json::json!([]), "a kitchen file has no record");
    let first = data["tubs"][0]["turns"][0]["at"].as_str().unwrap()[..10].to_owned();
    let today = b.run(&["today", "kitchen.json", "--plan", "plan.json", "--on", &first]).ends(0);
    assert!(today.out.contains("Turn BOX (J1 and J2)"), "{}", today.out);
    assert!(today.out.lines().last().unwrap().starts_with("Next: "), "{}", today.out);
    let data = b.run(&["today", "kitchen.json", "--plan", "plan.json", "--on", &first, "--json"]).ends(0).json();
    assert_eq!(data["date"], first.as_str());
    assert_eq!(data["starting"][0]["kind"], "turn");
    let empty = b.run(&["today", "kitchen.json", "--plan", "plan.json", "--on", "2031-01-01"]).ends(0);
    assert!(empty.out.contains("Nothing to do in the kitchen."), "{}", empty.out);
    // Without a date it is today's in the kitchen's zone; whatever that is, it ends well.
    b.run(&["today", "kitchen.json", "--plan", "plan.json"]).ends(0);
    for bad in ["yesterday", "2026-13-01", "2026-02-30", ""] {
        b.run(&["today", "kitchen.json", "--on", bad]).ends(2);
    }
}

#[test]
fn new_writes_a_kitchen_that_plans_and_never_overwrites() {
    let b = Bench::new();
    let printed = b.run(&["new"]).ends(0).out;
    let said = b.run(&["new", "mine.json"]).ends(0);
    assert!(said.out.contains("turnday plan mine.json"), "{}", said.out);
    assert_eq!(std::fs::read_to_string(b.path("mine.json")).unwrap(), printed);
    let planned = b.run(&plan("mine.json", &["-o", "plan.json"])).ends(0);
    assert_eq!(planned.err, "", "the starter plans without a warning");
    b.run(&["check", "mine.json", "plan.json"]).ends(0);
    b.write("mine.json", "my own words");
    let said = b.run(&["new", "mine.json"]).ends(2);
    assert!(said.err.contains("is not overwritten"), "{}", said.err);
    assert_eq!(std::fs::read_to_string(b.path("mine.json")).unwrap(), "my own words");
    b.run(&["new", "no/such/folder/mine.json"]).ends(2);
    assert_eq!(b.names(), ["mine.json", "plan.json"]);
}

#[test]
fn schemas() {
    let b = Bench::new();
    let kitchen = b.run(&["schema"]).ends(0).json();
    assert_eq!(kitchen, b.run(&["schema", "kitchen"]).ends(0).json());
    assert_ne!(kitchen, b.run(&["schema", "plan"]).ends(0).json());
    let validator = jsonschema::draft202012::new(&kitchen).unwrap();
    assert!(!validator.is_valid(&json!({ "format": 1 })));
    b.run(&["schema", "cellar"]).ends(2);
}

#[test]
fn the_demo_goes_into_a_pipe_as_text() {
    let b = Bench::new();
    for (which, name) in [("feast", "Twelfth Night supper, Quill Lane"), ("five", "Spring five, Saltmarsh Row")] {
        let said = b.run(&["demo", which]).ends(0);
        assert!(said.out.starts_with(name), "{}", said.out);
        assert!(said.out.contains("Cautions") && !said.out.contains('\u{1b}'), "{which}");
    }
    let said = b.run(&["demo"]).ends(0);
    assert!(said.out.starts_with("Spring five, Saltmarsh Row\n"));
    // A kitchen of one's own, opened where there is no terminal, is printed too.
    b.kitchen("small.json");
    let said = b.run(&["open", "kitchen.json", "--steps", "60"]).ends(0);
    assert_eq!(said.out, b.run(&plan("kitchen.json", &[])).ends(0).out);
}

#[test]
fn impossible_and_late_end_in_one_and_say_why() {
    let b = Bench::new();
    let small = std::fs::read_to_string(root().join("tests/kitchen/good/small.json")).unwrap();
    // Nobody is there for the cook day: R and S are away but for an hour a day.
    let mut never: Value = serde_json::from_str(&small).unwrap();
    for p in never["people"].as_array_mut().unwrap() {
        p["busy"] = json!([{ "days": "every day", "from": "08:00", "to": "20:00" }]);
    }
    b.write("never.json", never.to_string());
    let said = b.run(&plan("never.json", &[])).ends(1);
    assert!(said.out.is_empty() && said.err.contains("There is no plan"), "{said:?}");
    assert!(said.err.contains("when free to") || said.err.contains("at home"), "{}", said.err);
    let data = b.run(&plan("never.json", &["--json"])).ends(1).json();
    assert_eq!(data["refused"], "impossible");
    assert!(!data["because"].as_array().unwrap().is_empty());
    for view in ["turns", "today"] {
        b.run(&[view, "never.json", "--steps", "20"]).ends(1);
    }
    // The ham on the 15th: it cannot be cured by then. There is a plan, it is late, and by how much.
    let late = small.replace("2026-12-24 18:00", "2026-12-15 18:00");
    b.write("late.json", late);
    let said = b.run(&plan("late.json", &[])).ends(1);
    assert!(said.out.contains("J1 cannot be ready by Tue 15 Dec 18:00") && said.out.contains("late."), "{}", said.out);
    b.run(&plan("late.json", &["-o", "late-plan.json"])).ends(1);
    b.run(&["check", "late.json", "late-plan.json"]).ends(0);
    // A ham that fits no pot.
    let mut pot: Value = serde_json::from_str(&small).unwrap();
    pot["kit"]["pots"][0]["diameter"] = json!(13);
    b.write("pot.json", pot.to_string());
    let said = b.run(&plan("pot.json", &[]));
    assert!(said.code == Some(1) || said.code == Some(2), "{said:?}");
    assert!(said.err.contains("J1") && said.err.contains("Pot"), "{}", said.err);
}

#[test]
fn usage() {
    let b = Bench::new();
    b.kitchen("small.json");
    let help = b.run(&["--help"]).ends(0);
    for command in [
        "demo", "open", "plan", "check", "turns", "today", "start", "log", "undo", "redo", "history", "book", "new",
        "schema", "replan", "ask", "show",
    ] {
        assert!(help.out.contains(&format!("\n  {command} ")), "{command} is not in the help:\n{}", help.out);
        let own = b.run(&[command, "--help"]).ends(0);
        assert!(own.out.contains("Usage: turnday"), "{}", own.out);
        assert!(own.err.is_empty());
    }
    assert!(b.run(&["--version"]).ends(0).out.starts_with("turnday "));
    for wrong in [
        &["fry"][..],
        &["plan"],
        &["plan", "kitchen.json", "--soon"],
        &["plan", "kitchen.json", "extra"],
        &["plan", "kitchen.json", "--steps", "many"],
        &["plan", "kitchen.json", "--steps", "-1"],
        &["plan", "kitchen.json", "--steps", "10", "--seconds", "1"],
        &["plan", "kitchen.json", "--seed", "x"],
        &["plan", "kitchen.json", "--seconds", "soon"],
        &["check", "kitchen.json"],
        &["demo", "barn"],
        &["turns"],
    ] {
        let said = b.run(wrong).ends(2);
        assert!(said.out.is_empty() && !said.err.is_empty(), "{wrong:?}");
    }
}

#[test]
fn odd_amounts_of_patience() {
    let b = Bench::new();
    b.kitchen("small.json");
    for odd in [["--steps", "0"], ["--seconds", "0"], ["--seconds", "0.05"], ["--steps", "1"]] {
        b.run(&["plan", "kitchen.json", odd[0], odd[1]]).ends(0);
    }
    // Not a length of time: refused as usage, or taken for none; never a panic and never for ever.
    for odd in ["nan", "-1", "inf", "-inf"] {
        let mut child = b
            .command(&["plan", "kitchen.json", &format!("--seconds={odd}")])
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut ended = None;
        for _ in 0..200 {
            ended = child.try_wait().unwrap();
            if ended.is_some() {
                break;
            }
            std::thread::sleep(std::time::Duration::from_millis(50));
        }
        let _ = child.kill();
        let mut err = String::new();
        child.stderr.take().unwrap().read_to_string(&mut err).unwrap();
        let code = ended.and_then(|e| e.code());
        assert_eq!(code, Some(2), "--seconds {odd}: {code:?} {err}");
        assert!(!err.contains("panicked"), "{err}");
    }
    // Very long is allowed; the small kitchen stops by itself or is stopped by us.
    let mut child = b
        .command(&["plan", "kitchen.json", "--seconds", "1e99"])
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    std::thread::sleep(std::time::Duration::from_millis(700));
    let ended = child.try_wait().unwrap();
    let _ = child.kill();
    let mut err = String::new();
    child.stderr.take().unwrap().read_to_string(&mut err).unwrap();
    assert!(!err.contains("panicked") && ended.is_none_or(|e| e.code() == Some(0)), "{ended:?} {err}");
    let a = b.run(&["plan", "kitchen.json", "--steps", "60", "--seed", "7"]).ends(0);
    assert_eq!(a.out, b.run(&["plan", "kitchen.json", "--steps", "60", "--seed", "7"]).ends(0).out);
    b.run(&["plan", "kitchen.json", "--steps", "60", "--seed", "18446744073709551615"]).ends(0);
}

#[test]
fn a_pipe_that_is_closed_early_is_no_fault() {
    let b = Bench::new();
    b.kitchen("small.json");
    for args in [vec!["schema"], vec!["demo"], plan("kitchen.json", &["--json"]), vec!["new"], vec!["--help"]] {
        let mut child = b.command(&args).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        drop(child.stdout.take());
        let said = child.wait_with_output().unwrap();
        let err = String::from_utf8(said.stderr).unwrap();
        assert!(!err.contains("panicked"), "{args:?}: {err}");
        assert_eq!(said.status.code(), Some(0), "{args:?}: {err}");
    }
}

#[test]
fn a_kitchen_from_standard_input() {
    let b = Bench::new();
    let path = b.kitchen("small.json");
    let text = std::fs::read(&path).unwrap();
    let said = b.run_with_input(&plan("-", &[]), &text).ends(0);
    assert_eq!(said.out, b.run(&plan("kitchen.json", &[])).out);
    b.run_with_input(&plan("-", &[]), b"{").ends(2);
    b.run_with_input(&plan("-", &[]), b"\xff\xfe").ends(2);
    b.run(&plan("-", &[])).ends(2);
}
