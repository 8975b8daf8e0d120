//! A simulated year: crashes, sleeps, clocks set wrong and right again, travel, plans made anew, people who answer and
//! people who do not. An oracle that shares no code with `due` counts what is lost and what is said twice.

use super::fixture::{LONDON, at, move_to, plan, task};
use chrono::{DateTime, TimeDelta, Timelike, Utc};
use std::collections::BTreeMap;
use turnday::kitchen::Zone;
use turnday::plan::{Kind, Plan};
use turnday::remind::{Key, Record, Rung, Settings, Told, due};

struct Dice(u64);

impl Dice {
    fn roll(&mut self, below: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) % below
    }

    /// One in `n`.
    fn one_in(&mut self, n: u64) -> bool {
        self.roll(n) == 0
    }
}

#[derive(Default, Debug)]
struct Counts {
    said: u32,
    summaries: u32,
    withdrawn: u32,
    crashes: u32,
    crashes_between: u32,
    repeats_by_crash: u32,
    repeats_by_clock: u32,
    unexplained_repeats: u32,
    sleeps: u32,
    clock_sets: u32,
    plan_changes: u32,
    lost: u32,
    checked: u64,
}

/// A popup sent: by true time and by the clock as it was.
#[derive(Clone, Copy)]
struct Sent {
    truly: DateTime<Utc>,
    wall: DateTime<Utc>,
    /// The nudger died before it could write it down.
    unrecorded: bool,
    /// Taken back, because by a clock set back it had been said before its time.
    taken_back: bool,
}

struct World {
    dice: Dice,
    now: DateTime<Utc>,
    /// How far the machine's clock is off.
    off: TimeDelta,
    right_again: Option<DateTime<Utc>>,
    down_until: Option<DateTime<Utc>>,
    plan: Plan,
    record: Record,
    seen: Option<DateTime<Utc>>,
    wake: Option<DateTime<Utc>>,
    settings: Settings,
    sent: BTreeMap<(String, Key), Sent>,
    /// By task: every popup of it, for the oracle.
    log: BTreeMap<String, Vec<(Key, Sent)>>,
    screen: BTreeMap<String, Key>,
    counts: Counts,
    batch: u32,
}

const KINDS: [Kind; 6] = [Kind::Turn, Kind::Turn, Kind::Rinse, Kind::Simmer, Kind::Chill, Kind::Slice];

impl World {
    fn wall(&self) -> DateTime<Utc> {
        self.now + self.off
    }

    fn fresh_batch(&mut self) {
        self.batch += 1;
        let tasks = (0..26).map(|i| {
            let minute = 60 + self.dice.roll(29 * 1440) as i64;
            let kind = KINDS[self.dice.roll(KINDS.len() as u64) as usize];
            let slack = if self.dice.one_in(2) { 0 } else { self.dice.roll(600) as i64 };
            task(&format!("b{} task {i}", self.batch), kind, self.now + TimeDelta::minutes(minute), slack)
        });
        self.plan = plan(tasks.collect());
    }

    /// A look, as the loop does it: sent first, then written down; it may die anywhere.
    fn look(&mut self) {
        let wall = self.wall();
        let d = due(&self.plan, &self.record, self.seen, wall, &self.settings);
        self.counts.summaries += u32::from(d.summary.is_some());
        for w in &d.withdraw {
            self.screen.remove(&w.task);
            self.record.shown.remove(&w.task);
            self.counts.withdrawn += 1;
            if let Some(key) = w.key {
                let by_clock =
                    self.record.told.get(&w.task).filter(|t| t.key.start == key.start && t.key.rung.is_some());
                if let Some(sent) = by_clock.and_then(|t| self.sent.get_mut(&(w.task.clone(), t.key))) {
                    let wrong = !self.off.is_zero() || sent.wall != sent.truly;
                    let gone = !self.plan.tasks.iter().any(|t| t.id == w.task);
                    assert!(wrong || gone, "{} {key} is taken back though no clock was wrong", w.task);
                    sent.taken_back = true;
                }
                self.record.told.insert(w.task.clone(), Told { key, when: wall });
                // What was taken back may be said again.
                self.sent.retain(|(t, _), s| *t != w.task || s.taken_back);
            }
        }
        let popups: Vec<Vec<(String, Key)>> = d
            .nudges
            .iter()
            .map(|n| vec![(n.task.clone(), n.key)])
            .chain(d.summary.iter().map(|s| s.says.clone()))
            .collect();
        for popup in popups {
            let dies = self.dice.one_in(25);
            self.record.shown.extend(popup.iter().map(|p| p.0.clone()));
            for (id, key) in &popup {
                self.judge_said(id, *key, wall);
                // A plan that went there and back is another line each time.
                self.sent.retain(|(t, k), _| t != id || k.start == key.start);
                let now = Sent { truly: self.now, wall, unrecorded: dies, taken_back: false };
                if let Some(before) = self.sent.insert((id.clone(), *key), now) {
                    if before.unrecorded {
                        self.counts.repeats_by_crash += 1;
                    } else if before.taken_back
                        || before.truly < key.start
                        || before.wall > wall + TimeDelta::minutes(10)
                    {
                        // Said before its time by one of two clocks; said again at its time.
                        self.counts.repeats_by_clock += 1;
                    } else {
                        self.counts.unexplained_repeats += 1;
                        eprintln!("said twice: {id} {key} at {wall} ({:?})", self.record.snoozed.get(id));
                        for (k, s) in &self.log[id] {
                            eprintln!(
                                "  before: {k} at {}, by the clock {}, unrecorded {}",
                                s.truly, s.wall, s.unrecorded
                            );
                        }
                    }
                }
                self.log.entry(id.clone()).or_default().push((*key, now));
                self.screen.insert(id.clone(), *key);
                self.counts.said += 1;
            }
            if dies {
                self.counts.crashes_between += 1;
                self.die();
                return;
            }
            for (id, key) in popup {
                self.record.told.insert(id, Told { key, when: wall });
            }
        }
        self.seen = Some(wall);
        self.wake = d.next;
        // No popup of a line that no longer stands is left on the screen.
        for (id, key) in &self.screen {
            let stands = self.plan.tasks.iter().any(|t| t.id == *id && t.start == key.start);
            assert!(stands && !self.record.settled.contains(id), "{id} {key} is still shown at {wall}");
        }
    }

