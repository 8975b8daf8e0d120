//! Between a plan and the book's light lines.

use super::close::without;
use crate::book::{Act, PlanLine, RawPlan, State};
use crate::plan::Plan;
use chrono::Utc;

/// A plan's tasks in short.
pub fn lines_of(plan: &Plan) -> Vec<PlanLine> {
    let line = |t: &crate::plan::PlannedTask| {
        let mut things: Vec<String> = t.uses.iter().map(|u| u.thing.clone()).collect();
        things.sort();
        things.dedup();
        PlanLine {
            id: t.id.clone(),
            kind: t.kind,
            says: t.says.clone(),
            joints: t.joints.clone(),
            things,
            start: t.start.with_timezone(&Utc),
            end: t.end.with_timezone(&Utc),
            hands_minutes: t.hands_minutes,
            who: t.who.clone(),
        }
    };
    plan.tasks.iter().map(line).collect()
}

/// The act of taking a plan on.
///
/// # Errors
/// When the plan cannot be written as JSON.
pub fn accepted(plan: &Plan, says: &str, moved: u32) -> Result<Act, serde_json::Error> {
    // What was outside when a plan was printed is no part of it: the book knows what is now.
    let own = Plan { alarms: Vec::new(), ..plan.clone() };
    let raw = RawPlan::new(&serde_json::to_string(&own)?)?;
    Ok(Act::PlanAccepted { plan: raw, lines: lines_of(plan), says: says.to_owned(), moved })
}

/// The plan that counts in a book.
///
/// # Errors
/// When it is none that this program reads.
pub fn plan_of(state: &State) -> Result<Option<Plan>, serde_json::Error> {
    let plan: Option<Plan> = state.plan.as_ref().map(|p| serde_json::from_str(p.json())).transpose()?;
    // Of whom it speaks that has left since: by that name there may be another joint now, which lies in no tub yet.
    let gone: Vec<String> =
        state.past.iter().filter(|p| p.seq > state.plan_seq).map(|p| p.joint.name.clone()).collect();
    Ok(plan.map(|p| if gone.is_empty() { p } else { without(p, &gone) }))
}
