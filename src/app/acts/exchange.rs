//! Another kitchen file in the place of the book's: what leaves is closed, what comes by an old name is told apart from it.

use super::close::{leave, still_open};
use super::moment;
use crate::book::{Act, PlanLine, Refused, State, TaskRecord};
use crate::kitchen::{Joint, Kitchen, differs, read};
use crate::process::Kind;
use chrono::{DateTime, Utc};

/// The acts that make a kitchen's text the book's, and what is different, a sentence each. With `anyway` also while something is left
/// to do for a joint that leaves.
///
/// # Errors
/// When work is left for a joint that leaves, or a joint comes by the name of one that is under way.
pub fn exchange(text: &str, new: &Kitchen, state: &State, anyway: bool) -> Result<(Vec<Act>, Vec<String>), Refused> {
    state.keeps_names(new)?;
    let old = &state.kitchen;
    // As it was written: what the scale said stands beside the text.
    let written = read("the book", &state.kitchen_text).kitchen;
    let mut says = differs(written.as_ref().unwrap_or(old), new);
    let again: Vec<String> = namesakes(new, state)?;
    let left = |j: &&Joint| again.contains(&j.name) || !new.joints.iter().any(|n| n.name == j.name);
    let gone: Vec<String> = old.joints.iter().filter(left).map(|j| j.name.clone()).collect();
    still_open(&gone.join(", "), &gone, state, anyway)?;
    let mut acts = Vec::new();
    if !gone.is_empty() {
        acts.extend(leave(&gone, state, &format!("{} left the kitchen", gone.join(", ")))?);
    }
    says.extend(
        again
            .iter()
            .map(|n| format!("{n} is another joint by that name: the first is packed, and its record is closed")),
    );
    if !says.is_empty() {
        acts.push(Act::KitchenChanged { kitchen: text.to_owned(), says: says.join("; ") });
    }
    Ok((acts, says))
}

/// Joints that come by the name of one that is over.
fn namesakes(new: &Kitchen, state: &State) -> Result<Vec<String>, Refused> {
    let mut out = Vec::new();
    for is in &new.joints {
        let Some(was) = state.kitchen.joints.iter().find(|o| o.name == is.name) else { continue };
        let planned = state.lines.planned();
        let lines: Vec<&PlanLine> = planned.into_iter().filter(|l| l.joints.contains(&is.name)).collect();
        let record = |l: &&PlanLine| state.tasks.get(&l.id);
        let over = !lines.is_empty() && lines.iter().all(|l| record(l).is_some_and(TaskRecord::is_settled));
        // What it weighs and measures may be put right afterwards; when it comes, and what it is for, not.
        let of = |j: &Joint| (j.batch.clone(), j.arrives, j.ready_by, j.outcome);
        if over && of(was) != of(is) {
            out.push(is.name.clone());
            continue;
        }
        let put_in = lines.iter().find(|l| l.kind == Kind::Submerge).and_then(record);
        let put_in = put_in.and_then(|t| t.started.as_ref().or(t.finished.as_ref())).map(|m| m.when);
        let later =
            put_in.zip(arrival(is, new)).filter(|(put_in, arrives)| was.arrives != is.arrives && arrives > put_in);
        if let Some((put_in, arrives)) = later {
            let at = |when: DateTime<Utc>| moment(when, new.zone);
            return Err(Refused::new(format!(
                "{} was put in {} by the record, and is to arrive {}: is that another joint? Log what is left of the first and close it \
                 (`turnday book close`, or a kitchen file without it), or call the other one otherwise",
                is.name,
                at(put_in),
                at(arrives)
            )));
        }
    }
    Ok(out)
}

fn arrival(joint: &Joint, kitchen: &Kitchen) -> Option<DateTime<Utc>> {
    Some(kitchen.zone.instant(joint.arrives?.0))
}
