//! A joint's stay in the kitchen. Tasks are called after tubs and joints, and both come again: what of the record is about a joint
//! leaves with it, so that the next in its tub, or by its name, begins with nothing done.

use super::error::Refused;
use super::event::{Act, PlanLine, ReadingOf};
use super::labels::{self, Numbers};
use super::state::{NoteRecord, State, TaskRecord, TasteRecord, kitchen_of, lay};
use crate::kitchen::{Cure, Joint, Kitchen};
use crate::process::Kind;
use crate::units::Mass;
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

impl Past {
    fn any(&self, of: impl Fn(&PlanLine, &TaskRecord) -> bool) -> bool {
        self.tasks.iter().any(|(l, t)| of(l, t))
    }

    /// Whether its packing is on record.
    pub fn is_packed(&self) -> bool {
        self.any(|l, t| l.kind == Kind::VacuumPack && t.is_settled())
    }

    /// Whether any work on it is on record.
    pub fn is_begun(&self) -> bool {
        self.any(|_, t| t.started.is_some() || t.finished.is_some())
    }
}

/// A joint that was cut in two: what happened to it has happened to its pieces.
fn pieces(whole: &str) -> [String; 2] {
    ["a", "b"].map(|p| format!("{whole} {p}"))
}

/// Whether both pieces of a joint are there.
pub fn is_cut(whole: &str, kitchen: &Kitchen) -> bool {
    pieces(whole).iter().all(|p| has(kitchen, p))
}

fn has(kitchen: &Kitchen, name: &str) -> bool {
    kitchen.joints.iter().any(|j| j.name == name)
}

