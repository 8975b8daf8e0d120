//! Questions about a plan, what they change in the kitchen, and how people type them: "away 12-14 Mar", "weighs J1 3.4",
//! "halve J1", "more 2.2 kg steaks".

use super::ways;
use crate::kitchen::spoken::{self, Here, Lean};
use crate::kitchen::{Away, Clock, Days, Hours, Joint, Kitchen, Moment, Outcome, Person};
use crate::units::Mass;
use chrono::{DateTime, NaiveTime, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A question about a plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", tag = "ask", deny_unknown_fields)]
pub enum Question {
    /// Can somebody (or everybody) be away from then to then?
    Away { who: Option<String>, from: Moment, to: Moment },
    /// Can another tub stand in the cold, in which space, and what could lie in it?
    AnotherTub { like: Option<String> },
    /// Until when can the pork that is not yet put in be collected?
    LatestCollection,
    /// What if a joint weighs so much?
    Weighs { joint: String, weight: Mass },
    /// What if a joint is cut in two?
    Halve { joint: String },
    /// What if two joints change what they are to become, and when they are wanted?
    Swap { one: String, other: String },
    /// Can one more joint be taken on?
    OneMore { weight: Mass, outcome: Outcome, ready_by: Option<Moment> },
    /// How many more joints of that weight have room as well?
    HowMany { weight: Mass, outcome: Outcome },
    /// What if somebody is in the kitchen on that date?
    Home { date: Moment, from: Clock, to: Clock },
    /// Which limits hold the tightest joint where it is, and does any alone set it free?
    Binds,
    /// On how many days could everybody be lost to the kitchen without anything coming out late?
    LostDay,
}

impl Question {
    /// The question as a person would put it.
    pub fn words(&self) -> String {
        let at = |m: &Moment| m.0.format("%a %-d %b %H:%M").to_string();
        match self {
            Self::Away { who, from, to } => {
                let who = who.as_deref().unwrap_or("everybody");
                format!("Can {who} be away from {} to {}?", at(from), at(to))
            }
            Self::AnotherTub { like: Some(t) } => format!("Can another tub like {t} fit?"),
            Self::AnotherTub { like: None } => "Can another tub fit?".to_owned(),
            Self::LatestCollection => "What is the latest the pork can be collected?".to_owned(),
            Self::Weighs { joint, weight } => format!("What if {joint} weighs {:.1} kg?", weight.as_kg()),
            Self::Halve { joint } => format!("What if {joint} is cut in two?"),
            Self::Swap { one, other } => format!("What if {one} and {other} change places?"),
            Self::OneMore { weight, outcome, .. } => {
                format!("Can one more joint of {:.1} kg be taken on ({})?", weight.as_kg(), outcome.words())
            }
            Self::HowMany { weight, outcome } => {
                format!("How many more joints of {:.1} kg have room ({})?", weight.as_kg(), outcome.words())
            }
            Self::Home { date, from, to } => {
                format!("What if somebody is in the kitchen on {}, {from} to {to}?", date.0.format("%a %-d %b"))
            }
            Self::Binds => "Which limit binds?".to_owned(),
            Self::LostDay => "Which days can be lost?".to_owned(),
        }
    }

    /// The kitchen as it would be; `None` for questions that change nothing in it.
    ///
    /// # Errors
    /// A sentence when a name is not in the kitchen, or the change makes no sense.
    pub fn changed(&self, kitchen: &Kitchen) -> Result<Option<Kitchen>, String> {
        let mut k = kitchen.clone();
        let joint = |name: &str| {
            let found = kitchen.joints.iter().position(|j| j.name == name);
            found.ok_or_else(|| format!("no joint is called \"{name}\""))
        };
        match self {
            Self::Away { who, from, to } => {
                if to <= from {
                    return Err("the time away ends before it begins".to_owned());
                }
                let mut any = false;
                for p in k.people.iter_mut().filter(|p| who.as_ref().is_none_or(|w| *w == p.name)) {
                    p.away.push(Away { from: *from, to: *to, why: "asked".to_owned() });
                    any = true;
                }
                if !any {
                    return Err(format!("nobody is called \"{}\"", who.as_deref().unwrap_or("")));
                }
            }
            Self::Weighs { joint: name, weight } => {
                if !(weight.as_kg() > 0.05 && weight.as_kg() <= 30.0) {
                    return Err(format!("{:.1} kg is no weight for a joint", weight.as_kg()));
                }
                let j = &mut k.joints[joint(name)?];
                let same = (weight.as_kg() - j.planned_weight().as_kg()).abs() < 1e-9;
                j.weighed = Some(*weight);
                if !same {
                    // Sizes of another weight say nothing of this one.
                    (j.diameter, j.length) = (None, None);
                }
            }
            Self::Halve { joint: name } => {
                joint(name)?;
                k = ways::halved(kitchen, name).ok_or_else(|| format!("{name} cannot be cut in two"))?;
            }
            Self::Swap { one, other } => {
                let (a, b) = (joint(one)?, joint(other)?);
                if a == b {
                    return Err("two joints are needed to change places".to_owned());
                }
                ways::swap(&mut k, a, b);
            }
            Self::OneMore { weight, outcome, ready_by } => k = one_more(kitchen, *weight, *outcome, *ready_by)?,
            Self::Home { date, from, to } => {
                let day = Moment(date.0.date().and_time(chrono::NaiveTime::MIN));
                let taken = |name: &str| kitchen.people.iter().any(|p| p.name == name);
                let others = (2..).map(|n| format!("somebody {n}"));
                let name = std::iter::once("somebody".to_owned()).chain(others).find(|n| !taken(n));
                k.people.push(Person {
                    name: name.unwrap_or_default(),
                    lives_here: false,
                    busy: Vec::new(),
                    works: Some(vec![Hours {
                        days: Days::EVERY,
                        from: *from,
                        to: *to,
                        since: Some(day),
                        until: Some(day),
                        why: String::new(),
                    }]),
                    away: Vec::new(),
                    sleep: None,
                    does: None,
                });
            }
            Self::AnotherTub { .. } | Self::LatestCollection | Self::HowMany { .. } | Self::Binds | Self::LostDay => {
                return Ok(None);
            }
        }
        Ok(Some(k))
    }
}

/// A kitchen with one more joint, come with its last one and of its batch.
///
/// # Errors
/// A sentence when there is no joint to be like, or the weight makes no sense.
pub(super) fn one_more(
    kitchen: &Kitchen,
    weight: Mass,
    outcome: Outcome,
    ready_by: Option<Moment>,
) -> Result<Kitchen, String> {
    if !(weight.as_kg() > 0.05 && weight.as_kg() <= 30.0) {
        return Err(format!("{:.1} kg is no weight for a joint", weight.as_kg()));
    }
    let Some(like) = kitchen.joints.last() else { return Err("the kitchen has no joints".to_owned()) };
    let mut n = 1;
    while kitchen.joints.iter().any(|j| j.name == format!("one more {n}")) {
        n += 1;
    }
    let mut more = Joint::new(format!("one more {n}"), weight, outcome);
    (more.ready_by, more.arrives, more.batch) = (ready_by, like.arrives, like.batch.clone());
    let mut k = kitchen.clone();
    k.joints.push(more);
    Ok(k)
}

/// How each question is put, for help.
pub const FORMS: [&str; 11] = [
    "away [WHO] 12-14 Mar    away 2027-03-12 15:00 to 2027-03-14 19:00",
    "tub [like TUB]",
    "latest",
    "weighs JOINT 3.4",
    "halve JOINT",
    "swap JOINT JOINT",
    "more 2.2 steaks|joint|ham|whole-ham [by 2026-12-24 18:00]",
    "many 2.2 steaks|joint|ham|whole-ham",
    "home Sat 19 Dec 07:00-12:00",
    "binds",
    "lost-day",
];

/// Reads a question. Dates without a year are the next such date.
///
/// # Errors
/// A sentence that says what was expected.
pub fn read(text: &str, kitchen: &Kitchen, now: DateTime<Utc>) -> Result<Question, String> {
    let here = Here { now, zone: kitchen.zone, lean: Lean::Ahead };
    let civil = |at: DateTime<Utc>| Moment(kitchen.zone.civil(at));
    let moment = |text: &str| spoken::moment(text, here).map_err(|e| e.to_string());
    let text = text.trim();
    let (word, rest) = text.split_once(char::is_whitespace).unwrap_or((text, ""));
    let rest = rest.trim();
    match word.to_lowercase().as_str() {
        "away" => {
            let (who, rest) = named(rest, kitchen.people.iter().map(|p| p.name.as_str()));
            let (from, to) = spoken::range(rest, here).map_err(|e| e.to_string())?;
            Ok(Question::Away { who, from: civil(from), to: civil(to) })
        }
        "tub" => {
            let like = rest.strip_prefix("like").map(str::trim).unwrap_or(rest);
            match like {
                "" => Ok(Question::AnotherTub { like: None }),
                name if kitchen.kit.tubs.iter().any(|t| t.name == name) => {
                    Ok(Question::AnotherTub { like: Some(name.to_owned()) })
                }
                name => Err(format!("no tub is called \"{name}\"")),
            }
        }
        "latest" => Ok(Question::LatestCollection),
        "binds" => Ok(Question::Binds),
        "lost-day" | "lost" if rest.is_empty() || rest == "day" => Ok(Question::LostDay),
        "weighs" => {
            let (joint, rest) = joint(rest, kitchen)?;
            Ok(Question::Weighs { joint, weight: weight(rest)? })
        }
        "halve" => Ok(Question::Halve { joint: joint(rest, kitchen)?.0 }),
        "swap" => {
            let (one, rest) = joint(rest, kitchen)?;
            let (other, _) = joint(rest.strip_prefix("and ").unwrap_or(rest), kitchen)?;
            Ok(Question::Swap { one, other })
        }
        "more" => {
            let (what, by) = rest.split_once(" by ").map_or((rest, None), |(a, b)| (a, Some(b)));
            let (weight, outcome) = weight_and_outcome(what, "more")?;
            let ready_by = by.map(moment).transpose()?.map(|s| civil(s.at));
            Ok(Question::OneMore { weight, outcome, ready_by })
        }
        "many" => {
            let (weight, outcome) = weight_and_outcome(rest, "many")?;
            Ok(Question::HowMany { weight, outcome })
        }
        "home" => {
            let (day, hours) = match rest.rsplit_once(' ') {
                Some((day, hours)) if hours.contains(':') => (day, Some(hours)),
                _ => (rest, None),
            };
            let (from, to) = match hours {
                None => (Clock::at(7, 0), Clock::at(20, 0)),
                Some(h) => {
                    let both = h.split_once('-').and_then(|(a, b)| Some((Clock::parse(a)?, Clock::parse(b)?)));
                    both.ok_or_else(|| format!("\"{h}\": expected hours such as 07:00-12:00"))?
                }
            };
            Ok(Question::Home { date: Moment(moment(day)?.date.and_time(NaiveTime::MIN)), from, to })
        }
        other => Err(format!("\"{other}\" is no question; ask one of: {}", FORMS.join(" · "))),
    }
}

/// The longest of the names that the text begins with, and what follows it.
fn named<'a>(text: &'a str, names: impl Iterator<Item = &'a str>) -> (Option<String>, &'a str) {
    let fits = |n: &&str| text.strip_prefix(*n).is_some_and(|r| r.is_empty() || r.starts_with(' '));
    match names.filter(|n| !n.is_empty()).filter(fits).max_by_key(|n| n.len()) {
        Some(n) => (Some(n.to_owned()), text[n.len()..].trim()),
        None => (None, text),
    }
}

