//! What is proven by comparing every way of sharing: no other search may ever find what it rules out.

use super::kitchens;
use super::support::{file, planned_with};
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use turnday::kitchen::Kitchen;
use turnday::kitchen::limits::Override;
use turnday::plan::Plan;
use turnday::plan::judge::judge;

/// Does `other` have less somewhere than `plan` says that anything can have?
fn ruled_out(plan: &Plan, other: &Plan) -> Option<String> {
    // Plans that keep less in hand are not compared with.
    if plan.in_hand.is_some() && other.in_hand.is_none() {
        return None;
    }
    for (p, o) in plan.levels.iter().zip(&other.levels) {
        let least = p.least();
        if o.value < least {
            return Some(format!("{}: {} where nothing has under {least}", p.label, o.value));
        }
        // A level counts between plans that are as good before it.
        if o.value > p.value {
            break;
        }
    }
    None
}

fn settled(plan: &Plan) -> usize {
    plan.levels.iter().take_while(|l| l.is_proven()).count()
}

/// Random kitchens of up to three joints, each planned with several seeds: what one run proves no other undercuts.
#[test]
fn no_other_search_finds_what_is_ruled_out() {
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[9; 32]);
    let mut runner = TestRunner::new_with_rng(Config::default(), rng);
    let (mut compared, mut levels) = (0, 0);
    for _ in 0..24 {
        let k: Kitchen = kitchens::kitchen(3, 2).new_tree(&mut runner).unwrap().current();
        let plans: Vec<Plan> = [(1, 9_000), (2, 9_000), (3, 300)]
            .into_iter()
            .filter_map(|(seed, steps)| planned_with(&k, steps, seed).ok())
            .collect();
        for p in &plans {
            compared += usize::from(p.compared.is_some());
            levels += settled(p);
            assert!(judge(&k, p).broken.is_empty(), "{:?}", judge(&k, p).broken);
            for o in &plans {
                assert_eq!(ruled_out(p, o), None, "{}", serde_json::to_string(&k).unwrap());
            }
        }
    }
    println!("{compared} compared, {levels} levels settled");
    assert!(compared >= 12, "{compared}");
}

/// The demo's pair and five: every level is settled, unevenness too, over every way of sharing.
#[test]
fn the_demo_is_settled_on_every_level() {
    for (path, sharings, steps) in
        [("demo-data/feast-pair.json", 2, 36_000), ("demo-data/five-and-a-weekend-away.json", 36, 180_000)]
    {
        let k = file(path);
        let plan = planned_with(&k, steps, 1).unwrap();
        assert_eq!(plan.compared.map(|c| c.sharings), Some(sharings), "{path}");
        assert_eq!(settled(&plan), 8, "{path}: {:?}", plan.levels);
        assert_eq!(plan.in_hand.as_ref().map(|h| h.minutes), Some(720));
        // Every time on the plan is one that people use.
        let odd = |t: &&turnday::plan::PlannedTask| t.start.timestamp() % 300 != 0;
        assert_eq!(plan.tasks.iter().find(odd), None);
    }
}

/// What the five's plan says of keeping nothing in hand is what a kitchen that asks for that gets, or better.
#[test]
fn what_is_told_of_nothing_in_hand_can_be_had() {
    let mut k = file("demo-data/five-and-a-weekend-away.json");
    let told = planned_with(&k, 180_000, 1).unwrap().in_hand.and_then(|h| h.without).expect("it would save a cook day");
    k.limits.0.insert(
        "turn_in_hand".to_owned(),
        Override { value: 0.0, source: "the test".to_owned(), country: String::new(), as_of: String::new() },
    );
    let plan = planned_with(&k, 180_000, 1).unwrap();
    let has: Vec<i64> = plan.levels.iter().map(|l| l.value).collect();
    assert!(has[..5] <= told[..5], "{has:?} for {told:?}");
    assert_eq!(plan.in_hand, None);
}

/// A plan file that claims what its times do not bear out is found out.
#[test]
fn false_claims_of_comparison_are_found_out() {
    let k = file("demo-data/feast-pair.json");
    let plan = planned_with(&k, 6_000, 1).unwrap();
    assert!(judge(&k, &plan).broken.is_empty());
    let mut bold = plan.clone();
    let visits = bold.levels.iter_mut().find(|l| l.label == "visits").unwrap();
    visits.compared = Some(visits.value + 1);
    assert!(judge(&k, &bold).broken.iter().any(|b| b.says.contains("cannot be as little")));
    let mut careful = plan.clone();
    careful.in_hand.as_mut().unwrap().minutes += 60;
    assert!(judge(&k, &careful).broken.iter().any(|b| b.says.contains("tolerance in hand")));
}