impl State {
    /// The kitchen's text is about to become another: what is about joints that are not in it any more is laid aside.
    pub(super) fn part(&mut self, new: &Kitchen, seq: u64, at: DateTime<Utc>) {
        let Ok(mut old) = kitchen_of(&self.kitchen_text) else { return };
        lay(&self.weights, &self.said, &mut old);
        let gone: Vec<&Joint> = old.joints.iter().filter(|j| !has(new, &j.name) && !is_cut(&j.name, new)).collect();
        let cut = |o: &&Joint| !has(new, &o.name) && is_cut(&o.name, new);
        let is_piece = |name: &str| old.joints.iter().filter(cut).any(|o| pieces(&o.name).iter().any(|p| p == name));
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
        // A tick is of those who were there: of one that came by an old name since it is not.
        let mut tasks = std::mem::take(&mut self.tasks);
        tasks.retain(|id, t| {
            let marks = [t.started.as_ref(), t.finished.as_ref(), t.skipped.as_ref().map(|s| &s.0)];
            let seq = marks.into_iter().flatten().map(|m| m.seq).max().unwrap_or(0);
            let about = self.lines.get(id).map(|l| l.line.joints.as_slice()).unwrap_or_default();
            about.is_empty() || !about.iter().all(|j| self.departed.contains(j) || self.is_before(j, seq))
        });
        self.tasks = tasks;
        for id in &over {
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

    /// A taste of a joint that has left, or is not packed yet, is that of the last that went by its name before.
    pub(super) fn taste(&mut self, taste: TasteRecord) {
        let over = self.departed.contains(&taste.joint) || !self.may_be_packed(&taste.joint, taste.mark.when);
        let left = self.past.iter_mut().rev().find(|p| p.joint.name == taste.joint);
        match left.filter(|_| over) {
            Some(past) => past.tastes.push(taste),
            None => self.tastes.push(taste),
        }
    }

    /// Whether what stands on a line of the journal is older than the joint that goes by a name now.
    pub fn is_before(&self, joint: &str, line: u64) -> bool {
        self.came.get(joint).is_some_and(|came| line < *came)
    }

    /// Whether another text speaks of the same joints where work on them is on record. By another name, of another batch, or come later
    /// than it was put in, it is another joint: it would be taken for cured, or a cured one for new. Those in `over` are known to be.
    ///
    /// # Errors
    /// Which joint, and what it says otherwise.
    pub fn takes(&self, new: &Kitchen, over: &[String]) -> Result<(), Refused> {
        let Ok(old) = kitchen_of(&self.kitchen_text) else { return Ok(()) };
        for was in old.joints.iter().filter(|j| !over.contains(&j.name)) {
            match new.joints.iter().find(|j| j.name == was.name) {
                Some(is) => self.is_the_same(was, is, new)?,
                None if is_cut(&was.name, new) && self.is_packed(&was.name) => {
                    let says =
                        "is packed by the record; what was cut in two is called like that, so call these otherwise";
                    return Err(Refused::new(format!("{} {says}", was.name)));
                }
                None if is_cut(&was.name, new) => {}
                None if self.is_under_way(&was.name) => {
                    if let Some(now) = new.joints.iter().find(|j| !has(&old, &j.name) && like(j) == like(was)) {
                        return Err(Refused::new(format!(
                            "{} keeps its name until it is packed, since it is under way by the record; \"{}\" is the same but for the name",
                            was.name, now.name
                        )));
                    }
                }
                None => {}
            }
        }
        Ok(())
    }

    fn is_the_same(&self, was: &Joint, is: &Joint, new: &Kitchen) -> Result<(), Refused> {
        let Some((task, first)) = self.first_work(&was.name) else { return Ok(()) };
        let other_batch = !was.batch.is_empty() && !is.batch.is_empty() && was.batch != is.batch;
        let arrives = is.arrives.filter(|_| was.arrives != is.arrives).map(|m| new.zone.instant(m.0));
        let at = |when: DateTime<Utc>| new.zone.civil(when).format("%a %-d %b %Y %H:%M");
        let what = match arrives.filter(|when| *when > first) {
            Some(when) => format!("one that arrives {}", at(when)),
            None if other_batch => format!("one of batch {}", is.batch),
            None => return Ok(()),
        };
        Err(Refused::new(format!(
            "{}: {what} is another joint, for by the record {task} was {}. Log what is left of the first and take it out (`turnday book close`, x \
             on the screen, a kitchen file without it), or call the other one otherwise",
            is.name,
            at(first)
        )))
    }

    fn lines_of(&self, joint: &str) -> Vec<(&PlanLine, Option<&TaskRecord>)> {
        let planned = self.lines.planned().into_iter().filter(|l| l.joints.iter().any(|j| j == joint));
        planned.map(|l| (l, self.tasks.get(&l.id))).collect()
    }

    /// The first work on the meat of a joint that is on record, and when it was begun as far as is known.
    fn first_work(&self, joint: &str) -> Option<(&str, DateTime<Utc>)> {
        let lines = self.lines_of(joint).into_iter();
        let meat = lines.filter(|(l, _)| !matches!(l.kind, Kind::BrineMake | Kind::Cool));
        let begun = meat.filter_map(|(l, t)| {
            let t = t?;
            Some((l.id.as_str(), t.started.as_ref().or(t.finished.as_ref())?.when))
        });
        begun.min_by_key(|b| b.1)
    }

    fn is_packed(&self, joint: &str) -> bool {
        let mut lines = self.lines_of(joint).into_iter();
        lines.any(|(l, t)| l.kind == Kind::VacuumPack && t.is_some_and(TaskRecord::is_settled))
    }

    /// Whether a joint's packing is on record as begun, or was to be begun by a moment.
    pub fn may_be_packed(&self, joint: &str, when: DateTime<Utc>) -> bool {
        let mut packs = self.lines_of(joint).into_iter().filter(|(l, _)| l.kind == Kind::VacuumPack).peekable();
        match packs.peek() {
            // In no plan: one that came by a name after another is taken to be new.
            None => !self.came.contains_key(joint),
            Some(_) => {
                packs.any(|(l, t)| l.start <= when || t.is_some_and(|t| t.started.is_some() || t.finished.is_some()))
            }
        }
    }

    /// Whether something is on record of a joint that is not packed yet: weighed, collected, or work on the meat.
    pub fn is_under_way(&self, joint: &str) -> bool {
        let known = self.weights.contains_key(joint) || self.collected.contains_key(joint);
        (known || self.first_work(joint).is_some()) && !self.is_packed(joint)
    }

    /// The joints that came into the kitchen with a line of the journal.
    pub(super) fn came_with(&self, line: u64) -> Vec<&str> {
        self.came.iter().filter(|(_, came)| **came == line).map(|(j, _)| j.as_str()).collect()
    }

    /// Whether an act is about one of some joints.
    pub(super) fn is_about(&self, act: &Act, joints: &[&str]) -> bool {
        let one = |joint: &String| joints.contains(&joint.as_str());
        match act {
            Act::Task { id, .. } => self.lines.get(id).is_some_and(|l| l.line.joints.iter().any(one)),
            Act::Weighed { joint, .. }
            | Act::Collected { joint, .. }
            | Act::Packs { joint, .. }
            | Act::Reading { of: ReadingOf::Core { joint }, .. } => one(joint),
            _ => false,
        }
    }
}

/// What a joint is but for its name and its size.
fn like(joint: &Joint) -> Joint {
    Joint {
        name: String::new(),
        cut: String::new(),
        notes: String::new(),
        weight: Mass::kg(1.0),
        weighed: None,
        diameter: None,
        length: None,
        ..joint.clone()
    }
}
