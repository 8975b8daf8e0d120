//! The plan as a right-shift model: every task with what it waits for, who does it and what it holds.
//!
//! What holds a thing over other tasks (a tub from the put-in to the last lift, floor from the rest to the pot) keeps the
//! plan's own order: the plan is chained into a partial-order schedule (Policella, Smith, Cesta and Oddi, 2004). People, sinks,
//! pots, oven and chilling are taken as they come free.
//!
//! [`lay`] makes it of a plan that was laid out on its kitchen.

mod lay;

use crate::process::Kind;
use crate::schedule::{Interval, Minute};
use crate::science;
use crate::units::Mass;

/// A wait for another task.
#[derive(Debug, Clone, Copy)]
pub struct Wait {
    pub on: usize,
    /// Counted from the other's start, not its end.
    pub from_start: bool,
    pub least: Minute,
    /// The wait is this joint's days in the brine.
    pub cure_of: Option<usize>,
}

/// A thing held while a task runs and so long after.
#[derive(Debug, Clone)]
pub struct Held {
    /// Planned one first.
    pub choose: Vec<usize>,
    pub amount: i32,
    /// From the start; `None`: from the end.
    pub from: Option<Minute>,
    pub after: Minute,
    pub family: u32,
}

#[derive(Debug, Clone)]
pub struct Job {
    pub planned: Minute,
    pub minutes: Minute,
    pub hands: Minute,
    /// Indices of people, the planned one first; empty when no hands are needed.
    pub people: Vec<usize>,
    pub holds: Vec<Held>,
    pub waits: Vec<Wait>,
    pub kind: Kind,
    /// Tasks of the same piece of work, each with its planned distance from this one's start; only for the first of them.
    pub members: Vec<(usize, Minute)>,
    /// Stretches, from this one's start, in which somebody must be at home; only for the first of a piece of work.
    pub watched: Vec<(Minute, Minute)>,
    pub load: Option<usize>,
    /// When it was begun, for what has happened, and whether it is over.
    pub happened: Option<(Minute, bool)>,
}

/// A limit that is looked at when all is done: the second starts within `most` of the first's end.
#[derive(Debug, Clone)]
pub struct Limit {
    pub from: usize,
    pub to: usize,
    pub most: Minute,
    pub says: String,
    pub force: &'static str,
    pub source: String,
}

#[derive(Debug, Clone)]
pub struct Thing {
    pub capacity: i32,
    pub changeover: Vec<(u32, u32, Minute)>,
}

#[derive(Debug, Clone)]
pub struct CookDay {
    pub simmer: usize,
    /// Planned minutes to a simmer, and of the simmer itself by the heaviest joint.
    pub heat: Minute,
    pub joints: Vec<usize>,
    pub bakes: Vec<usize>,
    pub chills: Vec<usize>,
}

#[derive(Debug, Clone)]
pub struct JointModel {
    pub need: Minute,
    pub weighed: bool,
    pub ready: usize,
    pub ready_by: Option<Minute>,
    /// Simmer as planned.
    pub simmer: Minute,
    /// By the rule: weight, for what a heavier joint costs.
    pub kg: f64,
    rule: Option<science::cure::Rule>,
    extra: Minute,
    bone_in: bool,
    diameter: f64,
    rule_simmer: bool,
}

impl JointModel {
    /// Minutes in the brine when it weighs so many times the expected.
    pub fn need_at(&self, ratio: f64) -> Minute {
        if (ratio - 1.0).abs() < 1e-9 {
            return self.need;
        }
        match self.rule {
            Some(rule) => {
                let diameter = crate::units::Length::cm(self.diameter * ratio.cbrt());
                rule.time(Mass::kg(self.kg * ratio), self.bone_in, diameter).whole_minutes_up() + self.extra
            }
            None => (f64::from(self.need - self.extra) * ratio) as Minute + self.extra,
        }
    }

    pub fn simmer_at(&self, ratio: f64) -> f64 {
        if (ratio - 1.0).abs() < 1e-9 {
            return f64::from(self.simmer);
        }
        if self.rule_simmer {
            science::cook::simmer(Mass::kg(self.kg * ratio)).planned.as_minutes()
        } else {
            f64::from(self.simmer) * ratio
        }
    }
}

/// Joints that come with one delivery.
#[derive(Debug, Clone)]
pub struct Delivery {
    pub at: Minute,
    pub joints: Vec<usize>,
}

#[derive(Debug, Clone)]
pub struct Model {
    pub jobs: Vec<Job>,
    /// By joint: its put-in and its lift.
    pub stays: Vec<(usize, usize)>,
    pub ids: Vec<String>,
    pub limits: Vec<Limit>,
    pub things: Vec<Thing>,
    /// By person: when they can work.
    pub work: Vec<Vec<Interval>>,
    pub home: Vec<Interval>,
    pub joints: Vec<JointModel>,
    pub cooks: Vec<CookDay>,
    pub deliveries: Vec<Delivery>,
    /// By load: the put-in and its joints.
    pub loads: Vec<(usize, Vec<usize>)>,
    /// By chill task: planned and slow minutes of its own.
    pub chills: Vec<(usize, Minute, Minute)>,
    /// By task: order of preference when two could start.
    pub order: Vec<usize>,
    pub horizon: Minute,
    pub turn_late: [(Minute, Minute); 2],
    pub slip: Minute,
    pub chill_limit: (Minute, String, String),
    pub collect_limit: (Minute, String, String),
}

impl Model {
    /// Everything a task waits for, and what that waits for.
    pub fn before(&self, task: usize) -> Vec<usize> {
        let (mut out, mut at) = (Vec::new(), vec![task]);
        while let Some(i) = at.pop() {
            for w in &self.jobs[i].waits {
                if !out.contains(&w.on) {
                    out.push(w.on);
                    at.push(w.on);
                }
            }
        }
        out
    }

    /// The first task of the piece of work that a task belongs to.
    pub fn head_of(&self, task: usize) -> usize {
        (0..self.jobs.len()).find(|i| self.jobs[*i].members.iter().any(|m| m.0 == task)).unwrap_or(task)
    }
}
