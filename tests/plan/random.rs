//! Random kitchens: every plan passes the judge and a second, plain reckoning of its safety; everything else is refused with
//! reasons, and the reasons are looked into.
//!
//! What is confirmed of a refusal, and what is not:
//! - `NoRoom` about a joint: by a geometry of this file's own for one joint in one vessel (tub, cold space, pot, oven) and the
//!   shipped cooling table, that it truly fits nowhere; and the other way round, that no joint of any other kitchen is so.
//! - `NoRoom` about the freezer, or about tubs that cannot stand in the cold at once: by sums, and by trying every set of tubs.
//! - `Impossible`: a necessary condition that fails is looked for (too few hours at home for the cook day or the brine, pork
//!   that waits over 72 h, too few tubs for pork that comes when it does, over 35 days in the brine, nobody for the turns). Where none is found the claim stands unconfirmed;
//!   it is tried with another seed and with the tubs told, which must find nothing
//!   either; how often that is so is printed, and more than two in three fails the test.
//! - `NotFound` claims nothing. It is only held to being rare: some of these kitchens have pork that arrives on one day and too
//!   few tubs for it, which nobody has proven.
//!
//! `TURNDAY_CASES` sets the number of kitchens of each kind, `TURNDAY_SEED` the seed; both have a default. `TURNDAY_KEEP` names a
//! folder to which kitchens that were given up on are written.

use super::kitchens;
use super::plain;
use super::support::{planned, planned_with};
use chrono::TimeDelta;
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::{Config, RngAlgorithm, TestCaseError, TestError, TestRng, TestRunner};
use std::cell::RefCell;
use turnday::kitchen::{Joint, Kitchen, Limits, Outcome, Shape, Side};
use turnday::plan::judge::judge;
use turnday::plan::{Plan, Refusal};
use turnday::process::arrangement::chill_by;
use turnday::process::fit;

fn from_env(name: &str, default: u64) -> u64 {
    std::env::var(name).ok().and_then(|v| v.parse().ok()).unwrap_or(default)
}

/// How many kitchens of a kind.
fn cases(default: u64) -> u64 {
    from_env("TURNDAY_CASES", default)
}

fn runner(cases: u64, salt: u8) -> TestRunner {
    let mut seed = [salt; 32];
    seed[..8].copy_from_slice(&from_env("TURNDAY_SEED", 1).to_le_bytes());
    let config = Config { cases: cases as u32, failure_persistence: None, max_shrink_iters: 60, ..Config::default() };
    TestRunner::new_with_rng(config, TestRng::from_seed(RngAlgorithm::ChaCha, &seed))
}

#[derive(Debug, Default)]
struct Tally {
    planned: u32,
    late: u32,
    no_room: u32,
    impossible: u32,
    unconfirmed: u32,
    refuted: u32,
    not_found: u32,
}

/// Plans kitchens and holds every answer to what it claims.
fn hold(cases: u64, salt: u8, steps: u64, of: impl Strategy<Value = Kitchen>) -> Tally {
    let tally = RefCell::new(Tally::default());
    let outcome =
        runner(cases, salt).run(&of, |k| one(&k, steps, &mut tally.borrow_mut()).map_err(TestCaseError::fail));
    if let Err(e) = outcome {
        let TestError::Fail(why, k) = e else { panic!("{e}") };
        panic!("{why}\n{}", serde_json::to_string_pretty(&k).unwrap());
    }
    let t = tally.into_inner();
    println!("{t:?}");
    t
}

fn one(k: &Kitchen, steps: u64, t: &mut Tally) -> Result<(), String> {
    match planned(k, steps) {
        Ok(plan) => {
            t.planned += 1;
            t.late += u32::from(plan.levels[0].value > 0);
            sound(k, &plan)
        }
        Err(refusal) => {
            let lines = refusal.lines();
            if lines.len() < 2 || lines.iter().any(|l| l.trim().is_empty()) {
                return Err(format!("refused without a reason: {lines:?}"));
            }
            match &refusal {
                Refusal::NoRoom { says } => {
                    t.no_room += 1;
                    says.iter().try_for_each(|s| no_room_holds(k, s))
                }
                Refusal::Impossible { because, .. } => {
                    t.impossible += 1;
                    if fits_nowhere(k).is_some() {
                        return Err("a joint fits nowhere, and the refusal does not say so".to_owned());
                    }
                    if failing_condition(k).is_none() {
                        t.unconfirmed += 1;
                        let why = because.iter().map(|r| r.says.as_str()).collect::<Vec<_>>().join("; ");
                        println!("unconfirmed: {why}");
                        keep(k, "unconfirmed", t.unconfirmed);
                        // At least it finds nothing either with another seed, or when it is told which tub to take.
                        let told = told_the_tubs(k);
                        if planned_with(k, 150, 2).is_ok() || planned(&told, 150).is_ok() {
                            t.refuted += 1;
                            println!("REFUTED: {}", serde_json::to_string(&told).unwrap());
                        }
                    }
                    Ok(())
                }
                Refusal::NotFound { in_the_way, .. } => {
                    t.not_found += 1;
                    keep(k, "given-up", t.not_found);
                    println!("given up: {}", in_the_way.iter().map(|r| r.says.as_str()).collect::<Vec<_>>().join("; "));
                    Ok(())
                }
                Refusal::Judged { says } => Err(format!("the search offered what the judge refuses: {says}")),
            }
        }
    }
}

