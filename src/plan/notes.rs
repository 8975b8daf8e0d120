//! Cautions and assumptions that belong to a plan.

use crate::kitchen::{Basis, Kitchen, Limits, Times};
use crate::plan::strike::Timed;
use crate::process::arrangement::chill_limit;
use crate::process::{Kind, bridge, durations, fit};
use crate::units::Elapsed;
use petgraph::visit::EdgeRef;

/// Times by the trade's rule beside times by physics, for every joint: a person sees where the rule is generous or short.
pub fn both_times(kitchen: &Kitchen, limits: &Limits, t: &Timed) -> Vec<String> {
    let cure = &kitchen.cure;
    let days = |e: Elapsed| format!("{:.1}", e.as_days());
    let (mut brine, mut simmer, mut chill, mut outside) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let (mut alike, mut outgrown) = (Vec::new(), Vec::new());
    let limit = f64::from(limits.minutes(chill_limit(kitchen)));
    for (i, j) in kitchen.joints.iter().enumerate() {
        let load = t.arrangement.loads.iter().position(|l| l.joints.contains(&i));
        let meat = |l: usize| -> f64 {
            t.arrangement.loads[l].joints.iter().map(|k| kitchen.joints[*k].planned_weight().as_kg()).sum()
        };
        // By its size alone: what may share a tub by the house's rules is another matter.
        let fits = |l: usize| {
            let of = &t.arrangement.loads[l];
            let joints: Vec<_> = of.joints.iter().map(|k| &kitchen.joints[*k]).collect();
            fit::in_tub(&joints, &kitchen.kit.tubs[of.tub], limits).is_ok()
        };
        if load.is_some_and(|l| !fits(l)) {
            outgrown.push(j.name.as_str());
        } else if let ratio = load.map_or(1.0, |l| t.batch.fits[l].brine / meat(l).max(0.001))
            && let Some(salt) = durations::cure_by_salt(j, cure, ratio)
        {
            brine.push(format!("{} {} and {}", j.name, days(durations::cure_by_rule(j, cure)), days(salt)));
            // The days were asked for before the tub was known.
            if let Some(planned) = durations::cure_by_salt(j, cure, 1.0) {
                alike.push(format!("{} {}", j.name, days(planned)));
            }
        }
        let Some(cook) = t.arrangement.cooks.iter().find(|c| c.joints.contains(&i)) else { continue };
        if let Some(heat) = durations::simmer_by_heat(j, 60) {
            let rule = crate::science::cook::simmer(j.planned_weight()).planned;
            simmer.push(format!("{} {:.0} and {:.0}", j.name, rule.as_minutes(), heat.as_minutes()));
        }
        let means = bridge::means(kitchen.kit.chilling[cook.chilling].means);
        let rule = crate::science::chill::by_rule(means, bridge::size(j).diameter);
        let hot = crate::units::Temperature::celsius(75.0);
        if let Ok(heat) = crate::science::chill::by_physics(means, bridge::size(j), hot) {
            chill.push(format!("{} {:.1} and {:.1}", j.name, rule.planned.as_hours(), heat.value.planned.as_hours()));
            if heat.value.slow.as_minutes() > limit {
                outside.push(j.name.as_str());
            }
        }
    }
    let by = match cure.times {
        Times::Rule => "the rule",
        Times::Physics => "the sums",
    };
    let mut out = Vec::new();
    if !brine.is_empty() {
        let by = match cure.times {
            Times::Rule => by.to_owned(),
            Times::Physics => {
                format!("the sum for as much water as meat ({} days), its tubs may take longer", alike.join("; "))
            }
        };
        out.push(format!(
            "Days in the brine by the rule, and until 80 % of the salt is in by the salt sum: {}. This plan goes by {by}.",
            brine.join("; ")
        ));
    }
    if !outgrown.is_empty() {
        out.push(format!(
            "{}: too big by now for the tub they lie in, so how deep they lie, how much brine they have and when the salt is in are not known; \
             the depth and litres told are those of lying flattest.",
            outgrown.join(", ")
        ));
    }
    if !simmer.is_empty() {
        out.push(format!(
            "Minutes of simmer by the rule (tender), and to 75 °C at the core by the heat sum: {}. This plan goes by {by}.",
            simmer.join("; ")
        ));
    }
    if !chill.is_empty() {
        out.push(format!(
            "Hours of chilling by the trade's table, and by the heat sum: {}. This plan goes by {by}.",
            chill.join("; ")
        ));
    }
    if !outside.is_empty() {
        out.push(format!(
            "By the heat sum {} would be OUTSIDE the cooling limit of {:.1} h at the slow end. Chill harder (more ice, changed as it melts; blast) or split it after baking, probe it, and throw it out past the limit.",
            super::words::list(&outside),
            limit / 60.0
        ));
    }
    out
}

