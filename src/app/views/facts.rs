//! What every view is built from, and how a task stands.

use chrono::{DateTime, NaiveDate, NaiveTime, TimeDelta, Utc};
use serde::Serialize;

use super::page::{Cell, Voice, voiced};
use crate::app::chart::Chart;
use crate::app::heat::Heat;
use crate::app::record::{Happened, Record};
use crate::app::salt::Salt;
use crate::app::sentence::short;
pub use crate::app::text::count;
use crate::app::time;
use crate::kitchen::{self, Kitchen};
use crate::plan::{Kind, Plan, PlannedTask, TubLoad, When};

/// What there is to see.
#[derive(Clone, Copy)]
pub struct Facts<'a> {
    pub kitchen: &'a Kitchen,
    pub plan: &'a Plan,
    /// Nothing when no record is kept: then nobody can say what was done.
    pub record: Option<&'a Record>,
    pub now: DateTime<Utc>,
    /// The same plan laid out, where there is one: it keeps the sums that were reckoned before.
    pub chart: Option<&'a Chart>,
}

/// What a person asked a view for, beyond its name.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Asked {
    /// The day to show; today, or the view's own choice, when left out.
    pub on: Option<NaiveDate>,
    /// A joint, a tub, or a word to look for.
    pub of: Option<String>,
    /// Another joint of this weight: does it fit?
    pub fit: Option<crate::units::Mass>,
}

/// How a task stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    Due,
    /// It has begun and has not ended.
    Running,
    Done,
    Skipped,
    /// Its time is past and it is not ticked off.
    Missed,
    /// It was never ticked off, and what comes after it was done: nothing can be made good now.
    Lapsed,
    /// Its time is past, and no record is kept that could say whether it was done.
    Past,
}

impl State {
    /// Its shape: state is never told by colour.
    pub const fn mark(self) -> char {
        match self {
            Self::Due => '○',
            Self::Running => '◐',
            Self::Done => '●',
            Self::Skipped => '×',
            Self::Missed => '!',
            Self::Lapsed => '-',
            Self::Past => '·',
        }
    }

    pub const fn word(self) -> &'static str {
        match self {
            Self::Due => "due",
            Self::Running => "under way",
            Self::Done => "done",
            Self::Skipped => "left out",
            Self::Missed => "not ticked off",
            Self::Lapsed => "never ticked off",
            Self::Past => "past",
        }
    }

    pub const fn voice(self) -> Voice {
        match self {
            Self::Due => Voice::Plain,
            Self::Running => Voice::Accent,
            Self::Done | Self::Skipped | Self::Lapsed | Self::Past => Voice::Quiet,
            Self::Missed => Voice::Trouble,
        }
    }

    pub fn cell(self) -> Cell {
        voiced(self.mark(), self.voice())
    }
}

/// A task as a view tells it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Job {
    pub id: String,
    pub kind: Kind,
    /// The one sentence used for it everywhere.
    pub says: String,
    pub start: When,
    pub end: When,
    pub slow_end: When,
    pub hands_minutes: i32,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub who: Option<String>,
    pub state: State,
    /// What was written down about it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub happened: Option<Happened>,
    /// Earliest and latest start with every other task where it is.
    pub earliest: When,
    pub latest: When,
}

impl Job {
    /// Its sentence up to where it goes into how it is done.
    pub fn short(&self) -> &str {
        short(&self.says)
    }

    /// `to 09:45, at the slow end 10:45`, for work that lasts.
    pub fn until(&self) -> String {
        let lasting = matches!(
            self.kind,
            Kind::Simmer | Kind::Bake | Kind::Chill | Kind::Cool | Kind::Soak | Kind::Firm | Kind::Rest
        );
        if !lasting || self.end <= self.start {
            return String::new();
        }
        let same = |a: &When| a.date_naive() == self.start.date_naive();
        let say = |a: &When| if same(a) { clock(a) } else { a.format("%a %H:%M").to_string() };
        match self.slow_end > self.end && self.kind != Kind::Rest {
            true => format!("to {}, at the slow end {}", say(&self.end), say(&self.slow_end)),
            false => format!("to {}", say(&self.end)),
        }
    }

    /// `10 min`, of hands.
    pub fn hands(&self) -> String {
        if self.hands_minutes > 0 { time::how_long(i64::from(self.hands_minutes)) } else { String::new() }
    }
}

/// `Sun 20 Dec 09:24`.
pub fn when(at: &When) -> String {
    at.format("%a %-d %b %H:%M").to_string()
}

/// `Sun 20 Dec`.
pub fn day(at: &When) -> String {
    time::date_words(at.date_naive())
}

/// `09:24`.
pub fn clock(at: &When) -> String {
    at.format("%H:%M").to_string()
}

/// `a`, `a and b`, `a, b and c`.
pub fn list<S: AsRef<str>>(names: &[S]) -> String {
    match names {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [most @ .., last] => {
            let most: Vec<&str> = most.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", most.join(", "), last.as_ref())
        }
    }
}

/// `Turn T1` in the middle of a sentence is `turn T1`; a name in capitals stays.
pub fn lower(text: &str) -> String {
    crate::app::sentence::uncapital(text)
}

impl<'a> Facts<'a> {
    pub fn at(&self, instant: DateTime<Utc>) -> When {
        instant.with_timezone(&self.kitchen.zone.0).fixed_offset()
    }

    /// A civil time of day on a date, in the kitchen's zone.
    pub fn civil(&self, date: NaiveDate, minutes: u16) -> When {
        let civil = date.and_time(NaiveTime::MIN) + TimeDelta::minutes(i64::from(minutes));
        self.at(self.kitchen.zone.instant(civil))
    }

