//! What-ifs, without committing: each question is planned with, from the plan so far and with what has happened, and
//! answered in plain words and as data.
//!
//! Questions of one batch share what has been learnt: kitchens already planned with are not planned with again.

use super::Refusal;
use super::binds::{self, HeldBy};
use super::difference::{Difference, lateness};
use super::lost_day::survival;
use super::question::Question;
use super::replan::{Again, Replan, replan, replan_only};
use super::ways::{self, WayOut};
use super::words::{capital, moment};
use crate::kitchen::{Kitchen, Limits, Moment, Tub};
use crate::process::arrangement::curing_spaces;
use crate::process::fit;
use crate::schedule::Stop;
use crate::units::Mass;
use chrono::TimeDelta;
use serde::Serialize;
use std::collections::HashMap;

/// What is answered.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    pub question: Question,
    /// The question in words.
    pub asked: String,
    /// Yes or no, where the question has such an answer.
    pub yes: Option<bool>,
    /// The answer, a sentence each; the first is the answer proper.
    pub says: Vec<String>,
    /// What would change in the plan.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub difference: Option<Difference>,
    /// Smallest changes that would make it possible, each planned with.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub ways: Vec<WayOut>,
    /// What holds the levels of the plan that are not as low as any plan's.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub held: Vec<HeldBy>,
    /// A moment the answer turns on: the latest collection, or the one from which there is room for one more.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<super::When>,
    /// The kitchen that was planned with, where there was a plan: what taking the answer on would make of it.
    #[serde(skip)]
    pub kitchen: Option<Kitchen>,
}

/// Answers several questions about one plan. `again.kitchen` is the kitchen as it is.
pub fn ask(again: &Again, questions: &[Question], stop: &dyn Stop) -> Vec<Answer> {
    let mut asker = Asker { again: *again, stop, learnt: HashMap::new() };
    questions.iter().map(|q| asker.answer(q)).collect()
}

mod more;

struct Asker<'a> {
    again: Again<'a>,
    stop: &'a dyn Stop,
    /// By kitchen: what planning with it came to.
    learnt: HashMap<String, Result<Replan, Refusal>>,
}

