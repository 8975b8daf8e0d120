//! When a load is in its brine, as it happened or is planned. What went in on record is in until its lift is on record, however
//! long ago that was due: nobody knows that it is out.

use super::facts::{Facts, State};
use crate::plan::{Kind, PlannedTask, TubLoad, When};

/// A load in its brine.
pub struct Stay {
    pub from: When,
    /// Its joints, each with the end of its lift; nothing when that was due and is not on record.
    joints: Vec<(String, Option<When>)>,
    /// When the first lift that is not on record was due.
    pub overdue: Option<When>,
    /// Whether it went in on record.
    pub recorded: bool,
}

impl Stay {
    /// Nothing where the plan has no task that puts it in, or none that lifts it.
    pub fn of(facts: &Facts, load: &TubLoad) -> Option<Self> {
        let find =
            |kind: Kind, joint: &String| facts.plan.tasks.iter().find(|t| t.kind == kind && t.joints.contains(joint));
        let put = load.joints.iter().find_map(|j| find(Kind::Submerge, j))?;
        let told = facts.happened(&put.id).is_some_and(|h| h.started.is_some() || h.finished.is_some());
        let recorded = told || matches!(facts.state(put), State::Done | State::Lapsed);
        let now = facts.at(facts.now);
        let open = |t: &PlannedTask| {
            recorded && t.end <= now && matches!(facts.state(t), State::Missed | State::Skipped | State::Running)
        };
        let mut overdue = None;
        let mut joints = Vec::new();
        for (joint, lift) in load.joints.iter().filter_map(|j| Some((j, find(Kind::Rinse, j)?))) {
            if open(lift) {
                overdue = overdue.into_iter().chain([lift.end]).min();
                joints.push((joint.clone(), None));
                continue;
            }
            joints.push((joint.clone(), Some(facts.stood(lift).1)));
        }
        // What the plan has no lift of comes out with the last.
        let last = joints.iter().filter_map(|j| j.1).max();
        let others = load.joints.iter().filter(|j| find(Kind::Rinse, j).is_none());
        if last.is_some() {
            joints.extend(others.map(|j| (j.clone(), last)));
        }
        (!joints.is_empty()).then(|| Self { from: facts.stood(put).0, joints, overdue, recorded })
    }

    /// The end of the last lift; nothing when one that was due is not on record.
    pub fn out(&self) -> Option<When> {
        self.joints.iter().map(|j| j.1).collect::<Option<Vec<_>>>()?.into_iter().max()
    }

    pub fn holds(&self, at: When) -> bool {
        self.from <= at && self.out().is_none_or(|out| out > at)
    }

    /// The joints that are lifted by a moment, or those that are not.
    pub fn joints(&self, at: When, lifted: bool) -> Vec<String> {
        let is = |out: Option<When>| out.is_some_and(|o| o <= at) == lifted;
        self.joints.iter().filter(|j| is(j.1)).map(|j| j.0.clone()).collect()
    }
}
