//! Chance: without luck nothing moves; with luck of one kind the shares are the ones reckoned by hand; more slack is never worse.

use super::support::{file, planned};
use turnday::kitchen::{Clock, Kitchen, Limits, Moment};
use turnday::plan::Plan;
use turnday::plan::chance::draw::quantile;
use turnday::plan::chance::{Chance, Luck, Runs, Share, chance, robust};
use turnday::plan::judge::judge;

fn gone(k: &Kitchen, p: &Plan, runs: u32, seed: u64, luck: Luck) -> Chance {
    chance(k, p, &Runs { runs, seed, luck, buffers: false }).unwrap_or_else(|b| panic!("{b:?}"))
}

/// The pair with everybody always at home, so that nothing but luck moves a task.
fn at_home() -> Kitchen {
    let mut k = file("tests/kitchen/good/small.json");
    for p in &mut k.people {
        (p.busy, p.away) = (Vec::new(), Vec::new());
    }
    k
}

/// A share of so many runs lies within four standard errors of the true one (once in 16,000 it would not; the seed is fixed).
fn agrees(what: &str, s: Share, truth: f64, runs: u32) {
    let error = 4.0 * (truth * (1.0 - truth) / f64::from(runs)).sqrt() + 1e-9;
    assert!((s.share - truth).abs() <= error, "{what}: {} where {truth} is true", s.share);
    assert!(s.low <= s.share && s.share <= s.high);
}

// scipy 1.x, scipy.stats.norm.ppf.
#[test]
fn normal_quantiles() {
    for (p, z) in [
        (1e-9, -5.997807015007686),
        (1e-3, -3.0902323061678136),
        (0.02, -2.053748910631823),
        (0.1, -1.2815515655446004),
        (0.5, 0.0),
        (0.73, 0.6128129910166272),
        (0.9, 1.2815515655446004),
        (0.975, 1.959963984540054),
        (0.999999, 4.753424308817087),
    ] {
        assert!((quantile(p) - z).abs() < 1e-9 * (1.0 + z.abs()), "{p}: {} for {z}", quantile(p));
    }
}

// scipy 1.x: binomtest(9, 10).proportion_ci(method="wilson"), and 0 of 20.
#[test]
fn intervals() {
    let s = Share::of(9, 10);
    assert!((s.low - 0.5958499732047615).abs() < 1e-9 && (s.high - 0.9821237869049271).abs() < 1e-9, "{s:?}");
    let s = Share::of(0, 20);
    assert!(s.low.abs() < 1e-12 && (s.high - 0.161_125_158_052_819_35).abs() < 1e-9, "{s:?}");
}

#[test]
fn without_luck_every_plan_goes_as_planned() {
    for (path, steps) in [
        ("tests/kitchen/good/small.json", 400),
        ("tests/kitchen/good/medium.json", 400),
        ("tests/kitchen/good/excess.json", 100),
        ("tests/kitchen/good/pounds.json", 100),
        ("demo-data/feast-pair.json", 400),
        ("demo-data/five-and-a-weekend-away.json", 400),
        ("demo-data/farm-shop.json", 1),
    ] {
        let k = file(path);
        let p = planned(&k, steps).unwrap();
        let c = gone(&k, &p, 3, 1, Luck::NONE);
        assert_eq!(c.breaks, [], "{path}");
        assert_eq!(c.nothing_broken.share, 1.0, "{path}");
        for j in &c.joints {
            let story = p.joints.iter().find(|s| s.name == j.joint).unwrap();
            assert_eq!(j.half.unwrap(), story.ready, "{path}: {}", j.joint);
            assert_eq!(j.in_time.share == 1.0, story.ready <= story.ready_by.unwrap(), "{path}: {}", j.joint);
        }
        for cook in &c.cooks {
            assert_eq!(cook.on_the_day.share, 1.0, "{path}: {}", cook.cook);
        }
    }
}

#[test]
fn a_seed_is_one_story() {
    let k = file("tests/kitchen/good/medium.json");
    let p = planned(&k, 200).unwrap();
    let luck = Luck::of(&Limits::shipped().clone());
    let a = gone(&k, &p, 300, 7, luck);
    assert_eq!(a, gone(&k, &p, 300, 7, luck));
    assert_ne!(a.joints, gone(&k, &p, 300, 8, luck).joints);
}

