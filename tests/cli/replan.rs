//! Planning again, and asking what if, from outside.

use super::support::Bench;

fn planned(b: &Bench) {
    b.kitchen("small.json");
    b.run(&["plan", "kitchen.json", "--steps", "600", "-o", "plan.json"]).ends(0);
}

#[test]
fn as_planned_nothing_moves_and_the_judge_agrees() {
    let b = Bench::new();
    planned(&b);
    let now = ["--as-planned", "--now", "2026-12-10 12:00"];
    let said = b.run(&[&["replan", "kitchen.json", "plan.json", "-o", "new.json"][..], &now].concat()).ends(0);
    assert!(said.out.contains("stay where they are"), "{}", said.out);
    b.run(&[&["check", "kitchen.json", "new.json"][..], &now].concat()).ends(0);
    let json = b.run(&[&["replan", "kitchen.json", "plan.json", "--json"][..], &now].concat()).ends(0).json();
    assert_eq!(json["tier"], "kept");
    assert_eq!(json["difference"]["moved"].as_array().map(Vec::len), Some(0));
}

#[test]
fn heavier_it_says_what_moves_and_what_else_could_be_done() {
    let b = Bench::new();
    planned(&b);
    let text = std::fs::read_to_string(b.path("kitchen.json")).unwrap();
    let text = text.replacen("\"weight\": 2.6,", "\"weight\": 2.6, \"weighed\": 3.4,", 1);
    let text = text.replacen("\"diameter\": 13.1,", "", 1).replacen("\"length\": 18.3,", "", 1);
    b.write("kitchen.json", text);
    let now = ["--as-planned", "--now", "2026-12-04 18:10"];
    let said = b.run(&[&["replan", "kitchen.json", "plan.json"][..], &now].concat()).ends(1);
    for part in [
        "What happened\n  J1 weighs 3.4 kg, not 2.6.",
        "What stays",
        "What moves: ",
        "What it costs",
        "What next",
        "What else",
    ] {
        assert!(said.out.contains(part), "{part}:\n{}", said.out);
    }
    assert!(!said.out.contains("optimi"), "{}", said.out);
}

#[test]
fn questions_are_answered_together_as_text_and_as_data() {
    let b = Bench::new();
    planned(&b);
    let base = ["ask", "-k", "kitchen.json", "--plan", "plan.json", "--as-planned", "--now", "2026-12-04 12:00"];
    let ask = |q: &[&str]| b.run(&[&base[..], q].concat());
    let said = ask(&["weighs J1 3.4", "tub like BOX", "lost-day"]).ends(0);
    assert!(said.out.contains("What if J1 weighs 3.4 kg?") && said.out.contains("20.4 days"), "{}", said.out);
    assert!(said.out.contains("can be lost"), "{}", said.out);
    let json = ask(&["away 15-17 Dec", "--json"]).ends(0).json();
    assert_eq!(json[0]["question"]["ask"], "away");
    assert!(json[0]["yes"].is_boolean());
    for bad in ["", "when", "weighs Nobody 3", "away soon"] {
        let said = ask(&[bad]).ends(2);
        assert!(said.err.starts_with("turnday: "), "{}", said.err);
    }
}

#[test]
fn records_that_are_none_are_refused_and_strangers_are_told() {
    let b = Bench::new();
    planned(&b);
    b.write("done.json", "{\"now\": \"2026-12-10T12:00:00Z\", \"tusks\": {}}");
    let said = b.run(&["replan", "kitchen.json", "plan.json", "--done", "done.json"]).ends(2);
    assert!(said.err.contains("turnday schema history"), "{}", said.err);
    b.write(
        "done.json",
        "{\"now\": \"2026-12-04T08:00:00Z\", \"tasks\": {\"turn NOTHING 1\": {\"start\": \"2026-12-03T08:00:00Z\", \"state\": \"done\"}}}",
    );
    let said = b.run(&["replan", "kitchen.json", "plan.json", "--done", "done.json"]);
    assert!(said.err.contains("turn NOTHING 1"), "{said:?}");
    b.run(&["replan", "kitchen.json"]).ends(2);
    b.run(&["replan", "kitchen.json", "plan.json", "--accept"]).ends(2);
    b.run(&["schema", "history"]).ends(0).json();
}

/// Where no book is kept there is nothing to log a late turn in: its own file is named.
#[test]
fn a_late_turn_in_a_record_of_ones_own_asks_for_no_book() {
    let b = Bench::new();
    planned(&b);
    let fact = |at: &str, end: &str| serde_json::json!({ "start": format!("2026-12-{at}:00Z"), "end": format!("2026-12-{end}:00Z"), "state": "done" });
    let tasks = serde_json::json!({
        "put in BOX": fact("04T18:00", "04T18:30"), "turn BOX 1": fact("11T18:30", "11T18:40"),
    });
    let done = serde_json::json!({ "now": "2026-12-11T19:00:00Z", "tasks": tasks });
    b.write("done.json", done.to_string());
    let args = ["replan", "kitchen.json", "plan.json", "--done", "done.json"];
    let said = b.run(&args).out;
    let line = said.lines().find(|l| l.contains("more in the brine")).unwrap_or_else(|| panic!("{said}"));
    assert!(line.contains("two days more in the brine") && line.contains("`turnday schema history`"), "{line}");
    assert!(!said.contains("--log") && !said.contains("turnday trouble"), "{said}");
    assert!(!b.run(&[&args[..], &["--json"]].concat()).out.contains("turnday trouble"));
}

#[test]
fn from_the_book_a_replan_is_proposed_and_taken_on_or_turned_down() {
    let b = Bench::new();
    b.kitchen("small.json");
    b.run(&["start", "kitchen.json", "--steps", "600", "--by", "R"]).ends(0);
    let late = ["--now", "2026-12-05 12:00"];
    // Nothing is ticked off by the fifth: what is overdue is due now.
    let said = b.run(&[&["replan"][..], &late].concat());
    assert!(said.out.contains("not ticked off") && said.out.contains("Nothing is changed yet"), "{said:?}");
    let before = b.run(&["plan", "--json"]).json();
    b.run(&[&["replan", "--keep", "--by", "S"][..], &late].concat()).ends(0);
    assert_eq!(b.run(&["plan", "--json"]).json()["tasks"], before["tasks"]);
    let said = b.run(&[&["replan", "--accept", "--by", "S"][..], &late].concat());
    assert!(said.out.contains("Taken on"), "{said:?}");
    assert_ne!(b.run(&["plan", "--json"]).json()["tasks"], before["tasks"]);
    let history = b.run(&["history"]).ends(0);
    assert!(history.out.contains("kept as it was"), "{}", history.out);
    let said = b.run(&[&["ask", "lost day"][..], &late].concat()).ends(0);
    assert!(said.out.contains("can be lost"), "{}", said.out);
}
