//! Trouble: what the house's table says of a case, what the book knows of it, and the act that puts it on record.

use super::close::without;
use super::plan::{accepted, plan_of};
use crate::app::Voice;
use crate::book::{Act, PlanLine, RulingRecord, State};
use crate::kitchen::{Basis, Joint, Kitchen, Limits};
use crate::plan::{capital, length};
use crate::process::trouble::{Effect, Known, Ruling, Told, Verdict, apply, rule, share_words};
use crate::process::{bridge, durations, fit};
use crate::science::Refused;
use crate::science::brine::{water_for, weigh_out};
use crate::units::{Elapsed, Mass, Temperature, Volume};
use chrono::{DateTime, Utc};

/// Something that went wrong, as a person tells it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Case {
    /// One of the table's kinds.
    pub kind: String,
    pub told: Told,
    /// The joints it is about, by name.
    pub joints: Vec<String>,
    /// The tub they lie in.
    pub tub: Option<String>,
    /// Only the tub was named: the joints are all that lie in it.
    pub of_tub: bool,
    /// Time in the brine so far.
    pub in_brine: Option<Elapsed>,
    /// Time since the last reading that was inside the limit.
    pub since_good: Option<Elapsed>,
    /// Salt in the brine when it was made, % by weight of the brine.
    pub start_percent: Option<f64>,
}

impl Case {
    /// With what the book knows of it: the tub a joint lies in, the joints that lie in a tub, and since when.
    #[must_use]
    pub fn by_the_book(mut self, state: &State, now: DateTime<Utc>) -> Self {
        let lines = || state.lines.values().filter(|l| !l.cancelled).map(|l| &l.line);
        let load = |line: &PlanLine| line.id.strip_prefix("put in ").map(str::to_owned);
        let lifted = |joint: &str| state.tasks.get(&format!("lift {joint}")).is_some_and(|t| t.finished.is_some());
        let begun = |load: &str| {
            state.tasks.get(&format!("put in {load}")).is_some_and(|t| t.finished.is_some() || t.started.is_some())
        };
        // Of several loads of a tub the one that lies in it now.
        let of_tub = |tub: &str| {
            let loads = lines().filter_map(|l| Some((load(l)?, l)));
            let its =
                loads.filter(|(n, _)| n.strip_prefix(tub).is_some_and(|r| r.is_empty() || r.starts_with(" (load ")));
            let here = its.filter(|(n, l)| begun(n) && !l.joints.iter().all(|j| lifted(j)));
            here.map(|(n, _)| n).next().unwrap_or_else(|| tub.to_owned())
        };
        let mut into = self.tub.as_deref().map(of_tub);
        if let (None, Some(joint)) = (&into, self.joints.first()) {
            into = lines().filter(|l| l.joints.contains(joint)).find_map(load);
        }
        let Some(load) = into else { return self };
        let put_in = format!("put in {load}");
        if self.joints.is_empty() {
            self.of_tub = true;
            let inside = lines().find(|l| l.id == put_in).map(|l| l.joints.clone()).unwrap_or_default();
            self.joints = inside.into_iter().filter(|j| !lifted(j)).collect();
        }
        if self.in_brine.is_none()
            && let Some(mark) = state.tasks.get(&put_in).and_then(|t| t.finished.as_ref().or(t.started.as_ref()))
        {
            let minutes = (now - mark.when).num_minutes();
            self.in_brine = (minutes >= 0).then(|| Elapsed::minutes(minutes as f64));
        }
        // A tub's second load is called "T1 (load 2)".
        self.tub = Some(load.split(" (load ").next().unwrap_or(&load).to_owned());
        self
    }

    /// What was understood, read back.
    pub fn words(&self) -> String {
        let told = &self.told;
        let yes =
            |said: Option<bool>, so: &'static str, not: &'static str| said.map(|s| if s { so } else { not }.to_owned());
        let about: Vec<&str> = self.joints.iter().chain(&self.tub).map(String::as_str).collect();
        let parts = [
            Some(self.kind.clone()),
            (!about.is_empty()).then(|| about.join(", ")),
            told.celsius.map(|c| format!("{} °C", c.tenths())),
            told.lasted.map(|l| length(l.as_minutes().round() as i64)),
            told.weight.map(|w| format!("{:.2} kg", w.as_kg())),
            self.since_good.map(|l| format!("since good {}", length(l.as_minutes().round() as i64))),
            self.start_percent.map(|p| format!("starts {p} %")),
            told.ratio.map(|r| format!("{r} times")),
            yes(told.smells, "smells", "no smell"),
            yes(told.cloudy, "cloudy", "clear"),
        ];
        parts.into_iter().flatten().collect::<Vec<_>>().join(" · ")
    }

