//! What a person has to know before anything else on a page: meat outside the limits, turns that came too late, and a plan that
//! would lift too soon, or puts meat where it does not fit.

use super::Name;
use super::brine::filled;
use super::facts::{Asked, Facts, list, when};
use super::joint;
use super::page::{Page, trouble};
use crate::app::record::{Probed, Read, Trouble};
use crate::kitchen::Limits;
use crate::plan::cores::{CoreReading, Outside, Ran, outside};
use crate::plan::late_turns::late_turns;
use crate::plan::{Kind, TubLoad};

/// The alarms of a kitchen, each with the joints it is about, the worst first.
pub fn alarms(facts: &Facts) -> Vec<(Vec<String>, String)> {
    let mut out = Vec::new();
    let Some(record) = facts.record else { return out };
    let core = |r: &Read| match &r.of {
        Probed::Core(joint) => Some(CoreReading { joint: joint.clone(), at: r.when, celsius: r.celsius }),
        _ => None,
    };
    let readings: Vec<CoreReading> = record.readings.iter().filter_map(core).collect();
    let ran =
        |id: &str| record.tasks.get(id).map_or_else(Ran::default, |t| Ran { begun: t.started, finished: t.finished });
    // Once it is on record what became of it, there is nothing to press for. Trouble of another kind (a late turn) says nothing of it,
    // and neither does a ruling that by what it was told found nothing outside. Who is lost is in the plan no more.
    let settles = |o: &Outside, t: &Trouble| {
        t.kind == o.kind && t.deviates && t.when >= o.since && o.joints.iter().all(|j| t.joints.contains(j))
    };
    let found = outside(facts.kitchen, &facts.plan.tasks, &ran, &readings).into_iter();
    let open = found.filter(|o| !record.troubles.iter().any(|t| settles(o, t)));
    out.extend(open.map(|o| (o.joints, o.short)));
    out.extend(warm(facts));
    let late = late_turns(facts.kitchen, &facts.plan.tasks, &ran, &record.turns_told, true, facts.now);
    out.extend(late.into_iter().map(|o| (o.joints, o.short)));
    out.extend(cramped(facts));
    let now = facts.at(facts.now);
    // Seconds of a moment on record are no days missed.
    for (k, j) in facts.plan.joints.iter().enumerate() {
        if let Some(s) = joint::in_brine(facts, k).filter(|s| (s.cured - s.lift).num_minutes() > 0 && s.lift >= now) {
            let (lift, cured) = (when(&s.lift), when(&s.cured));
            let says = format!("{} would come out {lift}, before its days are up {cured}: plan again.", j.name);
            out.push((vec![j.name.clone()], says));
        }
    }
    out
}

/// Loads still to be put in that do not fit their tub by what the joints weigh on the kitchen's own scale.
fn cramped(facts: &Facts) -> Vec<(Vec<String>, String)> {
    let Some(record) = facts.record else { return Vec::new() };
    let begun = |load: &TubLoad| {
        let put_in = facts.plan.tasks.iter().find(|t| t.kind == Kind::Submerge && t.joints == load.joints);
        put_in.and_then(|t| facts.happened(&t.id)).is_some_and(|h| h.started.is_some() || h.finished.is_some())
    };
    let weighed = |load: &&TubLoad| record.weights.iter().any(|w| load.joints.contains(&w.joint));
    // What the kitchen file does not know cannot be tried; other pages tell of it.
    let known = |l: &&TubLoad| {
        let kitchen = facts.kitchen;
        let joint = |n: &String| kitchen.joints.iter().any(|j| j.name == *n);
        kitchen.kit.tubs.iter().any(|t| t.name == l.tub) && l.joints.iter().all(joint)
    };
    let ahead = facts.plan.loads.iter().filter(weighed).filter(known).filter(|l| !begun(l));
    let misfits = ahead.filter_map(|l| filled(facts.kitchen, l).err().map(|e| (l, e.why)));
    misfits
        .map(|(l, why)| {
            let says = format!(
                "{} no longer takes {} as planned: {why}. Plan again before the put-in.",
                l.id,
                list(&l.joints)
            );
            (l.joints.clone(), says)
        })
        .collect()
}