impl Asker<'_> {
    fn plan_with(&mut self, kitchen: &Kitchen) -> Result<Replan, Refusal> {
        let key = serde_json::to_string(kitchen).unwrap_or_default();
        if let Some(known) = self.learnt.get(&key) {
            return known.clone();
        }
        let found = replan(&Again { kitchen, ways: 0, ..self.again }, self.stop);
        self.learnt.insert(key, found.clone());
        found
    }

    fn answer(&mut self, question: &Question) -> Answer {
        let mut out = Answer {
            question: question.clone(),
            asked: question.words(),
            yes: None,
            says: Vec::new(),
            difference: None,
            ways: Vec::new(),
            held: Vec::new(),
            at: None,
            kitchen: None,
        };
        match question {
            Question::AnotherTub { like } => self.another_tub(like.as_deref(), &mut out),
            Question::LatestCollection => self.latest(&mut out),
            Question::Binds => binds::binds(self.again, self.stop, &mut out),
            Question::LostDay => self.lost_day(&mut out),
            Question::HowMany { .. } => self.how_many(question, &mut out),
            _ => match question.changed(self.again.kitchen) {
                Ok(Some(kitchen)) if matches!(question, Question::OneMore { .. }) => {
                    self.one_more(question, kitchen, &mut out);
                }
                Ok(Some(kitchen)) => self.what_if(question, &kitchen, &mut out),
                Ok(None) => {}
                Err(says) => out.says.push(says),
            },
        }
        out
    }

    /// Plans with the kitchen as it would be.
    fn what_if(&mut self, question: &Question, kitchen: &Kitchen, out: &mut Answer) {
        let before = lateness(self.again.old);
        match self.plan_with(kitchen) {
            Ok(r) => {
                let d = &r.difference;
                let late = lateness(&r.plan);
                let fine = self.is_fine(&r);
                out.yes = Some(fine);
                let s = if d.jobs == 1 { "" } else { "s" };
                let changes = match (d.moved.len(), d.added.len() + d.dropped.len()) {
                    (0, 0) => format!("all {} job{s} to come stay where they are", d.jobs),
                    (m, 0) => format!("{m} of {} job{s} to come move", d.jobs),
                    (0, n) => format!("all {} job{s} to come stay where they are, {n} come or go", d.jobs),
                    (m, n) => format!("{m} of {} job{s} to come move, {n} come or go", d.jobs),
                };
                let head = if fine { "Yes" } else { "Not as it is" };
                out.says.push(format!("{head}: {changes}."));
                out.says.extend(super::difference::late_words(&r.plan));
                if let Question::Weighs { joint, .. } = question {
                    out.says.extend(r.plan.joints.iter().find(|j| j.name == *joint).map(|j| {
                        format!("{joint} needs {:.1} days in the brine and is ready {}.", j.cure_days, moment(&j.ready))
                    }));
                }
                if let Question::OneMore { .. } = question
                    && let Some(j) = r.plan.joints.last()
                {
                    out.says.push(format!(
                        "It goes in {} {}, is lifted {} and ready {}.",
                        j.tub,
                        moment(&j.put_in),
                        moment(&j.lift),
                        moment(&j.ready)
                    ));
                }
                out.says.extend(d.costs.iter().filter(|c| !c.contains("misses its day")).cloned());
                for d in &r.deviations {
                    let known = self.is_known(d);
                    out.says.push(if known { format!("As it is, too: {}", d.says) } else { d.says.clone() });
                }
                if late > before {
                    let names: Vec<String> = r
                        .plan
                        .joints
                        .iter()
                        .filter(|j| j.ready_by.is_some_and(|by| j.ready > by))
                        .map(|j| j.name.clone())
                        .collect();
                    out.ways = ways::ways_after(&Again { kitchen, ..self.again }, &names, self.stop);
                }
                out.difference = Some(r.difference);
                out.kitchen = Some(kitchen.clone());
            }
            Err(refusal) => {
                out.yes = Some(false);
                out.says.push("No.".to_owned());
                out.says.extend(refusal.lines());
                let all: Vec<String> = kitchen.joints.iter().map(|j| j.name.clone()).collect();
                out.ways = ways::ways_after(&Again { kitchen, ..self.again }, &all, self.stop);
            }
        }
    }

    fn another_tub(&self, like: Option<&str>, out: &mut Answer) {
        let k = self.again.kitchen;
        let limits = Limits::with(&k.limits);
        let tubs: Vec<&Tub> = k.kit.tubs.iter().filter(|t| like.is_none_or(|l| t.name == l)).collect();
        if tubs.is_empty() {
            out.says.push(format!("no tub is called \"{}\"", like.unwrap_or("")));
            return;
        }
        let stands =
            |tub: &Tub, space: &str| self.again.old.loads.iter().any(|l| l.tub == tub.name && l.space == space);
        let (mut fits, mut short): (Vec<String>, Option<fit::Misfit>) = (Vec::new(), None);
        let spaces = curing_spaces(k, &limits);
        if spaces.is_empty() {
            out.says.push("No: no cold space on the raw side is known to be at 5 °C or under.".to_owned());
        }
        for tub in tubs {
            for s in &spaces {
                let space = &k.kit.cold[*s];
                let mut all: Vec<&Tub> = k.kit.tubs.iter().filter(|t| stands(t, &space.name)).collect();
                let beside: Vec<&str> = all.iter().map(|t| t.name.as_str()).collect();
                let beside = if beside.is_empty() {
                    "alone".to_owned()
                } else {
                    format!("beside {}", super::words::list(&beside))
                };
                all.push(tub);
                match fit::in_space(&all, space) {
                    Ok(()) => {
                        let most = heaviest(tub, k, &limits);
                        let takes =
                            most.map_or("no joint of its own".to_owned(), |kg| format!("a joint of up to {kg:.1} kg"));
                        fits.push(format!("another {} fits in {}, {beside}; it takes {takes}", tub.name, space.name));
                    }
                    Err(m) if short.as_ref().is_none_or(|s| m.by < s.by) => short = Some(m),
                    Err(_) => {}
                }
            }
        }
        out.yes = Some(!fits.is_empty());
        match (fits.is_empty(), short) {
            (false, _) => {
                out.says.push(format!("Yes: {}.", fits[0]));
                out.says.extend(fits[1..].iter().map(|f| format!("{}.", capital(f))));
                out.says.push("Measured with all tubs of this plan standing at once; sizes by weight are for a boneless, rolled joint.".to_owned());
            }
            (true, Some(m)) => out.says.push(format!("No: {}.", m.says)),
            (true, None) => {}
        }
    }

    /// The latest collection of what is not yet put in that leaves nothing later than it is: by halving.
    fn latest(&self, out: &mut Answer) {
        let k = self.again.kitchen;
        let begun = |name: &str| {
            let put = |t: &super::PlannedTask| t.kind == super::Kind::Submerge && t.joints.iter().any(|j| j == name);
            self.again.old.tasks.iter().any(|t| put(t) && self.again.history.has_begun(&t.id))
        };
        let open: Vec<usize> = (0..k.joints.len()).filter(|j| !begun(&k.joints[*j].name)).collect();
        let put_in = |j: usize| self.again.old.joints.iter().find(|s| s.name == k.joints[j].name).map(|s| s.put_in);
        let Some(first) =
            open.iter().filter_map(|j| k.joints[*j].arrives.map(|a| a.0).or(put_in(*j).map(|p| p.naive_local()))).min()
        else {
            out.says.push("Everything is in the brine already.".to_owned());
            return;
        };
        let first = first.max(k.zone.civil(self.again.history.now));
        let before = lateness(self.again.old);
        let holds = |hours: i64| {
            let mut kitchen = k.clone();
            for j in &open {
                let at = kitchen.joints[*j].arrives.map_or(first, |a| a.0).max(first);
                kitchen.joints[*j].arrives = Some(Moment(at + TimeDelta::hours(hours)));
            }
            let again = Again { kitchen: &kitchen, ways: 0, ..self.again };
            replan_only(&again, self.stop).is_ok_and(|plan| lateness(&plan) <= before)
        };
        if !holds(0) {
            out.says.push("Not even collected at once is everything in time.".to_owned());
            return;
        }
        let (mut good, mut bad) = (0, 24);
        while bad < 24 * 90 && holds(bad) {
            good = bad;
            bad *= 2;
        }
        if bad >= 24 * 90 {
            out.says.push("No ready-by hangs on it: it can be collected any day.".to_owned());
            return;
        }
        while bad - good > 1 {
            let middle = good + (bad - good) / 2;
            if holds(middle) { good = middle } else { bad = middle }
        }
        let at = first + TimeDelta::hours(good);
        let when = k.zone.instant(at).with_timezone(&k.zone.0).fixed_offset();
        out.at = Some(when);
        let names: Vec<&str> = open.iter().map(|j| k.joints[*j].name.as_str()).collect();
        out.says.push(format!(
            "{} at the latest, for {}: an hour later and something is late, or no plan was found.",
            moment(&when),
            super::words::list(&names)
        ));
    }

    fn lost_day(&self, out: &mut Answer) {
        let s = survival(self.again.kitchen, self.again.old, self.again.history, self.again.seed, 400);
        let percent = (100 * s.survived()).checked_div(s.can_be()).unwrap_or(100);
        out.yes = Some(s.survived() == s.days.len());
        out.says.push(format!(
            "{} of {} days to come can be lost, everybody away from midnight to midnight and told that morning, with nothing later than it is and every limit kept.",
            s.survived(),
            s.days.len()
        ));
        if s.can_be() < s.days.len() || s.survived() < s.can_be() {
            out.says.push(format!("That is {percent} % of the {} days for which any plan was found.", s.can_be()));
        }
        let bad: Vec<String> = s
            .days
            .iter()
            .filter(|d| !d.survived)
            .map(|d| format!("{}: {}", d.date.format("%a %-d %b"), d.because))
            .collect();
        out.says.extend(bad.into_iter().map(|b| format!("Not {b}.")));
    }
}