    /// What the house's table rules, in this kitchen.
    ///
    /// # Errors
    /// What a name is not in the kitchen, what the table does not know, or numbers that cannot be meant.
    pub fn ruled(&self, kitchen: &Kitchen) -> Result<Ruling, Refused> {
        // Of a tub that was warm all joints are lost; a bone is one joint's.
        if self.kind == "bone-sour" && self.of_tub {
            return Err(Refused::new("a bone is one joint's, and it is not said whose", "name the joint, not its tub"));
        }
        rule(&Limits::with(&kitchen.limits), &self.kind, &self.told, &self.known(kitchen)?)
    }

    /// The acts that put it on record with its ruling, and that make the kitchen go by it: time in the brine is taken from
    /// the ruling itself ([`super::history_of`]), all else is a change of the kitchen like any other.
    ///
    /// # Errors
    /// What the ruling does to a joint when none is named, or a weight of several; and what cannot be written as JSON.
    pub fn acts(&self, ruling: &Ruling, state: &State, when: DateTime<Utc>) -> Result<Vec<Act>, Refused> {
        self.names_enough(ruling, state)?;
        let unwritten = |e: serde_json::Error| Refused::new(e.to_string(), "tell it in other words");
        self.written(ruling, state, when).map_err(unwritten)
    }

    /// A ruling that does something does it to a joint: told of none it would be on record and change nothing.
    fn names_enough(&self, ruling: &Ruling, state: &State) -> Result<(), Refused> {
        let weighs = ruling.effects.iter().any(|e| matches!(e, Effect::Weighed { .. }));
        let why = match self.joints.as_slice() {
            [] if !ruling.effects.is_empty() => match &self.tub {
                Some(tub) => format!("{} is about a joint, and by the record none lies in {tub}", ruling.kind),
                None => format!("{} is about a joint, and none is named", ruling.kind),
            },
            [_, _, ..] if weighs => format!("{} is about one joint's weight, and several are named", ruling.kind),
            _ => return Ok(()),
        };
        let names: Vec<&str> = state.kitchen.joints.iter().map(|j| j.name.as_str()).collect();
        let tubs: Vec<&str> = state.kitchen.kit.tubs.iter().map(|t| t.name.as_str()).collect();
        let hint = match names.as_slice() {
            [] => "the kitchen has no joints".to_owned(),
            _ => format!("name the joint ({}), or the tub it lies in ({})", names.join(", "), tubs.join(", ")),
        };
        Err(Refused::new(why, hint))
    }

    fn written(&self, ruling: &Ruling, state: &State, when: DateTime<Utc>) -> serde_json::Result<Vec<Act>> {
        let mut acts = vec![self.act(ruling, when)?];
        let longer = |e: &Effect| {
            matches!(e, Effect::ExtraCure { .. } | Effect::NotCounted { .. } | Effect::RestartClock { .. })
        };
        let weighed = |e: &&Effect| matches!(e, Effect::Weighed { .. });
        let mut rest = ruling.clone();
        rest.effects.retain(|e| !longer(e) && !weighed(&e));
        let kitchen = apply(&state.kitchen, &self.joints, &rest);
        if kitchen != state.kitchen {
            let says = format!("{}: {}", self.joints.join(" and "), ruling.says);
            acts.push(Act::KitchenChanged { kitchen: serde_json::to_string_pretty(&kitchen)?, says: says.clone() });
            if rest.effects.contains(&Effect::JointLost)
                && let Some(plan) = plan_of(state)?
            {
                acts.push(accepted(&without(plan, &self.joints), &says, 0)?);
            }
        }
        // After the kitchen's text: of two weights the later counts.
        if let (Some(Effect::Weighed { kg, .. }), [joint]) =
            (ruling.effects.iter().find(weighed), self.joints.as_slice())
        {
            acts.push(Act::Weighed { joint: joint.clone(), grams: kg * 1000.0, when });
        }
        Ok(acts)
    }

