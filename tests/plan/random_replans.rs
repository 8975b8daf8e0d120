//! Random kitchens, at a random moment, after something has happened: every replan keeps what has happened and passes the
//! judge; without anything new nothing moves, unless a late plan becomes less late.
//!
//! `TURNDAY_CASES` and `TURNDAY_SEED` as for the random kitchens.

use super::kitchens;
use super::replans::{attempt, fact, sound};
use super::support::planned;
use chrono::TimeDelta;
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use std::cell::RefCell;
use turnday::kitchen::{Away, Kitchen, Moment};
use turnday::plan::history::State;
use turnday::plan::lost_day::without_day;
use turnday::plan::{History, Plan};
use turnday::units::Mass;

/// Something happens; what, in a word. `None` when it cannot here.
fn strike_with(event: u8, k: &mut Kitchen, old: &Plan, h: &mut History) -> Option<&'static str> {
    let now = h.now;
    let last = |of: &dyn Fn(&&turnday::plan::PlannedTask) -> bool| {
        old.tasks.iter().rfind(|t| t.start.to_utc() < now && of(t)).map(|t| (t.id.clone(), t.start.to_utc()))
    };
    match event {
        0 => Some("nothing"),
        1 => {
            let (id, _) = last(&|t| t.hands_minutes > 0)?;
            h.tasks.remove(&id);
            Some("one thing is not ticked off")
        }
        2 => {
            let (id, start) = last(&|t| t.id.starts_with("turn "))?;
            fact(h, &id, start, None, State::Skipped);
            Some("a turn is missed")
        }
        3 => {
            let at = now.timestamp() as usize % k.joints.len();
            let j = &mut k.joints[at];
            j.weighed = Some(Mass::kg(j.planned_weight().as_kg() * 1.08));
            Some("a joint is heavier")
        }
        4 => {
            *k = without_day(k, k.zone.civil(now).date() + TimeDelta::days(1));
            Some("a day is lost")
        }
        5 => {
            let (id, start) = last(&|t| t.end.to_utc() > now && t.hands_minutes > 0)?;
            fact(h, &id, start, Some(now + TimeDelta::minutes(85)), State::Running);
            Some("something runs over")
        }
        6 => {
            let (from, to) = (k.zone.civil(now), k.zone.civil(now + TimeDelta::days(4)));
            k.people[0].away.push(Away { from: Moment(from), to: Moment(to), why: "ill".to_owned() });
            Some("one is ill")
        }
        _ => {
            h.tasks.clear();
            Some("nobody has written anything down")
        }
    }
}

#[test]
fn random_kitchens_planned_again_are_sound() {
    let cases = std::env::var("TURNDAY_CASES").ok().and_then(|v| v.parse().ok()).unwrap_or(40);
    let seed: u64 = std::env::var("TURNDAY_SEED").ok().and_then(|v| v.parse().ok()).unwrap_or(1);
    let mut bytes = [77u8; 32];
    bytes[..8].copy_from_slice(&seed.to_le_bytes());
    let config = Config { cases, failure_persistence: None, max_shrink_iters: 20, ..Config::default() };
    let mut runner = TestRunner::new_with_rng(config, TestRng::from_seed(RngAlgorithm::ChaCha, &bytes));
    let tally = RefCell::new((0u32, 0u32, 0u32, 0u32));
    let strategy = (kitchens::kitchen(4, 4), 0i32..100, 0u8..8);
    let outcome = runner.run(&strategy, |(mut k, part, event)| {
        let Ok(old) = planned(&k, 60) else { return Ok(()) };
        let first = old.tasks.iter().map(|t| t.start.to_utc()).min().unwrap();
        let last = old.tasks.iter().map(|t| t.end.to_utc()).max().unwrap();
        let mut history = History::as_planned(&old, first + (last - first) * part / 100);
        let Some(what) = strike_with(event, &mut k, &old, &mut history) else { return Ok(()) };
        let mut t = tally.borrow_mut();
        t.0 += 1;
        match attempt(&k, &old, &history) {
            Ok(r) => {
                t.1 += 1;
                t.3 += r.difference.moved.len() as u32;
                sound(&k, &r, &history);
                if event == 0 {
                    // Nothing new moves nothing, unless a plan that was late becomes less so.
                    let late = |p: &Plan| p.levels[0].value;
                    let moved = r.difference.moved.len() + r.difference.dropped.len();
                    prop_assert!(moved == 0 || late(&r.plan) < late(&old), "{}", r.difference.to_text());
                }
            }
            Err(refusal) => {
                t.2 += 1;
                prop_assert!(event != 0, "{what}: {}", refusal.lines().join("\n"));
                prop_assert!(refusal.lines().len() >= 2 || event == 7, "{what}: {:?}", refusal);
            }
        }
        Ok(())
    });
    if let Err(e) = outcome {
        if let proptest::test_runner::TestError::Fail(why, (k, part, event)) = &e {
            panic!("{why}\npart {part} event {event}\n{}", serde_json::to_string(k).unwrap());
        }
        panic!("{e}");
    }
    let (tried, found, refused, moved) = tally.into_inner();
    println!("{tried} tried, {found} planned again, {refused} refused, {moved} jobs moved");
    assert!(found * 2 >= tried, "{found} of {tried}");
}
