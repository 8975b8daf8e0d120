//! A joint's stay in the kitchen. Tasks are called after tubs and joints, and both come again: what of the record is about a joint
//! leaves with it, so that the next in its tub, or by its name, begins with nothing done.

use super::error::Refused;
use super::event::{PlanLine, ReadingOf};
use super::labels::{self, Numbers};
use super::state::{NoteRecord, State, TaskRecord, TasteRecord, kitchen_of, lay};
use crate::kitchen::{Cure, Joint, Kitchen};
use crate::process::Kind;
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

/// A joint that left, with what was on record about it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Past {
    /// The line of the journal that it left with; those that left together have the same.
    pub seq: u64,
    pub at: DateTime<Utc>,
    /// The kitchen as it was then.
    pub kitchen: String,
    pub cure: Cure,
    /// With what the scale said laid over.
    pub joint: Joint,
    /// Its tasks in the plan as it was then, shared ones too.
    pub tasks: Vec<(PlanLine, TaskRecord)>,
    pub tastes: Vec<TasteRecord>,
    pub notes: Vec<NoteRecord>,
    /// How many had left by its name before.
    pub nth: usize,
    /// The numbers on the labels of its packs, if they were packed or to be packed by then.
    pub numbers: Option<Numbers>,
}

/// A joint that was cut in two: what happened to it has happened to its pieces.
fn pieces(whole: &str) -> [String; 2] {
    ["a", "b"].map(|p| format!("{whole} {p}"))
}

fn has(kitchen: &Kitchen, name: &str) -> bool {
    kitchen.joints.iter().any(|j| j.name == name)
}

impl State {
    /// The kitchen's text is about to become another: what is about joints that are not in it any more is laid aside.
    pub(super) fn part(&mut self, new: &Kitchen, seq: u64, at: DateTime<Utc>) {
        let Ok(mut old) = kitchen_of(&self.kitchen_text) else { return };
        lay(&self.weights, &self.said, &mut old);
        let cut = |j: &&Joint| pieces(&j.name).iter().any(|p| has(new, p));
        let gone: Vec<&Joint> = old.joints.iter().filter(|j| !has(new, &j.name) && !cut(j)).collect();
        let is_piece =
            |name: &str| old.joints.iter().any(|o| !has(new, &o.name) && pieces(&o.name).iter().any(|p| p == name));
        let come = |j: &&Joint| !has(&old, &j.name) && !is_piece(&j.name);
        let come: Vec<String> = new.joints.iter().filter(come).map(|j| j.name.clone()).collect();
        let taken: Vec<Numbers> = self.past.iter().filter_map(|p| p.numbers).collect();
        let numbered = labels::numbered(&labels::wanted(&old, &self.lines.planned()), &taken);
        for joint in &gone {
            let past = self.past_of(joint, &old, seq, at, &numbered);
            self.past.push(past);
        }
        self.departed.extend(gone.iter().map(|j| j.name.clone()));
        // What was put on record of a name after it left, too.
        self.departed.extend(come.iter().cloned());
        self.forget_departed();
        for name in come {
            self.departed.remove(&name);
            self.came.insert(name, seq);
        }
        let gone: Vec<String> = gone.iter().map(|j| j.name.clone()).collect();
        self.lots.leave(&gone, new.joints.iter().map(|j| j.name.clone()).collect());
    }

    fn past_of(
        &self,
        joint: &Joint,
        old: &Kitchen,
        seq: u64,
        at: DateTime<Utc>,
        numbered: &[(String, Numbers)],
    ) -> Past {
        let mine = |l: &&PlanLine| l.joints.contains(&joint.name);
        let planned = self.lines.planned().into_iter().filter(mine);
        let tasks: Vec<_> = planned.map(|l| (l.clone(), self.tasks.get(&l.id).cloned().unwrap_or_default())).collect();
        let packed = |(l, t): &(PlanLine, TaskRecord)| {
            l.kind == Kind::VacuumPack && (l.start <= at || t.started.is_some() || t.finished.is_some())
        };
        let counted = self.lots.of(&joint.name).any(|l| !l.over && l.seen.is_some());
        let numbers = numbered.iter().find(|n| n.0 == joint.name).map(|n| n.1);
        Past {
            numbers: numbers.filter(|_| counted || tasks.iter().any(packed)),
            seq,
            at,
            kitchen: old.name.clone(),
            cure: old.cure.clone(),
            joint: joint.clone(),
            tasks,
            tastes: self.tastes.iter().filter(|t| t.joint == joint.name).cloned().collect(),
            notes: self.notes.iter().filter(|n| n.about == joint.name).cloned().collect(),
            nth: self.past.iter().filter(|p| p.joint.name == joint.name).count(),
        }
    }