    fn act(&self, ruling: &Ruling, when: DateTime<Utc>) -> serde_json::Result<Act> {
        let about = match (self.joints.as_slice(), &self.tub) {
            ([], tub) => tub.clone().unwrap_or_default(),
            ([_, _, ..], Some(tub)) if self.of_tub => tub.clone(),
            (joints, _) => joints.join(" and "),
        };
        let told = &self.told;
        let details = serde_json::json!({
            "joints": self.joints,
            "hours": told.lasted.map(Elapsed::as_hours),
            "celsius": told.celsius.map(Temperature::as_celsius),
            "ratio": told.ratio,
            "kg": told.weight.map(Mass::as_kg),
            "smells": told.smells,
            "cloudy": told.cloudy,
        });
        let to_do = std::iter::once(ruling.first.clone()).chain(ruling.then.iter().cloned()).collect();
        let record = RulingRecord {
            says: ruling.says.clone(),
            to_do,
            deviation: ruling.deviation.as_ref().map_or_else(String::new, |d| d.limit.clone()),
            corrective: ruling.deviation.as_ref().map_or_else(String::new, |d| d.corrective.clone()),
            effect: serde_json::to_value(&ruling.effects)?,
        };
        Ok(Act::Trouble { kind: ruling.kind.clone(), about, details, ruling: record, when })
    }

    /// What a kitchen file knows of the joints, their tub and their brine.
    fn known(&self, k: &Kitchen) -> Result<Known, Refused> {
        let mut joints: Vec<&Joint> = Vec::new();
        for name in &self.joints {
            match k.joints.iter().find(|j| j.name == *name) {
                Some(j) => joints.push(j),
                None => {
                    return Err(Refused::new(
                        format!("no joint is called \"{name}\""),
                        "name one of the kitchen's joints",
                    ));
                }
            }
        }
        let tub_name = self.tub.clone().or_else(|| joints.first().and_then(|j| j.tub.clone()));
        let recipe = bridge::recipe(&k.cure);
        let scales = bridge::scales(k);
        let mut tub = None;
        if let Some(name) = &tub_name {
            let Some(found) = k.kit.tubs.iter().find(|t| t.name == *name) else {
                return Err(Refused::new(format!("no tub is called \"{name}\""), "name one of the kitchen's tubs"));
            };
            if !joints.is_empty() {
                let meat = Mass::kg(joints.iter().map(|j| j.planned_weight().as_kg()).sum());
                let filled = fit::in_tub(&joints, found, &Limits::with(&k.limits));
                let water = filled
                    .map_err(|m| Refused::new(m.says, "name the tub they really lie in"))
                    .and_then(|f| water_for(&recipe, meat, Volume::litres(f.brine)));
                match water {
                    Ok(water) => tub = Some((recipe.clone(), meat, water)),
                    // It lies in there, whatever the sum of the room says: only what to weigh cannot be told.
                    Err(_) if self.in_brine.is_some() => {}
                    Err(r) => return Err(r),
                }
            }
        }
        let start = match (&tub, k.cure.basis) {
            (Some((r, meat, water)), _) => weigh_out(r, *meat, *water, scales).ok().map(|a| a.value.start_percent),
            (None, Basis::Excess) => {
                Some(100.0 * k.cure.salt_percent / (100.0 + k.cure.salt_percent + k.cure.sugar_percent))
            }
            (None, Basis::Equilibrium) => None,
        };
        let need = joints.iter().map(|j| durations::cure(j, &k.cure)).max();
        let one = match joints.as_slice() {
            [one] => Some(one.planned_weight()),
            _ => None,
        };
        Ok(Known {
            nitrite: Some(k.cure.curing_salt.as_ref().is_some_and(|c| c.target_mg_per_kg > 0.0)),
            nitrite_target: k.cure.curing_salt.as_ref().map(|c| c.target_mg_per_kg),
            start_percent: self.start_percent.or(start),
            business: k.batch.business,
            in_brine: self.in_brine,
            need: need.map(|m| Elapsed::minutes(f64::from(m))),
            since_good: self.since_good,
            expected: one,
            days_per_kg: Some(k.cure.days_per_kg),
            tub,
            scales,
        })
    }
}

/// The joints that a recorded trouble names; none in a record from before they were written down.
pub(super) fn named(details: &serde_json::Value) -> Vec<&str> {
    let list = details.get("joints").and_then(serde_json::Value::as_array);
    list.into_iter().flatten().filter_map(serde_json::Value::as_str).collect()
}

