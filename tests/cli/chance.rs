//! `turnday chance`: the same for a seed, as text and as JSON.

use super::support::Bench;
use serde_json::json;

#[test]
fn chance_is_the_same_for_a_seed_and_names_what_it_takes_for_granted() {
    let b = Bench::new();
    b.kitchen("small.json");
    b.run(&["plan", "kitchen.json", "--steps", "60", "-o", "plan.json"]).ends(0);
    let args = ["chance", "kitchen.json", "plan.json", "--runs", "200"];
    let said = b.run(&args).ends(0);
    assert_eq!(said.out, b.run(&args).ends(0).out);
    for word in ["J1 ready by Thu 24 Dec 18:00:", "in the chill by 17:00", "Where a buffer helps", "left out:"] {
        assert!(said.out.contains(word), "{word}\n{}", said.out);
    }
    let data = b.run(&[&args[..], &["--json", "--seed", "2"]].concat()).ends(0).json();
    assert_eq!((&data["runs"], &data["seed"]), (&json!(200), &json!(2)));
    let share = data["joints"][0]["in_time"]["share"].as_f64().unwrap();
    assert!((0.0..=1.0).contains(&share));
    for wrong in [&["chance", "kitchen.json", "--runs", "0"][..], &["chance", "kitchen.json", "-o", "x"], &["chance"]] {
        b.run(wrong).ends(2);
    }
}
