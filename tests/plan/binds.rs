//! What binds a plan, where the cause is known: made by hand, and lifted by hand.

use crate::support::{at, file, planned};
use turnday::kitchen::{Kitchen, Outcome};
use turnday::plan::History;
use turnday::plan::Plan;
use turnday::plan::ask::ask;
use turnday::plan::question::Question;
use turnday::plan::replan::Again;
use turnday::schedule::NodeBudget;

/// The demo's pair, both as ham, with a bowl on ice for so many.
fn two_hams(in_the_bowl: u32) -> (Kitchen, Plan) {
    let mut k = file("demo-data/feast-pair.json");
    k.joints[1].outcome = Outcome::HamSliced;
    k.kit.chilling[0].hams = in_the_bowl;
    let plan = planned(&k, 6_000).expect("there is a plan");
    (k, plan)
}

fn level(plan: &Plan, label: &str) -> i64 {
    plan.levels.iter().find(|l| l.label == label).expect("a level of that name").value
}

#[test]
fn a_bowl_for_one_ham_is_named_for_the_ugly_hours_it_makes() {
    let (k, plan) = two_hams(1);
    let ugly = level(&plan, "ugly hours");
    let room_for_both = level(&two_hams(2).1, "ugly hours");
    assert!(room_for_both < ugly, "the second ham waits for the bowl, into the night: {room_for_both} of {ugly}");

    let history = History::none(at("2026-12-10 08:00"));
    let again = Again { kitchen: &k, old: &plan, history: &history, seed: 1, steps: 400, ways: 0, what: &[] };
    let answer = ask(&again, &[Question::Binds], &NodeBudget(u64::MAX)).remove(0);
    println!("{}", answer.to_text());
    let held = answer.held.iter().find(|h| h.level == "ugly hours").expect("the level is told");
    assert_eq!(held.value, ugly);
    let bowl = held.without.iter().find(|w| w.limit.starts_with("Iced bowl")).expect("the bowl is named");
    assert!(bowl.value < held.found);
    for h in &answer.held {
        assert!(h.value > h.bound && h.bound <= h.found && h.found <= h.value, "{h:?}");
        assert!(h.without.iter().all(|w| w.value < h.found), "{h:?}");
        assert!(answer.says.contains(&h.words()), "each level is a sentence of its own");
    }
    assert!(answer.says.iter().any(|s| s.contains("not that it may be left out")), "the caution is told");
    // One cook day is proven to be needed, so nothing is asked of it.
    assert!(answer.held.iter().all(|h| h.level != "cook days"));
}
