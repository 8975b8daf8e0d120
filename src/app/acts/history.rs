//! The record as rows: what an inspector reads. Nothing is left out that was asked for, undone or not.

use super::tell::tell;
use super::trouble::named;
use crate::book::{Act, Event, ReadingOf, State};
use crate::kitchen::Zone;
use crate::process::Kind;
use chrono::{DateTime, NaiveDate, Utc};
use serde::Serialize;

/// What to show; everything that is left open fits.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Filter {
    pub joint: Option<String>,
    pub tub: Option<String>,
    /// The civil day on which it happened or was recorded.
    pub day: Option<NaiveDate>,
    /// One of [`Act::KINDS`].
    pub kind: Option<String>,
    pub by: Option<String>,
}

/// A line of the record.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    pub seq: u64,
    /// When it was recorded.
    pub at: DateTime<Utc>,
    /// When it happened, if that was said.
    pub when: Option<DateTime<Utc>>,
    pub by: String,
    pub kind: &'static str,
    pub says: String,
    /// Whether it counts as it stands.
    pub counts: bool,
    /// The line that undid it.
    pub undone_by: Option<u64>,
    /// The line that counts in its place.
    pub corrected_by: Option<u64>,
    /// The line it undid, did again, or corrected.
    pub about_line: Option<u64>,
    /// The joints and the tub it is about.
    pub joints: Vec<String>,
    pub things: Vec<String>,
}

/// Names that an act is about: joints, and other things.
fn about(act: &Act, state: &State, events: &[Event], further: u32) -> (Vec<String>, Vec<String>) {
    if further == 0 {
        return Default::default();
    }
    let joint = |j: &String| (vec![j.clone()], Vec::new());
    let task = |id: &String| {
        let Some(l) = state.lines.get(id).map(|l| &l.line) else { return Default::default() };
        // A joint is lifted out of the tub it was put in.
        let lifted_from = |t: &String| {
            l.kind == Kind::Rinse
                && state
                    .lines
                    .get(&format!("put in {t}"))
                    .is_some_and(|p| p.line.joints.iter().any(|j| l.joints.contains(j)))
        };
        let tub =
            |t: &&String| format!("{} ", l.id).contains(&format!(" {t} ")) || l.things.contains(t) || lifted_from(t);
        (l.joints.clone(), state.tub_names().iter().filter(tub).cloned().collect())
    };
    match act {
        Act::Task { id, .. } | Act::Snoozed { task: id, .. } | Act::Nudged { task: id, .. } => task(id),
        Act::Weighed { joint: j, .. }
        | Act::Collected { joint: j, .. }
        | Act::Taste { joint: j, .. }
        | Act::Packs { joint: j, .. }
        | Act::Taken { joint: j, .. } => joint(j),
        Act::Reading { of: ReadingOf::Core { joint: j }, .. } => joint(j),
        Act::Reading { of: ReadingOf::Space { name } | ReadingOf::Brine { tub: name }, .. } => {
            (Vec::new(), vec![name.clone()])
        }
        Act::Trouble { about, details, .. } if !named(details).is_empty() => {
            let mut joints: Vec<String> = named(details).into_iter().map(str::to_owned).collect();
            joints.push(about.clone());
            (joints, vec![about.clone()])
        }
        Act::Note { about, .. } | Act::Trouble { about, .. } => {
            if state.lines.contains_key(about) {
                return task(about);
            }
            // Joints and things may share a name; a row is found by either.
            (vec![about.clone()], vec![about.clone()])
        }
        Act::Undone { seq } | Act::Redone { seq } => {
            let event = seq.checked_sub(1).and_then(|i| usize::try_from(i).ok()).and_then(|i| events.get(i));
            event.map_or_else(Default::default, |e| self::about(&e.act, state, events, further - 1))
        }
        Act::Corrected { act, .. } => self::about(act, state, events, further - 1),
        _ => Default::default(),
    }
}

/// The record's rows that fit, in the order of the journal.
pub fn rows(events: &[Event], state: &State, filter: &Filter, zone: Zone) -> Vec<Row> {
    let same = |a: &str, b: &str| a.to_lowercase() == b.to_lowercase();
    let any =
        |names: &[String], wanted: &Option<String>| wanted.as_ref().is_none_or(|w| names.iter().any(|n| same(n, w)));
    let row = |e: &Event| {
        let (joints, things) = about(&e.act, state, events, super::tell::FURTHEST);
        let undone = state.undone.contains(&e.seq);
        let undone_by =
            undone.then(|| events.iter().rev().find(|u| u.act == Act::Undone { seq: e.seq }).map(|u| u.seq)).flatten();
        let corrected_by = state.corrected.get(&e.seq).copied();
        let about_line = match &e.act {
            Act::Undone { seq } | Act::Redone { seq } | Act::Corrected { seq, .. } => Some(*seq),
            _ => None,
        };
        let when = match &e.act {
            Act::Corrected { act, .. } => act.when(),
            act => act.when(),
        };
        Row {
            seq: e.seq,
            at: e.at,
            when,
            by: e.by.clone(),
            kind: e.act.kind(),
            says: tell(&e.act, events),
            counts: !undone && corrected_by.is_none(),
            undone_by,
            corrected_by,
            about_line,
            joints,
            things,
        }
    };
    let fits = |r: &Row| {
        let day = |d: NaiveDate| zone.civil(r.at).date() == d || r.when.is_some_and(|w| zone.civil(w).date() == d);
        any(&r.joints, &filter.joint)
            && any(&r.things, &filter.tub)
            && filter.day.is_none_or(day)
            && filter.kind.as_ref().is_none_or(|k| same(k, r.kind))
            && filter.by.as_ref().is_none_or(|b| same(b, &r.by))
    };
    events.iter().map(row).filter(fits).collect()
}
