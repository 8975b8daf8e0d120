//! Closing a batch: its joints leave the kitchen and the plan; the record keeps them.

use super::plan::{accepted, plan_of};
use crate::book::{Act, PlanLine, Refused, State, TaskRecord};
use crate::kitchen::read::near;
use crate::plan::Plan;

/// The acts that close a batch, the kitchen first, then the plan without it. With `anyway` also while something is left to do.
///
/// # Errors
/// When no joint is of that batch, or something is still to be done for it.
pub fn close(batch: &str, state: &State, anyway: bool) -> Result<Vec<Act>, Refused> {
    let kitchen = &state.kitchen;
    let gone: Vec<String> = kitchen.joints.iter().filter(|j| j.batch == batch).map(|j| j.name.clone()).collect();
    if gone.is_empty() || batch.trim().is_empty() {
        let mut names: Vec<String> = kitchen.joints.iter().map(|j| j.batch.clone()).filter(|b| !b.is_empty()).collect();
        names.sort();
        names.dedup();
        let near = near(batch, &names).into_iter().map(str::to_owned).collect();
        let says = if names.is_empty() {
            "no joint of this kitchen names its batch (the field `batch` of a joint)".to_owned()
        } else {
            format!("there is no batch called \"{batch}\" here; there are: {}", names.join(", "))
        };
        return Err(Refused { says, near });
    }
    still_open(batch, &gone, state, anyway)?;
    leave(&gone, state, &format!("batch {batch} closed: {} left the kitchen", gone.join(", ")))
}

/// Refuses while something is left to do for joints, together called `what`, unless they are to go `anyway`.
pub(super) fn still_open(what: &str, gone: &[String], state: &State, anyway: bool) -> Result<(), Refused> {
    let left = |l: &&PlanLine| {
        l.joints.iter().any(|j| gone.contains(j)) && !state.tasks.get(&l.id).is_some_and(TaskRecord::is_settled)
    };
    let open: Vec<String> = state.lines.planned().into_iter().filter(left).map(|l| l.id.clone()).collect();
    if open.is_empty() || anyway {
        return Ok(());
    }
    let shown = open.iter().take(5).cloned().collect::<Vec<_>>().join(", ");
    let more = if open.len() > 5 { format!(" and {} more", open.len() - 5) } else { String::new() };
    Err(Refused::new(format!("still to be done for {what}: {shown}{more}; log them first, or say --anyway")))
}

/// The acts that take joints out of the kitchen, and of the plan.
pub(super) fn leave(gone: &[String], state: &State, says: &str) -> Result<Vec<Act>, Refused> {
    let mut kitchen = state.kitchen.clone();
    kitchen.joints.retain(|j| !gone.contains(&j.name));
    for group in kitchen.batch.together.iter_mut().chain(kitchen.batch.apart.iter_mut()) {
        group.retain(|j| !gone.contains(j));
    }
    kitchen.batch.together.retain(|g| g.len() > 1);
    kitchen.batch.apart.retain(|g| g.len() > 1);
    let text = serde_json::to_string_pretty(&kitchen).map_err(|e| Refused::new(e.to_string()))?;
    let mut acts = vec![Act::KitchenChanged { kitchen: text, says: says.to_owned() }];
    if let Some(plan) = plan_of(state).map_err(|e| Refused::new(e.to_string()))? {
        let plan = without(plan, gone);
        acts.push(accepted(&plan, says, 0).map_err(|e| Refused::new(e.to_string()))?);
    }
    Ok(acts)
}

/// A plan without some joints: what is about them alone is gone, what is shared is the others'.
pub(super) fn without(mut plan: Plan, gone: &[String]) -> Plan {
    let mine = |joints: &[String]| !joints.is_empty() && joints.iter().all(|j| gone.contains(j));
    plan.tasks.retain(|t| !mine(&t.joints));
    plan.loads.retain(|l| !mine(&l.joints));
    plan.cooks.retain(|c| !mine(&c.joints));
    plan.joints.retain(|j| !gone.contains(&j.name));
    let rest = |joints: &mut Vec<String>| joints.retain(|j| !gone.contains(j));
    plan.tasks.iter_mut().for_each(|t| rest(&mut t.joints));
    plan.loads.iter_mut().for_each(|l| rest(&mut l.joints));
    plan.cooks.iter_mut().for_each(|c| rest(&mut c.joints));
    plan
}
