//! A scheduling problem in neutral terms: the resource-constrained project scheduling problem with minimum and maximum
//! time lags (RCPSP/max), calendars, resource alternatives, holds of variable length, and objectives compared in order.
//!
//! All times are whole minutes from an epoch the caller chooses; all intervals are half open, `[from, to)`.

use serde::{Deserialize, Serialize};

/// Whole minutes from the problem's epoch, or a length in minutes.
pub type Minute = i32;

/// The furthest horizon accepted: about 38 years. Every sum of two times then stays far inside `i32`.
pub const FURTHEST: Minute = 20_000_000;

macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub u32);
        impl $name {
            pub const fn index(self) -> usize {
                self.0 as usize
            }
        }
    };
}

id!(
    /// Index into [`Problem::activities`].
    ActivityId
);
id!(
    /// Index into [`Problem::resources`].
    ResourceId
);
id!(
    /// Index into [`Problem::calendars`].
    CalendarId
);
id!(
    /// Index into [`Problem::reasons`].
    ReasonId
);

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Interval {
    pub from: Minute,
    pub to: Minute,
}

/// Sorted, disjoint, non-touching intervals.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Calendar {
    pub label: String,
    pub open: Vec<Interval>,
}

/// How binding a rule is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Force {
    /// Never broken.
    Safety,
    /// A stated limit of quality; hard where it stands as a lag, soft where it stands as a [`Term`].
    Quality,
    /// What the kit and the people can do: a capacity or a calendar.
    Means,
    /// What a person asked for.
    Wish,
}

impl Force {
    /// As it stands in plans and in JSON.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Safety => "safety",
            Self::Quality => "quality",
            Self::Means => "means",
            Self::Wish => "wish",
        }
    }
}

/// Why a rule is there, in plain words; it travels with the rule to the screen.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Reason {
    pub says: String,
    pub force: Force,
    pub source: String,
}

/// A moment relative to an activity: `start + offset`, or `start + duration + offset`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Point {
    pub activity: ActivityId,
    /// Counted from the start; use [`Problem::end`] for points counted from the end.
    pub offset: Minute,
}

/// A piece of work of fixed length that is not interrupted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Activity {
    pub label: String,
    pub duration: Minute,
    /// Activities with one group number are tied together (one joint, or joints that share a vessel).
    pub group: u32,
    /// Earliest and latest start allowed.
    pub release: Minute,
    pub latest: Minute,
    /// A start that has happened and is not to be changed.
    pub pinned: Option<Minute>,
    /// What holds the release, the latest start or the pin.
    pub reason: ReasonId,
}

/// `start(to) >= start(from) + least`. A maximum lag is written the other way round with a negative `least`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Lag {
    pub from: ActivityId,
    pub to: ActivityId,
    pub least: Minute,
    pub reason: ReasonId,
}

/// An amount of a resource held over a stretch of time.
///
/// The stretch runs from `from` to the latest of `to`; for most activities both are points of the same one. Exactly one
/// resource of `choose` is taken.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hold {
    pub from: Point,
    pub to: Vec<Point>,
    /// Never empty. All holds with the same `same` number choose the same position in their lists.
    pub choose: Vec<ResourceId>,
    pub amount: i32,
    /// Holds with the same number make one choice between them (one person does a whole piece of work).
    pub same: Option<u32>,
    pub reason: ReasonId,
}

/// The stretch from `from` to `to` lies inside one open interval of the calendar (somebody at home while a pot is on).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Within {
    pub calendar: CalendarId,
    pub from: Point,
    pub to: Point,
    pub reason: ReasonId,
}

/// A thing of limited amount.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Resource {
    pub label: String,
    /// Amount held at any moment never goes over this.
    pub capacity: i32,
    /// When given, every hold lies inside one open interval.
    pub calendar: Option<CalendarId>,
    /// Time to keep free between holds of different families, `(family before, family after, minutes)`. Only for
    /// resources of capacity 1.
    pub changeover: Vec<(u32, u32, Minute)>,
    pub reason: ReasonId,
}

/// One thing an objective level adds up. Every term is at least 0.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Term {
    /// `weight * max(0, point - due)`.
    Late { point: Point, due: Minute, weight: i64 },
    /// `weight * max(0, want - (due - point))`: spare time missing before `due`.
    ShortOfSpare { point: Point, due: Minute, want: Minute, weight: i64 },
    /// `weight * max(0, (to - from) - good)`: a stretch longer than is good.
    Over { from: Point, to: Point, good: Minute, weight: i64 },
    /// `weight * max(0, good - (to - from))`: a stretch shorter than is good.
    Under { from: Point, to: Point, good: Minute, weight: i64 },
    /// `weight` when the activity does not start at `promised`.
    Moved { activity: ActivityId, promised: Minute, weight: i64 },
    /// Number of intervals of the calendar in which at least one of the activities starts (cook days, visits). A start
    /// in no interval counts one by itself.
    Spells { calendar: CalendarId, activities: Vec<ActivityId>, weight: i64 },
    /// `weight` times the minutes of the stretch that fall inside the calendar's intervals (ugly hours).
    Inside { calendar: CalendarId, from: Point, to: Point, weight: i64 },
    /// `weight * (to - from)` when positive: plain length (time in the brine over the need, time from pork to pack).
    Length { from: Point, to: Point, weight: i64 },
    /// `weight * point`: earlier is better.
    At { point: Point, weight: i64 },
}

/// An objective level; a lower level counts only between plans equal on all levels before it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Level {
    pub label: String,
    /// What one unit of the level is ("minutes", "cook days").
    pub unit: String,
    pub terms: Vec<Term>,
}

/// The whole problem.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Problem {
    /// No activity ends after this.
    pub horizon: Minute,
    pub activities: Vec<Activity>,
    pub lags: Vec<Lag>,
    pub holds: Vec<Hold>,
    /// Family of each hold, for changeovers; as long as `holds`.
    pub families: Vec<u32>,
    pub within: Vec<Within>,
    pub resources: Vec<Resource>,
    pub calendars: Vec<Calendar>,
    pub levels: Vec<Level>,
    pub reasons: Vec<Reason>,
}

impl Problem {
    /// The point `offset` minutes after the start of an activity.
    pub fn start(&self, activity: ActivityId, offset: Minute) -> Point {
        Point { activity, offset }
    }

    /// The point `offset` minutes after the end of an activity.
    pub fn end(&self, activity: ActivityId, offset: Minute) -> Point {
        Point { activity, offset: self.activities[activity.index()].duration + offset }
    }
}