/// Meat in a brine, or on a shelf, that was too warm when last read.
fn warm(facts: &Facts) -> Vec<(Vec<String>, String)> {
    let Some(record) = facts.record else { return Vec::new() };
    let limits = Limits::with(&facts.kitchen.limits);
    let limit = limits.get("cure_space_celsius");
    let mut out = Vec::new();
    for load in &facts.plan.loads {
        let put_in = facts.plan.tasks.iter().find(|t| t.kind == Kind::Submerge && t.joints == load.joints);
        let since = put_in.and_then(|t| facts.happened(&t.id)).and_then(|h| h.finished.or(h.started));
        let lifted = |j: &String| facts.is_done(&format!("lift {j}"));
        let Some(since) = since.filter(|_| !load.joints.iter().all(lifted)) else { continue };
        let about = |r: &&Read| match &r.of {
            Probed::Brine(tub) => *tub == load.tub,
            Probed::Space(space) => *space == load.space,
            _ => false,
        };
        let last = |brine: bool| {
            let mine = record.readings.iter().filter(about).filter(|r| matches!(r.of, Probed::Brine(_)) == brine);
            mine.filter(|r| r.when >= since).max_by_key(|r| r.when).filter(|r| r.celsius > limit.value)
        };
        // What a ruling is on record of is seen to: of warmth, of each joint that is still in, and of no milder warmth than was read.
        // The air of a cold space is not the brine's warmth, which the ruling is by.
        let told = |r: &&Read| {
            let warmth = |t: &&Trouble| {
                let warm_enough = |c: f64| !matches!(r.of, Probed::Brine(_)) || c >= r.celsius - 0.05;
                ["warm", "power-cut"].contains(&t.kind.as_str())
                    && t.when >= r.when
                    && t.celsius.is_some_and(warm_enough)
            };
            let of = |j: &String| record.troubles.iter().filter(warmth).any(|t| t.joints.contains(j));
            load.joints.iter().filter(|j| !lifted(j)).all(of)
        };
        let Some(r) = [last(true), last(false)].into_iter().flatten().find(|r| !told(r)) else { continue };
        let what =
            if matches!(r.of, Probed::Brine(_)) { format!("The brine of {}", load.tub) } else { load.space.clone() };
        out.push((
            load.joints.iter().filter(|j| !lifted(j)).cloned().collect(),
            format!(
                "{what} was {} °C, {}; {}. Say for how long, and see what to do: trouble, warm.",
                r.celsius,
                when(&facts.at(r.when)),
                limit.says
            ),
        ));
    }
    out
}

/// What heads a page: the first of the alarms, and before it how many there are, since a small screen cuts off its end.
pub fn headed(alarms: &[(Vec<String>, String)]) -> Option<String> {
    let (_, first) = alarms.first()?;
    Some(if alarms.len() == 1 { first.clone() } else { format!("First of {}: {first}", alarms.len()) })
}

/// The alarms that belong to a view: none where it is no page to work by, of a joint's page those of the joint.
pub fn of_view(name: Name, facts: &Facts, asked: &Asked) -> Vec<(Vec<String>, String)> {
    let work = matches!(
        name,
        Name::Day | Name::Turns | Name::Tubs | Name::Joint | Name::Cook | Name::Freezer | Name::Week | Name::Rota
    );
    if !work {
        return Vec::new();
    }
    let mut found = alarms(facts);
    if name == Name::Joint {
        let asked_for = |j: &String| asked.of.as_ref().is_none_or(|of| of.eq_ignore_ascii_case(j));
        found.retain(|(joints, _)| joints.iter().any(asked_for));
    }
    found
}

/// Puts the alarms before what a page says, where it is a page to work by.
pub fn sound(page: &mut Page, name: Name, facts: &Facts, asked: &Asked) {
    let found = of_view(name, facts, asked);
    let Some(head) = headed(&found).filter(|_| !page.sentence.text.contains(&found[0].1)) else { return };
    page.sentence = trouble(format!("{head} {}", page.sentence.text));
}