    fn die(&mut self) {
        self.counts.crashes += 1;
        let minutes = 1 + self.dice.roll(90) as i64;
        self.down_until = Some(self.now + TimeDelta::minutes(minutes));
    }

    /// Quiet hours reckoned anew: 22:30 to 06:30 by the clock where the person is.
    fn quiet(&self, wall: DateTime<Utc>) -> bool {
        let civil = wall.with_timezone(&self.settings.here.unwrap_or(LONDON).0);
        let minute = civil.hour() * 60 + civil.minute();
        !(390..1350).contains(&minute)
    }

    fn judge_said(&self, id: &str, key: Key, wall: DateTime<Utc>) {
        let t = self.plan.tasks.iter().find(|t| t.id == id).unwrap_or_else(|| panic!("{id} is in no plan"));
        assert_eq!(t.start, key.start, "{id} at a start that no longer holds");
        assert!(!self.record.settled.contains(id), "{id} was done already");
        let hot = matches!(t.kind, Kind::Chill);
        assert!(hot || !self.quiet(wall), "{id} {key} in the quiet hours, {wall}");
        let start = t.start.with_timezone(&Utc);
        match key.rung.unwrap() {
            Rung::Evening => assert!(wall < start && start - wall < TimeDelta::hours(40), "{id} {key} at {wall}"),
            Rung::Hour => assert!(wall < start && start - wall < TimeDelta::hours(24), "{id} {key} at {wall}"),
            Rung::Moment => assert!(wall >= start),
            _ => assert!(wall >= start + TimeDelta::minutes(10)),
        }
    }

    /// For every open task whose moment has come: it has been said since, or a snooze holds.
    fn oracle(&mut self) {
        let quiet = self.quiet(self.now);
        for t in &self.plan.tasks {
            if self.record.settled.contains(&t.id) || (quiet && t.kind != Kind::Chill) {
                continue;
            }
            if self.record.snoozed.get(&t.id).is_some_and(|u| *u > self.now) {
                continue;
            }
            let start = t.start.with_timezone(&Utc);
            let grace = TimeDelta::minutes(if t.kind == Kind::Chill { 10 } else { 45 });
            for (from, least) in [(start, Rung::Moment), (start + grace, Rung::Overdue)] {
                if self.now < from {
                    continue;
                }
                self.counts.checked += 1;
                let said = self.log.get(&t.id).is_some_and(|l| {
                    l.iter().any(|(k, s)| {
                        k.start == t.start && k.rung >= Some(least) && s.truly >= from - TimeDelta::minutes(10)
                    })
                });
                if !said {
                    self.counts.lost += 1;
                    assert!(
                        self.counts.lost < 5,
                        "lost: {} {least:?} of {start}; {:?}",
                        t.id,
                        self.record.told.get(&t.id)
                    );
                    eprintln!("lost: {} {least:?} of {start}, at {}", t.id, self.now);
                }
            }
        }
    }