#[test]
fn late_deliveries_by_enumeration() {
    // Two hams that come by two vans and have no room for a late one: each is in time when its own van is, both when both are.
    let mut k = at_home();
    k.joints[1].outcome = turnday::kitchen::Outcome::HamSliced;
    k.joints[1].arrives = Moment::parse("2026-12-05 18:00");
    k.joints[1].ready_by = Moment::parse("2026-12-30 18:00");
    let p = planned(&k, 400).unwrap();
    for j in &mut k.joints {
        let story = p.joints.iter().find(|s| s.name == j.name).unwrap();
        j.ready_by = Some(Moment(story.ready.naive_local() + chrono::TimeDelta::hours(1)));
    }
    // A late van is a week late, with certainty: what the tree below rests on.
    let only = |late: f64| Luck { late, later: 1.0, ..Luck::NONE };
    let runs = 4000;
    let sure = gone(&k, &p, 50, 3, only(1.0));
    let tied: Vec<bool> = sure.joints.iter().map(|j| j.in_time.share == 0.0).collect();
    assert_eq!(tied, [true, true], "a week late is over each ready-by");
    let share = 0.3;
    let c = gone(&k, &p, runs, 3, only(share));
    // The four cases of two vans, one by one.
    let mut truth = [0.0, 0.0];
    let mut both = 0.0;
    for (a, b) in [(false, false), (false, true), (true, false), (true, true)] {
        let p = if a { share } else { 1.0 - share } * if b { share } else { 1.0 - share };
        let ok = [!(a && tied[0]), !(b && tied[1])];
        truth[0] += p * f64::from(u8::from(ok[0]));
        truth[1] += p * f64::from(u8::from(ok[1]));
        both += p * f64::from(u8::from(ok[0] && ok[1]));
    }
    for (j, t) in c.joints.iter().zip(truth) {
        agrees(&j.joint, j.in_time, t, runs);
    }
    agrees("both", c.all_ready, both, runs);
}

/// Normal distribution function.
fn phi(x: f64) -> f64 {
    0.5 * libm::erfc(-x / std::f64::consts::SQRT_2)
}

#[test]
fn one_slow_simmer_against_the_log_normal_tail() {
    let mut k = at_home();
    let p = planned(&k, 400).unwrap();
    let task = |kind: &str| p.tasks.iter().find(|t| t.id.starts_with(kind)).unwrap();
    let (simmer, chill) = (task("simmer"), task("chill"));
    // 2.6 kg: 160 min by the rule, the rest of the task is the heat-up.
    let own = 160.0;
    let sigma = 1.35f64.ln() / 1.281_551_565_544_600_4;
    let runs = 8000;
    for over in [10, 30, 56, 90, 150] {
        // The wished hour is so many minutes after the planned one.
        let by = chill.start.naive_local() + chrono::TimeDelta::minutes(over);
        k.batch.in_chill_by = Clock::at(chrono::Timelike::hour(&by) as u16, chrono::Timelike::minute(&by) as u16);
        assert_eq!(by.date(), simmer.start.naive_local().date());
        let c = gone(&k, &p, runs, 11, Luck { simmer_p90: 1.35, ..Luck::NONE });
        // Whole minutes: in when the simmer, rounded, is no more than `over` late.
        let truth = phi(((own + over as f64 + 0.5) / own).ln() / sigma);
        agrees(&format!("{over} min over"), c.cooks[0].by_the_hour, truth, runs);
    }
}

#[test]
fn more_slack_is_never_worse() {
    let k = file("tests/kitchen/good/medium.json");
    let p = planned(&k, 400).unwrap();
    let luck = Luck::of(&Limits::shipped().clone());
    let mut last: Option<Chance> = None;
    for hours in [0, 6, 12, 24, 48, 96] {
        let mut k = k.clone();
        for j in &mut k.joints {
            if let Some(by) = &mut j.ready_by {
                by.0 += chrono::TimeDelta::hours(hours);
            }
        }
        let late = k.batch.in_chill_by.minutes + (hours as u16) * 2;
        k.batch.in_chill_by = Clock::at(late / 60, late % 60);
        let c = gone(&k, &p, 400, 5, luck);
        if let Some(before) = &last {
            for (a, b) in before.joints.iter().zip(&c.joints) {
                assert!(b.in_time.share >= a.in_time.share, "{hours} h: {a:?} {b:?}");
            }
            for (a, b) in before.cooks.iter().zip(&c.cooks) {
                assert!(b.by_the_hour.share >= a.by_the_hour.share, "{hours} h: {a:?} {b:?}");
            }
            assert!(c.all_ready.share >= before.all_ready.share);
        }
        last = Some(c);
    }
}

