//! Judges a plan, whoever made it: every limit it breaks, with the reason.
//!
//! The graph is built anew from the kitchen and the plan's own sharing; the plan's times are laid on it and handed to the
//! solver's independent checker. Nothing of the search is used.

mod lay;

pub use lay::{Laid, lay, lay_after, lay_over};

use super::claims::false_claims;
use super::history::{self, Deviation, History};
use super::strike::Timed;
use super::{Plan, When, bounds, tell};
use crate::kitchen::{Kitchen, Limits};
use crate::process::emit::{Form, Promises, emit};
use crate::process::{Kind, Thing};
use crate::schedule::{self, Minute};
use serde::Serialize;

/// One limit that a plan breaks.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Broken {
    /// What is wrong, in plain words.
    pub says: String,
    /// The limit that is broken, and where it comes from; empty for faults of the plan's form.
    pub limit: String,
    pub force: String,
    pub source: String,
    /// Ids of the tasks concerned.
    pub tasks: Vec<String>,
    pub at: Option<When>,
}

/// What a judge says of a plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Verdict {
    pub broken: Vec<Broken>,
    /// Limits that what has happened has missed, whatever is planned now.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub deviations: Vec<Deviation>,
    /// Objective levels reckoned anew; empty when the plan's form did not allow it.
    pub levels: Vec<(String, i64)>,
}

pub(super) fn form(says: String, tasks: &[&str]) -> Broken {
    Broken {
        says,
        limit: String::new(),
        force: "means".to_owned(),
        source: String::new(),
        tasks: tasks.iter().map(|t| (*t).to_owned()).collect(),
        at: None,
    }
}

/// Every limit the plan breaks in this kitchen.
pub fn judge(kitchen: &Kitchen, plan: &Plan) -> Verdict {
    judge_after(kitchen, plan, None)
}

/// The same when some of it has happened: what has happened is not the plan's to keep or break, but to tell as it was.
/// Limits that history itself has missed are in [`Verdict::deviations`].
pub fn judge_after(kitchen: &Kitchen, plan: &Plan, history: Option<&History>) -> Verdict {
    let mut broken = Vec::new();
    let laid = lay_after(kitchen, plan, history, &mut broken);
    let mut levels = Vec::new();
    let mut deviations = laid.as_ref().map(|l| history::deviations(&l.brought_up)).unwrap_or_default();
    deviations.extend(history.into_iter().flat_map(|h| h.outside(kitchen, &plan.tasks)));
    if let Some(l) = laid {
        broken.extend(limits_broken(kitchen, &l));
        let cost = schedule::cost(&l.emitted.problem, &l.solution);
        levels = l.emitted.problem.levels.iter().map(|x| x.label.clone()).zip(cost.clone()).collect();
        broken.extend(claims(kitchen, plan, history, l, cost));
    }
    Verdict { broken, deviations, levels }
}

/// Every limit that a laid plan breaks, by the solver's independent checker.
pub(super) fn limits_broken(kitchen: &Kitchen, l: &Laid) -> Vec<Broken> {
    let told = |v: schedule::Violation| {
        let reason =
            waited_too_long(kitchen, l, &v).or_else(|| v.reason.map(|r| l.emitted.problem.reasons[r.index()].clone()));
        let task = |a: &schedule::ActivityId| l.batch.graph.node_weight(petgraph::graph::NodeIndex::new(a.index()));
        Broken {
            says: in_words(l, &v),
            limit: reason.as_ref().map_or_else(String::new, |r| r.says.clone()),
            force: reason.as_ref().map_or_else(String::new, |r| r.force.word().to_owned()),
            source: reason.map_or_else(String::new, |r| r.source),
            tasks: v.activities.iter().filter_map(task).map(|t| t.id.clone()).collect(),
            at: Some(l.axis.when(v.at)),
        }
    };
    schedule::check(&l.emitted.problem, &l.solution).into_iter().map(told).collect()
}

/// An activity has one reason for its first and its last start; for pork that waits past its last, it is this one.
fn waited_too_long(kitchen: &Kitchen, l: &Laid, v: &schedule::Violation) -> Option<schedule::Reason> {
    let [a] = v.activities.as_slice() else { return None };
    let task = l.batch.graph.node_weight(petgraph::graph::NodeIndex::new(a.index()))?;
    if task.kind != Kind::Submerge || task.latest.is_none_or(|latest| l.solution.starts[a.index()] <= latest) {
        return None;
    }
    let limits = Limits::with(&kitchen.limits);
    let limit = limits.get("collect_to_brine_limit");
    Some(schedule::Reason { says: limit.says.clone(), force: schedule::Force::Safety, source: limit.source.clone() })
}