    /// What the world does in this minute; true when the nudger is woken by it.
    fn happens(&mut self) -> bool {
        let mut woken = false;
        if self.right_again.is_some_and(|t| t <= self.now) {
            self.off = TimeDelta::zero();
            self.right_again = None;
            self.counts.clock_sets += 1;
            woken = true;
        } else if self.right_again.is_none() && self.dice.one_in(4000) {
            let size = if self.dice.one_in(2) { 30 } else { 3000 };
            self.off = TimeDelta::minutes(self.dice.roll(2 * size) as i64 - size as i64);
            let minutes = 1 + self.dice.roll(700) as i64;
            self.right_again = Some(self.now + TimeDelta::minutes(minutes));
            self.counts.clock_sets += 1;
            woken = true;
        }
        if self.dice.one_in(500) {
            woken = true;
            self.counts.plan_changes += 1;
            let i = self.dice.roll(self.plan.tasks.len().max(1) as u64) as usize;
            match self.dice.roll(8) {
                0 if self.plan.tasks.len() > 5 => drop(self.plan.tasks.remove(i)),
                1 => {
                    // There and back before anybody looks.
                    let was = self.plan.tasks[i].start.with_timezone(&Utc);
                    move_to(&mut self.plan.tasks[i], was + TimeDelta::hours(3));
                    move_to(&mut self.plan.tasks[i], was);
                }
                2 => {
                    let near = self.now + TimeDelta::minutes(self.dice.roll(120) as i64 - 60);
                    move_to(&mut self.plan.tasks[i], near);
                }
                _ => {
                    let by = TimeDelta::minutes(self.dice.roll(4000) as i64 - 2000);
                    let was = self.plan.tasks[i].start.with_timezone(&Utc);
                    if !self.record.settled.contains(&self.plan.tasks[i].id) && was > self.now - TimeDelta::days(1) {
                        move_to(&mut self.plan.tasks[i], was + by);
                    }
                }
            }
        }
        // Somebody does it, early or when told, or puts it off, or does nothing for days.
        for t in &self.plan.tasks {
            let told = self.screen.contains_key(&t.id);
            let start = t.start.with_timezone(&Utc);
            if self.record.settled.contains(&t.id) {
                continue;
            }
            if (told && self.dice.one_in(150)) || (start - self.now < TimeDelta::hours(3) && self.dice.one_in(3000)) {
                self.record.settled.insert(t.id.clone());
                woken = true;
            } else if told && self.dice.one_in(300) {
                let until = self.now + self.off + TimeDelta::minutes(30);
                self.record.snoozed.insert(t.id.clone(), until);
                woken = true;
            }
        }
        if self.dice.one_in(60 * 24 * 20) {
            self.settings.here = match self.dice.roll(3) {
                0 => None,
                1 => Some(Zone(chrono_tz::America::New_York)),
                _ => Some(Zone(chrono_tz::Pacific::Auckland)),
            };
            woken = true;
        }
        woken
    }
}

fn year(seed: u64) -> Counts {
    let start = at("2026-03-01T00:00");
    let mut w = World {
        dice: Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1),
        now: start,
        off: TimeDelta::zero(),
        right_again: None,
        down_until: None,
        plan: plan(Vec::new()),
        record: Record::default(),
        seen: None,
        wake: None,
        settings: Settings::default(),
        sent: BTreeMap::new(),
        log: BTreeMap::new(),
        screen: BTreeMap::new(),
        counts: Counts::default(),
        batch: 0,
    };
    let mut look = true;
    for minute in 0..365 * 1440 {
        w.now = start + TimeDelta::minutes(minute);
        if minute % (30 * 1440) == 0 {
            w.fresh_batch();
            look = true;
        }
        look |= w.happens();
        if let Some(until) = w.down_until {
            if until > w.now {
                continue;
            }
            w.down_until = None;
            look = true;
        } else if w.dice.one_in(3000) {
            w.counts.sleeps += 1;
            let minutes = 20 + w.dice.roll(2500) as i64;
            w.down_until = Some(w.now + TimeDelta::minutes(minutes));
            continue;
        } else if w.dice.one_in(5000) {
            w.die();
            continue;
        }
        if look || w.wake.is_some_and(|t| t <= w.wall()) {
            w.look();
            look = false;
        }
        if w.down_until.is_none() && w.off.is_zero() {
            w.oracle();
        }
    }
    w.counts
}

#[test]
fn none_lost_and_none_said_twice_but_by_a_crash_or_a_clock_set_back() {
    let years: u64 = std::env::var("TURNDAY_YEARS").ok().and_then(|y| y.parse().ok()).unwrap_or(3);
    for seed in 1..=years {
        let c = year(seed);
        println!("year {seed}: {c:?}");
        assert_eq!((c.lost, c.unexplained_repeats), (0, 0));
        assert!(c.repeats_by_crash <= c.crashes_between * 26, "more repeats than crashes explain");
        assert!(
            c.said > 300 && c.checked > 10_000 && c.crashes_between > 5 && c.clock_sets > 50 && c.sleeps > 50,
            "{c:?}"
        );
    }
}
