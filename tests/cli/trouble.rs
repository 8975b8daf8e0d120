//! `turnday trouble`: text, JSON, exit codes, and the kitchen file with the ruling worked in.

use super::support::Bench;
use serde_json::json;

#[test]
fn without_a_kitchen_it_answers_and_says_what_it_read_as_the_worst() {
    let b = Bench::new();
    let all = b.run(&["trouble"]).ends(0);
    for kind in ["missed-turn", "power-cut", "ropy", "misweighed-cure", "bone-sour"] {
        assert!(all.out.contains(&format!("\n  {kind} ")), "{kind}\n{}", all.out);
    }
    assert!(b.run(&["trouble", "--json"]).ends(0).json().as_array().unwrap().len() > 15);
    let said = b.run(&["trouble", "missed-turn", "--for", "6 d"]).ends(0);
    assert!(said.out.contains("24 h more in the brine") && said.out.contains("Corrective action"), "{}", said.out);
    let warm = ["trouble", "warm", "--reading", "47 F", "--for", "7 h", "--nitrite", "yes", "--start-percent", "4"];
    let said = b.run(&warm).ends(1);
    assert!(said.out.contains("8.33 °C for 7 h") && said.out.contains("throw it out"), "{}", said.out);
    assert!(b.run(&[&warm[..], &["--business"]].concat()).ends(1).out.contains("bin it"));
    let data = b.run(&["trouble", "warm", "--reading", "8.5", "--json"]).ends(1).json();
    assert_eq!(data["verdict"], "bin");
    assert!(data["read_as"].as_array().unwrap().len() >= 2);
    assert!(!data["deviation"]["corrective"].as_str().unwrap().is_empty());
    for wrong in [
        &["trouble", "gremlins"][..],
        &["trouble", "warm", "--reading", "400"],
        &["trouble", "warm", "--for", "soon"],
        &["trouble", "ropy", "--smells", "a bit"],
        &["trouble", "ropy", "--joint", "J1"],
        &["trouble", "misweighed-cure", "--ratio=-1"],
        &["trouble", "misweighed-cure", "--ratio", "nan"],
    ] {
        b.run(wrong).ends(2);
    }
}

#[test]
fn with_a_kitchen_it_weighs_out_and_writes_the_kitchen_that_follows() {
    let b = Bench::new();
    b.kitchen("medium.json");
    let tub = ["--kitchen", "kitchen.json", "--joint", "C", "--joint", "D", "--tub", "T3"];
    let said = b.run(&[&["trouble", "ropy", "--in-brine", "15 d"], &tub[..]].concat()).ends(1);
    assert!(said.out.contains("two thirds") && said.out.contains("curing salt 13."), "{}", said.out);
    let late = ["trouble", "missed-turn", "--for", "7 d", "-o", "after.json"];
    b.run(&[&late[..], &tub[..]].concat()).ends(0);
    let after: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(b.path("after.json")).unwrap()).unwrap();
    let joint = |name: &str| after["joints"].as_array().unwrap().iter().find(|j| j["name"] == name).unwrap();
    assert_eq!(joint("C")["extra_cure"][0]["time"], json!(2880.0));
    assert!(joint("A").get("extra_cure").is_none());
    let plan = b.run(&["plan", "after.json", "--steps", "60", "--json"]);
    assert!(matches!(plan.code, Some(0 | 1)), "{}", plan.err);
    b.write("plan.json", &plan.out);
    b.run(&["check", "after.json", "plan.json"]).ends(0);
    b.run(&["trouble", "scum", "--kitchen", "kitchen.json", "--joint", "Z"]).ends(2);
    b.run(&["trouble", "scum", "--kitchen", "kitchen.json", "-o", "x.json"]).ends(2);
}

/// What a ruling says of the plan, the plan does: on record it makes the kitchen go by it.
#[test]
fn a_ruling_on_record_reaches_the_plan() {
    let b = Bench::new();
    b.kitchen("small.json");
    b.run(&["start", "kitchen.json", "--steps", "60"]).ends(0);
    let said = b.run(&["trouble", "heavier", "--joint", "J1", "--weight", "3.4kg", "--log"]);
    assert!(
        said.out.contains("it goes by 3.40 kg") && said.out.contains("the kitchen goes by it"),
        "{}{}",
        said.out,
        said.err
    );
    assert!(b.run(&["history"]).ends(0).out.contains("J1 weighed: 3.4 kg"));
    // A tub may be bad as a whole; a bone is one joint's, so the tub alone is not enough.
    b.run(&["trouble", "bone-sour", "--tub", "BOX", "--log"]).ends(2);
    // Told of two joints it is about both, and found by either; the other tubs' are left alone.
    b.run(&["trouble", "missed-turn", "--for", "6 d", "--joint", "J1", "--joint", "J2", "--log"]);
    for joint in ["J1", "J2"] {
        let told = b.run(&["history", "--joint", joint, "--kind", "trouble"]).ends(0).out;
        assert!(told.contains("missed-turn, J1 and J2"), "{joint}: {told}");
    }
    let said = b.run(&["trouble", "bone-sour", "--joint", "J2", "--log"]);
    assert!(said.out.contains("the joint is out of the plan"), "{}{}", said.out, said.err);
    let left = b.run(&["show", "tags"]).ends(0).out;
    assert!(left.contains("J1") && !left.contains("J2"), "{left}");
    let again = b.run(&["replan", "--steps", "60"]);
    assert!(!again.out.contains("lift J2") && !again.out.contains("Lift J2"), "{}", again.out);
}

