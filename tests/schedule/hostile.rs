//! Numbers and indices no honest caller would send: refused with a place, or reckoned with, and never a panic.

use crate::generator::{Dice, wild};
use proptest::prelude::*;
use turnday::schedule::*;

const ODD: [i32; 12] =
    [i32::MIN, i32::MIN + 1, -20_000_001, -20_000_000, -1, 0, 1, 1_000, 19_999_999, 20_000_000, 20_000_001, i32::MAX];

fn spoil(p: &mut Problem, d: &mut Dice) {
    let odd = ODD[d.below(ODD.len() as i32) as usize];
    let weight = [i64::MIN, -1, 0, i64::MAX, i64::MAX / 4, 1 << 40][d.below(6) as usize];
    let (n, h, r, c) = (p.activities.len(), p.holds.len(), p.resources.len(), p.calendars.len());
    let pick = |d: &mut Dice, n: usize| d.below(n as i32) as usize;
    match d.below(16) {
        0 => p.horizon = odd,
        1 => p.activities[pick(d, n)].duration = odd,
        2 => p.activities[pick(d, n)].release = odd,
        3 => p.activities[pick(d, n)].latest = odd,
        4 => p.activities[pick(d, n)].pinned = Some(odd),
        5 if !p.lags.is_empty() => {
            let k = pick(d, p.lags.len());
            p.lags[k].least = odd;
        }
        6 if h > 0 => p.holds[pick(d, h)].from.offset = odd,
        7 if h > 0 => p.holds[pick(d, h)].amount = odd,
        8 => p.resources[pick(d, r)].capacity = odd,
        9 => p.calendars[pick(d, c)].open.push(Interval { from: odd, to: odd.saturating_add(5) }),
        10 if h > 0 => p.holds[pick(d, h)].choose.push(ResourceId(odd as u32)),
        11 if h > 0 => p.holds[pick(d, h)].to.clear(),
        12 => {
            let point = p.start(ActivityId(0), 0);
            p.levels[0].terms.push(Term::Late { point, due: odd, weight });
        }
        13 => p.activities[pick(d, n)].reason = ReasonId(odd as u32),
        14 => {
            p.families.pop();
        }
        _ => p.resources[pick(d, r)].changeover.push((0, 0, odd)),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4000, ..ProptestConfig::default() })]

    #[test]
    fn nothing_panics(seed: u64, prove: bool) {
        let mut d = Dice(seed);
        let mut p = wild(seed, 5);
        for _ in 0..d.between(1, 3) {
            spoil(&mut p, &mut d);
        }
        let valid = p.validate();
        let outcome = solve(&p, &Options { prove, ..Options::default() }, &NodeBudget(150), &mut |_| {});
        prop_assert_eq!(valid.is_err(), matches!(outcome, Outcome::Unusable { .. }));
        if let Err(errors) = valid {
            prop_assert!(!errors.is_empty() && errors.iter().all(|e| !e.at.is_empty() && !e.says.is_empty()));
            prop_assert_eq!(slack(&p, &Solution { starts: vec![], chosen: vec![] }), None);
        } else if let Outcome::Found(a) = outcome {
            prop_assert_eq!(check(&p, &a.solution), vec![]);
            prop_assert_eq!(&a.cost, &check::recount(&p, &a.solution));
            prop_assert!(slack(&p, &a.solution).is_some());
        }
    }

    #[test]
    fn any_earlier_solution_may_be_handed_in(seed: u64, starts in prop::collection::vec(any::<i32>(), 0..8)) {
        let p = wild(seed, 6);
        let chosen = starts.iter().map(|&s| s as u32).take(p.holds.len()).collect();
        let start_from = Some(Solution { starts, chosen });
        if let Outcome::Found(a) = solve(&p, &Options { start_from, ..Options::default() }, &NodeBudget(100), &mut |_| {}) {
            prop_assert_eq!(check(&p, &a.solution), vec![]);
        }
    }
}

#[test]
fn a_circle_of_lags_is_refused_with_its_reasons() {
    let mut p = wild(3, 3);
    p.lags.clear();
    p.reasons = ["one", "two", "other"]
        .map(|says| Reason { says: says.into(), force: Force::Quality, source: "test".into() })
        .to_vec();
    let mut p = Problem { holds: vec![], families: vec![], within: vec![], ..p };
    p.resources.clear();
    let a = p.activities[0].clone();
    p.activities = vec![Activity { reason: ReasonId(2), latest: 10, release: 0, pinned: None, ..a }; 2];
    p.levels.clear();
    let (x, y) = (ActivityId(0), ActivityId(1));
    p.lags.push(Lag { from: x, to: y, least: 2, reason: ReasonId(0) });
    p.lags.push(Lag { from: y, to: x, least: -1, reason: ReasonId(1) });
    let outcome = solve(&p, &Options::default(), &NodeBudget(100), &mut |_| {});
    assert_eq!(outcome, Outcome::Impossible { because: vec![ReasonId(0), ReasonId(1)] });
}

#[test]
fn a_stop_is_heeded() {
    let p = crate::kitchen::kitchen(24, crate::kitchen::Room::Tight, 1);
    let flag = Cancelled::default();
    let other = flag.clone();
    let mut told = 0;
    let outcome = solve(&p, &Options { prove: true, ..Options::default() }, &flag, &mut |_| {
        told += 1;
        other.cancel();
    });
    assert!(matches!(outcome, Outcome::Found(_)));
    assert!(told <= 3, "{told} answers after being cancelled");
    let budget = NodeBudget(500);
    let now = WallClock::after(std::time::Duration::ZERO);
    assert!(AnyOf(vec![&budget, &now]).should_stop(0));
}

