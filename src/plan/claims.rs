//! What a plan file says beside its times, held against what follows from them: sentences, lengths, kit, quantities, the
//! joints' lives, cautions, and how good it claims to be.
//!
//! A person acts on these as much as on the times, so a plan that says something else than its own times is not sound.

use super::judge::{Broken, form};
use super::model::{JointStory, Plan, PlannedTask, TubLoad, Use};
use super::notes::under_alarm;
use crate::kitchen::Kitchen;

/// Everything in which `plan` differs from `told`, the plan told anew from the same times.
///
/// Once something has happened, promises moved and what is overdue hang on the plan before, which a plan file does not hold:
/// a plan may then say that it oversteps more, never less.
pub(super) fn false_claims(kitchen: &Kitchen, plan: &Plan, told: &Plan, bounds: &[i64], happened: bool) -> Vec<Broken> {
    let mut out = Vec::new();
    if plan.kitchen != kitchen.name || plan.zone != kitchen.zone {
        out.push(form(format!("the plan is for \"{}\" in {}", plan.kitchen, plan.zone), &[]));
    }
    for t in &told.tasks {
        if let Some(p) = plan.tasks.iter().find(|p| p.id == t.id) {
            task(p, t, &mut out);
        }
    }
    for l in &told.loads {
        match plan.loads.iter().find(|p| p.id == l.id) {
            Some(p) => load(p, l, &mut out),
            None => out.push(form(format!("the plan has no load {}", l.id), &[])),
        }
    }
    for c in &told.cooks {
        if !plan.cooks.contains(c) {
            out.push(form(format!("the plan tells the cook of {} otherwise than its tasks do", c.id), &[]));
        }
    }
    for j in &told.joints {
        match plan.joints.iter().find(|p| p.name == j.name) {
            Some(p) => story(p, j, &mut out),
            None => out.push(form(format!("the plan leaves out the life of {}", j.name), &[])),
        }
    }
    // A plan that is headed by alarms does not say that it stays inside the limits.
    let said = |n: &String| plan.notes.contains(n) || !plan.alarms.is_empty() && plan.notes.contains(&under_alarm(n));
    for n in told.notes.iter().filter(|n| !said(n)) {
        out.push(form(format!("the plan leaves out a caution: {n}"), &[]));
    }
    let last = told.levels.len().saturating_sub(1);
    for (k, l) in told.levels.iter().enumerate() {
        let Some(p) = plan.levels.get(k).filter(|p| p.label == l.label) else {
            out.push(form(format!("the plan does not say its {}", l.label), &[]));
            continue;
        };
        // The last level is a sum of distances from the planner's own start, which a plan file does not hold.
        let may_say_more = happened && (l.label == "promises moved" || l.label == "quality overstepped");
        if k < last && (if may_say_more { p.value < l.value } else { p.value != l.value }) {
            out.push(form(format!("the plan says {} is {}; reckoned anew it is {}", l.label, p.value, l.value), &[]));
        }
        if p.bound > bounds.get(k).copied().unwrap_or(0) {
            out.push(form(format!("the plan claims more for {} than is proven", l.label), &[]));
        }
        // Comparing every sharing is not done again here, but no bound is over what is reached.
        if k < last && p.compared.is_some_and(|c| c > l.value) {
            out.push(form(format!("the plan claims that {} cannot be as little as it is", l.label), &[]));
        }
    }
    out
}

fn task(p: &PlannedTask, t: &PlannedTask, out: &mut Vec<Broken>) {
    let id = t.id.as_str();
    let mut say = |what: &str, given: String, reckoned: String| {
        out.push(form(format!("\"{id}\": {what} is given as {given}; it is {reckoned}"), &[id]));
    };
    if p.kind != t.kind {
        say("the kind", p.kind.words().to_owned(), t.kind.words().to_owned());
    }
    if p.says != t.says {
        say("what is done", format!("\"{}\"", p.says), format!("\"{}\"", t.says));
    }
    if p.joints != t.joints {
        say("the meat", p.joints.join(", "), t.joints.join(", "));
    }
    if p.hands_minutes != t.hands_minutes {
        say("the work of hands", format!("{} min", p.hands_minutes), format!("{} min", t.hands_minutes));
    }
    for (what, given, reckoned) in [("the end", p.end, t.end), ("the slow end", p.slow_end, t.slow_end)] {
        if given != reckoned {
            let form = "%a %-d %b %H:%M";
            say(what, given.format(form).to_string(), reckoned.format(form).to_string());
        }
    }
    let sorted = |uses: &[Use]| {
        let mut all: Vec<_> = uses.iter().map(|u| (u.thing.clone(), u.from, u.to)).collect();
        all.sort();
        all
    };
    if sorted(&p.uses) != sorted(&t.uses) {
        let names = |uses: &[Use]| uses.iter().map(|u| u.thing.as_str()).collect::<Vec<_>>().join(", ");
        say("the kit it takes, and for how long,", names(&p.uses), names(&t.uses));
    }
}

fn load(p: &TubLoad, l: &TubLoad, out: &mut Vec<Broken>) {
    for (what, given, reckoned) in
        [("cm of brine", p.fill_cm, l.fill_cm), ("litres of brine", p.brine_litres, l.brine_litres)]
    {
        if (given - reckoned).abs() > 0.05 || !given.is_finite() {
            out.push(form(format!("{}: given {given:.1} {what}; it takes {reckoned:.1}", l.id), &[]));
        }
    }
}

fn story(p: &JointStory, j: &JointStory, out: &mut Vec<Broken>) {
    let same = p.outcome == j.outcome
        && p.tub == j.tub
        && p.put_in == j.put_in
        && p.cured == j.cured
        && p.lift == j.lift
        && p.ready == j.ready
        && p.ready_by == j.ready_by
        && (p.kg - j.kg).abs() < 0.001
        && (p.cure_days - j.cure_days).abs() < 0.001;
    if !same {
        out.push(form(format!("what the plan says of {} does not follow from its tasks", j.name), &[]));
    }
}
