//! The book as a record that views and timeline read.

use std::collections::{BTreeMap, HashSet};

use chrono::{DateTime, Utc};

use super::acts::{joints_of, longer, tell, turns_told};
use super::record::{
    Before, Came, Collected, Counted, Entry, Happened, Holds, Noted, Probed, Read, Recipe, Record, Tasted, Trouble,
    Weighed,
};
use crate::book::{Act, Event, Gone, Lot, PlanLine, ReadingOf, State, TaskAct};
use crate::kitchen::{Joint, Kitchen, read};
use crate::process::{Kind, durations};
use crate::units::Mass;

/// What a book comes to.
pub fn record(state: &State, events: &[Event]) -> Record {
    let mut out = Record { before: before(state, events), ..Record::default() };
    for (id, t) in &state.tasks {
        if t.finished.is_some() {
            out.done.insert(id.clone());
        }
        let skipped = t.skipped.as_ref();
        let mark = t.finished.as_ref().or(skipped.map(|s| &s.0)).or(t.started.as_ref());
        let happened = Happened {
            started: t.started.as_ref().map(|m| m.when),
            finished: t.finished.as_ref().map(|m| m.when),
            skipped: skipped.map(|s| s.1.clone()),
            by: mark.map_or_else(String::new, |m| m.by.clone()),
        };
        out.tasks.insert(id.clone(), happened);
    }
    out.weights = state
        .weights
        .iter()
        .map(|(joint, w)| Weighed { joint: joint.clone(), grams: w.grams, when: w.mark.when, by: w.mark.by.clone() })
        .collect();
    out.collected = state
        .collected
        .iter()
        .map(|(joint, c)| Collected {
            joint: joint.clone(),
            when: c.mark.when,
            celsius: c.celsius,
            by: c.mark.by.clone(),
        })
        .collect();
    out.readings = state
        .readings
        .iter()
        .map(|r| Read { of: probed(&r.of), celsius: r.celsius, when: r.mark.when, by: r.mark.by.clone() })
        .collect();
    out.readings.sort_by_key(|r| r.when);
    out.notes = state
        .notes
        .iter()
        .map(|n| Noted { about: n.about.clone(), text: n.text.clone(), when: n.mark.when, by: n.mark.by.clone() })
        .collect();
    out.tastes = state
        .tastes
        .iter()
        .map(|t| Tasted {
            joint: t.joint.clone(),
            score: t.score,
            text: t.text.clone(),
            when: t.mark.when,
            by: t.mark.by.clone(),
        })
        .collect();
    out.packs = state.lots.iter().filter(|l| !l.over).map(counted).collect();
    out.troubles = state
        .troubles
        .iter()
        .map(|t| {
            let r = &t.ruling;
            let parts = [r.to_do.join("; "), r.deviation.clone(), r.corrective.clone()];
            let ruling: Vec<String> = parts.into_iter().filter(|p| !p.is_empty()).collect();
            Trouble {
                kind: t.kind.clone(),
                joints: joints_of(t, state),
                celsius: t.details.get("celsius").and_then(serde_json::Value::as_f64),
                deviates: !r.deviation.is_empty(),
                about: if t.about.is_empty() { t.kind.clone() } else { t.about.clone() },
                says: r.says.clone(),
                ruling: ruling.join(". "),
                when: t.mark.when,
                by: t.mark.by.clone(),
            }
        })
        .collect();
    out.turns_told = turns_told(state);
    out.longer = longer(state);
    out.entries = events.iter().map(|e| entry(state, events, e)).collect();
    out
}

fn counted(lot: &Lot) -> Counted {
    let of = |gone: Gone| lot.taken.iter().filter(|t| t.gone == gone).map(|t| t.packs).fold(0, u32::saturating_add);
    let all = [Gone::Eaten, Gone::Sold, Gone::GivenAway, Gone::ThrownAway];
    Counted {
        joint: lot.joint.clone(),
        packs: lot.packs,
        grams: lot.grams,
        gone: all.into_iter().map(|g| (g.word().to_owned(), of(g))).filter(|g| g.1 > 0).collect(),
        left: lot.left(),
        seen: lot.seen,
        when: lot.mark.as_ref().map(|m| m.when),
        by: lot.mark.as_ref().map_or_else(String::new, |m| m.by.clone()),
    }
}

fn probed(of: &ReadingOf) -> Probed {
    match of {
        ReadingOf::Core { joint } => Probed::Core(joint.clone()),
        ReadingOf::Space { name } => Probed::Space(name.clone()),
        ReadingOf::Brine { tub } => Probed::Brine(tub.clone()),
        ReadingOf::Other { what } => Probed::Other(what.clone()),
    }
}