#[test]
fn what_has_happened_is_left_to_luck_no_more() {
    use turnday::plan::chance::chance_after;
    use turnday::plan::history::History;
    let k = file("tests/kitchen/good/medium.json");
    let p = planned(&k, 400).unwrap();
    let runs = Runs { runs: 400, seed: 1, luck: Luck::of(&Limits::with(&k.limits)), buffers: false };
    let before = chance(&k, &p, &runs).unwrap();
    let last = p.tasks.iter().map(|t| t.slow_end.max(t.end)).max().unwrap().to_utc();
    // When all is done there is nothing left to chance.
    let end = chance_after(&k, &p, Some(&History::as_planned(&p, last + chrono::TimeDelta::days(1))), &runs).unwrap();
    assert_eq!((end.all_ready.share, end.all_chilled.share), (1.0, before.cooks.iter().map(|_| 1.0).product()));
    // With the joints in the brine, weighed and delivered, more is sure than at the beginning.
    let put = p.tasks.iter().filter(|t| t.id.starts_with("put in")).map(|t| t.end).max().unwrap().to_utc();
    let now = History::as_planned(&p, put + chrono::TimeDelta::minutes(1));
    let in_brine = chance_after(&k, &p, Some(&now), &runs).unwrap();
    assert!(in_brine.all_ready.share >= before.all_ready.share, "{:?} {:?}", in_brine.all_ready, before.all_ready);
    let none = chance_after(&k, &p, Some(&now), &Runs { luck: Luck::NONE, ..runs }).unwrap();
    assert_eq!((none.all_ready.share, none.nothing_broken.share), (1.0, 1.0), "{:?}", none.breaks);
}

/// Days that were ruled are asked for whatever a joint turns out to weigh: with forty more no run is in time.
#[test]
fn ruled_days_are_asked_for_at_every_weight() {
    use turnday::plan::chance::chance_after;
    use turnday::plan::history::History;
    let k = file("tests/kitchen/good/small.json");
    let p = planned(&k, 400).unwrap();
    let put = p.tasks.iter().filter(|t| t.id.starts_with("put in")).map(|t| t.end).max().unwrap();
    let mut h = History::as_planned(&p, put.to_utc());
    h.longer.insert("J1".to_owned(), 40 * 1440);
    for luck in [Luck::NONE, Luck { heavier_p90: 1.05, ..Luck::NONE }] {
        let runs = Runs { runs: 200, seed: 1, luck, buffers: false };
        let c = chance_after(&k, &p, Some(&h), &runs).unwrap();
        assert_eq!(c.joints[0].in_time.share, 0.0, "{:?}", c.joints[0]);
    }
}