/// What the plan says beside its times, held against the plan told anew from them.
fn claims(kitchen: &Kitchen, plan: &Plan, history: Option<&History>, l: Laid, cost: Vec<i64>) -> Vec<Broken> {
    let limits = Limits::with(&kitchen.limits);
    let bound = match history {
        Some(_) => [0; 8],
        None => bounds::for_every_sharing(kitchen, &limits, &l.axis, l.starts, cost.first().copied().unwrap_or(0)),
    };
    let mut broken = Vec::new();
    if plan.in_hand.as_ref().is_some_and(|h| h.minutes != limits.minutes("turn_in_hand") || !has_in_hand(kitchen, &l)) {
        broken.push(form("the plan claims that every turn has tolerance in hand; not all have".to_owned(), &[]));
    }
    let answer = schedule::Answer { solution: l.solution, bound: bound.to_vec(), cost, nodes: 0 };
    let collect = l.starts;
    let timed =
        Timed { arrangement: l.arrangement, batch: l.batch, emitted: l.emitted, answer, collect, form: Form::JUDGED };
    let told = tell::tell(kitchen, &limits, &l.axis, &timed, false);
    broken.extend(false_claims(kitchen, plan, &told, &bound, history.is_some()));
    broken
}

/// Does it keep the turns' tolerance in hand that a careful plan keeps?
fn has_in_hand(kitchen: &Kitchen, l: &Laid) -> bool {
    let (limits, careful) = (Limits::with(&kitchen.limits), Form { step: 1, ..Form::PLANNED[0] });
    emit(kitchen, &limits, &l.axis, &l.batch, &Promises::new(), careful, 0)
        .is_ok_and(|e| schedule::check(&e.problem, &l.solution).is_empty())
}

/// The checker's finding in civil time: the tasks concerned with their starts, and by how much a lag is missed.
fn in_words(l: &Laid, v: &schedule::Violation) -> String {
    let at = |m: Minute| l.axis.civil(m).format("%a %-d %b %H:%M");
    let tasks: Vec<String> = v
        .activities
        .iter()
        .filter_map(|a| {
            let t = l.batch.graph.node_weight(petgraph::graph::NodeIndex::new(a.index()))?;
            Some(format!("\"{}\" ({})", t.id, at(l.solution.starts[a.index()])))
        })
        .collect();
    if tasks.is_empty() {
        return format!("{}: {}", at(v.at), v.says);
    }
    // "... must start at least N minutes after ..., but does so after M"
    let number = |s: &str| s.split_whitespace().next().and_then(|w| w.parse::<i64>().ok());
    let lag = v.says.split_once("must start at least ").and_then(|(_, rest)| {
        let least = number(rest)?;
        let got = number(rest.rsplit_once("after ")?.1)?;
        Some((least, least - got))
    });
    match lag {
        Some((least, by)) => {
            let apart = if least >= 0 { "too close together" } else { "too far apart" };
            format!(
                "{} are {} h {:02} {apart}",
                super::words::list(&tasks.iter().map(String::as_str).collect::<Vec<_>>()),
                by / 60,
                by % 60
            )
        }
        None => {
            let list = super::words::list(&tasks.iter().map(String::as_str).collect::<Vec<_>>());
            format!("{list}, at {}: {}", at(v.at), plain(&v.says))
        }
    }
}

/// The checker's words without its minutes from the epoch, which mean nothing to a person.
fn plain(says: &str) -> String {
    says.split_once(" throughout ").map_or(says, |(head, _)| head).to_owned()
}

/// The name under which a plan lists a thing.
pub(super) fn thing_name(kitchen: &Kitchen, thing: Thing) -> String {
    let kit = &kitchen.kit;
    match thing {
        Thing::Tub(i) => kit.tubs[i].name.clone(),
        Thing::Pot(i) => kit.pots[i].name.clone(),
        Thing::Sink => "sink".to_owned(),
        Thing::Ring => "ring".to_owned(),
        Thing::BigRing => "big ring".to_owned(),
        Thing::Oven => "oven".to_owned(),
        Thing::Chilling(i) | Thing::ChillingLoad(i) => kit.chilling[i].name.clone(),
        Thing::Bench => "board and packer".to_owned(),
        Thing::CookedBench => "cooked board and packer".to_owned(),
        Thing::Freezer => "freezer".to_owned(),
        Thing::Floor(i) | Thing::Litres(i) | Thing::Air(i) => kit.cold[i].name.clone(),
    }
}

/// Which load of its tub a load is, by its name.
pub(super) fn nth(load: &super::TubLoad) -> Option<u32> {
    let number = load.id.strip_prefix(&load.tub)?.strip_prefix(" (load ")?.strip_suffix(')')?;
    number.parse().ok().filter(|n| (2..1_000_000).contains(n))
}