fn joint<'a>(text: &'a str, kitchen: &'a Kitchen) -> Result<(String, &'a str), String> {
    let (name, rest) = named(text, kitchen.joints.iter().map(|j| j.name.as_str()));
    let names: Vec<&str> = kitchen.joints.iter().map(|j| j.name.as_str()).collect();
    name.map(|n| (n, rest))
        .ok_or_else(|| format!("\"{text}\": expected a joint, one of {}", super::words::list(&names)))
}

/// What a joint is to become, as it is typed.
pub(super) const OUTCOMES: [(&str, Outcome); 4] = [
    ("steaks", Outcome::GammonSteaks),
    ("joint", Outcome::GammonJoint),
    ("ham", Outcome::HamSliced),
    ("whole-ham", Outcome::HamWhole),
];

/// `2.2 ham`.
fn weight_and_outcome(text: &str, word: &str) -> Result<(Mass, Outcome), String> {
    let (kg, outcome) =
        (text.trim().rsplit_once(' ')).ok_or_else(|| format!("{word}: expected a weight and what it is to become"))?;
    let known = OUTCOMES.iter().find(|o| o.0 == outcome);
    let known = known.ok_or_else(|| format!("\"{outcome}\": expected steaks, joint, ham or whole-ham"))?;
    Ok((weight(kg)?, known.1))
}