/// What holds a task, and how likely a plan holds, by the record: after a put-in that came later no lift is told before the days are
/// up, and a put-in a few minutes off breaks nothing, not even a plan that was made after it.
#[test]
fn the_record_is_laid_over_the_plan() {
    use turnday::plan::chance::chance_after;
    use turnday::plan::history::{Happened, History, State};
    use turnday::plan::replan::{Again, replan};
    use turnday::plan::why::why;
    use turnday::schedule::NodeBudget;
    let k = at_home();
    let p = planned(&k, 400).unwrap();
    let put = p.tasks.iter().filter(|t| t.id.starts_with("put in")).max_by_key(|t| t.start).unwrap();
    let story = p.joints.iter().find(|j| j.name == put.joints[0]).unwrap();
    let (lift, need) = (format!("lift {}", story.name), story.cured - story.put_in);
    let moved = |minutes: i64| {
        let by = chrono::TimeDelta::minutes(minutes);
        let (start, end) = (put.start.to_utc() + by, put.end.to_utc() + by);
        let mut h = History::as_planned(&p, put.end.to_utc());
        h.now = end.max(put.end.to_utc());
        h.tasks.insert(put.id.clone(), Happened { start, end: Some(end), state: State::Done });
        (h, end)
    };
    let (late, end) = moved(5 * 1440);
    if let Ok(w) = why(&k, &p, Some(&late), &lift) {
        assert!(w.starts >= end + need && w.alone[0] >= end + need && w.together[0] >= end + need, "{w:?}");
    }
    let runs = Runs { runs: 100, seed: 1, luck: Luck::NONE, buffers: false };
    let (early, _) = moved(-4);
    let again = Again { kitchen: &k, old: &p, history: &early, seed: 1, steps: 400, ways: 0, what: &[] };
    let after = replan(&again, &NodeBudget(u64::MAX)).unwrap().plan;
    // Ticked off once more, a few minutes earlier than the plan that was taken on has it.
    let (earlier, _) = moved(-8);
    for (plan, history) in [(&p, &early), (&after, &early), (&after, &earlier)] {
        let end = history.tasks[&put.id].end.unwrap();
        let held = why(&k, plan, Some(history), &lift).unwrap();
        assert!(held.together[0] >= end + need, "{held:?}");
        let told = why(&k, plan, Some(history), &put.id).unwrap();
        assert_eq!(told.starts.to_utc(), history.tasks[&put.id].start);
        assert_eq!(chance_after(&k, plan, Some(history), &runs).unwrap().all_ready.share, 1.0);
    }
}

#[test]
fn worse_luck_is_told_and_named() {
    let k = file("tests/kitchen/good/medium.json");
    let p = planned(&k, 400).unwrap();
    let calm = gone(&k, &p, 400, 1, Luck { missed: 0.02, ..Luck::NONE });
    let wild = gone(&k, &p, 400, 1, Luck { missed: 0.4, ..Luck::NONE });
    assert!(wild.nothing_broken.share < calm.nothing_broken.share);
    assert!(wild.breaks.iter().any(|b| b.task.starts_with("turn ") && !b.source.is_empty()), "{:?}", wild.breaks);
    // A joint on the scale has no luck of its own.
    let heavy = Luck { heavier_p90: 1.2, ..Luck::NONE };
    let mut weighed = k.clone();
    for j in &mut weighed.joints {
        j.weighed = Some(j.weight);
    }
    assert!(
        gone(&k, &p, 400, 1, heavy).all_ready.share < 1.0
            || gone(&k, &p, 400, 1, heavy).cooks.iter().any(|c| c.on_the_day.share < 1.0)
    );
    assert_eq!(gone(&weighed, &p, 400, 1, heavy).all_ready.share, 1.0);
}

#[test]
fn plans_that_hold_more_often_are_sound_and_say_what_they_cost() {
    let k = file("demo-data/feast-pair.json");
    let p = planned(&k, 400).unwrap();
    let runs = Runs { runs: 600, seed: 1, luck: Luck::of(&Limits::with(&k.limits)), buffers: true };
    let base = chance(&k, &p, &runs).unwrap();
    // A buffer that is told helps, and the first helps most.
    assert!(base.buffers.windows(2).all(|b| b[0].all_ready + b[0].all_chilled >= b[1].all_ready + b[1].all_chilled));
    assert!(
        base.buffers.first().is_some_and(|b| b.all_ready > 0.0 && b.task.starts_with("put in")),
        "{:?}",
        base.buffers
    );
    let better = robust(&k, &p, &base, &runs, 400, super::support::at("2026-11-01 08:00"));
    assert!(!better.is_empty());
    for r in &better {
        assert!(judge(&k, &r.plan).broken.iter().all(|b| b.limit.is_empty()), "{}", r.says);
        assert!(r.all_ready[1] > r.all_ready[0] || r.all_chilled[1] > r.all_chilled[0]);
        let again = chance(&k, &r.plan, &runs).unwrap();
        assert_eq!([again.all_ready.share, again.all_chilled.share], [r.all_ready[1], r.all_chilled[1]]);
        let same = p.levels.iter().zip(&r.plan.levels).all(|(a, b)| a.value == b.value);
        assert_eq!(r.costs.is_empty(), same, "{}", r.says);
    }
}
