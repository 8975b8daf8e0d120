//! Cautions and assumptions that belong to a plan.

use crate::kitchen::{Basis, Kitchen, Limits, Times};
use crate::plan::strike::Timed;
use crate::process::{Kind, durations, fit};
use crate::units::Elapsed;

/// Times by the trade's rule beside times by physics, for every joint: a person sees where the rule is generous or short.
pub fn both_times(kitchen: &Kitchen) -> Vec<String> {
    let cure = &kitchen.cure;
    let days = |e: Elapsed| format!("{:.1}", e.as_days());
    let mut brine = Vec::new();
    let mut simmer = Vec::new();
    for j in &kitchen.joints {
        if let Some(salt) = durations::cure_by_salt(j, cure) {
            brine.push(format!("{} {} and {}", j.name, days(durations::cure_by_rule(j, cure)), days(salt)));
        }
        if j.outcome.is_ham()
            && let Some(heat) = durations::simmer_by_heat(j, 60)
        {
            let rule = crate::science::cook::simmer(j.planned_weight()).planned;
            simmer.push(format!("{} {:.0} and {:.0}", j.name, rule.as_minutes(), heat.as_minutes()));
        }
    }
    let by = match cure.times {
        Times::Rule => "the rule",
        Times::Physics => "the sums",
    };
    let mut out = Vec::new();
    if !brine.is_empty() {
        out.push(format!("Days in the brine by the rule, and until 80 % of the salt is in by the salt sum: {}. This plan goes by {by}.", brine.join("; ")));
    }
    if !simmer.is_empty() {
        out.push(format!("Minutes of simmer by the rule (tender), and to 75 °C at the core by the heat sum: {}. This plan goes by {by}.", simmer.join("; ")));
    }
    out
}

/// Everything a person should read before carrying out the plan; never "safe to eat".
pub fn notes(kitchen: &Kitchen, limits: &Limits, t: &Timed) -> Vec<String> {
    let mut out = vec![
        "This plan stays inside the limits set for this kitchen; it cannot see, smell or probe your meat. If in doubt, throw it out. Local rules and licensed practice come first.".to_owned(),
    ];
    match &kitchen.cure.curing_salt {
        Some(c) => out.push(format!(
            "Curing salt at {} % sodium nitrite, as typed from the label: read the label again before weighing, weigh it on a {} g scale, and have a second person check. A bag ten times stronger or weaker looks the same.",
            c.nitrite_percent, kitchen.kit.scales.curing_salt_g
        )),
        None => out.push(
            "No curing salt: the stricter cooling limits are used, keep the brine at 4 °C or under, cook right through, and do not count on a cured ham's keeping.".to_owned(),
        ),
    }
    if kitchen.cure.basis == Basis::Equilibrium && kitchen.cure.salt_percent < 2.0 {
        out.push("Under 2 % salt on meat and water: fridge only, at 4 °C or under.".to_owned());
    }
    let reckoned: Vec<&str> =
        kitchen.joints.iter().filter(|j| !fit::size_of(j).measured).map(|j| j.name.as_str()).collect();
    if !reckoned.is_empty() {
        out.push(format!(
            "Sizes reckoned from weight, not measured: {}. Measure before you trust a tight fit.",
            super::words::list(&reckoned)
        ));
    }
    let unweighed: Vec<&str> = kitchen.joints.iter().filter(|j| j.weighed.is_none()).map(|j| j.name.as_str()).collect();
    if !unweighed.is_empty() {
        out.push(format!(
            "Expected weights, not yet on your own scale: {}. Plan again when they are weighed.",
            super::words::list(&unweighed)
        ));
    }
    let cured = crate::process::arrangement::chill_limit(kitchen) == "chill_cured_limit";
    let good = limits.minutes(if cured { "chill_cured_good" } else { "chill_uncured_good" });
    let limit = limits.minutes(if cured { "chill_cured_limit" } else { "chill_uncured_limit" });
    let graph = &t.batch.graph;
    for n in graph.node_indices().filter(|n| graph[*n].kind == Kind::Chill && graph[*n].minutes > good) {
        let names: Vec<&str> = graph[n].joints.iter().map(|j| kitchen.joints[*j].name.as_str()).collect();
        let why = if cured { " only because it is cured" } else { "" };
        out.push(format!(
            "{} takes about {:.0} h to chill: over the good {:.0} h, inside the limit of {:.1} h{why}. Split it after baking to be quicker.",
            super::words::list(&names),
            f64::from(graph[n].minutes) / 60.0,
            f64::from(good) / 60.0,
            f64::from(limit) / 60.0
        ));
    }
    out
}