/// One vocabulary for the screen's line and the command's words.
#[test]
fn it_is_told_in_the_words_of_the_screen() {
    let b = Bench::new();
    let flags = b.run(&["trouble", "missed-turn", "--for", "6 d", "--json"]).ends(0).json();
    for words in [&["missed turn 6 d"][..], &["missed", "turn", "6d"], &["missed", "6", "d"], &["missed-turn for 144h"]]
    {
        let args = [&["trouble"][..], words, &["--json"]].concat();
        assert_eq!(b.run(&args).ends(0).json(), flags, "{words:?}");
    }
    let warm = b.run(&["trouble", "warm", "--reading", "8.5", "--since-good", "7h", "--start-percent", "4", "--json"]);
    let said = b.run(&["trouble", "warm 8.5 C since good 7 h starts 4 %", "--json"]);
    assert_eq!((said.code, said.json()), (warm.code, warm.json()));
    assert!(b.run(&["trouble", "missed-turn 6 d", "--for", "7 d"]).ends(2).err.contains("said twice"));
    assert!(b.run(&["trouble", "missed turn BOX 6 d"]).ends(2).err.contains("--kitchen FILE"));
    b.kitchen("small.json");
    b.run(&["start", "kitchen.json", "--steps", "60"]).ends(0);
    b.run(&["trouble", "missed turn J1 6 d by S", "--log"]).ends(0);
    let told = b.run(&["history", "--joint", "J1", "--kind", "trouble"]).ends(0).out;
    assert!(told.contains("missed-turn, J1") && told.contains("(S)"), "{told}");
}

#[test]
fn a_ruling_that_needs_a_joint_is_not_recorded_without_one() {
    let b = Bench::new();
    b.kitchen("small.json");
    b.run(&["start", "kitchen.json", "--steps", "60"]).ends(0);
    let before = b.run(&["history"]).ends(0).out;
    for words in ["salty", "missed turn 6 d", "bone-sour", "heavier 3.4 kg", "heavier J1 J2 3.4 kg"] {
        let said = b.run(&["trouble", words, "--log"]).ends(2).err;
        assert!(said.contains("J1, J2") && said.contains("name the joint"), "{words}: {said}");
    }
    assert_eq!(b.run(&["history"]).ends(0).out, before, "nothing was recorded");
    b.run(&["trouble", "salty J2", "--log"]).ends(0);
    // What does nothing to a joint needs none.
    b.run(&["trouble", "freezer-full", "--log"]).ends(1);
}

/// Weighed heavier than its tub takes: what is wrong, where, and what next, at every door; and trouble can still be told of it.
#[test]
fn a_joint_that_no_longer_fits_is_told_with_what_to_do() {
    let b = Bench::new();
    let text = std::fs::read_to_string(b.kitchen("small.json")).unwrap();
    b.write("kitchen.json", text.replace("\"diameter\": 12.2,", "").replace("\"length\": 17,", ""));
    b.run(&["start", "kitchen.json", "--steps", "60"]).ends(0);
    b.run(&["log", "put in BOX", "--at", "2 d ago", "--really"]).ends(0);
    b.run(&["log", "weighed J2 7.9kg", "--really"]).ends(0);
    for args in [&["brine"][..], &["cure-check"]] {
        let said = b.run(args).ends(1);
        assert!(
            said.err.contains("BOX") && said.err.contains("J2") && said.err.contains("`turnday replan`"),
            "{said:?}"
        );
        assert_eq!(said.err.matches("short of").count(), 1, "said once: {}", said.err);
    }
    let data = b.run(&["cure-check", "--json"]).ends(1).json();
    assert!(data["refused"][0]["why"].as_str().unwrap().contains("BOX") && data["alarms"].is_array(), "{data}");
    let said = b.run(&["why", "lift J2"]).ends(1);
    // It lies in its tub by the record: what no longer holds is the time the plan gives it.
    assert!(said.err.contains("\"slice J2\" is given") && said.err.contains("`turnday replan`"), "{said:?}");
    assert!(b.run(&["why", "lift J2", "--json"]).ends(1).json()["no_longer_holds"][0]["says"].is_string());
    b.run(&["trouble", "missed turn BOX 6 d", "--log"]).ends(0);
}