    /// Whether a task was only about joints that have left.
    pub(super) fn is_departed(&self, task: &str) -> bool {
        let about = self.lines.get(task).map(|l| l.line.joints.as_slice()).unwrap_or_default();
        !about.is_empty() && about.iter().all(|j| self.departed.contains(j))
    }

    fn forget_departed(&mut self) {
        let over: Vec<String> = self.lines.keys().filter(|id| self.is_departed(id)).cloned().collect();
        for id in &over {
            self.tasks.remove(id);
            self.snoozed.remove(id);
            self.nudged.remove(id);
        }
        let departed = &self.departed;
        self.weights.retain(|j, _| !departed.contains(j));
        self.collected.retain(|j, _| !departed.contains(j));
        self.said.retain(|j, _| !departed.contains(j));
        self.readings.retain(|r| !matches!(&r.of, ReadingOf::Core { joint } if departed.contains(joint)));
        self.tastes.retain(|t| !departed.contains(&t.joint));
        self.notes.retain(|n| !departed.contains(&n.about));
    }

    /// A taste of a joint that has left is that of the last that went by its name.
    pub(super) fn taste(&mut self, taste: TasteRecord) {
        let left = self.past.iter_mut().rev().find(|p| p.joint.name == taste.joint);
        match left.filter(|_| self.departed.contains(&taste.joint)) {
            Some(past) => past.tastes.push(taste),
            None => self.tastes.push(taste),
        }
    }

    /// Whether what stands on a line of the journal is older than the joint that goes by a name now.
    pub fn is_before(&self, joint: &str, line: u64) -> bool {
        self.came.get(joint).is_some_and(|came| line < *came)
    }

    /// A joint of which something is on record, and which is not packed yet, keeps its name: by another it would be another joint,
    /// that was never weighed and never put in.
    ///
    /// # Errors
    /// When a joint under way is gone and another is the same but for its name.
    pub fn keeps_names(&self, new: &Kitchen) -> Result<(), Refused> {
        let Ok(old) = kitchen_of(&self.kitchen_text) else { return Ok(()) };
        let called = |j: &Joint| Joint { name: String::new(), cut: String::new(), notes: String::new(), ..j.clone() };
        for was in old.joints.iter().filter(|j| !has(new, &j.name) && self.is_under_way(&j.name)) {
            let cut = pieces(&was.name);
            let same = |j: &&Joint| !has(&old, &j.name) && !cut.contains(&j.name) && called(j) == called(was);
            if let Some(now) = new.joints.iter().find(same) {
                return Err(Refused::new(format!(
                    "{} keeps its name until it is packed, since it is under way by the record; \"{}\" is the same but for the name",
                    was.name, now.name
                )));
            }
        }
        Ok(())
    }

    /// Whether something is on record of a joint that is not packed yet: weighed, collected, or work on the meat.
    pub fn is_under_way(&self, joint: &str) -> bool {
        let lines: Vec<&PlanLine> =
            self.lines.planned().into_iter().filter(|l| l.joints.iter().any(|j| j == joint)).collect();
        let record = |l: &PlanLine| self.tasks.get(&l.id);
        let begun = lines.iter().any(|l| {
            let meat = !matches!(l.kind, Kind::BrineMake | Kind::Cool);
            meat && record(l).is_some_and(|t| t.started.is_some() || t.finished.is_some())
        });
        let packed = lines.iter().any(|l| l.kind == Kind::VacuumPack && record(l).is_some_and(TaskRecord::is_settled));
        (begun || self.weights.contains_key(joint) || self.collected.contains_key(joint)) && !packed
    }
}
