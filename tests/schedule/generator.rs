//! Seeded problems for tests and benchmarks: small wild ones that use every kind of rule, and kitchens of many joints.
#![allow(dead_code)]

use turnday::schedule::*;

/// A generator of numbers of the tests' own (a 64-bit linear congruence, multiplier from Knuth's MMIX).
pub struct Dice(pub u64);

impl Dice {
    pub fn below(&mut self, n: i32) -> i32 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        if n <= 0 { 0 } else { ((self.0 >> 33) % n as u64) as i32 }
    }
    pub fn between(&mut self, from: i32, to: i32) -> i32 {
        from + self.below(to - from + 1)
    }
    pub fn chance(&mut self, percent: i32) -> bool {
        self.below(100) < percent
    }
}

fn reason(p: &mut Problem, says: impl Into<String>, force: Force) -> ReasonId {
    p.reasons.push(Reason { says: says.into(), force, source: "test".into() });
    ReasonId(p.reasons.len() as u32 - 1)
}

fn calendar(dice: &mut Dice, horizon: i32) -> Calendar {
    let mut open = Vec::new();
    let mut at = dice.below(3);
    while at < horizon {
        let to = at + dice.between(1, 6);
        open.push(Interval { from: at, to });
        at = to + dice.between(1, 4);
    }
    Calendar { label: "calendar".into(), open }
}

/// A small problem over a short horizon with every kind of rule and term, often tight, sometimes impossible.
pub fn wild(seed: u64, most: i32) -> Problem {
    let mut d = Dice(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x5bd1_e995);
    for _ in 0..4 {
        d.below(9);
    }
    let n = d.between(1, most);
    let horizon = d.between(6, 14);
    let mut p = Problem { horizon, ..Problem::default() };
    for _ in 0..d.between(1, 2) {
        let c = calendar(&mut d, horizon);
        p.calendars.push(c);
    }
    let calendars = p.calendars.len() as i32;
    for r in 0..d.between(1, 3) {
        let why = reason(&mut p, format!("resource {r}"), Force::Means);
        let capacity = d.between(1, 3);
        let calendar = d.chance(30).then(|| CalendarId(d.below(calendars) as u32));
        let changeover = if capacity == 1 && d.chance(30) { vec![(0, 1, d.between(0, 2)), (1, 0, 1)] } else { vec![] };
        p.resources.push(Resource { label: format!("resource {r}"), capacity, calendar, changeover, reason: why });
    }
    let groups = d.between(1, 3);
    for i in 0..n {
        let why = reason(&mut p, format!("activity {i}"), Force::Wish);
        let duration = d.between(0, 3);
        let release = if d.chance(30) { d.below(4) } else { 0 };
        let latest = if d.chance(20) { d.between(3, horizon) } else { horizon };
        let pinned = d.chance(5).then(|| d.below(5));
        p.activities.push(Activity {
            label: format!("activity {i}"),
            duration,
            group: d.below(groups) as u32,
            release,
            latest,
            pinned,
            reason: why,
        });
    }
    let any = |d: &mut Dice| ActivityId(d.below(n) as u32);
    for _ in 0..d.below(n + 2) {
        let (mut a, mut b) = (any(&mut d), any(&mut d));
        if a == b {
            continue;
        }
        if a > b && d.chance(80) {
            (a, b) = (b, a);
        }
        let least = d.between(0, 3);
        let why = reason(&mut p, "lag", Force::Quality);
        p.lags.push(Lag { from: a, to: b, least, reason: why });
        if d.chance(40) {
            let most = least + d.below(4);
            let why = reason(&mut p, "longest lag", Force::Safety);
            p.lags.push(Lag { from: b, to: a, least: -most, reason: why });
        }
    }
    let resources = p.resources.len() as i32;
    for i in 0..d.below(n * 2 + 1) {
        let a = any(&mut d);
        let from = p.start(a, d.below(2));
        let mut to = vec![p.end(a, 0)];
        if d.chance(20) {
            let b = any(&mut d);
            to = vec![p.end(b, 0)];
            if d.chance(50) {
                to.push(p.start(any(&mut d), 0));
            }
        }
        let choose = (0..d.between(1, 2)).map(|_| ResourceId(d.below(resources) as u32)).collect();
        let why = reason(&mut p, format!("hold {i}"), Force::Means);
        p.holds.push(Hold { from, to, choose, amount: d.between(0, 2), same: None, reason: why });
        p.families.push(d.below(2) as u32);
    }
    if p.holds.len() >= 2 && d.chance(30) {
        let k = p.holds[0].choose.len();
        for h in &mut p.holds[..] {
            if h.choose.len() == k && d.chance(60) {
                h.same = Some(7);
            }
        }
    }
    for _ in 0..d.below(2) {
        let (a, b) = (any(&mut d), any(&mut d));
        let why = reason(&mut p, "within", Force::Safety);
        let (from, to) = if d.chance(60) { (p.start(a, 0), p.end(a, 0)) } else { (p.start(a, 0), p.end(b, 0)) };
        p.within.push(Within { calendar: CalendarId(d.below(calendars) as u32), from, to, reason: why });
    }
    for l in 0..d.between(1, 3) {
        let terms = (0..d.between(1, 3)).map(|_| term(&mut d, &p, n, horizon, calendars)).collect();
        p.levels.push(Level { label: format!("level {l}"), unit: "points".into(), terms });
    }
    p
}

fn term(d: &mut Dice, p: &Problem, n: i32, horizon: i32, calendars: i32) -> Term {
    let any = |d: &mut Dice| ActivityId(d.below(n) as u32);
    let weight = i64::from(d.between(1, 3));
    let calendar = CalendarId(d.below(calendars) as u32);
    let (a, b) = (any(d), any(d));
    let (from, to) = (p.start(a, 0), p.end(b, 0));
    let (due, good) = (d.below(horizon), d.below(6));
    match d.below(9) {
        0 => Term::Late { point: p.end(a, 0), due, weight },
        1 => Term::ShortOfSpare { point: p.end(a, 0), due, want: d.below(5), weight },
        2 => Term::Over { from, to, good, weight },
        3 => Term::Under { from, to, good, weight },
        4 => Term::Moved { activity: a, promised: due, weight },
        5 => {
            let activities = (0..n).filter(|_| d.chance(60)).map(|i| ActivityId(i as u32)).collect();
            Term::Spells { calendar, activities, weight }
        }
        6 => Term::Inside { calendar, from, to, weight },
        7 => Term::Length { from, to, weight },
        _ => Term::At { point: p.end(a, 0), weight },
    }
}