fn weight(text: &str) -> Result<Mass, String> {
    spoken::weight(text, None).map(|s| s.value).map_err(|e| e.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn questions_as_people_type_them() {
        let text = crate::kitchen::starter(chrono::NaiveDate::from_ymd_opt(2026, 12, 1).expect("a date"));
        let kitchen = crate::kitchen::read::read("starter", &text).kitchen.expect("the starter is good");
        let now = kitchen.zone.instant("2027-03-01T08:00:00".parse().expect("a moment"));
        let joint = kitchen.joints[0].name.clone();
        let read = |text: &str| read(text, &kitchen, now);
        match read("away 12-14 Mar").expect("a question") {
            Question::Away { who: None, from, to } => {
                assert_eq!((from.to_string(), to.to_string()), ("2027-03-12 00:00".into(), "2027-03-15 00:00".into()));
            }
            other => panic!("{other:?}"),
        }
        let who = kitchen.people[0].name.clone();
        match read(&format!("away {who} 2027-03-12 15:00 to 2027-03-14 19:00")).expect("a question") {
            Question::Away { who: Some(w), from, to } => {
                assert_eq!(w, who);
                assert_eq!((from.to_string(), to.to_string()), ("2027-03-12 15:00".into(), "2027-03-14 19:00".into()));
            }
            other => panic!("{other:?}"),
        }
        assert!(matches!(read(&format!("weighs {joint} 3.4")), Ok(Question::Weighs { .. })));
        assert!(matches!(read(&format!("halve {joint}")), Ok(Question::Halve { .. })));
        assert!(matches!(read("more 2.2 kg steaks by 24 Dec 18:00"), Ok(Question::OneMore { ready_by: Some(_), .. })));
        assert!(matches!(read("many 2.2 steaks"), Ok(Question::HowMany { outcome: Outcome::GammonSteaks, .. })));
        assert!(matches!(read("home Sat 7:00-12:00"), Ok(Question::Home { .. })));
        assert!(matches!(read("tub"), Ok(Question::AnotherTub { like: None })));
        for bad in [
            "",
            "away",
            "away soon",
            "weighs nobody 3",
            "weighs",
            "halve",
            "more",
            "more 2 kg",
            "more x ham",
            "many",
            "many 3",
            "many 2 tubs",
            "home",
            "tub like none",
            "💥",
        ] {
            assert!(read(bad).is_err(), "{bad}");
        }
    }
}