const fn verdict(v: Verdict) -> &'static str {
    match v {
        Verdict::CarryOn => "carry on",
        Verdict::Hold => "hold: nothing goes on until the first thing is done",
        Verdict::Renew => "renew the brine",
        Verdict::Bin => "bin it",
        Verdict::Decide => "a person decides; in doubt, throw it out",
    }
}

/// The ruling as a person reads it, a sentence a line; what belongs to the line before is indented.
pub fn ruling_lines(r: &Ruling) -> Vec<(String, Voice)> {
    let within = match r.within_minutes {
        0 => "at once".to_owned(),
        m => format!("within {}", length(i64::from(m))),
    };
    let ruled = if r.verdict == Verdict::CarryOn { Voice::Strong } else { Voice::Warning };
    let mut out = vec![
        (format!("The house's table: {}.", r.says), Voice::Plain),
        (format!("  {} ({within}).", capital(&r.first)), Voice::Plain),
        (format!("Ruling: {}.", verdict(r.verdict)), ruled),
    ];
    out.extend(r.then.iter().map(|t| (format!("  Then: {t}."), Voice::Plain)));
    out.extend(r.effects.iter().map(|e| {
        let whose = if is_by_hand(e) { "Yours to see to" } else { "Plan" };
        (format!("{whose}: {}.", effect(e)), Voice::Plain)
    }));
    if r.effects.is_empty() {
        out.push(("Plan: nothing moves by this alone.".to_owned(), Voice::Plain));
    }
    if let Some(d) = &r.deviation {
        out.push((format!("For the record, a deviation: {}.", d.limit), Voice::Plain));
        out.push((format!("  Corrective action: {}.", d.corrective), Voice::Plain));
    }
    // What was not known was read as the worst: that is no small print.
    out.extend(r.read_as.iter().map(|a| (format!("Mind: {a}."), Voice::Warning)));
    out.extend(r.cautions.iter().map(|c| (format!("Caution: {c}."), Voice::Warning)));
    out.push((format!("From: {}; looked at {}.", r.source, r.as_of), Voice::Quiet));
    out
}

/// What no plan can hold: it is said, and a person does it.
const fn is_by_hand(e: &Effect) -> bool {
    matches!(e, Effect::Soak { .. } | Effect::AsFreshPork | Effect::RenewBrine { .. } | Effect::AddCureBalance { .. })
}

fn effect(e: &Effect) -> String {
    let length = |hours: f64| length((hours * 60.0).round() as i64);
    match e {
        Effect::ExtraCure { hours, .. } => format!("{} more in the brine", length(*hours)),
        Effect::RestartClock { hours: Some(h), .. } => {
            format!("the clock starts again: {} more in the brine", length(*h))
        }
        Effect::RestartClock { hours: None, .. } => "the clock starts again".to_owned(),
        Effect::NotCounted { hours, .. } => format!("{} in the brine do not count", length(*hours)),
        Effect::RenewBrine { share, weigh } => {
            let at = format!("new brine at {}", share_words(*share));
            match weigh {
                None => at,
                Some(w) => format!(
                    "{at}: water {:.1} kg, plain salt {:.0} g, curing salt {:.1} g, sugar {:.0} g",
                    w.water.as_kg(),
                    w.plain_salt.as_kg() * 1000.0,
                    w.curing_salt.as_kg() * 1000.0,
                    w.sugar.as_kg() * 1000.0
                ),
            }
        }
        Effect::JointLost => "the joint is out of the plan".to_owned(),
        Effect::CookAtOnce { why } => format!("lifted as soon as it is cured, cooked or packed at once ({why})"),
        Effect::Weighed { kg, days: None } => format!("it goes by {kg:.2} kg"),
        Effect::Weighed { kg, days: Some(d) } => format!("it goes by {kg:.2} kg: {d:+.1} days in the brine"),
        Effect::ArrivesLater { hours } => format!("the pork comes {} later", length(*hours)),
        Effect::Soak { hours } => format!("a soak of {}", length(*hours)),
        Effect::AsFreshPork => "from here it counts as fresh pork: stricter cooling, no cured keeping life".to_owned(),
        Effect::AddCureBalance { grams: Some(g) } => format!("{g:.1} g of curing salt still to weigh in"),
        Effect::AddCureBalance { grams: None } => "the balance of curing salt still to weigh in".to_owned(),
    }
}
