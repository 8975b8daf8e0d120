//! Another kitchen file in the place of the book's: what leaves is closed, what comes by an old name is told apart from it.

use super::close::{leave, still_open};
use crate::book::{Act, Refused, State, TaskRecord, is_cut};
use crate::kitchen::{Joint, Kitchen, differs, read};

/// The acts that make a kitchen's text the book's, and what is different, a sentence each. With `anyway` also while something is left
/// to do for a joint that leaves.
///
/// # Errors
/// When work is left for a joint that leaves, or another joint comes by the name of one that is under way.
pub fn exchange(text: &str, new: &Kitchen, state: &State, anyway: bool) -> Result<(Vec<Act>, Vec<String>), Refused> {
    let old = &state.kitchen;
    // As it was written: what the scale said stands beside the text.
    let written = read("the book", &state.kitchen_text).kitchen;
    let mut says = differs(written.as_ref().unwrap_or(old), new);
    let again = namesakes(new, state);
    state.takes(new, &again)?;
    let there = |j: &Joint| new.joints.iter().any(|n| n.name == j.name) || is_cut(&j.name, new);
    let left = |j: &&Joint| again.contains(&j.name) || !there(j);
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

/// Joints that come by the name of one that is over: all that was to be done for it is on record, and they are of another batch, or for
/// another day.
fn namesakes(new: &Kitchen, state: &State) -> Vec<String> {
    let planned = state.lines.planned();
    let again = |is: &&Joint| {
        let was = state.kitchen.joints.iter().find(|o| o.name == is.name);
        let mut lines = planned.iter().filter(|l| l.joints.contains(&is.name)).peekable();
        let over = lines.peek().is_some() && lines.all(|l| state.tasks.get(&l.id).is_some_and(TaskRecord::is_settled));
        // What it weighs and measures may be put right afterwards; when it comes, and what it is for, not.
        let of = |j: &Joint| (j.batch.clone(), j.arrives, j.ready_by, j.outcome);
        over && was.is_some_and(|was| of(was) != of(is))
    };
    new.joints.iter().filter(again).map(|j| j.name.clone()).collect()
}