fn entry(state: &State, events: &[Event], e: &Event) -> Entry {
    let undoing = |x: &&Event| matches!(x.act, Act::Undone { seq } if seq == e.seq);
    let holds = match (state.undone.contains(&e.seq), state.corrected.get(&e.seq)) {
        (true, _) => Holds::Undone(events.iter().rev().find(undoing).map_or(e.seq, |x| x.seq)),
        (false, Some(by)) => Holds::Corrected(*by),
        (false, None) => Holds::Yes,
    };
    Entry {
        seq: e.seq,
        at: e.at,
        when: e.act.when(),
        by: e.by.clone(),
        kind: e.act.kind().to_owned(),
        says: tell(&e.act, events),
        holds,
    }
}

/// The name of the batch that all of some joints are of, where they name one.
fn batch_of<'j>(joints: &[&'j Joint]) -> Option<&'j str> {
    let (first, rest) = joints.split_first()?;
    (!first.batch.is_empty() && rest.iter().all(|j| j.batch == first.batch)).then_some(first.batch.as_str())
}

/// Walks through the acts that count, in order, and keeps what left the kitchen with its joints.
#[derive(Default)]
struct Walk {
    kitchen: Option<Kitchen>,
    began: Option<DateTime<Utc>>,
    lines: Vec<PlanLine>,
    /// Begun and ended, by task.
    tasks: BTreeMap<String, Happened>,
    weights: BTreeMap<String, f64>,
    tastes: Vec<Tasted>,
    notes: Vec<(String, String)>,
    /// By joint: how many have left the kitchen by that name, each of which has its lot.
    left: BTreeMap<String, usize>,
    out: Vec<Before>,
}

fn before(state: &State, events: &[Event]) -> Vec<Before> {
    let mut walk = Walk::default();
    for e in events.iter().filter(|e| !state.undone.contains(&e.seq)) {
        let act = match state.corrected.get(&e.seq) {
            Some(by) => events.iter().find(|x| x.seq == *by).and_then(|x| match &x.act {
                Act::Corrected { act, .. } => Some(&**act),
                _ => None,
            }),
            None => Some(&e.act),
        };
        if let Some(act) = act {
            walk.act(act, e, state);
        }
    }
    walk.out
}

impl Walk {
    fn act(&mut self, act: &Act, e: &Event, state: &State) {
        match act {
            Act::Started { kitchen } | Act::KitchenChanged { kitchen, .. } => {
                let Some(new) = read::read("the book", kitchen).kitchen else { return };
                if let Some(old) = self.kitchen.take() {
                    let stays: HashSet<&str> = new.joints.iter().map(|j| j.name.as_str()).collect();
                    let gone: Vec<&Joint> = old.joints.iter().filter(|j| !stays.contains(j.name.as_str())).collect();
                    self.close(&old, &gone, state, e.at);
                }
                self.began.get_or_insert(e.at);
                self.kitchen = Some(new);
            }
            Act::PlanAccepted { lines, .. } => self.lines.clone_from(lines),
            Act::Task { id, what, when } => {
                let t = self.tasks.entry(id.clone()).or_default();
                match what {
                    TaskAct::Started => t.started = Some(*when),
                    // What was given up was done after all.
                    TaskAct::Finished => (t.finished, t.skipped) = (Some(*when), None),
                    TaskAct::Skipped { why } => t.skipped = Some(why.clone()),
                }
            }
            Act::Weighed { joint, grams, .. } => {
                self.weights.insert(joint.clone(), grams / 1000.0);
            }
            Act::Taste { joint, score, text, when } => self.tastes.push(Tasted {
                joint: joint.clone(),
                score: *score,
                text: text.clone(),
                when: *when,
                by: e.by.clone(),
            }),
            Act::Note { about, text, .. } => self.notes.push((about.clone(), text.clone())),
            _ => {}
        }
    }

    /// The line of a kind of work on a joint, and when it was begun and ended.
    fn done(&self, kind: Kind, joint: &str) -> Option<(&PlanLine, &Happened)> {
        let line = self.lines.iter().find(|l| l.kind == kind && l.joints.iter().any(|j| j == joint))?;
        Some((line, self.tasks.get(&line.id)?))
    }

