//! What is to be said now: a pure function of plan, record, clock and settings.
//!
//! Every task that takes hands has a ladder of rungs: the evening before, an hour before, the moment, overdue, the last
//! moment, and each day after. At any time one rung is the current one, and it is said if it has not been. A rung that
//! was slept through is not lost: the next says all that it said. So whatever happened (sleep, crash, a clock set by
//! hand, a plan made anew), looking again at what stands and what was said is enough to say what is missing, and
//! nothing twice.

use super::settings::{Lead, Settings, hot};
use super::words;
use crate::kitchen::Zone;
use crate::plan::{Plan, PlannedTask};
use chrono::{DateTime, SecondsFormat, TimeDelta, Utc};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// A place on a task's ladder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rung {
    Evening,
    Hour,
    Moment,
    Overdue,
    LastCall,
    /// So many days overdue.
    Days(u8),
}

/// What exactly was said of a task: the rung, of which planned start, and after which snooze.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Key {
    /// Nothing for a nudge that was taken back because the plan changed.
    pub rung: Option<Rung>,
    pub start: DateTime<Utc>,
    pub snoozed: Option<DateTime<Utc>>,
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.rung {
            None => f.write_str("withdrawn")?,
            Some(Rung::Evening) => f.write_str("evening")?,
            Some(Rung::Hour) => f.write_str("hour")?,
            Some(Rung::Moment) => f.write_str("moment")?,
            Some(Rung::Overdue) => f.write_str("overdue")?,
            Some(Rung::LastCall) => f.write_str("last-call")?,
            Some(Rung::Days(n)) => write!(f, "days-{n}")?,
        }
        write!(f, " {}", self.start.to_rfc3339_opts(SecondsFormat::AutoSi, true))?;
        if let Some(s) = self.snoozed {
            write!(f, " {}", s.to_rfc3339_opts(SecondsFormat::AutoSi, true))?;
        }
        Ok(())
    }
}

impl Key {
    /// Reads what `Display` writes.
    pub fn parse(text: &str) -> Option<Self> {
        let mut words = text.split(' ');
        let rung = match words.next()? {
            "withdrawn" => None,
            "evening" => Some(Rung::Evening),
            "hour" => Some(Rung::Hour),
            "moment" => Some(Rung::Moment),
            "overdue" => Some(Rung::Overdue),
            "last-call" => Some(Rung::LastCall),
            days => Some(Rung::Days(days.strip_prefix("days-")?.parse().ok()?)),
        };
        let start = words.next()?.parse().ok()?;
        let snoozed = words.next().map(str::parse).transpose().ok()?;
        Some(Self { rung, start, snoozed })
    }
}

/// A nudge that was given, as the record has it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Told {
    pub key: Key,
    pub when: DateTime<Utc>,
}

/// What has happened to a plan's tasks, as far as nudges need it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Record {
    /// Begun, done or skipped: nothing more is said of them.
    pub settled: BTreeSet<String>,
    pub snoozed: BTreeMap<String, DateTime<Utc>>,
    /// The last thing said of each task.
    pub told: BTreeMap<String, Told>,
    /// Tasks whose popup may still be on this screen; written down before it is sent.
    pub shown: BTreeSet<String>,
}

/// A nudge for one task.
#[derive(Debug, Clone, PartialEq)]
pub struct Nudge {
    pub task: String,
    pub key: Key,
    pub title: String,
    /// Lines, not escaped.
    pub body: Vec<String>,
    /// Hot food, the moment itself, and everything overdue.
    pub urgent: bool,
}

/// Many nudges in one popup.
#[derive(Debug, Clone, PartialEq)]
pub struct Summary {
    pub title: String,
    pub body: Vec<String>,
    pub urgent: bool,
    /// What it says of which task.
    pub says: Vec<(String, Key)>,
}