fn plain(horizon: i32) -> Problem {
    let says = Reason { says: "large numbers".into(), force: Force::Means, source: "test".into() };
    Problem { horizon, reasons: vec![says], ..Problem::default() }
}

fn piece(p: &mut Problem, pinned: Option<i32>) -> ActivityId {
    let (label, latest, reason) = (format!("piece {}", p.activities.len()), p.horizon - 5, ReasonId(0));
    p.activities.push(Activity { label, duration: 5, group: 0, release: 0, latest, pinned, reason });
    ActivityId(p.activities.len() as u32 - 1)
}

/// Capacities that can each be counted, and together cannot: five rooms of a thousand million take five of six at once.
#[test]
fn large_rooms_to_choose_from_add_up() {
    let mut p = plain(100);
    let reason = ReasonId(0);
    for r in 0..5 {
        let label = format!("room {r}");
        p.resources.push(Resource { label, capacity: 1_000_000_000, calendar: None, changeover: vec![], reason });
    }
    let mut late = Vec::new();
    for i in 0..6 {
        let a = piece(&mut p, (i == 0).then_some(0));
        let choose = (0..5).map(ResourceId).collect();
        let (from, to) = (p.start(a, 0), p.end(a, 0));
        p.holds.push(Hold { from, to: vec![to], choose, amount: 1_000_000_000, same: None, reason });
        p.families.push(0);
        late.push(Term::Late { point: from, due: 0, weight: 1 });
    }
    p.levels = vec![Level { label: "lateness".into(), unit: "minutes".into(), terms: late }];
    let options = Options { prove: true, ..Options::default() };
    let Outcome::Found(answer) = solve(&p, &options, &NodeBudget(20_000), &mut |_| ()) else { panic!("no schedule") };
    assert_eq!(check(&p, &answer.solution), vec![]);
    assert_eq!((answer.cost[0], answer.bound[0]), (5, 5), "the sixth waits for one of them to be over");
    assert_eq!(Inquiry::new(&p).ask(&[4], &NodeBudget(20_000)).0, Against::Worse);
}

/// A chain whose longest lags go further back than a minute can be counted in: all of it fits one visit.
#[test]
fn long_lags_in_a_long_chain_do_not_wrap() {
    let horizon = 20_000_000;
    let mut p = plain(horizon);
    let reason = ReasonId(0);
    let all: Vec<ActivityId> = (0..140).map(|_| piece(&mut p, None)).collect();
    for pair in all.windows(2) {
        p.lags.push(Lag { from: pair[0], to: pair[1], least: 0, reason });
        p.lags.push(Lag { from: pair[1], to: pair[0], least: -horizon, reason });
    }
    let open = (0..100).map(|d| Interval { from: d * 1440, to: d * 1440 + 1000 }).collect();
    p.calendars.push(Calendar { label: "visits".into(), open });
    let terms = vec![Term::Spells { calendar: CalendarId(0), activities: all, weight: 1 }];
    p.levels = vec![Level { label: "visits".into(), unit: "visits".into(), terms }];
    let options = Options { prove: true, ..Options::default() };
    let Outcome::Found(answer) = solve(&p, &options, &NodeBudget(20_000), &mut |_| ()) else { panic!("no schedule") };
    assert_eq!((answer.cost[0], answer.bound[0]), (1, 1));
}

/// Weeks of work with large weights, waiting for their like; and with weights so large that it is not reckoned with.
#[test]
fn heavy_waiting_is_reckoned_with() {
    let p = weeks_of_work([1_000, 100]);
    let options = Options { prove: true, ..Options::default() };
    let Outcome::Found(answer) = solve(&p, &options, &NodeBudget(20_000), &mut |_| ()) else { panic!("no schedule") };
    // Six of a week each, one after the other: 0 + 1 + 2 + 3 + 4 + 5 weeks.
    assert_eq!((answer.cost[0], answer.bound[0]), (15 * 10_080 * 1_100, 15 * 10_080 * 1_100));
    for weight in [1 << 20, 1 << 30] {
        let p = weeks_of_work([weight, weight]);
        if let Outcome::Found(a) = solve(&p, &options, &NodeBudget(2_000), &mut |_| ()) {
            assert!(a.bound[0] <= 15 * 10_080 * 2 * weight && a.cost[0] >= 15 * 10_080 * 2 * weight);
        }
    }
}

fn weeks_of_work(weights: [i64; 2]) -> Problem {
    let mut p = plain(200_000);
    let reason = ReasonId(0);
    let label = "hands".to_owned();
    p.resources.push(Resource { label, capacity: 1, calendar: None, changeover: vec![], reason });
    let mut terms = Vec::new();
    for g in 0..6 {
        let (moment, work) = (piece(&mut p, Some(0)), piece(&mut p, None));
        for a in [moment, work] {
            p.activities[a.index()].group = g;
        }
        (p.activities[work.index()].duration, p.activities[work.index()].latest) = (10_080, 180_000);
        p.lags.push(Lag { from: moment, to: work, least: 0, reason });
        let (from, to) = (p.start(work, 0), p.end(work, 0));
        p.holds.push(Hold { from, to: vec![to], choose: vec![ResourceId(0)], amount: 1, same: None, reason });
        p.families.push(0);
        let since = p.start(moment, 0);
        terms.extend(weights.map(|weight| Term::Over { from: since, to: from, good: 0, weight }));
    }
    p.levels = vec![Level { label: "waiting".into(), unit: "minutes".into(), terms }];
    p
}