    /// The salt of a joint of the plan, by its number.
    ///
    /// # Errors
    /// As [`Salt::new`].
    pub fn salt(&self, joint: usize) -> Result<Salt, String> {
        match self.chart {
            Some(chart) => chart.salt(self.kitchen, joint).cloned().map_err(str::to_owned),
            None => Salt::new(self.kitchen, self.plan, joint),
        }
    }

    /// The heat of a ham of the plan on its cook day, by its number.
    ///
    /// # Errors
    /// As [`Heat::new`].
    pub fn heat(&self, joint: usize) -> Result<Heat, String> {
        match self.chart {
            Some(chart) => chart.heat(self.kitchen, joint).cloned().map_err(str::to_owned),
            None => Heat::new(self.kitchen, self.plan, joint),
        }
    }

    pub fn today(&self) -> NaiveDate {
        self.at(self.now).date_naive()
    }

    pub fn joint(&self, name: &str) -> Option<&'a kitchen::Joint> {
        self.kitchen.joints.iter().find(|j| j.name == name)
    }

    /// The load that a task is done to.
    pub fn load(&self, task: &PlannedTask) -> Option<&'a TubLoad> {
        let by_id = |l: &&TubLoad| {
            let number = task.id.strip_prefix("turn ").and_then(|r| r.strip_prefix(l.id.as_str()));
            number.is_some_and(|n| n.trim().parse::<u32>().is_ok())
        };
        let mut loads = self.plan.loads.iter();
        loads.clone().find(by_id).or_else(|| loads.find(|l| task.joints.iter().any(|j| l.joints.contains(j))))
    }

    pub fn happened(&self, id: &str) -> Option<&'a Happened> {
        self.record.and_then(|r| r.tasks.get(id))
    }

    /// When a task began and ended by the record, and by the plan where the record does not say; what was ticked off without a
    /// beginning took as long as planned.
    pub fn stood(&self, task: &PlannedTask) -> (When, When) {
        let length = task.end - task.start;
        match self.happened(&task.id).map(|h| (h.started, h.finished)) {
            Some((started, Some(end))) => {
                let start = started.unwrap_or(end - length).min(end);
                (self.at(start), self.at(end))
            }
            Some((Some(start), None)) => (self.at(start), self.at(start + length)),
            _ => (task.start, task.end),
        }
    }

    pub fn is_done(&self, id: &str) -> bool {
        self.record.is_some_and(|r| r.done.contains(id) || r.tasks.get(id).is_some_and(|t| t.finished.is_some()))
    }

    pub fn state(&self, task: &PlannedTask) -> State {
        let happened = self.happened(&task.id);
        if self.is_done(&task.id) {
            return State::Done;
        }
        if happened.is_some_and(|h| h.skipped.is_some()) {
            return State::Skipped;
        }
        let begun = happened.is_some_and(|h| h.started.is_some());
        let running = task.start <= self.now && task.end > self.now;
        match self.record {
            // A rest ends by itself; nobody ticks it off.
            _ if task.hands_minutes == 0 && task.end <= self.now => State::Past,
            Some(_) if begun && task.slow_end > self.now => State::Running,
            Some(_) if task.end <= self.now && self.has_lapsed(task) => State::Lapsed,
            Some(_) if task.end <= self.now => State::Missed,
            None if task.end <= self.now => State::Past,
            _ if begun || running => State::Running,
            _ => State::Due,
        }
    }

    /// Whether what comes after a task was done: for a turn the next turn of the tub or every lift from it, for anything else
    /// any later task of one of its joints.
    fn has_lapsed(&self, task: &PlannedTask) -> bool {
        let after = |t: &&PlannedTask| t.start > task.start && t.joints.iter().any(|j| task.joints.contains(j));
        let mut later = self.plan.tasks.iter().filter(after);
        if task.kind != Kind::Turn {
            return later.any(|t| t.hands_minutes > 0 && self.is_done(&t.id));
        }
        let lifts = later.clone().filter(|t| t.kind == Kind::Rinse);
        later.any(|t| t.kind == Kind::Turn && self.is_done(&t.id))
            || (lifts.clone().count() > 0 && lifts.into_iter().all(|t| self.is_done(&t.id)))
    }

    pub fn job(&self, task: &PlannedTask) -> Job {
        Job {
            id: task.id.clone(),
            kind: task.kind,
            says: task.says.clone(),
            start: task.start,
            end: task.end,
            slow_end: task.slow_end,
            hands_minutes: task.hands_minutes,
            who: task.who.clone(),
            state: self.state(task),
            happened: self.happened(&task.id).cloned(),
            earliest: task.earliest,
            latest: task.latest,
        }
    }

    /// Whether the plan says how far its tasks can move: one that is still being looked for does not.
    pub fn slack_known(&self) -> bool {
        self.plan.tasks.iter().any(|t| t.earliest < t.latest)
    }

    /// The first task that needs hands and is still to be done, from now on.
    pub fn next(&self) -> Option<&'a PlannedTask> {
        let open = |t: &&PlannedTask| t.hands_minutes > 0 && matches!(self.state(t), State::Due | State::Running);
        self.plan.tasks.iter().filter(open).min_by_key(|t| t.start)
    }

    /// What came before this batch in words a person gives to a moment: `today 19:00`, `tomorrow 07:30`, or by date.
    pub fn near(&self, at: &When) -> String {
        time::when_from(self.kitchen.zone, time::minute(*at), time::minute_utc(self.now))
    }

    /// Loads that are in the brine at a moment: put in, and a joint not lifted yet.
    pub fn in_brine(&self, at: When) -> Vec<&'a TubLoad> {
        let inside =
            |l: &&TubLoad| self.plan.joints.iter().any(|j| l.joints.contains(&j.name) && j.put_in <= at && j.lift > at);
        self.plan.loads.iter().filter(inside).collect()
    }
}
