//! A seeded kitchen-like problem of so many joints, in the solver's own terms; times in minutes. The lengths and lags are
//! our own invention within the ranges of the trade (common practice, no source).
#![allow(dead_code)]

use super::generator::Dice;
use turnday::schedule::*;

const DAY: i32 = 1440;

/// How much room a kitchen leaves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Room {
    Loose,
    Tight,
    /// Tight, and the last joint is wanted packed before it can be cured.
    Impossible,
    /// Tight, and all is wanted packed sooner than the tubs can take it.
    Crowded,
}

struct Maker {
    p: Problem,
    dice: Dice,
    people: Vec<ResourceId>,
    person: ReasonId,
    home: CalendarId,
}

impl Maker {
    fn reason(&mut self, says: &str, force: Force) -> ReasonId {
        self.p.reasons.push(Reason { says: says.into(), force, source: "invented".into() });
        ReasonId(self.p.reasons.len() as u32 - 1)
    }

    fn calendar(&mut self, label: &str, open: Vec<Interval>) -> CalendarId {
        self.p.calendars.push(Calendar { label: label.into(), open });
        CalendarId(self.p.calendars.len() as u32 - 1)
    }

    fn resource(&mut self, label: String, capacity: i32, calendar: Option<CalendarId>) -> ResourceId {
        let reason = self.reason(&label, Force::Means);
        self.p.resources.push(Resource { label, capacity, calendar, changeover: vec![], reason });
        ResourceId(self.p.resources.len() as u32 - 1)
    }

    fn activity(&mut self, label: String, duration: i32, group: u32) -> ActivityId {
        let (horizon, reason) = (self.p.horizon, self.person);
        self.p.activities.push(Activity { label, duration, group, release: 0, latest: horizon, pinned: None, reason });
        ActivityId(self.p.activities.len() as u32 - 1)
    }

    /// `to` starts at least `least` and at most `most` after `from` ends.
    fn after(&mut self, from: ActivityId, to: ActivityId, least: i32, most: Option<i32>, reason: ReasonId) {
        let d = self.p.activities[from.index()].duration;
        self.p.lags.push(Lag { from, to, least: d + least, reason });
        if let Some(m) = most {
            self.p.lags.push(Lag { from: to, to: from, least: -(d + m), reason });
        }
    }

    fn hold(&mut self, from: Point, to: Point, choose: Vec<ResourceId>, amount: i32) {
        let reason = self.person;
        self.p.holds.push(Hold { from, to: vec![to], choose, amount, same: None, reason });
        self.p.families.push(0);
    }

    /// A person's hands for the first `minutes` of an activity.
    fn hands(&mut self, a: ActivityId, minutes: i32) {
        let people = self.people.clone();
        let (from, to) = (self.p.start(a, 0), self.p.start(a, minutes));
        self.hold(from, to, people, 1);
    }
}

/// Open from `from` to `to` (minutes of the day) on each day that `on` accepts.
fn daily(days: i32, from: i32, to: i32, on: impl Fn(i32) -> bool) -> Vec<Interval> {
    (0..days).filter(|&d| on(d)).map(|d| Interval { from: d * DAY + from, to: d * DAY + to }).collect()
}