/// Writes a kitchen worth looking at where `TURNDAY_KEEP` says.
fn keep(k: &Kitchen, what: &str, number: u32) {
    if let Some(folder) = std::env::var_os("TURNDAY_KEEP") {
        let name = format!("{what}-{}-{number}.json", k.joints.len());
        std::fs::write(std::path::Path::new(&folder).join(name), serde_json::to_string_pretty(k).unwrap()).unwrap();
    }
}

fn sound(k: &Kitchen, plan: &Plan) -> Result<(), String> {
    let verdict = judge(k, plan);
    if let Some(b) = verdict.broken.first() {
        return Err(format!("the judge: {} ({})", b.says, b.limit));
    }
    let told: Vec<i64> = plan.levels.iter().map(|l| l.value).collect();
    let judged: Vec<i64> = verdict.levels.iter().map(|l| l.1).collect();
    if told != judged {
        return Err(format!("the plan tells levels {told:?}, the judge reckons {judged:?}"));
    }
    if let Some(f) = plain::faults(k, plan).first() {
        return Err(format!("plain arithmetic: {f}"));
    }
    if let Some(j) = fits_nowhere(k) {
        return Err(format!("planned, though {j}"));
    }
    let text = serde_json::to_string(plan).unwrap();
    let back: Plan = serde_json::from_str(&text).map_err(|e| e.to_string())?;
    if &back != plan {
        return Err("the plan is another after writing and reading".to_owned());
    }
    Ok(())
}

// ---- refusals looked into ----

/// Diameter and length, measured or by the trade's rule.
fn size(j: &Joint) -> (f64, f64) {
    let kg = j.weighed.unwrap_or(j.weight).as_kg();
    let d = j.diameter.map_or((kg * 1000.0 / 1.06 / 1.1).cbrt(), |d| d.as_cm());
    (d, j.length.map_or(1.4 * d, |l| l.as_cm()))
}

/// Whether one piece goes into a vessel by itself, lying or standing, with so much height for it.
fn goes_in(j: &Joint, inner: Shape, spare: f64) -> bool {
    let (d, l) = size(j);
    let slack = 1e-4;
    match inner {
        Shape::Box { length, width, height } => {
            let (a, b) = (length.as_cm().max(width.as_cm()), length.as_cm().min(width.as_cm()));
            let room = height.as_cm() - spare + slack;
            (l.max(d) <= a + slack && l.min(d) <= b + slack && d <= room) || (d <= b + slack && l <= room)
        }
        Shape::Round { diameter, height } => {
            let room = height.as_cm() - spare + slack;
            (l.hypot(d) <= diameter.as_cm() + slack && d <= room) || (d <= diameter.as_cm() + slack && l <= room)
        }
    }
}

/// The joint that fits no tub that stands in the cold, or no way to be cooked, and which of the two.
fn fits_nowhere(k: &Kitchen) -> Option<String> {
    k.joints.iter().enumerate().find_map(|(i, j)| nowhere(k, i, j))
}