/// A nudge that no longer holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Withdrawal {
    pub task: String,
    /// Recorded when the plan changed, so that a later nudge is not taken for said; nothing for a task that is settled.
    pub key: Option<Key>,
}

#[derive(Debug, Clone, Default, PartialEq)]
pub struct Due {
    pub nudges: Vec<Nudge>,
    pub summary: Option<Summary>,
    pub withdraw: Vec<Withdrawal>,
    /// When to look again, if nothing happens before.
    pub next: Option<DateTime<Utc>>,
}

impl Due {
    /// Every task it speaks of, with the key to record.
    pub fn says(&self) -> impl Iterator<Item = (&str, Key)> {
        let single = self.nudges.iter().map(|n| (n.task.as_str(), n.key));
        single.chain(self.summary.iter().flat_map(|s| s.says.iter().map(|(t, k)| (t.as_str(), *k))))
    }
}

/// A clock set back by less, as time servers do, changes nothing.
const SET_BACK: TimeDelta = TimeDelta::minutes(10);
/// Leads may come so much earlier by a person's own quiet hours.
const LEAD_SHIFT: TimeDelta = TimeDelta::hours(12);
/// A nudge this late was missed while nobody looked.
const MISSED: TimeDelta = TimeDelta::minutes(10);
/// More popups than this at one moment become one.
const FLOOD: usize = 3;
/// Days for which an overdue task is spoken of again.
const DAYS: u8 = 7;
/// Work that begins so soon after the same person's other work needs no lead of its own.
const ON_THE_HEELS: TimeDelta = TimeDelta::minutes(30);

/// The rungs of a task and when each is reached, in order; quiet hours move leads before them.
pub fn ladder(plan: &Plan, task: &PlannedTask, settings: &Settings) -> Vec<(Rung, DateTime<Utc>)> {
    let zone = plan.zone;
    let start = task.start.with_timezone(&Utc);
    let leads = settings.leads(task.kind);
    let mut out: Vec<(Rung, DateTime<Utc>)> = Vec::new();
    let follows = plan.tasks.iter().any(|t| {
        let end = t.end.with_timezone(&Utc);
        t.id != task.id
            && t.who == task.who
            && t.hands_minutes > 0
            && t.start < task.start
            && start - end <= ON_THE_HEELS
            && end <= start
    });
    // A lead that would fall into the night comes before it.
    let before_quiet =
        |at: DateTime<Utc>| settings.quiet_around(at, zone).map_or(at, |(from, _)| from - TimeDelta::minutes(5));
    for lead in leads {
        match lead {
            Lead::EveningBefore if !follows => {
                let date = zone.civil(start).date() - TimeDelta::days(1);
                out.push((Rung::Evening, before_quiet(zone.instant(settings.evening.on(date)))));
            }
            Lead::HourBefore if !follows => out.push((Rung::Hour, before_quiet(start - TimeDelta::hours(1)))),
            Lead::EveningBefore | Lead::HourBefore => {}
            Lead::AtTheMoment => out.push((Rung::Moment, start)),
            Lead::Overdue => {
                let overdue = start + settings.grace(task.kind);
                out.push((Rung::Overdue, overdue));
                let last = task.latest.with_timezone(&Utc) - TimeDelta::minutes(15);
                if last > overdue {
                    out.push((Rung::LastCall, last));
                }
                let since = last.max(overdue);
                out.extend((1..=DAYS).map(|d| (Rung::Days(d), zone.add_days(since, i64::from(d)))));
            }
        }
    }
    // An evening of late that comes after the hour before: in order all the same.
    let mut least = DateTime::<Utc>::MIN_UTC;
    for (_, at) in &mut out {
        *at = (*at).max(least);
        least = *at;
    }
    out
}

/// Whose task it is, for a nudger that serves one person.
fn mine(task: &PlannedTask, settings: &Settings) -> bool {
    task.hands_minutes > 0
        && match (&settings.who, &task.who) {
            (Some(me), Some(who)) => me == who,
            _ => true,
        }
}

