//! What holds a task where it is.

use super::Plan;
use super::history::History;
use super::judge::{Broken, Laid, lay_over, limits_broken};
use crate::kitchen::Kitchen;
use crate::process::emit::activity;
use crate::schedule::{Held, Side, binding, slack};
use petgraph::graph::NodeIndex;
use serde::Serialize;

/// What keeps a task from another time.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Why {
    pub task: String,
    pub starts: super::When,
    /// First and last start with every other task where it is.
    pub alone: [super::When; 2],
    /// First and last start when the tasks tied to it give way, and nothing gets later than it is due.
    pub together: [super::When; 2],
    /// Against starting earlier, and against starting later.
    pub not_earlier: Vec<String>,
    pub not_later: Vec<String>,
}

/// Finds a task by its id, or by a piece of it or of its sentence when only one matches.
///
/// # Errors
/// A sentence when none or several match.
pub fn find<'a>(plan: &'a Plan, wanted: &str) -> Result<&'a super::PlannedTask, String> {
    if let Some(t) = plan.tasks.iter().find(|t| t.id == wanted) {
        return Ok(t);
    }
    let low = wanted.to_lowercase();
    let near: Vec<_> = plan
        .tasks
        .iter()
        .filter(|t| t.id.to_lowercase().contains(&low) || t.says.to_lowercase().contains(&low))
        .collect();
    match near.as_slice() {
        [one] => Ok(one),
        [] => Err(format!("no task is called \"{wanted}\"; `turnday plan --json` lists the ids")),
        several => {
            let ids: Vec<&str> = several.iter().take(8).map(|t| t.id.as_str()).collect();
            Err(format!("\"{wanted}\" fits {} tasks: {}", several.len(), ids.join(", ")))
        }
    }
}

/// What holds a task of a sound plan, after what has happened.
///
/// # Errors
/// What the plan breaks, when with what has happened it is not sound: what holds a task is not to be had then.
pub fn why(kitchen: &Kitchen, plan: &Plan, history: Option<&History>, task: &str) -> Result<Why, Vec<Broken>> {
    let mut broken = Vec::new();
    // A time that the record rules out is never told: without what has happened nothing is laid.
    let mut laid = lay_over(kitchen, plan, history, false, &mut broken).ok_or(broken)?;
    let broken = limits_broken(kitchen, &laid);
    if !broken.is_empty() {
        // A plan made after a limit of quality was missed holds as it was made: with that limit given up.
        let given_up = lay_over(kitchen, plan, history, true, &mut Vec::new());
        laid = given_up.filter(|l| limits_broken(kitchen, l).is_empty()).ok_or(broken)?;
    }
    let Laid { axis, batch, emitted, solution, .. } = &laid;
    let node = batch.graph.node_indices().find(|n| batch.graph[*n].id == task).unwrap_or(NodeIndex::new(0));
    let reason = |held: &Held| match held {
        Held::By(r) => {
            let r = &emitted.problem.reasons[r.index()];
            format!("{} ({})", r.says, r.source)
        }
        Held::ByLevel(l) => format!("it would cost: {}", emitted.problem.levels[*l].label),
        Held::ByHorizon => "the plan begins or ends there".to_owned(),
    };
    let held = binding(&emitted.problem, solution, activity(node));
    let on = |side: Side| held.iter().filter(|h| h.0 == side).map(|h| reason(&h.1)).collect();
    let start = solution.starts[node.index()];
    let free = slack(&emitted.problem, solution).and_then(|s| s.get(node.index()).copied());
    let [alone, together] =
        free.map_or([[start; 2]; 2], |s| [[s.earliest, s.latest], [s.earliest_together, s.latest_together]]);
    let when = |pair: [i32; 2]| pair.map(|m| axis.when(m));
    Ok(Why {
        task: batch.graph[node].id.clone(),
        starts: axis.when(start),
        alone: when(alone),
        together: when(together),
        not_earlier: on(Side::Earlier),
        not_later: on(Side::Later),
    })
}