fn nowhere(k: &Kitchen, i: usize, j: &Joint) -> Option<String> {
    let stands = |t: &turnday::kitchen::Tub| {
        let (a, b, h) = match t.inner {
            Shape::Box { length, width, height } => (length.as_cm() + 1.0, width.as_cm() + 1.0, height.as_cm() + 2.0),
            Shape::Round { diameter, height } => (diameter.as_cm() + 1.0, diameter.as_cm() + 1.0, height.as_cm() + 2.0),
        };
        k.kit.cold.iter().any(|s| {
            let (w, d) = (s.width.as_cm(), s.depth.as_cm());
            s.side == Side::Raw
                && s.temperature.is_some_and(|c| c.as_celsius() <= 5.0)
                && h <= s.height.as_cm() + 1e-6
                && ((a <= w && b <= d) || (b <= w && a <= d))
                && a * b * h <= 0.85 * w * d * s.height.as_cm() + 1e-3
        })
    };
    // Four centimetres of cover and two and a half to the rim; and something left for brine beside a filler.
    let brine = |t: &turnday::kitchen::Tub| {
        let one = std::slice::from_ref(j);
        fit::in_tub(&one.iter().collect::<Vec<_>>(), t, Limits::shipped()).is_ok_and(|f| f.brine > 0.0)
    };
    let wanted = |t: &turnday::kitchen::Tub| j.tub.as_ref().is_none_or(|n| *n == t.name);
    if !k.kit.tubs.iter().any(|t| wanted(t) && goes_in(j, t.inner, 6.5) && stands(t) && brine(t)) {
        return Some(format!("{} fits no tub that stands in the cold", j.name));
    }
    if !j.outcome.is_ham() {
        return None;
    }
    let (d, _) = size(j);
    let pot = k.kit.pots.iter().any(|p| {
        let inner = Shape::Round { diameter: p.diameter, height: p.height };
        goes_in(j, inner, 0.15 * p.height.as_cm())
    });
    let oven = k.kit.oven.as_ref().is_some_and(|o| d + 4.0 <= o.height.as_cm() + 1e-6);
    let chill = (0..k.kit.chilling.len()).any(|c| chill_by(k, c, &[i], Limits::shipped()).is_ok());
    let cold_for = |s: &turnday::kitchen::ColdSpace| {
        s.side == Side::Cooked && s.temperature.is_some_and(|c| c.as_celsius() <= 5.0)
    };
    let kept = k.kit.cold.iter().any(cold_for);
    (!(pot && oven && chill && kept)).then(|| {
        format!("{} can not be cooked here: pot {pot}, oven {oven}, chill {chill}, a cold place for it {kept}", j.name)
    })
}

fn no_room_holds(k: &Kitchen, says: &str) -> Result<(), String> {
    let named = says.split_once(": ").and_then(|(n, _)| k.joints.iter().position(|j| j.name == n));
    if let Some(i) = named {
        return match nowhere(k, i, &k.joints[i]) {
            Some(_) => Ok(()),
            None => Err(format!("refused for room, and it has room: {says}")),
        };
    }
    if says.contains("freezer") {
        let green = |j: &Joint| j.weighed.unwrap_or(j.weight).as_kg();
        let share = |j: &Joint| match j.outcome {
            Outcome::HamSliced if j.bone_in => 0.55,
            Outcome::HamSliced => 0.64,
            Outcome::HamWhole => 0.71,
            Outcome::GammonSteaks => 0.95,
            Outcome::GammonJoint => 1.01,
        };
        let frozen: Vec<&Joint> =
            k.joints.iter().filter(|j| j.freeze.unwrap_or(!j.outcome.is_ham() || j.ready_by.is_none())).collect();
        let kg: f64 = frozen.iter().map(|j| green(j) * share(j)).sum();
        let free = k.kit.freezer.as_ref().and_then(|f| f.free).map_or(f64::INFINITY, |f| f.as_kg());
        let none = k.kit.freezer.is_none() && !frozen.is_empty();
        return if none || kg > free { Ok(()) } else { Err(format!("{kg} kg go into {free} kg: {says}")) };
    }
    if says.contains("stand in the cold") {
        return match tubs_for_all(k) {
            None => Ok(()),
            Some(tubs) => Err(format!("{says}, but tubs {tubs:?} stand and take every joint, one at a time")),
        };
    }
    Err(format!("a refusal for room that nothing here looks into: {says}"))
}

/// A set of tubs that all stand in the cold at once and of which each joint fits one; wishes to share are left to the planner.
fn tubs_for_all(k: &Kitchen) -> Option<Vec<usize>> {
    if !k.batch.together.is_empty() {
        return None;
    }
    let limits = Limits::shipped();
    (1u32..1 << k.kit.tubs.len()).find_map(|bits| {
        let tubs: Vec<usize> = (0..k.kit.tubs.len()).filter(|t| bits >> t & 1 == 1).collect();
        let takes = k.joints.iter().all(|j| tubs.iter().any(|t| fit::in_tub(&[j], &k.kit.tubs[*t], limits).is_ok()));
        (takes && all_stand(k, &tubs)).then_some(tubs)
    })
}