/// `joints` joints, two people (one works on weekdays), tubs, a fridge, pots, an oven, a chill, a packer and a freezer.
pub fn kitchen(joints: i32, room: Room, seed: u64) -> Problem {
    let days = 60 + joints / 3;
    let mut m = Maker {
        p: Problem { horizon: days * DAY, ..Problem::default() },
        dice: Dice(seed ^ 0x1234_5678),
        people: vec![],
        person: ReasonId(0),
        home: CalendarId(0),
    };
    m.person = m.reason("hands-on work", Force::Means);
    let weekday = |d: i32| d % 7 < 5;
    let mut cook = daily(days, 7 * 60, 21 * 60, |d| !weekday(d));
    cook.extend(daily(days, 17 * 60, 21 * 60, weekday));
    cook.sort_by_key(|i| i.from);
    let cook = m.calendar("the cook's hours", cook);
    let helper = m.calendar("the helper's hours", daily(days, 8 * 60, 20 * 60, |d| matches!(d % 7, 2 | 5 | 6)));
    m.home = m.calendar("somebody at home", daily(days, 7 * 60, 22 * 60, |d| matches!(d % 7, 2 | 5 | 6)));
    let day = m.calendar("days", daily(days, 0, DAY - 1, |_| true));
    let ugly = m.calendar("late and early", daily(days, 0, 7 * 60, |_| true));
    let visits = {
        let mut open = Vec::new();
        for d in 0..days {
            for (a, b) in [(6 * 60, 11 * 60), (11 * 60 + 1, 15 * 60), (15 * 60 + 1, 22 * 60)] {
                open.push(Interval { from: d * DAY + a, to: d * DAY + b });
            }
        }
        m.calendar("visits", open)
    };
    let a = m.resource("the cook".into(), 1, Some(cook));
    let b = m.resource("the helper".into(), 1, Some(helper));
    m.people = vec![a, b];
    let scale = if room == Room::Loose { 2 } else { 1 };
    let tubs: Vec<ResourceId> = (0..2 + joints * scale / 3).map(|i| m.resource(format!("tub {i}"), 1, None)).collect();
    let fridge = m.resource("cold floor cm2".into(), 700 * (2 + joints * scale / 4), None);
    let pots: Vec<ResourceId> = (0..1 + joints / 12).map(|i| m.resource(format!("pot {i}"), 1, None)).collect();
    let oven = m.resource("oven".into(), 1 + joints / 16, None);
    let chill = m.resource("ice".into(), 2 + joints / 8, None);
    let packer = m.resource("packer".into(), 1, None);
    let freezer = m.resource("freezer g/day".into(), 4000 + 600 * joints, None);
    let (mut late, mut over, mut spare, mut early) = (vec![], vec![], vec![], vec![]);
    let (mut cooks, mut works, mut stretches) = (vec![], vec![], vec![]);
    for j in 0..joints {
        let g = j as u32;
        let grams = m.dice.between(1500, 4200);
        let cure = grams * 6 * DAY / 1000;
        let lags = m.reason(&format!("the cure of joint {j}"), Force::Quality);
        let safe = m.reason(&format!("cooking joint {j} in one go"), Force::Safety);
        let due = (cure + m.dice.between(5, if room == Room::Loose { 14 } else { 8 }) * DAY) + joints * DAY / 8;
        let brine = m.activity(format!("brine {j}"), 40, g);
        m.hands(brine, 40);
        let put = m.activity(format!("put in {j}"), 10, g);
        m.hands(put, 10);
        m.after(brine, put, 8 * 60, Some(3 * DAY), lags);
        let mut last = put;
        works.extend([brine, put]);
        for t in 0..(cure / (3 * DAY)) {
            let turn = m.activity(format!("turn {j}.{t}"), 5, g);
            m.hands(turn, 5);
            m.after(last, turn, 2 * DAY, Some(4 * DAY), lags);
            let (f, to) = (m.p.start(last, 0), m.p.start(turn, 0));
            spare.push(Term::Over { from: f, to, good: 3 * DAY, weight: 1 });
            spare.push(Term::Under { from: f, to, good: 3 * DAY, weight: 1 });
            works.push(turn);
            last = turn;
        }
        let lift = m.activity(format!("lift {j}"), 15, g);
        m.hands(lift, 15);
        m.after(last, lift, DAY / 2, Some(4 * DAY), lags);
        m.after(put, lift, cure, Some(cure + cure / 3), lags);
        over.push(Term::Over { from: m.p.start(put, 0), to: m.p.start(lift, 0), good: cure + cure / 10, weight: 1 });
        let (f, t) = (m.p.start(put, 0), m.p.end(lift, 0));
        let fits: Vec<ResourceId> = tubs.iter().copied().filter(|r| r.0 % 3 != 0 || grams < 3000).collect();
        m.hold(f, t, fits, 1);
        m.hold(f, t, vec![fridge], 300 + grams / 10);
        works.push(lift);
        let mut ready = lift;
        if j % 3 != 2 {
            let simmer = m.activity(format!("simmer {j}"), 60 + grams * 50 / 1000, g);
            m.hands(simmer, 10);
            m.after(lift, simmer, DAY, Some(5 * DAY), lags);
            let (f, t) = (m.p.start(simmer, 0), m.p.end(simmer, 10));
            m.hold(f, t, pots.clone(), 1);
            let skin = m.activity(format!("skin {j}"), 15, g);
            m.hands(skin, 15);
            m.after(simmer, skin, 0, Some(30), safe);
            let bake = m.activity(format!("bake {j}"), 50, g);
            m.hands(bake, 5);
            m.after(skin, bake, 0, Some(20), safe);
            let (f, t) = (m.p.start(bake, 0), m.p.end(bake, 0));
            m.hold(f, t, vec![oven], 1);
            let cool = m.activity(format!("chill {j}"), 6 * 60, g);
            m.hands(cool, 5);
            m.after(bake, cool, 0, Some(90), safe);
            let (f, t) = (m.p.start(cool, 0), m.p.end(cool, 0));
            m.hold(f, t, vec![chill], 1);
            let (calendar, from, to) = (m.home, m.p.start(simmer, 0), m.p.start(cool, 5));
            m.p.within.push(Within { calendar, from, to, reason: safe });
            cooks.push(simmer);
            works.extend([simmer, skin, bake, cool]);
            stretches.push((m.p.start(cool, 0), m.p.end(cool, 0)));
            ready = cool;
        }
        let slice = m.activity(format!("slice {j}"), 20 + grams / 200, g);
        let minutes = m.p.activities[slice.index()].duration;
        m.hands(slice, minutes);
        m.after(ready, slice, 6 * 60, Some(3 * DAY), lags);
        let pack = m.activity(format!("pack {j}"), 30, g);
        m.hands(pack, 30);
        m.after(slice, pack, 0, Some(60), lags);
        let (f, t) = (m.p.start(pack, 0), m.p.end(pack, 0));
        m.hold(f, t, vec![packer], 1);
        m.hold(m.p.end(pack, 0), m.p.end(pack, DAY), vec![freezer], grams);
        works.extend([slice, pack]);
        late.push(Term::Late { point: m.p.end(pack, 0), due, weight: 1 });
        spare.push(Term::ShortOfSpare { point: m.p.end(pack, 0), due, want: DAY, weight: 1 });
        early.push(Term::At { point: m.p.end(pack, 0), weight: 1 });
    }
    let level = |label: &str, unit: &str, terms| Level { label: label.into(), unit: unit.into(), terms };
    let ugly = stretches.iter().map(|&(from, to)| Term::Inside { calendar: ugly, from, to, weight: 1 }).collect();
    m.p.levels = vec![
        level("lateness", "minutes", late),
        level("over the cure", "minutes", over),
        level("cook days", "days", vec![Term::Spells { calendar: day, activities: cooks, weight: 1 }]),
        level("visits", "visits", vec![Term::Spells { calendar: visits, activities: works, weight: 1 }]),
        level("ugly minutes", "minutes", ugly),
        level("spare and turns", "minutes", spare),
        level("early", "minutes", early),
    ];
    if room == Room::Crowded {
        // What the tubs would take if they were never empty, and a fifth less.
        let all: i32 = (m.p.lags.iter().filter(|l| m.p.reasons[l.reason.index()].says.starts_with("the cure")))
            .filter(|l| m.p.activities[l.from.index()].label.starts_with("put") && l.least > 0)
            .filter(|l| m.p.activities[l.to.index()].label.starts_with("lift"))
            .map(|l| l.least)
            .sum();
        let by = all / tubs.len() as i32 * 4 / 5 + 4 * DAY;
        for i in 0..m.p.activities.len() {
            if m.p.activities[i].label.starts_with("pack") {
                let says = format!("{} by day {}", m.p.activities[i].label, by / DAY);
                let wish = m.reason(&says, Force::Wish);
                (m.p.activities[i].latest, m.p.activities[i].reason) = (by, wish);
            }
        }
    }
    if room == Room::Impossible {
        let wish = m.reason("the last joint packed by the fifth day", Force::Wish);
        if let Some(a) = m.p.activities.iter_mut().rfind(|a| a.label.starts_with("pack")) {
            (a.latest, a.reason) = (5 * DAY, wish);
        }
    }
    m.p
}

/// The same kitchen with lateness alone as its objective, or lateness and then when all is packed.
pub fn hurried(mut p: Problem, finish: bool) -> Problem {
    p.levels.truncate(1);
    if finish {
        let (horizon, reason) = (p.horizon, p.activities[0].reason);
        let all = ActivityId(p.activities.len() as u32);
        let packs = p.activities.iter().enumerate().filter(|(_, a)| a.label.starts_with("pack"));
        let lag = |(i, a): (usize, &Activity)| Lag { from: ActivityId(i as u32), to: all, least: a.duration, reason };
        let lags: Vec<Lag> = packs.map(lag).collect();
        p.lags.extend(lags);
        let (label, group) = ("all packed".into(), all.0);
        p.activities.push(Activity { label, duration: 0, group, release: 0, latest: horizon, pinned: None, reason });
        let terms = vec![Term::At { point: p.start(all, 0), weight: 1 }];
        p.levels.push(Level { label: "finish".into(), unit: "minutes".into(), terms });
    }
    p
}