    /// Joints that left the kitchen after they went in, or that packs were counted of, are a finished batch; those that never went in
    /// are not.
    fn close(&mut self, old: &Kitchen, gone: &[&Joint], state: &State, at: DateTime<Utc>) {
        let joints: Vec<Came> = gone.iter().filter_map(|j| self.came_through(j, state, at)).collect();
        for j in gone {
            *self.left.entry(j.name.clone()).or_default() += 1;
        }
        if joints.is_empty() {
            return;
        }
        let through = self.batch(old, gone, joints);
        self.out.push(through);
        // The next batch may use the same names again.
        for line in &self.lines {
            if line.joints.iter().all(|j| gone.iter().any(|g| g.name == *j)) {
                self.tasks.remove(&line.id);
            }
        }
        let name = |n: &str| gone.iter().any(|g| g.name == n);
        self.tastes.retain(|t| !name(&t.joint));
        self.notes.retain(|n| !name(&n.0));
        self.weights.retain(|n, _| !name(n));
    }

    /// A batch of joints that left a kitchen.
    fn batch(&self, old: &Kitchen, gone: &[&Joint], joints: Vec<Came>) -> Before {
        let began = joints.iter().filter_map(|j| self.done(Kind::Submerge, &j.joint)?.1.finished).min().or(self.began);
        let cure = &old.cure;
        Before {
            name: batch_of(gone).unwrap_or(&old.name).to_owned(),
            began: began.unwrap_or_default(),
            recipe: Recipe {
                salt_percent: cure.salt_percent,
                sugar_percent: cure.sugar_percent,
                nitrite_mg_per_kg: cure.curing_salt.as_ref().map(|b| b.target_mg_per_kg),
                days_per_kg: cure.days_per_kg,
                turn_every_days: cure.turn_every_days,
            },
            joints,
        }
    }

    /// A joint that leaves the kitchen, if anything came of it as far as is on record.
    fn came_through(&self, joint: &Joint, state: &State, at: DateTime<Utc>) -> Option<Came> {
        let nth = self.left.get(&joint.name).copied().unwrap_or(0);
        let lot = state.lots.of(&joint.name).filter(|l| l.over).nth(nth);
        // Work on it that was done, or was to be over with its packing: what was not ticked off may have been done all the same.
        let worked = self.lines.iter().filter(|l| l.joints.contains(&joint.name)).any(|l| {
            let told = self.tasks.get(&l.id).is_some_and(|h| h.started.is_some() || h.finished.is_some());
            let meat = !matches!(l.kind, Kind::BrineMake | Kind::Cool);
            meat && told || l.kind == Kind::VacuumPack && l.start <= at
        });
        let counted = lot.is_some_and(|l| l.packs.is_some() || !l.taken.is_empty());
        (worked || counted).then(|| self.came(joint, lot))
    }

    fn came(&self, joint: &Joint, lot: Option<&Lot>) -> Came {
        let ended = |kind| self.done(kind, &joint.name).and_then(|d| d.1.finished);
        let stay = ended(Kind::Submerge).zip(ended(Kind::Rinse));
        let simmer = self.done(Kind::Simmer, &joint.name).and_then(|(line, h)| {
            Some(((line.end - line.start).num_minutes(), (h.finished? - h.started?).num_minutes()))
        });
        let begun = |kind| {
            let line = self.lines.iter().find(|l| l.kind == kind && l.joints.contains(&joint.name))?;
            Some(self.tasks.get(&line.id).map_or(line.start, |h| h.begun_by(line.start)))
        };
        let weighed = self.weights.get(&joint.name).copied();
        let kg = weighed.unwrap_or_else(|| joint.planned_weight().as_kg());
        Came {
            joint: joint.name.clone(),
            outcome: joint.outcome.words().to_owned(),
            product: joint.outcome,
            kg,
            weighed: weighed.is_some() || joint.weighed.is_some(),
            table_kg: durations::packed_kg(&Joint { weighed: Some(Mass::kg(kg)), ..joint.clone() }),
            frozen: self.done(Kind::Freeze, &joint.name).map_or(joint.is_frozen(), |f| f.1.skipped.is_none()),
            cooked: begun(Kind::Chill),
            packed: begun(Kind::VacuumPack),
            packed_told: self.done(Kind::VacuumPack, &joint.name).is_some(),
            packs: lot.map(counted),
            brine_days: stay.map(|(a, b)| (b - a).num_minutes() as f64 / 1440.0),
            simmer,
            tastes: self.tastes.iter().filter(|t| t.joint == joint.name).cloned().collect(),
            notes: self.notes.iter().filter(|n| n.0 == joint.name).map(|n| n.1.clone()).collect(),
        }
    }
}