struct Said<'a> {
    task: &'a PlannedTask,
    key: Key,
    missed: bool,
}

/// What is to be said at `now`.
///
/// `last_seen` is when somebody last looked; nothing at the very first look. Nothing here reads a clock, and the same
/// arguments give the same answer.
pub fn due(
    plan: &Plan,
    record: &Record,
    last_seen: Option<DateTime<Utc>>,
    now: DateTime<Utc>,
    settings: &Settings,
) -> Due {
    let look = Look {
        plan,
        record,
        last_seen,
        now,
        settings,
        quiet: settings.quiet_around(now, plan.zone),
        set_back: last_seen.is_some_and(|seen| seen > now + SET_BACK),
    };
    let mut out = Due::default();
    let open = plan.tasks.iter().filter(|t| mine(t, settings) && !record.settled.contains(&t.id));
    let mut said: Vec<Said> = open.filter_map(|task| look.at(task, &mut out)).collect();
    out.withdraw.extend(gone(record, |id| plan.tasks.iter().any(|t| t.id == id && mine(t, settings))));
    out.withdraw.sort_by(|a, b| a.task.cmp(&b.task));

    said.sort_by(|a, b| (a.task.start, &a.task.id).cmp(&(b.task.start, &b.task.id)));
    let evenings = said.iter().all(|s| s.key.rung == Some(Rung::Evening));
    let missed = said.iter().any(|s| s.missed);
    if said.len() > FLOOD || (said.len() > 1 && (missed || evenings)) {
        out.summary = Some(summary(plan, &said, now, settings, missed));
    } else {
        out.nudges = said.iter().map(|s| nudge(plan, s, now, settings)).collect();
    }
    out
}

/// One look at everything that stands.
struct Look<'a> {
    plan: &'a Plan,
    record: &'a Record,
    last_seen: Option<DateTime<Utc>>,
    now: DateTime<Utc>,
    settings: &'a Settings,
    /// The quiet hours it is in.
    quiet: Option<(DateTime<Utc>, DateTime<Utc>)>,
    /// The clock was set back since the last look.
    set_back: bool,
}

/// What the record says of a task's line as it stands now.
struct Before<'a> {
    /// The last thing said of this very line, under a clock that still goes for it.
    told: Option<&'a Told>,
    /// Something was said of another line or too early, or was left on the screen by a crash: it is taken back.
    stale: bool,
    snooze: Option<DateTime<Utc>>,
}