/// Whether tubs stand in the cold all at once, every way of placing them tried.
fn all_stand(k: &Kitchen, tubs: &[usize]) -> bool {
    let mut tubs = tubs.to_vec();
    tubs.sort_unstable();
    tubs.dedup();
    let cold: Vec<usize> = (0..k.kit.cold.len())
        .filter(|s| {
            k.kit.cold[*s].side == Side::Raw && k.kit.cold[*s].temperature.is_some_and(|t| t.as_celsius() <= 5.0)
        })
        .collect();
    let ways = (cold.len() as u64).pow(tubs.len() as u32);
    (0..ways).any(|mut way| {
        let mut inside = vec![Vec::new(); cold.len()];
        for t in &tubs {
            inside[(way % cold.len() as u64) as usize].push(&k.kit.tubs[*t]);
            way /= cold.len() as u64;
        }
        inside.iter().zip(&cold).all(|(ts, s)| fit::in_space(ts, &k.kit.cold[*s]).is_ok())
    })
}

/// A condition every plan needs and this kitchen does not meet.
fn failing_condition(k: &Kitchen) -> Option<String> {
    let from = k.zone.instant(k.batch.starts.unwrap().0).fixed_offset();
    let minutes: Vec<bool> = (0..60 * 1440)
        .step_by(5)
        .map(|m| plain::somebody_home(k, from + TimeDelta::minutes(m), from + TimeDelta::minutes(m + 1)))
        .collect();
    let longest = minutes.split(|h| !h).map(<[bool]>::len).max().unwrap_or(0) as f64 * 5.0;
    if longest < 75.0 {
        return Some(format!("nobody is at home for the {longest} min of a brine"));
    }
    for j in &k.joints {
        let kg = j.weight.as_kg();
        // Heating up (these pots say nothing else), simmer at the slow end, stand, glaze, bake.
        let cook = 60.0 + (50.0 * kg + 30.0).max(120.0) * 1.35 + 15.0 + 15.0 + 50.0;
        if j.outcome.is_ham() && longest < cook {
            return Some(format!("{}: nobody is at home for {cook:.0} min running, {longest} at the most", j.name));
        }
        if plain::cure_minutes(k, j) > 35.0 * 1440.0 {
            return Some(format!("{} needs over 35 days in the brine", j.name));
        }
        if let Some(a) = j.arrives {
            let can = (0..72 * 4).any(|q| plain::somebody_works(k, a.0 + TimeDelta::minutes(15 * q)));
            let first = k.batch.starts.unwrap().0;
            // Brine, slow cooling with ice, putting in: at least four hours from the start of planning.
            if !can || first + TimeDelta::minutes(75 + 120 + 30) > a.0 + TimeDelta::hours(72) {
                return Some(format!("{} waits over 72 h", j.name));
            }
        }
    }
    if tubs_shared_out(k).is_none() {
        return Some("too few tubs for pork that comes when it does".to_owned());
    }
    // Five days without anybody at work while something must be turned: looked for over the first 40 days.
    let start = k.batch.starts.unwrap().0;
    let mut gap = 0;
    for q in 0..40 * 96 {
        gap = if plain::somebody_works(k, start + TimeDelta::minutes(15 * q)) { 0 } else { gap + 15 };
        if gap > 4 * 1440 {
            return Some("nobody is there for over four days running".to_owned());
        }
    }
    None
}