/// Each good limit that the plan oversteps, where and by how much.
fn overstepped(kitchen: &Kitchen, t: &Timed) -> Vec<String> {
    let (graph, starts) = (&t.batch.graph, &t.answer.solution.starts);
    let mut out = Vec::new();
    for e in graph.edge_references() {
        let (a, b) = (e.source(), e.target());
        let gap = starts[b.index()] - starts[a.index()] - graph[a].minutes;
        let over = e.weight().good.as_ref().filter(|g| gap > g.0).map(|g| (gap - g.0, "over", &g.1.says));
        let under = e.weight().good_least.as_ref().filter(|g| gap < g.0).map(|g| (g.0 - gap, "under", &g.1.says));
        if let Some((by, word, says)) = over.or(under) {
            let hours = f64::from(by) / 60.0;
            out.push(format!("{} after {}: {hours:.1} h {word} what is good ({says}).", graph[b].id, graph[a].id));
        }
    }
    for (j, joint) in kitchen.joints.iter().enumerate() {
        let Some(load) = t.arrangement.loads.iter().position(|l| l.joints.contains(&j)) else { continue };
        let meat: f64 =
            t.arrangement.loads[load].joints.iter().map(|k| kitchen.joints[*k].planned_weight().as_kg()).sum();
        let ratio = t.batch.fits[load].brine / meat.max(0.001);
        if ratio > 3.0 && t.arrangement.loads[load].joints.first() == Some(&j) {
            out.push(format!(
                "{}: {ratio:.1} L of brine to each kg of {}; a filler or a snugger tub saves salt and keeps the brine stronger.",
                t.batch.load_ids[load], joint.name
            ));
        }
    }
    out
}

/// What a plan says of itself: no more under an alarm, of which it knew nothing when it was made.
const INSIDE: &str = "This plan stays inside the limits set for this kitchen; it";

/// A caution as it stands under an alarm. A plan that is headed by one keeps its notes as they were told with its times.
pub fn under_alarm(note: &str) -> String {
    note.replacen(INSIDE, "A plan", 1)
}

/// Everything a person should read before carrying out the plan; never "safe to eat".
pub fn notes(kitchen: &Kitchen, limits: &Limits, t: &Timed) -> Vec<String> {
    let mut out = vec![format!(
        "{INSIDE} cannot see, smell or probe your meat. If in doubt, throw it out. Local rules and licensed practice come first."
    )];
    match &kitchen.cure.curing_salt {
        Some(c) => out.push(format!(
            "Curing salt at {} % sodium nitrite, as typed from the label: read the label again before weighing, weigh it on a {} g scale, and have a second person check. A bag ten times stronger or weaker looks the same.",
            c.nitrite_percent, kitchen.kit.scales.curing_salt_g
        )),
        None => out.push(
            "No curing salt: the stricter cooling limits are used, keep the brine at 4 °C or under, cook right through, and do not count on a cured ham's keeping.".to_owned(),
        ),
    }
    let ham = kitchen.joints.iter().any(|j| j.outcome.is_ham());
    if ham && kitchen.cure.curing_salt.is_some() && chill_limit(kitchen) == "chill_uncured_limit" {
        let why = match kitchen.cure.basis {
            Basis::Excess => "How much of a strong brine reaches the meat is not known beforehand".to_owned(),
            Basis::Equilibrium => format!(
                "Less than {} % salt or {} mg/kg nitrite",
                limits.value("salt_hurdle"),
                limits.value("nitrite_hurdle")
            ),
        };
        let hours = f64::from(limits.minutes("chill_uncured_limit")) / 60.0;
        out.push(format!("{why}: hams are held to the cooling limits without nitrite, {hours} h to 5 °C."));
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
    let cured = chill_limit(kitchen) == "chill_cured_limit";
    let good = limits.minutes(if cured { "chill_cured_good" } else { "chill_uncured_good" });
    let limit = limits.minutes(if cured { "chill_cured_limit" } else { "chill_uncured_limit" });
    let graph = &t.batch.graph;
    for n in graph.node_indices().filter(|n| graph[*n].kind == Kind::Chill) {
        // The chill's own slow end: what its simmer ran over is not chilling.
        let slow = graph[n].joints.iter().filter_map(|j| {
            let cook = t.arrangement.cooks.iter().find(|c| c.joints.contains(j))?;
            Some(durations::chill(&kitchen.joints[*j], &kitchen.cure, kitchen.kit.chilling[cook.chilling].means)?.1)
        });
        let slow = slow.max().unwrap_or(0);
        if slow <= good {
            continue;
        }
        let names: Vec<&str> = graph[n].joints.iter().map(|j| kitchen.joints[*j].name.as_str()).collect();
        let why = if cured { " only because it is cured" } else { "" };
        out.push(format!(
            "{} takes {:.1} h to chill, {:.1} h at the slow end: over the good {:.0} h, inside the limit of {:.1} h{why}. Split it after baking to be quicker.",
            super::words::list(&names),
            f64::from(graph[n].minutes) / 60.0,
            f64::from(slow) / 60.0,
            f64::from(good) / 60.0,
            f64::from(limit) / 60.0
        ));
    }
    out.extend(overstepped(kitchen, t));
    out
}
