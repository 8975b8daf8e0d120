//! The book as a record that views and timeline read.

use super::acts::{joints_of, longer, tell, turns_told};
use super::record::{
    Before, Came, Collected, Counted, Entry, Happened, Holds, Noted, Probed, Read, Recipe, Record, Tasted, Trouble,
    Weighed,
};
use crate::book::{Act, Event, Gone, Lot, Past, PlanLine, ReadingOf, State, TaskRecord, TasteRecord};
use crate::kitchen::Joint;
use crate::process::{Kind, durations};

/// What a book comes to.
pub fn record(state: &State, events: &[Event]) -> Record {
    let mut out = Record { before: before(state), ..Record::default() };
    for (id, t) in &state.tasks {
        if t.finished.is_some() {
            out.done.insert(id.clone());
        }
        out.tasks.insert(id.clone(), happened(t));
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
    out.tastes = state.tastes.iter().map(tasted).collect();
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

fn happened(t: &TaskRecord) -> Happened {
    let skipped = t.skipped.as_ref();
    let mark = t.finished.as_ref().or(skipped.map(|s| &s.0)).or(t.started.as_ref());
    Happened {
        started: t.started.as_ref().map(|m| m.when),
        finished: t.finished.as_ref().map(|m| m.when),
        skipped: skipped.map(|s| s.1.clone()),
        by: mark.map_or_else(String::new, |m| m.by.clone()),
    }
}

fn tasted(t: &TasteRecord) -> Tasted {
    Tasted { joint: t.joint.clone(), score: t.score, text: t.text.clone(), when: t.mark.when, by: t.mark.by.clone() }
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
        // Whatever load it was called by, it is the tub's.
        ReadingOf::Brine { tub } => Probed::Brine(tub.split(" (load ").next().unwrap_or(tub).to_owned()),
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

/// Joints that left the kitchen after they went in, or that packs were counted of, are a finished batch; those that never went in
/// are not.
fn before(state: &State) -> Vec<Before> {
    let together = state.past.chunk_by(|a, b| a.seq == b.seq);
    together.filter_map(|gone| batch(gone, state)).collect()
}

/// A batch of joints that left the kitchen together.
fn batch(gone: &[Past], state: &State) -> Option<Before> {
    let joints: Vec<Came> = gone.iter().filter_map(|p| came_through(p, state)).collect();
    let first = gone.first().filter(|_| !joints.is_empty())?;
    let began = gone.iter().filter_map(|p| Some(done(p, Kind::Submerge)?.1.finished.as_ref()?.when)).min();
    let cure = &first.cure;
    Some(Before {
        name: batch_of(&gone.iter().map(|p| &p.joint).collect::<Vec<_>>()).unwrap_or(&first.kitchen).to_owned(),
        began: began.unwrap_or(state.begun),
        recipe: Recipe {
            salt_percent: cure.salt_percent,
            sugar_percent: cure.sugar_percent,
            nitrite_mg_per_kg: cure.curing_salt.as_ref().map(|b| b.target_mg_per_kg),
            days_per_kg: cure.days_per_kg,
            turn_every_days: cure.turn_every_days,
        },
        joints,
    })
}

/// The task of a kind of work on a joint that left, and what happened to it.
fn done(past: &Past, kind: Kind) -> Option<&(PlanLine, TaskRecord)> {
    past.tasks.iter().find(|(l, _)| l.kind == kind)
}

/// A joint that left the kitchen, if anything came of it as far as is on record.
fn came_through(past: &Past, state: &State) -> Option<Came> {
    let lot = state.lots.of(&past.joint.name).filter(|l| l.over).nth(past.nth);
    // Work on it that was done, or was to be over with its packing: what was not ticked off may have been done all the same.
    let worked = past.tasks.iter().any(|(l, t)| {
        let told = t.started.is_some() || t.finished.is_some();
        let meat = !matches!(l.kind, Kind::BrineMake | Kind::Cool);
        meat && told || l.kind == Kind::VacuumPack && l.start <= past.at
    });
    let counted = lot.is_some_and(|l| l.packs.is_some() || !l.taken.is_empty());
    (worked || counted).then(|| came(past, lot))
}

fn came(past: &Past, lot: Option<&Lot>) -> Came {
    let joint = &past.joint;
    let ended = |kind| Some(done(past, kind)?.1.finished.as_ref()?.when);
    let stay = ended(Kind::Submerge).zip(ended(Kind::Rinse));
    let simmer = done(past, Kind::Simmer).and_then(|(line, t)| {
        let took = t.finished.as_ref()?.when - t.started.as_ref()?.when;
        Some(((line.end - line.start).num_minutes(), took.num_minutes()))
    });
    let begun = |kind| done(past, kind).map(|(line, t)| happened(t).begun_by(line.start));
    Came {
        joint: joint.name.clone(),
        outcome: joint.outcome.words().to_owned(),
        product: joint.outcome,
        kg: joint.planned_weight().as_kg(),
        weighed: joint.weighed.is_some(),
        table_kg: durations::packed_kg(joint),
        frozen: done(past, Kind::Freeze).map_or(joint.is_frozen(), |f| f.1.skipped.is_none()),
        cooked: begun(Kind::Chill),
        packed: begun(Kind::VacuumPack),
        packed_told: done(past, Kind::VacuumPack).is_some_and(|p| p.1 != TaskRecord::default()),
        numbers: past.numbers,
        packs: lot.map(counted),
        brine_days: stay.map(|(a, b)| (b - a).num_minutes() as f64 / 1440.0),
        simmer,
        tastes: past.tastes.iter().map(tasted).collect(),
        notes: past.notes.iter().map(|n| n.text.clone()).collect(),
    }
}