/// Whether each joint whose arrival is fixed can have a tub such that any two in one tub either go in together, by room and
/// weight, or one after the other: the second at most 72 h after it came, the first cured by then. All tubs that are used
/// stand in the cold at once, as every plan of this program has it.
fn tubs_shared_out(k: &Kitchen) -> Option<Vec<(String, usize)>> {
    let limits = Limits::shipped();
    let start = k.batch.starts.unwrap().0;
    let fixed: Vec<&Joint> = k.joints.iter().filter(|j| j.arrives.is_some()).collect();
    let minute = |j: &Joint| (j.arrives.unwrap().0.max(start) - start).num_minutes() as f64;
    // Earliest lift: brine made and cooled from the start, put in, cured. Latest put-in: 72 h after it came.
    let lift = |j: &Joint| minute(j).max(75.0 + 120.0) + 25.0 + plain::cure_minutes(k, j);
    let last = |j: &Joint| (j.arrives.unwrap().0 - start).num_minutes() as f64 + 72.0 * 60.0;
    let apart = |a: &Joint, b: &Joint| k.batch.apart.iter().any(|g| g.contains(&a.name) && g.contains(&b.name));
    let asked = |a: &Joint, b: &Joint| k.batch.together.iter().any(|g| g.contains(&a.name) && g.contains(&b.name));
    let with = |a: &Joint, b: &Joint, t: &turnday::kitchen::Tub| {
        let (x, y) = (a.weight.as_kg(), b.weight.as_kg());
        !apart(a, b)
            && (asked(a, b) || (x - y).abs() <= 0.15 * (x + y) + 1e-9)
            && fit::in_tub(&[a, b], t, limits).is_ok()
    };
    let after = |a: &Joint, b: &Joint| lift(a) <= last(b);
    let tubs: Vec<&turnday::kitchen::Tub> = k.kit.tubs.iter().collect();
    type Ok<'a> = &'a dyn Fn(usize, usize, &[usize]) -> bool;
    fn share_out(joints: usize, tubs: usize, given: &mut Vec<usize>, ok: Ok, stand: &dyn Fn(&[usize]) -> bool) -> bool {
        let i = given.len();
        if i == joints {
            return stand(given);
        }
        (0..tubs).any(|t| {
            if !ok(i, t, given) {
                return false;
            }
            given.push(t);
            let all = share_out(joints, tubs, given, ok, stand);
            if !all {
                given.pop();
            }
            all
        })
    }
    let ok = |i: usize, t: usize, given: &[usize]| {
        fit::in_tub(&[fixed[i]], tubs[t], limits).is_ok()
            && given.iter().enumerate().filter(|g| *g.1 == t).all(|(o, _)| {
                let (a, b) = (fixed[i], fixed[o]);
                with(a, b, tubs[t]) || after(a, b) || after(b, a)
            })
    };
    let mut given = Vec::new();
    share_out(fixed.len(), tubs.len(), &mut given, &ok, &|used| all_stand(k, used))
        .then(|| fixed.iter().map(|j| j.name.clone()).zip(given).collect())
}

/// The kitchen with each joint told to go in the tub that the sharing out above gives it.
fn told_the_tubs(k: &Kitchen) -> Kitchen {
    let mut told = k.clone();
    for (name, tub) in tubs_shared_out(k).unwrap_or_default() {
        let joint = told.joints.iter_mut().find(|j| j.name == name).unwrap();
        joint.tub = Some(k.kit.tubs[tub].name.clone());
    }
    told
}

// ---- the kinds of kitchen ----

fn mostly_found(t: &Tally) {
    let all = t.planned + t.no_room + t.impossible + t.not_found;
    assert!(t.planned * 10 >= all, "too few plans to mean anything: {t:?}");
    assert!(t.not_found * 7 <= all, "given up too often: {t:?}");
    assert_eq!(t.refuted, 0, "said to be impossible, and planned: {t:?}");
    assert!(t.unconfirmed * 3 <= (t.impossible * 2).max(6), "impossible and nobody can see why, too often: {t:?}");
}

#[test]
fn homes_with_one_to_four_joints() {
    mostly_found(&hold(cases(160), 1, 40, kitchens::kitchen(4, 3)));
}

// The longest of all, in two halves, so that two cores share it.

#[test]
fn batches_of_up_to_eight_joints() {
    mostly_found(&hold(cases(24).div_ceil(2), 2, 40, kitchens::kitchen(8, 5)));
}

#[test]
fn other_batches_of_up_to_eight_joints() {
    mostly_found(&hold(cases(24).div_ceil(2), 4, 40, kitchens::kitchen(8, 5)));
}

#[test]
fn the_same_seed_and_steps_give_the_same_plan() {
    let mut r = runner(cases(25), 3);
    let cases = r.config().cases;
    let of = kitchens::kitchen(4, 3);
    let mut plans = 0;
    for _ in 0..cases {
        let k = of.new_tree(&mut r).unwrap().current();
        let (a, b) = (planned(&k, 80), planned(&k, 80));
        plans += u32::from(a.is_ok());
        if let (Ok(a), Ok(c)) = (&a, planned(&k, 8)) {
            // What is told as proven holds for every plan of the kitchen.
            for (x, y) in [(a, &c), (&c, a)] {
                for (x, y) in x.levels.iter().zip(&y.levels) {
                    assert!(
                        x.bound <= y.value,
                        "{}: {} is told to be the least, and {} is found",
                        x.label,
                        x.bound,
                        y.value
                    );
                }
            }
        }
        match (a, b) {
            (Ok(a), Ok(b)) => assert_eq!(a, b),
            (a, b) => assert_eq!(a.err().map(|r| r.lines()), b.err().map(|r| r.lines())),
        }
    }
    assert!(plans * 5 >= cases, "{plans} plans of {cases}");
}