impl<'a> Look<'a> {
    /// What is to be said of a task, if anything; what of it is taken back, and when to look again, goes into `out`.
    fn at(&self, task: &'a PlannedTask, out: &mut Due) -> Option<Said<'a>> {
        let start = task.start.with_timezone(&Utc);
        let rungs = ladder(self.plan, task, self.settings);
        let Before { told, stale, snooze } = self.before(task, &rungs);
        let taken_back = || {
            let key = Key { rung: None, start, snoozed: None };
            stale.then(|| Withdrawal { task: task.id.clone(), key: Some(key) })
        };
        if let Some((_, at)) = rungs.iter().find(|r| r.1 > self.now) {
            self.again(*at, &mut out.next);
        }
        let Some((rung, at)) = rungs.iter().rev().find(|r| r.1 <= self.now).copied() else {
            out.withdraw.extend(taken_back());
            return None;
        };
        if let Some(until) = snooze.filter(|u| *u > self.now) {
            self.again(until, &mut out.next);
            return None;
        }
        let key = Key { rung: Some(rung), start, snoozed: snooze };
        if told.is_some_and(|t| t.key.rung >= key.rung && (key.snoozed.is_none() || t.key.snoozed == key.snoozed)) {
            return None;
        }
        if let (Some((_, until)), false) = (self.quiet, hot(task.kind) && rung >= Rung::Moment) {
            self.again(until, &mut out.next);
            out.withdraw.extend(taken_back());
            return None;
        }
        let at = snooze.map_or(at, |s| s.max(at));
        let unseen =
            self.last_seen.is_none_or(|seen| seen < at) || self.settings.quiet_around(at, self.plan.zone).is_some();
        Some(Said { task, key, missed: self.now - at > MISSED && unseen })
    }

    fn before(&self, task: &PlannedTask, rungs: &[(Rung, DateTime<Utc>)]) -> Before<'a> {
        let (now, start) = (self.now, task.start.with_timezone(&Utc));
        let last = self.record.told.get(&task.id);
        let same_line = last.is_some_and(|t| t.key.start == start && t.key.rung.is_some());
        // It was said under a clock that has been set back since, or before its time: it does not count.
        let early = last.is_some_and(|t| {
            let shift = |rung| if rung < Rung::Moment { LEAD_SHIFT } else { SET_BACK };
            let ahead = rungs.iter().any(|(rung, at)| t.key.rung == Some(*rung) && *at > now + shift(*rung));
            same_line && (ahead || (self.set_back && t.when > now + SET_BACK))
        });
        // What was said of another line; also what a crash left on the screen and nobody wrote down.
        let stale = early
            || match last {
                Some(t) => t.key.start != start && t.key.rung.is_some(),
                None => self.record.shown.contains(&task.id),
            };
        // A snooze was said of the line as it stood, under the clock as it was; when either has moved it is void.
        let holds = match last {
            Some(t) => same_line && !early && t.when <= now + SET_BACK,
            None => true,
        };
        let snooze = self.record.snoozed.get(&task.id).copied().filter(|_| holds);
        Before { told: last.filter(|_| same_line && !early), stale, snooze }
    }

    /// Looks again at `at`, if that is to come and nothing sooner is.
    fn again(&self, at: DateTime<Utc>, next: &mut Option<DateTime<Utc>>) {
        if at > self.now && next.is_none_or(|n| at < n) {
            *next = Some(at);
        }
    }
}

/// What was said, or is on the screen, of tasks that are done or no longer planned.
pub fn gone(record: &Record, planned: impl Fn(&str) -> bool) -> Vec<Withdrawal> {
    let mut out = Vec::new();
    for (task, t) in &record.told {
        if !record.settled.contains(task) && !planned(task) && t.key.rung.is_some() {
            let key = Key { rung: None, ..t.key };
            out.push(Withdrawal { task: task.clone(), key: Some(key) });
        }
    }
    for task in &record.shown {
        // Not planned and never told: a crash left it on the screen, and its line is gone.
        if record.settled.contains(task) || (!planned(task) && !record.told.contains_key(task)) {
            out.push(Withdrawal { task: task.clone(), key: None });
        }
    }
    out
}

fn urgent(s: &Said) -> bool {
    s.key.rung >= Some(Rung::Overdue) || (hot(s.task.kind) && s.key.rung >= Some(Rung::Moment))
}

fn nudge(plan: &Plan, s: &Said, now: DateTime<Utc>, settings: &Settings) -> Nudge {
    let here = settings.here.unwrap_or(plan.zone);
    Nudge {
        task: s.task.id.clone(),
        key: s.key,
        title: words::title(s.task, s.key.rung, now, here),
        body: words::body(plan, s.task, now, here),
        urgent: urgent(s),
    }
}

fn summary(plan: &Plan, said: &[Said], now: DateTime<Utc>, settings: &Settings, missed: bool) -> Summary {
    let here: Zone = settings.here.unwrap_or(plan.zone);
    Summary {
        title: words::summary_title(said.len(), missed, said.iter().all(|s| s.key.rung == Some(Rung::Evening))),
        body: said.iter().map(|s| words::line(s.task, s.key.rung, now, here)).collect(),
        urgent: said.iter().any(urgent),
        says: said.iter().map(|s| (s.task.id.clone(), s.key)).collect(),
    }
}