/// The heaviest boneless joint that a tub takes alone, to 0.1 kg.
fn heaviest(tub: &Tub, kitchen: &Kitchen, limits: &Limits) -> Option<f64> {
    let mut joint = kitchen.joints.first()?.clone();
    (joint.diameter, joint.length, joint.weighed, joint.tub) = (None, None, None, None);
    let takes = |joint: &mut crate::kitchen::Joint, tenths: i32| {
        joint.weight = Mass::kg(f64::from(tenths) / 10.0);
        fit::in_tub(&[joint], tub, limits).is_ok()
    };
    (2..=120).rev().find(|t| takes(&mut joint, *t)).map(|t| f64::from(t) / 10.0)
}

impl Answer {
    /// The answer as lines for people.
    pub fn to_text(&self) -> String {
        let mut out = format!("{}\n", self.asked);
        for s in &self.says {
            out += &format!("  {s}\n");
        }
        if let Some(d) = self.difference.as_ref().filter(|d| !d.moved.is_empty() || !d.added.is_empty()) {
            for m in d.moved.iter().take(12) {
                out += &format!("    {}: {} → {}; {}\n", m.task, moment(&m.from), moment(&m.to), m.cause);
            }
            if d.moved.len() > 12 {
                out += &format!("    and {} more\n", d.moved.len() - 12);
            }
            for l in d.added.iter().take(6) {
                out += &format!("    new: {}: {}\n", moment(&l.at), l.says);
            }
        }
        if !self.ways.is_empty() {
            out += "  What would make it possible, smallest first of each kind, each tried in a plan:\n";
            for w in &self.ways {
                out += &format!("    {}: {}\n", w.says, w.brings);
            }
        }
        out
    }
}
