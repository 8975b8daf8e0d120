//! The words of `turnday log` to acts: "turned T1 yesterday 19:00 by S", "weighed shank 3.4kg".

use super::Unclear;
use super::names::{after, name_at};
use super::tasks::{by_id, find, kind_at, only_by_id};
use crate::book::{Act, Gone, PlanLine, ReadingOf, State, TaskAct};
use crate::kitchen::Kitchen;
use crate::kitchen::spoken::{self, Here, Spoken};
use crate::units::{Mass, Temperature};
use chrono::{DateTime, Utc};

/// What can be said, for help and for errors.
pub const EXAMPLES: [&str; 19] = [
    "weighed shank 3.4kg",
    "collected shank 3.8C",
    "put in T1",
    "turned T1 yesterday 19:00 by S",
    "lifted shank",
    "started simmer P1",
    "done simmer P1",
    "skipped turn T1 3: ill",
    "probe shank 68.5",
    "fridge low shelf 7",
    "brine T1 6.5",
    "note T1: froth skimmed",
    "taste shank 4: a bit salty",
    "packed shank",
    "packs shank 11 1.6kg",
    "eaten shank 2",
    "sold shank 3 yesterday",
    "made brine T1",
    "chilled shank 20 min ago",
];

/// An act as it was understood.
#[derive(Debug, Clone, PartialEq)]
pub struct Meant {
    pub act: Act,
    /// Who did it, when the words say so.
    pub by: Option<String>,
    /// What a person should look at again; and whether it is so odd that it wants saying twice.
    pub doubt: Option<(String, bool)>,
    /// What was taken for granted: a time a clock change skipped.
    pub note: Option<String>,
}

/// Makes acts of words. `at` stands in for a moment that the words leave out; without it that is now.
///
/// # Errors
/// What was not understood, with what could be said instead.
pub fn understand(words: &str, state: &State, here: Here, at: Option<&Spoken>) -> Result<Vec<Meant>, Unclear> {
    Sentence { state, here, at }.read(words.trim())
}

/// "… by S" at the end, when S is somebody.
pub fn by<'t>(text: &'t str, kitchen: &Kitchen) -> (&'t str, Option<String>) {
    let Some((before, who)) = text.rsplit_once(" by ") else { return (text, None) };
    let found = kitchen.people.iter().find(|p| p.name.to_lowercase() == who.trim().to_lowercase());
    found.map_or((text, None), |p| (before.trim_end(), Some(p.name.clone())))
}

struct Sentence<'a> {
    state: &'a State,
    here: Here,
    at: Option<&'a Spoken>,
}

/// Verbs that are not kinds of tasks.
const DONE: [&str; 5] = ["done", "did", "finished", "finish", "do"];
const STARTED: [&str; 4] = ["started", "start", "began", "begin"];
const SKIPPED: [&str; 3] = ["skipped", "skip", "missed"];
/// What may stand between figures.
const APART: [char; 3] = [' ', ':', ','];
const GONE: [(&[&str], Gone); 4] = [
    (&["eaten", "ate", "eat"], Gone::Eaten),
    (&["sold", "sell"], Gone::Sold),
    (&["given", "gave", "give"], Gone::GivenAway),
    (&["thrown", "threw", "throw", "binned"], Gone::ThrownAway),
];

impl Sentence<'_> {
    fn read(&self, text: &str) -> Result<Vec<Meant>, Unclear> {
        let (verb, rest) = text.split_once([' ', ':']).unwrap_or((text, ""));
        let rest = rest.trim();
        let low = verb.to_lowercase();
        match low.as_str() {
            "" => return Err(self.help("nothing was said")),
            "weighed" | "weigh" | "weight" | "weighs" => return self.weighed(rest),
            "collected" | "collect" | "fetched" => return self.collected(rest),
            "probe" | "probed" | "core" => return self.probe(rest),
            "fridge" | "space" | "shelf" | "room" => return self.space(text, rest),
            "note" | "noted" => return self.note(rest),
            "taste" | "tasted" => return self.taste(rest),
            "packs" => return self.packs(rest),
            "brine" | "pickle" => {
                if let Some(m) = self.brine(rest) {
                    return m;
                }
            }
            _ => {}
        }
        if let Some((_, gone)) = GONE.iter().find(|(words, _)| words.contains(&low.as_str())) {
            return self.taken(rest, *gone);
        }
        if SKIPPED.contains(&low.as_str()) {
            let (what, why) = rest.split_once(':').unwrap_or((rest, ""));
            let (what, by) = self.by(what.trim());
            let (line, when) = self.task(what)?;
            let what = TaskAct::Skipped { why: why.trim().to_owned() };
            return Ok(vec![self.task_act(line, what, when, by)]);
        }
        let started = STARTED.contains(&low.as_str());
        let what = if started || DONE.contains(&low.as_str()) { rest } else { text };
        if what == text && kind_at(text).is_none() && by_id(text, self.state).is_none() {
            return Err(self.help(&format!("\"{verb}\" is no word of the log")));
        }
        let (what, by) = self.by(what);
        let (line, when) = self.task(what)?;
        let what = if started { TaskAct::Started } else { TaskAct::Finished };
        Ok(vec![self.task_act(line, what, when, by)])
    }

    fn help(&self, says: &str) -> Unclear {
        Unclear { says: says.to_owned(), choices: EXAMPLES.map(|e| format!("turnday log {e}")).to_vec() }
    }

    fn by<'t>(&self, text: &'t str) -> (&'t str, Option<String>) {
        by(text, &self.state.kitchen)
    }

    /// The moment that some words say; with none, the one given beside them, or now.
    fn when(&self, text: &str) -> Result<Spoken, Unclear> {
        let now =
            || Spoken { at: self.here.now, date: self.here.zone.civil(self.here.now).date(), timed: true, note: None };
        if text.trim().is_empty() {
            return Ok(self.at.cloned().unwrap_or_else(now));
        }
        Ok(spoken::moment(text, self.here)?)
    }

    fn task(&self, text: &str) -> Result<(&PlanLine, Spoken), Unclear> {
        if let Some((line, rest)) = only_by_id(text, self.state) {
            return Ok((line, self.when(rest)?));
        }
        let Some((kinds, rest)) = kind_at(text) else {
            let ids: Vec<String> = self.state.lines.planned().iter().map(|l| l.id.clone()).collect();
            let choices = name_at("task", text, &ids).map_or_else(|e| e.choices, |(id, _)| vec![id.to_owned()]);
            return Err(Unclear { says: format!("\"{text}\" names no task"), choices });
        };
        find(kinds, rest, self.state, |t| self.when(t).map(|s| (s.at, s)))
    }

    fn task_act(&self, line: &PlanLine, what: TaskAct, said: Spoken, by: Option<String>) -> Meant {
        // Of a day without a time: when it was to be done, if that was the day.
        let mut when = said.at;
        if !said.timed && self.here.zone.civil(line.start).date() == said.date && line.start <= self.here.now {
            when = line.start;
        }
        let act = Act::Task { id: line.id.clone(), what, when };
        let doubt = super::doubt(&act, self.state, self.here.zone);
        Meant { act, by, doubt, note: said.note }
    }

    /// Cuts an amount off the front: as many words as make one. Gives what is left too.
    fn amount<'t, V>(&self, text: &'t str, read: impl Fn(&str) -> Option<V>) -> Option<(V, &'t str)> {
        let mut ends: Vec<usize> =
            text.char_indices().filter(|(_, c)| c.is_whitespace() || *c == ':').map(|(i, _)| i).collect();
        ends.push(text.len());
        ends.iter().rev().find_map(|e| read(&text[..*e]).map(|v| (v, text[*e..].trim_start_matches([' ', ':']))))
    }

    fn joint<'t>(&self, text: &'t str) -> Result<(String, &'t str), Unclear> {
        let names = self.state.joint_names();
        name_at("joint", text, &names).map(|(n, r)| (n.to_owned(), r))
    }

    fn weighed(&self, text: &str) -> Result<Vec<Meant>, Unclear> {
        let (text, by) = self.by(text);
        let (joint, rest) = self.joint(text)?;
        let expected = self.state.kitchen.joints.iter().find(|j| j.name == joint).map(|j| j.weight);
        let (said, rest) = match self.amount(rest, |t| spoken::weight(t, expected).ok()) {
            Some(found) => found,
            None => spoken::weight(rest, expected).map(|s| (s, ""))?,
        };
        let when = self.when(rest)?;
        let act = Act::Weighed { joint, grams: grams(said.value), when: when.at };
        Ok(vec![Meant { act, by, doubt: said.doubt, note: when.note }])
    }

    fn collected(&self, text: &str) -> Result<Vec<Meant>, Unclear> {
        let (text, by) = self.by(text);
        let all = ["all", "everything", "the pork"].iter().find_map(|w| after(text, w));
        let (joints, rest) = match all {
            Some(rest) => (self.state.joint_names(), rest.trim()),
            None => self.joint(text).map(|(j, r)| (vec![j], r))?,
        };
        let (celsius, rest) = match self.amount(rest, |t| spoken::temperature(t).ok()) {
            Some((c, rest)) => (Some(c.as_celsius()), rest),
            None => (None, rest),
        };
        let when = self.when(rest)?;
        let doubt = celsius.and_then(|c| odd(c, -25.0..=25.0, "pork that is fetched"));
        let act = |joint: String| Act::Collected { joint, when: when.at, celsius };
        let meant = |j| Meant { act: act(j), by: by.clone(), doubt: doubt.clone(), note: when.note.clone() };
        Ok(joints.into_iter().map(meant).collect())
    }

    fn probe(&self, text: &str) -> Result<Vec<Meant>, Unclear> {
        let (text, by) = self.by(text);
        let (joint, rest) = self.joint(text)?;
        self.reading(ReadingOf::Core { joint }, rest, by, -5.0..=105.0, "a joint's core")
    }

    fn space(&self, whole: &str, text: &str) -> Result<Vec<Meant>, Unclear> {
        let names = self.state.space_names();
        let (text, by) = self.by(text);
        let whole = self.by(whole).0;
        // A cold space may itself be called "Fridge", and where there is only one it needs no name.
        let read = |t: &str| self.amount(t, |t| spoken::temperature(t).ok()).is_some();
        let found = name_at("cold space", whole, &names).ok().filter(|(n, r)| begins(whole, n) && read(r));
        let (name, rest) = match (found, names.as_slice()) {
            (Some((n, r)), _) => (n.to_owned(), r),
            (None, [_, _, ..]) if read(text) => {
                let choices = names.iter().map(|n| format!("fridge {n} {text}")).collect();
                return Err(Unclear { says: "which cold space?".to_owned(), choices });
            }
            (None, [one]) if read(text) => (one.clone(), text),
            _ => name_at("cold space", text, &names).map(|(n, r)| (n.to_owned(), r))?,
        };
        self.reading(ReadingOf::Space { name }, rest, by, -40.0..=25.0, "a cold space")
    }

    /// A reading of a tub's brine; nothing when the words are about making or cooling it.
    fn brine(&self, text: &str) -> Option<Result<Vec<Meant>, Unclear>> {
        let (text, by) = self.by(text);
        let names = self.state.tub_names();
        let (tub, rest) = name_at("tub", text, &names).ok()?;
        self.amount(rest, |t| spoken::temperature(t).ok())?;
        Some(self.reading(ReadingOf::Brine { tub: tub.to_owned() }, rest, by, -5.0..=25.0, "a brine"))
    }

    fn reading(
        &self,
        of: ReadingOf,
        text: &str,
        by: Option<String>,
        usual: std::ops::RangeInclusive<f64>,
        what: &str,
    ) -> Result<Vec<Meant>, Unclear> {
        let (celsius, rest) = match self.amount(text, |t| spoken::temperature(t).ok()) {
            Some(found) => found,
            None => spoken::temperature(text).map(|t| (t, ""))?,
        };
        let when = self.when(rest)?;
        let celsius = hundredths(celsius);
        let act = Act::Reading { of, celsius, when: when.at };
        let doubt = odd(celsius, usual, what).or_else(|| super::doubt(&act, self.state, self.here.zone));
        Ok(vec![Meant { act, by, doubt, note: when.note }])
    }

    fn moment_beside(&self) -> DateTime<Utc> {
        self.at.map_or(self.here.now, |s| s.at)
    }

    fn note(&self, text: &str) -> Result<Vec<Meant>, Unclear> {
        let names = self.things();
        let about = match text.split_once(':') {
            // What stands before a colon is what it is about, if that is anything.
            Some((about, rest)) => match by_id(about.trim(), self.state).filter(|(_, r)| r.is_empty()) {
                Some((l, _)) => Some((l.id.clone(), rest)),
                None => {
                    names.iter().find(|n| n.to_lowercase() == about.trim().to_lowercase()).map(|n| (n.clone(), rest))
                }
            },
            None => None,
        };
        let (about, text) = about.unwrap_or((String::new(), text));
        if text.trim().is_empty() {
            return Err(Unclear {
                says: "the note is empty".to_owned(),
                choices: vec!["note T1: froth skimmed".to_owned()],
            });
        }
        let act = Act::Note { about, text: text.trim().to_owned(), when: self.moment_beside() };
        Ok(vec![Meant { act, by: None, doubt: None, note: None }])
    }

    fn things(&self) -> Vec<String> {
        let s = self.state;
        let mut names = s.joint_names();
        names.extend(s.tub_names());
        names.extend(s.space_names());
        names.extend(s.kitchen.kit.pots.iter().map(|p| p.name.clone()));
        names.extend(s.kitchen.people.iter().map(|p| p.name.clone()));
        names
    }

    /// A joint and a number of packs, in either order, and what follows.
    fn packs_of<'t>(&self, text: &'t str, example: &str) -> Result<(String, u32, &'t str), Unclear> {
        let names = self.state.all_joint_names();
        let number = |text: &'t str| {
            let (said, rest) = text.split_once(APART).unwrap_or((text, ""));
            let rest = rest.trim_start_matches(APART);
            let rest = ["packs", "pack"].iter().find_map(|w| after(rest, w)).unwrap_or(rest).trim_start_matches(APART);
            (said, said.parse::<u32>().ok(), after(rest, "of").unwrap_or(rest).trim_start_matches(APART))
        };
        if let (_, Some(n), rest) = number(text)
            && let Ok((joint, rest)) = name_at("joint", rest, &names)
        {
            return Ok((joint.to_owned(), n, rest.trim_start_matches(APART)));
        }
        let (joint, rest) = name_at("joint", text, &names)?;
        let (said, n, rest) = number(rest.trim_start_matches(APART));
        let says =
            if said.is_empty() { "how many packs?".to_owned() } else { format!("\"{said}\" is no number of packs") };
        let n = n.ok_or_else(|| Unclear { says, choices: vec![example.replace("JOINT", joint)] })?;
        Ok((joint.to_owned(), n, rest))
    }

    fn packs(&self, text: &str) -> Result<Vec<Meant>, Unclear> {
        let (text, by) = self.by(text);
        let (joint, packs, rest) = self.packs_of(text, "packs JOINT 11 1.6kg")?;
        let (weight, rest) = match self.amount(rest, with_unit) {
            Some((said, rest)) => (Some(said), rest.trim_start_matches(APART)),
            None => (None, rest),
        };
        let when = self.when(after(rest, "together").unwrap_or(rest).trim_start_matches(APART))?;
        let act = Act::Packs { joint, packs, grams: weight.as_ref().map(|w| grams(w.value)), when: when.at };
        let doubt = super::doubt(&act, self.state, self.here.zone).or_else(|| weight.and_then(|w| w.doubt));
        Ok(vec![Meant { act, by, doubt, note: when.note }])
    }

    fn taken(&self, text: &str, gone: Gone) -> Result<Vec<Meant>, Unclear> {
        let (text, by) = self.by(text);
        let text = ["away", "out"].iter().find_map(|w| after(text, w)).unwrap_or(text).trim_start();
        let verb = GONE.iter().find(|g| g.1 == gone).map_or("", |g| g.0[0]);
        let (joint, packs, rest) = self.packs_of(text, &format!("{verb} JOINT 2"))?;
        let when = self.when(after(rest, "away").unwrap_or(rest))?;
        let act = Act::Taken { joint, packs, gone, when: when.at };
        let doubt = super::doubt(&act, self.state, self.here.zone);
        Ok(vec![Meant { act, by, doubt, note: when.note }])
    }

    fn taste(&self, text: &str) -> Result<Vec<Meant>, Unclear> {
        let (joint, rest) = self.joint(text)?;
        let (score, words) = rest.split_once([' ', ':']).unwrap_or((rest, ""));
        let score: u8 = score.trim_end_matches("/5").parse().map_err(|_| Unclear {
            says: format!("\"{score}\" is no score from 1 to 5"),
            choices: vec![format!("taste {joint} 4: a bit salty")],
        })?;
        let text = words.trim_start_matches([' ', ':']).trim().to_owned();
        let act = Act::Taste { joint, score, text, when: self.moment_beside() };
        Ok(vec![Meant { act, by: None, doubt: None, note: None }])
    }
}

/// A weight with its unit: a bare figure behind a number of packs may be the day.
fn with_unit(text: &str) -> Option<spoken::Said<Mass>> {
    let text = text.trim_end_matches(',');
    text.ends_with(char::is_alphabetic).then(|| spoken::weight(text, None).ok())?
}

fn begins(text: &str, name: &str) -> bool {
    text.to_lowercase().starts_with(&name.to_lowercase())
}

/// Grams to a tenth: no kitchen scale for joints is better.
fn grams(m: Mass) -> f64 {
    (m.as_g() * 10.0).round() / 10.0
}

/// °C to a hundredth: "45 F" is not 7.222222222222222.
fn hundredths(t: Temperature) -> f64 {
    (t.as_celsius() * 100.0).round() / 100.0
}

fn odd(celsius: f64, usual: std::ops::RangeInclusive<f64>, what: &str) -> Option<(String, bool)> {
    if usual.contains(&celsius) {
        return None;
    }
    let fahrenheit = (celsius - 32.0) / 1.8;
    let hint =
        if usual.contains(&fahrenheit) { format!("; if it is Fahrenheit, write {celsius} F") } else { String::new() };
    Some((format!("{celsius} °C is strange for {what}{hint}"), true))
}
